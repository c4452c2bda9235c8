"""The synthetic year from monthly normals: its means, its shape, and how far it is from real typical years.

Normals are invented but for those that are taken from pvlib's typical years.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from selector.inputs.calendar import DAYS_IN_MONTH, month_of_hour
from selector.inputs.errors import Faults, InputFaults
from selector.inputs.normals import extraterrestrial_horizontal, smooth_course, weather_from_normals
from selector.inputs.outdoor_states import dew_point_of_humidity_ratio
from selector.inputs.site import FloatArray, Weather
from selector.inputs.weather import read_weather

DAY_MONTH = np.repeat(np.arange(12), DAYS_IN_MONTH)


@dataclass(frozen=True)
class Normals:
    dry_bulb: tuple[float, ...] = (-2, -1, 4, 10, 16, 21, 24, 23, 19, 12, 6, 0)
    daily_range: tuple[float, ...] = (8, 9, 10, 12, 12, 12, 12, 12, 12, 12, 9, 8)
    dew_point: tuple[float, ...] = (-7, -6, -3, 2, 9, 15, 18, 17.5, 13, 6, 1, -4)
    elevation: float = 200.0
    latitude: float | None = 40.0
    global_horizontal: tuple[float, ...] | None = (75, 110, 150, 190, 225, 245, 240, 215, 175, 125, 80, 65)
    clearness: tuple[float, ...] | None = None


def year_of(normals: Normals) -> Weather:
    faults = Faults()
    year = weather_from_normals(
        dry_bulb=normals.dry_bulb,
        daily_range=normals.daily_range,
        dew_point=normals.dew_point,
        elevation=normals.elevation,
        first_weekday=3,
        latitude=normals.latitude,
        global_horizontal=normals.global_horizontal,
        clearness=normals.clearness,
        file="site.toml",
        faults=faults,
    )
    faults.raise_if_any()
    assert year is not None
    return year


def monthly(hours: FloatArray) -> FloatArray:
    return np.array([hours[month_of_hour() == month].mean() for month in range(12)])


def monthly_range(hours: FloatArray) -> FloatArray:
    days = hours.reshape(365, 24)
    ranges = days.max(axis=1) - days.min(axis=1)
    return np.array([ranges[month == DAY_MONTH].mean() for month in range(12)])


def dew_point_of(year: Weather) -> FloatArray:
    return dew_point_of_humidity_ratio(humidity_ratio=year.humidity_ratio, pressure=year.pressure)


def test_monthly_means_are_the_normals() -> None:
    """Agreement found: dry bulb 1e-6 K; dew point 1e-6 K, through psychrolib's inverse; range 1e-3 K; sun 1e-9 W/m²."""
    normals = Normals()
    year = year_of(normals)
    assert monthly(year.dry_bulb) == pytest.approx(normals.dry_bulb, abs=1e-6)
    assert monthly(dew_point_of(year)) == pytest.approx(normals.dew_point, abs=1e-6)
    assert monthly_range(year.dry_bulb) == pytest.approx(normals.daily_range, abs=1e-3)
    assert monthly(year.global_horizontal) == pytest.approx(normals.global_horizontal, abs=1e-9)


def test_synthetic_year_says_so() -> None:
    year = year_of(Normals())
    assert (year.kind, year.source, year.first_weekday) == ("synthetic", "monthly normals", 3)
    assert year.notes[0].startswith("synthetic year from monthly normals")
    assert len(year.design_days) == 2


def test_same_normals_same_year() -> None:
    first, second = year_of(Normals()), year_of(Normals())
    assert np.array_equal(first.dry_bulb, second.dry_bulb)
    assert np.array_equal(first.humidity_ratio, second.humidity_ratio)


def test_dew_point_is_nowhere_above_dry_bulb() -> None:
    """Humid normals: dew point 1 K below dry bulb on the mean, so many nights are saturated."""
    humid = replace(Normals(), dew_point=tuple(value - 1.0 for value in Normals().dry_bulb))
    year = year_of(humid)
    assert (dew_point_of(year) <= year.dry_bulb + 1e-3).all()
    assert monthly(dew_point_of(year)) == pytest.approx(humid.dew_point, abs=1e-5)


def test_weather_changes_from_day_to_day_more_in_dry_air() -> None:
    """Spread of a day's dew point about its month: 6 - 0.2 * dew point within 1 to 7 K; 7 K in January, 2.4 in July.

    Means over a day flatten the shortest waves, and waves do not close in a month: agreement found 0.68 K.
    """
    days = dew_point_of(year_of(Normals())).reshape(365, 24).mean(axis=1)
    spread = [float(days[month == DAY_MONTH].std()) for month in (0, 6)]
    assert spread == pytest.approx([7.0, 2.4], abs=0.68)


def test_smooth_course_keeps_monthly_means_and_closes() -> None:
    values = np.array(Normals().dry_bulb)
    course = smooth_course(values)
    assert monthly(course) == pytest.approx(values, abs=1e-12)
    assert abs(course[0] - course[-1]) < 0.02
    assert smooth_course(np.full(12, 3.0)) == pytest.approx(np.full(8760, 3.0), abs=1e-12)


# Mean daily irradiance outside the atmosphere on a horizontal plane, MJ/(m² day): FAO Irrigation and Drainage Paper
# 56 (Allen et al. 1998), ch. 4, examples 17 and 18 (Ra of 15 April at 13.73 N, of 6 July at 50.80 N). That paper
# has a solar constant of 1367 W/m² where pvlib has 1366.1, and simpler series for the orbit; agreement found 0.29 %.
@pytest.mark.parametrize(("latitude", "day", "expected"), [(13.73, 104, 38.058), (50.80, 186, 41.088)])
def test_irradiance_outside_the_atmosphere(latitude: float, day: int, expected: float) -> None:
    hours = extraterrestrial_horizontal(latitude=latitude).reshape(365, 24)[day]
    assert hours.sum() * 3600 / 1e6 == pytest.approx(expected, rel=2.9e-3)


def test_clearness_is_a_share_of_that() -> None:
    shares = (0.4, 0.45, 0.5, 0.5, 0.5, 0.55, 0.55, 0.5, 0.5, 0.45, 0.4, 0.4)
    year = year_of(replace(Normals(), global_horizontal=None, clearness=shares))
    outside = extraterrestrial_horizontal(latitude=40.0)
    assert year.global_horizontal == pytest.approx(outside * np.array(shares)[month_of_hour()], abs=1e-9)


def test_no_sun_where_the_normals_have_none() -> None:
    year = year_of(replace(Normals(), latitude=None, global_horizontal=None))
    assert not year.global_horizontal.any()
    assert "no irradiance among the normals: the sun is left out" in year.notes


@dataclass(frozen=True)
class Real:
    file: str
    latitude: float
    dew_point: float  # K, synthetic less real dew point that 0.4 % of the hours exceed
    hours: float  # share by which the hours above 18 °C dew point differ
    excess: float  # share by which the sum of moisture above 8.5 g/kg differs


# How far a year made from a file's own normals is from that file (pvlib's typical years). The differences are those
# found: right to 1 K and to 11 % of the moist hours inland and in the subtropics, 4.9 K too humid on a cold sea coast.
REAL = (
    Real("12839.tm2", 25.80, 0.99, -0.11, -0.037),
    Real("723170TYA.CSV", 36.10, -0.12, -0.072, -0.062),
    Real("703165TY.csv", 55.317, 4.85, 0.0, float("inf")),
)


@pytest.mark.parametrize("real", REAL, ids=lambda case: case.file)
def test_against_the_typical_year_that_the_normals_come_from(real: Real) -> None:
    package = find_spec("pvlib")
    assert package is not None
    assert package.submodule_search_locations is not None
    folder = Path(package.submodule_search_locations[0]) / "data"
    year = read_weather(path=folder / real.file, elevation=None, first_weekday=0)
    made = year_of(
        Normals(
            dry_bulb=tuple(monthly(year.dry_bulb)),
            daily_range=tuple(monthly_range(year.dry_bulb)),
            dew_point=tuple(monthly(dew_point_of(year))),
            elevation=year.elevation,
            latitude=real.latitude,
            global_horizontal=tuple(monthly(year.global_horizontal)),
        )
    )
    difference = made.design_days[0].dew_point - year.design_days[0].dew_point
    assert difference == pytest.approx(real.dew_point, abs=0.01)
    humid = int((dew_point_of(year) > 18.0).sum())
    assert int((dew_point_of(made) > 18.0).sum()) == pytest.approx(humid * (1.0 + real.hours), rel=0.005)
    if np.isfinite(real.excess):
        found = np.maximum(made.humidity_ratio - 0.0085, 0.0).sum()
        whole = np.maximum(year.humidity_ratio - 0.0085, 0.0).sum()
        assert found == pytest.approx(whole * (1.0 + real.excess), rel=0.001)


@pytest.mark.parametrize(
    ("normals", "message"),
    [
        (
            replace(Normals(), dry_bulb=(10.0,) * 11),
            "normals.dry_bulb: got 11 values; allowed: twelve, January to",
        ),
        (
            replace(Normals(), dew_point=(*Normals().dew_point[:6], 24.0, *Normals().dew_point[7:])),
            r"normals.dew_point\[6\]: got 24 °C with a mean dry bulb of 24 °C; allowed: a mean at least 0\.5 K below",
        ),
        (
            replace(Normals(), daily_range=(-1.0,) * 12),
            r"normals.daily_range\[0\]: got -1 K; allowed: 0 to 35 K",
        ),
        (replace(Normals(), latitude=95.0), "normals.latitude: got 95; allowed: -90 to 90 degrees"),
        (
            replace(Normals(), latitude=None),
            "normals.latitude: got nothing; allowed: degrees, for the sun's course",
        ),
        (replace(Normals(), clearness=(0.5,) * 12), "normals: got both global_horizontal and clearness"),
        (
            replace(Normals(), global_horizontal=None, clearness=(1.5,) * 12),
            r"normals.clearness\[11\]: got 1\.5; allowed: 0 to 1",
        ),
        (
            replace(Normals(), latitude=60.0),
            "normals.global_horizontal: got 2.37 times the irradiance outside the atmosphere in month 12",
        ),
    ],
)
def test_refused(normals: Normals, message: str) -> None:
    with pytest.raises(InputFaults, match=message):
        year_of(normals)
