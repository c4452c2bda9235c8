"""An energy-recovery wheel and overcooling with reheat, each on a steady site worked by hand.

As in `test_by_hand`: the year is 8,760 times the same hour, worked with psychrolib and brentq, and nothing of the
project's physics is called. Sites, coil and wheel are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from scipy.optimize import brentq

from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.inputs.site import RecoveryWheel, Reheat, Site
from tests.builders import flat
from tests.physics.sites_for_tests import make_air_handler, make_water_coil, steady_site
from tests.published.test_by_hand import (
    STANDARD,
    WATER,
    dry_bulb,
    enthalpy,
    gains_of,
    heat_capacity,
    limit,
    of_dew_point,
    saturated,
)

AGREEMENT = 3e-8  # found: 2.1e-8 with the wheel, 1.6e-8 with reheat


def alone(site: Site) -> Evaluation:
    found = evaluate(prepared=prepare_site(site=site), install=())
    assert found.unsettled_hours == 0
    assert found.balance_moisture <= 1e-9
    assert found.balance_energy <= 1e-9
    return found


def test_a_wheel_in_winter() -> None:
    # Air handler 1.5 m³/s, 0.3 of it outdoor air at -5 °C and 2 g/kg, its fan 1200 W; 0.24 m³/s of exhaust pass the
    # wheel, of 75 % sensible and 60 % latent effectiveness; its fans take 200 W in the outdoor air, 250 W in the
    # exhaust. Gas heats to 20 °C; 300 W/K of envelope; 1 g/s of vapour; the humidistat is not called.
    to, wo, t1 = -5.0, 0.002, 20.0
    ms, mo = 1.5 * STANDARD, 0.3 * STANDARD
    # m_min / m_s = 0.8, so 60 % of the difference in dry bulb and 48 % of that in humidity ratio are recovered.
    # Moisture: G = m_o (w_1 - w_2) = 0.52 m_o (w_1 - w_o).
    w1 = wo + 1.0e-3 / (0.52 * mo)
    t2, w2 = to + 0.60 * (t1 - to), wo + 0.48 * (w1 - wo)
    h = ((ms - mo) * enthalpy(t1, w1) + mo * enthalpy(t2, w2) + 200.0 + 1200.0) / ms
    w = ((ms - mo) * w1 + mo * w2) / ms
    # Heat: H = UA (t_1 - t_o) - m_s c_p (t_sup - t_1).
    heated = 300.0 * (t1 - to) - ms * heat_capacity(w) * (dry_bulb(h, w) - t1)
    assert heated > 0.0
    wheel = RecoveryWheel(0.75, 0.60, 0.24, 200.0, 250.0, 13.0, -12.0)
    site = steady_site(
        air_handler=replace(make_air_handler(), wheel=wheel), dry_bulb=to, outdoor_ratio=wo, targets=limit(25.0),
        gains=gains_of(0.0, 1.0e-3),
        space={"heat_loss": 300.0, "infiltration": 0.0, "exhaust_airflow": 0.24, "heating_setpoint": flat(t1)},
    )  # fmt: skip
    found = alone(site)
    assert found.energy_kwh["heating"] == pytest.approx(8.760 * heated / 0.8, rel=AGREEMENT)
    assert found.energy_kwh["fan"] == pytest.approx(8.760 * (1200.0 + 450.0), rel=1e-12)
    assert found.moisture_kg["ventilation"] == pytest.approx(-8760.0 * 3.6, rel=AGREEMENT)
    assert float(found.year.mean_w[4000]) == pytest.approx(w1, rel=AGREEMENT)


def test_overcooling_with_reheat() -> None:
    # Chilled water, bypass factor 0.1 at 1.8 kg/s, COP 3.5; outdoors 26 °C and 13 g/kg; gains 500 W and 0.3 g/s;
    # 100 W/K; 12 °C dew point held at 24 °C by the coil alone, gas of efficiency 0.8 reheats.
    t1, w1, to, wo = 24.0, of_dew_point(12.0), 26.0, 0.013
    ms, mo = 1.5 * STANDARD, 0.3 * STANDARD
    bypass = math.exp(math.log(0.1) * 1.8 / ms)
    h_mix = ((ms - mo) * enthalpy(t1, w1) + mo * enthalpy(to, wo)) / ms
    w_mix = ((ms - mo) * w1 + mo * wo) / ms
    # Moisture: the coil takes m_s (w_mix - w) = G + m_o (w_o - w_1), which gives its surface.
    w = w_mix - (3.0e-4 + mo * (wo - w1)) / ms
    ts = brentq(lambda x: bypass * w_mix + (1.0 - bypass) * saturated(x, 101325.0) - w, 1.0, 20.0, xtol=1e-13)
    t = bypass * dry_bulb(h_mix, w_mix) + (1.0 - bypass) * ts
    # Heat: reheat makes up what the supply air takes too much: R = -(UA (t_o - t_1) + 500 + m_s c_p (t_sup - t_1)).
    t_sup = dry_bulb(enthalpy(t, w) + 1200.0 / ms, w)
    reheat = -(100.0 * (to - t1) + 500.0 + ms * heat_capacity(w) * (t_sup - t1))
    assert reheat > 3000.0
    load = ms * (h_mix - enthalpy(t, w) - (w_mix - w) * WATER * ts)
    coil = make_water_coil(sensible_heat_ratio=None, bypass_factor=0.1, total_capacity=40000.0)
    site = steady_site(
        air_handler=replace(make_air_handler(coil=coil), reheat=Reheat("gas", 0.8, None)), dry_bulb=to,
        outdoor_ratio=wo, targets=limit(12.0), gains=gains_of(500.0, 3.0e-4),
        space={"heat_loss": 100.0, "cooling_setpoint": flat(t1)},
    )  # fmt: skip
    found = alone(site)
    assert found.energy_kwh["cooling"] == pytest.approx(8.760 * load / 3.5, rel=AGREEMENT)
    assert found.energy_kwh["heating"] == pytest.approx(8.760 * reheat / 0.8, rel=AGREEMENT)
    assert found.moisture_kg["coil"] == pytest.approx(8760.0 * 3600.0 * ms * (w_mix - w), rel=AGREEMENT)
    assert found.hours_above == 0
    bought = found.year.reheat.sum() / 3.6e6
    assert float(found.year.gas.sum()) / 3.6e6 == pytest.approx(bought, rel=1e-12)
