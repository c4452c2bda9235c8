"""Humidity by month, against each limit, as the chart, the page and JSON have it.

Of the hours in which the limit is in force. Units: fraction, or °C of dew point; hours.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.decide.evaluate import Evaluation
from selector.inputs.calendar import month_of_hour
from selector.inputs.site import FloatArray, HumidityTarget
from selector.physics.hourly import HourlyYear
from selector.physics.moist_air import dew_point
from selector.physics.prepare import Prepared


@dataclass(frozen=True, slots=True)
class LimitMonth:
    """One month of one limit."""

    highest: float | None  # fraction or °C of dew point; None where the limit is in force in no hour
    hours_above: int


def limited_quantity(*, prepared: Prepared, year: HourlyYear, target: HumidityTarget) -> FloatArray:
    """What a limit is set in, hour by hour.

    Args: prepared; year; target. Returns: (8760,) relative humidity as a fraction, or dew point [°C].
    """
    if target.kind == "relative-humidity":
        return year.relative_humidity
    return np.asarray(dew_point(year.mean_t, np.maximum(year.mean_w, 1e-6), prepared.hours["pressure"]))


def limit_months(*, prepared: Prepared, evaluation: Evaluation, place: int) -> tuple[LimitMonth, ...]:
    """Follow one limit month by month.

    Args: prepared; evaluation, of the design; place of the limit among the site's.
    Returns: (12,) months.
    """
    target, year = prepared.site.targets[place], evaluation.year
    values = limited_quantity(prepared=prepared, year=year, target=target)
    above = year.above[:, place] > 0.0
    found = []
    for month in range(12):
        there = month_of_hour() == month
        judged = values[there & target.hours]
        found.append(LimitMonth(float(judged.max()) if judged.size else None, int(above[there].sum())))
    return tuple(found)
