"""Gaps in a year of weather: short ones are filled and counted, long ones are refused."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.inputs.site import HOURS, BoolArray, FloatArray

LONGEST_LINEAR = 6  # h, filled on a straight line: common practice, no source
LONGEST_FILLED = 48  # h, filled from the same hours of the days around: common practice, no source


@dataclass(frozen=True, slots=True, eq=False)
class Filled:
    """A year of values with its gaps filled."""

    values: FloatArray  # (8760,); NaN only within the gaps that are too long
    filled: BoolArray  # (8760,)
    too_long: tuple[tuple[int, int], ...]  # first hour and length [h] of each gap that is not filled


def fill_gaps(*, values: FloatArray) -> Filled:
    """Fill the gaps of a year of hourly values; the year is periodic, so a gap may lie over its end.

    Up to `LONGEST_LINEAR` hours: a straight line between the hours beside the gap. Up to `LONGEST_FILLED`: each
    hour from the same hour of the nearest day before and the nearest day after that have it, weighted by how
    near the ends of the gap are, so that the day's course stays. Longer ones are left.

    Arguments: values, shape (8760,), NaN where missing.
    Returns: the filled values, which hours were filled, and the gaps that are too long.
    """
    missing = np.isnan(values)
    gaps = _runs(missing)
    result = values.copy()
    too_long = []
    for start, length in gaps:
        hours = start + np.arange(length)
        if length > LONGEST_FILLED:
            too_long.append((start, length))
            continue
        share = (np.arange(length) + 1.0) / (length + 1.0)
        if length <= LONGEST_LINEAR:
            before = np.full(length, values[(start - 1) % HOURS])
            after = np.full(length, values[(start + length) % HOURS])
        else:
            before = np.array([_same_clock(values, int(hour), -24) for hour in hours])
            after = np.array([_same_clock(values, int(hour), 24) for hour in hours])
        result[hours % HOURS] = before + share * (after - before)
    return Filled(values=result, filled=missing & ~np.isnan(result), too_long=tuple(too_long))


def _runs(missing: BoolArray) -> list[tuple[int, int]]:
    """First hour and length of each run of missing hours, around the end of the year."""
    if missing.all():
        return [(0, HOURS)]
    starts = np.flatnonzero(missing & ~np.roll(missing, 1))
    ends = np.flatnonzero(missing & ~np.roll(missing, -1))
    return [(int(start), int(ends[ends >= start][0] - start) + 1) if (ends >= start).any()
            else (int(start), int(ends[0] + HOURS - start) + 1) for start in starts]  # fmt: skip


def _same_clock(values: FloatArray, hour: int, step: int) -> float:
    """Value at the same hour of the nearest day that has it; within the year there is one."""
    hour += step
    while np.isnan(values[hour % HOURS]):
        hour += step
    return float(values[hour % HOURS])
