"""The screen of `loads`: moisture and sensible heat by source, for the year, each month and the design hour."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.cells import cell_len

from selector.inputs.site import Site
from selector.physics.loads import DesignHour, Loads, SourceTotals
from selector.report.lines import rests_on, title
from selector.report.terminal import Line, Screen, Table
from selector.report.text import MONTHS, WIDTH, Show, fit, hour_text, show_for, weekday_text

POUNDS = (1.0 / 0.45359237, "lb")  # in a kg: NIST SP 811
GAP = 2  # columns between two of a table
NAME = 12  # columns that a source's name has at least
NOTHING = 1e-9  # of a column's largest figure, which rounding leaves where there is nothing


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
        Line("Moisture with the existing system as it is; in is positive, the sources add up to zero"),
        *_months(loads.moisture, *(POUNDS if show.units == "IP" else (1.0, "kg"))),
        Line(""),
        Line("Sensible heat with the existing system as it is; in is positive, the sources add up to zero"),
        *_months(loads.sensible, 1.0 / 3.6e6, "kWh"),
    ]
    for hour in loads.design_hours:
        screen += [Line(""), *_design_hour(hour, site, show)]
    screen += [Line(f"Note: {note}") for note in site.notes]
    return tuple(screen)


def _held(loads: Loads, show: Show) -> Table:
    rows = tuple((one.name, show(one.year, "moisture", 3)) for one in loads.held)
    return Table(("source, space at its limit", "in these hours"), rows, frozenset({1}))


def _months(sources: Sequence[SourceTotals], scale: float, unit: str) -> list[Line | Table]:
    """Year and months in tables of four months each, narrow enough for a terminal; no source that is 0 throughout."""
    found: list[Line | Table] = []
    sources = [one for one in sources if any(round(value * scale) for value in (one.year, *one.months))]
    for begin in range(0, 12, 4):
        heads = ("year",) if begin == 0 else ()
        rows = [
            (
                one.name,
                *(
                    f"{round(value * scale) + 0:,}"
                    for value in (*([one.year] if heads else []), *one.months[begin : begin + 4])
                ),
            )
            for one in sources
        ]
        found += [Line("")] if found else []
        found.append(_narrow((f"source [{unit}]", *heads, *MONTHS[begin : begin + 4]), rows))
    return found


def _narrow(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    """A table whose first column takes what the figures leave of a line."""
    taken = sum(max(cell_len(row[at]) for row in (headings, *rows)) + GAP for at in range(1, len(headings)))
    room = max(NAME, WIDTH - taken)
    return Table(
        tuple(headings),
        tuple((fit(row[0], room), *row[1:]) for row in rows),
        frozenset(range(1, len(headings))),
    )


def _design_hour(hour: DesignHour, site: Site, show: Show) -> list[Line | Table]:
    when = f"{weekday_text(hour.hour, site.weather.first_weekday)}, {hour_text(hour.hour)}"
    names = list(dict.fromkeys(name for name, _ in (*hour.moisture_held, *hour.moisture, *hour.sensible)))
    held, floating, sensible = (
        _summed(pairs) for pairs in (hour.moisture_held, hour.moisture, hour.sensible)
    )
    columns = ((held, "moisture_rate"), (floating, "moisture_rate"), (sensible, "power"))
    rows = [(name, *(_figure(values, name, kind, show) for values, kind in columns)) for name in names]
    held["to be taken out"] = hour.moisture_held_total
    rows.append(("to be taken out", _figure(held, "to be taken out", "moisture_rate", show), "", ""))
    rate, power = (show(1.0, kind).partition(" ")[2] for kind in ("moisture_rate", "power"))
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
        Line("Moisture with the space at its limit and as it is; sensible heat as it is"),
        _narrow(("source", f"at limit [{rate}]", f"as it is [{rate}]", f"sensible [{power}]"), rows),
    ]


def _figure(values: Mapping[str, float], name: str, kind: str, show: Show) -> str:
    """One figure of a column without its unit; what rounding left of nothing is nothing."""
    if name not in values:
        return ""
    value = values[name]
    if abs(value) <= NOTHING * max(map(abs, values.values())):
        value = 0.0
    return show(value, kind, 3).partition(" ")[0]


def _summed(pairs: Sequence[tuple[str, float]]) -> dict[str, float]:
    """Sources of one name added up."""
    found: dict[str, float] = {}
    for name, value in pairs:
        found[name] = found.get(name, 0.0) + value
    return found
