"""The schedules of one site by name: those of the file, the profile's, "always" and "occupied"."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from selector.inputs.calendar import DAYS
from selector.inputs.defaults import defaults_file
from selector.inputs.fields import closest
from selector.inputs.resolve import Resolver
from selector.inputs.schedules import build_schedule
from selector.inputs.site import HOURS, BoolArray, FloatArray

IntArray = npt.NDArray[np.int64]

RESERVED_NAMES = ("always", "occupied")


class Schedules:
    """Builds each schedule once and hands it out by name."""

    def __init__(
        self,
        *,
        tables: Mapping[str, Mapping[str, Any]],
        resolver: Resolver,
        first_weekday: int,
        holidays: tuple[int, ...],
    ) -> None:
        self._resolver = resolver
        self._first_weekday = first_weekday
        self._holidays = holidays
        self._built: dict[str, FloatArray] = {"always": np.ones(HOURS)}
        for name, table in tables.items():
            if name in RESERVED_NAMES:
                resolver.fault(f"schedules.{name}", "a name that has its meaning already", "another name")
                continue
            self._built[name] = self._build(table, f"schedules.{name}")

    def occupied(self, *, where: str, given: str | None) -> FloatArray:
        """Find the schedule of ventilation and occupancy, the site's or the profile's, and keep it by that name.

        Args: where, the key that names it; given, its name, or None.
        Returns: share in each hour [0 to 1], shape (8760,).
        """
        if given == "occupied":
            self._resolver.fault(
                where, '"occupied"', 'a name of [schedules] or "always": this key defines it'
            )
            given = "always"
        profile = self._resolver.profile
        if given is not None:
            self._resolver.word(where, given)
            schedule = self.get(given, where=where)
        elif profile is None:
            if not self._resolver.is_broken("profile"):
                self._resolver.missing(where, "the name of a schedule, or a profile that has one")
            schedule = np.ones(HOURS)
        else:
            table = defaults_file()["profiles"][profile]["schedule"]
            schedule = self._build(table, where)
            self._resolver.profile_value(where, words_of(table), "the hours in which the space is in use")
        self._built["occupied"] = schedule
        return schedule

    def get(self, name: str, *, where: str) -> FloatArray:
        """Find a schedule by its name; note a fault where there is none.

        Args: name; where, the key that names it. Returns: share in each hour [0 to 1], shape (8760,).
        """
        found = self._built.get(name)
        if found is None:
            if not self._resolver.is_broken(f"schedules.{name}"):
                names = [*RESERVED_NAMES, *(each for each in self._built if each not in RESERVED_NAMES)]
                self._resolver.fault(where, f'"{name}"', f"the name of a schedule: {closest(name, names)}")
            return np.ones(HOURS)
        return found

    def hours(self, name: str, *, where: str) -> BoolArray:
        """Find the hours in which a schedule is above 0.

        Args: name; where, the key that names it. Returns: shape (8760,).
        """
        return self.get(name, where=where) > 0.0

    def day_kinds(self) -> IntArray:
        """Tell weekdays, Saturdays, and Sundays with holidays apart.

        Returns: 0, 1 or 2 for each day of the year, shape (365,).
        """
        kinds = np.maximum((self._first_weekday + np.arange(DAYS)) % 7 - 4, 0)
        kinds[list(self._holidays)] = 2
        return kinds

    def _build(self, table: Mapping[str, Any], key: str) -> FloatArray:
        return build_schedule(
            table=table,
            first_weekday=self._first_weekday,
            holidays=self._holidays,
            file=self._resolver.file,
            key=key,
            faults=self._resolver.faults,
        )


def words_of(table: Mapping[str, Any]) -> str:
    """Say in words what a schedule holds.

    Args: table, as in a file. Returns: text such as "weekday 8 to 16; closed 06-15 to 08-15".
    """
    parts = [
        f"{day} " + ", ".join(f"{each['from']} to {each['to']} at {each['value']:g}" for each in table[day])
        for day in ("weekday", "saturday", "sunday", "holiday")
        if table.get(day)
    ]
    parts += [f"otherwise from {each['from']} to {each['to']}" for each in table.get("ranges", [])]
    return "; ".join(parts)
