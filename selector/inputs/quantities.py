"""Quantities as people write them, to SI and back.

Every physical quantity carries its unit as text. The text is split into a number and a unit here, each unit is
looked up in our own table, and pint multiplies and compares them on a registry that holds nothing else: in its
stock registry "8000 cfm" is centi-femtometres, "25 ton" a mass and "75 F" farads. A decimal comma is refused.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import Literal

from selector.inputs.unit_reader import UnitReader, factor_to_si, lookup, tidy
from selector.inputs.units import CENTS, DIMENSIONS, MOISTURE_DIMENSIONS, SIGNS, Dimension

SHARES = ("fraction", "percent", "relative_humidity")  # may be bare or in %
STANDARD_PRESSURE = 101325.0  # Pa
FAHRENHEIT_ENTHALPY = (
    7.68 * 2326.0
)  # J/kg: dry air at 0 °C above the 0 °F datum of IP tables, 0.240 x 32 Btu/lb

_NUMBER = re.compile(r"[+-]?(?:[0-9]{1,3}(?:,[0-9]{3})+(?![0-9])|[0-9]+)?(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?")
_FRACTION = re.compile(r"(?:(\d+)[ -])?(\d{1,2})/(2|3|4|6|8|12|16|32)(?=\s*[A-Za-z\"'])")
_FEET_INCHES = re.compile(r"(\d+)\s*(?:'|ft\.?|feet)\s*-?\s*(\d+(?:\.\d+)?)\s*(?:\"|in\.?|inches)")
_COMMA_RULE = "a decimal point, and commas only between groups of three digits, as in 1,200.5"


class QuantityError(ValueError):
    """A text is not the quantity that was asked for; `got` and `allowed` are the two halves of the message."""

    def __init__(self, got: str, allowed: str) -> None:
        self.got = got
        self.allowed = allowed
        super().__init__(f"got {got}; allowed: {allowed}")


@dataclass(frozen=True, slots=True)
class Conversion:
    """From one written unit to SI: SI value = scale x written value + offset."""

    scale: float
    offset: float
    currency: str | None = None  # the code in the unit, where there is one
    standard_air: bool = False  # scfm: the flow at 101.325 kPa


def allowed_units(dimension: str, *, currency: str | None = None) -> str:
    """Say what a dimension may be written in.

    Args: dimension, a key of `DIMENSIONS`; currency, the site's code.
    Returns: text such as "an airflow in cfm, m3/h, scfm, L/s or m3/s".
    """
    entry = _dimension(dimension)
    code = currency or "USD"
    units = [entry.ip_unit, *([entry.si_unit] if entry.si_unit != entry.ip_unit else []), *entry.also]
    if "currency" in entry.si:
        units = [f"{code}/{unit}" if unit else code for unit in units]
    if dimension in (*SHARES, "count"):
        return entry.words
    return f"{entry.words} in {', '.join(units[:-1])}{' or ' if len(units) > 1 else ''}{units[-1]}"


def parse(
    text: object, dimension: str, *, currency: str | None = None, pressure: float | None = None
) -> float:
    """Turn what a person wrote into SI.

    >>> round(parse("8,000 CFM", "airflow"), 4)
    3.7756
    >>> parse("75", "temperature")
    Traceback (most recent call last):
        ...
    selector.inputs.quantities.QuantityError: got "75" (no unit); allowed: a temperature in degF, degC, °F or °C

    Args: text, or a bare number where the dimension is a fraction or a count; dimension, a key of `DIMENSIONS`;
    currency, the code that money must be in; pressure [Pa], at which a standard airflow (scfm) is wanted as a
    volume, 101,325 Pa unless given.
    Returns: the value in the dimension's SI unit (°C, fractions 0 to 1, currency/J, years).
    Raises: QuantityError, with what was got and what is allowed.
    """
    entry = _dimension(dimension)
    allowed = allowed_units(dimension, currency=currency)
    if isinstance(text, bool) or not isinstance(text, (str, int, float)):
        raise QuantityError(_shown(text), allowed)
    if isinstance(text, (int, float)):
        try:
            return _bare(float(text), repr(text), entry, allowed)
        except OverflowError:  # a whole number of hundreds of digits
            raise QuantityError(repr(text), "a finite number") from None
    return _parsed(text, dimension, currency, pressure)


@lru_cache(maxsize=4096)  # a site is read again for each value that is tried
def _parsed(text: str, dimension: str, currency: str | None, pressure: float | None) -> float:
    """As `parse`, for text."""
    entry = _dimension(dimension)
    allowed = allowed_units(dimension, currency=currency)
    shown = f'"{text}"'
    number, unit = _split(text, entry, shown, allowed)
    if not unit:
        return _bare(number, shown, entry, allowed)
    conversion = conversion_of(unit, dimension, currency=currency, shown=shown)
    value = number * conversion.scale + conversion.offset
    if conversion.standard_air and pressure is not None:
        value *= STANDARD_PRESSURE / pressure
    if not math.isfinite(value):
        raise QuantityError(shown, allowed)
    return _in_range(value, shown, entry, allowed)


def like(text: object, value: float, dimension: str, *, above: bool) -> str | None:
    """Write a value in the unit that a person wrote, to at most four figures.

    >>> like("200 degF", 50.0, "temperature", above=False), like("200 degF", 4.999, "temperature", above=True)
    ('122 degF', '41 degF')

    Args: text, as written; value, SI; dimension, a key of `DIMENSIONS`; above, whether rounding may go up, else down.
    Returns: number and unit, None where the text has no unit of the dimension.
    """
    if not isinstance(text, str):
        return None
    try:
        _, unit = _split(text, _dimension(dimension), text, "")
        conversion = conversion_of(unit, dimension)
    except QuantityError:
        return None
    number = (value - conversion.offset) / conversion.scale
    if abs(number) < 1e-9:
        return f"0 {unit}"
    step = 10.0 ** (math.floor(math.log10(abs(number))) - 3)
    places = number / step
    rounded = step * (math.ceil(places - 1e-6) if above else math.floor(places + 1e-6))
    return f"{float(f'{rounded:.4g}'):,.15g} {unit}"


def conversion_of(
    unit: str, dimension: str, *, currency: str | None = None, shown: str | None = None
) -> Conversion:
    """Find how a written unit becomes SI.

    Args: unit, as in "lb/h" or "USD/kWh"; dimension, a key of `DIMENSIONS`; currency, the code that money must
    be in (any code where None); shown, what to quote in the error.
    Returns: scale, offset and the currency named. Raises: QuantityError.
    """
    entry = _dimension(dimension)
    allowed = allowed_units(dimension, currency=currency)
    got = shown if shown is not None else f'"{unit}"'
    unit = tidy(unit)
    if dimension == "temperature":
        shift = {"fahrenheit": Conversion(1 / 1.8, -32 / 1.8), "celsius": Conversion(1.0, 0.0)}
        found = shift.get(lookup(unit) or "")
        if found is None:
            raise QuantityError(got, allowed)
        return found
    if dimension in (*SHARES, "sound"):
        if unit not in entry.only:
            raise QuantityError(got, allowed)
        return Conversion(1.0 if dimension == "sound" else 0.01, 0.0)
    if dimension == "airflow" and unit.lower() == "scfm":
        return Conversion(_factor("cfm", dimension, got, allowed, None)[0], 0.0, standard_air=True)
    if dimension == "humidity_ratio" and unit.lower() not in entry.only:
        raise QuantityError(got, allowed)
    if dimension == "power_per_cooling" and unit.lower() != "kw/ton":
        raise QuantityError(got, allowed)
    percent = 1.0
    if dimension == "per_temperature" and unit.startswith("%/"):
        percent, unit = 0.01, unit[1:]
    scale, code = _factor(unit, dimension, got, allowed, currency)
    offset = -FAHRENHEIT_ENTHALPY if dimension == "enthalpy" and "btu" in unit.lower() else 0.0
    return Conversion(scale * percent, offset, currency=code)


def parse_number(text: str) -> float:
    """Read a bare number, with commas only between groups of three digits.

    >>> parse_number("1,200.5")
    1200.5
    >>> parse_number("1,2")
    Traceback (most recent call last):
        ...
    selector.inputs.quantities.QuantityError: got "1,2"; allowed: a decimal point, and commas only between groups \
of three digits, as in 1,200.5

    Args: text. Returns: the number [-]. Raises: QuantityError.
    """
    shown = f'"{text}"'
    cleaned = text.strip().replace("−", "-")
    if not cleaned or _NUMBER.fullmatch(cleaned) is None or not re.search(r"\d", cleaned):
        raise QuantityError(shown, _COMMA_RULE if "," in cleaned else "a number")
    if re.match(r"[+-]?0\d*,", cleaned):
        raise QuantityError(shown, _COMMA_RULE)
    value = float(cleaned.replace(",", ""))
    if not math.isfinite(value):
        raise QuantityError(shown, "a finite number")
    return value


def format_quantity(
    value: float,
    dimension: str,
    display_units: Literal["IP", "SI"],
    *,
    currency: str | None = None,
    digits: int = 4,
) -> str:
    """Write an SI value with the unit that people are shown; `parse` reads it back.

    >>> format_quantity(3.7756, "airflow", "IP")
    '8,000 cfm'
    >>> format_quantity(23.889, "temperature", "IP")
    '75.0 degF'

    Args: value, SI (°C, fractions 0 to 1, currency/J); dimension, a key of `DIMENSIONS`; display_units, "IP" or
    "SI"; currency, the site's code, needed for money; digits, how many figures count (temperatures, shares and
    sound levels have one decimal, money none).
    Returns: text, number and unit. Raises: ValueError where money is shown without its currency.
    """
    number = display_value(value, dimension, display_units)
    unit = display_unit(dimension, display_units, currency=currency)
    if dimension in ("temperature", "temperature_difference", "sound", *SHARES):
        text = f"{number:,.1f}"
    elif dimension in ("money", "money_per_year"):
        text = f"{number:,.0f}"
    elif number == 0:
        text = "0"
    else:
        decimals = max(0, digits - 1 - math.floor(math.log10(abs(number))))
        text = f"{round(number, digits - 1 - math.floor(math.log10(abs(number)))):,.{decimals}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
    text = text.removeprefix("-") if not re.search(r"[1-9]", text) else text
    return f"{text} {unit}".strip()


def display_unit(dimension: str, display_units: Literal["IP", "SI"], *, currency: str | None = None) -> str:
    """Name the unit that people are shown.

    Args: as `format_quantity`. Returns: the unit, "" for a count.
    """
    entry = _dimension(dimension)
    unit = entry.ip_unit if display_units == "IP" else entry.si_unit
    if "currency" in entry.si:
        if currency is None:
            raise ValueError("money cannot be shown without its currency")
        return f"{currency}/{unit}" if unit else currency
    return unit


def display_value(value: float, dimension: str, display_units: Literal["IP", "SI"]) -> float:
    """Turn an SI value into the unit that people are shown.

    Args: value, SI; dimension, a key of `DIMENSIONS`; display_units, "IP" or "SI".
    Returns: the number in `display_unit`.
    """
    unit = display_unit(dimension, display_units, currency="USD")
    if not unit:
        return value
    conversion = conversion_of(unit, dimension)
    return (value - conversion.offset) / conversion.scale


@dataclass(frozen=True, slots=True)
class Heading:
    """A column's heading, read: its name, its dimension, and the way to SI."""

    name: str
    dimension: str | None  # None for words
    conversion: Conversion

    def to_si(self, value: float) -> float:
        """Turn one number of the column into SI.

        Args: value, as written under the heading. Returns: SI.
        """
        return value * self.conversion.scale + self.conversion.offset


def parse_heading(text: str, *, dimensions: Mapping[str, str | None], currency: str | None = None) -> Heading:
    """Read a column's heading with its unit in brackets.

    >>> heading = parse_heading("removal [lb/h]", dimensions={"removal": "moisture_rate"})
    >>> heading.name, round(heading.to_si(7.9366), 6)
    ('removal', 0.001)

    Args: text, as in the file; dimensions, for each known name its dimension, "count" for a bare number and
    None for words; currency, the code that money must be in (any where None).
    Returns: name, dimension and conversion. Raises: QuantityError.
    """
    match = re.fullmatch(r"\s*([^\[\]]+?)\s*(?:\[\s*([^\[\]]*?)\s*\])?\s*", text)
    shown = f'"{text.strip()}"'
    if match is None:
        raise QuantityError(shown, 'a name and its unit in brackets, as in "removal [lb/h]"')
    name = re.sub(r"[\s_-]+", " ", match[1]).lower()
    if name not in dimensions:
        close = get_close_matches(name, list(dimensions), n=3)
        raise QuantityError(shown, " or ".join(close) if close else ", ".join(dimensions))
    dimension = dimensions[name]
    unit = match[2] or ""
    if dimension is None or dimension == "count":
        if unit not in ("", "-", "1"):
            raise QuantityError(shown, f'"{name}" without a unit')
        return Heading(name, dimension, Conversion(1.0, 0.0))
    if dimension in SHARES and unit in ("", "-", "1", "fraction"):
        return Heading(name, dimension, Conversion(1.0, 0.0))
    if not unit:
        raise QuantityError(
            f"{shown} (no unit)", f"{name} [unit], {allowed_units(dimension, currency=currency)}"
        )
    return Heading(name, dimension, conversion_of(unit, dimension, currency=currency, shown=shown))


def _dimension(name: str) -> Dimension:
    return DIMENSIONS[name]


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    return "a table" if isinstance(value, dict) else "a list" if isinstance(value, list) else str(value)


def _bare(number: float, shown: str, entry: Dimension, allowed: str) -> float:
    if entry.name in ("energy_efficiency_ratio", "power_per_cooling"):  # the unit is in the key's name
        return number * conversion_of(entry.ip_unit, entry.name).scale
    if entry.name not in (*SHARES, "count"):
        raise QuantityError(f"{shown} (no unit)", allowed)
    if not math.isfinite(number):
        raise QuantityError(shown, allowed)
    return _in_range(number, shown, entry, allowed)


def _in_range(value: float, shown: str, entry: Dimension, allowed: str) -> float:
    if entry.name in ("fraction", "relative_humidity") and not 0.0 <= value <= 1.0:
        raise QuantityError(shown, allowed)
    if entry.name == "temperature" and value < -273.15:
        raise QuantityError(shown, f"{allowed}, above absolute zero")
    return value


def _split(text: str, entry: Dimension, shown: str, allowed: str) -> tuple[float, str]:
    """Part a text into its number and its unit; a leading currency sign or code moves to the unit."""
    text = re.sub(r"\s+", " ", text.strip().replace("−", "-"))
    prefix = ""
    money = re.match(r"([$€£¥]|[A-Z]{3}(?=[\s\d]))\s?", text)
    if money and "currency" in entry.si:
        prefix, text = money[1], text[money.end() :]
    if entry.name == "length" and (both := _FEET_INCHES.fullmatch(text)):
        return int(both[1]) + float(both[2]) / 12, "ft"
    if (part := _FRACTION.match(text)) and int(part[2]) < int(part[3]) and entry.name != "voltage":
        return int(part[1] or 0) + int(part[2]) / int(part[3]), text[part.end() :].strip()
    match = _NUMBER.match(text)
    end = match.end() if match else 0
    if end == 0 or not re.search(r"\d", text[:end]):
        raise QuantityError(shown, f"a number first, then its unit: {allowed}")
    rest = text[end:]
    if rest[:1] == "," or re.match(r"[+-]?0\d*,", text[:end]):
        raise QuantityError(f"{shown} (comma)", _COMMA_RULE)
    if re.match(r"\s*[.\d'’]\d|\.", rest) or re.match(r"\s*[-–]\s*\d|\s*/\s*\d", rest):
        raise QuantityError(shown, f"one number, then its unit: {allowed}")
    if prefix:
        rest = f"{prefix} {rest.strip()}"
    return parse_number(text[:end]), rest.strip()


def _factor(
    unit: str, dimension: str, got: str, allowed: str, currency: str | None
) -> tuple[float, str | None]:
    """Return the factor to SI and the currency named; refuse what is unknown or of another dimension."""
    entry = _dimension(dimension)
    found: dict[str, float] = {}
    for trade_order in (False, True):
        reader = UnitReader(unit, water=dimension in MOISTURE_DIMENSIONS, trade_order=trade_order)
        parts = reader.read()
        if parts is None:
            raise QuantityError(got, allowed)
        for code in reader.currencies:
            found[code] = 1.0
        scale = factor_to_si(tuple(parts), entry.si)
        if scale is None:
            continue
        if not found:
            return scale, None
        code = next(iter(found))
        return scale * (0.01 if code in CENTS else 1.0), _matching_code(code, currency, got, allowed)
    raise QuantityError(got, allowed)


def _matching_code(code: str, currency: str | None, got: str, allowed: str) -> str | None:
    """Check a code or sign against the site's currency; return the code where it is known."""
    if code in CENTS:
        if currency is not None and currency not in (*SIGNS["$"], "EUR"):
            raise QuantityError(got, f"{allowed}; the currency is {currency}")
        return currency
    if code in SIGNS:
        if currency is None:
            return None if code == "$" else SIGNS[code][0]
        if currency not in SIGNS[code]:
            raise QuantityError(got, f"{allowed}; the currency is {currency}")
        return currency
    if currency is not None and code != currency:
        raise QuantityError(got, f"{allowed}; the currency is {currency}")
    return code
