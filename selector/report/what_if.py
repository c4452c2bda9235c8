"""What would change the answer, for the screen and for JSON."""

from __future__ import annotations

from collections.abc import Mapping
from string import ascii_uppercase
from typing import Any

from rich.cells import cell_len

from selector.decide.contest import Design
from selector.decide.what_would_change import AssumptionEffect, Tried, WhatWouldChange
from selector.inputs.site import Assumption
from selector.report.assumption_units import dimension_by, price_dimension
from selector.report.json_report import install_json
from selector.report.terminal import Line, Screen, Table
from selector.report.text import WIDTH, Show, clean, design_text, fit

LEAST = 18  # columns that a key has at least
GAP = 2  # columns between two of a table


def what_if_screen(*, what_if: WhatWouldChange, show: Show) -> Screen:
    """Write every uncertain value that was tried with its low and high, those that change the answer first.

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
    if what_if.effects:
        letters = _letters(what_if)
        screen += [_table(what_if, letters, show), Line(_legend(letters), "dim")]
    screen += [
        Line(f"{clean(one.assumption.key)}: {one.assumption.find}")
        for one in what_if.effects
        if one.changes and one.assumption.find
    ]
    if what_if.not_tried:
        words = ", ".join(f"{clean(one.key)} = {one.value}" for one in what_if.not_tried)
        screen.append(Line(f"Not tried, as they have no low and high: {words}"))
    return tuple(screen)


def _letters(what_if: WhatWouldChange) -> dict[Design, str]:
    """Give every design that takes the chosen one's place somewhere a letter."""
    ends = [end for one in what_if.effects for end in (one.low, one.high) if end is not None and end.changes]
    designs = dict.fromkeys(end.winner for end in ends if end.winner is not None)
    return {design: ascii_uppercase[place % 26] * (1 + place // 26) for place, design in enumerate(designs)}


def _legend(letters: Mapping[Design, str]) -> str:
    others = "".join(f"; {letter} {design_text(design)}" for design, letter in letters.items())
    return (
        "= the same answer; x the chosen design no longer holds; - not tried: the value used, or the site would "
        f"contradict itself{others}"
    )


def _table(what_if: WhatWouldChange, letters: Mapping[Design, str], show: Show) -> Table:
    """A row for each uncertain value; how far it can move only where that was sought."""
    sought = any(one.holds_down_to is not None or one.holds_up_to is not None for one in what_if.effects)
    rows: list[tuple[str, ...]] = []
    for one in what_if.effects:
        name = one.assumption
        ends = [_end(name, end, letters, show) for end in (one.low, one.high)]
        rows.append((_text(name, name.value, show), *ends, *([_reach(one, show)] if sought else [])))
    heads = ("used", "low", "high", *(["answer stays"] if sought else []))
    widths = [max(cell_len(row[place]) for row in (heads, *rows)) for place in range(len(heads))]
    room = max(LEAST, WIDTH - sum(width + GAP for width in widths))
    keys = [_key(one.assumption.key, room) for one in what_if.effects]
    return Table(("uncertain value", *heads), tuple((key, *row) for key, row in zip(keys, rows, strict=True)))


def _key(key: str, room: int) -> str:
    """As much of a key's end as there is room for."""
    parts = key.split(".")
    fitting = [text for count in (2, 1) if cell_len(text := clean(".".join(parts[-count:]))) <= room]
    return fitting[0] if fitting else fit(clean(parts[-1]), room)


def _end(name: Assumption, tried: Tried | None, letters: Mapping[Design, str], show: Show) -> str:
    if tried is None:
        return "-"
    mark = "="
    if tried.changes:
        mark = "x" if tried.winner is None else letters[tried.winner]
    return f"{_number(name, tried.value, show)} {mark}"


def _reach(one: AssumptionEffect, show: Show) -> str:
    """How far a value can move before the answer changes."""
    name = one.assumption
    ends = [
        _number(name, name.value if reach is None else reach, show)
        for reach in (one.holds_down_to, one.holds_up_to)
    ]
    return f"{ends[0]} to {ends[1]}"


def _number(name: Assumption, value: float | str, show: Show) -> str:
    """A value without the unit, which stands beside the value used."""
    return _text(name, value, show).partition(" ")[0]


def _text(one: Assumption, value: float | str, show: Show) -> str:
    """A value of an assumption in the reader's units."""
    if isinstance(value, str):
        return value
    if one.unit == f"{show.currency}/J":
        return show(value, price_dimension(one.key))
    if one.unit == show.currency:
        return show(value, "money")
    dimension = dimension_by(key=one.key, unit=one.unit)
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
