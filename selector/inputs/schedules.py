"""Schedules: what share of a gain, of ventilation or of occupancy there is in each hour of the year.

A schedule as written, every part optional::

    [schedules.classes]
    weekday = [{ from = 8, to = 12, value = 1.0 }, { from = "13:30", to = 16, value = "60 %" }]
    saturday = [{ from = 9, to = 12, value = 0.2 }]
    holiday = []
    otherwise = 0.05
    ranges = [{ from = "12-20", to = "01-06", weekday = [], saturday = [] }]

`otherwise` (0 where left out) holds in all hours that no interval covers. A day list that is left out
(`saturday`, `sunday`) is empty; `holiday` left out is the Sunday's. Within a range of dates, both ends included
and over the year's end where `from` is later than `to`, the lists that the range gives replace those of the
schedule and the others stay. An hour that an interval covers in part takes the mean over that hour.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from selector.inputs.calendar import A_DAY, DAYS, day_of_year
from selector.inputs.errors import Faults
from selector.inputs.fields import shown
from selector.inputs.site import FloatArray

DAY_KINDS = ("weekday", "saturday", "sunday", "holiday")
_TABLE_KEYS = (*DAY_KINDS, "otherwise", "ranges")
_RANGE_KEYS = ("from", "to", *DAY_KINDS)
_HOUR = 'an hour from 0 to 24, as 8, 8.5 or "08:30"'
_SHARE = 'a share from 0 to 1, as 0.6 or "60 %"'


@dataclass(frozen=True, slots=True)
class _Place:
    """Where in a file we are, so that a fault can say it."""

    file: str
    key: str
    faults: Faults

    def below(self, name: str) -> _Place:
        return _Place(self.file, f"{self.key}{name}", self.faults)

    def refuse(self, got: str, allowed: str) -> None:
        self.faults.add(file=self.file, where=self.key, got=got, allowed=allowed)


def build_schedule(
    *,
    table: Mapping[str, object],
    first_weekday: int,
    holidays: tuple[int, ...],
    file: str,
    key: str,
    faults: Faults,
) -> FloatArray:
    """Lay one schedule out over the year.

    Arguments:
        table: the schedule as read from the site file, see the head of this module.
        first_weekday: weekday of 1 January, Monday = 0.
        holidays: days of the year [0 to 364] that take the list `holiday`.
        file, key: as the person named them, for faults.
        faults: takes what is wrong; the result is then not to be used.

    Returns: share in each hour of the year [0 to 1], shape (8760,).
    """
    place = _Place(file, key, faults)
    _refuse_other_keys(place, table, _TABLE_KEYS)
    otherwise = _share(place.below(".otherwise"), table.get("otherwise", 0.0))
    base = _day_lists(place, table, otherwise)
    of_range, range_of_day = _ranges(place, table.get("ranges", []), otherwise)
    holiday = np.zeros(DAYS, dtype=np.bool_)
    holiday[list(holidays)] = True

    hours = np.empty((DAYS, 24))
    for day in range(DAYS):
        weekday = (first_weekday + day) % 7
        kind = "holiday" if holiday[day] else DAY_KINDS[max(weekday - 4, 0)]
        lists = of_range[range_of_day[day]] if range_of_day[day] >= 0 else {}
        hours[day] = _day_values(kind, lists, base)
    return hours.ravel()


def _day_values(kind: str, of_range: Mapping[str, FloatArray], base: Mapping[str, FloatArray]) -> FloatArray:
    """Pick the 24 values of a day: a holiday's own list before the Sunday's, the range's before the rest."""
    if kind != "holiday":
        return of_range.get(kind, base[kind])
    for name in ("holiday", "sunday"):
        for lists in (of_range, base):
            if name in lists:
                return lists[name]
    return base["sunday"]


def _day_lists(place: _Place, table: Mapping[str, object], otherwise: float) -> dict[str, FloatArray]:
    """Read the day lists of the schedule itself; those left out are empty, but for `holiday`."""
    lists = {kind: np.full(24, otherwise) for kind in ("weekday", "saturday", "sunday")}
    lists.update(_given_lists(place, table, otherwise))
    return lists


def _given_lists(place: _Place, table: Mapping[str, object], otherwise: float) -> dict[str, FloatArray]:
    return {
        kind: _day(place.below(f".{kind}"), table[kind], otherwise) for kind in DAY_KINDS if kind in table
    }


def _ranges(place: _Place, given: object, otherwise: float) -> tuple[list[dict[str, FloatArray]], list[int]]:
    """Read the ranges of dates; returns their day lists, and for each day its range's number or -1."""
    lists: list[dict[str, FloatArray]] = []
    range_of_day = [-1] * DAYS
    place = place.below(".ranges")
    if not isinstance(given, list | tuple):
        place.refuse(shown(given), 'a list of tables, as [{ from = "06-15", to = "08-20", weekday = [] }]')
        return lists, range_of_day
    for number, entry in enumerate(given):
        here = place.below(f"[{number}]")
        if not isinstance(entry, Mapping):
            here.refuse(shown(entry), 'a table, as { from = "06-15", to = "08-20", weekday = [] }')
            lists.append({})
            continue
        _refuse_other_keys(here, entry, _RANGE_KEYS)
        lists.append(_given_lists(here, entry, otherwise))
        if not lists[-1]:
            here.refuse("no day list", f"at least one of {', '.join(DAY_KINDS)}")
        first, last = (_day_number(here.below(f".{end}"), entry.get(end)) for end in ("from", "to"))
        if first is None or last is None:
            continue
        days = range(first, last + 1) if first <= last else (*range(first, DAYS), *range(last + 1))
        others = sorted({range_of_day[day] for day in days} - {-1})
        if others:
            here.refuse(
                f"{entry['from']} to {entry['to']}, which overlaps "
                + " and ".join(f"ranges[{other}]" for other in others),
                "ranges of dates that have no day in common",
            )
        for day in days:
            range_of_day[day] = number
    return lists, range_of_day


def _day(place: _Place, given: object, otherwise: float) -> FloatArray:
    """Read one day's list of intervals; returns the mean of each hour, shape (24,)."""
    values = np.full(24, otherwise)
    if not isinstance(given, list | tuple):
        place.refuse(
            shown(given), "a list of intervals, as [{ from = 8, to = 18, value = 1.0 }]; [] for none"
        )
        return values
    taken: list[tuple[float, float, int]] = []
    for number, entry in enumerate(given):
        here = place.below(f"[{number}]")
        if not isinstance(entry, Mapping):
            here.refuse(shown(entry), "a table, as { from = 8, to = 18, value = 1.0 }")
            continue
        _refuse_other_keys(here, entry, ("from", "to", "value"))
        start, end = (_hour(here.below(f".{name}"), entry.get(name)) for name in ("from", "to"))
        value = _share(here.below(".value"), entry.get("value"))
        if start is None or end is None:
            continue
        if start >= end:
            here.refuse(
                f"from {start:g} to {end:g}",
                "from before to; past midnight write two intervals, to = 24 and from = 0",
            )
            continue
        for other_start, other_end, other in taken:
            if start < other_end and other_start < end:
                here.refuse(
                    f"{start:g} to {end:g}, which overlaps [{other}], {other_start:g} to {other_end:g}",
                    "intervals that have no time in common",
                )
        taken.append((start, end, number))
        for hour in range(math.floor(start), math.ceil(end)):
            values[hour] += (value - otherwise) * (min(end, hour + 1) - max(start, hour))
    return values.clip(0.0, 1.0)


def _refuse_other_keys(place: _Place, table: Mapping[str, object], allowed: tuple[str, ...]) -> None:
    for name in table:
        if name not in allowed:
            place.below(f".{name}").refuse("a key that is not known", ", ".join(allowed))


def _day_number(place: _Place, given: object) -> int | None:
    day = day_of_year(given) if isinstance(given, str) else None
    if day is None:
        place.refuse("nothing" if given is None else shown(given), A_DAY)
    return day


def _hour(place: _Place, given: object) -> float | None:
    """Read an hour of the day [0 to 24]."""
    hour: float | None = None
    if isinstance(given, int | float) and not isinstance(given, bool):
        hour = float(given) if 0.0 <= given <= 24.0 else None
    elif isinstance(given, str):
        clock, colon, minute = given.partition(":")
        if (
            colon
            and len(clock) <= 2
            and clock.isdecimal()
            and minute.isdecimal()
            and len(minute) == 2
            and int(minute) < 60
        ):
            hour = int(clock) + int(minute) / 60.0
    if hour is None or not 0.0 <= hour <= 24.0:
        place.refuse("nothing" if given is None else shown(given), _HOUR)
        return None
    return hour


def _share(place: _Place, given: object) -> float:
    """Read a share [0 to 1]; 0 where it is refused."""
    share: float | None = None
    if isinstance(given, int | float) and not isinstance(given, bool):
        share = float(given) if 0.0 <= given <= 1.0 else None
    elif isinstance(given, str) and given.strip().endswith("%"):
        try:
            share = float(given.strip().removesuffix("%")) / 100.0
        except ValueError:
            share = None
    if share is None or not 0.0 <= share <= 1.0:
        place.refuse("nothing" if given is None else shown(given), _SHARE)
        return 0.0
    return share
