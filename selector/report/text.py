"""Words, figures and lines of text that every report is made of.

What a person typed (names, models, paths) may hold anything; `clean` makes it safe to print before it reaches a
terminal, and `fit` keeps it inside its place.
"""

from __future__ import annotations

import shlex
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from rich.cells import cell_len, set_cell_size

from selector.inputs.calendar import FIRST_DAY_OF_MONTH, WEEKDAY_NAMES
from selector.inputs.errors import Faults
from selector.inputs.quantities import display_unit, display_value, format_quantity
from selector.inputs.site import Arrangement, Install, Site

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
WIDTH = 80
DISPLAY_UNITS: tuple[Literal["IP"], Literal["SI"]] = ("IP", "SI")

_UNSAFE = frozenset(
    {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
)  # control, direction, surrogates, line separators

PLACES: dict[Arrangement, str] = {
    "return-side": "in the return duct, before outdoor air mixes in, upstream of the coil",
    "supply-side": "in the supply duct, downstream of the coil",
    "coil-bypass": "from the return duct to the supply duct, around the coil",
    "standalone": "in the space, independent of the air handler",
    "outdoor-air": "in the ventilation air, before it mixes",
}


def clean(text: str) -> str:
    r"""Make a text safe to print: what moves the cursor, turns direction or breaks a line is written as an escape.

    >>> clean("hall\x1b[31m\n")
    'hall\\x1b[31m\\x0a'

    Args: text, of anyone. Returns: text of one line.
    """
    return "".join(_escape(c) if unicodedata.category(c) in _UNSAFE else c for c in text)


def _escape(character: str) -> str:
    code = ord(character)
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def fit(text: str, width: int) -> str:
    """Cut a text to a width, counting wide characters as two.

    >>> fit("compressor-450", 8)
    'compr...'

    Args: text; width in columns of the terminal. Returns: text no wider than that.
    """
    if cell_len(text) <= width:
        return text
    return set_cell_size(text, max(0, width - 3)).rstrip() + "."[:width] * min(3, width)


def pad(text: str, width: int) -> str:
    """Cut or fill a text to exactly a width.

    Args: text; width in columns. Returns: text of that width.
    """
    return set_cell_size(fit(text, width), width)


def plural(count: float, word: str) -> str:
    """Write a count with its word.

    >>> plural(1, "unit"), plural(1200, "hour")
    ('1 unit', '1,200 hours')

    Args: count, a bare number; word in the singular. Returns: text.
    """
    return f"{count:,.0f} {word}{'' if count == 1 else 's'}"


def hour_text(hour: int) -> str:
    """Write an hour of the year.

    >>> hour_text(0), hour_text(59 * 24 + 13)
    ('1 Jan 00:00', '1 Mar 13:00')

    Args: hour, 0 to 8759. Returns: day, month and the time at which the hour starts.
    """
    day, clock = divmod(hour, 24)
    month = max(index for index in range(12) if FIRST_DAY_OF_MONTH[index] <= day)
    return f"{day - FIRST_DAY_OF_MONTH[month] + 1} {MONTHS[month]} {clock:02d}:00"


def weekday_text(hour: int, first_weekday: int) -> str:
    """Name the weekday of an hour of the year.

    Args: hour; first_weekday, of 1 January, Monday = 0. Returns: name.
    """
    return WEEKDAY_NAMES[(first_weekday + hour // 24) % 7]


@dataclass(frozen=True, slots=True)
class Show:
    """Writes figures in the units that the reader works in."""

    units: Literal["IP", "SI"]
    currency: str

    def __call__(self, value: float, dimension: str, digits: int = 4) -> str:
        """Write a figure with its unit.

        Args: value, SI; dimension, as the inputs name it; digits that count. Returns: text.
        """
        return format_quantity(value, dimension, self.units, currency=self.currency, digits=digits)

    def ratio(self, value: float) -> str:
        """Write a humidity ratio in gr/lb or g/kg.

        Args: value [kg/kg]. Returns: text.
        """
        return self(value, "humidity_ratio", 3)

    def kwh(self, value: float) -> str:
        """Write an amount of energy.

        Args: value [kWh]. Returns: text, whole kWh.
        """
        return f"{value:,.0f} kWh"

    def per_kwh(self, value: float) -> str:
        """Write a specific moisture removal.

        Args: value [kg/kWh]. Returns: text, two decimals.
        """
        shown = display_value(value / 3.6e6, "specific_removal", self.units)
        return f"{shown:,.2f} {display_unit('specific_removal', self.units)}"

    def limited(self, kind: str, value: float, *, short: bool = False) -> str:
        """Write the quantity that a humidity limit is set in.

        Args: kind of the limit; value, fraction or °C; short, without its name. Returns: text, as "60.0 % RH" or
            "60.0 degF dew point".
        """
        if kind == "relative-humidity":
            return self(value, "fraction") + ("" if short else " RH")
        return self(value, "temperature") + ("" if short else " dew point")


def show_for(site: Site) -> Show:
    """Figures in a site's own units.

    Args: site. Returns: `Show`.
    """
    return Show(site.display_units, site.costs.currency)


def design_text(install: Iterable[Install]) -> str:
    """Write a design in a line.

    >>> design_text([Install("precool-120", "standalone", 2), Install("rotor-60", "standalone", 1)])
    '2 precool-120 + 1 rotor-60 standalone'

    Args: install. Returns: text, "nothing" where there is no unit; arrangements named once.
    """
    parts = list(install)
    if not parts:
        return "nothing"
    words: list[str] = []
    for place, part in enumerate(parts):
        last = place + 1 == len(parts) or parts[place + 1].arrangement != part.arrangement
        words.append(f"{part.count} {clean(part.model)}" + (f" {part.arrangement}" if last else ""))
    return " + ".join(words)


def design_within(install: Iterable[Install], arrangement: str) -> str:
    """Write a design behind the name of its arrangement, which is not said again where all of it stands there.

    >>> design_within([Install("precool-120", "standalone", 2)], "standalone")
    '2 precool-120'

    Args: install; arrangement, as named before it. Returns: text as `design_text`.
    """
    parts = list(install)
    text = design_text(parts)
    alone = all(part.arrangement == arrangement for part in parts)
    return text.removesuffix(f" {arrangement}") if alone else text


def command(*words: str) -> str:
    """Write a command of ours that can be pasted into a shell.

    >>> command("choose", "my hall.toml", "--details")
    "selector choose 'my hall.toml' --details"

    Args: words after the program's name. Returns: text.
    """
    return " ".join(["selector", *(shlex.quote(word) for word in words)])


def show_in(*, units: str, currency: str) -> Show:
    """Figures in the units that were asked for.

    Args: units, as written; currency. Returns: `Show`. Raises: InputFaults unless units are IP or SI.
    """
    for known in DISPLAY_UNITS:
        if units == known:
            return Show(known, currency)
    faults = Faults()
    faults.add(file="--units", where="option", got=f'"{units}"', allowed=" or ".join(DISPLAY_UNITS))
    faults.raise_if_any()
    raise AssertionError("a fault was added")
