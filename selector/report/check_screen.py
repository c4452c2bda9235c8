"""The screens of `check`: what was read, what it means, and which units fit where."""

from __future__ import annotations

import os
from collections import Counter

from selector.decide.default_effects import DefaultEffects, Outcome
from selector.decide.limits import broken_by_unit, stream_airflow
from selector.inputs.quantities import display_unit
from selector.inputs.site import ARRANGEMENTS, Assumption, Catalog, Site, Unit
from selector.physics.class_curves import RATING_DRY_BULB, RATING_PRESSURE, RATING_RELATIVE_HUMIDITY
from selector.physics.coil import CoilRating
from selector.physics.fit import FittedUnit
from selector.physics.prepare import Prepared
from selector.physics.rating import rate
from selector.report.assumption_units import dimension_by, price_dimension
from selector.report.lines import limit_value, rests_on, standing_defaults, title
from selector.report.terminal import Line, Screen, Table
from selector.report.text import WIDTH, Show, command, plural, show_for


def site_screen(*, prepared: Prepared, coil: CoilRating | None) -> Screen:
    """Write what was read from a site.

    Args: prepared; coil, its rating, None without an air handler.
    Returns: lines and tables.
    """
    site = prepared.site
    show = show_for(site)
    screen: list[Line | Table] = [
        Line(title(site, WIDTH), "bold"),
        Line(f"Defaults: {rests_on(site)}"),
        Line("No faults found.", "bold"),
    ]
    screen += _read(site, show)
    if coil is not None:
        screen.append(
            Line(
                f"Coil at its rating: apparatus dew point {show(coil.surface, 'temperature')}, bypass factor "
                f"{coil.bypass_factor:.3f}, sensible heat ratio {coil.sensible_heat_ratio:.3f}"
            )
        )
    screen += [Line(""), *_arrangements(prepared, show), Line(""), *_fits(prepared)]
    screen += [Line(""), *(Line(f"Note: {note}") for note in site.notes)]
    if standing_defaults(site):
        screen.append(Line(f"Next: {command('check', site.file, '--defaults')}"))
    else:
        screen.append(Line(f"Next: {command('choose', site.file)}"))
    return tuple(screen)


def _read(site: Site, show: Show) -> list[Line]:
    weather, catalog, space = site.weather, site.catalog, site.space
    lines = [
        Line(
            f"Weather: {os.path.normpath(weather.source)}, {weather.kind}, "
            f"elevation {show(weather.elevation, 'length', 3)}, {plural(weather.hours_filled, 'hour')} filled"
        ),
        *(
            Line(
                f"Design day: {day.percent:g} % dew point {show(day.dew_point, 'temperature')}, dry bulb up to "
                f"{show(float(day.dry_bulb.max()), 'temperature')}"
            )
            for day in weather.design_days
        ),
        Line(
            f"Catalogue: {catalog.folder}, {plural(len(catalog.units), 'unit')}"
            + (", invented prices, not for a bid" if catalog.invented else "")
        ),
        Line(
            f"Space: {show(space.floor_area, 'area')}, {show(space.ceiling_height, 'length', 3)} high, occupied "
            f"{int(site.occupied.sum()):,} h/year, {plural(len(site.gains), 'gain')}"
        ),
    ]
    handler = site.air_handler
    if handler is None:
        lines.append(Line("Air handler: none"))
    else:
        lines.append(
            Line(
                f"Air handler: {show(handler.supply_airflow, 'airflow')} supply, "
                f"{show(handler.outdoor_airflow, 'airflow')} outdoor air, "
                f"{show(handler.cooling_coil.total_capacity, 'cooling_capacity', 3)} {handler.cooling_coil.kind}"
            )
        )
    for target in site.targets:
        lines.append(
            Line(
                f"Limit: {target.name}, {show.limited(target.kind, target.limit)}, "
                f"{target.allowed_hours_above:,.0f} h/year allowed above, in force {int(target.hours.sum()):,} h/year"
            )
        )
    origins = Counter(one.origin for one in site.assumptions)
    counts = ", ".join(f"{count} {origin}" for origin, count in origins.items())
    lines.append(Line(f"Values: {len(site.assumptions)}: {counts}"))
    return lines


def _arrangements(prepared: Prepared, show: Show) -> list[Line | Table]:
    """Static pressure and airflow of each arrangement, for the units of the catalogue."""
    site = prepared.site
    rows = []
    for code, name in enumerate(ARRANGEMENTS):
        statics = [one.static for (_, where), one in prepared.connections.items() if where == code]
        if not statics or name not in site.limits.arrangements:
            rows.append((name, "not allowed here", "", ""))
            continue
        room = stream_airflow(site=site, arrangement=code)
        fits = sum(
            units_that_fit(prepared=prepared, row=row, arrangement=code) > 0
            for row in range(len(site.catalog.units))
        )
        low, high = (show(value, "pressure", 2) for value in (min(statics), max(statics)))
        rows.append(
            (
                name,
                low if low == high else f"{low} to {high}",
                "no limit" if room == float("inf") else show(room, "airflow"),
                f"{fits} of {len(site.catalog.units)}",
            )
        )
    return [
        Table(
            ("arrangement", "static on a unit", "airflow there", "models that fit"),
            tuple(rows),
            frozenset({2, 3}),
        )
    ]


def units_that_fit(*, prepared: Prepared, row: int, arrangement: int) -> int:
    """Units of one model that airflow, static pressure, supply and counts let stand in one arrangement.

    Args: prepared; row of the model in the catalogue; arrangement, a code.
    Returns: how many, 0 where the model itself does not fit the site.
    """
    site = prepared.site
    unit = site.catalog.units[row]
    connection = prepared.connections.get((row, arrangement))
    if connection is None or connection.flow_fraction <= 0.0 or broken_by_unit(site=site, unit=unit):
        return 0
    most = min(site.limits.max_units, site.limits.max_per_model)
    room = stream_airflow(site=site, arrangement=arrangement)
    flow = unit.airflow * connection.flow_fraction
    return most if room == float("inf") else min(most, int(room / flow + 1e-9))


def _fits(prepared: Prepared) -> list[Line | Table]:
    """How many units of each model fit in each arrangement, and what keeps the others out."""
    site = prepared.site
    show = show_for(site)
    used = [(code, name) for code, name in enumerate(ARRANGEMENTS) if name in site.limits.arrangements]
    rows = []
    reasons: dict[str, list[str]] = {}
    for row, unit in enumerate(site.catalog.units):
        rows.append((unit.model, *(_fit_text(prepared, row, code) for code, _ in used)))
        for one in broken_by_unit(site=site, unit=unit):
            reason = f"{one.limit} {limit_value(one.got, one.unit, show)}"
            reasons.setdefault(reason, []).append(unit.model)
        if prepared.fitted[row].derived:
            reasons.setdefault("derived from a class curve", []).append(unit.model)
    headings = ("units that fit", *(name for _, name in used))
    return [
        Table(headings, tuple(rows), frozenset(range(1, len(used) + 1))),
        *(Line(f"{reason}: {', '.join(models)}") for reason, models in reasons.items()),
    ]


def _fit_text(prepared: Prepared, row: int, code: int) -> str:
    most = units_that_fit(prepared=prepared, row=row, arrangement=code)
    connection = prepared.connections.get((row, code))
    if connection is None:
        return "-"
    if connection.flow_fraction <= 0.0:
        return "static"
    if connection.flow_fraction < 1.0 and most:
        return f"{most} at {100.0 * connection.flow_fraction:.0f} %"
    return str(most)


def defaults_screen(*, site: Site, effects: DefaultEffects) -> Screen:
    """Write the defaults in use, those that matter most to the existing system first.

    Args: site; effects of its defaults.
    Returns: lines and tables.
    """
    show = show_for(site)
    base = effects.base
    screen: list[Line | Table] = [
        Line(title(site, WIDTH), "bold"),
        Line(f"Defaults: {rests_on(site)}"),
        Line(
            f"Existing system with all defaults: {base.hours_above:,} h/year above, "
            f"{show(base.costs.annual_operating, 'money_per_year')}. Each default at its low and its high, one "
            f"at a time ({plural(effects.simulated, 'year')} simulated): hours above, and what the yearly cost moves by"
        ),
    ]
    rows = []
    rest: list[Assumption] = []
    small: list[str] = []
    shown: list[Assumption] = []
    for effect in effects.effects:
        one = effect.assumption
        if effect.low is None and effect.high is None:
            rest.append(one)
            continue
        if effect.hours_spread < 1 and effect.cost_spread < 1.0:
            small.append(one.key)
            continue
        low, high = (_outcome(outcome, base.hours_above) for outcome in (effect.low, effect.high))
        rows.append((f"{low} to {high}", f"{effect.cost_spread:,.0f}", one.key, _range(one, show)))
        shown.append(one)
    headings = ("h/year above", f"{show.currency}/year", "default", "value (low to high)")
    screen.append(Table(headings, tuple(rows), frozenset({0, 1})))
    if small:
        screen.append(Line(f"Less than 1 h and 1 {show.currency} a year: {', '.join(small)}"))
    screen += [Line(""), Line("How to find yours:", "bold")]
    screen += [Line(f"{one.key}: {one.find}") for one in shown]
    if rest:
        screen += [Line(""), Line("Words, choices, limits, and prices of new units; not simulated:", "bold")]
        screen += [
            Line(f"{one.key} = {_range(one, show)}" + (f": {one.find}" if one.find else "")) for one in rest
        ]
    return tuple(screen)


def _outcome(outcome: Outcome | None, base: int) -> str:
    return f"{base:,}" if outcome is None else f"{outcome.hours_above:,}"


def _range(one: Assumption, show: Show) -> str:
    """Value of an assumption in the reader's units, with low and high where they differ."""
    if isinstance(one.value, str):
        return f'"{one.value}"'
    value = _value(one.value, one, show)
    if one.low is None or one.high is None or one.low == one.high:
        return value
    number, _, unit = value.partition(" ")
    low, high = (_value(end, one, show).removesuffix(unit).strip() for end in (one.low, one.high))
    return f"{number} ({low} to {high}) {unit}".strip()


def _value(value: float, one: Assumption, show: Show) -> str:
    unit = one.unit
    if unit == show.currency:
        return show(value, "money")
    if unit == f"{show.currency}/J":
        return show(value, price_dimension(one.key), 3)
    dimension = dimension_by(key=one.key, unit=unit)
    if dimension is not None:
        return show(value, dimension, 3)
    return f"{value:g} {unit}".strip()


def catalog_screen(*, catalog: Catalog, fitted: tuple[FittedUnit, ...], show: Show) -> Screen:
    """Write what was read from a catalogue.

    Args: catalog; fitted, its units; show.
    Returns: lines and tables.
    """
    rate_unit = display_unit("moisture_rate", show.units)
    by_energy = display_unit("specific_removal", show.units)
    screen: list[Line | Table] = [
        Line(
            f"{catalog.folder}: {plural(len(catalog.units), 'unit')}"
            + (", invented curves and prices, not for a bid" if catalog.invented else ""),
            "bold",
        ),
        Line("No faults found.", "bold"),
        Line(
            f"{rate_unit} and {by_energy}: removal at {show(RATING_DRY_BULB, 'temperature')}, "
            f"{show(RATING_RELATIVE_HUMIDITY, 'fraction')} RH, {RATING_PRESSURE:,.0f} Pa; error: the worst of the "
            f"unit's rating rows; {show.currency}: price"
        ),
    ]
    rows = tuple(_catalog_row(one, show) for one in fitted)
    headings = ("model", "technology", "rows", rate_unit, by_energy, "error", show.currency)
    screen.append(Table(headings, rows, frozenset({2, 3, 4, 5, 6})))
    screen += [Line(f"Derived: {text}") for text in _derived(fitted)]
    return tuple(screen)


def _derived(fitted: tuple[FittedUnit, ...]) -> list[str]:
    return [
        f"{one.unit.model}, from the class curve of its technology: {one.low:.2f} to {one.high:.2f} of the removal "
        "shown"
        for one in fitted
        if one.derived
    ]


def _catalog_row(one: FittedUnit, show: Show) -> tuple[str, ...]:
    unit: Unit = one.unit
    rating = rate(
        fitted=one,
        dry_bulb=RATING_DRY_BULB,
        relative_humidity=RATING_RELATIVE_HUMIDITY,
        pressure=RATING_PRESSURE,
    )
    errors = [abs(value) for row in one.row_errors for value in (row.removal, row.power, row.gas)]
    return (
        unit.model,
        unit.technology,
        str(len(unit.ratings)),
        show(rating.removal, "moisture_rate", 3).partition(" ")[0] if rating.runs else "off",
        show.per_kwh(rating.specific_removal * 3.6e6).partition(" ")[0] if rating.runs else "",
        f"{100.0 * max(errors):.1f} %",
        f"{unit.price:,.0f}",
    )
