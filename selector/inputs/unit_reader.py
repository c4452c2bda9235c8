"""From the text of a unit to unit names and powers, and their factor to SI on a registry of our own.

pint multiplies and compares; what a word means is looked up in `units.py` alone, so that no prefix and no stock
unit can slip in.
"""

from __future__ import annotations

import functools
import re
from typing import TYPE_CHECKING

from selector.inputs.units import CENTS, CURRENCIES, SIGNS, UNITS, WATER_DENSITY, WATER_VOLUMES

if TYPE_CHECKING:
    import pint

_POWER = re.compile(r"(.*[^\d^-])\^?(-?[1-4])")

Powers = list[tuple[str, int]]  # unit names with their powers


def tidy(unit: str) -> str:
    """Write a unit's signs one way: superscripts, dots, degrees, "per".

    Args: unit, as a person wrote it. Returns: the same unit with *, /, ^ and °.
    """
    for old, new in (
        ("·", "*"), ("⋅", "*"), ("∙", "*"), ("×", "*"), ("**", "^"), ("²", "^2"), ("³", "^3"), ("⁻¹", "^-1"),
        ("−", "-"), ("–", "-"), ("º", "°"), ("℉", "°F"), ("℃", "°C"), ("″", '"'), ("”", '"'), ("′", "'"),
        ("’", "'"), ("' '", '"'), ("° ", "°"),
    ):  # fmt: skip
        unit = unit.replace(old, new)
    return re.sub(r"\s+", " ", re.sub(r"(^|\s)per\s", "/", unit)).strip()


@functools.cache
def _spellings() -> tuple[dict[str, str], dict[str, str]]:
    exact: dict[str, str] = {}
    folded: dict[str, str] = {}
    for unit in UNITS:
        for table, written in (
            *((exact, word) for word in unit.exact),
            *((folded, w) for w in unit.any_case),
        ):
            if written in table:
                raise ValueError(f"two units are spelled {written!r}")
            table[written] = unit.name
    return exact, folded


def lookup(word: str) -> str | None:
    """Find the unit that a word names.

    Args: word, as in "sq. ft." or "kWh". Returns: the name in `units.py`, or None.
    """
    exact, folded = _spellings()
    for attempt in (word, word.replace(".", "")):
        found = exact.get(attempt) or folded.get(attempt.lower())
        if found:
            return found
    return None


@functools.cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    registry: pint.UnitRegistry[float] = pint.UnitRegistry(None, on_redefinition="raise")
    for unit in UNITS:
        registry.define(f"{unit.name} = {unit.definition}")
    for volume in WATER_VOLUMES:
        registry.define(f"{volume}_of_water = {WATER_DENSITY} * kilogram / meter ** 3 * {volume}")
    return registry


@functools.cache
def factor_to_si(parts: tuple[tuple[str, int], ...], si: str) -> float | None:
    """Convert a product of units to SI.

    Args: parts, unit names with their powers; si, the SI unit in pint's language.
    Returns: the factor, or None where the two are of different dimensions.
    """
    registry = _registry()
    unit = registry.Unit("")
    for name, power in parts:
        unit = unit * registry.Unit(name) ** power
    target = registry.Unit(si)
    if unit.dimensionality != target.dimensionality:
        return None
    return float(registry.Quantity(1.0, unit).to(target).magnitude)


class UnitReader:
    """Reads a product or quotient of units.

    Two readings of "Btu/h·ft²·°F" exist: by the rules of algebra only h is below the line, in the trade all
    three are. They never have the same dimension, so whichever fits the key is the one that was meant.
    """

    def __init__(self, text: str, *, water: bool, trade_order: bool) -> None:
        self._pieces = [piece for piece in re.split(r"([*/()])", _spell_out(text)) if piece is not None]
        self._water = water
        self._trade_order = trade_order
        self._place = 0
        self.currencies: list[str] = []

    def read(self) -> Powers | None:
        """Return unit names and powers, or None where the text is no unit."""
        parts = self._product()
        return None if self._place < len(self._pieces) else parts

    def _product(self) -> Powers | None:
        parts: Powers = []
        sign, expect, first = 1, True, True
        while self._place < len(self._pieces):
            piece = self._pieces[self._place].strip()
            if piece == ")":
                break
            self._place += 1
            if not piece:
                continue
            if piece in ("*", "/"):
                if expect and not (piece == "/" and first):
                    return None
                if piece == "/":
                    sign = -1
                elif not self._trade_order:
                    sign = 1
                expect, first = True, False
                continue
            inner = self._group() if piece == "(" else self._words(piece, first)
            if inner is None or not expect:
                return None
            parts += [(name, power * sign) for name, power in inner]
            expect = first = False
        return None if expect else parts

    def _group(self) -> Powers | None:
        inner = self._product()
        if inner is None or self._place >= len(self._pieces):
            return None
        self._place += 1
        return inner

    def _words(self, text: str, first: bool) -> Powers | None:
        if text == "1" and first:
            return []
        words = text.split(" ")
        parts: Powers = []
        while words:
            for count in range(len(words), 0, -1):
                known = self._word(" ".join(words[:count]))
                if known is not None:
                    parts.append(known)
                    words = words[count:]
                    break
            else:
                return None
        return parts

    def _word(self, word: str) -> tuple[str, int] | None:
        power = 1
        name = self._name(word)
        if name is None and (match := _POWER.fullmatch(word)):
            name, power = self._name(match[1].strip()), int(match[2])
        if name is None or power == 0:
            return None
        if self._water and name in WATER_VOLUMES:
            name = f"{name}_of_water"
        return name, power

    def _name(self, word: str) -> str | None:
        if word in CURRENCIES or word in SIGNS or word in CENTS:
            self.currencies.append(word)
            return "currency"
        return lookup(word)


def _spell_out(text: str) -> str:
    """Part what is written together: "m2K", "h-ft2-F"; leave "h-1" and known units as they are."""
    text = re.sub(r"(?<=[A-Za-z°][2-4])(?=[A-Za-z°])(?!O)", "*", text)
    return re.sub(r"(?<=[A-Za-z2-4])-(?=[A-Za-z°])", "*", text)
