"""The equipment schedule as text, as rows for a table or a spreadsheet, and as CSV.

In rows every unit has one of its own; on the screen units that are alike share a column, as 80 columns hold no more.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from selector.decide.duty import DesignHourOfUnit, Met
from selector.decide.hot_air import highest_leaving
from selector.decide.schedule import Schedule, ScheduleRow, SetPoint, kinds_of
from selector.inputs.site import Arrangement, Site
from selector.report import figures as f
from selector.report.cautions import DEFER, cautions
from selector.report.figures import Cell, Figure, Units, csv_text, marked
from selector.report.lines import (
    ASK,
    LABEL,
    broken_text,
    current_text,
    hot_limit_text,
    labelled,
    marks,
    rests_on,
    standard_condition,
    title,
)
from selector.report.terminal import Line, Screen, Table
from selector.report.text import (
    PLACES,
    WIDTH,
    Show,
    clean,
    design_text,
    fit,
    hour_text,
    plural,
    show_for,
    weekday_text,
)

SIDE_BY_SIDE = 2  # kinds of unit in one table of the screen
NAME_WIDTH = 19
ELECTRICIAN = "to be verified by a licensed electrician"

Value = Callable[[ScheduleRow], Cell]
Entry = tuple[str, Figure | None, Value]  # name; figure, None for words; SI value, "" for nothing


def largest(hour: DesignHourOfUnit) -> Met:
    """What a unit meets for most of its design hour.

    Args: hour. Returns: `Met` with the largest share.
    """
    return max(hour.met, key=lambda met: met.share)


def _second(hour: DesignHourOfUnit) -> Met | None:
    """What it meets for the rest of it, where there is such a thing."""
    most = largest(hour)
    return next((met for met in hour.met if met is not most), None)


def _of_second(read: Callable[[Met], Cell]) -> Value:
    def value(row: ScheduleRow) -> Cell:
        second = _second(row.design)
        return "" if second is None else read(second)

    return value


def _optional(value: float) -> Cell:
    return value if value > 0.0 else ""


def _entries(schedule: Schedule) -> tuple[Entry, ...]:
    """Every column of the schedule."""
    site = schedule.site
    return (
        ("tag", None, lambda row: row.tag),
        ("model", None, lambda row: clean(row.unit.model)),
        ("technology", None, lambda row: row.unit.technology),
        ("service", None, lambda row: clean(site.name)),
        ("arrangement", None, lambda row: row.arrangement),
        ("control stage", None, lambda row: f"{row.stage} of {row.stages}"),
        ("airflow", f.AIRFLOW, lambda row: row.airflow),
        ("rated airflow", f.AIRFLOW, lambda row: row.unit.airflow),
        ("external static, taps and duct", f.PRESSURE, lambda row: row.connection.static),
        ("external static, fan's limit", f.PRESSURE, lambda row: row.unit.fan_static),
        ("duct diameter", f.SIZE, lambda row: _optional(row.connection.diameter)),
        ("design hour", None, lambda row: hour_of(row.design, site)),
        ("design, cooling coil", None, lambda row: largest(row.design).coil),
        ("design, share of running time", f.SHARE, lambda row: largest(row.design).share),
        ("design, entering dry bulb", f.TEMPERATURE, lambda row: largest(row.design).duty.entering.dry_bulb),
        (
            "design, entering RH",
            f.SHARE,
            lambda row: largest(row.design).duty.entering.relative_humidity,
        ),
        (
            "design, entering dew point",
            f.TEMPERATURE,
            lambda row: largest(row.design).duty.entering.dew_point,
        ),
        ("design, removal", f.REMOVAL, lambda row: largest(row.design).duty.removal),
        ("design, power", f.POWER, lambda row: largest(row.design).duty.power),
        ("design, gas", f.GAS, lambda row: _optional(largest(row.design).duty.gas)),
        ("design, removal by energy", f.SPECIFIC, lambda row: largest(row.design).duty.specific_removal),
        ("other coil state", None, _of_second(lambda met: met.coil)),
        ("other, share of running time", f.SHARE, _of_second(lambda met: met.share)),
        ("other, entering dry bulb", f.TEMPERATURE, _of_second(lambda met: met.duty.entering.dry_bulb)),
        ("other, entering RH", f.SHARE, _of_second(lambda met: met.duty.entering.relative_humidity)),
        ("other, removal", f.REMOVAL, _of_second(lambda met: met.duty.removal)),
        ("design, mean removal", f.REMOVAL, lambda row: row.design.removal),
        ("standard, entering dry bulb", f.TEMPERATURE, lambda row: row.standard.entering.dry_bulb),
        ("standard, entering RH", f.SHARE, lambda row: row.standard.entering.relative_humidity),
        ("standard, removal", f.REMOVAL, lambda row: row.standard.removal),
        ("standard, power", f.POWER, lambda row: row.standard.power),
        ("standard, gas", f.GAS, lambda row: _optional(row.standard.gas)),
        ("standard, removal by energy", f.SPECIFIC, lambda row: row.standard.specific_removal),
        ("voltage", f.VOLTAGE, lambda row: row.unit.voltage),
        ("phases", f.COUNT, lambda row: float(row.unit.phases)),
        ("nameplate current", f.CURRENT, lambda row: row.unit.current),
        ("least conductor ampacity", f.CURRENT, lambda row: rounded_up(row.circuit.ampacity)),
        ("breaker", f.RATING, lambda row: float(row.circuit.breaker or 0) or ""),
        ("breaker poles", f.COUNT, lambda row: float(row.circuit.poles)),
        ("circuit", None, lambda row: ELECTRICIAN),
        ("weight", f.MASS, lambda row: row.unit.weight),
        ("length", f.SIZE, lambda row: row.unit.length),
        ("width", f.SIZE, lambda row: row.unit.width),
        ("height", f.SIZE, lambda row: row.unit.height),
        ("drain", None, drain_text),
        ("condensate, design hour", f.REMOVAL, condensate),
        ("controls", None, lambda row: controls_text(row, schedule.set_points, show_for(site))),
        ("sound", f.SOUND, lambda row: row.unit.sound),
        ("derived", None, derived_text),
    )


def rounded_up(ampacity: float) -> float:
    """Round a least ampacity to the tenth above, since less is not enough.

    >>> rounded_up(11.25), rounded_up(28.5)
    (11.3, 28.5)

    Args: ampacity [A]. Returns: ampacity [A].
    """
    return math.ceil(10.0 * ampacity - 1e-9) / 10.0


def condensate(row: ScheduleRow) -> Cell:
    """Water that a unit's drain carries in the design hour.

    Args: row. Returns: flow [kg/s] of the wetter state, "" without condensate.
    """
    return _optional(max(met.duty.condensate for met in row.design.met))


def hour_of(hour: DesignHourOfUnit, site: Site) -> str:
    """Name a design hour.

    Args: hour; site. Returns: text, as "Wednesday 28 Jul 20:00".
    """
    when = f"{weekday_text(hour.hour, site.weather.first_weekday)} {hour_text(hour.hour)}"
    if hour.basis == "not called":
        return "runs in no hour"
    return when if hour.basis == "design week" else f"{when}, of the year"


def drain_text(row: ScheduleRow) -> str:
    """What becomes of a unit's water.

    Args: row. Returns: text.
    """
    if row.drain == "none":
        return "none: moisture leaves with the reactivation exhaust"
    return "gravity, trapped" if row.drain == "gravity" else "condensate pump"


def set_point_text(point: SetPoint, show: Show) -> str:
    """What the humidistat holds for one limit.

    Args: point; show. Returns: text, as "57.0 % RH".
    """
    return show.limited(point.kind, point.set_point)


def controls_text(row: ScheduleRow, points: Sequence[SetPoint], show: Show) -> str:
    """How a unit is called, in a few words.

    Args: row; points of the site; show. Returns: text.
    """
    words = [f"humidistat {' and '.join(set_point_text(point, show) for point in points)}"]
    words.append(f"stage {row.stage} of {row.stages}")
    words.append(INTERLOCKS[row.arrangement])
    return "; ".join(word for word in words if word)


INTERLOCKS: dict[Arrangement, str] = {
    "return-side": "with the air handler's fan",
    "supply-side": "with the air handler's fan",
    "coil-bypass": "with the air handler's fan; backdraft damper",
    "standalone": "",
    "outdoor-air": "with ventilation only",
}


def hot_texts(row: ScheduleRow, show: Show) -> tuple[str, ...]:
    """Warn of a refrigerant unit whose leaving air is hotter than its circuit is likely to bear.

    Args: row; show. Returns: a text, or none.
    """
    hottest = max(met.duty.leaving.dry_bulb for met in row.design.met)
    highest = highest_leaving(unit=row.unit)
    if hottest <= highest:
        return ()
    limit = hot_limit_text(highest, row.unit.highest_leaving_dry_bulb is not None, show)
    return (f"leaving air of {show(hottest, 'temperature')} in the design hour: above {limit}; {ASK}",)


def derived_text(row: ScheduleRow) -> str:
    """Mark a unit whose curve is that of its class.

    Args: row. Returns: text, "" for a fitted unit.
    """
    if not row.derived:
        return ""
    return f"derived: {row.low:.2f} to {row.high:.2f} of the removal shown"


def schedule_rows(schedule: Schedule) -> tuple[tuple[Cell, ...], ...]:
    """The schedule as a table for a spreadsheet: units in the headings, numbers below.

    Args: schedule.
    Returns: headings, then a row for each unit, text or a number in the heading's unit.
    """
    units = schedule.site.display_units
    entries = _entries(schedule)
    headings: tuple[Cell, ...] = tuple(f.heading(name, figure, units) for name, figure, _ in entries)
    return (
        headings,
        *(tuple(_cell(value(row), figure, units) for _, figure, value in entries) for row in schedule.rows),
    )


def schedule_rows_by_kind(schedule: Schedule) -> tuple[tuple[Cell, ...], ...]:
    """The same table turned, for paper: a row for each figure, a column for each kind of unit.

    Args: schedule.
    Returns: headings (tags), then rows: name with its unit, and text or a number for each kind; a row that is empty for
        all kinds is left out.
    """
    units = schedule.site.display_units
    kinds = kinds_of(rows=schedule.rows)
    rows: list[tuple[Cell, ...]] = [("tag", *(span_of(tags) for tags, _ in kinds))]
    for name, figure, value in _entries(schedule)[1:]:
        cells = tuple(_cell(value(row), figure, units) for _, row in kinds)
        if any(cell != "" for cell in cells):
            rows.append((f.heading(name, figure, units), *cells))
    return tuple(rows)


def _cell(value: Cell, figure: Figure | None, units: Units) -> Cell:
    if isinstance(value, str) or figure is None:
        return value
    return f.number(value, figure, units)


def schedule_csv(schedule: Schedule) -> str:
    """The schedule as CSV.

    Args: schedule. Returns: text, a line for each unit, with `marks` of the site.
    """
    return csv_text(marked(schedule_rows(schedule), marks(schedule.site)))


def schedule_screen(schedule: Schedule, *, answer: str) -> Screen:
    """The schedule as text of 80 columns.

    Args: schedule; answer, how the design came about, as "chosen: optimal".
    Returns: lines and tables.
    """
    show = show_for(schedule.site)
    screen = sheet_head(schedule, "Schedule", "dehumidifiers", answer)
    if not schedule.rows:
        screen.append(_line("Units", "none: nothing is installed, so there is nothing to schedule"))
        screen.append(_line("Defaults", rests_on(schedule.site)))
        return tuple(screen)
    screen += [_line("Design hour", text) for text in design_hour_texts(schedule, show)]
    screen += [_line("Place", f"{name}: {PLACES[name]}") for name in _arrangements(schedule)]
    kinds = kinds_of(rows=schedule.rows)
    for start in range(0, len(kinds), SIDE_BY_SIDE):
        screen += [Line(""), _table(schedule, kinds[start : start + SIDE_BY_SIDE])]
    screen += [Line(""), *_foot(schedule, show)]
    return tuple(screen)


def sheet_head(schedule: Schedule, label: str, what: str, answer: str) -> list[Line | Table]:
    """First lines of a schedule's and of a commissioning sheet's screen.

    Args: schedule; label and what, the kind of sheet; answer, how the design came about.
    Returns: lines: the site, the sheet and its design, the limits that it breaks.
    """
    show = show_for(schedule.site)
    return [
        Line(title(schedule.site, WIDTH), "bold"),
        _line(label, f"{what}; {design_text(schedule.evaluation.install)}"),
        _line("Design", answer),
        *(_line("Broken", broken_text(one, show)) for one in schedule.evaluation.broken),
    ]


def _line(label: str, text: str) -> Line:
    return Line(labelled(label, text), indent=LABEL)


def _arrangements(schedule: Schedule) -> tuple[Arrangement, ...]:
    return tuple(dict.fromkeys(row.arrangement for row in schedule.rows))


def design_hour_texts(schedule: Schedule, show: Show) -> tuple[str, ...]:
    """Say which hours are design hours, and what air there is then.

    Args: schedule, with rows; show. Returns: a text for each hour.
    """
    hours: dict[tuple[int, str], list[tuple[tuple[str, ...], DesignHourOfUnit]]] = {}
    for tags, row in kinds_of(rows=schedule.rows):
        hours.setdefault((row.design.hour, row.design.basis), []).append((tags, row.design))
    texts = []
    for found in hours.values():
        hour = found[0][1]
        who = ", ".join(span_of(tags) for tags, _ in found)
        texts.append(
            (f"{who}: " if len(hours) > 1 else "")
            + f"{hour_of(hour, schedule.site)}; {_why(hour, schedule.percent)}; outdoors "
            f"{show(hour.outdoor.dry_bulb, 'temperature')}, dew point {show(hour.outdoor.dew_point, 'temperature')}; "
            f"space {show(hour.space.dry_bulb, 'temperature')}, {show(hour.space.relative_humidity, 'fraction')} RH"
        )
    return tuple(texts)


def _why(hour: DesignHourOfUnit, percent: float | None) -> str:
    if hour.basis == "design week":
        return f"most removal in the {percent:g} % dew-point design week"
    if hour.basis == "year":
        return "most removal in the year; the design week does not call the unit"
    return "shown on the air of the space in its most humid hour"


def _table(schedule: Schedule, kinds: Sequence[tuple[tuple[str, ...], ScheduleRow]]) -> Table:
    """Entries below each other, a column for each kind of unit."""
    units = schedule.site.display_units
    left_out = {
        "service", "arrangement", "design hour", "circuit", "controls", "derived", "drain", "length", "width", "height",
    }  # fmt: skip
    rows: list[tuple[str, ...]] = []
    for name, figure, value in _entries(schedule):
        if name in left_out or name == "tag":
            continue
        if name == "design, share of running time" and all(len(row.design.met) == 1 for _, row in kinds):
            continue
        if name == "rated airflow" and all(row.connection.flow_fraction == 1.0 for _, row in kinds):
            continue
        cells = tuple(_written(value(row), figure, units) for _, row in kinds)
        if any(cells):
            rows.append((f.heading(name, figure, units), *cells))
        if name == "model":
            rows.append(("arrangement", *(row.arrangement for _, row in kinds)))
        if name == "weight":
            rows.append(
                (
                    f.heading("length x width x height", f.SIZE, units),
                    *(
                        " x ".join(
                            f"{f.number(one, f.SIZE, units):.0f}"
                            for one in (row.unit.length, row.unit.width, row.unit.height)
                        )
                        for _, row in kinds
                    ),
                )
            )
            rows.append(("drain", *(row.drain for _, row in kinds)))
    headings = ("tag", *(span_of(tags) for tags, _ in kinds))
    return Table(headings, tuple(rows), frozenset(range(1, len(kinds) + 1)))


def _written(value: Cell, figure: Figure | None, units: Units) -> str:
    if isinstance(value, str):
        return fit(value, NAME_WIDTH)
    return f"{value:g}" if figure is None else f.text(value, figure, units)


def span_of(tags: Sequence[str]) -> str:
    """Name several units in a row.

    >>> span_of(("DH-1",)), span_of(("DH-1", "DH-2", "DH-3"))
    ('DH-1', 'DH-1 to DH-3')

    Args: tags, in order, without a gap. Returns: text.
    """
    return tags[0] if len(tags) == 1 else f"{tags[0]} to {tags[-1]}"


def _foot(schedule: Schedule, show: Show) -> list[Line | Table]:
    """What does not fit a column: controls, circuits, totals, cautions."""
    site, evaluation = schedule.site, schedule.evaluation
    lines: list[Line | Table] = []
    for tags, row in kinds_of(rows=schedule.rows):
        lines.append(_line("Controls", f"{span_of(tags)}: {controls_text(row, schedule.set_points, show)}"))
    for tags, row in kinds_of(rows=schedule.rows):
        if row.drain == "none":
            lines.append(_line("Drain", f"{span_of(tags)}: {drain_text(row)}"))
        if row.derived:
            lines.append(_line("Derived", f"{span_of(tags)}: {derived_text(row)}"))
        lines += [_line("Note", f"{span_of(tags)}: {text}") for text in hot_texts(row, show)]
        if row.connection.flow_fraction < 1.0:
            share = show(row.connection.flow_fraction, "fraction")
            lines.append(
                _line("Note", f"{span_of(tags)}: against its static {share} of the rated airflow is left")
            )
    series = ", ".join(dict.fromkeys(row.circuit.series for row in schedule.rows))
    lines.append(
        _line(
            "Circuit",
            f"one each, breaker the next rating of {series} at or above 125 % of the nameplate's current; a "
            f"nameplate that gives its own largest breaker governs; {ELECTRICIAN}",
        )
    )
    supplies = len({(row.unit.voltage, row.unit.phases) for row in schedule.rows})
    totals = [
        plural(len(schedule.rows), "unit"),
        current_text(evaluation, show) + (f" over {supplies} supplies" if supplies > 1 else ""),
        show(evaluation.weight, "mass", 3),
    ]
    if evaluation.sound is not None:
        totals.append(f"loudest {show(evaluation.sound, 'sound')}")
    lines.append(_line("Total", "; ".join(totals)))
    lines.append(
        _line("Standard", f"{standard_condition(show)}, rated airflow: selector rate shows the same")
    )
    lines.append(_line("Defaults", rests_on(site)))
    for caution in cautions(site=site, install=evaluation.install):
        lines.append(_line("Caution", f"{caution.topic}: {caution.text}"))
    lines.append(_line("", DEFER))
    return lines
