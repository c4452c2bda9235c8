"""Gaps in a year: what is filled, with what, and what is left."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs.gaps import LONGEST_FILLED, LONGEST_LINEAR, fill_gaps

HOURS = np.arange(8760)
DAILY = 10.0 + 5.0 * np.cos(2 * np.pi * HOURS / 24)


def test_short_gap_lies_on_a_straight_line() -> None:
    """Hours 100 to 103 between 2.0 at 99 and 7.0 at 104: 3, 4, 5, 6."""
    values = np.full(8760, 2.0)
    values[104:] = 7.0
    values[100:104] = np.nan
    result = fill_gaps(values=values)
    assert result.values[100:104] == pytest.approx([3.0, 4.0, 5.0, 6.0], abs=1e-12)
    assert int(result.filled.sum()) == 4
    assert result.too_long == ()


@pytest.mark.parametrize("length", [LONGEST_LINEAR + 1, 24, 25, LONGEST_FILLED])
def test_long_gap_keeps_the_course_of_the_day(length: int) -> None:
    """A course that repeats every day comes back as it was; a straight line would cut its tops."""
    values = DAILY.copy()
    values[1000 : 1000 + length] = np.nan
    result = fill_gaps(values=values)
    assert result.values == pytest.approx(DAILY, abs=1e-12)
    assert int(result.filled.sum()) == length


def test_long_gap_goes_from_the_level_before_to_the_level_after() -> None:
    """Ten hours between days of 0 and of 11: hour n of the gap (from 1) is n."""
    values = np.zeros(8760)
    values[2010:] = 11.0
    values[2000:2010] = np.nan
    assert fill_gaps(values=values).values[2000:2010] == pytest.approx(np.arange(1.0, 11.0), abs=1e-12)


def test_gap_over_the_turn_of_the_year() -> None:
    values = np.zeros(8760)
    values[:1] = np.nan
    values[-3:] = np.nan
    values[1] = 5.0
    result = fill_gaps(values=values)
    assert result.values[[8757, 8758, 8759, 0]] == pytest.approx([1.0, 2.0, 3.0, 4.0], abs=1e-12)


def test_gap_beside_another_takes_the_next_day_that_is_there() -> None:
    """The day before the gap misses the same hours, so the day before that is used."""
    values = DAILY.copy()
    values[1000:1010] = np.nan
    values[1024:1034] = np.nan
    assert fill_gaps(values=values).values == pytest.approx(DAILY, abs=1e-12)


def test_gap_that_is_too_long_is_left() -> None:
    values = DAILY.copy()
    values[500 : 500 + LONGEST_FILLED + 1] = np.nan
    values[3000] = np.nan
    result = fill_gaps(values=values)
    assert result.too_long == ((500, LONGEST_FILLED + 1),)
    assert int(np.isnan(result.values).sum()) == LONGEST_FILLED + 1
    assert int(result.filled.sum()) == 1


def test_nothing_recorded_is_one_gap() -> None:
    assert fill_gaps(values=np.full(8760, np.nan)).too_long == ((0, 8760),)


def test_nothing_missing_is_nothing_filled() -> None:
    result = fill_gaps(values=DAILY)
    assert np.array_equal(result.values, DAILY)
    assert not result.filled.any()


@given(
    gaps=st.lists(st.tuples(st.integers(0, 8759), st.integers(1, 60)), max_size=12),
    level=st.floats(-30.0, 30.0),
)
def test_filling_keeps_what_is_recorded_and_stays_within_it(
    gaps: list[tuple[int, int]], level: float
) -> None:
    values = DAILY + level
    for start, length in gaps:
        values[(start + np.arange(length)) % 8760] = np.nan
    result = fill_gaps(values=values)
    there = ~np.isnan(values)
    assert np.array_equal(result.values[there], values[there])
    assert int(result.filled.sum()) + sum(length for _, length in result.too_long) == int((~there).sum())
    filled = result.values[result.filled]
    assert ((filled >= level + 5.0 - 1e-9) & (filled <= level + 15.0 + 1e-9)).all()
