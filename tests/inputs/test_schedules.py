"""Schedules: weekdays, holidays, ranges of dates, parts of hours, and what is refused."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs.errors import Faults, InputFaults
from selector.inputs.schedules import build_schedule
from selector.inputs.site import FloatArray

MONDAY = 0
OPEN = {"from": 8, "to": 18, "value": 1.0}
HALF = {"from": 9, "to": 12, "value": 0.5}


def days_of(
    table: Mapping[str, object], *, first_weekday: int = MONDAY, holidays: tuple[int, ...] = ()
) -> FloatArray:
    """The schedule by day and hour, (365, 24)."""
    faults = Faults()
    hours = build_schedule(
        table=table,
        first_weekday=first_weekday,
        holidays=holidays,
        file="site.toml",
        key="schedules.classes",
        faults=faults,
    )
    faults.raise_if_any()
    assert hours.shape == (8760,)
    return hours.reshape(365, 24)


def test_weekday_saturday_sunday() -> None:
    """1 January a Monday: 261 weekdays of 10 h, 52 Saturdays of 1.5 h, nothing on 52 Sundays; 2688 h."""
    days = days_of({"weekday": [OPEN], "saturday": [HALF]})
    assert days.sum() == pytest.approx(261 * 10 + 52 * 1.5, abs=1e-9)
    assert list(np.flatnonzero(days[0])) == list(range(8, 18))
    assert days[4].sum() == 10.0
    assert days[5].sum() == 1.5
    assert days[6].sum() == 0.0


@pytest.mark.parametrize("first_weekday", range(7))
def test_first_weekday_shifts_the_week(first_weekday: int) -> None:
    days = days_of({"weekday": [], "sunday": [OPEN]}, first_weekday=first_weekday)
    sundays = np.flatnonzero(days.sum(axis=1))
    assert sundays[0] == (6 - first_weekday) % 7
    assert set(np.diff(sundays)) == {7}


def test_part_of_an_hour_takes_the_mean() -> None:
    """07:30 to 09:15 at 0.8: half of hour 7, all of hour 8, a quarter of hour 9."""
    days = days_of({"weekday": [{"from": "07:30", "to": 9.25, "value": "80 %"}]})
    assert days[0, 6:11] == pytest.approx([0.0, 0.4, 0.8, 0.2, 0.0], abs=1e-12)


def test_otherwise_fills_what_no_interval_covers() -> None:
    days = days_of({"weekday": [{"from": 8, "to": 8.5, "value": 1.0}], "otherwise": 0.2})
    assert days[0, 7:10] == pytest.approx([0.2, 0.6, 0.2], abs=1e-12)
    assert days[6] == pytest.approx(np.full(24, 0.2), abs=1e-12)


def test_holiday_takes_its_own_list_or_the_sundays() -> None:
    """4 July is day 184, a Wednesday when 1 January is a Monday."""
    weekly = {"weekday": [OPEN], "sunday": [HALF]}
    assert days_of(weekly)[184].sum() == 10.0
    assert days_of(weekly, holidays=(184,))[184].sum() == 1.5
    own = {**weekly, "holiday": [{"from": 0, "to": 24, "value": 0.1}]}
    assert days_of(own, holidays=(184,))[184].sum() == pytest.approx(2.4, abs=1e-12)


def test_range_over_the_turn_of_the_year() -> None:
    """20 December (day 353) to 6 January (day 5), both included."""
    days = days_of({"weekday": [OPEN], "ranges": [{"from": "12-20", "to": "01-06", "weekday": []}]})
    closed = np.flatnonzero(days[:, 12] == 0.0)
    weekdays = [day for day in range(365) if day % 7 < 5]
    assert [day for day in weekdays if day in closed] == [day for day in weekdays if day <= 5 or day >= 353]


def test_range_keeps_the_lists_that_it_leaves_out() -> None:
    days = days_of(
        {
            "weekday": [OPEN],
            "saturday": [HALF],
            "ranges": [{"from": "06-01", "to": "06-30", "weekday": [HALF]}],
        }
    )
    june = days[151:181]
    assert {float(day.sum()) for day in june} == {1.5, 0.0}
    assert days[150].sum() == 10.0


def test_holiday_in_a_range_takes_the_ranges_holiday_then_the_schedules() -> None:
    table = {
        "weekday": [OPEN],
        "holiday": [HALF],
        "ranges": [
            {"from": "07-01", "to": "07-31", "sunday": [OPEN]},
            {"from": "12-01", "to": "12-31", "holiday": [{"from": 0, "to": 1, "value": 1.0}]},
        ],
    }
    days = days_of(table, holidays=(184, 358))
    assert days[184].sum() == 1.5
    assert days[358].sum() == 1.0


def test_holiday_without_lists_of_its_own_takes_the_ranges_sunday() -> None:
    table = {"weekday": [OPEN], "sunday": [], "ranges": [{"from": "07-01", "to": "07-31", "sunday": [HALF]}]}
    assert days_of(table, holidays=(184,))[184].sum() == 1.5


def test_intervals_that_touch_do_not_overlap() -> None:
    days = days_of({"weekday": [{"from": 12, "to": 24, "value": 1.0}, {"from": 0, "to": 12, "value": 0.5}]})
    assert days[0].sum() == 18.0


@pytest.mark.parametrize(
    ("table", "message"),
    [
        (
            {"weekday": [{"from": 25, "to": 26, "value": 1}]},
            r'weekday\[0\]\.from: got 25; allowed: an hour from 0 to 24, as 8, 8\.5 or "08:30"',
        ),
        ({"weekday": [{"from": "8:75", "to": 9, "value": 1}]}, r'weekday\[0\]\.from: got "8:75"'),
        ({"weekday": [{"from": -1, "to": 9, "value": 1}]}, r"weekday\[0\]\.from: got -1"),
        ({"weekday": [{"from": True, "to": 9, "value": 1}]}, r"weekday\[0\]\.from: got true"),
        ({"weekday": [{"to": 9, "value": 1}]}, r"weekday\[0\]\.from: got nothing"),
        (
            {"weekday": [{"from": 8, "to": 9}]},
            r"weekday\[0\]\.value: got nothing; allowed: a share from 0 to 1",
        ),
        ({"weekday": [{"from": 8, "to": 9, "value": 1.2}]}, r"weekday\[0\]\.value: got 1\.2"),
        ({"weekday": [{"from": 8, "to": 9, "value": "x %"}]}, r'weekday\[0\]\.value: got "x %"'),
        ({"weekday": [{"from": 8, "to": 9, "value": float("nan")}]}, r"weekday\[0\]\.value: got nan"),
        (
            {"weekday": [{"from": 22, "to": 6, "value": 1}]},
            r"weekday\[0\]: got from 22 to 6; allowed: from before to; past midnight write two intervals",
        ),
        (
            {"weekday": [OPEN, {"from": 17.5, "to": 20, "value": 0.2}]},
            r"weekday\[1\]: got 17\.5 to 20, which overlaps \[0\], 8 to 18",
        ),
        ({"weekday": [{**OPEN, "until": 3}]}, r"weekday\[0\]\.until: got a key that is not known"),
        ({"weekday": ["8-18"]}, r'weekday\[0\]: got "8-18"; allowed: a table'),
        ({"weekday": "8-18"}, r'weekday: got "8-18"; allowed: a list of intervals'),
        ({"monday": []}, r"classes\.monday: got a key that is not known; allowed: weekday, saturday"),
        ({"otherwise": 2}, r"otherwise: got 2; allowed: a share"),
        ({"ranges": {}}, r"ranges: got a table; allowed: a list of tables"),
        ({"ranges": ["06-15"]}, r'ranges\[0\]: got "06-15"; allowed: a table'),
        (
            {"ranges": [{"from": "02-29", "to": "03-05", "weekday": []}]},
            r"ranges\[0\]\.from: got \"02-29\"; allowed: a day as \"MM-DD\" of a year of 365 days",
        ),
        ({"ranges": [{"to": "03-05", "weekday": []}]}, r"ranges\[0\]\.from: got nothing"),
        ({"ranges": [{"from": "6/15", "to": "08-20", "weekday": []}]}, r'ranges\[0\]\.from: got "6/15"'),
        (
            {"ranges": [{"from": "06-15", "to": "08-20"}]},
            r"ranges\[0\]: got no day list; allowed: at least one",
        ),
        (
            {
                "ranges": [
                    {"from": "12-01", "to": "01-31", "weekday": []},
                    {"from": "01-31", "to": "02-15", "weekday": []},
                ]
            },
            r"ranges\[1\]: got 01-31 to 02-15, which overlaps ranges\[0\]",
        ),
    ],
)
def test_refused(table: Mapping[str, object], message: str) -> None:
    with pytest.raises(InputFaults, match=message):
        days_of(table)


def test_all_faults_come_at_once() -> None:
    with pytest.raises(InputFaults, match=r"schedules\.classes\.weekday") as caught:
        days_of({"weekday": [{"from": 25, "to": 26, "value": 3}], "ranges": 1, "monday": []})
    assert len(caught.value.faults) == 5


@given(
    edges=st.lists(st.integers(0, 96), min_size=2, max_size=8, unique=True).map(sorted),
    values=st.lists(st.floats(0.0, 1.0), min_size=4, max_size=4),
)
def test_hours_keep_the_sum_of_the_intervals(edges: list[int], values: list[float]) -> None:
    """Whatever quarter hours the intervals start and end at, the day's sum is that of length times value."""
    parts = [
        {"from": start / 4, "to": end / 4, "value": value}
        for start, end, value in zip(edges[::2], edges[1::2], values, strict=False)
    ]
    expected = sum((part["to"] - part["from"]) * part["value"] for part in parts)
    assert days_of({"weekday": parts})[0].sum() == pytest.approx(expected, abs=1e-12)
