"""The commissioning sheet as text, as rows for a table or a spreadsheet, and as CSV."""

from __future__ import annotations

import os
from collections.abc import Sequence
from functools import partial

from selector.decide.commissioning import CommissioningSheet, UnitSheet
from selector.decide.readings import Quantity, Reading, ReadingsAt, Tolerance
from selector.report import figures as f
from selector.report.cautions import DEFER, cautions
from selector.report.figures import Cell, Figure, Units, csv_text, marked
from selector.report.lines import LABEL, labelled, marks, rests_on
from selector.report.schedule_text import design_hour_texts, hot_texts, sheet_head, span_of
from selector.report.sequence_text import control_sequence
from selector.report.terminal import Line, Screen, Table
from selector.report.text import Show, clean, command, show_for

READ = "read"
BLANK = "_____"
DRY = 0.10  # relative humidity below which a probe says little

READINGS: dict[Quantity, tuple[str, Figure]] = {
    "entering dry bulb": ("entering dry bulb", f.TEMPERATURE),
    "entering relative humidity": ("entering RH", f.SHARE),
    "entering dew point": ("entering dew point", f.TEMPERATURE),
    "leaving dry bulb": ("leaving dry bulb", f.TEMPERATURE),
    "leaving relative humidity": ("leaving RH", f.SHARE),
    "leaving dew point": ("leaving dew point", f.TEMPERATURE),
    "airflow": ("airflow", f.AIRFLOW),
    "static pressure": ("static pressure", f.PRESSURE),
    "removal": ("removal", f.REMOVAL),
    "condensate flow": ("condensate", f.CONDENSATE),
    "power": ("power", f.POWER),
    "gas": ("gas", f.GAS),
    "current": ("current", f.CURRENT),
}
HEADINGS = (
    "tag", "model", "condition", "cooling coil", "reading", "expected", "lowest", "highest", READ, "range rests on",
)  # fmt: skip


def commissioning_rows(sheet: CommissioningSheet) -> tuple[tuple[Cell, ...], ...]:
    """The readings as a table for a spreadsheet: one row a reading, its unit behind its name.

    Args: sheet.
    Returns: headings, then rows, text or numbers in the unit of their `reading`; `read` is left empty to be filled in.
    """
    units = sheet.schedule.site.display_units
    rows: list[tuple[Cell, ...]] = []
    for one in sheet.sheets:
        for at in one.conditions:
            for reading in at.readings:
                name, figure = READINGS[reading.quantity]
                rows.append(
                    (
                        span_of(one.tags),
                        clean(one.row.unit.model),
                        at.condition,
                        at.coil,
                        f.heading(name, figure, units),
                        f.number(reading.expected, figure, units),
                        f.number(reading.low, figure, units),
                        f.number(reading.high, figure, units),
                        "",
                        reading.basis,
                    )
                )
    return (HEADINGS, *rows)


def commissioning_csv(sheet: CommissioningSheet) -> str:
    """The readings as CSV.

    Args: sheet. Returns: text, a line a reading, with `marks` of the site.
    """
    return csv_text(marked(commissioning_rows(sheet), marks(sheet.schedule.site)))


def sequence_rows(sheet: CommissioningSheet) -> tuple[tuple[Cell, ...], ...]:
    """The control sequence as a table for a spreadsheet.

    Args: sheet. Returns: headings, then a row for each step.
    """
    steps = enumerate(control_sequence(sheet), start=1)
    return (("step", "topic", "what happens"), *((float(place), one.topic, one.text) for place, one in steps))


def commissioning_screen(sheet: CommissioningSheet, *, answer: str) -> Screen:
    """The sheet as text of 80 columns.

    Args: sheet; answer, how the design came about, as "chosen: optimal".
    Returns: lines and tables.
    """
    schedule = sheet.schedule
    site, show = schedule.site, show_for(schedule.site)
    screen = sheet_head(schedule, "Sheet", "commissioning", answer)
    if not sheet.sheets:
        screen.append(_line("Units", "none: nothing is installed, so there is nothing to commission"))
        screen.append(_line("Defaults", rests_on(site)))
        return tuple(screen)
    screen += [_line("Design hour", text) for text in design_hour_texts(schedule, show)]
    screen += [_line("How", text) for text in procedure(sheet)]
    for one in sheet.sheets:
        screen += [Line(""), *_readings(one, show)]
    screen += [
        Line(""),
        Line("Where the ranges come from: the root of the sum of squares of what takes part", "bold"),
    ]
    screen += [_tolerances(sheet.tolerances, show.units), *(Line(text) for text in tolerance_notes(sheet))]
    screen += [Line(""), Line("Control sequence", "bold")]
    screen += [
        Line(f"{place:>2}  {step.topic}: {step.text}", indent=4)
        for place, step in enumerate(control_sequence(sheet), start=1)
    ]
    screen += [Line(""), Line("Cautions", "bold")]
    screen += [Line(f"{topic}: {text}") for topic, text in sheet_cautions(sheet)]
    screen += [Line(DEFER), Line(""), _line("Defaults", rests_on(site))]
    screen.append(_line("Other air", rate_command(sheet)))
    return tuple(screen)


def _line(label: str, text: str) -> Line:
    return Line(labelled(label, text), indent=LABEL)


def procedure(sheet: CommissioningSheet) -> tuple[str, ...]:
    """How to take the readings.

    Args: sheet, with units. Returns: texts.
    """
    texts = [
        "Readings are of one unit at full, steady: after 20 min with a wet coil, 30 min with a rotor. Entering air at "
        "the unit's intake; leaving air in the duct where it is well mixed, or as the mean of five points across it.",
        "Compare with the column whose entering air is nearest; between two columns expect a reading in between.",
        "Voltage at the unit's terminals within 10 % of the nameplate's before current is judged (common practice, no "
        "source).",
    ]
    if any(at.duty.condensate > 0.0 for at in _all(sheet)):
        texts.append(
            "Condensate by cup and watch over at least 15 min is the best check of removal; "
            f"removal from two air states and an airflow may be off by {_air_side(sheet)}."
        )
    if any(met.duty.surface < 0.0 and met.duty.condensate > 0.0 for met in _all(sheet)):
        texts.append(
            "Where the coil's surface is below freezing the unit defrosts: take means over whole defrost cycles."
        )
    if any(met.duty.leaving.relative_humidity < DRY for met in _all(sheet)):
        texts.append(
            f"Below {100.0 * DRY:.0f} % a relative-humidity probe says little: read the leaving "
            "dew point with a dew-point meter."
        )
    return tuple(texts)


def _all(sheet: CommissioningSheet) -> list[ReadingsAt]:
    return [at for one in sheet.sheets for at in one.conditions]


def _air_side(sheet: CommissioningSheet) -> str:
    shares = [
        100.0 * at.air_side for at in _all(sheet) if at.air_side is not None and at.duty.condensate > 0.0
    ]
    low, high = min(shares), max(shares)
    return f"{low:.0f} %" if round(low) == round(high) else f"{low:.0f} to {high:.0f} %"


def rate_command(sheet: CommissioningSheet) -> str:
    """The command that gives the figures for other entering air.

    Args: sheet, with units. Returns: command for the first unit, at the design hour's entering air.
    """
    site = sheet.schedule.site
    row = sheet.sheets[0].row
    air = row.design.met[0].duty.entering
    show = show_for(site)
    return command(
        "rate", os.path.normpath(site.catalog.folder), row.unit.model, "--dry-bulb", show(air.dry_bulb, "temperature"),
        "--relative-humidity", show(air.relative_humidity, "fraction"), "--pressure",
        f"{row.design.pressure / 1000.0:.2f} kPa", "--units", site.display_units,
    )  # fmt: skip


def _readings(sheet: UnitSheet, show: Show) -> list[Line | Table]:
    """A table of one kind of unit: a column for each condition, and one to write in."""
    units = show.units
    unit = sheet.row.unit
    if not sheet.conditions:
        return [
            Line(f"{span_of(sheet.tags)}: {clean(unit.model)}, {sheet.row.arrangement}", "bold"),
            Line(
                "No reading: no air passes against its static, or none that it meets lies within its range."
            ),
        ]
    heads = [_heads(at) for at in sheet.conditions]
    rows: list[tuple[str, ...]] = []
    if any(second for _, second in heads):
        rows.append(("cooling coil", *(second for _, second in heads), ""))
    for quantity, (name, figure) in READINGS.items():
        cells = [_cell(at, quantity, figure, units) for at in sheet.conditions]
        if any(cells):
            rows.append((f.heading(name.removesuffix(" pressure"), figure, units), *cells, BLANK))
    each = f"{len(sheet.tags)} units, one sheet each; " if len(sheet.tags) > 1 else ""
    lines: list[Line | Table] = [
        Line(
            f"{span_of(sheet.tags)}: {clean(unit.model)}, {sheet.row.arrangement}; {each}{unit.voltage:g} V, "
            f"{unit.phases} ph, nameplate {unit.current:g} A",
            "bold",
        ),
        Table(
            ("expected", *(first for first, _ in heads), READ),
            tuple(rows),
            frozenset(range(1, len(heads) + 1)),
        ),
    ]
    lines += [Line(text) for text in _notes(sheet, show)]
    return lines


def _heads(at: ReadingsAt) -> tuple[str, str]:
    """Heading of a column, and what the cooling coil does in it."""
    first = {"design hour": "design", "standard condition": "standard", "cool and dry": "cool, dry"}
    return first[at.condition], at.coil.removeprefix("coil ")


def _cell(at: ReadingsAt, quantity: Quantity, figure: Figure, units: Units) -> str:
    found = next((reading for reading in at.readings if reading.quantity == quantity), None)
    if found is None:
        return ""
    return f.plus_minus(found.expected, _width(found), figure, units)


def _width(reading: Reading) -> float:
    """The wider side of a range: a bound at 0 or at 100 % cuts the other."""
    return max(reading.high - reading.expected, reading.expected - reading.low)


def _notes(sheet: UnitSheet, show: Show) -> list[str]:
    """What a technician has to know about one kind of unit."""
    row = sheet.row
    most = row.unit.fan_static
    notes = [
        f"Static is pressure at the unit's discharge collar above that at its intake; up to "
        f"{f.text(most, f.PRESSURE, show.units)} {f.unit_of_figure(f.PRESSURE, show.units)} its fan holds the airflow."
    ]
    if row.connection.flow_fraction < 1.0:
        notes.append(
            f"Against this static {100.0 * row.connection.flow_fraction:.0f} % of the rated airflow is left."
        )
    notes += [f"{text[:1].upper()}{text[1:]}." for text in hot_texts(row, show)]
    if row.unit.technology == "desiccant":
        air = "outdoors" if row.unit.reactivation_air == "outdoor" else "the space"
        notes.append(
            f"Reactivation air from {air}: in the design hour as it is then, in the other columns at the entering "
            "state. No condensate: moisture leaves with the reactivation exhaust."
        )
    if row.derived:
        notes.append(
            f"Derived: its curve is that of its class; removal may be {row.low:.2f} to {row.high:.2f} of what is "
            "shown, which the ranges include."
        )
    notes.append(
        f"The curve meets this unit's own rating rows within {100.0 * sheet.rating_error:.1f} %, which the ranges "
        "include."
    )
    if row.design.basis != "design week":
        notes.append("The design week does not call this unit; its design column is of another hour.")
    return notes


def _tolerances(tolerances: Sequence[Tolerance], units: Units) -> Table:
    rows = tuple((one.name, tolerance_text(one, units)) for one in tolerances)
    return Table(("what", "by"), rows, frozenset({1}))


def tolerance_notes(sheet: CommissioningSheet) -> tuple[str, ...]:
    """Say what the tolerances rest on.

    Args: sheet. Returns: texts.
    """
    by_source: dict[str, int] = {}
    for one in sheet.tolerances:
        by_source[one.source] = by_source.get(one.source, 0) + 1
    sources = "; ".join(
        f"{count} of {len(sheet.tolerances)}: {source}" for source, count in by_source.items()
    )
    return (
        f"Sources, {sources}. The instruments' own papers and the contract's tolerances go before these.",
        "Expected readings are worked out anew for entering air that much warmer and that much moister, for that much "
        "more air, and for a unit that far from its rating; what each of them moves is joined with the instrument.",
    )


def tolerance_text(tolerance: Tolerance, units: Units) -> str:
    """Write one tolerance in the reader's units.

    Args: tolerance; units. Returns: text.
    """
    write = partial(f.difference, value=tolerance.value, units=units)
    if tolerance.unit == "K":
        return f"±{write(figure=f.DIFFERENCE):.1f} {f.unit_of_figure(f.DIFFERENCE, units)}"
    if tolerance.unit == "Pa":
        places = f.decimals(f.PRESSURE, units)
        return f"±{write(figure=f.PRESSURE):.{places}f} {f.unit_of_figure(f.PRESSURE, units)}"
    if tolerance.unit == "share":
        return f"±{100.0 * tolerance.value:.0f} %"
    return f"±{100.0 * tolerance.value:.0f} points"


def sheet_cautions(sheet: CommissioningSheet) -> tuple[tuple[str, str], ...]:
    """What to look out for on site.

    Args: sheet. Returns: topic and text of each caution.
    """
    install = sheet.schedule.evaluation.install
    found = [
        (
            "live readings",
            "Current, voltage and power behind covers: qualified people, protective equipment, locked out before "
            "anything is connected.",
        )
    ]
    if any(one.row.unit.technology != "desiccant" for one in sheet.sheets):
        found.append(
            (
                "closed circuit",
                "No gauges on a sealed refrigerant circuit for these readings; none is needed.",
            )
        )
    if any(one.row.unit.technology == "desiccant" for one in sheet.sheets):
        found.append(
            ("hot surfaces", "Reactivation heater, ducts and exhaust burn; let them cool with fans on.")
        )
    return (*found, *((one.topic, one.text) for one in cautions(site=sheet.schedule.site, install=install)))
