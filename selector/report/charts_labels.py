"""Puts labels beside the points that they name, clear of each other, of the points and of the lines.

Each label tries places around its point, near ones first, and takes the one that covers least; where it ends up away
from its point a thin leader joins the two. The same points give the same places.
Units: points (1/72 inch); the figure is measured at 72 dots by inch.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from matplotlib.axes import Axes
from matplotlib.transforms import Bbox

from selector.report.charts_look import INK, PAPER, TEXT_SIZE, renderer_of

MARKER = 4.0  # half the width that a point keeps free
NEAR = 14.0  # from here on a leader joins label and point
BEHIND = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.6, "alpha": 0.8}  # a label, over guides and lines
_RADII = (7.0, 11.0, 16.0, 23.0, 32.0, 44.0, 58.0)
_TURNS = 16
SAME_COST = 1e-6  # weights this close count as one, and the first place is taken


class Box(NamedTuple):
    """A place on the figure: plain numbers, since many thousands are weighed."""

    x0: float
    y0: float
    x1: float
    y1: float


def box_of(place: Bbox) -> Box:
    """Turn matplotlib's box into plain numbers.

    Args: place. Returns: `Box`.
    """
    return Box(float(place.x0), float(place.y0), float(place.x1), float(place.y1))


@dataclass(frozen=True, slots=True)
class Label:
    """One label and the point that it names, in the axes' own units."""

    x: float
    y: float
    text: str
    bold: bool = False


def place_labels(
    *,
    axes: Axes,
    labels: Sequence[Label],
    points: Sequence[tuple[float, float]] = (),
    lines: Sequence[tuple[tuple[float, float], tuple[float, float]]] = (),
    taken: Sequence[Box] = (),
    size: float = TEXT_SIZE,
) -> None:
    """Write labels beside their points.

    Args: axes, with their final limits; labels, most important first; points and lines to keep clear of, in the axes'
        units; taken, boxes that are written on already; size, of the text [points].
    """
    figure = axes.figure
    renderer = renderer_of(figure)
    shown = axes.transData.transform
    dots = [shown(point).tolist() for point in (*points, *((one.x, one.y) for one in labels))]
    strokes = [(shown(a).tolist(), shown(b).tolist()) for a, b in lines]
    written = list(taken)
    frame = box_of(axes.get_window_extent())
    for label in labels:
        text = axes.text(
            0, 0, label.text, fontsize=size, fontweight="bold" if label.bold else "normal", ha="center", va="center",
            color=INK, zorder=9, transform=None, bbox=BEHIND,
        )  # fmt: skip
        box = text.get_window_extent(renderer)
        wide, high = float(box.width), float(box.height)
        x, y = shown((label.x, label.y)).tolist()
        best, least = (x, y), math.inf
        for radius, turn in itertools.product(_RADII, range(_TURNS)):
            if radius / 4.0 >= least - SAME_COST:
                break  # farther places weigh no less
            angle = 2.0 * math.pi * (turn + 0.5) / _TURNS
            cx = x + math.cos(angle) * (radius + 0.5 * wide * abs(math.cos(angle)))
            cy = y + math.sin(angle) * (radius + 0.5 * high * abs(math.sin(angle)))
            left, low = cx - 0.5 * wide - 1.0, cy - 0.5 * high - 1.0
            place = Box(left, low, left + (wide + 2.0), low + (high + 2.0))
            cost = radius / 4.0 + cost_of(
                place=place, frame=frame, written=written, dots=dots, strokes=strokes, point=(x, y)
            )
            if cost < least - SAME_COST:
                best, least = (cx, cy), cost
        text.set_transform(axes.transData)
        text.set_position(tuple(axes.transData.inverted().transform(best)))
        left, low = best[0] - 0.5 * wide, best[1] - 0.5 * high
        written.append(Box(left, low, left + wide, low + high))
        edge = _nearest(written[-1], (x, y))
        if math.dist(edge, (x, y)) > NEAR:
            to = axes.transData.inverted().transform(edge)
            axes.plot(
                [label.x, to[0]], [label.y, to[1]], color=INK, linewidth=0.5, zorder=4, scalex=False, scaley=False
            )  # fmt: skip
            strokes.append(((x, y), edge))


def _nearest(box: Box, point: tuple[float, float]) -> tuple[float, float]:
    """Point of a box nearest to a point."""
    return min(max(point[0], box.x0), box.x1), min(max(point[1], box.y0), box.y1)


def cost_of(
    *,
    place: Box,
    frame: Box,
    written: Sequence[Box],
    dots: Sequence[Sequence[float]],
    strokes: Sequence[tuple[Sequence[float], Sequence[float]]],
    point: tuple[float, float] | None = None,
) -> float:
    """Weigh what a place covers: other text counts most, then points, then lines, then the way to its own point.

    Args: place and frame, boxes; written, boxes with text; dots; strokes, from and to; point that a leader goes to,
        None for no leader.
    Returns: weight, 0 for a free place: a number without a unit.
    """
    cost = 0.0
    if (
        place.x0 < frame.x0 + 2
        or place.x1 > frame.x1 - 2
        or place.y0 < frame.y0 + 2
        or place.y1 > frame.y1 - 2
    ):
        cost += 1000.0
    for other in written:
        wide = min(place.x1, other.x1) - max(place.x0, other.x0)
        high = min(place.y1, other.y1) - max(place.y0, other.y0)
        if wide > 0.0 and high > 0.0:
            cost += 300.0 + wide * high
    for dot in dots:
        if place.x0 - MARKER < dot[0] < place.x1 + MARKER and place.y0 - MARKER < dot[1] < place.y1 + MARKER:
            cost += 60.0
    leader = (point, _nearest(place, point)) if point is not None else None
    for a, b in strokes:
        if _meets(a, b, place):
            cost += 14.0
        if leader is not None and math.dist(*leader) > NEAR and _cross(*leader, a, b):
            cost += 3.0
    return cost


def _meets(a: Sequence[float], b: Sequence[float], box: Box) -> bool:
    """Whether a straight line meets a box: Liang and Barsky's clipping."""
    low, high = 0.0, 1.0
    for k, (least, most) in enumerate(((box.x0, box.x1), (box.y0, box.y1))):
        way = b[k] - a[k]
        if way == 0.0:
            if not least <= a[k] <= most:
                return False
            continue
        ends = sorted(((least - a[k]) / way, (most - a[k]) / way))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low <= high


def _cross(a: Sequence[float], b: Sequence[float], c: Sequence[float], d: Sequence[float]) -> bool:
    """Whether two straight lines cross."""

    def side(p: Sequence[float], q: Sequence[float], r: Sequence[float]) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0.0 and side(c, d, a) * side(c, d, b) < 0.0
