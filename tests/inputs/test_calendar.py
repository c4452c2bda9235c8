"""The 365 days that are simulated."""

from __future__ import annotations

import numpy as np
import pytest

from selector.inputs.calendar import DAYS_IN_MONTH, day_of_year, month_of_hour, name_of_hour


def test_every_day_has_a_name_and_the_name_its_day() -> None:
    for day in range(365):
        assert day_of_year(name_of_hour(day * 24 + 7)[:5]) == day


@pytest.mark.parametrize(
    "text", ["02-29", "13-01", "00-10", "04-31", "1-1", "01/01", "2013-01-01", "ab-cd", "", "٠١-٠١"]
)
def test_what_is_no_day(text: str) -> None:
    assert day_of_year(text) is None


def test_months_have_their_hours() -> None:
    assert np.bincount(month_of_hour()).tolist() == [24 * days for days in DAYS_IN_MONTH]
    assert [name_of_hour(hour) for hour in (0, 1415, 1416, 8759)] == [
        "01-01 00:00",
        "02-28 23:00",
        "03-01 00:00",
        "12-31 23:00",
    ]
