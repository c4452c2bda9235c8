"""The screen of `rate`: what one unit does to the air, state by state."""

from __future__ import annotations

from selector.physics.fit import FittedUnit
from selector.physics.moist_air import dew_point
from selector.physics.rating import Rating, State
from selector.report.figures import BAROMETER, text, unit_of_figure
from selector.report.rate_json import INVENTED
from selector.report.terminal import Line, Screen, Table
from selector.report.text import Show


def rate_screen(*, fitted: FittedUnit, rating: Rating, show: Show, invented: bool) -> Screen:
    """Write what a unit does to one entering state, and how well its curve meets its rating rows.

    Args: fitted; rating of it; show; invented, whether curve and price are examples.
    Returns: lines and tables.
    """
    unit = fitted.unit
    title = f"{unit.model}, {unit.technology}" + (f", {INVENTED}" if invented else "")
    screen: list[Line | Table] = [Line(title, "bold")]
    if rating.runs:
        screen.append(Line(_answer(rating, show), "bold"))
    else:
        screen.append(Line("Does not run on this air.", "bold"))
    screen += [Line(f"Note: {warning}") for warning in rating.warnings]
    screen.append(Line(""))
    states = _states(rating, show)
    screen.append(
        Table(
            ("air", "dry bulb", "RH", "dew point", "humidity ratio"),
            states,
            frozenset({1, 2, 3, 4}),
        )
    )
    if rating.apparatus_dew_point is not None:
        screen.append(Line(f"Apparatus dew point {show(rating.apparatus_dew_point, 'temperature')}"))
    pressure = f"{text(rating.pressure, BAROMETER, show.units)} {unit_of_figure(BAROMETER, show.units)}"
    screen.append(
        Line(
            f"Pressure {pressure}; airflow {show(unit.airflow, 'airflow', 3)} at "
            f"the entering state, {show(rating.flow, 'moisture_rate', 3)} of dry air"
        )
    )
    screen += [Line(""), *_rows(fitted, show)]
    return tuple(screen)


def _answer(rating: Rating, show: Show) -> str:
    words = [
        f"Removes {show(rating.removal, 'moisture_rate', 3)} with {show(rating.power, 'electric_power', 3)}"
    ]
    if rating.derived:
        words[0] = (
            f"Removes {show(rating.removal, 'moisture_rate', 3)} (derived: "
            f"{show(rating.removal_low, 'moisture_rate', 3)} to {show(rating.removal_high, 'moisture_rate', 3)}) with "
            f"{show(rating.power, 'electric_power', 3)}"
        )
    if rating.gas > 0.0:
        words.append(f"and {show(rating.gas, 'power', 3)} of gas")
    words.append(f"= {show.per_kwh(rating.specific_removal * 3.6e6)}")
    return " ".join(words)


def _states(rating: Rating, show: Show) -> tuple[tuple[str, ...], ...]:
    named: list[tuple[str, State | None]] = [
        ("entering", rating.entering),
        ("after the pre-cooler", rating.precooled),
        ("leaving the evaporator", rating.evaporator_leaving),
        ("reactivation air, heated", rating.reactivation),
        ("reactivation exhaust", rating.exhaust),
        ("leaving", rating.leaving if rating.runs else None),
    ]
    return tuple(
        (
            name + (" (mist)" if state.mist > 0.0 else ""),
            show(state.dry_bulb, "temperature"),
            show(state.relative_humidity, "fraction"),
            show(float(dew_point(state.dry_bulb, state.humidity_ratio, rating.pressure)), "temperature"),
            show.ratio(state.humidity_ratio),
        )
        for name, state in named
        if state is not None
    )


def error_text(share: float) -> str:
    """Write an error with its sign; what rounds to nothing has none.

    >>> error_text(0.013), error_text(-0.0004)
    ('+1.3 %', '0.0 %')

    Args: share, 0 to 1. Returns: text.
    """
    shown = f"{100.0 * share:+.1f} %"
    return "0.0 %" if shown in ("+0.0 %", "-0.0 %") else shown


def _rows(fitted: FittedUnit, show: Show) -> list[Line | Table]:
    unit = fitted.unit
    gas = any(row.gas > 0.0 for row in unit.ratings)
    headings = ["dry bulb", "RH", "removal", "error", "power", "error", *(("gas", "error") if gas else ())]
    rows = []
    for row, error in zip(unit.ratings, fitted.row_errors, strict=True):
        cells = [
            show(row.dry_bulb, "temperature"),
            show(row.relative_humidity, "fraction"),
            show(row.removal, "moisture_rate", 3),
            error_text(error.removal),
            show(row.power, "electric_power", 3),
            error_text(error.power),
        ]
        if gas:
            cells += [show(row.gas, "power", 3), error_text(error.gas)]
        rows.append(tuple(cells))
    what = "derived from the class curve of its technology" if fitted.derived else "fitted to its rating rows"
    return [
        Line(f"Curve {what}; error: how far it lies above a row"),
        Table(tuple(headings), tuple(rows), frozenset(range(len(headings)))),
    ]
