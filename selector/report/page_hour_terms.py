"""How a worked hour is written: symbols, the digits that they are printed with, and equations with numbers put in.

All of it is in SI: °C, kg/kg, kg/s of dry air, kJ/kg, kW, Pa, kg. What is printed has enough digits that a reader who
starts from the printed numbers gets the printed result.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.decide.evaluate import Evaluation, LimitResult
from selector.inputs.site import FloatArray
from selector.physics.prepare import Prepared
from selector.report.charts_states import DesignAir, State
from selector.report.page_parts import Step, Term

# decimals by unit
PLACES = {
    "°C": 4,
    "K": 4,
    "kg/kg": 7,
    "kg/s": 6,
    "m³/s": 6,
    "m³/kg": 6,
    "kJ/kg": 4,
    "kW": 4,
    "W/K": 4,
    "kWh": 4,
    "Pa": 2,
    "kg": 4,
    "kJ/K": 3,
    "h": 6,
    "1/K": 6,
    "kW/K": 6,
    "-": 6,
}

STATES = "ASHRAE Handbook Fundamentals 2017, ch. 1"
_SYMBOL = re.compile(r"[A-Za-z]+(?:_[A-Za-z0-9]+)?")
_FUNCTIONS = {"exp", "ln", "max", "min", "p_sat"}


@dataclass(frozen=True, slots=True, eq=False)
class Hour:
    """One hour of a simulated design, with what its steps need."""

    prepared: Prepared
    evaluation: Evaluation
    row: int
    limit: LimitResult
    air: DesignAir

    @property
    def site_hour(self) -> np.void:
        """Return the hour's record of outdoor air, schedules and set points."""
        record: np.void = self.prepared.hours[self.row]
        return record

    @property
    def response(self) -> FloatArray:
        """Return what the thermostat made of the hour."""
        return np.asarray(self.evaluation.year.response[self.row])

    def state(self, *roles: str) -> State | None:
        """Find a state of the hour's air.

        Args: roles, of which the first that a state has is taken. Returns: the state, None where there is none.
        """
        for role in roles:
            for one in self.air.states:
                if role in one.roles and not one.rest:
                    return one
        return None


def running_of(hour: Hour) -> list[tuple[int, float]]:
    """Groups of units that run in an hour.

    Args: hour. Returns: place among the year's groups and unit-hours of each.
    """
    groups = hour.evaluation.year.groups
    return [
        (at, float(one.running[hour.row])) for at, one in enumerate(groups) if one.running[hour.row] > 0.0
    ]


def term(symbol: str, what: str, value: float, unit: str, *, places: int | None = None) -> Term:
    """Print a quantity.

    Args: symbol; what it is; value in the unit; unit; places behind the point, those of the unit unless given.
    Returns: `Term`.
    """
    text = f"{float(value):.{PLACES[unit] if places is None else places}f}"
    if not any(digit in text for digit in "123456789"):
        text = text.removeprefix("-")
    return Term(symbol, what, text, unit, float(value))


def step(
    name: str,
    title: str,
    given: Sequence[Term],
    equations: Sequence[str],
    result: Sequence[Term],
    source: str,
    *,
    note: str = "",
) -> Step:
    """Put a step together.

    Args: name, that a recomputation goes by; title; given; equations, in symbols; result; source; note.
    Returns: `Step`, each equation followed by itself with the printed numbers in it.
    """
    known = {one.symbol: one.text for one in (*given, *result)}
    lines = tuple((equation, _with_numbers(equation, known)) for equation in equations)
    return Step(name, title, tuple(given), lines, tuple(result), source, note)


def _with_numbers(equation: str, known: dict[str, str]) -> str:
    """An equation's right side with printed numbers for its symbols; "" where a symbol has none."""
    _, _, right = equation.partition(" = ")
    missing = [one for one in _SYMBOL.findall(right) if one not in known and one not in _FUNCTIONS]
    if missing or not right:
        return ""

    def number(found: re.Match[str]) -> str:
        text = known.get(found[0], found[0])
        return f"({text})" if text.startswith("-") else text

    return _SYMBOL.sub(number, right)
