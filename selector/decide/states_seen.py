"""Which states of the air a group of units ran on, hour by hour."""

from __future__ import annotations

from selector.inputs.site import BoolArray
from selector.physics.arrangements import FRACTION, OFF, RUNS
from selector.physics.hourly import UnitHours


def states_seen(*, group: UnitHours) -> tuple[tuple[int, BoolArray], ...]:
    """Tell for the coil-on and the coil-off state when units ran on it; all but supply-side units have only the first.

    Args: group, of a year.
    Returns: for each state the place of its set of columns in `group.cell`, and whether a unit ran on it in each hour,
        shape (8760,).
    """
    found = []
    for offset, seen in ((0, group.on_share > 0.0), (OFF, group.on_share < 1.0)):
        runs = (group.cell[:, offset + RUNS] > 0.0) & (group.cell[:, offset + FRACTION] > 0.0)
        found.append((offset, seen & (group.running > 0.0) & runs))
    return tuple(found)
