"""The chart of a sweep: life-cycle cost of what is chosen at each value, and the points where the choice changes.

Money in the site's currency; values in the reader's units.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

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
from selector.report.sweep_words import NOT_POSSIBLE, Stretch, letters_of, stretches, title_of, values_of
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
    """One line of the chart: a cost at each step, not a number where there is none."""

    name: str
    values: tuple[float, ...]  # currency


def lines_of(sweep: Sweep) -> tuple[Line, ...]:
    """Costs at each step.

    Args: sweep, of one variation. Returns: lines; the chosen design's first, those without any cost left out.
    """

    def cost(one: DesignFigures | None) -> float:
        return one.life_cycle if one is not None and one.feasible else math.nan

    same = sweep.now.install == ()
    found = [
        Line("chosen", tuple(cost(step.best) for step in sweep.steps)),
        Line("staying", () if same else tuple(cost(step.staying) for step in sweep.steps)),
        Line("existing", tuple(cost(step.existing) for step in sweep.steps)),
    ]
    return tuple(one for one in found if not all(math.isnan(value) for value in one.values))


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


def _places(sweep: Sweep) -> list[float]:
    """Where each step stands on the axis: its value in the reader's unit, or its place among files."""
    variation = sweep.variations[0]
    if variation.files:
        return [step.values[0] for step in sweep.steps]
    units = sweep.site.display_units
    return [display_value(step.values[0], variation.dimension, units) for step in sweep.steps]


def _paint(axes: Axes, sweep: Sweep, lines: tuple[Line, ...], parts: tuple[Stretch, ...], code: str) -> None:
    places = _places(sweep)
    variation, units = sweep.variations[0], sweep.site.display_units
    values = values_of(site=sweep.site, variation=variation, resolution=sweep.resolution)
    for line in lines:
        axes.plot(places, line.values, gid=f"line-{line.name}", zorder=4, **STYLES[line.name])  # type: ignore[arg-type]  # styles of lines, by their own names
    wide = (places[-1] - places[0]) or 1.0
    axes.set_xlim(places[0] - 0.02 * wide, places[-1] + 0.02 * wide)
    known = [value for line in lines for value in line.values if not math.isnan(value)] or [0.0, 1.0]
    low, top = min(known), max(known)
    room = (top - low) or abs(top) or 1.0
    axes.set_ylim(low - 0.08 * room, top + 0.2 * room)
    for at, place in enumerate(places):
        axes.axvline(place, color=INK, linewidth=5.0, alpha=0.16, gid=f"{CURSOR}-{at}", zorder=2)
    for at, switch in enumerate(sweep.switches, start=1):
        place = display_value(switch.value, variation.dimension, units)
        axes.axvline(place, color=INK, linewidth=0.9, linestyle=(0, (3, 2)), zorder=3, gid=f"switch-{at}")
        axes.annotate(
            values(switch.value), (place, 0.015), (2.5, 0.0), xycoords=axes.get_xaxis_transform(),
            textcoords="offset points", fontsize=SMALL, ha="left", va="bottom", rotation=90, bbox=BEHIND,
        )  # fmt: skip
    letters = letters_of(sweep)
    for one in parts:
        ends = [one.low, one.high]
        if not variation.files:
            ends = [display_value(end, variation.dimension, units) for end in ends]
        word = NOT_POSSIBLE if one.install is None else letters[one.install]
        axes.annotate(
            word, (0.5 * (ends[0] + ends[1]), 0.965), xycoords=axes.get_xaxis_transform(), ha="center", va="top",
            fontweight="bold", bbox=BEHIND, fontsize=TEXT_SIZE, zorder=6,
        )  # fmt: skip
    axes.grid(axis="y", color=GUIDE, linewidth=0.4)
    axes.set_axisbelow(True)
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
    axes.set_ylabel(f"life-cycle cost [{code}]")
    if variation.files:
        axes.set_xticks(np.arange(len(variation.files)), [f"{at + 1}" for at in range(len(variation.files))])
        axes.set_xlabel("place of the file")
    else:
        axes.xaxis.set_major_locator(MaxNLocator(8))
        axes.set_xlabel(f"{title_of(variation)} [{values.unit}]" if values.unit else title_of(variation))
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def _words(sweep: Sweep, parts: tuple[Stretch, ...], lines: tuple[Line, ...], title: str) -> str:
    """The chart in words."""
    values = values_of(site=sweep.site, variation=sweep.variations[0], resolution=sweep.resolution)
    show = show_for(sweep.site)
    said = [f"{title}."]
    for one in parts:
        what = NOT_POSSIBLE if one.install is None else design_text(one.install)
        said.append(f"From {values(one.low)} to {values(one.high)}: {what}.")
    for line in lines:
        costs = ", ".join(
            f"{values(step.values[0])} {show(value, 'money')}"
            for step, value in zip(sweep.steps, line.values, strict=True)
            if not math.isnan(value)
        )
        said.append(f"Life-cycle cost of the {NAMES[line.name]}: {costs}.")
    return " ".join(said)
