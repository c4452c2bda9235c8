"""The kinds of values that a site file's keys hold, as pydantic types with our own words for what is wrong.

Each type refuses with an error of type "refused" whose context holds `got` and `allowed`; `schema_faults.py`
turns it into a fault. `info.context` carries the site's currency and its air pressure.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from math import isclose
from typing import Any

from pydantic import BaseModel, ConfigDict
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from selector.inputs.calendar import A_DAY, day_of_year
from selector.inputs.quantities import QuantityError, allowed_units, like, parse

JOULES_PER_KWH = 3.6e6
# worth between half of a dollar and two, from memory; what a kWh costs in others may be many thousands
ABOUT_A_DOLLAR = ("USD", "EUR", "GBP", "CHF", "CAD", "AUD", "NZD", "SGD")
WEAKEST = 1e4
ROUNDING = 1e-12  # of a bound: 122 degF become 1e-14 more than 50 degC
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class Table(BaseModel):
    """A table of the file: keys that are not known are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def shown(value: object) -> str:
    """Quote a value as it stands in the file.

    Args: value, from the file. Returns: text for the "got" of a fault.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return str(value)


def closest(word: str, words: Iterable[str]) -> str:
    """List what a misspelled word may have meant, or all there is.

    Args: word, as written; words, those that are known. Returns: text for the "allowed" of a fault.
    """
    known = list(words)
    near = get_close_matches(word, known, n=3, cutoff=0.6)
    return " or ".join(near) if near else ", ".join(known)


def refuse(value: object, allowed: str, *, got: str | None = None) -> PydanticCustomError:
    """Make the error that carries both halves of our message.

    Args: value, from the file; allowed, what may stand there; got, instead of the value quoted.
    Returns: the error, to be raised.
    """
    context = {"got": shown(value) if got is None else got, "allowed": allowed}
    return PydanticCustomError("refused", "got {got}; allowed: {allowed}", context)


class _Field:
    """A pydantic type made of one `check(value, context)`."""

    def check(self, value: Any, context: dict[str, Any]) -> Any:
        raise NotImplementedError

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> CoreSchema:
        def validate(value: Any, info: core_schema.ValidationInfo[Any]) -> Any:
            return self.check(value, info.context or {})

        return core_schema.with_info_plain_validator_function(validate)


@dataclass(frozen=True, slots=True)
class Quantity(_Field):
    """A physical quantity; bounds are written as in a file, and `above` and `below` exclude them."""

    dimension: str
    at_least: str | float | None = None
    at_most: str | float | None = None
    above: str | float | None = None
    below: str | float | None = None

    def bounds(self, context: dict[str, Any], written: object = None) -> str:
        """Return the bounds as words, "" where there are none.

        Args: context, as `check`; written, what is out of bounds, in whose unit they are told.
        Returns: text, as "at least 0 and below 10 m".
        """
        parts = [
            f"{word} {self._told(bound, written, above=low)}"
            for word, bound, low in (
                ("at least", self.at_least, True),
                ("above", self.above, True),
                ("at most", self.at_most, False),
                ("below", self.below, False),
            )
            if bound is not None
        ]
        return " and ".join(parts)

    def _told(self, bound: str | float, written: object, *, above: bool) -> str:
        plain = bound if isinstance(bound, str) else format(bound, "g")
        if not isinstance(bound, str):
            return plain
        value = parse(bound, self.dimension)
        same = like(bound, value, self.dimension, above=above)
        told = like(written, value, self.dimension, above=above)
        return plain if told is None or told == same else told

    def allowed(self, context: dict[str, Any], written: object = None) -> str:
        """Say what may be written.

        Args: context, as `check`; written, as `bounds`. Returns: text, as "an area in ft2, m2 or sq ft".
        """
        currency = context.get("currency")
        return _allowed(self, currency) if written is None else _with_bounds(self, currency, written)

    def check(self, value: Any, context: dict[str, Any]) -> float:
        """Return the value in SI; refuse what is not this quantity or out of bounds.

        Args: value, as in the file; context, currency (a code) and pressure [Pa] of the site where they are known.
        Raises: PydanticCustomError of type "refused".
        """
        currency = context.get("currency")
        try:
            result = parse(value, self.dimension, currency=currency, pressure=context.get("pressure"))
        except QuantityError as error:
            allowed = error.allowed
            if allowed == allowed_units(self.dimension, currency=currency):
                allowed = self.allowed(context)
            raise refuse(value, allowed, got=error.got) from error
        low, high, above, below = (
            None if bound is None else parse(bound, self.dimension) if isinstance(bound, str) else bound
            for bound in (self.at_least, self.at_most, self.above, self.below)
        )
        outside = (
            (low is not None and result < low and not isclose(result, low, rel_tol=ROUNDING))
            or (high is not None and result > high and not isclose(result, high, rel_tol=ROUNDING))
            or (above is not None and result <= above)
            or (below is not None and result >= below)
        )
        if outside:
            raise refuse(value, self.allowed(context, value))
        return result


def _with_bounds(kind: Quantity, currency: str | None, written: object) -> str:
    units = allowed_units(kind.dimension, currency=currency)
    bounds = kind.bounds({"currency": currency}, written)
    return f"{units}, {bounds}" if bounds else units


@lru_cache(maxsize=1024)  # asked for at every key, whether it is at fault or not
def _allowed(kind: Quantity, currency: str | None) -> str:
    return _with_bounds(kind, currency, None)


@dataclass(frozen=True, slots=True)
class EnergyPrice(Quantity):
    """A price of energy, from 0 to what only a slip of the point or of the unit passes.

    `most` is money by kWh, in a currency of about a dollar's worth; others take `WEAKEST` times as much.
    """

    dimension: str = "energy_price"
    at_least: str | float | None = 0.0
    most: float = 10.0

    def bounds(self, context: dict[str, Any], written: object = None) -> str:
        """Return the bounds as words.

        Args: context, as `check`; written, taken for no unit. Returns: text, as "at least 0 and at most 10 USD/kWh".
        """
        code = context.get("currency") or "USD"
        return f"{Quantity.bounds(self, context)} and at most {self._highest(code):,g} {code}/kWh"

    def check(self, value: Any, context: dict[str, Any]) -> float:
        """Return the price by joule; refuse what is no price or out of bounds.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        price = Quantity.check(self, value, context)
        if price * JOULES_PER_KWH > self._highest(context.get("currency") or "USD"):
            raise refuse(value, self.allowed(context))
        return price

    def _highest(self, currency: str) -> float:
        return self.most if currency in ABOUT_A_DOLLAR else WEAKEST * self.most


@dataclass(frozen=True, slots=True)
class Number(_Field):
    """A bare number, or a share as "20 %" where it is a fraction."""

    at_least: float | None = None
    at_most: float | None = None
    above: float | None = None

    def check(self, value: Any, context: dict[str, Any]) -> float:
        """Return the number; refuse text, true and false, and what is out of bounds.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        parts = [
            f"{word} {bound:g}"
            for word, bound in (("at least", self.at_least), ("above", self.above), ("at most", self.at_most))
            if bound is not None
        ]
        allowed = " ".join(["a bare number,", " and ".join(parts)]).strip(" ,")
        try:
            result = parse(value, "count") if not isinstance(value, str) else None
        except QuantityError as error:
            raise refuse(value, allowed) from error
        if (
            result is None
            or (self.at_least is not None and result < self.at_least)
            or (self.at_most is not None and result > self.at_most)
            or (self.above is not None and result <= self.above)
        ):
            raise refuse(value, allowed)
        return result


@dataclass(frozen=True, slots=True)
class Whole(_Field):
    """A whole number."""

    at_least: int
    at_most: int

    def check(self, value: Any, context: dict[str, Any]) -> int:
        """Return the number; refuse all else.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        if (
            not isinstance(value, int)
            or isinstance(value, bool)
            or not self.at_least <= value <= self.at_most
        ):
            raise refuse(value, f"a whole number from {self.at_least} to {self.at_most}")
        return value


@dataclass(frozen=True, slots=True)
class Word(_Field):
    """One of a few words."""

    words: tuple[str, ...]

    def check(self, value: Any, context: dict[str, Any]) -> str:
        """Return the word; refuse all else.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        if not isinstance(value, str) or value not in self.words:
            raise refuse(value, ", ".join(f'"{word}"' for word in self.words))
        return value


@dataclass(frozen=True, slots=True)
class Text(_Field):
    """A line of text that is not empty."""

    words: str = "text"

    def check(self, value: Any, context: dict[str, Any]) -> str:
        """Return the text without blanks around it.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        if not isinstance(value, str) or not value.strip() or "\n" in value:
            more = ", in one line and not empty" if isinstance(value, str) else ""
            raise refuse(value, f"{self.words} in quotes{more}")
        return value.strip()


@dataclass(frozen=True, slots=True)
class Day(_Field):
    """A day of the year, as "12-25"."""

    def check(self, value: Any, context: dict[str, Any]) -> int:
        """Return the day, 0 to 364; refuse all else.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        day = day_of_year(value.strip()) if isinstance(value, str) else None
        if day is None:
            raise refuse(value, A_DAY)
        return day


@dataclass(frozen=True, slots=True)
class Either(_Field):
    """One of two quantities, told apart by their units; returns (dimension, SI value)."""

    first: Quantity
    second: Quantity

    def check(self, value: Any, context: dict[str, Any]) -> tuple[str, float]:
        """Return which of the two it is, and its value in SI.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        for field in (self.first, self.second):
            try:
                return field.dimension, field.check(value, context)
            except PydanticCustomError:
                continue
        raise refuse(value, f"{self.first.allowed(context, value)}; or {self.second.allowed(context, value)}")


@dataclass(frozen=True, slots=True)
class Twelve(_Field):
    """A list of twelve quantities, January first."""

    each: Quantity

    def check(self, value: Any, context: dict[str, Any]) -> tuple[float, ...]:
        """Return the twelve values in SI; refuse another number of them, or the first that is wrong.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        if not isinstance(value, list) or len(value) != 12:
            got = f"{len(value)} values" if isinstance(value, list) else shown(value)
            raise refuse(value, f"twelve values, January first, each {self.each.allowed(context)}", got=got)
        return tuple(self.each.check(item, context) for item in value)


@dataclass(frozen=True, slots=True)
class Months(_Field):
    """Months of the year, as ["Jan", "Jun to Sep"]; over the year's end as "Oct to May"."""

    def check(self, value: Any, context: dict[str, Any]) -> tuple[bool, ...]:
        """Return for each of the twelve months whether it is named; refuse what is no list of months.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        allowed = f'a list of months or spans of them, as ["Jan", "Jun to Sep"]; {", ".join(MONTHS)}'
        if not isinstance(value, list) or not value:
            raise refuse(value, allowed, got="an empty list" if value == [] else None)
        named = [False] * 12
        for item in value:
            ends = item.split(" to ") if isinstance(item, str) else []
            if len(ends) not in (1, 2) or any(end not in MONTHS for end in ends):
                raise refuse(item, allowed)
            first, last = MONTHS.index(ends[0]), MONTHS.index(ends[-1])
            for step in range((last - first) % 12 + 1):
                named[(first + step) % 12] = True
        return tuple(named)


@dataclass(frozen=True, slots=True)
class DayHours(_Field):
    """Hours of a day, as [{ from = 12, to = 18 }], or "all"."""

    def check(self, value: Any, context: dict[str, Any]) -> tuple[bool, ...]:
        """Return for each of the day's 24 hours whether it is named; refuse what is no list of intervals.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        allowed = (
            '"all", or intervals of whole hours as [{ from = 12, to = 18 }], from before to, 0 to 24; past '
            "midnight two of them"
        )
        if value == "all":
            return (True,) * 24
        if not isinstance(value, list):
            raise refuse(value, allowed)
        named = [False] * 24
        for item in value:
            if not isinstance(item, dict) or set(item) != {"from", "to"}:
                keys = " and ".join(item) if isinstance(item, dict) and item else None
                raise refuse(item, allowed, got=None if keys is None else f"a table with {keys}")
            start, end = item["from"], item["to"]
            whole = all(isinstance(hour, int) and not isinstance(hour, bool) for hour in (start, end))
            if not whole or not 0 <= start < end <= 24:
                raise refuse(item, allowed, got=f"from {shown(start)} to {shown(end)}")
            for hour in range(start, end):
                if named[hour]:
                    raise refuse(item, "intervals that have no hour in common", got=f"hour {hour} twice")
                named[hour] = True
        return tuple(named)


@dataclass(frozen=True, slots=True)
class Reserved(_Field):
    """A key that a later version understands."""

    def check(self, value: Any, context: dict[str, Any]) -> None:
        """Refuse, whatever stands there.

        Args: value and context as `Quantity.check`. Raises: as there.
        """
        raise refuse(value, "nothing: not available in this version")
