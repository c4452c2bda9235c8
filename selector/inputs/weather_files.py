"""Weather files of the open standard forms, read by pvlib: EPW, TMY3 and TMY2.

All three stamp an hour at its end (hour 1 is the one that starts at 00:00), whatever index pvlib gives it.
Sources: Crawley, Hand and Lawrie, "Improving the weather information available to simulation programs", Building
Simulation 1999 (EPW); Wilcox and Marion, "Users manual for TMY3 data sets", NREL/TP-581-43156 (2008); Marion and
Urban, "User's manual for TMY2s", NREL (1995), appendix B.
"""

from __future__ import annotations

import io
import re
import tempfile
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from selector.inputs.calendar import WEEKDAY_NAMES
from selector.inputs.errors import Faults
from selector.inputs.site import HOURS, BoolArray, FloatArray
from selector.inputs.tables import lines_text
from selector.inputs.weather_table import (
    QUANTITIES,
    IntArray,
    WeatherTable,
    known_elevation,
    lay_on_year,
    minute_of_year,
    refuse_out_of_range,
)

if TYPE_CHECKING:
    import pandas as pd

# column: (name in pvlib's table, factor to SI, value from which on it is a code for "missing")
_Columns = Mapping[str, tuple[str, float, float]]
_EPW: _Columns = {
    "dry_bulb": ("temp_air", 1.0, 99.9),
    "dew_point": ("temp_dew", 1.0, 99.9),
    "relative_humidity": ("relative_humidity", 0.01, 999.0),
    "pressure": ("atmospheric_pressure", 1.0, 999999.0),
    "global_horizontal": ("ghi", 1.0, 9999.0),
}
_TMY3: _Columns = {
    "dry_bulb": ("temp_air", 1.0, 9900.0),
    "dew_point": ("temp_dew", 1.0, 9900.0),
    "relative_humidity": ("relative_humidity", 0.01, 9900.0),
    "pressure": ("pressure", 100.0, 9900.0),
    "global_horizontal": ("ghi", 1.0, 9900.0),
}
_TMY2: _Columns = {
    "dry_bulb": ("DryBulb", 0.1, 9999.0),
    "dew_point": ("DewPoint", 0.1, 9999.0),
    "relative_humidity": ("RHum", 0.01, 999.0),
    "pressure": ("Pressure", 100.0, 9999.0),
    "global_horizontal": ("GHI", 1.0, 9999.0),
}
_MISSING_BELOW = -9000.0  # TMY3 writes -9900


@dataclass(frozen=True, slots=True)
class _Form:
    """How the rows of a file begin, by which those that broke off or slipped are told."""

    name: str
    head: int  # lines above the rows
    row: re.Pattern[str]
    allowed: str


_MONTH, _DAY, _HOUR = "(0?[1-9]|1[0-2])", "(0?[1-9]|[12][0-9]|3[01])", "([01]?[0-9]|2[0-4])"
_EPW_FORM = _Form(
    "EPW",
    8,
    re.compile(rf"\s*\d{{4}}\s*,\s*{_MONTH}\s*,\s*{_DAY}\s*,\s*(?!0*,){_HOUR}\s*,([^,]*,){{9}}[^,]"),
    "year, month 1 to 12, day 1 to 31, hour 1 to 24, then all values",
)
_TMY3_FORM = _Form(
    "TMY3",
    2,
    re.compile(r"(0[1-9]|1[0-2])/(0[1-9]|[12][0-9]|3[01])/\d{4},([01][0-9]|2[0-4]):[0-5][0-9],"),
    'a date as "12/31/1988" and a time from "01:00" to "24:00", then all values',
)
_TMY2_FORM = _Form(
    "TMY2",
    1,
    re.compile(r" \d\d(0[1-9]|1[0-2])(0[1-9]|[12][0-9]|3[01])(0[1-9]|1[0-9]|2[0-4]).{91}"),
    "two digits each of year, month, day and hour, then all values",
)


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """A file without the rows that were refused."""

    text: str
    lines: IntArray  # of the file, of each row that is left
    all_rows: bool  # nothing was refused


def _rows(text: str, form: _Form, file: str, faults: Faults) -> _Rows | None:
    """Refuse rows whose date cannot be read or that break off; None where no row is left."""
    written = text.splitlines()
    kept: list[int] = []
    wrong: list[int] = []
    for number, line in enumerate(written[form.head :], form.head + 1):
        if line.strip():
            (kept if form.row.match(line) else wrong).append(number)
    if wrong:
        got = repr(written[wrong[0] - 1][:40])
        faults.add(
            file=file, where=lines_text(wrong), got=got, allowed=f"a row of {form.name}: {form.allowed}"
        )
    elif not kept:
        allowed = f"{HOURS:,} rows of {form.name} below the first {form.head}"
        faults.add(file=file, where="rows", got="none", allowed=allowed)
    if not kept:
        return None
    whole = [*written[: form.head], *(written[number - 1] for number in kept)]
    return _Rows("\n".join(whole) + "\n", np.array(kept, dtype=np.int64), not wrong)


def _numbers(
    column: pd.Series[Any], name: str, lines: IntArray, file: str, faults: Faults
) -> tuple[FloatArray, BoolArray]:
    """Read a column, NaN where nothing stands; say which rows hold something else than a number."""
    import pandas as pd

    values = pd.to_numeric(column, errors="coerce").to_numpy(dtype=np.float64)
    wrong = ~np.isfinite(values) & column.notna().to_numpy()
    if wrong.any():
        got = repr(str(column.to_numpy()[wrong][0]))
        where = f"{name}, {lines_text(lines[wrong].tolist())}"
        faults.add(file=file, where=where, got=got, allowed="a number with a decimal point")
    return np.where(wrong, np.nan, values), wrong


def read_epw(*, path: Path, text: str, file: str, faults: Faults) -> WeatherTable | None:
    """Read an EPW file.

    Arguments: path, text, file and faults, as `read_tmy3`. Returns: as there.
    """
    from pvlib.iotools import read_epw as read

    rows = _rows(text, _EPW_FORM, file, faults)
    read_file = None if rows is None else _guarded("EPW", read, io.StringIO(rows.text), file, faults)
    if rows is None or read_file is None:
        return None
    frame, head = read_file
    minutes = minute_of_year(
        month=_integers(frame["month"]),
        day=_integers(frame["day"]),
        minute=(_integers(frame["hour"]) - 1) * 60,
    )
    years = np.unique(_integers(frame["year"]))
    period = next((line for line in text.splitlines()[:8] if line.startswith("DATA PERIODS")), "").split(",")
    start = period[4].strip().capitalize() if len(period) > 4 else ""
    table = _table(file, "EPW", frame, _EPW, minutes, rows=rows, head=head, faults=faults)
    return WeatherTable(
        file=table.file,
        kind="measured year" if years.size == 1 else "typical year",
        elevation=table.elevation,
        first_weekday=WEEKDAY_NAMES.index(start)
        if start in WEEKDAY_NAMES
        else datetime(int(years[0]), 1, 1).weekday()
        if years.size == 1
        else None,
        columns=table.columns,
        refused=table.refused,
        notes=table.notes,
    )


def read_tmy3(*, path: Path, text: str, file: str, faults: Faults) -> WeatherTable | None:
    """Read a TMY3 file; the stamp, 01:00 to 24:00, is the end of the hour.

    Arguments: path and text of the file; file, as the person named it; faults, takes what is wrong.
    Returns: the weather as recorded, or None where the file cannot be read as what its first line says it is.
    """
    from pvlib.iotools import read_tmy3 as read

    rows = _rows(text, _TMY3_FORM, file, faults)
    read_file = None if rows is None else _guarded("TMY3", read, io.StringIO(rows.text), file, faults)
    if rows is None or read_file is None:
        return None
    frame, head = read_file
    date = frame["Date (MM/DD/YYYY)"].str
    clock = frame["Time (HH:MM)"].str
    minutes = minute_of_year(
        month=_integers(date[0:2]),
        day=_integers(date[3:5]),
        minute=_integers(clock[0:2]) * 60 + _integers(clock[3:5]) - 60,
    )
    return _table(file, "TMY3", frame, _TMY3, minutes, rows=rows, head=head, faults=faults)


def read_tmy2(*, path: Path, text: str, file: str, faults: Faults) -> WeatherTable | None:
    """Read a TMY2 file, whose temperatures are in tenths of a degree.

    Arguments: path, text, file and faults, as `read_tmy3`. Returns: as there.
    """
    from pvlib.iotools import read_tmy2 as read

    rows = _rows(text, _TMY2_FORM, file, faults)
    if rows is None:
        return None
    if rows.all_rows:
        read_file = _guarded("TMY2", read, path, file, faults)
    else:
        with tempfile.NamedTemporaryFile("w", encoding="utf-8", suffix=".tm2") as kept:  # pvlib wants a name
            kept.write(rows.text)
            kept.flush()
            read_file = _guarded("TMY2", read, kept.name, file, faults)
    if read_file is None:
        return None
    frame, head = read_file
    index = frame.index
    minutes = minute_of_year(
        month=_integers(index.month), day=_integers(index.day), minute=_integers(index.hour) * 60
    )
    return _table(file, "TMY2", frame, _TMY2, minutes, rows=rows, head=head, faults=faults)


def _guarded(form: str, read: Any, source: Any, file: str, faults: Faults) -> Any:
    """Let pvlib read; a file that breaks off or holds something else is a fault, not a traceback."""
    try:
        with warnings.catch_warnings():
            # of columns of text and numbers: which rows these are is said below
            warnings.simplefilter("ignore")
            return read(source)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError) as error:
        faults.add(
            file=file,
            where="contents",
            got=f"a file that begins as {form} and cannot be read as one: {' '.join(str(error).split())[:120]}",
            allowed=f"a complete {form} file",
        )
        return None


def _table(
    file: str,
    form: str,
    frame: pd.DataFrame,
    names: _Columns,
    minutes: IntArray,
    *,
    rows: _Rows,
    head: Mapping[str, Any],
    faults: Faults,
) -> WeatherTable:
    columns: dict[str, FloatArray] = {}
    refused: dict[str, BoolArray] = {}
    for key, (name, factor, missing) in names.items():
        if name not in frame:
            continue
        values, refused[key] = _numbers(frame[name], QUANTITIES[key].name, rows.lines, file, faults)
        columns[key] = np.where((values >= missing) | (values <= _MISSING_BELOW), np.nan, values * factor)
    lines = rows.lines
    for key, wrong in refuse_out_of_range(file=file, lines=lines, columns=columns, faults=faults).items():
        refused[key] |= wrong
    laid = lay_on_year(
        file=file,
        lines=lines,
        minutes=minutes,
        columns=columns,
        refused=refused,
        all_rows=rows.all_rows,
        faults=faults,
    )
    return WeatherTable(
        file=file,
        kind="typical year",
        elevation=known_elevation(
            elevation=float(head["altitude"]), where="line 1, elevation", file=file, faults=faults
        ),
        first_weekday=None,
        columns=laid.columns,
        refused=laid.refused,
        notes=(f"read as {form}", *laid.notes),
    )


def _integers(values: Any) -> IntArray:
    return np.asarray(values, dtype=np.int64)
