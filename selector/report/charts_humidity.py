"""Humidity with and without new units: each day's maximum through the year, and how long it is how humid.

Both show the quantity that a limit is set in, in the hours in which the limit is in force, from the same arrays that
the hours above it are counted in. Units inside: fraction, or °C of dew point; hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator

from selector.decide.evaluate import Evaluation, LimitResult
from selector.inputs.calendar import DAYS_IN_MONTH, FIRST_DAY_OF_MONTH
from selector.inputs.site import FloatArray, HumidityTarget
from selector.physics.prepare import Prepared
from selector.report.charts_labels import BEHIND
from selector.report.charts_look import (
    BARK,
    COBALT,
    GUIDE,
    INK,
    PAPER,
    SMALL,
    STRAW,
    WIDTH,
    Chart,
    shorten,
    unit_text,
    width_of,
    write_head,
    write_key,
)
from selector.report.figures import SHARE, TEMPERATURE, Units, number, text
from selector.report.figures import Figure as Quantity
from selector.report.humidity_months import LimitMonth, limit_months, limited_quantity
from selector.report.text import MONTHS, clean, design_text, hour_text, plural

STYLES: dict[str, dict[str, Any]] = {
    "with": {"color": COBALT, "linewidth": 1.3, "marker": ".", "markersize": 2.4},
    "without": {
        "color": STRAW, "marker": "o", "markersize": 2.6, "markerfacecolor": PAPER, "markeredgewidth": 0.7,
        "linestyle": "none",
    },
    "limit": {"color": BARK, "linewidth": 1.3, "linestyle": (0, (9, 2, 1.5, 2))},
}  # fmt: skip
DURATION = {
    **STYLES,
    "with": {"color": COBALT, "linewidth": 1.7},
    "without": {"color": STRAW, "linewidth": 1.5, "linestyle": (0, (4, 1.6))},
}
NEW, ALONE = "with the new units", "existing system alone"
_ROOM = 0.5  # inches above the first limit
_YEAR, _CURVE = 2.95, 2.75  # inches of each limit
_SIDE, _END = 0.085, 0.97  # of the width, where the axes start and end


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """How one design fares against one limit; of the hours in which the limit is in force."""

    name: str
    result: LimitResult
    maxima: FloatArray  # (365,) each day's highest, not a number on days without such hours
    above: FloatArray  # (365,) hours above
    months: tuple[LimitMonth, ...]  # (12,)
    ranked: FloatArray  # (N,) every hour's, the highest first


@dataclass(frozen=True, slots=True, eq=False)
class LimitCourses:
    """One limit, with the existing system alone and with the new units."""

    target: HumidityTarget
    quantity: Quantity
    axis: str  # what is shown, without its unit
    without: Course
    new: Course | None  # None where nothing is installed


def courses(*, prepared: Prepared, evaluation: Evaluation, existing: Evaluation) -> tuple[LimitCourses, ...]:
    """Follow each limit through the year.

    Args: prepared; evaluation, of the design; existing, of the existing system alone.
    Returns: one for each limit of the site.
    """
    found: list[LimitCourses] = []
    for place, target in enumerate(prepared.site.targets):
        relative = target.kind == "relative-humidity"
        new = None
        if evaluation.install:
            new = _course(prepared, evaluation, place, NEW)
        found.append(
            LimitCourses(
                target=target,
                quantity=SHARE if relative else TEMPERATURE,
                axis="relative humidity" if relative else "dew point",
                without=_course(prepared, existing, place, ALONE),
                new=new,
            )
        )
    return tuple(found)


def _course(prepared: Prepared, evaluation: Evaluation, place: int, name: str) -> Course:
    target, year = prepared.site.targets[place], evaluation.year
    values = limited_quantity(prepared=prepared, year=year, target=target)
    judged = np.where(target.hours, values, -np.inf).reshape(365, 24).max(axis=1)
    return Course(
        name=name,
        result=evaluation.limits[place],
        maxima=np.where(np.isfinite(judged), judged, np.nan),
        above=(year.above[:, place] > 0.0).reshape(365, 24).sum(axis=1).astype(float),
        months=limit_months(prepared=prepared, evaluation=evaluation, place=place),
        ranked=np.sort(values[target.hours])[::-1],
    )


def humidity_chart(
    *, prepared: Prepared, evaluation: Evaluation, existing: Evaluation, name: str = "humidity"
) -> Chart:
    """Draw each day's highest humidity through the year, and the hours above each limit.

    Args: prepared; evaluation, of the design; existing, of the existing system alone; name, that ids start with.
    Returns: `Chart`.
    """
    every = courses(prepared=prepared, evaluation=evaluation, existing=existing)
    high = _ROOM + _YEAR * len(every)
    title = f"Humidity through the year: {_what(evaluation)}"
    under = "each day's highest value in the hours in which the limit is in force, and hours above it"

    def paint(figure: Figure) -> None:
        write_head(figure=figure, title=title, under=under)
        for row, one in enumerate(every):
            top = high - _ROOM - _YEAR * row
            plot = figure.add_axes((_SIDE, (top - 1.95) / high, _END - _SIDE, 1.68 / high))
            strip = figure.add_axes((_SIDE, (top - 2.62) / high, _END - _SIDE, 0.55 / high))
            _key(figure, one, STYLES, (top - 0.12) / high, prepared)
            _paint_year(plot, one, prepared)
            _paint_hours(strip, one)

    words = [f"{title}; {under}.", *(_year_words(one, prepared) for one in every)]
    return Chart(name, title, " ".join(words), WIDTH, high, paint)


def duration_chart(
    *, prepared: Prepared, evaluation: Evaluation, existing: Evaluation, name: str = "duration"
) -> Chart:
    """Draw for how many hours a year it is how humid.

    Args: as `humidity_chart`.
    Returns: `Chart`.
    """
    every = courses(prepared=prepared, evaluation=evaluation, existing=existing)
    high = _ROOM + _CURVE * len(every)
    title = f"How long it is how humid: {_what(evaluation)}"
    under = "hours a year, of those in which the limit is in force, that are at least so humid"

    def paint(figure: Figure) -> None:
        write_head(figure=figure, title=title, under=under)
        for row, one in enumerate(every):
            top = high - _ROOM - _CURVE * row
            _key(figure, one, DURATION, (top - 0.12) / high, prepared)
            axes = figure.add_axes((_SIDE, (top - 2.3) / high, _END - _SIDE, 2.03 / high))
            _paint_duration(axes, one, prepared)

    words = [f"{title}; {under}.", *(_duration_words(one, prepared) for one in every)]
    return Chart(name, title, " ".join(words), WIDTH, high, paint)


def _what(evaluation: Evaluation) -> str:
    return design_text(evaluation.install) if evaluation.install else ALONE


def _shown(one: LimitCourses, prepared: Prepared, values: FloatArray | float) -> FloatArray:
    """Values in the reader's unit."""
    units = prepared.site.display_units
    zero, step = number(0.0, one.quantity, units), number(1.0, one.quantity, units)
    return np.asarray(zero + np.asarray(values) * (step - zero))


def _limit_text(one: LimitCourses, prepared: Prepared) -> str:
    units = prepared.site.display_units
    return f"limit {text(one.target.limit, one.quantity, units)} {unit_text(one.quantity, units)}"


def _both(one: LimitCourses) -> list[tuple[str, Course]]:
    """The courses there are, the new units' first."""
    return (
        [("with", one.new), ("without", one.without)] if one.new is not None else [("without", one.without)]
    )


def _key(
    figure: Figure, one: LimitCourses, styles: dict[str, dict[str, Any]], y: float, prepared: Prepared
) -> None:
    """Name the limit and the courses above the picture."""
    figure.add_artist(Line2D((_SIDE, _SIDE + 0.04), (y, y), **styles["limit"]))
    words = f"{clean(one.target.name)}: {_limit_text(one, prepared)}"
    head = shorten(text=figure.text(_SIDE + 0.05, y, words, va="center", fontweight="bold"), most=0.36)
    entries: list[tuple[dict[str, Any], str]] = [
        (styles[which], f"{which if one.new else course.name}: {course.result.hours_above:,} h above")
        for which, course in _both(one)
    ]
    write_key(figure=figure, x=_SIDE + 0.05 + width_of(text=head) + 0.03, y=y, entries=entries)


def _paint_year(axes: Axes, one: LimitCourses, prepared: Prepared) -> None:
    """Each day's highest value."""
    days = np.arange(365) + 0.5
    for which, course in reversed(_both(one)):
        axes.plot(days, _shown(one, prepared, course.maxima), gid=f"days-{which}", zorder=3, **STYLES[which])
    axes.axhline(float(_shown(one, prepared, one.target.limit)), zorder=4, **STYLES["limit"])
    axes.set_ylabel(f"{one.axis} [{unit_text(one.quantity, prepared.site.display_units)}]")
    axes.yaxis.set_major_locator(MaxNLocator(6, prune="lower"))  # the strip below has its own
    axes.grid(axis="y", color=GUIDE, linewidth=0.4)
    _months(axes, named=False)


def _months(axes: Axes, *, named: bool) -> None:
    """Months along the lower edge."""
    axes.set_xlim(0, 365)
    axes.set_xticks([*FIRST_DAY_OF_MONTH, 365], [""] * 13)
    if named:
        for first, length, month in zip(FIRST_DAY_OF_MONTH, DAYS_IN_MONTH, MONTHS, strict=True):
            axes.annotate(
                month, (first + 0.5 * length, 0.0), (0.0, -5.0), xycoords=axes.get_xaxis_transform(),
                textcoords="offset points", ha="center", va="top",
            )  # fmt: skip


def _paint_hours(axes: Axes, one: LimitCourses) -> None:
    """Hours above the limit, day by day: those without new units upward, those with them downward."""
    edges = np.arange(366.0)
    axes.stairs(one.without.above, edges, fill=True, color=STRAW, gid="above-without")
    low = -24.0 if one.new is not None else 0.0
    if one.new is not None:
        axes.stairs(-one.new.above, edges, fill=True, color=COBALT, gid="above-with")
    axes.axhline(0.0, color=INK, linewidth=0.6)
    axes.set_ylim(-40.0 if low else 0.0, 40.0)
    axes.set_yticks([low, 0.0, 24.0] if low else [0.0, 24.0], ["24", "0", "24"] if low else ["0", "24"])
    axes.set_ylabel("h a day")
    _months(axes, named=True)
    for which, course in _both(one):
        up = which == "without"
        axes.annotate(
            f"hours above, {course.name}", (0.006, 0.97 if up else 0.03), xycoords="axes fraction",
            ha="left", va="top" if up else "bottom", fontsize=SMALL, zorder=5,
        )  # fmt: skip


def _year_words(one: LimitCourses, prepared: Prepared) -> str:
    """One limit of the year's chart in words."""
    units = prepared.site.display_units
    unit = unit_text(one.quantity, units)
    parts = [f"{clean(one.target.name)}, {one.axis}, {_limit_text(one, prepared)}:"]
    for _, course in _both(one):
        result = course.result
        parts.append(
            f"{course.name}, {plural(result.hours_above, 'hour')} a year above, {result.allowed:,.0f} allowed; "
            f"the worst is {text(result.worst, one.quantity, units)} {unit}, {hour_text(result.worst_hour)}; by month"
        )
        months = [
            f"{month} {_most(there.highest, one.quantity, units)} ({there.hours_above} h)"
            for month, there in zip(MONTHS, course.months, strict=True)
        ]
        parts.append(", ".join(months) + ".")
    return " ".join(parts)


def _most(highest: float | None, quantity: Quantity, units: Units) -> str:
    """The highest of a month as text."""
    return "not in force" if highest is None else text(highest, quantity, units)


def curve_ranks(*, hours: int) -> npt.NDArray[np.int64]:
    """Hours at which a duration curve is drawn: each of the first 200, then ever fewer.

    >>> curve_ranks(hours=8760)[:3].tolist(), curve_ranks(hours=8760)[-1].item(), curve_ranks(hours=5).tolist()
    ([1, 2, 3], 8760, [1, 2, 3, 4, 5])

    Args: hours, a number of hours. Returns: ranks from 1, rising.
    """
    later = np.geomspace(200.0, max(hours, 200.0), 240).round().astype(np.int64)
    ranks = np.unique(np.concatenate((np.arange(1, 201), later, [hours])))
    return ranks[ranks <= hours]


def _paint_duration(axes: Axes, one: LimitCourses, prepared: Prepared) -> None:
    """Hours on a logarithmic scale, for the few worst ones decide."""
    hours = one.without.ranked.size
    ranks = curve_ranks(hours=hours)
    axes.set_xscale("log")
    axes.set_xlim(1.0, max(2, hours))
    for which, course in reversed(_both(one)):
        values = _shown(one, prepared, course.ranked[ranks - 1])
        axes.plot(ranks, values, gid=f"duration-{which}", zorder=3, **DURATION[which])
    limit = float(_shown(one, prepared, one.target.limit))
    axes.axhline(limit, zorder=2, **DURATION["limit"])
    allowed = one.target.allowed_hours_above
    if 1.0 <= allowed < hours:
        axes.axvline(allowed, color=BARK, linewidth=1.0, linestyle=(0, (1, 1.5)), zorder=2)
        axes.annotate(
            f"{allowed:,.0f} h allowed", (allowed, 0.02), (3.0, 0.0), xycoords=axes.get_xaxis_transform(),
            textcoords="offset points", ha="left", va="bottom", color=BARK, bbox=BEHIND, fontsize=SMALL,
        )  # fmt: skip
    ticks = [tick for tick in (1, 3, 10, 30, 100, 300, 1000, 3000) if tick < 0.8 * hours] + [hours]
    axes.set_xticks(ticks, [f"{tick:,}" for tick in ticks], minor=False)
    axes.set_xticks([], minor=True)
    axes.set_xlabel("hours a year (logarithmic)")
    axes.set_ylabel(f"{one.axis} [{unit_text(one.quantity, prepared.site.display_units)}]")
    axes.yaxis.set_major_locator(MaxNLocator(6))
    axes.grid(axis="y", color=GUIDE, linewidth=0.4)


def _duration_words(one: LimitCourses, prepared: Prepared) -> str:
    """One limit of the duration chart in words."""
    units = prepared.site.display_units
    unit = unit_text(one.quantity, units)
    parts = [
        f"{clean(one.target.name)}, {one.axis}, {_limit_text(one, prepared)}, in force in "
        f"{plural(one.without.ranked.size, 'hour')}:"
    ]
    for _, course in _both(one):
        at = [rank for rank in (1, 10, 100, 1000) if rank <= course.ranked.size]
        levels = ", ".join(
            f"{text(float(course.ranked[rank - 1]), one.quantity, units)} {unit} for {plural(rank, 'hour')}"
            for rank in at
        )
        parts.append(
            f"{course.name}, {plural(course.result.hours_above, 'hour')} above, {course.result.allowed:,.0f} allowed; "
            f"at least {levels}."
        )
    return " ".join(parts)
