"""The screen of `sweep`: which design over which stretch, the switch-over points, then every step; in 80 columns."""

from __future__ import annotations

from selector.decide.sweep_results import Side, StepResult, Sweep
from selector.inputs.quantities import display_value
from selector.inputs.site import Install
from selector.report.cautions import short_cautions
from selector.report.lines import LABEL, labelled, rests_on, title
from selector.report.sweep_words import (
    Stretch,
    Values,
    held_texts,
    letters_of,
    none_text,
    spans_text,
    step_for,
    stretches,
    synthetic_text,
    title_of,
    values_of,
)
from selector.report.terminal import Line, Screen, Table
from selector.report.text import WIDTH, clean, command, design_text, fit, plural, show_for

MOST_STRETCHES = 9
Design = tuple[Install, ...]


def sweep_screen(*, sweep: Sweep, again: str) -> Screen:
    """Write a sweep.

    Args: sweep; again, the command that would run it again. Returns: lines and tables.
    """
    screen: list[Line | Table] = [Line(title(sweep.site, WIDTH), "bold")]
    values = tuple(
        values_of(site=sweep.site, variation=one, resolution=sweep.resolution) for one in sweep.variations
    )
    screen += [_asked(sweep, place, each) for place, each in enumerate(values)]
    if sweep.interrupted or not sweep.complete:
        screen.append(_line("STOPPED", _stopped(sweep), "bold"))
    if len(values) == 2:
        screen += _grid(sweep, values)
    elif sweep.steps:
        screen += _one_way(sweep, values[0])
    screen += _end(sweep, again)
    return tuple(screen)


def _line(label: str, text: str, style: str = "") -> Line:
    return Line(labelled(label, text), "bold" if style == "bold" else "", LABEL)


def _asked(sweep: Sweep, place: int, values: Values) -> Line:
    variation, now = sweep.variations[place], sweep.today[place]
    label = "Sweep" if place == 0 else "against"
    if variation.files:
        return _line(label, f"{title_of(variation)}: {plural(len(variation.files), 'file')}")
    low, high = variation.values[0], variation.values[-1]
    today = "" if now is None else f"; today {values.about(now)}"
    count = plural(len(variation.values), "step")
    return _line(label, f"{title_of(variation)}: {values(low)} to {values(high)}, {count}{today}")


def _stopped(sweep: Sweep) -> str:
    there = f"{len(sweep.steps)} of {plural(sweep.wanted, 'step')} finished and kept"
    if len(sweep.steps) == sweep.wanted:
        there = "every step is finished and kept, but not all between them was looked at"
    return f"{there}; the same command goes on from here"


def _one_way(sweep: Sweep, values: Values) -> list[Line | Table]:
    parts, letters = stretches(sweep), letters_of(sweep)
    lines: list[Line | Table] = []
    for place, one in enumerate(parts[:MOST_STRETCHES]):
        where = values(one.low)
        if one.high > one.low and not sweep.variations[0].files:
            where = f"{values(one.low, unit=False)} to {values(one.high)}"
        now = ", as today" if one.install is not None and one.install == sweep.now.install else ""
        text = f"{_named(sweep, one.install, letters)}{now}{_why_none(sweep, one)}"
        lines.append(_line("Answer" if place == 0 else "", f"{where}: {text}", "bold"))
    if len(parts) > MOST_STRETCHES:
        lines.append(_line("", f"and {len(parts) - MOST_STRETCHES} more stretches: see the points below"))
    lines += _today(sweep, values)
    if sweep.switches:
        lines += [Line(""), *_switches(sweep, values, letters)]
    return [*lines, Line(""), _steps(sweep, values, letters), Line("")]


def _why_none(sweep: Sweep, stretch: Stretch) -> str:
    """What the nearest design breaks where none is possible."""
    if stretch.install is not None:
        return ""
    for step in sweep.steps:
        if stretch.low <= step.values[0] <= stretch.high and step.closest is not None and step.closest.broken:
            return f"; the nearest breaks the limit on {clean(step.closest.broken[0])}"
    return ""


def _named(sweep: Sweep, install: Design | None, letters: dict[Design, str]) -> str:
    """A design with its letter."""
    if install is None:
        return none_text(sweep=sweep).upper()
    return f"{letters[install]} {design_text(install)}" if install else "install nothing"


def _today(sweep: Sweep, values: Values) -> list[Line | Table]:
    """How far today's design and system are good, and where they run out."""
    if sweep.resolution is None or sweep.interrupted:
        return []
    lines: list[Line | Table] = []
    if sweep.now.install is None:
        lines.append(_line("Today", "no design is possible at today's value"))
    elif sweep.now.install:
        text = spans_text(sweep.staying_holds, values)
        lines.append(_line("Today's", f"{design_text(sweep.now.install)}: keeps every limit {text}"))
    alone = spans_text(sweep.existing_holds, values) + _below(sweep, values)
    lines.append(_line("Existing", f"system alone, nothing installed: keeps every limit {alone}"))
    lines.append(_line("", f"its cooling runs out {_runs_out(sweep, values, cooling=True)}"))
    lines.append(_line("", f"its heating runs out {_runs_out(sweep, values, cooling=False)}"))
    return lines


def _below(sweep: Sweep, values: Values) -> str:
    """How far the system alone is good with less outdoor air than the range has."""
    none = sweep.existing_at_none
    if sweep.existing_below is None or none is None:
        return ""
    if sweep.existing_below:
        return f"; below it {spans_text(sweep.existing_below, values)}"
    hours = plural(none.hours_above, "hour")
    return f", nor with less: {hours} a year above at {values(0.0)}"


def _runs_out(sweep: Sweep, values: Values, *, cooling: bool) -> str:
    spans = sweep.short_cooling if cooling else sweep.short_heating
    text = spans_text(spans, values)
    if not spans:
        return text
    ends = []
    for step in (sweep.steps[0], sweep.steps[-1]):
        hours = step.existing.short_cooling_hours if cooling else step.existing.short_heating_hours
        ends.append(f"{hours:,} h/year at {values(step.values[0])}")
    return f"{text}: {', '.join(ends)}"


def _money(value: float | None) -> str:
    return "-" if value is None else f"{value:,.0f}"


def _switches(sweep: Sweep, values: Values, letters: dict[Design, str]) -> list[Line | Table]:
    code = sweep.site.costs.currency
    headings = (values.unit or "at", "chosen", f"life-cycle {code}", f"the other's {code}")
    sides = [pair for one in sweep.switches for pair in ((one.low, one.high), (one.high, one.low))]
    figures = [
        (values(side.value, unit=False), _money(side.cost), _rival(side, other)) for side, other in sides
    ]
    heads = (headings[0], *headings[2:])
    taken = sum(max(len(row[place]) for row in (heads, *figures)) + 2 for place in range(len(heads)))
    rows = [
        (value, fit(_named(sweep, side.install, letters), WIDTH - taken), cost, rival)
        for (side, _), (value, cost, rival) in zip(sides, figures, strict=True)
    ]
    assert sweep.resolution is not None  # there are switches
    low = sweep.variations[0].values[0]
    shown = [
        display_value(one, values.variation.dimension, values.show.units)
        for one in (low, low + sweep.resolution)
    ]
    gap = f"{shown[1] - shown[0]:.2g} {values.unit}".strip()
    text = f"Switch-over points, both sides chosen for in full and at most {gap} apart"
    if not all(side.proved for one in sweep.switches for side in (one.low, one.high)):
        text += ", not all proved"
    return [Line(f"{text}:"), Table(headings, tuple(rows), frozenset({0, 2, 3}))]


def _rival(side: Side, other: Side) -> str:
    """What the other side's design costs here, and whether it keeps the limits."""
    if other.install is None or side.other is None:
        return _money(None)
    return f"{_money(side.other.life_cycle)}{'' if side.other.feasible else ' not held'}"


def _steps(sweep: Sweep, values: Values, letters: dict[Design, str]) -> Table:
    code = sweep.site.costs.currency
    show = show_for(sweep.site)
    variation = sweep.variations[0]
    amount, _ = step_for(site=sweep.site, variation=variation)
    rows = []
    for place, step in enumerate(sweep.steps):
        shown = step.best or step.closest
        more = sweep.marginal(place) if variation.is_continuous and place + 1 < len(sweep.steps) else None
        row = [
            values(step.values[0], unit=False),
            letters[step.best.install] if step.best is not None else "none",
            _money(None if step.best is None else step.best.first),
            _money(None if step.best is None else step.best.annual_operating),
            _money(None if step.best is None else step.best.life_cycle),
            "-" if shown is None else f"{shown.hours_above:,}",
            "-" if shown is None else show(shown.maximum_relative_humidity, "fraction").removesuffix(" %"),
            f"{step.existing.hours_above:,}",
            _staying(step),
        ]
        if variation.is_continuous:
            row.append(_money(None if more is None else more * amount))
        rows.append(tuple(row))
    heads = [values.unit or "value", "", f"first {code}", f"{code}/year", f"life {code}", "above", "RH %"]
    heads += ["alone", "stay"]
    if variation.is_continuous:
        heads.append("more")
    return Table(tuple(heads), tuple(rows), frozenset(range(len(heads))) - {1})


def _staying(step: StepResult) -> str:
    if step.staying is None:
        return "-"
    if not step.staying.feasible:
        return "not held"
    return "-" if step.regret is None else f"+{step.regret:,.0f}"


def _grid(sweep: Sweep, values: tuple[Values, ...]) -> list[Line | Table]:
    """A letter for each design, in a table of both values."""
    letters = letters_of(sweep)
    cells: dict[tuple[float, ...], StepResult] = {step.values: step for step in sweep.steps}
    rows, costs = [], []
    first, second = sweep.variations
    for down in first.values:
        row, cost = [values[0](down, unit=False)], [values[0](down, unit=False)]
        for across in second.values:
            cell = cells.get((down, across))
            if cell is None:
                row.append("?")
                cost.append("?")
                continue
            mark = "*" if cell.staying is not None and cell.staying.feasible else ""
            row.append(("." if cell.install is None else letters[cell.install]) + mark)
            cost.append(_money(None if cell.best is None else cell.best.life_cycle))
        rows.append(tuple(row))
        costs.append(tuple(cost))
    heads = (f"{values[0].unit} \\ {values[1].unit}", *(values[1](one, unit=False) for one in second.values))
    right = frozenset(range(len(heads)))
    names = [f"{letter}  {design_text(install)}" for install, letter in letters.items()]
    legend = [_line("" if place else "Answer", name, "bold") for place, name in enumerate(names)]
    code = sweep.site.costs.currency
    return [
        *legend,
        _line("", f". {none_text(sweep=sweep)}; ? not finished; * today's design keeps every limit there"),
        Line(""),
        Line(f"Down: {title_of(first)}; across: {title_of(second)}"),
        Table(heads, tuple(rows), right),
        Line(""),
        Line(f"Life-cycle cost [{code}]:"),
        Table(heads, tuple(costs), right),
        Line(""),
    ]


def _end(sweep: Sweep, again: str) -> list[Line | Table]:
    site = sweep.site
    lines: list[Line | Table] = []
    if len(sweep.variations) == 1 and sweep.steps:
        variation = sweep.variations[0]
        words = (
            "above: hours a year above the limit with the least left; RH: the highest hour of the year; alone: hours "
            "above with the existing system alone; stay: extra life-cycle cost of staying with today's design"
        )
        if variation.is_continuous:
            _, amount = step_for(site=site, variation=variation)
            words += f"; more: life-cycle cost of each further {amount}, up to the next step"
        lines.append(Line(words, "dim"))
    lines.append(_line("Held", "; ".join(held_texts(sweep))))
    if synthetic_text(sweep):
        lines.append(_line("Weather", synthetic_text(sweep)))
    proved = sum(step.status != "best-found" for step in sweep.steps)
    work = f"{sweep.year_equivalents:,.0f} year-equivalents in choices"
    if sweep.reused:
        work += f"; {plural(sweep.reused, 'step')} taken from an earlier run"
    steps = f"{proved} of {plural(len(sweep.steps), 'step')} proved as by choose"
    lines.append(_line("Proof", f"{steps if sweep.steps else 'no step finished'}; {work}"))
    lines.append(_line("Defaults", rests_on(site)))
    installs = {part for step in sweep.steps for part in (step.install or ())}
    lines.append(_line("Cautions", short_cautions(site=site, install=tuple(installs))))
    if any(one.parameter.name.startswith("outdoor-air") for one in sweep.variations):
        lines.append(_line("", "outdoor air below what code asks for is not a choice"))
    lines.append(_line("Next", again if not sweep.complete else command("choose", site.file)))
    return lines
