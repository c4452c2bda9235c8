"""Figures of schedules and sheets: one unit for each kind of figure, named in the heading, and its decimals.

Screens write a figure with its unit; tables and spreadsheets need the unit in the heading and the bare number below.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from selector.inputs.quantities import conversion_of

Units = Literal["IP", "SI"]
Cell = str | float
MARKS = "marks"  # the heading of the last column of every CSV
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True, slots=True)
class Figure:
    """One kind of figure."""

    dimension: str
    ip: str  # unit; "" for a bare number
    si: str
    ip_decimals: int
    si_decimals: int
    digits: int = 0  # that count in a written figure; 0: as many as its decimals give


TEMPERATURE = Figure("temperature", "degF", "degC", 1, 1)
DIFFERENCE = Figure("temperature_difference", "degF", "K", 1, 1)
SHARE = Figure("fraction", "%", "%", 1, 1)
AIRFLOW = Figure("airflow", "cfm", "m3/h", 0, 0)
PRESSURE = Figure("pressure", "in. w.g.", "Pa", 2, 0)
BAROMETER = Figure("pressure", "psia", "kPa", 2, 1)
REMOVAL = Figure("moisture_rate", "lb/h", "kg/h", 2, 2, 3)
CONDENSATE = Figure("moisture_rate", "mL/min", "mL/min", 1, 1)
POWER = Figure("electric_power", "kW", "kW", 2, 2)
GAS = Figure("power", "MBH", "kW", 1, 1)
SPECIFIC = Figure("specific_removal", "lb/kWh", "kg/kWh", 2, 2)
CURRENT = Figure("current", "A", "A", 1, 1)
RATING = Figure("current", "A", "A", 0, 0)  # of a breaker
VOLTAGE = Figure("voltage", "V", "V", 0, 0)
MASS = Figure("mass", "lb", "kg", 0, 0)
SIZE = Figure("length", "in", "mm", 0, 0)
SOUND = Figure("sound", "dBA", "dBA", 0, 0)
COUNT = Figure("count", "", "", 0, 0)


def unit_of_figure(figure: Figure, units: Units) -> str:
    """Name the unit of a figure.

    Args: figure; units. Returns: the unit, "" for a bare number.
    """
    return figure.ip if units == "IP" else figure.si


def heading(name: str, figure: Figure | None, units: Units) -> str:
    """Write a heading.

    >>> heading("airflow", AIRFLOW, "IP"), heading("tag", None, "IP")
    ('airflow [cfm]', 'tag')

    Args: name; figure, None for words; units. Returns: name, and the unit in brackets.
    """
    unit = unit_of_figure(figure, units) if figure is not None else ""
    return f"{name} [{unit}]" if unit else name


def number(value: float, figure: Figure, units: Units) -> float:
    """Turn an SI value into the figure's unit.

    >>> round(number(0.5, AIRFLOW, "SI"))
    1800

    Args: value, SI; figure; units. Returns: number in `unit_of_figure`.
    """
    unit = unit_of_figure(figure, units)
    if not unit:
        return float(value)
    conversion = conversion_of(unit, figure.dimension)
    return float((value - conversion.offset) / conversion.scale)


def difference(value: float, figure: Figure, units: Units) -> float:
    """Turn an SI difference into the figure's unit: as `number`, without a shift of zero.

    Args: value, SI; figure; units. Returns: number in `unit_of_figure`.
    """
    unit = unit_of_figure(figure, units)
    return float(value / conversion_of(unit, figure.dimension).scale) if unit else float(value)


def decimals(figure: Figure, units: Units) -> int:
    """Decimals with which a figure is written.

    Args: figure; units. Returns: number of decimals.
    """
    return figure.ip_decimals if units == "IP" else figure.si_decimals


def text(value: float, figure: Figure, units: Units) -> str:
    """Write an SI value as a bare number.

    >>> text(23.889, TEMPERATURE, "IP"), text(0.0025, REMOVAL, "IP"), text(0.0025, REMOVAL, "SI")
    ('75.0', '19.8', '9.00')

    Args: value, SI; figure; units. Returns: text.
    """
    shown = number(value, figure, units)
    places = decimals(figure, units)
    if figure.digits and shown:
        places = max(0, figure.digits - 1 - math.floor(math.log10(abs(shown))))
    return plain(shown, places)


def plain(value: float, places: int) -> str:
    """Write a number with its decimals, never as -0.

    Args: value [in the unit shown]; places, number of decimals. Returns: text.
    """
    written = f"{value:,.{places}f}"
    return written.removeprefix("-") if not any(digit in written for digit in "123456789") else written


def plus_minus(value: float, width: float, figure: Figure, units: Units) -> str:
    """Write an expected reading and its tolerance as bare numbers.

    >>> plus_minus(23.889, 0.5, TEMPERATURE, "IP"), plus_minus(0.005, 0.0005, REMOVAL, "SI")
    ('75.0 ±0.9', '18.0 ±1.8')

    Args: value and width, SI; figure; units. Returns: text.
    """
    shown = number(value, figure, units)
    places = decimals(figure, units)
    if figure.dimension != "temperature":  # no more figures than a reading has
        places = max(0, places - max(0, len(f"{abs(shown):.0f}") - 1 - (places < 2)))
    return f"{plain(shown, places)} ±{plain(difference(width, figure, units), places)}"


def csv_text(rows: Sequence[Sequence[Cell]]) -> str:
    """Write rows as CSV that a spreadsheet opens: numbers to six figures, no text that it would take as a formula.

    Args: rows, the headings first. Returns: text, lines ended by a line feed.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for row in rows:
        writer.writerow([harmless(cell) if isinstance(cell, str) else f"{cell:.6g}" for cell in row])
    return out.getvalue()


def marked(rows: Sequence[Sequence[Cell]], marks: Sequence[str]) -> tuple[tuple[Cell, ...], ...]:
    """Add what has to be known of a table's numbers as its last column, so that rows that are cut out keep it.

    >>> marked((("tag",), ("DH-1",)), ("first estimate", "synthetic weather"))
    (('tag', 'marks'), ('DH-1', 'first estimate; synthetic weather'))

    Args: rows, the headings first; marks. Returns: rows.
    """
    heads, *rest = rows
    words = "; ".join(marks)
    return ((*heads, MARKS), *((*row, words) for row in rest))


def harmless(cell: str) -> str:
    """Keep a spreadsheet from taking a text as a formula.

    >>> harmless("=1+1"), harmless("DH-1")
    ("'=1+1", 'DH-1')

    Args: cell. Returns: the text, behind an apostrophe where it starts like a formula.
    """
    return f"'{cell}" if cell.startswith(FORMULA_STARTS) else cell
