"""First cost and life-cycle cost of each option, as bars with their figures.

Money in the site's currency.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.ticker import FuncFormatter, MaxNLocator

from selector.decide.compare import Comparison
from selector.decide.evaluate import Evaluation
from selector.decide.results import Choice
from selector.inputs.site import Site
from selector.money.installation import invented_prices
from selector.report.charts_look import (
    GUIDE,
    INK,
    LEFT,
    LILAC,
    PAPER,
    QUIET,
    TEXT_SIZE,
    WIDTH,
    Chart,
    shorten,
    width_of,
    write_head,
)
from selector.report.text import Show, clean, design_text, show_for

INVENTED = "invented prices, not for a bid"
BREAKS = "does not keep every limit"
_ROW, _FOOT, _LINE = 0.58, 0.72, 0.137  # inches
_BAR = 0.3  # of a row


@dataclass(frozen=True, slots=True)
class MoneyRow:
    """One option."""

    name: str
    install: str  # what is installed, "" for nothing new
    first: float
    life_cycle: float
    feasible: bool  # keeps every limit


def row_of(*, name: str, evaluation: Evaluation) -> MoneyRow:
    """Take an option's costs.

    Args: name; evaluation of it. Returns: `MoneyRow`.
    """
    costs = evaluation.costs
    what = design_text(evaluation.install) if evaluation.install else ""
    return MoneyRow(name, what, costs.first, costs.life_cycle, evaluation.feasible)


def rows_of_choice(*, choice: Choice) -> tuple[MoneyRow, ...]:
    """Options of a choice: the best of each arrangement, or the nearest where none keeps the limits, and nothing new.

    Args: choice. Returns: rows, those that keep every limit first, each group by life-cycle cost.
    """
    chosen = choice.best.install if choice.best is not None else None
    rows = [row_of(name=_chosen("existing system", choice.existing, chosen), evaluation=choice.existing)]
    for one in choice.by_arrangement:
        shown = one.best or one.closest
        if shown is not None and shown.install:
            rows.append(row_of(name=_chosen(one.arrangement, shown, chosen), evaluation=shown))
    return tuple(sorted(rows, key=lambda row: (not row.feasible, row.life_cycle)))


def _chosen(name: str, evaluation: Evaluation, chosen: object) -> str:
    return f"{name} (chosen)" if evaluation.install == chosen else name


def rows_of_comparison(*, comparison: Comparison) -> tuple[MoneyRow, ...]:
    """Options of a comparison, ranked as there, with costs levelled.

    Args: comparison. Returns: rows.
    """
    return tuple(row_of(name=one.option.name, evaluation=one.evaluation) for one in comparison.options)


def money_chart(*, site: Site, rows: Sequence[MoneyRow], name: str = "money") -> Chart:
    """Draw first and life-cycle cost of options side by side.

    Args: site; rows, one or more, in the order in which they are shown; name, that the chart's ids start with.
    Returns: `Chart`.
    """
    show = show_for(site)
    years = site.costs.study_period
    title = f"First and life-cycle cost by option, {site.costs.currency}"
    under = f"life-cycle cost: present value over {years:g} years, with the system's energy and maintenance"
    note = INVENTED if invented_prices(site=site) else ""
    high = 0.5 + _ROW * len(rows) + _FOOT

    def paint(figure: Figure) -> None:
        write_head(figure=figure, title=title, under=under)
        axes = figure.add_axes((0.335, (_FOOT - 0.05) / high, 0.65, _ROW * len(rows) / high))
        _bars(axes, rows)
        _names(figure, axes, rows)
        _key(figure, note, 0.12 / high, 0.11 / high)

    words = [f"{title}; {under}."]
    if note:
        words.append(f"{note.capitalize()}.")
    words += [_words(row, show) for row in rows]
    return Chart(name, title, " ".join(words), WIDTH, high, paint)


def _bars(axes: Axes, rows: Sequence[MoneyRow]) -> None:
    """Two bars for each option, with their figures at the end."""
    most = max(max(row.first, row.life_cycle) for row in rows) or 1.0
    least = min(0.0, *(min(row.first, row.life_cycle) for row in rows))
    axes.set_xlim(1.02 * least, most + 0.24 * (most - least))
    axes.set_ylim(len(rows), 0.0)
    for at, row in enumerate(rows):
        for place, (kind, value) in enumerate((("first", row.first), ("life-cycle", row.life_cycle))):
            y = at + 0.17 + _BAR * (place + 0.5) + 0.03 * place
            axes.barh(y, value, height=_BAR, gid=f"{kind}-{at + 1}", zorder=3, **_style(kind, row.feasible))
            axes.annotate(
                f"{value:,.0f}".replace("-0", "0") if round(value) == 0 else f"{value:,.0f}", (max(0.0, value), y),
                (3.5, 0.0), textcoords="offset points", va="center", ha="left", zorder=5,
            )  # fmt: skip
    axes.axvline(0.0, color=INK, linewidth=0.9, zorder=4)
    axes.set_yticks([])
    low, high = axes.get_xlim()
    ticks = MaxNLocator(5).tick_values(low, high)
    axes.set_xticks(
        [tick for tick in ticks if low <= tick <= high - 0.05 * (high - low)]
    )  # room for its figure
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.0f}"))
    axes.grid(axis="x", color=GUIDE, linewidth=0.4)
    axes.set_axisbelow(True)
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)


def _style(kind: str, feasible: bool) -> dict[str, Any]:
    """A solid bar for first cost, a hatched one for life-cycle cost; only outlined where limits are broken."""
    if not feasible:
        hatch = "" if kind == "first" else "//////"
        return {
            "facecolor": PAPER,
            "edgecolor": QUIET,
            "linewidth": 0.8,
            "hatch": hatch,
            "linestyle": (0, (3, 1.5)),
        }
    if kind == "first":
        return {"facecolor": INK, "edgecolor": INK, "linewidth": 0.8}
    return {"facecolor": LILAC, "edgecolor": PAPER, "linewidth": 0.0, "hatch": "//////"}


def _names(figure: Figure, axes: Axes, rows: Sequence[MoneyRow]) -> None:
    """Options left of their bars: name, what is installed, and whether it keeps the limits."""
    low, high = axes.get_position().y0, axes.get_position().y1
    step = (high - low) / len(rows)
    for at, row in enumerate(rows):
        y = high - (at + 0.5) * step
        wrapped = textwrap.wrap(clean(row.install), 36)
        texts = [clean(row.name), *wrapped[:1], *([" ".join(wrapped[1:])] if wrapped[1:] else [])]
        texts += [] if row.feasible else [BREAKS]
        first = y + 0.5 * (len(texts) - 1) * _LINE * step / _ROW
        for line, words in enumerate(texts):
            shorten(
                text=figure.text(
                    LEFT, first - line * _LINE * step / _ROW, words, va="center", color=QUIET if line else INK,
                    fontweight="normal" if line else "bold", fontsize=TEXT_SIZE - (0.8 if line else 0.0),
                ),
                most=0.315,
            )  # fmt: skip


def _key(figure: Figure, note: str, y: float, high: float) -> None:
    """Name the two kinds of bar."""
    x = LEFT
    for kind, words in (("first", "first cost"), ("life-cycle", "life-cycle cost")):
        figure.add_artist(
            Rectangle((x, y - 0.5 * high), 0.045, high, transform=figure.transFigure, **_style(kind, True))
        )
        text = figure.text(x + 0.053, y, words, va="center")
        x += 0.053 + width_of(text=text) + 0.025
    words = f"outlined: {BREAKS}"
    figure.text(x, y, words, va="center", color=QUIET)
    if note:
        figure.text(1.0 - LEFT, y, note, va="center", ha="right", fontweight="bold")


def _words(row: MoneyRow, show: Show) -> str:
    """One option in words."""
    what = f", {clean(row.install)}" if row.install else ""
    held = "" if row.feasible else f"; {BREAKS}"
    return (
        f"{clean(row.name)}{what}: first cost {show(row.first, 'money')}, "
        f"life-cycle cost {show(row.life_cycle, 'money')}{held}."
    )
