"""Moist-air states by list and over a grid, against CoolProp and psychrolib, and the order that they have to keep.

CoolProp's HAPropsSI is a real-gas formulation with the enhancement factor of ASHRAE RP-1485; psychrolib is ideal
gas over the saturation formula. Each tolerance is the agreement that was found, rounded up.
"""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from selector.inputs.outdoor_states import standard_pressure
from selector.physics import moist_air
from tests.published.test_moist_air import P0, celsius, of_wet_bulb

# Computed once: °C, %, Pa; then g/kg, dew point °C, wet bulb °C, kJ/kg and m³/kg, with CoolProp 8.0.0 (HAPropsSI) and
# with psychrolib 2.5.0. Found: within half a unit of psychrolib's last digit, but for the humidity ratio back from the
# rounded wet bulb, 0.0072 g/kg; humidity ratio 0.49 % lower than CoolProp's, 0.70 % at its wet bulb; 0.0096 K of dew
# point, 0.22 kJ/kg and 0.068 % of volume.
HIGH = 84555.9  # Pa, 1500 m
STATES = [
    (celsius(80.0), 60, P0, (13.2159, 18.27, 20.91, 60.52, 0.8671), (13.1555, 18.26, 20.92, 60.38, 0.8673)),
    (celsius(80.0), 50, P0, (10.9744, 15.40, 19.25, 54.80, 0.8640), (10.9244, 15.39, 19.26, 54.69, 0.8643)),
    (celsius(80.0), 40, P0, (8.7486, 11.97, 17.49, 49.13, 0.8610), (8.7089, 11.96, 17.49, 49.04, 0.8612)),
    (celsius(75.0), 60, P0, (11.1659, 15.66, 18.50, 52.44, 0.8563), (11.1159, 15.66, 18.51, 52.33, 0.8565)),
    (celsius(75.0), 50, P0, (9.2772, 12.85, 16.97, 47.63, 0.8537), (9.2357, 12.84, 16.98, 47.54, 0.8540)),
    (celsius(73.0), 60, P0, (10.4290, 14.62, 17.54, 49.42, 0.8521), (10.3826, 14.62, 17.55, 49.32, 0.8523)),
    (celsius(70.0), 60, P0, (9.4049, 13.05, 16.10, 45.12, 0.8459), (9.3634, 13.05, 16.10, 45.02, 0.8462)),
    (celsius(65.0), 60, P0, (7.8960, 10.44, 13.70, 38.45, 0.8359), (7.8616, 10.44, 13.70, 38.37, 0.8362)),
    (celsius(60.0), 60, P0, (6.6066, 7.83, 11.29, 32.35, 0.8262), (6.5781, 7.83, 11.30, 32.29, 0.8265)),
    (celsius(60.0), 40, P0, (4.3888, 2.02, 8.90, 26.75, 0.8233), (4.3700, 2.02, 8.91, 26.70, 0.8236)),
    (celsius(55.0), 95, P0, (8.7663, 12.00, 12.32, 34.97, 0.8210), (8.7287, 12.00, 12.32, 34.89, 0.8214)),
    (celsius(55.0), 90, P0, (8.2988, 11.18, 11.85, 33.79, 0.8204), (8.2632, 11.18, 11.85, 33.72, 0.8208)),
    (celsius(50.0), 95, P0, (7.2750, 9.24, 9.58, 28.38, 0.8111), (7.2441, 9.24, 9.58, 28.31, 0.8115)),
    (celsius(45.0), 100, P0, (6.3346, 7.22, 7.22, 23.18, 0.8019), (6.3079, 7.22, 7.22, 23.13, 0.8023)),
    (celsius(90.0), 50, P0, (15.2213, 20.49, 23.84, 71.38, 0.8860), (15.1490, 20.48, 23.84, 71.21, 0.8862)),
    (celsius(95.0), 40, P0, (14.2005, 19.39, 23.93, 71.64, 0.8926), (14.1317, 19.38, 23.93, 71.47, 0.8928)),
    (20.0, 50, P0, (7.2937, 9.27, 13.78, 38.62, 0.8399), (7.2617, 9.27, 13.78, 38.55, 0.8402)),
    (25.0, 50, P0, (9.9257, 13.87, 17.88, 50.42, 0.8578), (9.8810, 13.86, 17.89, 50.32, 0.8580)),
    (27.0, 60, P0, (13.4832, 18.58, 21.20, 61.54, 0.8684), (13.4215, 18.58, 21.21, 61.40, 0.8686)),
    (30.0, 80, P0, (21.6758, 26.17, 27.09, 85.56, 0.8884), (21.5733, 26.17, 27.09, 85.34, 0.8886)),
    (5.0, 80, P0, (4.3322, 1.84, 3.59, 15.90, 0.7930), (4.3141, 1.84, 3.59, 15.86, 0.7934)),
    (-10.0, 80, P0, (1.2843, -12.49, -10.65, -6.87, 0.7465), (1.2789, -12.49, -10.65, -6.89, 0.7470)),
    (celsius(80.0), 60, HIGH, (15.8960, 18.27, 20.60, 67.39, 1.0435), (15.8309, 18.26, 20.61, 67.20, 1.0437)),
    (celsius(55.0), 95, HIGH, (10.5286, 12.00, 12.28, 39.46, 0.9867), (10.4890, 12.00, 12.29, 39.34, 0.9870)),
    (celsius(60.0), 40, HIGH, (5.2638, 2.02, 8.35, 29.00, 0.9880), (5.2439, 2.02, 8.36, 28.92, 0.9883)),
    (25.0, 50, HIGH, (11.9261, 13.87, 17.45, 55.56, 1.0312), (11.8781, 13.86, 17.46, 55.41, 1.0315)),
]  # fmt: skip


@pytest.mark.parametrize(("dry_bulb", "percent", "pressure", "coolprop", "ideal"), STATES)
def test_states_of_both_libraries(
    dry_bulb: float,
    percent: float,
    pressure: float,
    coolprop: tuple[float, float, float, float, float],
    ideal: tuple[float, float, float, float, float],
) -> None:
    ratio = moist_air.humidity_ratio_of_relative_humidity(dry_bulb, percent / 100.0, pressure)
    dew_point = moist_air.dew_point(dry_bulb, ratio, pressure)
    enthalpy = moist_air.enthalpy(dry_bulb, ratio) / 1000.0
    volume = moist_air.volume(dry_bulb, ratio, pressure)
    assert 1000.0 * ratio == pytest.approx(ideal[0], abs=5e-5)
    assert dew_point == pytest.approx(ideal[1], abs=0.005)
    assert 1000.0 * of_wet_bulb(dry_bulb, ideal[2], pressure) == pytest.approx(ideal[0], abs=0.0072)
    assert enthalpy == pytest.approx(ideal[3], abs=0.005)
    assert volume == pytest.approx(ideal[4], abs=5e-5)
    assert 1000.0 * ratio == pytest.approx(coolprop[0], rel=0.0049)
    assert dew_point == pytest.approx(coolprop[1], abs=0.0096)
    assert 1000.0 * of_wet_bulb(dry_bulb, coolprop[2], pressure) == pytest.approx(coolprop[0], rel=0.0070)
    assert enthalpy == pytest.approx(coolprop[3], abs=0.222)
    assert volume == pytest.approx(coolprop[4], rel=0.00068)


# Saturated at 101.325 kPa, computed once: °C, humidity ratio with psychrolib and with CoolProp, kJ/kg with CoolProp.
# Found: the rounding; 0.42 to 0.51 % lower; 0.050 to 0.394 kJ/kg lower, nearly all of it from the humidity ratio.
@pytest.mark.parametrize(
    ("dry_bulb", "ideal", "coolprop", "enthalpy", "relative", "absolute"),
    [
        (5.0, 0.0054019, 0.0054247, 18.640, 0.0042, 0.050),
        (10.0, 0.0076301, 0.0076626, 29.355, 0.0043, 0.071),
        (15.0, 0.0106475, 0.0106938, 42.115, 0.0044, 0.099),
        (20.0, 0.0146951, 0.0147605, 57.559, 0.0045, 0.141),
        (25.0, 0.0200811, 0.0201734, 76.505, 0.0046, 0.199),
        (30.0, 0.0272026, 0.0273329, 100.010, 0.0048, 0.279),
        (35.0, 0.0365757, 0.0367601, 129.460, 0.0051, 0.394),
    ],
)
def test_saturated_air_of_both_libraries(
    dry_bulb: float, ideal: float, coolprop: float, enthalpy: float, relative: float, absolute: float
) -> None:
    ratio = moist_air.saturation_humidity_ratio(dry_bulb, P0)
    assert ratio == pytest.approx(ideal, abs=5e-8)
    assert ratio == pytest.approx(coolprop, rel=relative)
    assert moist_air.saturation_enthalpy(dry_bulb, P0) / 1000.0 == pytest.approx(enthalpy, abs=absolute)


GRID = [
    (altitude, float(dry_bulb), humidity)
    for altitude in (0, 500, 1500, 2500)
    for dry_bulb in np.arange(-15.0, 46.0, 5.0)
    for humidity in (0.1, 0.3, 0.5, 0.7, 0.9, 1.0)
]


def _coolprop(output: str, dry_bulb: float, pressure: float, key: str, value: float) -> float:
    return float(HAPropsSI(output, "T", dry_bulb + 273.15, "P", pressure, key, value))


def _worst(differences: list[tuple[float, tuple[int, float, float]]], allowed: float) -> None:
    worst, where = max(differences)
    assert worst <= allowed, f"{worst:g} at altitude m, dry bulb °C, relative humidity {where}"


def test_humidity_ratio_and_enthalpy_and_volume_of_coolprop_over_a_grid() -> None:
    ratio_off, enthalpy_off, volume_off = [], [], []
    for case in GRID:
        altitude, dry_bulb, humidity = case
        p = psychrolib.GetStandardAtmPressure(altitude)
        ratio = moist_air.humidity_ratio_of_relative_humidity(dry_bulb, humidity, p)
        ratio_off.append((abs(ratio / _coolprop("W", dry_bulb, p, "R", humidity) - 1.0), case))
        other = _coolprop("H", dry_bulb, p, "W", ratio)
        enthalpy_off.append((abs(moist_air.enthalpy(dry_bulb, ratio) - other), case))
        volume = moist_air.volume(dry_bulb, ratio, p)
        volume_off.append((abs(volume / _coolprop("V", dry_bulb, p, "W", ratio) - 1.0), case))
    _worst(ratio_off, 0.0058)  # found 0.00571 at 45 °C, saturated
    _worst(enthalpy_off, 180.0)  # J/kg at equal humidity ratio; found 179.9 at 45 °C, saturated, 2500 m
    _worst(volume_off, 0.00083)  # found 0.00082 at -15 °C


def test_dew_point_and_wet_bulb_of_coolprop_over_a_grid() -> None:
    # Wet bulbs within half a kelvin of freezing are left out: water and ice give two wet bulbs there, and the two
    # libraries change over at different ones (0.66 K apart at 10 °C, 10 %, 1500 m).
    dew_off, wet_off = [], []
    for case in GRID:
        altitude, dry_bulb, humidity = case
        if humidity == 1.0:
            continue
        p = psychrolib.GetStandardAtmPressure(altitude)
        ratio = moist_air.humidity_ratio_of_relative_humidity(dry_bulb, humidity, p)
        dew = _coolprop("D", dry_bulb, p, "R", humidity) - 273.15
        dew_off.append((abs(moist_air.dew_point(dry_bulb, ratio, p) - dew), case))
        wet = _coolprop("B", dry_bulb, p, "R", humidity) - 273.15
        found = psychrolib.GetTWetBulbFromHumRatio(dry_bulb, ratio, p)
        if abs(wet) > 0.5 and abs(found) > 0.5:
            wet_off.append((abs(found - wet), case))
    assert len(wet_off) > 0.9 * len(dew_off)
    _worst(dew_off, 0.017)  # K; found 0.0167 at 45 °C, 10 %, 2500 m
    _worst(wet_off, 0.026)  # K; found 0.0257 at 10 °C, 10 %, 2500 m


def test_order_of_the_temperatures_and_ways_back_over_a_grid() -> None:
    # Dew point, wet bulb and dry bulb stand in this order and meet at saturation: by the order of the humidity ratios
    # that they would have as a wet bulb. At one dry bulb and relative humidity there is more vapour the lower the
    # pressure. Any two properties give the state back. Found: the dew point within 2.4e-10, all others within 5e-15.
    fewest: dict[tuple[float, float], float] = {}
    for altitude, dry_bulb, humidity in GRID:
        p = standard_pressure(altitude)
        ratio = moist_air.humidity_ratio_of_relative_humidity(dry_bulb, humidity, p)
        dew_point = moist_air.dew_point(dry_bulb, ratio, p)
        lower, upper = (of_wet_bulb(dry_bulb, wet_bulb, p) for wet_bulb in (dew_point, dry_bulb))
        if humidity == 1.0:
            assert (dew_point, lower, upper) == pytest.approx((dry_bulb, ratio, ratio), rel=1e-14)
        else:
            assert dew_point < dry_bulb
            assert lower < ratio < upper
        assert ratio > fewest.get((dry_bulb, humidity), 0.0)  # altitudes rise
        fewest[dry_bulb, humidity] = ratio
        enthalpy = moist_air.enthalpy(dry_bulb, ratio)
        vapour = moist_air.vapour_pressure(ratio, p)
        back = (
            moist_air.humidity_ratio_of_enthalpy(enthalpy, dry_bulb),
            moist_air.humidity_ratio_of_vapour_pressure(vapour, p),
        )
        assert back == pytest.approx((ratio, ratio), rel=5e-15)
        assert moist_air.humidity_ratio_of_dew_point(dew_point, p) == pytest.approx(ratio, rel=2.4e-10)
        assert moist_air.relative_humidity(dry_bulb, ratio, p) == pytest.approx(humidity, rel=5e-15)
        assert moist_air.dry_bulb_of_enthalpy(enthalpy, ratio) == pytest.approx(dry_bulb, abs=4e-14)
