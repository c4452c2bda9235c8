"""Steady sites worked by hand, one for each arrangement, from the air that enters the unit to the year's kWh.

The year of each site is 8,760 times the same hour, so that the algebra in the comments is the whole of it. The numbers
are worked step by step with psychrolib and, where a surface temperature has to be found, scipy's brentq; nothing of the
project's physics is called. Sites, coil and unit are invented. Notation: h enthalpy J/kg, w humidity ratio kg/kg,
t dry bulb °C, m dry air kg/s, c_w = 4186 J/(kg K); 1 return or space, o outdoors, s surface.

The unit (one machine for all five): 0.3 m³/s; bypass factor 0.12 at 26.7 °C and 60 %, so A0 = -ln 0.12 m_rated and
BF = exp(-A0 / m); cooling capacity Q = 8000 W (1 + 0.030 (t_s - 10) - 0.008 (t_1 - 26.7)); power
P = 2200 W (1 + 0.010 (t_s - 10) + 0.014 (t_1 - 26.7)). Its surface settles where
    m (h_1 - h_2 - (w_1 - w_2) c_w t_s) = Q,  t_2 = BF t_1 + (1 - BF) t_s,  w_2 = BF w_1 + (1 - BF) w_sat(t_s);
it takes r = m (w_1 - w_2) and gives the air back with h = h_1 + P / m - (w_1 - w_2) c_w t_s.
How well a unit is fitted to its rating rows is tested elsewhere; here it has these very numbers.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace

import numpy as np
import psychrolib
import pytest
from scipy.optimize import brentq

from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.inputs.site import (
    HOURS,
    Arrangement,
    Gain,
    HeatGain,
    Heating,
    HumidityTarget,
    Install,
    MoistureGain,
    Site,
    SpaceCooling,
)
from selector.physics.fit import FittedUnit, fit_unit
from selector.physics.unit_parameters import COIL_FLOW
from tests.builders import flat, make_unit
from tests.physics.sites_for_tests import ALWAYS, make_air_handler, make_water_coil, steady_site
from tests.physics.units_for_tests import plain_coil, rated

P0 = 101325.0  # Pa
WATER = 4186.0  # J/(kg K)
MODEL = "compressor-60"

enthalpy = psychrolib.GetMoistAirEnthalpy
saturated = psychrolib.GetSatHumRatio
volume = psychrolib.GetMoistAirVolume
STANDARD = psychrolib.GetDryAirDensity(
    20.0, P0
)  # kg dry air/m³: the air handler's airflows are of standard air


def of_dew_point(dew_point: float) -> float:
    ratio: float = psychrolib.GetHumRatioFromTDewPoint(dew_point, P0)
    return ratio


def dry_bulb(h: float, w: float) -> float:
    found: float = psychrolib.GetTDryBulbFromEnthalpyAndHumRatio(h, w)
    return found


def heat_capacity(w: float) -> float:
    return 1006.0 + 1860.0 * w  # J/(kg K): ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 30


@dataclass(frozen=True)
class Worked:
    """What one unit does on given air."""

    flow: float  # kg/s
    removal: float  # kg/s
    power: float  # W
    leaving_h: float  # J/kg
    leaving_w: float  # kg/kg


def unit_by_hand(t1: float, w1: float, share: float = 1.0) -> Worked:
    """One unit at full on entering air, with `share` of its airflow."""
    w_rating = psychrolib.GetHumRatioFromRelHum(26.7, 0.60, P0)
    a0 = -math.log(0.12) * 0.3 / volume(26.7, w_rating, P0)
    m = share * 0.3 / volume(t1, w1, P0)
    bypass = math.exp(-a0 / m)

    def off_coil(ts: float) -> tuple[float, float]:
        return bypass * t1 + (1.0 - bypass) * ts, bypass * w1 + (1.0 - bypass) * min(w1, saturated(ts, P0))

    def unbalance(ts: float) -> float:
        t2, w2 = off_coil(ts)
        load: float = m * (enthalpy(t1, w1) - enthalpy(t2, w2) - (w1 - w2) * WATER * ts)
        return load - 8000.0 * (1.0 + 0.030 * (ts - 10.0) - 0.008 * (t1 - 26.7))

    ts = brentq(unbalance, -20.0, t1, xtol=1e-12)
    _, w2 = off_coil(ts)
    power = 2200.0 * (1.0 + 0.010 * (ts - 10.0) + 0.014 * (t1 - 26.7))
    leaving = enthalpy(t1, w1) + power / m - (w1 - w2) * WATER * ts
    return Worked(m, m * (w1 - w2), power, leaving, w2)


@functools.cache
def fitted_unit() -> FittedUnit:
    """The unit with these very numbers, and the range of the rows that it would be fitted to."""
    fitted = fit_unit(unit=rated(replace(make_unit(MODEL), cycling_loss=0.0), plain_coil()))
    row = fitted.parameters.copy()
    exact = plain_coil()
    row[COIL_FLOW:] = exact[COIL_FLOW:]
    return replace(fitted, parameters=row)


def limit(dew_point: float) -> tuple[HumidityTarget, ...]:
    """Limit 1 K above the dew point that the humidistat is to hold."""
    return (HumidityTarget("limit", "dew-point", dew_point + 1.0, 1.0, ALWAYS, 0.0),)


def gains_of(heat: float, vapour: float) -> tuple[Gain, ...]:
    return (
        HeatGain("lights", heat, np.ones(HOURS)),
        MoistureGain("process", vapour, "water", np.ones(HOURS)),
    )


def simulated(site: Site, arrangement: Arrangement) -> Evaluation:
    site = replace(site, catalog=replace(site.catalog, units=(fitted_unit().unit,)))
    prepared = prepare_site(site=site, fitted=(fitted_unit(),))
    found = evaluate(prepared=prepared, install=(Install(MODEL, arrangement, 2),))
    assert found.unsettled_hours == 0
    assert found.balance_moisture <= 1e-9
    return found


AGREEMENT = 1e-11  # found: 1e-13
TOGETHER = 7e-8  # found: 6e-8, for supply-side: coil and unit are found together, unit-hours to 1e-7


def test_standalone() -> None:
    # A room of 900 m³ without an air handler, kept at 24 °C by a cooler of COP 3 without outdoor air. Outdoors 30 °C
    # and 15 g/kg; air leaks in at 0.5 changes an hour; 150 W/K of envelope; gains 2000 W and 0.3 g/s; 12 °C dew point
    # held.
    t1, w1, to, wo = 24.0, of_dew_point(12.0), 30.0, 0.015
    leak = 0.5 * 900.0 / 3600.0 / volume(to, wo, P0)
    # Moisture: what gains and leak bring, the unit takes: Y r = G + m_leak (w_o - w_1).
    unit = unit_by_hand(t1, w1)
    running = (3.0e-4 + leak * (wo - w1)) / unit.removal
    assert 0.1 < running < 2.0
    # Heat: envelope, leak, gains and what the unit gives back, at the humidity ratio it gives back, is taken by the
    # cooler: C = (UA + m_leak c_p) (t_o - t_1) + 2000 + Y m c_p (t_unit - t_1).
    given = unit.flow * heat_capacity(unit.leaving_w) * (dry_bulb(unit.leaving_h, unit.leaving_w) - t1)
    cooled = (150.0 + leak * heat_capacity(wo)) * (to - t1) + 2000.0 + running * given
    site = steady_site(
        dry_bulb=to, outdoor_ratio=wo, targets=limit(12.0), gains=gains_of(2000.0, 3.0e-4),
        space={
            "heat_loss": 150.0, "infiltration": 0.5 / 3600.0, "cooling_setpoint": flat(t1),
            "cooling": SpaceCooling("electric", 3.0, None),
        },
    )  # fmt: skip
    found = simulated(site, "standalone")
    assert found.energy_kwh["units"] == pytest.approx(8.760 * running * unit.power, rel=AGREEMENT)
    assert found.energy_kwh["cooling"] == pytest.approx(8.760 * cooled / 3.0, rel=AGREEMENT)
    assert found.moisture_kg["units"] == pytest.approx(
        8760.0 * 3600.0 * running * unit.removal, rel=AGREEMENT
    )


def test_return_side() -> None:
    # Air handler 1.5 m³/s, 0.3 of it outdoor air at 12 °C and 8.5 g/kg, fan 1200 W; the coil is off and gas heats the
    # space to 20 °C at 80 %. 900 W/K of envelope, no infiltration as outdoor air is in surplus; 0.4 g/s of gains; 9 °C
    # dew point held.
    t1, w1, to, wo = 20.0, of_dew_point(9.0), 12.0, 0.0085
    ms, mo = 1.5 * STANDARD, 0.3 * STANDARD
    # The unit takes in return air, which is the space's. Moisture: Y r = G + m_o (w_o - w_1).
    unit = unit_by_hand(t1, w1)
    running = (4.0e-4 + mo * (wo - w1)) / unit.removal
    assert 0.1 < running < 2.0
    # Supply air: return air with what the unit changed in it, outdoor air, and the fan.
    h = (ms - mo) * enthalpy(t1, w1) + running * unit.flow * (unit.leaving_h - enthalpy(t1, w1))
    h = (h + mo * enthalpy(to, wo) + 1200.0) / ms
    w = ((ms - mo) * w1 - running * unit.removal + mo * wo) / ms
    # Heat: the burner makes up envelope less what the supply air brings: H = UA (t_1 - t_o) - m_s c_p (t_sup - t_1).
    heated = 900.0 * (t1 - to) - ms * heat_capacity(w) * (dry_bulb(h, w) - t1)
    assert heated > 0.0
    site = steady_site(
        air_handler=make_air_handler(heating=Heating("gas", 0.8, None)), dry_bulb=to, outdoor_ratio=wo,
        targets=limit(9.0), gains=gains_of(0.0, 4.0e-4),
        space={"heat_loss": 900.0, "heating_setpoint": flat(t1)},
    )  # fmt: skip
    found = simulated(site, "return-side")
    assert found.energy_kwh["units"] == pytest.approx(8.760 * running * unit.power, rel=AGREEMENT)
    assert found.energy_kwh["fan"] == pytest.approx(8.760 * 1200.0, rel=1e-12)
    assert found.energy_kwh["heating"] == pytest.approx(8.760 * heated / 0.8, rel=AGREEMENT)
    assert found.energy_kwh["cooling"] == 0.0


def chilled_site(
    *, to: float, wo: float, dew_point: float, heat: float, vapour: float, static: float = 0.0
) -> Site:
    """24 °C held by a chilled-water coil of bypass factor 0.1 at 1.8 kg/s and COP 3.5; 100 W/K of envelope."""
    coil = make_water_coil(sensible_heat_ratio=None, bypass_factor=0.1, total_capacity=40000.0)
    return steady_site(
        air_handler=make_air_handler(coil=coil, external_static_pressure=static), dry_bulb=to, outdoor_ratio=wo,
        targets=limit(dew_point), gains=gains_of(heat, vapour),
        space={"heat_loss": 100.0, "cooling_setpoint": flat(24.0)},
    )  # fmt: skip


def test_supply_side() -> None:
    # Air handler 1.5 m³/s, 0.3 of it outdoor air at 30 °C and 14 g/kg. The coil's water flows all the time and its
    # surface rises until 24 °C is held; it is wet. Gains 9000 W and 0.5 g/s; 11 °C dew point held. The unit takes in
    # what leaves coil and fan.
    t1, w1, to, wo = 24.0, of_dew_point(11.0), 30.0, 0.014
    ms, mo = 1.5 * STANDARD, 0.3 * STANDARD
    bypass = math.exp(math.log(0.1) * 1.8 / ms)
    h_mix = ((ms - mo) * enthalpy(t1, w1) + mo * enthalpy(to, wo)) / ms
    w_mix = ((ms - mo) * w1 + mo * wo) / ms
    t_mix = dry_bulb(h_mix, w_mix)

    def behind(ts: float) -> tuple[Worked, float, float]:
        """The unit on the air behind coil and fan, how much of it runs, and the heat that lacks."""
        t = bypass * t_mix + (1.0 - bypass) * ts
        w = bypass * w_mix + (1.0 - bypass) * min(w_mix, saturated(ts, P0))
        h = enthalpy(t, w) + 1200.0 / ms
        unit = unit_by_hand(dry_bulb(h, w), w)
        # Moisture: m_s (w_mix - w) + Y r = G + m_o (w_o - w_1): what the coil leaves, the unit takes.
        running = (5.0e-4 + mo * (wo - w1) - ms * (w_mix - w)) / unit.removal
        # Heat: UA (t_o - t_1) + 9000 + m_s c_p (t_sup - t_1) = 0, t_sup behind the unit.
        w_sup = w - running * unit.removal / ms
        h_sup = h + running * unit.flow * (unit.leaving_h - h) / ms
        left = 100.0 * (to - t1) + 9000.0 + ms * heat_capacity(w_sup) * (dry_bulb(h_sup, w_sup) - t1)
        return unit, running, left

    ts = brentq(lambda x: behind(x)[2], 5.0, 18.0, xtol=1e-12)
    unit, running, _ = behind(ts)
    assert 0.1 < running < 2.0
    assert saturated(ts, P0) < w_mix
    # The coil's load, its condensate leaving at the surface temperature, over COP 3.5.
    t = bypass * t_mix + (1.0 - bypass) * ts
    w = bypass * w_mix + (1.0 - bypass) * saturated(ts, P0)
    load = ms * (h_mix - enthalpy(t, w) - (w_mix - w) * WATER * ts)
    found = simulated(chilled_site(to=to, wo=wo, dew_point=11.0, heat=9000.0, vapour=5.0e-4), "supply-side")
    assert found.energy_kwh["units"] == pytest.approx(8.760 * running * unit.power, rel=TOGETHER)
    assert found.energy_kwh["cooling"] == pytest.approx(8.760 * load / 3.5, rel=TOGETHER)
    assert found.moisture_kg["coil"] == pytest.approx(8760.0 * 3600.0 * ms * (w_mix - w), rel=TOGETHER)


def test_coil_bypass() -> None:
    # As above, but outdoors 27 °C and 11 g/kg, gains 1500 W and 0.2 g/s, so that the coil stays dry. The unit takes
    # return air around coil and fan against the whole external static of 200 Pa. Its fan holds 125 Pa and stands still
    # at 250 Pa, between them its airflow follows the square root: ((250 - 200) / 125)^0.5 = 0.632 of it is left.
    t1, w1, to, wo = 24.0, of_dew_point(11.0), 27.0, 0.011
    ms, mo = 1.5 * STANDARD, 0.3 * STANDARD
    unit = unit_by_hand(t1, w1, share=math.sqrt(0.4))
    # Moisture: the dry coil takes nothing, so Y r = G + m_o (w_o - w_1).
    running = (2.0e-4 + mo * (wo - w1)) / unit.removal
    assert 0.1 < running < 2.0
    # Through the coil goes what does not go around it: m_c = m_s - Y m.
    around = running * unit.flow
    mc = ms - around
    h_mix = ((ms - mo - around) * enthalpy(t1, w1) + mo * enthalpy(to, wo)) / mc
    w_mix = ((ms - mo - around) * w1 + mo * wo) / mc
    w_sup = (mc * w_mix + around * unit.leaving_w) / ms
    # Heat: the supply air has to carry off envelope and gains, which gives its temperature, and before fan and mixing
    # the coil's: m_c h_c = m_s h_sup - P_fan - Y m h_unit.
    t_sup = t1 - (100.0 * (to - t1) + 1500.0) / (ms * heat_capacity(w_sup))
    hc = (ms * enthalpy(t_sup, w_sup) - 1200.0 - around * unit.leaving_h) / mc
    load = mc * (h_mix - hc)
    # It is dry: the surface that this takes lies above the mixed air's dew point.
    bypass = math.exp(math.log(0.1) * 1.8 / mc)
    t_mix = dry_bulb(h_mix, w_mix)
    ts = (dry_bulb(hc, w_mix) - bypass * t_mix) / (1.0 - bypass)
    assert saturated(ts, P0) > w_mix
    site = chilled_site(to=to, wo=wo, dew_point=11.0, heat=1500.0, vapour=2.0e-4, static=200.0)
    found = simulated(site, "coil-bypass")
    assert found.energy_kwh["units"] == pytest.approx(8.760 * running * unit.power, rel=AGREEMENT)
    assert found.energy_kwh["cooling"] == pytest.approx(8.760 * load / 3.5, rel=AGREEMENT)
    assert found.moisture_kg["coil"] == 0.0


def test_outdoor_air() -> None:
    # Air handler 1.5 m³/s, 0.36 of it outdoor air at 25 °C and 13 g/kg, neither heated nor cooled; 0.1 g/s of gains;
    # 16 °C dew point held. The unit takes in outdoor air before it mixes, whatever the space's temperature.
    w1, to, wo = of_dew_point(16.0), 25.0, 0.013
    mo = 0.36 * STANDARD
    unit = unit_by_hand(to, wo)
    # Moisture: the ventilation air comes in drier by what the unit took: Y r = G + m_o (w_o - w_1).
    running = (1.0e-4 + mo * (wo - w1)) / unit.removal
    assert 0.1 < running < 2.0
    site = steady_site(
        air_handler=make_air_handler(outdoor_airflow=0.36), dry_bulb=to, outdoor_ratio=wo, targets=limit(16.0),
        gains=gains_of(500.0, 1.0e-4), space={"cooling_setpoint": flat(45.0), "heating_setpoint": flat(5.0)},
    )  # fmt: skip
    found = simulated(site, "outdoor-air")
    assert found.energy_kwh["units"] == pytest.approx(8.760 * running * unit.power, rel=AGREEMENT)
    assert found.moisture_kg["units"] == pytest.approx(
        8760.0 * 3600.0 * running * unit.removal, rel=AGREEMENT
    )
    assert found.energy_kwh["heating"] == found.energy_kwh["cooling"] == 0.0
