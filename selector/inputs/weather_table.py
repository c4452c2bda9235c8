"""What the readers of weather files have in common: rows checked, and laid on the hours of one year."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from selector.inputs.calendar import FIRST_DAY_OF_MONTH, name_of_hour
from selector.inputs.errors import Faults
from selector.inputs.site import HOURS, BoolArray, FloatArray
from selector.inputs.tables import lines_text

IntArray = npt.NDArray[np.int64]
Kind = Literal["typical year", "measured year", "synthetic"]

LEAP_DAY = -1  # minute of the year of a row on 29 February
MINUTES = HOURS * 60
ELEVATIONS = (-500.0, 5000.0)  # m, as of a site


@dataclass(frozen=True, slots=True)
class Quantity:
    """One recorded quantity: how it is called, what it is in and between which values it can be."""

    name: str
    dimension: str  # as in the table of units
    unit: str  # SI
    low: float
    high: float


# The limits only tell a wrong unit or a wrong column from weather: they lie outside the records for the surface
# of the earth (dry bulb -89.2 and 56.7 °C, sea-level pressure 870 and 1084 hPa: World Meteorological
# Organization, Archive of Weather and Climate Extremes) or, for altitude and irradiance, are common practice.
QUANTITIES: Mapping[str, Quantity] = {
    "dry_bulb": Quantity("dry bulb", "temperature", "°C", -90.0, 60.0),
    "dew_point": Quantity("dew point", "temperature", "°C", -95.0, 40.0),
    "wet_bulb": Quantity("wet bulb", "temperature", "°C", -90.0, 45.0),
    "humidity_ratio": Quantity("humidity ratio", "humidity_ratio", "kg/kg", 1e-6, 0.05),
    "relative_humidity": Quantity("relative humidity", "percent", "1", 0.001, 1.05),
    "pressure": Quantity("pressure", "pressure", "Pa", 45e3, 110e3),
    "sea_level_pressure": Quantity("sea level pressure", "pressure", "Pa", 85e3, 110e3),
    "global_horizontal": Quantity("global horizontal", "irradiance", "W/m²", -20.0, 1600.0),
}


HUMIDITY_COLUMNS = ("dew_point", "humidity_ratio", "wet_bulb", "relative_humidity")  # best first


@dataclass(frozen=True, slots=True, eq=False)
class WeatherTable:
    """A weather file as recorded: hours that it leaves out, or marks as missing, hold NaN."""

    file: str
    kind: Kind
    elevation: float | None  # m
    first_weekday: int | None  # of 1 January, Monday = 0, where the file knows
    columns: Mapping[str, FloatArray]  # names as in QUANTITIES; each (8760,) in SI
    # of each column, hours (8760,) without a value that are no gap: noted as faults
    refused: Mapping[str, BoolArray]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """Recorded rows on the hours of one year."""

    columns: Mapping[str, FloatArray]  # each (8760,), NaN where nothing is recorded or what is was refused
    refused: Mapping[str, BoolArray]  # as in `WeatherTable`
    notes: tuple[str, ...]


def minute_of_year(*, month: IntArray, day: IntArray, minute: IntArray) -> IntArray:
    """Lay dates on a year of 365 days.

    Arguments: month [1 to 12]; day [1 to 31]; minute of the day, before 0 or after 1439 where it belongs to a
    neighbouring day; all of shape (n,).
    Returns: minute of the year [0 to 525599], shape (n,); `LEAP_DAY` for 29 February.
    """
    first = np.array(FIRST_DAY_OF_MONTH)[month - 1]
    minutes = ((first + day - 1) * 1440 + minute) % MINUTES
    leap = (month == 2) & (day == 29)
    return np.where(leap, LEAP_DAY, minutes)


def known_elevation(*, elevation: float, where: str, file: str, faults: Faults) -> float:
    """Refuse an elevation at which there is no building.

    Arguments: elevation of the station [m]; where it stands in the file; file, as the person named it; faults, takes
    what is wrong.
    Returns: the elevation [m], NaN where it was refused.
    """
    low, high = ELEVATIONS
    if low <= elevation <= high:
        return elevation
    faults.add(file=file, where=where, got=f"{elevation:g} m", allowed=f"{low:g} to {high:g} m")
    return math.nan


def refuse_missing_columns(*, file: str, columns: Collection[str], faults: Faults) -> str | None:
    """Refuse a file without dry bulb or without humidity.

    Arguments: file, as the person named it; columns that it has, names as in `QUANTITIES`; faults, takes what is
    missing.
    Returns: the best column of humidity, None where there is none.
    """
    source = next((key for key in HUMIDITY_COLUMNS if key in columns), None)
    for missing, allowed in (
        (None if "dry_bulb" in columns else "dry bulb", "a column dry bulb"),
        (None if source else "humidity", "dew point, humidity ratio, wet bulb or relative humidity"),
    ):
        if missing:
            faults.add(file=file, where="columns", got=f"no {missing}", allowed=allowed)
    return source


def refuse_out_of_range(
    *, file: str, lines: IntArray, columns: Mapping[str, FloatArray], faults: Faults
) -> dict[str, BoolArray]:
    """Refuse recorded values that no weather has.

    Arguments: file, lines and columns as of `lay_on_year`; faults, takes what is out of range.
    Returns: for each column the rows that are, shape (n,).
    """
    refused: dict[str, BoolArray] = {}
    for key, values in columns.items():
        quantity = QUANTITIES[key]
        wrong = ~np.isnan(values) & ~((values >= quantity.low) & (values <= quantity.high))
        refused[key] = wrong
        if wrong.any():
            extreme = values[wrong][np.argmax(np.abs(values[wrong]))]
            faults.add(
                file=file,
                where=f"{quantity.name}, {lines_text(lines[wrong].tolist())}",
                got=f"{extreme:g} {quantity.unit}",
                allowed=f"{quantity.low:g} to {quantity.high:g} {quantity.unit}",
            )
    return refused


def lay_on_year(
    *,
    file: str,
    lines: IntArray,
    minutes: IntArray,
    columns: Mapping[str, FloatArray],
    refused: Mapping[str, BoolArray],
    all_rows: bool,
    faults: Faults,
) -> Laid:
    """Lay recorded rows on the hours of the year; several rows in an hour are averaged.

    Arguments:
        file: as the person named it.
        lines: line of the file for each row, shape (n,).
        minutes: minute of the year for each row, shape (n,), see `minute_of_year`.
        columns: recorded values in SI, names as in `QUANTITIES`, each (n,), NaN where missing.
        refused: for each column the rows whose value was refused, shape (n,); it is left out.
        all_rows: whether these are all rows of the file. Of the others no one knows the hour, so that an hour without a
            row is no gap then.
        faults: takes rows at the same time as another.

    Returns: the year as far as it is known.
    """
    notes: list[str] = []
    leap = minutes == LEAP_DAY
    if leap.any():
        notes.append(f"{int(leap.sum())} rows of 29 February are left out: the year has 365 days")
    order = np.argsort(minutes[~leap], kind="stable")
    kept = np.flatnonzero(~leap)[order]
    again = np.flatnonzero(np.diff(minutes[kept]) == 0)
    if again.size:
        first, second = lines[kept[again[0]]], lines[kept[again[0] + 1]]
        faults.add(
            file=file,
            where=lines_text(lines[kept[again + 1]].tolist()),
            got=f"{again.size} times of the year that come twice "
            f"({name_of_hour(int(minutes[kept[again[0]]]) // 60)} in lines {first} and {second})",
            allowed="each time of one year once, in local standard time all year",
        )
    hours = minutes[kept] // 60
    if kept.size > np.unique(hours).size and not again.size:
        notes.append("several rows in an hour are averaged")
    laid: dict[str, FloatArray] = {}
    no_gap: dict[str, BoolArray] = {}
    unknown = np.zeros(HOURS, dtype=np.bool_) if all_rows else np.bincount(hours, minlength=HOURS) == 0
    for key, values in columns.items():
        left_out = refused[key][kept]
        recorded = ~np.isnan(values[kept]) & ~left_out
        total = np.bincount(hours[recorded], weights=values[kept][recorded], minlength=HOURS)
        count = np.bincount(hours[recorded], minlength=HOURS)
        laid[key] = np.where(count > 0, total / np.maximum(count, 1), np.nan)
        no_gap[key] = (count == 0) & (unknown | (np.bincount(hours[left_out], minlength=HOURS) > 0))
    return Laid(columns=laid, refused=no_gap, notes=tuple(notes))
