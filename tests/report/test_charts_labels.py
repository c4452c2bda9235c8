"""Labels beside points: clear of each other however close the points lie, and joined to them where not near."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.path import Path as Outline

from selector.inputs.site import HumidityTarget
from selector.report.charts_guides import frame_of, paint_curves, paint_ground, paint_limits, pieces_of
from selector.report.charts_labels import Box, Label, cost_of, place_labels
from selector.report.charts_look import WIDTH, Chart, figure_of, renderer_of, settings
from selector.report.text import Show
from tests.report.drawn_charts import crossings, written

FRAME = Box(0.0, 0.0, 100.0, 100.0)


def cost(place: tuple[float, float, float, float], **more: Any) -> float:
    how: dict[str, Any] = {"frame": FRAME, "written": (), "dots": (), "strokes": (), **more}
    return cost_of(place=Box(*place), **how)


def test_a_free_place_costs_nothing() -> None:
    assert cost((10, 10, 20, 20)) == 0.0


def test_text_counts_more_than_points_and_points_more_than_lines() -> None:
    here = (10.0, 10.0, 20.0, 20.0)
    text = cost(here, written=[Box(19, 19, 30, 30)])
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


# an hour of a school's air: outdoor, space, mixed, leaving coil, entering unit, leaving unit, supply [°C, kg/kg]
AIR = (
    (28.5, 0.02049),
    (27.7, 0.01383),
    (27.9, 0.01577),
    (17.9, 0.0122),
    (18.9, 0.0122),
    (40.3, 0.00654),
    (22.3, 0.01129),
)
JOINED = ((0, 2), (1, 2), (2, 3), (4, 5), (4, 6), (5, 6), (6, 1))


def test_the_name_of_a_limit_stands_clear_of_points_and_lines_where_its_curve_is_free() -> None:
    outlines = []
    targets = (HumidityTarget("mould", "relative-humidity", 0.65, 0.03, np.ones(8760, bool), 80.0),)

    def paint(figure: Figure) -> None:
        axes = figure.add_axes((0.085, 0.1, 0.825, 0.85))
        frame = frame_of(states=(*AIR, (71.0, 0.02), (20.0, 0.003)), units="IP")
        ground = paint_ground(axes=axes, frame=frame, pressure=101_180.0, units="IP")
        paint_curves(ground=ground, targets=targets)
        points = [(float(x[0]), float(y[0])) for x, y in (ground.shown(*one) for one in AIR)]
        lines = [(points[a], points[b]) for a, b in JOINED]
        paint_limits(ground=ground, targets=targets, show=Show("IP", "USD"), points=points, lines=lines)
        (outline,) = [place for text, place in written(figure) if text.get_text().startswith("limit")]
        shown = axes.transData.transform
        outlines.append(
            (
                outline,
                [(float(x), float(y)) for x, y in map(shown, points)],
                [(shown(a), shown(b)) for a, b in lines],
            )
        )

    with settings():
        figure_of(chart=Chart("limit", "limit", "limit", WIDTH, 4.7, paint))
    ((outline, points, lines),) = outlines
    assert not any(outline.contains_point(point) for point in points)
    assert not any(outline.intersects_path(Outline(line), filled=True) for line in lines)


def test_a_slanted_text_covers_what_stands_on_it_and_not_the_corners_beside_it() -> None:
    with settings():
        figure = figure_of(chart=Chart("text", "text", "text", 4.0, 4.0, lambda figure: None))
        text = figure.text(0.5, 0.5, "limit 65.0 % RH", rotation=45.0, ha="center", va="center")
        level = figure.text(0.5, 0.1, "limit 65.0 % RH")
        boxes, whole = pieces_of(text), text.get_window_extent(renderer_of(figure))
        assert len(pieces_of(level)) == 1

    def covered(across: float, up: float) -> bool:
        x, y = whole.x0 + across * whole.width, whole.y0 + up * whole.height
        return any(box.x0 <= x <= box.x1 and box.y0 <= y <= box.y1 for box in boxes)

    assert all(covered(share, share) for share in (0.1, 0.5, 0.9))
    assert not covered(0.1, 0.9)
    assert not covered(0.9, 0.1)
