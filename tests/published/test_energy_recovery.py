"""The energy-recovery wheel against the handbook's equations and the rating standard's definitions.

Sources: ASHRAE Handbook HVAC Systems and Equipment, air-to-air energy recovery: X2 = X1 - eps (m_min / m_s) (X1 - X3)
for dry bulb and humidity ratio; AHRI 1060: effectiveness by dry bulb, by humidity ratio and by enthalpy at balanced
flow, at 35/25.6 °C against 23.9/17.2 °C and at 1.7/0.6 °C against 21.1/14.4 °C, dry bulb/wet bulb. Equations,
example and conditions are values from memory.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import psychrolib
import pytest
from CoolProp.CoolProp import HAPropsSI

from selector.inputs.site import RecoveryWheel
from selector.physics.recovery import behind_wheel
from tests.physics.sites_for_tests import make_air_handler, prepare_quickly, steady_site

P0 = 101325.0
WHEEL = RecoveryWheel(0.75, 0.65, 0.3, 0.0, 0.0, 13.0, -12.0)
RATINGS = {"summer": ((35.0, 25.6), (23.9, 17.2)), "winter": ((1.7, 0.6), (21.1, 14.4))}


def state(dry_bulb: float, wet_bulb: float) -> tuple[float, float]:
    return dry_bulb, psychrolib.GetHumRatioFromTWetBulb(dry_bulb, wet_bulb, P0)


def plant_with(wheel: RecoveryWheel) -> Any:
    return prepare_quickly(steady_site(air_handler=replace(make_air_handler(), wheel=wheel))).plant


@pytest.mark.parametrize("season", RATINGS)
def test_effectiveness_is_what_the_rating_standard_defines_at_balanced_flow(season: str) -> None:
    outdoor, space = (state(*one) for one in RATINGS[season])
    plant = plant_with(WHEEL)
    t, w, sensible, latent = behind_wheel(plant, 1.0, float(plant["wheel_exhaust"]), outdoor, space, P0)
    assert (outdoor[0] - t) / (outdoor[0] - space[0]) == pytest.approx(0.75, rel=1e-13)
    assert (outdoor[1] - w) / (outdoor[1] - space[1]) == pytest.approx(0.65, rel=1e-13)
    assert (sensible, latent) == (0.75, 0.65)
    # by enthalpy, with CoolProp: between the two
    h1, h2, h3 = (
        HAPropsSI("H", "T", one[0] + 273.15, "W", one[1], "P", P0) for one in (outdoor, (t, w), space)
    )
    assert 0.65 < (h1 - h2) / (h1 - h3) < 0.75  # found: 0.687 in summer, 0.723 in winter


def test_the_handbooks_form_for_unequal_flows() -> None:
    # Supply 9,500 cfm entering at 95 degF and 20 %, exhaust 9,050 cfm entering at 75 degF and 50 %, sensible
    # effectiveness 50 %: t2 = 95 - 0.5 (m_e / m_s) 20 = 85.3 degF, m = airflow over specific volume (CoolProp).
    t1, t3 = (95.0 - 32.0) / 1.8, (75.0 - 32.0) / 1.8
    w1, w3 = (psychrolib.GetHumRatioFromRelHum(t, humidity, P0) for t, humidity in ((t1, 0.2), (t3, 0.5)))
    m1 = 4.4835 / HAPropsSI("Vda", "T", t1 + 273.15, "W", w1, "P", P0)
    m3 = 4.2711 / HAPropsSI("Vda", "T", t3 + 273.15, "W", w3, "P", P0)
    plant = plant_with(replace(WHEEL, sensible_effectiveness=0.5, latent_effectiveness=0.5))
    plant = plant.copy()
    plant["wheel_exhaust"] = m3
    t2, w2, _, _ = behind_wheel(plant, 1.0, m1, (t1, w1), (t3, w3), P0)
    assert t2 * 1.8 + 32.0 == pytest.approx(85.2, abs=0.049)
    assert t2 == pytest.approx(t1 - 0.5 * m3 / m1 * (t1 - t3), rel=1e-13)
    # What the supply gives up, the exhaust takes on: each end of it stays between the two entering states.
    assert w1 < w2 < w3
    leaving = w3 + m1 / m3 * (w1 - w2)
    assert w1 < leaving < w3


def test_more_exhaust_than_outdoor_air_recovers_no_more_than_balanced_flow() -> None:
    plant = plant_with(WHEEL)
    half = behind_wheel(plant, 1.0, 0.5 * float(plant["wheel_exhaust"]), (35.0, 0.018), (24.0, 0.010), P0)
    whole = behind_wheel(plant, 1.0, float(plant["wheel_exhaust"]), (35.0, 0.018), (24.0, 0.010), P0)
    assert half == whole


def test_air_leaves_the_wheel_no_more_than_saturated() -> None:
    # -10 °C and saturated against 24 °C and 70 %, with more latent than sensible effectiveness: fog, but for the cap
    plant = plant_with(replace(WHEEL, sensible_effectiveness=0.4, latent_effectiveness=0.9))
    outdoor = (-10.0, psychrolib.GetSatHumRatio(-10.0, P0))
    space = (24.0, psychrolib.GetHumRatioFromRelHum(24.0, 0.7, P0))
    t, w, _, latent = behind_wheel(plant, 1.0, float(plant["wheel_exhaust"]), outdoor, space, P0)
    assert w == pytest.approx(psychrolib.GetSatHumRatio(t, P0), rel=1e-12)
    assert 0.0 < latent < 0.9
