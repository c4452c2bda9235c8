"""Outdoor air of weather files: humidity from each column that may give it, pressure, and design days.

All weather here is invented. psychrolib is the reference for moist air where nothing else is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from selector.inputs.errors import InputFaults
from selector.inputs.outdoor_states import (
    dew_point_of_humidity_ratio,
    elevation_of_pressure,
    humidity_ratio_of_dew_point,
    standard_pressure,
)
from selector.inputs.si import psychrolib
from selector.inputs.site import FloatArray
from tests.inputs.weather_texts import DEW_POINT, DRY_BULB, PRESSURE, SUN, csv_text, plain_text, read, stamps


# ------------------------------------------------------------------------------------------- humidity
def humid_text(heading: str, values: Sequence[object] | FloatArray) -> str:
    return csv_text(f"time,dry bulb [degC],{heading}", stamps(), DRY_BULB, values)


def test_each_humidity_column_gives_the_same_air(tmp_path: Path) -> None:
    """Dew point, humidity ratio, wet bulb and relative humidity of one air, each from psychrolib.

    Agreement found: 1e-9 for humidity ratio and relative humidity; 3e-4 for wet bulb, which psychrolib itself
    solves to 0.001 K.
    """
    pressure = np.full(8760, PRESSURE)
    expected = psychrolib.GetHumRatioFromTDewPoint(DEW_POINT, pressure)
    assert np.array_equal(read(humid_text("dew point [degC]", DEW_POINT), tmp_path).humidity_ratio, expected)
    for heading, values, agreement in (
        ("humidity ratio [g/kg]", expected * 1000.0, 1e-9),
        ("relative humidity [%]", 100.0 * psychrolib.GetRelHumFromTDewPoint(DRY_BULB, DEW_POINT), 1e-9),
        ("wet bulb [degC]", psychrolib.GetTWetBulbFromHumRatio(DRY_BULB, expected, pressure), 3e-4),
    ):
        year = read(humid_text(heading, values), tmp_path)
        assert year.humidity_ratio == pytest.approx(expected, rel=agreement)
        assert f"humidity ratio from {heading.partition(' [')[0]}, as the file has no dew point" in year.notes


def test_dew_point_goes_before_a_relative_humidity_that_contradicts_it(tmp_path: Path) -> None:
    text = csv_text(
        "time,dry bulb [degC],relative humidity [%],dew point [degC]",
        stamps(),
        DRY_BULB,
        np.full(8760, 90),
        DEW_POINT,
    )
    year = read(text, tmp_path)
    expected = humidity_ratio_of_dew_point(dew_point=DEW_POINT, pressure=np.full(8760, PRESSURE))
    assert np.array_equal(year.humidity_ratio, expected)
    assert any(
        "relative humidity contradicts its dry bulb and dew point by up to" in note for note in year.notes
    )


def test_dew_point_just_above_dry_bulb_is_saturated_air_and_counted(tmp_path: Path) -> None:
    """0.6 K above in two hours: both values rounded to whole degrees Fahrenheit can do that."""
    year = read(plain_text(h100="01-05 04:00,5.0,5.6", h101="01-05 05:00,5.0,5.1"), tmp_path)
    assert year.humidity_ratio[100] == year.humidity_ratio[101] == psychrolib.GetSatHumRatio(5.0, PRESSURE)
    assert "2 hours with dew point above saturation, by up to 0.6 K, were taken as saturated" in year.notes


def test_relative_humidity_just_above_one_is_saturated_air_and_counted(tmp_path: Path) -> None:
    values = np.full(8760, 60.0)
    values[100] = 102.0
    year = read(humid_text("relative humidity [%]", values), tmp_path)
    assert year.humidity_ratio[100] == psychrolib.GetSatHumRatio(DRY_BULB[100], PRESSURE)
    assert "1 hours of relative humidity above 100 % were taken as 100 %" in year.notes


def test_humidity_ratio_above_saturation_is_refused(tmp_path: Path) -> None:
    values = np.full(8760, 3.0)
    values[4000] = 40.0
    with pytest.raises(InputFaults, match="humidity ratio, hours 06-16 16:00: got air above saturation"):
        read(humid_text("humidity ratio [g/kg]", values), tmp_path)


# ------------------------------------------------------------------------------------------- pressure
def test_elevation_of_the_site_goes_before_the_files(tmp_path: Path) -> None:
    year = read(plain_text(), tmp_path, elevation=700.0)
    assert year.elevation == 700.0
    assert year.pressure[0] == pytest.approx(psychrolib.GetStandardAtmPressure(700.0))
    assert any(note.startswith("the site lies at 700 m, the weather station at 100 m") for note in year.notes)


def test_pressure_reduced_to_sea_level_is_brought_to_the_station(tmp_path: Path) -> None:
    text = csv_text(
        "time,dry bulb [degC],dew point [degC],sea level pressure [hPa]",
        stamps(),
        DRY_BULB,
        DEW_POINT,
        np.full(8760, 1013.25),
        head="# elevation: 1600 m",
    )
    year = read(text, tmp_path)
    expected = psychrolib.GetStationPressure(np.full(8760, 101325.0), 1600.0, DRY_BULB)
    assert year.pressure == pytest.approx(expected, rel=1e-12)
    assert "pressure at 1600 m from the pressure at sea level" in year.notes


def test_sea_level_pressure_named_as_station_pressure_is_refused(tmp_path: Path) -> None:
    text = csv_text(
        "time,dry bulb [degC],dew point [degC],pressure [hPa]",
        stamps(),
        DRY_BULB,
        DEW_POINT,
        np.full(8760, 1013.25),
        head="# elevation: 1600 m",
    )
    with pytest.raises(
        InputFaults, match="pressure: got a mean of 101325 Pa; allowed: within 6% of 83523 Pa"
    ):
        read(text, tmp_path)


def test_elevation_from_pressure_where_nothing_else_says_it(tmp_path: Path) -> None:
    """Round trip through the standard atmosphere; agreement found 0.1 m."""
    text = csv_text(
        "time,dry bulb [degC],dew point [degC],pressure [Pa]",
        stamps(),
        DRY_BULB,
        DEW_POINT,
        np.full(8760, PRESSURE),
        head="#",
    )
    assert read(text, tmp_path).elevation == pytest.approx(100.0, abs=0.1)
    for elevation in (-400.0, 0.0, 1234.0, 4500.0):
        assert elevation_of_pressure(standard_pressure(elevation)) == pytest.approx(elevation, abs=0.1)


# ------------------------------------------------------------------------------------------- design days
def test_design_day_holds_its_dew_point_and_its_coincident_dry_bulb(tmp_path: Path) -> None:
    """By hand: 36 hours of one day and a half at a dew point of 24 °C, all else at 10 °C.

    35 hours are 0.4 % of 8,760; the 36th highest value is still 24. These hours run from 00:00 on 20 July (a
    Friday when 1 January is a Monday) to 12:00 on 21 July; both days have the same course of dry bulb, so the
    mean course, placed to keep its mean in these hours, is that course, cut at saturation.
    """
    start = 200 * 24
    course = 28.0 + 4.0 * np.sin(2 * np.pi * (np.arange(24) - 9) / 24)
    dry_bulb = np.full(8760, 18.0)
    dry_bulb[start : start + 48] = np.tile(course, 2)
    dew_point = np.full(8760, 10.0)
    dew_point[start : start + 36] = 24.0
    text = csv_text(
        "time,dry bulb [degC],dew point [degC],global horizontal [W/m2]", stamps(), dry_bulb, dew_point, SUN
    )
    year = read(text, tmp_path, first_weekday=0)
    half_percent, one_percent = year.design_days
    assert (half_percent.percent, half_percent.dew_point) == (0.4, 24.0)
    assert (one_percent.percent, one_percent.dew_point) == (1.0, 10.0)
    assert half_percent.dry_bulb == pytest.approx(np.maximum(course, 24.0), abs=1e-9)
    assert half_percent.hour_of_year == start + 12
    assert np.array_equal(half_percent.global_horizontal, SUN[:24])
    assert half_percent.humidity_ratio == pytest.approx(
        np.full(24, psychrolib.GetHumRatioFromTDewPoint(24.0, PRESSURE)), rel=1e-12
    )
    assert dew_point_of_humidity_ratio(
        humidity_ratio=half_percent.humidity_ratio, pressure=np.full(24, half_percent.pressure)
    ) == pytest.approx(np.full(24, 24.0), abs=1e-3)


def test_design_day_stands_on_a_weekday(tmp_path: Path) -> None:
    """The same file with each weekday for 1 January: the day is never a Saturday or Sunday."""
    for first in range(7):
        for day in read(plain_text(), tmp_path, first_weekday=first).design_days:
            assert (first + day.hour_of_year // 24) % 7 < 5
            assert day.hour_of_year % 24 == 12
