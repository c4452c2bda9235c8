"""The chart of a sweep: life-cycle cost of what is chosen at each value, and the points where the choice changes.

Money in the site's currency; values in the reader's units.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator

from selector.decide.sweep_results import DesignFigures, Sweep
from selector.inputs.quantities import display_value
from selector.report.charts_labels import BEHIND
from selector.report.charts_look import (
    BARK,
    COBALT,
    GUIDE,
    INK,
    LEFT,
    PAPER,
    SMALL,
    STRAW,
    TEXT_SIZE,
    WIDTH,
    Chart,
    shorten,
    write_head,
    write_key,
)
from selector.report.sweep_words import (
    Stretch,
    chosen_text,
    letters_of,
    none_text,
    stretches,
    title_of,
    values_of,
)
from selector.report.text import design_text, show_for

STYLES = {
    "chosen": {"color": COBALT, "linewidth": 1.8, "marker": "o", "markersize": 3.6},
    "staying": {
        "color": BARK, "linewidth": 1.3, "linestyle": (0, (6, 2, 1.5, 2)), "marker": "s", "markersize": 3.4,
        "markerfacecolor": PAPER,
    },
    "existing": {
        "color": STRAW, "linewidth": 1.3, "linestyle": (0, (2, 1.6)), "marker": "^", "markersize": 4.2,
        "markerfacecolor": PAPER,
    },
}  # fmt: skip
NAMES = {
    "chosen": "chosen design",
    "staying": "today's design, where it keeps every limit",
    "existing": "existing system alone, where it does",
}
CURSOR = "cursor"  # the ids of the marks that a slider shows one of start so
_HIGH, _LINE = 4.1, 0.165  # inches


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the chart: values of what is varied, and the cost there, not a number where there is none."""

    name: str
    at: tuple[float, ...]  # SI
    costs: tuple[float, ...]  # currency


def lines_of(sweep: Sweep) -> tuple[Line, ...]:
    """Costs along the range: at each step, and of what is chosen on both sides of each switch-over point as well.

    Args: sweep, of one variation. Returns: lines; the chosen design's first, those without any cost left out.
    """

    def cost(one: DesignFigures | None) -> float:
        return one.life_cycle if one is not None and one.feasible else math.nan

    steps = tuple(step.values[0] for step in sweep.steps)
    points = {step.values[0]: cost(step.best) for step in sweep.steps}
    for switch in sweep.switches:
        for side in (switch.low, switch.high):
            points[side.value] = math.nan if side.cost is None else side.cost
    every = tuple(sorted(points))
    found = [Line("chosen", every, tuple(points[value] for value in every))]
    if sweep.now.install:
        found.append(Line("staying", steps, tuple(cost(step.staying) for step in sweep.steps)))
    found.append(Line("existing", steps, tuple(cost(step.existing) for step in sweep.steps)))
    return tuple(one for one in found if not all(math.isnan(value) for value in one.costs))


def sweep_chart(*, sweep: Sweep, name: str = "sweep") -> Chart:
    """Draw a sweep of one variation.

    Args: sweep, with a step at least; name, that the chart's ids start with.
    Returns: `Chart`; for each step it has a mark that is not seen unless a page shows it.
    """
    variation = sweep.variations[0]
    code = sweep.site.costs.currency
    title = f"Life-cycle cost as it changes: {title_of(variation)}"
    under = "what is chosen at each value, and where the choice changes"
    parts, lines = stretches(sweep), lines_of(sweep)
    letters = letters_of(sweep)
    legend = [(letters[install], design_text(install)) for install in letters if install]
    high = _HIGH + _LINE * (len(lines) + len(legend) + 1)

    def paint(figure: Figure) -> None:
        write_head(figure=figure, title=title, under=under)
        axes = figure.add_axes((0.125, 1.0 - (_HIGH - 0.45) / high, 0.855, (_HIGH - 1.1) / high))
        _paint(axes, sweep, lines, parts, code)
        y = 1.0 - (_HIGH + 0.1) / high
        for line in lines:
            write_key(figure=figure, x=LEFT, y=y, entries=[(STYLES[line.name], NAMES[line.name])])
            y -= _LINE / high
        for letter, what in legend:
            figure.text(LEFT, y, letter, va="center", fontweight="bold")
            shorten(text=figure.text(LEFT + 0.05, y, what, va="center"), most=0.9)
            y -= _LINE / high

    return Chart(name, title, _words(sweep, parts, lines, title), WIDTH, high, paint)


def _place(sweep: Sweep, value: float) -> float:
    """Where a value stands on the axis: in the reader's unit, or its place among files."""
    variation = sweep.variations[0]
    if variation.files:
        return value
    return display_value(value, variation.dimension, sweep.site.display_units)


def _paint(axes: Axes, sweep: Sweep, lines: tuple[Line, ...], parts: tuple[Stretch, ...], code: str) -> None:
    variation = sweep.variations[0]
    places = [_place(sweep, step.values[0]) for step in sweep.steps]
    steps = {step.values[0] for step in sweep.steps}
    for line in lines:
        marks = [at for at, value in enumerate(line.at) if value in steps]
        across = [_place(sweep, value) for value in line.at]
        style: dict[str, Any] = {**STYLES[line.name], "markevery": marks}
        axes.plot(across, line.costs, gid=f"line-{line.name}", zorder=4, **style)
    wide = (places[-1] - places[0]) or 1.0
    axes.set_xlim(places[0] - 0.02 * wide, places[-1] + 0.02 * wide)
    known = [value for line in lines for value in line.costs if not math.isnan(value)] or [0.0, 1.0]
    low, top = min(known), max(known)
    room = (top - low) or abs(top) or 1.0
    axes.set_ylim(low - 0.1 * room, top + 0.3 * room)
    for at, place in enumerate(places):
        axes.axvline(place, color=INK, linewidth=5.0, alpha=0.16, gid=f"{CURSOR}-{at}", zorder=2)
    _points(axes, sweep, wide)
    _letters(axes, sweep, parts, wide)
    axes.grid(axis="y", color=GUIDE, linewidth=0.4)
    axes.set_axisbelow(True)
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
    axes.set_ylabel(f"life-cycle cost [{code}]")
    if variation.files:
        axes.set_xticks(np.arange(len(variation.files)), [f"{at + 1}" for at in range(len(variation.files))])
        axes.set_xlabel("place of the file")
    else:
        unit = values_of(site=sweep.site, variation=variation, resolution=None).unit
        axes.xaxis.set_major_locator(MaxNLocator(8))
        axes.set_xlabel(f"{title_of(variation)} [{unit}]" if unit else title_of(variation))
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _points(axes: Axes, sweep: Sweep, wide: float) -> None:
    """Switch-over points, with their values where there is room; all of them stand in the table below."""
    values = values_of(site=sweep.site, variation=sweep.variations[0], resolution=sweep.resolution)
    written = -math.inf
    for at, switch in enumerate(sweep.switches, start=1):
        place = _place(sweep, switch.value)
        axes.axvline(place, color=INK, linewidth=0.9, linestyle=(0, (3, 2)), zorder=3, gid=f"switch-{at}")
        if place - written < 0.03 * wide:
            continue
        written = place
        axes.annotate(
            values(switch.value), (place, 0.015), (2.5, 0.0), xycoords=axes.get_xaxis_transform(),
            textcoords="offset points", fontsize=SMALL, ha="left", va="bottom", rotation=90, bbox=BEHIND, zorder=5,
        )  # fmt: skip


def _letters(axes: Axes, sweep: Sweep, parts: tuple[Stretch, ...], wide: float) -> None:
    """A letter over each stretch; lower where it would meet the one before."""
    letters = letters_of(sweep)
    end, level = -math.inf, 0
    for one in parts:
        word = none_text(sweep=sweep) if one.install is None else letters[one.install]
        place = 0.5 * (_place(sweep, one.low) + _place(sweep, one.high))
        half = (0.012 + 0.008 * len(word)) * wide
        first, last = axes.get_xlim()
        place = min(max(place, first + half), last - half)
        level = (level + 1) % 4 if place - half < end else 0
        end = place + half
        axes.annotate(
            word, (place, 0.975 - 0.055 * level), xycoords=axes.get_xaxis_transform(), ha="center", va="top",
            fontweight="bold", bbox=BEHIND, fontsize=TEXT_SIZE, zorder=6,
        )  # fmt: skip


def _words(sweep: Sweep, parts: tuple[Stretch, ...], lines: tuple[Line, ...], title: str) -> str:
    """The chart in words."""
    values = values_of(site=sweep.site, variation=sweep.variations[0], resolution=sweep.resolution)
    show = show_for(sweep.site)
    said = [f"{title}."]
    for one in parts:
        what = chosen_text(sweep=sweep, install=one.install)
        said.append(f"From {values(one.low)} to {values(one.high)}: {what}.")
    for line in lines:
        costs = ", ".join(
            f"{values(at)} {show(value, 'money')}"
            for at, value in zip(line.at, line.costs, strict=True)
            if not math.isnan(value)
        )
        said.append(f"Life-cycle cost, {NAMES[line.name]}: {costs}.")
    return " ".join(said)
