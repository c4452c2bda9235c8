"""Figures of the page: each is taken from the result as JSON has it, and carries the key under which it stands there.

`Figures` writes a figure as a `data` element: its value in SI as JSON has it, its key, and the unit that it is shown
in. What is written so can be held against the JSON, to the digits shown.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from selector.inputs.quantities import display_unit, display_value
from selector.report.assumption_units import dimension_by, is_share, price_dimension
from selector.report.lines import INCH, limit_kind
from selector.report.text import MONTHS, Show, clean

NARROW = "\N{NO-BREAK SPACE}"
NONE = "none"

# kinds of figure that are no quantity of the inputs: unit and decimals
OWN: Mapping[str, tuple[str, int]] = {
    "hours": ("h", 0),
    "count": ("", 0),
    "kwh": ("kWh", 0),
    "kw": ("kW", 1),
    "years": ("years", 1),
    "ratio": ("", 2),
    "work": ("year-equivalents", 1),
    "price": ("", 2),
}
# decimals of quantities whose size does not say how finely they are known
DECIMALS: Mapping[str, int] = {
    "temperature": 1,
    "temperature_difference": 1,
    "sound": 0,
    "fraction": 1,
    "percent": 1,
    "money": 0,
    "money_per_year": 0,
    "moisture": 0,
    "mass": 0,
    "current": 1,
}


def found_at(result: Any, key: str) -> Any:
    """Look up a key of a result.

    >>> found_at({"humidity": {"limits": [{"worst": 0.61}]}}, "humidity.limits.0.worst")
    0.61

    Args: result, of plain values; key, names and places joined by dots.
    Returns: what stands there. Raises: KeyError or IndexError where nothing does.
    """
    for part in key.split("."):
        result = result[int(part)] if isinstance(result, Sequence) else result[part]
    return result


def written(
    value: float, kind: str, show: Show, *, digits: int = 4, decimals: int | None = None
) -> tuple[str, str]:
    """Write a figure.

    Args: value, SI, or in the unit that `OWN` names; kind, a dimension of the inputs, a key of `OWN` or "size"; show;
        digits that count where neither the kind nor decimals says how many stand behind the point.
    Returns: number and unit, as text.
    """
    if kind == "residual":
        return f"{value:.1e}", ""
    if kind == "plain":
        return (_significant(value, digits) if decimals is None else _fixed(value, decimals)), ""
    if kind == "size":
        return (_fixed(value / INCH, 1), "in") if show.units == "IP" else (_fixed(value, 2), "m")
    if kind == "per_kwh":
        value, kind = value / 3.6e6, "specific_removal"
    if kind in OWN:
        unit, places = OWN[kind]
        return _fixed(value, places if decimals is None else decimals), unit
    number = display_value(value, kind, show.units)
    unit = display_unit(kind, show.units, currency=show.currency)
    unit = unit.replace("degF", "°F").replace("degC", "°C").replace("inH2O", "in. of water")
    if decimals is None:
        decimals = DECIMALS.get(kind)
    if decimals is not None:
        return _fixed(number, decimals), unit
    return _significant(number, digits), unit


def _fixed(number: float, places: int) -> str:
    text = f"{number:,.{places}f}"
    return text.removeprefix("-") if not any(digit in text for digit in "123456789") else text


def _significant(number: float, digits: int) -> str:
    if number == 0.0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(number))))
    text = _fixed(number, places)
    return text.rstrip("0").rstrip(".") if "." in text else text


@dataclass(frozen=True, slots=True, eq=False)
class Figures:
    """Writes figures of a result."""

    result: Mapping[str, Any]  # as it is read back from JSON
    show: Show
    prefix: str = ""  # of every key: where in the result one looks

    def under(self, key: str) -> Figures:
        """Look at a part of the result.

        Args: key, from here. Returns: `Figures` of that part.
        """
        return Figures(self.result, self.show, self.key(key) + ".")

    def key(self, key: str) -> str:
        """Name where the whole result has what stands under a key.

        Args: key, from here. Returns: key, from the top.
        """
        return f"{self.prefix}{key}"

    def get(self, key: str) -> Any:
        """Look up what stands under a key.

        Args: key, from here. Returns: a plain value; None where there is none.
        """
        try:
            return found_at(self.result, self.key(key))
        except (KeyError, IndexError, TypeError):
            return None

    def __call__(
        self,
        key: str,
        kind: str,
        *,
        unit: bool = True,
        digits: int = 4,
        decimals: int | None = None,
        signed: bool = False,
        times: float = 1.0,
    ) -> Markup:
        """Write a figure.

        Args: key, from here; kind, as `written`; unit, whether it follows; digits and decimals, as `written`; signed,
            whether "+" stands before what is not negative; times, what JSON's value is shown a multiple of.
        Returns: a `data` element; the word "none" where JSON has null.
        """
        value = found_at(self.result, self.key(key))
        if value is None:
            return Markup('<data value="" data-key="{}">{}</data>').format(self.key(key), NONE)
        number, name = written(times * float(value), kind, self.show, digits=digits, decimals=decimals)
        sign = "+" if signed and not number.startswith("-") else ""
        shown = f"{sign}{number}{NARROW}{name}" if unit and name else f"{sign}{number}"
        multiple = Markup(' data-times="{}"').format(repr(times)) if times != 1.0 else ""
        return Markup('<data value="{}" data-key="{}" data-kind="{}" data-unit="{}"{}>{}</data>').format(
            repr(value), self.key(key), kind, name, multiple, shown
        )

    def unit(self, kind: str) -> str:
        """Name the unit of a kind of figure, for a heading.

        Args: kind, as `written`. Returns: unit, "" for a bare number.
        """
        return written(0.0, kind, self.show)[1]

    def head(self, name: str, kind: str) -> str:
        """Write a heading with its unit.

        Args: name; kind. Returns: text, as "first cost [USD]".
        """
        unit = self.unit(kind)
        return f"{name} [{unit}]" if unit else name

    def hour(self, key: str) -> Markup:
        """Write an hour of the year.

        Args: key, from here, of an hour as `name_of_hour` writes it. Returns: day, month and the time it starts at.
        """
        date, _, clock = str(found_at(self.result, self.key(key))).partition(" ")
        month, _, day = date.partition("-")
        return Markup('<span data-hour="{}">{} {} {}</span>').format(
            self.key(key), int(day), MONTHS[int(month) - 1], clock
        )

    def study_years(self) -> Markup:
        """Write the years that life-cycle costs are of.

        Returns: figure with its unit.
        """
        every = self.get("assumptions")
        place = next(at for at, one in enumerate(every) if one["key"] == "costs.study_period")
        value = every[place]["value"]
        return self(f"assumptions.{place}.value", "years", decimals=0 if value == round(value) else 1)

    def broken(self) -> Markup:
        """Write the limits that a design does not keep.

        Returns: text, as "hours above the humidity target, 52 h (40 allowed)"; "" where it keeps every limit.
        """
        parts: list[Markup] = []
        for place, one in enumerate(self.get("limits_broken") or ()):
            name = clean(one["limit"])
            if name.startswith("arrangements:"):
                parts.append(Markup("{}").format(name))
                continue
            kind = limit_kind(one["unit"], self.show.currency)
            got, allowed = (f"limits_broken.{place}.{word}" for word in ("got", "allowed"))
            parts.append(
                Markup("{}, {} ({} allowed)").format(name, self(got, kind), self(allowed, kind, unit=False))
            )
        return Markup("; ").join(parts)

    def limited(self, kind: str, key: str) -> Markup:
        """Write the quantity that a humidity limit is set in.

        Args: kind of the limit; key, from here. Returns: figure with its unit and name.
        """
        if kind == "relative-humidity":
            return Markup("{} RH").format(self(key, "fraction"))
        return Markup("{} dew point").format(self(key, "temperature"))


def dimension_of(*, key: str, unit: str, currency: str) -> str | None:
    """Find the dimension that a value of the record of assumptions is shown by.

    Args: key, of the site file; unit, SI, as the record has it; currency of the site.
    Returns: a dimension of the inputs; None where the value is shown as it stands.
    """
    if unit == f"{currency}/J":
        return price_dimension(key)
    if unit == f"{currency}/kg":
        return "carbon_price"
    if unit == "" and is_share(key):
        return "percent"
    found = dimension_by(key=key, unit=unit)
    return None if found == "enthalpy" else found
