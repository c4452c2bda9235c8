"""Charts of simulated designs of the invented site, drawn once, and the texts in them that stand on each other."""

from __future__ import annotations

import functools
from collections.abc import Iterator

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.path import Path as Outline
from matplotlib.text import Text

from selector.report.charts import Chart, Which, chart_of, svg_of
from selector.report.charts_look import figure_of, renderer_of, settings
from selector.report.charts_states import DesignAir, design_air
from tests.report.choices import DESIGNS, simulated
from tests.report.pictures import Picture
from tests.sites import prepared_room

EVERY_DESIGN = pytest.mark.parametrize("design", DESIGNS, ids=lambda one: "+".join(one) or "nothing")
PAIR = ("2 precool-120 standalone", "1 compressor-60 standalone")


@functools.cache
def air_of(design: tuple[str, ...]) -> DesignAir:
    return design_air(prepared=prepared_room(), evaluation=simulated(*design))


@functools.cache
def chart(which: Which, design: tuple[str, ...]) -> Chart:
    return chart_of(
        which=which, prepared=prepared_room(), evaluation=simulated(*design), existing=simulated()
    )


@functools.cache
def picture(which: Which, design: tuple[str, ...]) -> Picture:
    made = chart(which, design)
    return Picture(svg_of(chart=made), made.name)


def written(figure: Figure) -> Iterator[tuple[Text, Outline]]:
    """Every text with the outline that it takes, turned as it is."""
    renderer = renderer_of(figure)
    beyond = {
        id(tick.label1)
        for axes in figure.axes
        for axis in (axes.xaxis, axes.yaxis)
        for tick in axis.get_major_ticks()
        if not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
    }  # never drawn
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        if id(text) in beyond or not text.get_visible() or not text.get_text().strip():
            continue
        box = text.get_window_extent(renderer)
        turn = text.get_rotation()
        x, y = 0.5 * (box.x0 + box.x1), 0.5 * (box.y0 + box.y1)
        text.set_rotation(0.0)
        flat = text.get_window_extent(renderer)
        text.set_rotation(turn)
        half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]]) * [
            max(0.5 * flat.width - 0.75, 0.1),
            max(0.5 * flat.height - 0.75, 0.1),
        ]
        cosine, sine = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        yield text, Outline(half @ np.array([[cosine, sine], [-sine, cosine]]) + [x, y])


def crossings(made: Chart) -> list[tuple[str, str]]:
    """Texts that stand on each other, or leave the picture."""
    with settings():
        figure = figure_of(chart=made)
        figure.canvas.draw()
        every = list(written(figure))
    frame = figure.bbox
    faults = [
        (text.get_text(), "edge")
        for text, place in every
        if place.get_extents().x0 < frame.x0 - 0.5
        or place.get_extents().x1 > frame.x1 + 0.5
        or place.get_extents().y0 < frame.y0 - 0.5
        or place.get_extents().y1 > frame.y1 + 0.5
    ]
    for at, (text, place) in enumerate(every):
        faults += [
            (text.get_text(), other.get_text())
            for other, there in every[at + 1 :]
            if place.intersects_path(there, filled=True)
        ]
    return faults
