"""The charts of a design and of a choice; each is also told in words.

`svg_of` and `png_of` turn a chart into a file; an SVG may also stand within a page as it is.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal, get_args

from selector.decide.evaluate import Evaluation
from selector.decide.results import Choice
from selector.physics.prepare import Prepared
from selector.report.charts_guides import frame_of
from selector.report.charts_humidity import duration_chart, humidity_chart
from selector.report.charts_look import Chart, png_of, svg_of
from selector.report.charts_moisture import moisture_chart
from selector.report.charts_money import (
    MoneyRow,
    money_chart,
    row_of,
    rows_of_choice,
    rows_of_comparison,
)
from selector.report.charts_psychrometric import psychrometric_chart
from selector.report.charts_states import design_air
from selector.report.lines import marks

__all__ = [
    "WHICH",
    "Chart",
    "MoneyRow",
    "Which",
    "chart_of",
    "duration_chart",
    "humidity_chart",
    "moisture_chart",
    "money_chart",
    "png_of",
    "psychrometric_chart",
    "psychrometric_charts",
    "row_of",
    "rows_of_choice",
    "rows_of_comparison",
    "svg_of",
]

Which = Literal["psychrometric", "humidity", "moisture", "money", "duration"]
WHICH: tuple[Which, ...] = get_args(Which)


def chart_of(
    *,
    which: Which,
    prepared: Prepared,
    evaluation: Evaluation,
    existing: Evaluation,
    rows: tuple[MoneyRow, ...] | None = None,
) -> Chart:
    """Draw one chart of a design.

    Args: which; prepared; evaluation, of the design; existing, of the existing system alone; rows, options of the money
        chart, the existing system and the design unless given.
    Returns: `Chart`, which stands alone: its foot, and the end of its words, are the `marks` of the site.
    """
    chart = _drawn(which, prepared, evaluation, existing, rows)
    foot = " ".join(f"{mark.capitalize()}." for mark in marks(prepared.site))
    return replace(chart, text=f"{chart.text} {foot}".rstrip(), foot=foot)


def _drawn(
    which: Which,
    prepared: Prepared,
    evaluation: Evaluation,
    existing: Evaluation,
    rows: tuple[MoneyRow, ...] | None,
) -> Chart:
    if which == "psychrometric":
        air = design_air(prepared=prepared, evaluation=evaluation)
        return psychrometric_chart(site=prepared.site, install=evaluation.install, air=air)
    if which == "humidity":
        return humidity_chart(prepared=prepared, evaluation=evaluation, existing=existing)
    if which == "duration":
        return duration_chart(prepared=prepared, evaluation=evaluation, existing=existing)
    if which == "moisture":
        return moisture_chart(prepared=prepared, evaluation=evaluation)
    if rows is None:
        rows = (row_of(name="existing system", evaluation=existing),)
        if evaluation.install:
            rows = (row_of(name="named design", evaluation=evaluation), *rows)
    return money_chart(site=prepared.site, rows=rows)


def psychrometric_charts(*, prepared: Prepared, choice: Choice) -> tuple[Chart, ...]:
    """Draw the design hour of the existing system and of each arrangement's best design, all on the same axes.

    Args: prepared; choice. Returns: charts named psychrometric-existing, psychrometric-return-side and so on; of an
        arrangement that has no design within the limits the one that came nearest, if any.
    """
    shown: list[tuple[str, Evaluation]] = [("existing", choice.existing)]
    for one in choice.by_arrangement:
        evaluation = one.best or one.closest
        if evaluation is not None and evaluation.install:
            shown.append((one.arrangement, evaluation))
    airs = [design_air(prepared=prepared, evaluation=evaluation) for _, evaluation in shown]
    states = [(state.air.dry_bulb, state.air.humidity_ratio) for air in airs for state in air.states]
    frame = frame_of(states=states, units=prepared.site.display_units)
    return tuple(
        psychrometric_chart(
            site=prepared.site,
            install=evaluation.install,
            air=air,
            name=f"psychrometric-{name}",
            frame=frame,
        )
        for (name, evaluation), air in zip(shown, airs, strict=True)
    )
