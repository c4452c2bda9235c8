"""Weather files of invented weather, as text: CSV and EPW."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from selector.inputs.calendar import name_of_hour
from selector.inputs.outdoor_states import standard_pressure
from selector.inputs.site import FloatArray, Weather
from selector.inputs.weather import read_weather

HOURS = np.arange(8760)
DRY_BULB = np.round(15 - 10 * np.cos(2 * np.pi * HOURS / 8760) - 4 * np.cos(2 * np.pi * HOURS / 24), 1)
DEW_POINT = np.round(DRY_BULB - 4 - 3 * np.sin(2 * np.pi * HOURS / 500) ** 2, 1)
SUN = np.round(np.maximum(-600 * np.cos(2 * np.pi * (HOURS + 0.5) / 24), 0.0))
PRESSURE = standard_pressure(100.0)


def stamps(year: str = "") -> list[str]:
    return [year + name_of_hour(int(hour)) for hour in HOURS]


def csv_text(headings: str, *columns: Sequence[object] | FloatArray, head: str = "# elevation: 100 m") -> str:
    rows = [",".join(str(field) for field in row) for row in zip(*columns, strict=True)]
    return "\n".join([head, headings, *rows]) + "\n"


def plain_text(**changes: str) -> str:
    """A good file; `changes` maps the line of an hour, as h100, to what stands there instead."""
    text = csv_text("time,dry bulb [degC],dew point [degC]", stamps(), DRY_BULB, DEW_POINT)
    lines = text.splitlines()
    for hour, line in changes.items():
        lines[int(hour.removeprefix("h")) + 2] = line
    return "\n".join(line for line in lines if line != "-")


def read(
    text: str, folder: Path, *, elevation: float | None = None, first_weekday: int | None = None
) -> Weather:
    path = folder / "place.csv"
    path.write_text(text, encoding="utf-8")
    return read_weather(path=path, elevation=elevation, first_weekday=first_weekday)


def epw_text(dry_bulb: FloatArray, dew_point: FloatArray, *, year: int = 2019, start: str = "Tuesday") -> str:
    """EPW as its data dictionary has it: 8 head lines, hours 1 to 24, 35 fields; invented weather."""
    head = [
        "LOCATION,Nowhere,-,XXX,invented,0,41.00,-80.00,-5.0,230.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,",
        f"DATA PERIODS,1,1,Data,{start}, 1/ 1,12/31",
    ]
    rows = []
    for hour in HOURS:
        month, day = int(name_of_hour(int(hour))[:2]), int(name_of_hour(int(hour))[3:5])
        fields = [year, month, day, hour % 24 + 1, 0, "?", dry_bulb[hour], dew_point[hour], 50, 98600]
        fields += [0, 0, 300, SUN[hour], 0, 0, 0, 0, 0, 0, 180, 3.0, 5, 5, 16, 77777, 9, 999999999]
        rows.append(",".join(str(field) for field in [*fields, 10, 0.1, 0, 88, 0.2, 0, 0]))
    return "\n".join([*head, *rows]) + "\n"
