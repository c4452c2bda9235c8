"""Moist-air states against the handbook's tables and worked examples, CoolProp and IAPWS-97.

psychrolib is ideal gas over the saturation formula, without the enhancement factor of the handbook's tables and of
CoolProp. Each tolerance is the agreement that was found, rounded up; what was found stands beside it.
"""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from iapws import IAPWS97

from selector.inputs.outdoor_states import humidity_ratio_of_wet_bulb, standard_pressure
from selector.physics import moist_air
from selector.physics.arrangements import mix
from selector.physics.coil import coil_load

P0 = 101325.0
PSI, FOOT, POUND, BTU = 6894.757, 0.3048, 0.45359237, 1055.056  # Pa, m, kg, J
P0_IP = 14.696 * PSI


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def btu_per_pound(dry_bulb: float, ratio: float) -> float:
    """Enthalpy as IP tables count it: dry air from 0 °F, its vapour from liquid water at 32 °F."""
    counted: float = moist_air.enthalpy(dry_bulb, ratio) - moist_air.enthalpy(celsius(0.0), 0.0)
    return counted * POUND / BTU


def of_wet_bulb(dry_bulb: float, wet_bulb: float, pressure: float) -> float:
    """Humidity ratio as the reader of weather files takes it from a wet bulb."""
    dry, wet, p = (np.array([value]) for value in (dry_bulb, wet_bulb, pressure))
    return float(humidity_ratio_of_wet_bulb(dry_bulb=dry, wet_bulb=wet, pressure=p)[0])


# ASHRAE Handbook Fundamentals 2017, ch. 1, Table 3 (quoted in psychrolib's own tests). Found: within 2.0e-4.
TABLE_3 = [
    (-20.0, 103.24),
    (-5.0, 401.74),
    (5.0, 872.6),
    (25.0, 3169.7),
    (50.0, 12351.3),
    (100.0, 101418.0),
]


@pytest.mark.parametrize(("dry_bulb", "pressure"), TABLE_3)
def test_saturation_pressure_of_the_handbook_table(dry_bulb: float, pressure: float) -> None:
    assert moist_air.saturation_pressure(dry_bulb) == pytest.approx(pressure, rel=2.0e-4)


# The same table in its IP edition [°F, psia]; 80 °F by psychrolib in its own IP units. Found: within 1.8e-4.
@pytest.mark.parametrize(
    ("fahrenheit", "psia"),
    [
        (-4, 0.014974),
        (23, 0.058268),
        (41, 0.12656),
        (77, 0.45973),
        (80, 0.50735),
        (122, 1.79140),
        (212, 14.7094),
    ],
)
def test_saturation_pressure_of_the_handbook_table_in_inch_pound_units(
    fahrenheit: float, psia: float
) -> None:
    assert moist_air.saturation_pressure(celsius(fahrenheit)) / PSI == pytest.approx(psia, rel=1.8e-4)


@pytest.mark.parametrize("dry_bulb", [0.01, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 100.0])
def test_saturation_pressure_of_iapws_97(dry_bulb: float) -> None:
    # IAPWS-IF97, region 4, through the library iapws. Found: within 1.8e-4, the largest at 20 °C.
    assert moist_air.saturation_pressure(dry_bulb) == pytest.approx(
        1e6 * IAPWS97(T=dry_bulb + 273.15, x=0.0).P, rel=1.8e-4
    )


# ASHRAE Handbook Fundamentals 2017, ch. 1, Table 2, 101.325 kPa: humidity ratio and enthalpy kJ/kg, saturated.
# Found: humidity ratio lower by 0.43 to 0.62 % (no enhancement factor); enthalpy lower by 0.015 to 1.12 kJ/kg,
# nearly all of it from the humidity ratio.
TABLE_2 = [
    (-20.0, 0.0006373, -18.542, 0.0045, 0.015),
    (5.0, 0.005425, 18.639, 0.0043, 0.049),
    (25.0, 0.020173, 76.504, 0.0046, 0.198),
    (50.0, 0.086863, 275.353, 0.0062, 1.122),
]


@pytest.mark.parametrize(("dry_bulb", "ratio", "enthalpy", "relative", "absolute"), TABLE_2)
def test_saturated_air_of_the_handbook_table(
    dry_bulb: float, ratio: float, enthalpy: float, relative: float, absolute: float
) -> None:
    found = moist_air.saturation_humidity_ratio(dry_bulb, P0)
    assert found == pytest.approx(ratio, rel=relative)
    assert moist_air.enthalpy(dry_bulb, found) / 1000.0 == pytest.approx(enthalpy, abs=absolute)
    # At the table's own humidity ratio the enthalpy agrees within 0.27 kJ/kg, the most at 50 °C, 0.1 % of it.
    assert moist_air.enthalpy(dry_bulb, ratio) / 1000.0 == pytest.approx(enthalpy, abs=0.27)


# ASHRAE Handbook Fundamentals 2017, ch. 1, Table 1. Found: within 0.5 Pa, the rounding of the table.
@pytest.mark.parametrize(
    ("altitude", "pressure"),
    [(-500, 107478), (0, 101325), (500, 95461), (1000, 89875), (4000, 61640), (10000, 26436)],
)
def test_standard_atmosphere_of_the_handbook_table(altitude: float, pressure: float) -> None:
    assert standard_pressure(altitude) == pytest.approx(pressure, abs=0.5)


# Between the table's rows, the same formula by psychrolib. Found: within 0.04 Pa, the rounding.
@pytest.mark.parametrize(("altitude", "pressure"), [(1500, 84555.9), (2000, 79495.1), (3000, 70108.4)])
def test_standard_atmosphere_where_sites_lie(altitude: float, pressure: float) -> None:
    assert standard_pressure(altitude) == pytest.approx(pressure, abs=0.04)


# The same table in its IP edition [ft, psia]. Found: lower by 5e-5 to 0.0024 psia, 1.7e-4 of it.
@pytest.mark.parametrize(("feet", "psia"), [(0, 14.696), (1000, 14.175), (3000, 13.173), (10000, 10.108)])
def test_standard_atmosphere_of_the_handbook_table_in_inch_pound_units(feet: float, psia: float) -> None:
    assert standard_pressure(feet * FOOT) / PSI == pytest.approx(psia, rel=1.8e-4)


def test_example_1_of_the_handbook() -> None:
    # ASHRAE Handbook Fundamentals 2017, ch. 1, example 1 (SI): 40 °C dry bulb, 20 °C wet bulb. Printed, as read
    # from the chart: W 6.5 g/kg, dew point 7 °C, 14 %, 56.7 kJ/kg, 0.896 m³/kg.
    ratio = of_wet_bulb(40.0, 20.0, P0)
    assert ratio == pytest.approx(0.0065, abs=1.0e-4)  # found 0.0064008
    assert moist_air.dew_point(40.0, ratio, P0) == pytest.approx(7.0, abs=0.44)  # found 7.434
    assert moist_air.relative_humidity(40.0, ratio, P0) == pytest.approx(0.14, abs=2.1e-4)  # found 0.13979
    assert moist_air.enthalpy(40.0, ratio) == pytest.approx(56.7e3, abs=30.0)  # found 56.7246
    assert moist_air.volume(40.0, ratio, P0) == pytest.approx(0.896, rel=4e-4)  # found 0.89625


def test_example_1_of_the_handbook_in_inch_pound_units() -> None:
    # The same chapter in its IP edition: 100 °F dry bulb, 65 °F wet bulb. Printed, as read from the chart: W 0.00523,
    # dew point 40 °F, 13 %, 29.80 Btu/lb, 14.22 ft³/lb.
    dry_bulb = celsius(100.0)
    ratio = of_wet_bulb(dry_bulb, celsius(65.0), P0_IP)
    assert ratio == pytest.approx(0.00523, abs=5e-5)  # found 0.005181
    assert 32.0 + 1.8 * moist_air.dew_point(dry_bulb, ratio, P0_IP) == pytest.approx(
        40.0, abs=0.07
    )  # found 39.93
    assert moist_air.relative_humidity(dry_bulb, ratio, P0_IP) == pytest.approx(
        0.13, abs=0.0023
    )  # found 0.1278
    assert btu_per_pound(dry_bulb, ratio) == pytest.approx(29.80, abs=0.046)  # found 29.755
    volume = moist_air.volume(dry_bulb, ratio, P0_IP) * POUND / FOOT**3
    assert volume == pytest.approx(14.22, abs=0.007)  # found 14.2269


def test_state_from_humidity_ratio_of_a_textbook() -> None:
    # "Engineering Thermodynamics: A Computer Approach (SI)", example 10.1: 20 °C, 9.5 g/kg, 1.0132 bar gives
    # 65.1 % and a dew point of 13.245 °C.
    ratio, pressure = 0.0095, 101320.0
    assert moist_air.relative_humidity(20.0, ratio, pressure) == pytest.approx(0.651, abs=0.001)
    assert moist_air.dew_point(20.0, ratio, pressure) == pytest.approx(13.245, abs=0.03)  # found 13.269


def test_sensible_heating_of_an_exercise() -> None:
    # HVAC course exercise, printed answer 51.922 kW: 1.2 m³/s of 15 °C, 90 %, 9.45 to 9.57 g/kg, heated to 50 °C.
    # Found 9.566 g/kg and 51.878 kW, as with psychrolib by hand.
    ratio = moist_air.humidity_ratio_of_relative_humidity(15.0, 0.9, P0)
    assert 0.00945 < ratio < 0.00957
    flow = 1.2 / moist_air.volume(15.0, ratio, P0)
    assert flow * moist_air.sensible_heat(ratio, 50.0, 15.0) == pytest.approx(51922.0, rel=0.00085)
    assert flow * moist_air.sensible_heat(ratio, 50.0, 15.0) == pytest.approx(51878.0, abs=0.5)


def test_sensible_heating_of_the_handbook() -> None:
    # ASHRAE Handbook Fundamentals, ch. 1, moist-air heating: 10 m³/s saturated at 2 °C heated to 40 °C. Value from
    # memory: about 492 kW; with psychrolib by hand 12.740 kg/s and 490.9 kW. Found 490.95 kW.
    ratio = moist_air.saturation_humidity_ratio(2.0, P0)
    flow = 10.0 / moist_air.volume(2.0, ratio, P0)
    assert flow == pytest.approx(12.740, abs=2e-4)
    assert flow * moist_air.sensible_heat(ratio, 40.0, 2.0) == pytest.approx(492e3, rel=0.0022)
    assert flow * moist_air.sensible_heat(ratio, 40.0, 2.0) == pytest.approx(490.9e3, abs=50.0)


def test_cooling_and_drying_of_the_handbook() -> None:
    # ASHRAE Handbook Fundamentals, ch. 1, moist-air cooling: 5 m³/s of 30 °C, 50 % to saturated 10 °C, condensate
    # at 10 °C. Value from memory: 5.70 kg/s, W 13.3 to 7.66 g/kg, 198 kW; with psychrolib by hand 5.7002 kg/s, 0.03238
    # kg/s of condensate, 197.73 kW. Found 13.26 to 7.63 g/kg, and the others to the rounding.
    entering = moist_air.humidity_ratio_of_relative_humidity(30.0, 0.5, P0)
    leaving = moist_air.saturation_humidity_ratio(10.0, P0)
    flow = 5.0 / moist_air.volume(30.0, entering, P0)
    assert flow == pytest.approx(5.7002, abs=5e-5)
    assert flow * (entering - leaving) == pytest.approx(0.03238, abs=5e-6)
    assert (entering, leaving) == pytest.approx((0.0133, 0.00766), abs=4e-5)
    heat = coil_load(flow, 0.0, 30.0, entering, 10.0, P0)  # a surface that no air passes by
    assert heat == pytest.approx(198e3, rel=0.0014)
    assert heat == pytest.approx(197.73e3, abs=5.0)


def test_cooling_and_drying_of_the_handbook_in_inch_pound_units() -> None:
    # The same in the IP edition: 10,000 cfm of 85 °F, 50 % to saturated 50 °F. Inputs from memory; with psychrolib in
    # its own IP units 42,810 lb/h, 224.9 lb/h of condensate, 607,680 Btu/h. Found 42,809, 224.87 and 608,130, as
    # its enthalpies in IP are rounded otherwise.
    entering = moist_air.humidity_ratio_of_relative_humidity(celsius(85.0), 0.5, P0_IP)
    leaving = moist_air.saturation_humidity_ratio(10.0, P0_IP)
    flow = 10000.0 * FOOT**3 / 60.0 / moist_air.volume(celsius(85.0), entering, P0_IP)
    assert 3600.0 * flow / POUND == pytest.approx(42810.0, abs=1.0)
    assert 3600.0 * flow * (entering - leaving) / POUND == pytest.approx(224.9, abs=0.05)
    heat = coil_load(flow, 0.0, celsius(85.0), entering, 10.0, P0_IP)
    assert 3600.0 * heat / BTU == pytest.approx(607680.0, rel=8e-4)


def test_adiabatic_mixing_of_the_handbook() -> None:
    # ASHRAE Handbook Fundamentals, ch. 1, mixing: 2 m³/s at 4 °C dry bulb, 2 °C wet bulb, with 6.25 m³/s at 25 °C,
    # 50 %. Value from memory: 8.3 g/kg, 19.5 °C, wet bulb 14.6 °C; with psychrolib by hand 8.25 g/kg, 19.63 °C,
    # 14.56 °C. Found: the rounding of these.
    cold = of_wet_bulb(4.0, 2.0, P0)
    warm = moist_air.humidity_ratio_of_relative_humidity(25.0, 0.5, P0)
    one = 2.0 / moist_air.volume(4.0, cold, P0)
    two = 6.25 / moist_air.volume(25.0, warm, P0)
    assert (one, two) == pytest.approx((2.533, 7.284), abs=5e-4)  # found: the rounding
    dry_bulb, ratio = mix(one, 4.0, cold, two, 25.0, warm)
    assert ratio == pytest.approx(0.0083, abs=6e-5)
    assert ratio == pytest.approx(0.00825, abs=5e-6)
    assert dry_bulb == pytest.approx(19.5, abs=0.13)
    assert dry_bulb == pytest.approx(19.63, abs=0.005)
    wet_bulb = psychrolib.GetTWetBulbFromHumRatio(dry_bulb, ratio, P0)
    assert wet_bulb == pytest.approx(14.6, abs=0.039)
    assert wet_bulb == pytest.approx(14.56, abs=0.005)


def test_adiabatic_mixing_of_the_handbook_in_inch_pound_units() -> None:
    # The same in the IP edition: 5,000 cfm at 40 °F dry bulb, 35 °F wet bulb, with 15,000 cfm at 75 °F, 50 %. Inputs
    # from memory; with psychrolib in its own IP units 0.00762, 65.81 °F and a wet bulb of 56.56 °F.
    cold = of_wet_bulb(celsius(40.0), celsius(35.0), P0_IP)
    warm = moist_air.humidity_ratio_of_relative_humidity(celsius(75.0), 0.5, P0_IP)
    one = 5000.0 / moist_air.volume(celsius(40.0), cold, P0_IP)
    two = 15000.0 / moist_air.volume(celsius(75.0), warm, P0_IP)
    dry_bulb, ratio = mix(one, celsius(40.0), cold, two, celsius(75.0), warm)
    wet_bulb = psychrolib.GetTWetBulbFromHumRatio(dry_bulb, ratio, P0_IP)
    assert ratio == pytest.approx(0.00762, abs=1.2e-7)  # found 0.0076201
    assert 32.0 + 1.8 * dry_bulb == pytest.approx(65.81, abs=0.0021)  # found 65.808
    assert 32.0 + 1.8 * wet_bulb == pytest.approx(56.56, abs=0.008)  # found 56.567


@pytest.mark.parametrize(("dry_bulb", "wet_bulb", "ratio"), [(30.0, 25.0, 0.0192281), (-1.0, -5.0, 0.001204)])
def test_wet_bulb_at_altitude(dry_bulb: float, wet_bulb: float, ratio: float) -> None:
    # psychrolib's own tests, 95,461 Pa (500 m), where they hold to 3e-4. Found: within 1.8e-4.
    assert of_wet_bulb(dry_bulb, wet_bulb, 95461.0) == pytest.approx(ratio, rel=1.8e-4)
    # Back again, within the 0.001 K to which psychrolib solves.
    found = of_wet_bulb(dry_bulb, wet_bulb, 95461.0)
    assert psychrolib.GetTWetBulbFromHumRatio(dry_bulb, found, 95461.0) == pytest.approx(wet_bulb, abs=1e-3)


def test_enthalpy_volume_and_vapour_pressure_at_altitude() -> None:
    # psychrolib's own tests: 30 °C, 0.02 kg/kg, 95,461 Pa: 81,316 J/kg, 0.940855 m³/kg, 1.084120 kg/m³; 3,169.7 Pa:
    # 0.02136040.
    assert moist_air.enthalpy(30.0, 0.02) == pytest.approx(81316.0, abs=0.5)
    assert moist_air.volume(30.0, 0.02, 95461.0) == pytest.approx(0.940855, rel=1e-6)
    assert 1.02 / moist_air.volume(30.0, 0.02, 95461.0) == pytest.approx(1.084120, abs=5e-7)
    assert moist_air.humidity_ratio_of_vapour_pressure(3169.7, 95461.0) == pytest.approx(0.02136040, abs=1e-8)
    # The same in IP: 86 °F, 0.02, 14.175 psia: 14.72057 ft³/lb, 0.0692908 lb/ft³, 42.6168 Btu/lb. Found 14.72067,
    # 0.0692903 and, as the constants of enthalpy in IP are rounded otherwise, 42.6484.
    volume = moist_air.volume(celsius(86.0), 0.02, 14.175 * PSI) * POUND / FOOT**3
    assert volume == pytest.approx(14.72057, rel=8e-6)
    assert 1.02 / volume == pytest.approx(0.0692908, rel=8e-6)
    assert btu_per_pound(celsius(86.0), 0.02) == pytest.approx(42.6168, abs=0.032)


# 14.696 psia, computed once with psychrolib 2.5.0 in its own IP units: °F, %, lb/lb, grains/lb, Btu/lb, ft³/lb, dew
# point and wet bulb °F. Found: within half a unit of the last digit, but for enthalpy, higher by 0.016 to 0.023 Btu/lb,
# as its constants in IP are rounded otherwise, and the humidity ratio back from the wet bulb, within 6.1e-6.
@pytest.mark.parametrize(
    ("fahrenheit", "percent", "ratio", "grains", "btu", "cubic_feet", "dew_point", "wet_bulb"),
    [
        (80, 60, 0.013155, 92.09, 33.625, 13.893, 64.88, 69.65),
        (80, 40, 0.008709, 60.96, 28.749, 13.796, 53.53, 63.48),
        (73, 60, 0.010383, 72.68, 28.872, 13.653, 58.31, 63.58),
        (65, 60, 0.007862, 55.03, 24.168, 13.394, 50.79, 56.66),
        (60, 40, 0.004370, 30.59, 19.153, 13.193, 35.64, 48.04),
        (55, 95, 0.008729, 61.10, 22.674, 13.157, 53.60, 54.17),
    ],
)
def test_states_in_inch_pound_units(
    fahrenheit: float,
    percent: float,
    ratio: float,
    grains: float,
    btu: float,
    cubic_feet: float,
    dew_point: float,
    wet_bulb: float,
) -> None:
    dry_bulb = celsius(fahrenheit)
    found = moist_air.humidity_ratio_of_relative_humidity(dry_bulb, percent / 100.0, P0_IP)
    assert found == pytest.approx(ratio, abs=5e-7)
    assert 7000.0 * found == pytest.approx(grains, abs=0.005)
    assert btu_per_pound(dry_bulb, found) == pytest.approx(btu, abs=0.0231)
    assert moist_air.volume(dry_bulb, found, P0_IP) * POUND / FOOT**3 == pytest.approx(cubic_feet, abs=5e-4)
    assert 32.0 + 1.8 * moist_air.dew_point(dry_bulb, found, P0_IP) == pytest.approx(dew_point, abs=0.005)
    assert of_wet_bulb(dry_bulb, celsius(wet_bulb), P0_IP) == pytest.approx(ratio, abs=6.1e-6)


def test_dew_point_of_an_indoor_pool() -> None:
    # ASHRAE Handbook HVAC Applications 2019, ch. 6: air of 84 °F and 50 % has a dew point of "about 64 °F". CoolProp
    # gives 63.38 °F, so that the text's round value is 0.6 °F off. Found: 63.37 °F, 0.004 K below CoolProp.
    dry_bulb = celsius(84.0)
    ratio = moist_air.humidity_ratio_of_relative_humidity(dry_bulb, 0.5, P0)
    found = moist_air.dew_point(dry_bulb, ratio, P0)
    other = HAPropsSI("D", "T", dry_bulb + 273.15, "P", P0, "R", 0.5) - 273.15
    assert found == pytest.approx(other, abs=0.004)
    assert 32.0 + 1.8 * found == pytest.approx(63.37, abs=0.005)
    assert 32.0 + 1.8 * found == pytest.approx(64.0, abs=0.63)


@pytest.mark.parametrize("dry_bulb", [10.0, 15.0, 20.0, 25.0, 30.0])
def test_heat_of_condensation_of_iapws_97(dry_bulb: float) -> None:
    # What vapour gives up in the balances, its enthalpy less that of the condensate, through the library iapws: 2477.2,
    # 2465.4, 2453.5, 2441.7 and 2429.8 kJ/kg. Found: higher by 0.02 % at 10 °C to 0.06 % at 30 °C.
    vapour = moist_air.enthalpy(dry_bulb, 1.0) - moist_air.enthalpy(dry_bulb, 0.0)
    gas, liquid = (IAPWS97(T=dry_bulb + 273.15, x=quality).h for quality in (1.0, 0.0))
    found = vapour - moist_air.WATER_HEAT * dry_bulb
    assert found == pytest.approx(1000.0 * (gas - liquid), rel=5.7e-4)


# ASHRAE 62.1 limits the indoor dew point to 60 °F, printed as 15 °C beside it, which are not the same. What
# relative humidity that is at a dry bulb follows from saturation alone; computed with psychrolib's plain form.
@pytest.mark.parametrize(
    ("dew_point", "dry_bulb", "relative_humidity"),
    [
        (15.0, 20.0, 0.7292),
        (15.0, 22.0, 0.6448),
        (15.0, 24.0, 0.5713),
        (15.0, 26.0, 0.5071),
        (15.5556, 21.1111, 0.7056),
        (15.5556, 22.2222, 0.6593),
        (15.5556, 23.8889, 0.5960),
        (15.5556, 25.5556, 0.5396),
    ],
)
def test_relative_humidity_at_a_dew_point(
    dew_point: float, dry_bulb: float, relative_humidity: float
) -> None:
    ratio = moist_air.humidity_ratio_of_dew_point(dew_point, P0)
    assert moist_air.relative_humidity(dry_bulb, ratio, P0) == pytest.approx(relative_humidity, abs=6e-5)


def test_humidity_ratio_at_the_limit_of_dew_point() -> None:
    # 60 °F by ASHRAE 62.1, computed with psychrolib: 11.04 g/kg, 77.29 grains/lb. Found: the rounding.
    ratio = moist_air.humidity_ratio_of_dew_point(celsius(60.0), P0)
    assert 1000.0 * ratio == pytest.approx(11.04, abs=0.005)
    assert 7000.0 * ratio == pytest.approx(77.29, abs=0.005)
