"""Where each value of a site comes from: given, worked out by a helper, the profile's, or a default.

The resolver hands out values and writes down for each where it came from and how far it may be off.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from selector.inputs.defaults import default_of, defaults_file, is_from_profile
from selector.inputs.errors import Faults
from selector.inputs.fields import Number, Quantity, Text, Whole, Word
from selector.inputs.quantities import allowed_units
from selector.inputs.schema_faults import is_broken
from selector.inputs.schema_keys import SHARED_KEYS, dimension_of, kind_of
from selector.inputs.site import ARRANGEMENTS, Assumption, Origin
from selector.inputs.units import SI_SYMBOLS

PLACEHOLDER = 1.0  # stands for a value whose fault is already noted; the site is never built with it


_BY_CURRENCY = {
    "money": "",
    "money_per_year": "/year",
    "money_per_month": "/month",
    "energy_price": "/J",
    "demand_price": "/W",
    "carbon_price": "/kg",
}
_ALLOWED = {
    "currency": "a code of ISO 4217, as USD or EUR",
    "gains.schedule": 'the name of a schedule, "always" or "occupied"',
    "gains.moisture.schedule": 'the name of a schedule, "always" or "occupied"',
    "humidity_target.hours": 'the name of a schedule, "always" or "occupied"',
    "costs.other_load.schedule": 'the name of a schedule, "always" or "occupied"',
    "limits.arrangements": f"a list of {', '.join(ARRANGEMENTS)}",
}


class Resolver:
    """Hands out the values of one site and keeps the record of them."""

    def __init__(
        self,
        *,
        file: str,
        profile: str | None,
        currency: str,
        broken: frozenset[str],
        faults: Faults,
        no_defaults: bool,
        instead: Mapping[str, float] | None = None,
    ) -> None:
        self.file = file
        self.profile = profile
        self.currency = currency
        self.faults = faults
        self.no_defaults = no_defaults
        self.instead = instead or {}  # SI, taken for the default of a key
        self.notes: list[str] = []  # what the reader of a result should know
        self.scales: dict[str, float] = {}  # SI, what values "per" something are multiplied with
        self._broken = broken
        self._assumptions: dict[str, Assumption] = {}

    def assumptions(self) -> tuple[Assumption, ...]:
        """Return every value handed out, in the order of asking."""
        return tuple(self._assumptions.values())

    def is_broken(self, key: str) -> bool:
        """Say whether a key was refused already, so that its absence is no second fault.

        Args: key, as in the file. Returns: true where it was.
        """
        return is_broken(key, self._broken)

    def fault(self, where: str, got: str, allowed: str) -> None:
        """Note a fault.

        Args: where, the key; got and allowed, the two halves of the message.
        """
        self.faults.add(file=self.file, where=where, got=got, allowed=allowed)

    def missing(self, where: str, allowed: str) -> None:
        """Note that a key is missing, unless it was refused already.

        Args: where, the key; allowed, what may stand there.
        """
        if not self.is_broken(where):
            self.fault(where, "nothing", allowed)

    def number(
        self, where: str, given: float | None, *, default: str | None = None, dimension: str | None = None
    ) -> float:
        """Hand out a number that the site cannot do without.

        Args: where, the key in this file; given, SI, or None; default, the key among the defaults where that is
        another; dimension, where the schema does not tell.
        Returns: SI; a placeholder where a fault was noted.
        """
        key = default or where
        unit = self._unit(dimension or self._dimension(key))
        entry = default_of(key, self.profile, self.currency)
        if given is not None:
            self._record(where, given, unit, None, None, "given", "site file", entry.find if entry else "")
            return given
        if self.is_broken(where):
            return PLACEHOLDER
        if entry is None:
            self.missing(where, self.allowed(key, dimension))
            return PLACEHOLDER
        value, low, high = entry.value, entry.low, entry.high
        assert not isinstance(value, str), f"the default of {key} is a word"
        if entry.per is not None:
            if entry.per not in self.scales:
                return PLACEHOLDER  # what it is by is missing, which is noted there
            scale = self.scales[entry.per]
            value = value * scale
            low = None if low is None else low * scale
            high = None if high is None else high * scale
        value = self.instead.get(where, value)
        origin: Origin = "profile" if is_from_profile(key, self.profile) else "default"
        self._refuse_default(where, entry.text, self.allowed(key, dimension))
        self._record(where, value, unit, low, high, origin, entry.source, entry.find)
        return value

    def word(self, where: str, given: str | None, *, default: str | None = None) -> str:
        """Hand out a word that the site cannot do without.

        Args: where, the key in this file; given, or None; default, the key among the defaults.
        Returns: the word; "" where a fault was noted.
        """
        key = default or where
        entry = default_of(key, self.profile, self.currency)
        if given is not None:
            self._record(where, given, "", None, None, "given", "site file", entry.find if entry else "")
            return given
        if self.is_broken(where):
            return str(entry.value) if entry else ""
        if entry is None:
            self.missing(where, self.allowed(key))
            return ""
        origin: Origin = "profile" if is_from_profile(key, self.profile) else "default"
        self._refuse_default(where, entry.text, self.allowed(key))
        self._record(where, str(entry.value), "", None, None, origin, entry.source, entry.find)
        return str(entry.value)

    def optional(self, where: str, given: float | None) -> float | None:
        """Write down a number that a site may do without, and pass it on.

        Args: where, the key; given, SI, or None. Returns: the same.
        """
        if given is not None:
            unit = self._unit(self._dimension(where))
            self._record(where, given, unit, None, None, "given", "site file", "")
        return given

    def given(self, where: str, value: float | str, dimension: str) -> None:
        """Write down a value that the file gives under a key that serves more than one site value.

        Args: where, the key; value, SI or a word; dimension, a key of `DIMENSIONS`.
        """
        self._record(where, value, SI_SYMBOLS[dimension], None, None, "given", "site file", "")

    def helped(
        self,
        where: str,
        value: float,
        *,
        low: float | None,
        high: float | None,
        source: str,
        dimension: str | None = None,
    ) -> float:
        """Write down a value that a helper worked out, and pass it on.

        Args: where, the key that it stands for; value, low, high, SI; source, how it was worked out; dimension, where
            the schema does not tell.
        Returns: value, or what is to be taken instead of it.
        """
        value = self.instead.get(where, value)
        entry = default_of(where, self.profile, self.currency)
        unit = self._unit(dimension or self._dimension(where))
        self._record(where, value, unit, low, high, "helper", source, entry.find if entry else "")
        return value

    def profile_value(self, where: str, value: str, find: str) -> None:
        """Write down a word or schedule that the profile brings.

        Args: where, the key; value, as shown; find, how to find one's own.
        """
        self._refuse_default(where, value, "the name of a schedule of your own")
        self._record(where, value, "", None, None, "profile", f"profile {self.profile}", find)

    def only_one(self, where: str, given: Mapping[str, object]) -> str | None:
        """Find which of several keys for the same thing is given; more than one is a fault.

        Args: where, the table they stand in; given, by key, None where it is not.
        Returns: the first key given, or None.
        """
        names = [name for name, value in given.items() if value is not None]
        if len(names) > 1:
            self.fault(f"{where}.{names[0]}", f"{' and '.join(names)}", f"one of {', '.join(given)}")
        return names[0] if names else None

    def allowed(self, key: str, dimension: str | None = None) -> str:
        """Say what may stand at a key.

        Args: key, in the schema; dimension, where the schema does not tell. Returns: text.
        """
        if key in _ALLOWED:
            return _ALLOWED[key]
        kind = kind_of(key)
        dimension = dimension or SHARED_KEYS.get(key)
        if dimension is None and isinstance(kind, Quantity):
            return kind.allowed({"currency": self.currency})
        if isinstance(kind, Word):
            return ", ".join(f'"{word}"' for word in kind.words)
        if key == "gains.people.activity":
            return ", ".join(f'"{name}"' for name in defaults_file()["activities"])
        if isinstance(kind, Text):
            return kind.words
        if isinstance(kind, Whole):
            return f"a whole number from {kind.at_least} to {kind.at_most}"
        if isinstance(kind, Number):
            return "a bare number"
        return allowed_units(dimension, currency=self.currency) if dimension else "a value"

    def _refuse_default(self, where: str, text: str, allowed: str) -> None:
        if self.no_defaults:
            self.fault(where, f"nothing, and defaults are refused (it would be {text})", allowed)

    def _dimension(self, key: str) -> str:
        return dimension_of(key) or "count"

    def _unit(self, dimension: str) -> str:
        if dimension in _BY_CURRENCY:
            return self.currency + _BY_CURRENCY[dimension]
        return SI_SYMBOLS[dimension]

    def _record(
        self,
        key: str,
        value: float | str,
        unit: str,
        low: float | None,
        high: float | None,
        origin: Origin,
        source: str,
        find: str,
    ) -> None:
        if low is not None and high is not None:
            low, high = min(low, high), max(low, high)
        self._assumptions[key] = Assumption(key, value, unit, low, high, origin, source, find)


def known_word(resolver: Resolver, where: str, word: str, words: Iterable[str]) -> bool:
    """Check a word against a helper's table; note a fault where it is not in it.

    Args: resolver; where, the key; word, as given; words, those of the table.
    Returns: true where it is known.
    """
    names = list(words)
    if word in names:
        return True
    resolver.fault(where, f'"{word}"', ", ".join(f'"{name}"' for name in names))
    return False


def checked(word: str) -> Any:
    """Pass on a word that the schema has checked, so that it counts as one of its `Literal`s.

    Args: word. Returns: the same.
    """
    return word
