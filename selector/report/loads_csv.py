"""The hourly CSV of `loads`: moisture and sensible heat of every hour, source by source, SI.

Positive is into the space, so the moisture of an hour adds up to nothing over its sources, and so does its heat. The
months of these columns are the tables of `loads`.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

import numpy as np

from selector.decide.evaluate import JOULES_PER_KWH
from selector.inputs.site import HOURS, FloatArray
from selector.physics.hourly import HourlyYear
from selector.physics.loads import Source, moisture_sources, sensible_sources
from selector.physics.prepare import Prepared
from selector.report.figures import MARKS
from selector.report.hourly_csv import time_texts
from selector.report.lines import marks
from selector.report.text import clean

MOISTURE, SENSIBLE = "moisture_kg", "sensible_kWh"


def loads_columns(*, prepared: Prepared, year: HourlyYear) -> dict[str, FloatArray]:
    """Columns of the CSV but the time.

    Args: prepared; year, of the existing system.
    Returns: (8760,) by heading, "moisture_kg: NAME" in kg and then "sensible_kWh: NAME" in kWh, positive into the
        space. What stands before the name keeps a name that a person chose from being read as a formula.
    """
    moisture = moisture_sources(prepared=prepared, year=year)
    sensible = sensible_sources(prepared=prepared, year=year)
    return {
        **_named(MOISTURE, moisture, 1.0),
        **_named(SENSIBLE, sensible, 1.0 / JOULES_PER_KWH),
    }


def _named(quantity: str, sources: Sequence[Source], scale: float) -> dict[str, FloatArray]:
    """Columns by heading; of several sources with one name all but the first get a number."""
    columns: dict[str, FloatArray] = {}
    for source in sources:
        heading = f"{quantity}: {clean(source.name)}"
        number = 1
        while heading in columns:
            number += 1
            heading = f"{quantity}: {clean(source.name)} ({number})"
        columns[heading] = source.values * scale
    return columns


def loads_csv(*, prepared: Prepared, year: HourlyYear) -> str:
    """Write the hourly CSV of `loads`.

    Args: prepared; year, of the existing system.
    Returns: text, one row of headings and 8,760 rows.
    """
    columns = loads_columns(prepared=prepared, year=year)
    times = time_texts(prepared.site.weather.first_weekday)
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(["time", *columns, MARKS])
    values = np.column_stack([np.zeros((HOURS, 0)), *columns.values()]) + 0.0  # -0.0 is written as 0.0
    words = "; ".join(marks(prepared.site))
    for row in range(HOURS):
        writer.writerow([times[row], *map(repr, values[row].tolist()), words])
    return file.getvalue()
