"""What would change the answer, for the screen and for JSON."""

from __future__ import annotations

from typing import Any

from selector.decide.what_would_change import AssumptionEffect, Tried, WhatWouldChange
from selector.inputs.site import Assumption
from selector.report.assumption_units import DIMENSIONS
from selector.report.json_report import install_json
from selector.report.terminal import Line, Screen, Table
from selector.report.text import Show, clean, design_text, fit

KEY = 32  # columns that a key may take


def what_if_screen(*, what_if: WhatWouldChange, show: Show) -> Screen:
    """Write every uncertain value that was tried, those that change the answer first.

    Args: what_if; show. Returns: lines and tables.
    """
    names = ", ".join(design_text(one) for one in what_if.compared)
    screen: list[Line | Table] = [
        Line(""),
        Line(
            "What would change the answer: each uncertain value at its low and its high, one at a time",
            "bold",
        ),
        Line(
            f"Compared at each: {names}. Other designs were not; one of them could win where none of these does."
        ),
    ]
    changing = [one for one in what_if.effects if one.changes]
    if changing:
        rows = []
        for one in changing:
            name = one.assumption
            rows.append(
                (
                    fit(clean(".".join(name.key.split(".")[-2:])), KEY),
                    _text(name, name.value, show),
                    _end(one, one.low, show),
                    _end(one, one.high, show),
                )
            )
        screen.append(Table(("changes it", "used", "low", "high"), tuple(rows)))
        screen += [Line(text) for one in changing for text in _reach(one, show)]
        screen += [
            Line(f"{clean(one.assumption.key)}: {one.assumption.find}")
            for one in changing
            if one.assumption.find
        ]
    others = [clean(one.assumption.key) for one in what_if.effects if not one.changes]
    if others:
        screen.append(Line(f"Does not change it, low or high: {', '.join(others)}"))
    if what_if.not_tried:
        words = ", ".join(f"{clean(one.key)} = {one.value}" for one in what_if.not_tried)
        screen.append(Line(f"Not tried, as they have no low and high: {words}"))
    return tuple(screen)


def _end(one: AssumptionEffect, tried: Tried | None, show: Show) -> str:
    if tried is None:
        return "-"
    value = _text(one.assumption, tried.value, show)
    if not tried.changes:
        return f"{value}: same"
    return f"{value}: {'no longer holds' if tried.winner is None else design_text(tried.winner)}"


def _reach(one: AssumptionEffect, show: Show) -> list[str]:
    """How far a value can move before the answer changes, where that was sought."""
    parts = []
    for end, reach, word in ((one.low, one.holds_down_to, "down"), (one.high, one.holds_up_to, "up")):
        if end is not None and end.changes and reach is not None:
            parts.append(f"{word} to {_text(one.assumption, reach, show)}")
    if not parts:
        return []
    return [f"{clean(one.assumption.key)}: the answer stays {' and '.join(parts)}"]


def _text(one: Assumption, value: float | str, show: Show) -> str:
    """A value of an assumption in the reader's units."""
    if isinstance(value, str):
        return value
    if one.unit == f"{show.currency}/J":
        return show(value, "energy_price")
    if one.unit == show.currency:
        return show(value, "money")
    dimension = DIMENSIONS.get(one.unit)
    if dimension is None:
        return f"{value:,.4g} {one.unit}".strip()
    return show(value, dimension)


def what_if_json(*, what_if: WhatWouldChange) -> dict[str, Any]:
    """Write what would change the answer.

    Args: what_if. Returns: plain values, SI.
    """
    return {
        "compared": [install_json(one) for one in what_if.compared],
        "could_change": [one.key for one in what_if.could_change],
        "assumptions": [
            {
                "key": one.assumption.key,
                "value": one.assumption.value,
                "unit": one.assumption.unit,
                "origin": one.assumption.origin,
                "changes": one.changes,
                "low": _tried(one.low),
                "high": _tried(one.high),
                "holds_down_to": one.holds_down_to,
                "holds_up_to": one.holds_up_to,
            }
            for one in what_if.effects
        ],
        "not_tried": [one.key for one in what_if.not_tried],
        "contests": what_if.contests,
    }


def _tried(one: Tried | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {
        "value": one.value,
        "changes": one.changes,
        "install": None if one.winner is None else install_json(one.winner),
        "life_cycle": one.cost,
    }
