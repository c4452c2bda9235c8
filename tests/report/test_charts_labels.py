"""Labels beside points: clear of each other however close the points lie, and joined to them where not near."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox

from selector.report.charts_labels import Label, cost_of, place_labels
from selector.report.charts_look import Chart, figure_of, settings
from tests.report.drawn_charts import crossings

FRAME = Bbox.from_extents(0.0, 0.0, 100.0, 100.0)


def cost(place: tuple[float, float, float, float], **more: Any) -> float:
    how: dict[str, Any] = {"frame": FRAME, "written": (), "dots": (), "strokes": (), **more}
    return cost_of(place=Bbox.from_extents(*place), **how)


def test_a_free_place_costs_nothing() -> None:
    assert cost((10, 10, 20, 20)) == 0.0


def test_text_counts_more_than_points_and_points_more_than_lines() -> None:
    here = (10.0, 10.0, 20.0, 20.0)
    text = cost(here, written=[Bbox.from_extents(19, 19, 30, 30)])
    point = cost(here, dots=[(15.0, 15.0)])
    line = cost(here, strokes=[((0.0, 15.0), (50.0, 15.0))])
    outside = cost((95.0, 10.0, 105.0, 20.0))
    assert outside > text > point > line > 0.0
    assert cost(here, strokes=[((0.0, 30.0), (50.0, 30.0))]) == 0.0  # beside it
    assert cost(here, strokes=[((0.0, 12.0), (5.0, 40.0))]) == 0.0  # its end falls short


def test_a_leader_that_crosses_a_line_costs() -> None:
    here = (60.0, 60.0, 80.0, 70.0)
    across = [((30.0, 60.0), (60.0, 30.0))]
    assert (
        cost(here, strokes=across, point=(10.0, 10.0)) > cost(here, strokes=across, point=(62.0, 58.0)) == 0.0
    )


@pytest.mark.parametrize("spread", [0.0, 0.002, 0.05])
def test_labels_of_crowded_points_stand_clear_of_each_other(spread: float) -> None:
    points = [(0.5 + spread * math.cos(at), 0.5 + spread * math.sin(at)) for at in range(8)]
    kept: list[Axes] = []

    def paint(figure: Figure) -> None:
        axes = figure.add_axes((0.1, 0.15, 0.85, 0.8))
        axes.set_xlim(0.0, 1.0)
        axes.set_ylim(0.0, 1.0)
        labels = [Label(*point, f"{at} state") for at, point in enumerate(points, start=1)]
        place_labels(axes=axes, labels=labels, points=points, lines=[((0.0, 0.5), (1.0, 0.5))])
        kept.append(axes)

    made = Chart("crowd", "crowd", "crowd", 5.0, 4.0, paint)
    assert crossings(made) == []
    with settings():
        figure_of(chart=made)
    first, second = ([text.get_position() for text in axes.texts] for axes in kept[:2])
    assert first == second
    assert len(first) == 8
    leaders = [line for line in kept[0].lines if np.asarray(line.get_xdata()).size == 2]
    assert bool(leaders)  # eight labels do not all fit next to one point
