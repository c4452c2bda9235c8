"""Weather from a CSV file whose headings carry the units.

::

    # place: Tidewater, invented
    # kind: synthetic
    # elevation: 12 m
    time,dry bulb [degC],dew point [degC],global horizontal [W/m2]
    01-01 00:00,8.4,6.1,0

Lines before the headings that start with "#" are comments; `kind` (typical year, measured year, synthetic),
`elevation` and `place` are read from them. `time` is when the hour starts, `time ending` when it ends, in local
standard time, as "2013-07-01 14:00" or without the year; rows may come in any order and more often than hourly.
Needed: dry bulb and one of dew point, humidity ratio, wet bulb, relative humidity (the first of these is used).
Optional: pressure or sea level pressure, global horizontal. Columns of other names are named in a note.
An empty field, NA and NaN mean missing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from selector.inputs.errors import Faults
from selector.inputs.quantities import QuantityError, parse, parse_heading
from selector.inputs.site import BoolArray, FloatArray
from selector.inputs.tables import lines_text, plain, read_table
from selector.inputs.weather_table import (
    LEAP_DAY,
    QUANTITIES,
    IntArray,
    Kind,
    WeatherTable,
    known_elevation,
    lay_on_year,
    minute_of_year,
    refuse_missing_columns,
    refuse_out_of_range,
)

KINDS: tuple[Kind, ...] = ("typical year", "measured year", "synthetic")
_MISSING = ("", "na", "nan")
_TIME = 'local standard time as "2013-07-01 14:00" or "07-01 14:00"'
_COLUMN_OF_NAME = {quantity.name: key for key, quantity in QUANTITIES.items()} | {
    "dewpoint": "dew_point",
    "drybulb": "dry_bulb",
    "wetbulb": "wet_bulb",
    "global horizontal irradiance": "global_horizontal",
}
_DIMENSION_OF_NAME = {name: QUANTITIES[key].dimension for name, key in _COLUMN_OF_NAME.items()}


def read_csv_weather(*, text: str, file: str, faults: Faults) -> WeatherTable | None:
    """Read a CSV weather file, see the head of this module.

    Arguments: text of the file; file, as the person named it; faults, takes what is wrong.
    Returns: the weather as recorded, or None where it cannot be made out.
    """
    table = read_table(text=text, file=file, faults=faults)
    if table is None:
        return None
    said, headings, body = table.comments, table.headings, table.rows
    kind = said.get("kind")
    if kind is not None and kind not in KINDS:
        faults.add(file=file, where="# kind", got=repr(kind), allowed=", ".join(KINDS))
        kind = None
    elevation = _elevation(said.get("elevation"), file, faults)
    lines = np.array(table.lines, dtype=np.int64)
    time = _time_column(headings, file, faults)
    columns, refused, unused = _columns(headings, body, lines, file, faults)
    times = None
    if time is not None:
        times = _times([row[time[0]] for row in body], lines, 60 if time[1] else 0, file, faults)
    if times is None or times.universal:
        refuse_missing_columns(file=file, columns=columns, faults=faults)
        return None
    known, minutes, years = times.known, times.minutes[times.known], times.years
    laid = lay_on_year(
        file=file,
        lines=lines[known],
        minutes=minutes,
        columns={key: values[known] for key, values in columns.items()},
        refused={key: rows[known] for key, rows in refused.items()},
        all_rows=bool(known.all()) and not table.torn,
        faults=faults,
    )
    notes = laid.notes
    single = years.size > 0 and np.unique(years).size <= 2 and int(np.ptp(years)) <= 1
    if unused:
        notes = (*notes, f"columns of the weather file that are not used: {', '.join(unused)}")
    return WeatherTable(
        file=file,
        kind=kind or ("measured year" if single else "typical year"),
        elevation=elevation,
        first_weekday=datetime(int(years[int(np.argmin(minutes))]), 1, 1).weekday() if single else None,
        columns=laid.columns,
        refused=laid.refused,
        notes=notes,
    )


def _elevation(given: str | None, file: str, faults: Faults) -> float | None:
    if given is None:
        return None
    try:
        elevation = parse(given, "length")
    except QuantityError as error:
        faults.add(file=file, where="# elevation", got=error.got, allowed=error.allowed)
        return math.nan  # refused: no pressure disagrees with it
    return known_elevation(elevation=elevation, where="# elevation", file=file, faults=faults)


def _time_column(headings: Sequence[str], file: str, faults: Faults) -> tuple[int, bool] | None:
    """Which column is the time, and whether it is the end of the hour."""
    names = [plain(heading) for heading in headings]
    found = [(i, name == "time ending") for i, name in enumerate(names) if name in ("time", "time ending")]
    if len(found) != 1:
        faults.add(
            file=file,
            where="headings",
            got=f"{len(found)} columns of time in: {', '.join(headings)}",
            allowed='one column "time" (hour starts) or "time ending"',
        )
        return None
    return found[0]


def _columns(
    headings: Sequence[str], body: Sequence[Sequence[str]], lines: IntArray, file: str, faults: Faults
) -> tuple[dict[str, FloatArray], dict[str, BoolArray], list[str]]:
    """Read the columns that are known, in SI; say which of their rows were refused; name those that are not known."""
    columns: dict[str, FloatArray] = {}
    refused: dict[str, BoolArray] = {}
    unused = []
    for number, heading in enumerate(headings):
        name = plain(heading.partition("[")[0])
        key = _COLUMN_OF_NAME.get(name)
        if key is None:
            if plain(heading) not in ("time", "time ending"):
                unused.append(heading)
            continue
        if key in columns:
            faults.add(
                file=file,
                where="headings",
                got=f"{heading!r}, a column that comes twice",
                allowed=f"one column {QUANTITIES[key].name!r}",
            )
            continue
        columns[key], refused[key] = _numbers([row[number] for row in body], heading, lines, file, faults)
        try:
            conversion = parse_heading(heading, dimensions=_DIMENSION_OF_NAME).conversion
        except QuantityError as error:
            faults.add(file=file, where="headings", got=error.got, allowed=error.allowed)
            refused[key] |= ~np.isnan(columns[key])
            columns[key][:] = np.nan
            continue
        columns[key] = columns[key] * conversion.scale + conversion.offset
    for key, rows in refuse_out_of_range(file=file, lines=lines, columns=columns, faults=faults).items():
        refused[key] |= rows
    return columns, refused, unused


def _numbers(
    fields: Sequence[str], heading: str, lines: IntArray, file: str, faults: Faults
) -> tuple[FloatArray, BoolArray]:
    """Read the fields of a column; say which of them are no numbers."""
    values = np.full(len(fields), np.nan)
    wrong = []
    for i, field in enumerate(fields):
        if field.lower() in _MISSING:
            continue
        try:
            value = math.inf if "_" in field else float(field)
        except ValueError:
            value = math.inf
        if math.isinf(value):
            wrong.append(i)
        else:
            values[i] = value
    refused = np.zeros(len(fields), dtype=np.bool_)
    if wrong:
        refused[wrong] = True
        faults.add(
            file=file,
            where=f"{heading}, {lines_text(lines[wrong].tolist())}",
            got=repr(fields[wrong[0]]),
            allowed="a number with a decimal point; an empty field, NA or NaN where it is missing",
        )
    return values, refused


@dataclass(frozen=True, slots=True, eq=False)
class _Times:
    known: BoolArray  # which rows have a time that can be read
    minutes: IntArray  # of the year, at each row's start
    years: IntArray  # of all rows, empty where not every row has one
    universal: bool  # not in local standard time, so that no minute is right


def _times(fields: Sequence[str], lines: IntArray, shift: int, file: str, faults: Faults) -> _Times:
    count = len(fields)
    month, day, minute, year = (np.ones(count, dtype=np.int64) for _ in range(4))
    wrong, offsets, years = [], set(), []
    for i, field in enumerate(fields):
        stamp = _stamp(field)
        if stamp is None:
            wrong.append(i)
            continue
        moment, late = stamp
        month[i], day[i] = moment.month, moment.day
        minute[i] = 1440 if late else moment.hour * 60 + moment.minute
        if moment.year != _NO_YEAR:
            year[i] = moment.year
            years.append(moment.year)
        offsets.add(moment.utcoffset())
    if wrong:
        faults.add(
            file=file,
            where=f"time, {lines_text(lines[wrong].tolist())}",
            got=repr(fields[wrong[0]]),
            allowed=_TIME,
        )
    universal = len(offsets) > 1 or any(field.endswith(("Z", "z")) for field in fields)
    if universal:
        faults.add(
            file=file,
            where="time",
            got="universal time, or an offset that changes over the year",
            allowed=_TIME,
        )
    if years and len(years) + len(wrong) < count:
        faults.add(file=file, where="time", got="some rows with a year and some without", allowed=_TIME)
    minutes = minute_of_year(month=month, day=day, minute=minute)
    if shift:
        minutes = np.where(minutes == LEAP_DAY, LEAP_DAY, (minutes - shift) % (365 * 1440))
    known = np.ones(count, dtype=np.bool_)
    known[wrong] = False
    every_year = np.array(years if len(years) == count else [], dtype=np.int64)
    return _Times(known=known, minutes=minutes, years=every_year, universal=universal)


_NO_YEAR = 4  # a leap year that no record is of


def _stamp(text: str) -> tuple[datetime, bool] | None:
    """Read a time; the second value is True for 24:00, the end of that day."""
    if len(text) > 5 and text[2:3] == "-":
        text = f"{_NO_YEAR:04d}-{text}"
    late = text[10:].strip("T ") in ("24:00", "24:00:00", "24")
    if late:
        text = text[:10] + " 00:00"
    try:
        return datetime.fromisoformat(text), late
    except ValueError:
        return None
