"""The moisture balance of a design by month and by source: what brings water in stands above the line, what takes it
out below it, and the two are equal.

Units inside: kg.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.ticker import FuncFormatter, MaxNLocator

from selector.decide.evaluate import Evaluation
from selector.inputs.site import FloatArray
from selector.physics.prepare import Prepared
from selector.report.charts_look import (
    BARK,
    COBALT,
    GUIDE,
    INK,
    LAGOON,
    LEFT,
    LILAC,
    PAPER,
    PETROL,
    QUIET,
    STONE,
    STRAW,
    TEXT_SIZE,
    WIDTH,
    Chart,
    shorten,
    unit_text,
    write_head,
)
from selector.report.figures import Figure as Quantity
from selector.report.figures import Units, number, text
from selector.report.moisture_months import MoistureRow, moisture_rows
from selector.report.text import MONTHS, clean, design_text

MOISTURE = Quantity("moisture", "lb", "kg", 0, 0)
# what is known by name; gains have names of their own and take the others in turn
KNOWN: dict[str, tuple[str, str]] = {
    "ventilation": (STRAW, "//////"),
    "infiltration": (STONE, "+++++"),
    "cooling coil": (PETROL, ""),
    "dehumidifiers": (COBALT, "\\\\\\\\\\\\"),
    "stored": (LAGOON, "||||||"),
}
GAINS = ((LILAC, ""), (BARK, "xxxxx"), (INK, ""), (LILAC, "-----"), (BARK, ""), (INK, "/////"))
_PLOT, _ROW = 3.0, 0.175  # inches


def moisture_chart(*, prepared: Prepared, evaluation: Evaluation, name: str = "moisture") -> Chart:
    """Draw the moisture balance by month and source.

    Args: prepared; evaluation, of the design; name, that the chart's ids start with.
    Returns: `Chart`.
    """
    units = prepared.site.display_units
    rows = moisture_rows(prepared=prepared, evaluation=evaluation)
    what = design_text(evaluation.install) if evaluation.install else "existing system alone"
    title = f"Moisture balance by month: {what}"
    under = "into the space above the line, out of it below; each month the two are equal"
    lines = (len(rows) + 1) // 2
    high = 0.5 + _PLOT + _ROW * (lines + 2.2)

    def paint(figure: Figure) -> None:
        write_head(figure=figure, title=title, under=under)
        axes = figure.add_axes((0.115, 1.0 - (0.5 + _PLOT - 0.1) / high, 0.87, (_PLOT - 0.15) / high))
        _bars(axes, rows, units)
        _legend(figure, rows, units, 1.0 - (0.5 + _PLOT + 0.25) / high, _ROW / high)

    return Chart(name, title, f"{title}; {under}. " + _words(rows, units), WIDTH, high, paint)


def _styles(rows: Sequence[MoistureRow]) -> list[dict[str, Any]]:
    """Colour and hatching of each source."""
    found: list[dict[str, Any]] = []
    gains = 0
    for row in rows:
        if row.name in KNOWN:
            color, hatch = KNOWN[row.name]
        else:
            color, hatch = GAINS[gains % len(GAINS)]
            gains += 1
        found.append({"facecolor": color, "hatch": hatch, "edgecolor": PAPER, "linewidth": 0.6})
    return found


def _shown(values: Sequence[float], units: Units) -> FloatArray:
    return np.array([number(value, MOISTURE, units) for value in values])


def _bars(axes: Axes, rows: Sequence[MoistureRow], units: Units) -> None:
    """Stacked bars, month by month, each sign on its own side."""
    above, below = np.zeros(12), np.zeros(12)
    places = np.arange(12)
    for at, (row, style) in enumerate(zip(rows, _styles(rows), strict=True)):
        values = _shown(row.months, units)
        bottom = np.where(values >= 0.0, above, below)
        bars = axes.bar(places, values, width=0.74, bottom=bottom, zorder=3, **style)
        for month, bar in enumerate(bars):
            bar.set_gid(f"source-{at + 1}-month-{month + 1}")
        above += np.maximum(values, 0.0)
        below += np.minimum(values, 0.0)
    axes.axhline(0.0, color=INK, linewidth=0.9, zorder=4)
    axes.set_xlim(-0.6, 11.6)
    axes.set_ylim(1.08 * min(below.min(), -1e-9), 1.08 * max(above.max(), 1e-9))
    axes.set_xticks(places, MONTHS)
    axes.tick_params(axis="x", length=0.0)
    axes.yaxis.set_major_locator(MaxNLocator(7))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{abs(value):,.0f}"))
    axes.set_ylabel(f"out  ←  moisture [{unit_text(MOISTURE, units)} a month]  →  in")
    axes.grid(axis="y", color=GUIDE, linewidth=0.4)
    axes.set_axisbelow(True)


def _legend(figure: Figure, rows: Sequence[MoistureRow], units: Units, top: float, step: float) -> None:
    """Sources with their totals, in two columns."""
    unit = unit_text(MOISTURE, units)
    figure.text(
        LEFT,
        top,
        f"source, and its total in the year [{unit}]",
        va="center",
        color=QUIET,
        fontsize=TEXT_SIZE - 0.5,
    )
    lines = (len(rows) + 1) // 2
    for at, (row, style) in enumerate(zip(rows, _styles(rows), strict=True)):
        x, y = LEFT + 0.5 * (at // lines), top - (at % lines + 1.05) * step
        figure.add_artist(
            Rectangle((x, y - 0.36 * step), 0.045, 0.72 * step, transform=figure.transFigure, **style)
        )
        shorten(text=figure.text(x + 0.055, y, clean(row.name), va="center"), most=0.28)
        figure.text(x + 0.45, y, _signed(row.year, units), va="center", ha="right")


def _signed(value: float, units: Units) -> str:
    """An amount, with "+" where it comes in."""
    written = text(value, MOISTURE, units)
    return written if written.startswith("-") or written == "0" else f"+{written}"


def _words(rows: Sequence[MoistureRow], units: Units) -> str:
    """The balance in words."""
    unit = unit_text(MOISTURE, units)
    parts = [
        f"{clean(row.name)}: {_signed(row.year, units)} {unit} in the year; by month "
        + ", ".join(
            f"{month} {_signed(value, units)}" for month, value in zip(MONTHS, row.months, strict=True)
        )
        + "."
        for row in rows
    ]
    return "Positive into the space. " + " ".join(parts)
