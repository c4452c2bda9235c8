"""The days of the year that is simulated: 365 days, no 29 February, 1 January on a given weekday."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

DAYS = 365
DAYS_IN_MONTH = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
FIRST_DAY_OF_MONTH = tuple(sum(DAYS_IN_MONTH[:month]) for month in range(12))
WEEKDAY_NAMES = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


A_DAY = 'a day as "MM-DD" of a year of 365 days, so not "02-29"'


def day_of_year(text: str) -> int | None:
    """Read "MM-DD" as a day of a year of 365 days.

    Arguments: text, two digits for the month, a hyphen, two digits for the day.
    Returns: day [0 to 364], or None where the text is no such day; 29 February is none.

    >>> day_of_year("03-01"), day_of_year("02-29"), day_of_year("3/1")
    (59, None, None)
    """
    parts = text.split("-")
    if len(parts) != 2 or not all(len(part) == 2 and part.isascii() and part.isdigit() for part in parts):
        return None
    month, day = int(parts[0]), int(parts[1])
    if not 1 <= month <= 12 or not 1 <= day <= DAYS_IN_MONTH[month - 1]:
        return None
    return FIRST_DAY_OF_MONTH[month - 1] + day - 1


def month_of_hour() -> npt.NDArray[np.int64]:
    """Return the month [0 to 11] of each hour of the year, shape (8760,)."""
    return np.repeat(np.arange(12), np.array(DAYS_IN_MONTH) * 24)


def name_of_hour(hour: int) -> str:
    """Write an hour of the year as "MM-DD HH:00", the time at which it starts.

    Args: hour [0 to 8759]. Returns: text.

    >>> name_of_hour(0), name_of_hour(59 * 24 + 13)
    ('01-01 00:00', '03-01 13:00')
    """
    day, clock = divmod(hour, 24)
    month = max(index for index in range(12) if FIRST_DAY_OF_MONTH[index] <= day)
    return f"{month + 1:02d}-{day - FIRST_DAY_OF_MONTH[month] + 1:02d} {clock:02d}:00"
