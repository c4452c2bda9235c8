"""Apparatus dew point and bypass factor against textbook cases.

States and results of the first group were computed once with plain psychrolib 2.5.0 and a root finder of their
own; temperatures to 0.001 K and bypass factors to 0.00001 were kept.
"""

from __future__ import annotations

import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from iapws import IAPWS97
from scipy.optimize import brentq

from selector.physics import moist_air
from selector.physics.arrangements import mix
from selector.physics.coil import apparatus_dew_point, coil_load, leaving_air

P0 = 101325.0


def _fahrenheit(value: float) -> float:
    return (value - 32.0) / 1.8


def _state(dry_bulb: float, humidity: float) -> tuple[float, float]:
    return dry_bulb, moist_air.humidity_ratio_of_relative_humidity(dry_bulb, humidity, P0)


# Definition: ASHRAE Handbook Fundamentals, ch. 1, coil line meets saturation; bypass factor
# (t2 - t_adp) / (t1 - t_adp). Found: within 0.0004 K, 0.000003 and 0.0003; the first three were computed at
# 14.696 psia, 0.3 Pa off.
CASES = [
    ((_fahrenheit(80.0), 0.50), (_fahrenheit(55.0), 0.95), _fahrenheit(53.068), 0.07175, 0.7169),
    ((_fahrenheit(80.0), 0.60), (_fahrenheit(55.0), 0.95), _fahrenheit(51.789), 0.11383, 0.5567),
    ((_fahrenheit(75.0), 0.50), (_fahrenheit(52.0), 0.95), _fahrenheit(50.239), 0.07111, 0.7819),
    ((27.0, 0.50), (13.0, 0.95), 11.917, 0.07183, 0.7105),
    ((25.0, 0.50), (12.0, 0.90), 9.728, 0.14877, 0.7190),
]


@pytest.mark.parametrize(("entering", "leaving", "surface", "bypass", "sensible"), CASES)
def test_apparatus_dew_point_bypass_factor_and_sensible_heat_ratio(
    entering: tuple[float, float],
    leaving: tuple[float, float],
    surface: float,
    bypass: float,
    sensible: float,
) -> None:
    one, two = _state(*entering), _state(*leaving)
    found, factor = apparatus_dew_point(entering=one, leaving=two, pressure=P0)
    assert found == pytest.approx(surface, abs=0.0005)
    assert factor == pytest.approx(bypass, abs=5e-6)
    drop = moist_air.enthalpy(*one) - moist_air.enthalpy(*two)
    dry = moist_air.enthalpy(one[0], two[1]) - moist_air.enthalpy(*two)
    assert dry / drop == pytest.approx(sensible, abs=4e-4)


@pytest.mark.parametrize(("entering", "leaving"), [case[:2] for case in CASES])
def test_bypass_factor_from_dry_bulb_humidity_ratio_and_enthalpy_agree(
    entering: tuple[float, float], leaving: tuple[float, float]
) -> None:
    # Textbook invariant: dry bulb and humidity ratio give the same factor on a straight line, enthalpy nearly so,
    # as it is not quite linear. Found: 7e-13 for the first two, 0.0005 for enthalpy.
    one, two = _state(*entering), _state(*leaving)
    found, factor = apparatus_dew_point(entering=one, leaving=two, pressure=P0)
    at_surface = moist_air.saturation_humidity_ratio(found, P0)
    assert (two[0] - found) / (one[0] - found) == pytest.approx(factor, rel=1e-12)
    assert (two[1] - at_surface) / (one[1] - at_surface) == pytest.approx(factor, rel=1e-12)
    low = moist_air.enthalpy(found, at_surface)
    share = (moist_air.enthalpy(*two) - low) / (moist_air.enthalpy(*one) - low)
    assert share == pytest.approx(factor, abs=6e-4)
    assert 0.0 <= factor <= 1.0


def test_cooler_coil_exercise() -> None:
    # W. P. Jones, Air Conditioning Engineering, 5th ed., cooler-coil exercise: 1.5 m³/s of 28 °C dry bulb, 20.6 °C
    # wet bulb (sling) to 12.5 °C, 8.336 g/kg. Printed about 10.25 °C, contact factor 0.87, 43.9 kW (value from
    # memory); CoolProp gives 10.17 °C, 0.869, 44.43 kW, psychrolib by hand 10.323 °C, 0.8768, 44.15 kW. Found: the
    # rounding of the last.
    one = (28.0, psychrolib.GetHumRatioFromTWetBulb(28.0, 20.6, P0))
    two = (12.5, 0.008336)
    surface, bypass = apparatus_dew_point(entering=one, leaving=two, pressure=P0)
    assert surface == pytest.approx(10.25, abs=0.073)
    assert surface == pytest.approx(10.323, abs=5e-4)
    assert 1.0 - bypass == pytest.approx(0.87, abs=0.0069)
    assert 1.0 - bypass == pytest.approx(0.8768, abs=5e-5)
    flow = 1.5 / moist_air.volume(*one, P0)
    assert flow == pytest.approx(1.7245, abs=5e-5)
    load = flow * (moist_air.enthalpy(*one) - moist_air.enthalpy(*two))  # heat of the condensate neglected
    assert load == pytest.approx(43.9e3, rel=0.0056)
    assert load == pytest.approx(44.15e3, abs=5.0)
    assert 3600.0 * flow * (one[1] - two[1]) == pytest.approx(23.75, abs=0.005)


def test_cooler_coil_exercise_with_coolprop_from_end_to_end() -> None:
    # The same exercise in the real-gas formulation, solved here with HAPropsSI alone. Found: 0.152 K and 0.0075
    # apart, from the humidity ratio at the wet bulb, which differs by 0.5 %.
    moist = HAPropsSI("W", "T", 301.15, "B", 293.75, "P", P0)

    def gap(surface: float) -> float:
        saturated = HAPropsSI("W", "T", surface + 273.15, "R", 1.0, "P", P0)
        return saturated - (0.008336 + (moist - 0.008336) * (surface - 12.5) / 15.5)

    other = brentq(gap, 5.0, 11.0)
    one = (28.0, psychrolib.GetHumRatioFromTWetBulb(28.0, 20.6, P0))
    surface, bypass = apparatus_dew_point(entering=one, leaving=(12.5, 0.008336), pressure=P0)
    assert surface == pytest.approx(other, abs=0.16)
    assert bypass == pytest.approx((12.5 - other) / (28.0 - other), abs=0.008)


def test_coil_model_returns_the_state_that_the_line_was_drawn_through() -> None:
    # Apparatus dew point and bypass factor put back into the coil give the leaving air, and its load is the drop
    # of enthalpy less the condensate, which leaves at the surface temperature. Found: 1e-12.
    one, two = _state(27.0, 0.5), _state(13.0, 0.95)
    surface, bypass = apparatus_dew_point(entering=one, leaving=two, pressure=P0)
    assert leaving_air(bypass, *one, surface, P0) == pytest.approx(two, rel=1e-11)
    drop = moist_air.enthalpy(*one) - moist_air.enthalpy(*two)
    condensate = (one[1] - two[1]) * moist_air.WATER_HEAT * surface
    assert coil_load(2.0, bypass, *one, surface, P0) == pytest.approx(2.0 * (drop - condensate), rel=1e-10)


def test_mixing_and_coil_of_a_tutorial_with_coolprop_from_end_to_end() -> None:
    # An open tutorial's exercise: 1 kg/s of outdoor air at 32 °C, 50 %, and a room at 26 °C, 50 %. It prints no answer,
    # so CoolProp works mixing and coil here; 3 kg/s of the room's air, a surface of 10 °C and a bypass factor of 0.1
    # are ours. Found: 1.5e-4 and 1.5e-5 K apart; humidity ratio lower by 0.46 and 0.43 %, load by 0.19 %.
    def humid(output: str, key: str, value: float, other: str, at: float) -> float:
        return float(HAPropsSI(output, key, value, other, at, "P", P0))

    outdoor, room = (humid("W", "T", dry_bulb + 273.15, "R", 0.5) for dry_bulb in (32.0, 26.0))
    moist = (outdoor + 3.0 * room) / 4.0
    heat = (humid("H", "T", 305.15, "W", outdoor) + 3.0 * humid("H", "T", 299.15, "W", room)) / 4.0
    warm = humid("T", "H", heat, "W", moist) - 273.15
    cold, dry = 0.1 * warm + 0.9 * 10.0, 0.1 * moist + 0.9 * humid("W", "T", 283.15, "R", 1.0)
    condensate = 1000.0 * IAPWS97(T=283.15, P=0.101325).h * (moist - dry)
    load = 4.0 * (heat - humid("H", "T", cold + 273.15, "W", dry) - condensate)

    mixed = mix(1.0, *_state(32.0, 0.5), 3.0, *_state(26.0, 0.5))
    leaving = leaving_air(0.1, *mixed, 10.0, P0)
    assert mixed[0] == pytest.approx(warm, abs=1.5e-4)
    assert leaving[0] == pytest.approx(cold, abs=1.5e-5)
    assert mixed[1] == pytest.approx(moist, rel=0.0046)
    assert leaving[1] == pytest.approx(dry, rel=0.00431)
    assert coil_load(4.0, 0.1, *mixed, 10.0, P0) == pytest.approx(load, rel=0.0019)


def test_a_surface_no_colder_than_the_dew_point_stays_dry() -> None:
    # Textbook invariant: no condensation where the apparatus dew point is not below the entering dew point.
    # Found: 2.3e-10, the accuracy of the dew point; 0.01 K below it 0.059 % less vapour.
    entering = _state(27.0, 0.5)
    dew_point = moist_air.dew_point(*entering, P0)
    for surface in (dew_point, dew_point + 0.01, 20.0):
        assert leaving_air(0.1, *entering, surface, P0)[1] == pytest.approx(entering[1], rel=2.3e-10)
    assert leaving_air(0.1, *entering, dew_point - 0.01, P0)[1] < entering[1] * (1.0 - 5e-4)
