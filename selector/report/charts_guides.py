"""The ground of a psychrometric chart: axes, saturation, and guides of relative humidity, dew point and enthalpy.

Every curve is psychrolib's at the pressure of the site. Units: °C, kg/kg, Pa, J/kg; the axes are in the units that the
reader works in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.text import Text
from matplotlib.transforms import Bbox
from scipy.optimize import brentq

from selector.inputs.site import FloatArray, HumidityTarget
from selector.physics.moist_air import (
    dew_point,
    dry_bulb_of_enthalpy,
    enthalpy,
    humidity_ratio_of_dew_point,
    humidity_ratio_of_enthalpy,
    humidity_ratio_of_relative_humidity,
    saturation_enthalpy,
    saturation_humidity_ratio,
)
from selector.report.charts_labels import Box, box_of, cost_of
from selector.report.charts_look import (
    BARK,
    GUIDE,
    INK,
    PAPER,
    QUIET,
    SMALL,
    TEXT_SIZE,
    renderer_of,
    unit_text,
)
from selector.report.figures import TEMPERATURE, Figure, Units, number
from selector.report.text import Show, clean

RATIO = Figure("humidity_ratio", "gr/lb", "g/kg", 1, 2)
ENTHALPY = Figure("enthalpy", "Btu/lb", "kJ/kg", 1, 1)

# steps of ticks and guides in the reader's unit; of several the first that leaves them room
DRY_BULB_STEPS = {"IP": (5.0, 10.0, 20.0), "SI": (2.5, 5.0, 10.0)}
RATIO_STEPS = {"IP": (10.0, 20.0, 40.0), "SI": (1.0, 2.0, 5.0)}
DEW_POINT_STEPS = {"IP": (5.0, 10.0), "SI": (2.5, 5.0)}
ENTHALPY_STEPS = {"IP": (5.0, 10.0), "SI": (10.0, 20.0)}
ROOM = 16.0  # points between two ticks of an upright scale, at least
WIDE_ROOM = 30.0  # points between two ticks of the level scale
CURVES = (0.2, 0.4, 0.6, 0.8)
DEW_POINTS = 6  # marks of the dew-point scale, at least, where its finest step gives so many
POINTS = 161  # that a curve is drawn through

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Frame:
    """Ends of both axes."""

    t: tuple[float, float]  # °C
    w: tuple[float, float]  # kg/kg


def si_of(*, value: float, figure: Figure, units: Units) -> float:
    """Turn a number in the reader's unit into SI.

    Args: value [in the unit shown]; figure; units. Returns: value, SI.
    """
    zero, one = number(0.0, figure, units), number(1.0, figure, units)
    return (value - zero) / (one - zero)


def frame_of(*, states: Sequence[tuple[float, float]], units: Units) -> Frame:
    """Find axes that hold every state, with ends at round numbers of the reader's units.

    Args: states, dry bulb [°C] and humidity ratio [kg/kg] each, one or more; units.
    Returns: `Frame`.
    """
    step_t, step_w = DRY_BULB_STEPS[units][0], RATIO_STEPS[units][0]
    t = [number(state[0], TEMPERATURE, units) for state in states]
    w = [number(state[1], RATIO, units) for state in states]
    ends_t = math.floor(min(t) / step_t - 0.6) * step_t, math.ceil(max(t) / step_t + 0.6) * step_t
    ends_w = (
        max(0.0, math.floor(min(w) / step_w - 1.5) * step_w),
        math.ceil(max(w) / step_w + 1.2) * step_w,
    )
    return Frame(
        (
            si_of(value=ends_t[0], figure=TEMPERATURE, units=units),
            si_of(value=ends_t[1], figure=TEMPERATURE, units=units),
        ),
        (
            si_of(value=ends_w[0], figure=RATIO, units=units),
            si_of(value=ends_w[1], figure=RATIO, units=units),
        ),
    )


@dataclass(frozen=True, slots=True)
class Ground:
    """Axes of a psychrometric chart, and what has been written on them."""

    axes: Axes
    frame: Frame
    pressure: float  # Pa
    units: Units
    written: list[Box]
    texts: list[Text]

    def shown(self, t: Any, w: Any) -> tuple[FloatArray, FloatArray]:
        """Turn states into the axes' units.

        Args: t [°C] and w [kg/kg], numbers or arrays of one length. Returns: both in the units shown.
        """
        return (
            _shown(np.atleast_1d(t), TEMPERATURE, self.units),
            _shown(np.atleast_1d(w), RATIO, self.units),
        )

    def write(self, x: float, y: float, words: str, **how: Any) -> list[Box]:
        """Write on the ground, and keep the place.

        Args: x and y, place [the axes' units]; words; how, as matplotlib takes it. Returns: boxes that it covers.
        """
        text = self.axes.text(x, y, words, **{"fontsize": SMALL, "color": QUIET, **how})
        boxes = pieces_of(text)
        self.written.extend(boxes)
        self.texts.append(text)
        return boxes

    def forget(self, boxes: Sequence[Box]) -> None:
        """Take back what was written last.

        Args: boxes that it covers.
        """
        self.texts.pop().remove()
        del self.written[-len(boxes) :]


def pieces_of(text: Text) -> list[Box]:
    """Find what a text covers: a slanted one in pieces, for a box around all of it would hold much that is free.

    Args: text, centred on its place where it is slanted. Returns: boxes, along the text.
    """
    renderer = renderer_of(text.figure)
    turn = text.get_rotation()
    box = text.get_window_extent(renderer)
    if turn == 0.0:
        return [box_of(box)]
    text.set_rotation(0.0)
    level = text.get_window_extent(renderer)
    text.set_rotation(turn)
    count = math.ceil(level.width / level.height)
    along = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    half = 0.5 * (level.width / count * abs(along[0]) + level.height * abs(along[1]))
    tall = 0.5 * (level.width / count * abs(along[1]) + level.height * abs(along[0]))
    x, y = float(0.5 * (box.x0 + box.x1)), float(0.5 * (box.y0 + box.y1))
    found = []
    for piece in range(count):
        way = level.width * ((piece + 0.5) / count - 0.5)
        cx, cy = x + way * along[0], y + way * along[1]
        found.append(Box(cx - half, cy - tall, cx + half, cy + tall))
    return found


def _shown(values: FloatArray, figure: Figure, units: Units) -> FloatArray:
    zero, one = number(0.0, figure, units), number(1.0, figure, units)
    return zero + values * (one - zero)


def paint_ground(*, axes: Axes, frame: Frame, pressure: float, units: Units) -> Ground:
    """Paint axes and guides.

    Args: axes, empty; frame; pressure [Pa]; units. Returns: `Ground`.
    """
    ground = Ground(axes, frame, pressure, units, [], [])
    x, y = ground.shown(frame.t, frame.w)
    axes.set_xlim(*x)
    axes.set_ylim(*y)
    box = axes.get_window_extent()
    _scales(ground, box)
    t = np.linspace(*frame.t, POINTS)
    full = np.asarray(saturation_humidity_ratio(t, pressure))
    # just out of sight: what is drawn far outside lies over a page's other parts
    top = max(y) + 0.02 * abs(y[1] - y[0])
    across, up = ground.shown(t, full)
    axes.fill_between(across, np.minimum(up, top), top, facecolor="#f1f2ef", edgecolor="none", zorder=0.5)
    axes.plot(*ground.shown(t, full), color=INK, linewidth=1.5, zorder=3, gid="saturation")
    _enthalpies(ground, box)
    return ground


def _scales(ground: Ground, box: Bbox) -> None:
    """Dry bulb below, humidity ratio on the right, dew point on the left with level guides."""
    axes, units, frame = ground.axes, ground.units, ground.frame
    x, y = ground.shown(frame.t, frame.w)
    axes.set_xticks(_ticks(tuple(x), DRY_BULB_STEPS[units], box.width / WIDE_ROOM))
    axes.set_xlabel(f"dry bulb [{unit_text(TEMPERATURE, units)}]")
    right = axes.twinx()
    right.set_ylim(*y)
    right.set_yticks(_ticks(tuple(y), RATIO_STEPS[units], box.height / ROOM))
    right.set_ylabel(f"humidity ratio [{unit_text(RATIO, units)} dry air]")
    right.set_zorder(axes.get_zorder() - 1)
    axes.patch.set_visible(False)
    low = max(frame.w[0], 8e-4)  # below, marks would crowd
    ends = tuple(
        number(float(dew_point(60.0, ratio, ground.pressure)), TEMPERATURE, units)
        for ratio in (low, frame.w[1])
    )
    kept: list[float] = []
    for step in reversed(DEW_POINT_STEPS[units]):
        kept = []
        for mark in reversed(_ticks(ends, (step,), math.inf)):  # from above, for the dry end crowds
            room = (_level(ground, kept[-1]) - _level(ground, mark)) if kept else math.inf
            if room * box.height / (y[1] - y[0]) >= 0.6 * ROOM:
                kept.append(mark)
        if len(kept) >= DEW_POINTS:
            break
    axes.set_yticks([_level(ground, mark) for mark in kept], [f"{mark:g}" for mark in kept])
    axes.set_ylabel(f"dew point [{unit_text(TEMPERATURE, units)}]")
    for mark in kept:
        axes.axhline(_level(ground, mark), color=GUIDE, linewidth=0.5, linestyle=(0, (6, 3)), zorder=1)


def _level(ground: Ground, mark: float) -> float:
    """Height of a dew point."""
    celsius = si_of(value=mark, figure=TEMPERATURE, units=ground.units)
    ratio = float(humidity_ratio_of_dew_point(celsius, ground.pressure))
    return float(ground.shown(0.0, ratio)[1][0])


def _ticks(ends: Sequence[float], steps: Sequence[float], most: float) -> list[float]:
    """Multiples of the first step of which no more than so many lie between two ends."""
    found: list[float] = []
    for step in steps:
        first, last = math.ceil(ends[0] / step - 1e-9), math.floor(ends[1] / step + 1e-9)
        found = [step * k for k in range(first, last + 1)]
        if len(found) <= most:
            break
    return found


def _enthalpies(ground: Ground, box: Bbox) -> None:
    """Lines of one enthalpy from saturation down, named where they start."""
    frame, units, pressure = ground.frame, ground.units, ground.pressure
    low = float(enthalpy(frame.t[0], frame.w[0]))
    high = float(enthalpy(frame.t[1], frame.w[1]))
    ends = number(low, ENTHALPY, units), number(high, ENTHALPY, units)
    marks = _ticks(ends, ENTHALPY_STEPS[units], 16)
    unit = f" {unit_text(ENTHALPY, units)}"  # named once, where it has most room
    for mark in reversed(marks):
        heat = si_of(value=mark, figure=ENTHALPY, units=units)
        start = float(
            brentq(lambda t, heat=heat: float(saturation_enthalpy(t, pressure)) - heat, -40.0, 80.0)
        )
        # down to the frame's edge or to dry air: psychrolib takes no less than 1e-7 kg/kg
        first, last = max(start, frame.t[0]), float(dry_bulb_of_enthalpy(heat, max(frame.w[0], 1e-6)))
        if last <= first or first >= frame.t[1]:
            continue
        t = np.linspace(first, min(last, frame.t[1]), POINTS)
        x, y = ground.shown(t, np.asarray(humidity_ratio_of_enthalpy(heat, t)))
        ground.axes.plot(
            x, y, color=GUIDE, linewidth=0.6, linestyle=(0, (1, 2)), zorder=1, gid=f"enthalpy-{mark:g}"
        )
        if start <= frame.t[0]:
            continue
        place = ground.axes.transData.transform((x[0], y[0]))
        if place[0] - 16 > box.x0 and place[1] + 9 < box.y1:
            spot = ground.axes.transData.inverted().transform((place[0] - 2.5, place[1] + 1.5))
            ground.write(spot[0], spot[1], f"{mark:g}{unit}", ha="right", va="bottom")
            unit = ""


def paint_curves(*, ground: Ground, targets: Sequence[HumidityTarget]) -> None:
    """Paint curves of relative humidity, but where a limit's own curve is.

    Args: ground; targets, limits in force.
    """
    for share in _shares(targets):
        ground.axes.plot(
            *_curve(ground, share), color=GUIDE, linewidth=0.8, zorder=1.5, gid=f"rh-{100.0 * share:g}"
        )


def _shares(targets: Sequence[HumidityTarget]) -> list[float]:
    """Relative humidities that have a curve."""
    limits = [target.limit for target in targets if target.kind == "relative-humidity"]
    return [share for share in CURVES if not any(abs(share - limit) <= 0.03 for limit in limits)]


def paint_limits(
    *,
    ground: Ground,
    targets: Sequence[HumidityTarget],
    show: Show,
    points: Sequence[Point],
    lines: Sequence[tuple[Point, Point]],
) -> None:
    """Paint the limits in force, and name them and then the curves of relative humidity where nothing else is.

    Args: ground; targets, limits in force; show; points and lines to keep clear of, in the axes' units.
    """
    how: dict[str, Any] = {"color": BARK, "linewidth": 1.6, "linestyle": (0, (9, 2, 1.5, 2)), "zorder": 2.5}
    shown = ground.axes.transData.transform
    dots = [shown(point).tolist() for point in points]
    strokes = [(shown(a).tolist(), shown(b).tolist()) for a, b in lines]

    def name(curve: tuple[FloatArray, FloatArray], first: float, last: float, words: str, **how: Any) -> None:
        """Write on a curve at the first place that is free, or at the best of several."""
        frame = box_of(ground.axes.get_window_extent())
        best: tuple[float, float] | None = None
        for along in np.linspace(first, last, 33):
            boxes = _along(ground, curve, float(along), words, **how)
            if not boxes:
                return
            others = ground.written[: -len(boxes)]
            cost = sum(
                cost_of(place=box, frame=frame, written=others, dots=dots, strokes=strokes) for box in boxes
            )
            if cost == 0.0:
                return
            ground.forget(boxes)
            if best is None or cost < best[0]:
                best = cost, float(along)
        if best is not None:
            _along(ground, curve, best[1], words, **how)

    for place, target in enumerate(targets):
        words = clean(f"limit {show.limited(target.kind, target.limit)}")
        words = words.replace("degF", "°F").replace("degC", "°C")
        if target.kind == "relative-humidity":
            curve = _curve(ground, target.limit)
        else:
            start = max(ground.frame.t[0], target.limit)
            t = np.linspace(start, max(start, ground.frame.t[1]), POINTS)
            curve = ground.shown(
                t, np.full(POINTS, humidity_ratio_of_dew_point(target.limit, ground.pressure))
            )
        ground.axes.plot(*curve, gid=f"limit-{place + 1}", **how)
        name(curve, 0.9, 0.1, words, color=BARK, fontsize=TEXT_SIZE)
    for share in _shares(targets):
        name(_curve(ground, share), 0.96, 0.5, f"{100.0 * share:.0f} %", color=QUIET, fontsize=SMALL)


def _curve(ground: Ground, share: float) -> tuple[FloatArray, FloatArray]:
    """A curve of relative humidity in the axes' units."""
    t = np.linspace(*ground.frame.t, POINTS)
    return ground.shown(t, np.asarray(humidity_ratio_of_relative_humidity(t, share, ground.pressure)))


def _along(
    ground: Ground, curve: tuple[FloatArray, FloatArray], along: float, words: str, **how: Any
) -> list[Box]:
    """Write on a curve, a share of its way through the frame; what is covered, nothing where it is hardly there."""
    low, high = ground.axes.get_ylim()
    rows = np.flatnonzero((curve[1] >= low) & (curve[1] <= high))
    if rows.size < 12:
        return []
    at = min(max(int(rows[round(along * (rows.size - 1))]), int(rows[0]) + 4), int(rows[-1]) - 4)
    a, b = (ground.axes.transData.transform((curve[0][k], curve[1][k])) for k in (at - 2, at + 2))
    turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    behind = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.4}
    return ground.write(
        float(curve[0][at]), float(curve[1][at]), words, ha="center", va="center", rotation=turn,
        rotation_mode="anchor", bbox=behind, zorder=2.6, **how,
    )  # fmt: skip
