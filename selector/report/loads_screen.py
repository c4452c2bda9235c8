"""The screen of `loads`: moisture and sensible heat by source, for the year, each month and the design hour."""

from __future__ import annotations

from collections.abc import Sequence

from selector.inputs.site import Site
from selector.physics.loads import DesignHour, Loads, SourceTotals
from selector.report.lines import rests_on, title
from selector.report.terminal import Line, Screen, Table
from selector.report.text import MONTHS, WIDTH, Show, hour_text, show_for, weekday_text

POUNDS = (1.0 / 0.45359237, "lb")  # in a kg: NIST SP 811


def loads_screen(*, site: Site, loads: Loads) -> Screen:
    """Write the loads of a site.

    Args: site; loads.
    Returns: lines and tables.
    """
    show = show_for(site)
    screen: list[Line | Table] = [
        Line(title(site, WIDTH), "bold"),
        Line(f"Defaults: {rests_on(site)}"),
        Line(
            f"To hold the limit, coil and dehumidifiers together take out {show(loads.held_total, 'moisture', 3)} a "
            f"year, in {loads.held_hours:,} hours; at most {show(loads.held_peak, 'moisture_rate', 3)}, "
            f"{hour_text(loads.held_peak_hour)}."
            if loads.held_hours
            else "No hour needs moisture taken out to hold the limit.",
            "bold",
        ),
        _held(loads, show),
        Line(""),
        Line("Moisture with the existing system as it is; in is positive, the sources add to nothing"),
        *_months(loads.moisture, *(POUNDS if show.units == "IP" else (1.0, "kg"))),
        Line(""),
        Line("Sensible heat with the existing system as it is; in is positive, the sources add to nothing"),
        *_months(loads.sensible, 1.0 / 3.6e6, "kWh"),
    ]
    for hour in loads.design_hours:
        screen += [Line(""), *_design_hour(hour, site, show)]
    screen += [Line(f"Note: {note}") for note in site.notes]
    return tuple(screen)


def _held(loads: Loads, show: Show) -> Table:
    rows = tuple((one.name, show(one.year, "moisture", 3)) for one in loads.held)
    return Table(("source, space at its limit", "a year"), rows, frozenset({1}))


def _months(sources: Sequence[SourceTotals], scale: float, unit: str) -> list[Line | Table]:
    """Year and months in two tables of half a year each, narrow enough for a terminal."""

    def row(name: str, values: Sequence[float]) -> tuple[str, ...]:
        return (name, *(f"{round(value * scale) + 0:,}" for value in values))

    first = tuple(row(one.name, (one.year, *one.months[:6])) for one in sources)
    second = tuple(row(one.name, one.months[6:]) for one in sources)
    return [
        Table((f"source [{unit}]", "year", *MONTHS[:6]), first, frozenset(range(1, 8))),
        Line(""),
        Table((f"source [{unit}]", *MONTHS[6:]), second, frozenset(range(1, 7))),
    ]


def _design_hour(hour: DesignHour, site: Site, show: Show) -> list[Line | Table]:
    when = f"{weekday_text(hour.hour, site.weather.first_weekday)}, {hour_text(hour.hour)}"
    names = list(dict.fromkeys(name for name, _ in (*hour.moisture_held, *hour.moisture, *hour.sensible)))
    held, floating, sensible = (
        _summed(pairs) for pairs in (hour.moisture_held, hour.moisture, hour.sensible)
    )
    rows = tuple(
        (
            name,
            show(held[name], "moisture_rate", 3) if name in held else "",
            show(floating[name], "moisture_rate", 3) if name in floating else "",
            show(sensible[name], "power", 3) if name in sensible else "",
        )
        for name in names
    )
    total = ("to be taken out", show(hour.moisture_held_total, "moisture_rate", 3), "", "")
    return [
        Line(
            f"Design hour, {hour.percent:g} % dew point: outdoors {show(hour.outdoor_dry_bulb, 'temperature')}, "
            f"dew point {show(hour.outdoor_dew_point, 'temperature')}; {when}",
            "bold",
        ),
        Line(
            f"Space {show(hour.space_dry_bulb, 'temperature')}, "
            f"{show(hour.space_relative_humidity, 'fraction')} RH with the existing system; "
            f"at its limit {show.ratio(hour.held_humidity_ratio)}"
        ),
        Table(
            ("source", "moisture at limit", "moisture as it is", "sensible as it is"),
            (*rows, total),
            frozenset({1, 2, 3}),
        ),
    ]


def _summed(pairs: Sequence[tuple[str, float]]) -> dict[str, float]:
    """Sources of one name added up."""
    found: dict[str, float] = {}
    for name, value in pairs:
        found[name] = found.get(name, 0.0) + value
    return found
