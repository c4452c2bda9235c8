"""The psychrometric chart of a design's hour: dry bulb across, humidity ratio up, at the pressure of the site.

Saturation and relative humidity are curves, dew point a scale of its own on the left with level guides, enthalpy the
slanted guides that are named where they meet saturation. Every curve is psychrolib's. Units inside: °C, kg/kg, Pa,
J/kg; the axes are in the units that the reader works in.
"""

from __future__ import annotations

from typing import Literal

from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from selector.inputs.site import Install, Site
from selector.physics.moist_air import enthalpy
from selector.report.charts_guides import (
    ENTHALPY,
    RATIO,
    Frame,
    Ground,
    frame_of,
    paint_curves,
    paint_ground,
    paint_limits,
)
from selector.report.charts_labels import Label, place_labels
from selector.report.charts_look import (
    BARK,
    COBALT,
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
    width_of,
    write_head,
    write_key,
)
from selector.report.charts_states import DesignAir, Kind, State, state_name
from selector.report.figures import BAROMETER, SHARE, TEMPERATURE, Units, text
from selector.report.text import Show, design_text, hour_text, show_for, weekday_text

# each process by colour, line style and width; they are named below the picture as well
Dashes = Literal["-"] | tuple[float, tuple[float, ...]]
STYLES: dict[Kind, tuple[str, Dashes, float, str]] = {
    "unit": (COBALT, "-", 2.4, "dehumidifier"),
    "coil": (PETROL, (0, (7, 1.6)), 2.0, "cooling coil"),
    "mixing": (STONE, (0, (1.2, 1.4)), 1.5, "mixing"),
    "fan": (STRAW, (0, (4, 1.2, 1, 1.2)), 1.7, "fan heat"),
    "heating": (LILAC, (0, (3, 1, 1, 1, 1, 1)), 1.8, "heating"),
    "space": (LAGOON, (0, (2.2, 2.6)), 1.3, "gains of the space"),
    "wheel": (BARK, (0, (9, 1.4, 2.5, 1.4)), 2.0, "energy-recovery wheel"),
}
# marker of a state by the first of these that it is; the rest are discs
MARKERS = {
    "outdoor": "^", "space": "s", "mixed air": "D", "leaving coil": "v", "supply air": "P", "leaving unit": "X",
}  # fmt: skip
_PLOT, _KEY, _ROW = 4.72, 0.24, 0.155  # inches


def psychrometric_chart(
    *,
    site: Site,
    install: tuple[Install, ...],
    air: DesignAir,
    name: str = "psychrometric",
    frame: Frame | None = None,
    what: str = "",
) -> Chart:
    """Draw the air of a design in its design hour.

    Args: site; install, the new units; air, of that design; name, that the chart's ids start with; frame, for several
        charts on the same axes, the chart's own unless given; what, that the design is called, its units unless given.
    Returns: `Chart`.
    """
    show = show_for(site)
    names = tuple(state_name(state, air) for state in air.states)
    what = what or (design_text(install) if install else "existing system alone")
    title = f"Air in the design hour: {what}"
    under = hour_line(site=site, air=air)
    units = site.display_units
    dots = [(state.air.dry_bulb, state.air.humidity_ratio) for state in air.states]
    kept = frame or frame_of(states=dots, units=units)
    key = _KEY + (_ROW if any(one.rest for one in air.processes) else 0.0)
    high = _PLOT + key + _ROW * (len(air.states) + 3.0)

    def paint(figure: Figure) -> None:
        axes = figure.add_axes((0.085, 1.0 - (_PLOT - 0.45) / high, 0.825, (_PLOT - 0.95) / high))
        write_head(figure=figure, title=title, under=under)
        ground = paint_ground(axes=axes, frame=kept, pressure=air.pressure, units=units)
        paint_curves(ground=ground, targets=air.targets)
        _paint_air(ground, air, names, show)
        _key(figure, air, 1.0 - (_PLOT + 0.35 * _ROW) / high, _ROW / high)
        _table(figure, air, names, units, 1.0 - (_PLOT + key + 0.6 * _ROW) / high, _ROW / high)

    words = _words(site=site, air=air, names=names, what=what, under=under)
    return Chart(name, title, words, WIDTH, high, paint)


def hour_line(*, site: Site, air: DesignAir) -> str:
    """Say which hour it is and what runs in it.

    Args: site; air. Returns: text.
    """
    day = weekday_text(air.hour, site.weather.first_weekday)
    week = f"{air.percent:g} % dew-point week" if air.percent is not None else "of the year's weather"
    pressure = (
        f"{text(air.pressure, BAROMETER, site.display_units)} {unit_text(BAROMETER, site.display_units)}"
    )
    words = [f"{day} {hour_text(air.hour)}, {week}", pressure]
    if site.air_handler is not None and air.fan_share == 0.0:
        words.append("fan off")
    elif site.air_handler is not None:
        stage = f"coil at stage {air.coil_stage}" if air.rest.startswith("coil at") else "coil on"
        coil = f"{stage} for {_share(air.coil_share)}" if air.coil_share > 0.0 else "coil off"
        words.append(f"fan on {_share(air.fan_share)} of the hour, {coil}")
    return "; ".join(words)


def _share(value: float) -> str:
    return "under 1 %" if value < 0.01 else f"{100.0 * value:.0f} %"


def _paint_air(ground: Ground, air: DesignAir, names: tuple[str, ...], show: Show) -> None:
    """Processes as lines with arrows, states as numbered points."""
    axes = ground.axes
    places = [
        (float(x[0]), float(y[0]))
        for x, y in (ground.shown(one.air.dry_bulb, one.air.humidity_ratio) for one in air.states)
    ]
    lines = []
    for at, process in enumerate(air.processes):
        color, style, width, _ = STYLES[process.kind]
        (x0, y0), (x1, y1) = places[process.start], places[process.end]
        thin = 0.55 if process.rest else 1.0
        axes.plot(
            [x0, x1], [y0, y1], color=color, linestyle=style, linewidth=width * thin,
            zorder=4.5 if process.kind == "mixing" else 5, gid=f"process-{at + 1}-{process.kind}",
        )  # fmt: skip
        lines.append((places[process.start], places[process.end]))
        a, b = axes.transData.transform(places[process.start]), axes.transData.transform(places[process.end])
        if ((b - a) ** 2).sum() > 18.0**2:
            arrow = {
                "arrowstyle": "-|>",
                "color": color,
                "linewidth": 0.0,
                "mutation_scale": 5.0 + 6.0 * thin,
            }
            tail, head = ((x0 + share * (x1 - x0), y0 + share * (y1 - y0)) for share in (0.5, 0.58))
            axes.annotate("", xy=head, xytext=tail, arrowprops=arrow, zorder=6)
    for at, (state, place) in enumerate(zip(air.states, places, strict=True)):
        marker = next((mark for role, mark in MARKERS.items() if role in state.roles), "o")
        axes.plot(
            *place, marker=marker, markersize=6.5 if marker in "XP" else 5.5, linestyle="none",
            markerfacecolor=PAPER if state.rest else INK, markeredgecolor=INK, markeredgewidth=0.9, zorder=8,
            gid=f"state-{at + 1}",
        )  # fmt: skip
    paint_limits(ground=ground, targets=air.targets, show=show, points=places, lines=lines)
    order = sorted(range(len(places)), key=lambda at: (air.states[at].rest, at))
    place_labels(
        axes=axes,
        labels=[
            Label(*places[at], f"{at + 1}" if air.states[at].rest else f"{at + 1} {_short(names[at])}")
            for at in order
        ],
        points=places,
        lines=lines,
        taken=ground.written,
    )


def _short(name: str) -> str:
    """A name of at most two roles, one below the other where it is long."""
    parts = name.split(", ")
    return ",\n".join(parts) if len(name) > 20 else name


def _key(figure: Figure, air: DesignAir, y: float, step: float) -> None:
    """Name the kinds of line that are there, in a second row where the first is full."""
    entries = [
        ({"color": color, "linestyle": style, "linewidth": width}, words)
        for kind, (color, style, width, words) in STYLES.items()
        if any(one.kind == kind for one in air.processes)
    ]
    x = write_key(figure=figure, x=LEFT, y=y, entries=entries)
    if any(one.rest for one in air.processes):
        words = f"thin lines, hollow points, bare numbers: {air.rest}"
        written = figure.text(x, y, words, va="center", fontsize=TEXT_SIZE - 0.5)
        if x + width_of(text=written) > 1.0 - LEFT:
            written.set_position((LEFT, y - step))


COLUMNS = (("dry bulb", TEMPERATURE), ("dew point", TEMPERATURE), ("RH", SHARE), ("humidity ratio", RATIO),
           ("enthalpy", ENTHALPY))  # fmt: skip
_RIGHT = (0.525, 0.645, 0.735, 0.875, 0.985)


def state_figures(*, state: State, units: Units) -> tuple[str, ...]:
    """Write the figures of a state.

    Args: state; units. Returns: dry bulb, dew point, relative humidity, humidity ratio and enthalpy, as `COLUMNS` says.
    """
    air = state.air
    values = (
        air.dry_bulb,
        air.dew_point,
        air.relative_humidity,
        air.humidity_ratio,
        float(enthalpy(air.dry_bulb, air.humidity_ratio)),
    )
    return tuple(text(value, figure, units) for value, (_, figure) in zip(values, COLUMNS, strict=True))


def _told(state: State, name: str) -> str:
    """A state's name, and where its air would be more than saturated, that it is."""
    return name + (" (water condenses, left out)" if state.air.relative_humidity > 1.0 else "")


def _table(
    figure: Figure, air: DesignAir, names: tuple[str, ...], units: Units, top: float, step: float
) -> None:
    """The states as figures."""
    size = TEXT_SIZE - 0.5
    figure.text(LEFT, top - step, "state", va="center", fontsize=size, color=QUIET)
    for x, (name, kind) in zip(_RIGHT, COLUMNS, strict=True):
        for line, words in enumerate((name, f"[{unit_text(kind, units)}]")):
            figure.text(x, top - line * step, words, ha="right", va="center", fontsize=size, color=QUIET)
    rule = top - 1.55 * step
    figure.add_artist(Line2D((LEFT, 1.0 - LEFT), (rule, rule), color=INK, linewidth=0.6))
    for row, (state, name) in enumerate(zip(air.states, names, strict=True)):
        y = top - (row + 2.1) * step
        words = f"{row + 1} {_told(state, name)}"
        shorten(text=figure.text(LEFT, y, words, va="center", fontsize=size), most=0.42)
        for x, shown in zip(_RIGHT, state_figures(state=state, units=units), strict=True):
            figure.text(x, y, shown, ha="right", va="center", fontsize=size)


def _words(*, site: Site, air: DesignAir, names: tuple[str, ...], what: str, under: str) -> str:
    """The chart in words."""
    units = site.display_units
    parts = [f"Psychrometric chart of {what} in its design hour: {under}."]
    for at, (state, name) in enumerate(zip(air.states, names, strict=True)):
        shown = state_figures(state=state, units=units)
        figures = ", ".join(
            f"{column} {value} {unit_text(kind, units)}"
            for (column, kind), value in zip(COLUMNS, shown, strict=True)
        )
        parts.append(f"State {at + 1}, {_told(state, name)}: {figures}.")
    for process in air.processes:
        word = STYLES[process.kind][3]
        rest = f" ({air.rest})" if process.rest else ""
        parts.append(f"{word} from {process.start + 1} to {process.end + 1}{rest}".capitalize() + ".")
    still = [one for one in air.units if one.running == 0.0]
    if still:
        parts.append(
            "Not called in this hour: "
            + design_text(Install(one.model, one.arrangement, one.count) for one in still)
            + "."
        )
    return " ".join(parts)
