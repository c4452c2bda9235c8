"""Hours in which a unit ran on far less air than it was rated at.

A rating row holds at the rated airflow. With less air, because static pressure takes it or the stream has no more, the
machine's model goes on by its laws, but no row says how well: a result that rests on many such hours is marked.
Units: airflow as a share of the rated one, 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.decide.states_seen import states_seen
from selector.inputs.site import FloatArray
from selector.physics.arrangements import FRACTION
from selector.physics.hourly import HourlyYear, UnitHours

LOW_AIRFLOW = (
    0.60  # of the rated airflow: common practice, no source; catalogues seldom rate units further down
)


@dataclass(frozen=True, slots=True)
class LowAirflow:
    """One model in one arrangement that ran on little air."""

    model: str
    arrangement: str
    hours: int  # a year in which it ran below LOW_AIRFLOW of its rated airflow
    running_hours: int  # a year in which it ran at all
    least: float  # share of its rated airflow, the least of any hour in which it ran


def low_airflow(*, year: HourlyYear) -> tuple[LowAirflow, ...]:
    """Count the hours of each group of units below LOW_AIRFLOW of its rated airflow.

    Args: year.
    Returns: the groups that had such an hour, in lead order.
    """
    found = []
    for group in year.groups:
        least = _least_share(group)
        low = least < LOW_AIRFLOW
        if low.any():
            hours = int(np.isfinite(least).sum())
            found.append(
                LowAirflow(group.model, group.arrangement, int(low.sum()), hours, float(least.min()))
            )
    return tuple(found)


def _least_share(group: UnitHours) -> FloatArray:
    """Least share of the rated airflow in each hour (8760,), infinite where no unit ran."""
    shares = np.full(group.running.size, np.inf)
    for offset, ran in states_seen(group=group):
        shares = np.where(ran, np.minimum(shares, group.cell[:, offset + FRACTION]), shares)
    return shares
