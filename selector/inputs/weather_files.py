"""Weather files of the open standard forms, read by pvlib: EPW, TMY3 and TMY2.

All three stamp an hour at its end (hour 1 is the one that starts at 00:00), whatever index pvlib gives it.
Sources: Crawley, Hand and Lawrie, "Improving the weather information available to simulation programs", Building
Simulation 1999 (EPW); Wilcox and Marion, "Users manual for TMY3 data sets", NREL/TP-581-43156 (2008); Marion and
Urban, "User's manual for TMY2s", NREL (1995), appendix B.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from selector.inputs.calendar import WEEKDAY_NAMES
from selector.inputs.errors import Faults
from selector.inputs.site import FloatArray
from selector.inputs.weather_table import (
    IntArray,
    WeatherTable,
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


def read_epw(*, path: Path, text: str, file: str, faults: Faults) -> WeatherTable | None:
    """Read an EPW file.

    Arguments: path, text, file and faults, as `read_tmy3`. Returns: as there.
    """
    from pvlib.iotools import read_epw as read

    read_file = _guarded("EPW", read, io.StringIO(text), file, faults)
    if read_file is None:
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
    table = _table(file, "EPW", frame, _EPW, minutes, first_line=9, head=head, faults=faults)
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

    read_file = _guarded("TMY3", read, io.StringIO(text), file, faults)
    if read_file is None:
        return None
    frame, head = read_file
    date = frame["Date (MM/DD/YYYY)"].str
    clock = frame["Time (HH:MM)"].str
    minutes = minute_of_year(
        month=_integers(date[0:2]),
        day=_integers(date[3:5]),
        minute=_integers(clock[0:2]) * 60 + _integers(clock[3:5]) - 60,
    )
    return _table(file, "TMY3", frame, _TMY3, minutes, first_line=3, head=head, faults=faults)


def read_tmy2(*, path: Path, text: str, file: str, faults: Faults) -> WeatherTable | None:
    """Read a TMY2 file, whose temperatures are in tenths of a degree.

    Arguments: path, text, file and faults, as `read_tmy3`. Returns: as there.
    """
    from pvlib.iotools import read_tmy2 as read

    read_file = _guarded("TMY2", read, path, file, faults)
    if read_file is None:
        return None
    frame, head = read_file
    index = frame.index
    minutes = minute_of_year(
        month=_integers(index.month), day=_integers(index.day), minute=_integers(index.hour) * 60
    )
    return _table(file, "TMY2", frame, _TMY2, minutes, first_line=2, head=head, faults=faults)


def _guarded(form: str, read: Any, source: Any, file: str, faults: Faults) -> Any:
    """Let pvlib read; a file that breaks off or holds something else is a fault, not a traceback."""
    try:
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
    first_line: int,
    head: Mapping[str, Any],
    faults: Faults,
) -> WeatherTable:
    columns: dict[str, FloatArray] = {}
    for key, (name, factor, missing) in names.items():
        values = frame[name].to_numpy(dtype=np.float64)
        columns[key] = np.where((values >= missing) | (values <= _MISSING_BELOW), np.nan, values * factor)
    lines = np.arange(len(frame), dtype=np.int64) + first_line
    laid = lay_on_year(
        file=file,
        lines=lines,
        minutes=minutes,
        columns=columns,
        refused=refuse_out_of_range(file=file, lines=lines, columns=columns, faults=faults),
        all_rows=True,
        faults=faults,
    )
    return WeatherTable(
        file=file,
        kind="typical year",
        elevation=float(head["altitude"]),
        first_weekday=None,
        columns=laid.columns,
        refused=laid.refused,
        notes=(f"read as {form}", *laid.notes),
    )


def _integers(values: Any) -> IntArray:
    return np.asarray(values, dtype=np.int64)
