"""The page of a sweep: today's answer with its whole argument, then how the answer changes along the range."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Literal

from markupsafe import Markup

from selector.decide.evaluate import evaluate
from selector.decide.results import Choice
from selector.decide.sweep_results import Span, StepResult, Sweep
from selector.decide.sweep_step import base_of, prepared_at
from selector.inputs.vary import Variation
from selector.physics.prepare import Prepared
from selector.report.charts import psychrometric_chart
from selector.report.charts_guides import frame_of
from selector.report.charts_states import design_air
from selector.report.page_choice import choice_sections
from selector.report.page_figures import Figures
from selector.report.page_parts import (
    Block,
    Heading,
    Panel,
    Paragraph,
    Points,
    Section,
    Slider,
    Table,
    Text,
    join,
    picture,
    say,
)
from selector.report.page_sweep_chart import sweep_chart
from selector.report.page_sweep_choice import choice_of
from selector.report.page_sweep_grid import grid_blocks
from selector.report.sweep_words import (
    Values,
    chosen_text,
    held_texts,
    letters_of,
    none_text,
    spans_written,
    step_for,
    stretches,
    synthetic_text,
    title_of,
    values_of,
)
from selector.report.text import clean, design_text, plural

MOST_POINTS = 6  # switch-over points named in the answer
MOST_TOLD = 2  # with what changes there
BELOW_CODE = "Outdoor air below what the local ventilation code asks for is not a choice."


def sweep_sections(*, sweep: Sweep, prepared: Prepared, figures: Figures, today: date) -> tuple[Section, ...]:
    """Write a sweep.

    Args: sweep; prepared, the site as it was read; figures of the sweep's result; today, the date that stands on the
        page.
    Returns: sections in the order in which they are read.
    """
    choice = choice_of(step=sweep.now, prepared=prepared)
    part = Section("sweep", "How the answer changes", _sweep(sweep, prepared, figures))
    found = choice_sections(
        choice=choice, prepared=prepared, figures=figures.under("today"), today=today, sweep=part
    )
    lead = Paragraph(_sentences(sweep, choice, figures), lead=True)
    first = replace(found[0], blocks=(lead, *_holding(sweep, figures), *found[0].blocks[1:]))
    return (first, *found[1:])


def _sentences(sweep: Sweep, choice: Choice, figures: Figures) -> Markup:
    """The answer in two sentences: today's, and where it changes."""
    here = figures.under("today")
    if choice.best is None:
        first = say("Today no design is possible: {}.", clean(choice.proof.reason))
    else:
        what = f"install {design_text(choice.best.install)}" if choice.best.install else "install nothing"
        first = say(
            "Today: {}, at {} first and {} over {}.",
            what,
            here("costs.first", "money"),
            here("costs.life_cycle", "money"),
            here.study_years(),
        )
    if len(sweep.variations) == 2:
        names = " against ".join(title_of(one) for one in sweep.variations)
        many = len(letters_of(sweep))
        return say("{} Over {}, {} different answers are chosen.", first, names, f"{many}")
    variation = sweep.variations[0]
    values = _values(sweep, variation)
    if not sweep.steps:
        return say("{} No step of the sweep was finished.", first)
    if variation.files:
        many = len({step.install for step in sweep.steps})
        return say(
            "{} Over {} weather files {} different answers are chosen.",
            first,
            f"{len(sweep.steps)}",
            f"{many}",
        )
    ends = say("{} to {}", _value(sweep, figures, 0), _value(sweep, figures, len(sweep.steps) - 1))
    if not sweep.switches:
        changed = say("the answer does not change") if sweep.complete else say("not every step was finished")
    else:
        changed = say("the answer changes {}", _points(sweep, figures, values.decimals))
    return say("{} Along the range ({}: {}) {}.", first, title_of(variation), ends, changed)


def _points(sweep: Sweep, figures: Figures, decimals: int) -> Markup:
    """Where the answer changes: from what to what where it does so once or twice, else only where."""
    dimension = sweep.variations[0].dimension or "plain"
    shown = [
        figures(f"switch_over.{at}.value", dimension, decimals=decimals)
        for at in range(min(len(sweep.switches), MOST_POINTS))
    ]
    if len(sweep.switches) > MOST_TOLD:
        more = len(sweep.switches) - len(shown)
        return say("at {}{}", join(shown), f" and at {plural(more, 'further point')}" if more else "")
    parts = [
        say(
            "at {} from {} to {}",
            value,
            chosen_text(sweep=sweep, install=one.low.install),
            chosen_text(sweep=sweep, install=one.high.install),
        )
        for value, one in zip(shown, sweep.switches, strict=True)
    ]
    return join(parts, "; ")


def _values(sweep: Sweep, variation: Variation) -> Values:
    """Write values as finely as switch-over points are found."""
    return values_of(site=sweep.site, variation=variation, resolution=sweep.resolution)


def _at_steps(sweep: Sweep, variation: Variation) -> Values:
    """Write the values of steps, as finely as tells them apart."""
    return values_of(site=sweep.site, variation=variation, resolution=None)


def _value(sweep: Sweep, figures: Figures, place: int) -> Markup:
    """The value of a step, with its unit, or a file's name."""
    variation = sweep.variations[0]
    if variation.files:
        return say("{}", clean(str(figures.get(f"steps.{place}.value"))))
    decimals = _at_steps(sweep, variation).decimals
    return figures(f"steps.{place}.value", variation.dimension or "plain", decimals=decimals)


def _holding(sweep: Sweep, figures: Figures) -> tuple[Block, ...]:
    """How far today's design and system are good, and where they run out."""
    texts: list[Text] = []
    dimension = sweep.variations[0].dimension or "plain"
    if not sweep.complete:
        texts.append(f"The sweep was stopped: {len(sweep.steps)} of {sweep.wanted} steps are finished.")
    if sweep.resolution is not None and not sweep.interrupted:
        values = _values(sweep, sweep.variations[0])

        def spans(found: tuple[Span, ...], key: str) -> Text:
            return _spans(found, figures.under(key), dimension, values.decimals)

        if len(sweep.switches) > MOST_TOLD:
            texts += _stretches(sweep, figures, values.decimals)
        if sweep.now.install:
            text = spans(sweep.staying_holds, "today_design_holds")
            texts.append(
                say("Today's design, {}, keeps every limit {}.", design_text(sweep.now.install), text)
            )
        alone = spans(sweep.existing_holds, "existing_system_holds")
        texts.append(say("The existing system alone keeps every limit {}.", alone))
        cooling = spans(sweep.short_cooling, "existing_system_short_of_cooling")
        heating = spans(sweep.short_heating, "existing_system_short_of_heating")
        texts.append(say("Its cooling runs out {}; its heating {}.", cooling, heating))
    return (Points(tuple(texts)),) if texts else ()


def _stretches(sweep: Sweep, figures: Figures, decimals: int) -> list[Text]:
    """Which design is chosen over which stretch of the range."""
    dimension = sweep.variations[0].dimension or "plain"
    keys = {step.values[0]: f"steps.{at}.value" for at, step in enumerate(sweep.steps)}
    for at, one in enumerate(sweep.switches):
        keys[one.low.value] = f"switch_over.{at}.below.value"
        keys[one.high.value] = f"switch_over.{at}.above.value"
    return [
        say(
            "{} to {}: {}.",
            figures(keys[one.low], dimension, decimals=decimals, unit=False),
            figures(keys[one.high], dimension, decimals=decimals),
            chosen_text(sweep=sweep, install=one.install),
        )
        for one in stretches(sweep)
    ]


def _spans(spans: tuple[Span, ...], figures: Figures, dimension: str, decimals: int) -> Text:
    """Over which stretches something holds."""

    def write(place: int, end: Literal["low", "high"], *, unit: bool) -> str:
        key = f"{place}.{'from' if end == 'low' else 'to'}"
        return figures(key, dimension, decimals=decimals, unit=unit)

    return spans_written(spans=spans, write=write, say=say)


def _sweep(sweep: Sweep, prepared: Prepared, figures: Figures) -> tuple[Block, ...]:
    held = Paragraph(f"Held as it is: {'; '.join(clean(text) for text in held_texts(sweep))}.")
    warn: list[Block] = []
    if synthetic_text(sweep):
        warn.append(Paragraph(f"Weather that is no record of real hours, {synthetic_text(sweep)}."))
    if any(one.parameter.name.startswith("outdoor-air") for one in sweep.variations):
        warn.append(Paragraph(BELOW_CODE))
    if len(sweep.variations) == 2:
        return (held, *warn, *grid_blocks(sweep=sweep, figures=figures))
    if not sweep.steps:
        return (held, *warn)
    chart = sweep_chart(sweep=sweep)
    blocks: list[Block] = [held, *warn]
    words = f"Life-cycle cost along the range{'; dashed uprights are switch-over points' if sweep.switches else ''}."
    blocks.append(picture(chart=chart, caption=words))
    blocks += [Heading("Move along the range"), _slider(sweep, prepared, figures)]
    blocks += [Heading("Switch-over points"), *_switches(sweep, figures)]
    return (*blocks, Heading("Every step"), _steps(sweep, figures))


def _slider(sweep: Sweep, prepared: Prepared, figures: Figures) -> Slider:
    """One panel for each step: answer, costs and the air in its design hour."""
    variation = sweep.variations[0]
    values = _at_steps(sweep, variation)
    base = base_of(prepared=prepared, variations=sweep.variations, solver="highs", record=None)
    found = []
    for step in sweep.steps:
        there = prepared_at(base=base, values=step.values)
        install = (step.best or step.closest or step.existing).install
        design = evaluate(prepared=there, install=install)
        found.append((there.site, install, design_air(prepared=there, evaluation=design)))
    states = [(one.air.dry_bulb, one.air.humidity_ratio) for _, _, air in found for one in air.states]
    frame = frame_of(states=states, units=sweep.site.display_units)
    panels = []
    for place, (step, (site, install, air)) in enumerate(zip(sweep.steps, found, strict=True)):
        under = figures.under(f"steps.{place}")
        name = f"psychrometric-step-{place}"
        chart = psychrometric_chart(site=site, install=install, air=air, name=name, frame=frame)
        at = values(step.values[0])
        panels.append(
            Panel(
                label=at,
                summary=say("{}: {}", _value(sweep, figures, place), _answer_of(step, under)),
                table=_costs(step, under, _value(sweep, figures, place)),
                picture=picture(
                    chart=chart,
                    caption=say(
                        "Air in the design hour at {}: {}",
                        _value(sweep, figures, place),
                        design_text(install),
                    ),
                ),
            )
        )
    return Slider(title_of(variation), tuple(panels), _start(sweep))


def _start(sweep: Sweep) -> int:
    """The step that stands nearest to today's value."""
    now = sweep.today[0]
    if now is None:
        return 0
    return min(range(len(sweep.steps)), key=lambda at: abs(sweep.steps[at].values[0] - now))


def _answer_of(step: StepResult, under: Figures) -> Markup:
    """A step's answer in a sentence."""
    if step.best is None:
        nearest = (
            design_text(step.closest.install) if step.closest is not None else "the existing system alone"
        )
        return say("no design is possible; the nearest is {}", nearest)
    what = f"install {design_text(step.best.install)}" if step.best.install else "install nothing"
    return say(
        "{}; {} first, {} a year, life-cycle cost {}; {} above the limit{}; highest hour of the year {} RH",
        what,
        under("costs.first", "money"),
        under("costs.annual_operating", "money"),
        under("costs.life_cycle", "money"),
        under("humidity.hours_above", "hours"),
        " with the least left" if len(under.get("humidity.limits")) > 1 else "",
        under("humidity.maximum_relative_humidity", "fraction"),
    )


def _costs(step: StepResult, under: Figures, at: Markup) -> Table:
    """Costs at one step: of what is chosen, of staying, of doing nothing."""
    rows: list[tuple[Text, ...]] = []
    name = "Nearest" if step.best is None else "Chosen"
    shown = step.best or step.closest
    if shown is not None:
        rows.append(
            (f"{name}: {design_text(shown.install)}", *_cells(under), "yes" if shown.feasible else "no")
        )
    if step.staying is not None:
        stay = under.under("today_design")
        rows.append(
            (
                f"Today's: {design_text(step.staying.install)}",
                stay("first", "money", unit=False),
                stay("annual_operating", "money_per_year", unit=False),
                stay("life_cycle", "money", unit=False),
                stay("hours_above", "hours", unit=False),
                "yes" if step.staying.feasible else "no",
            )
        )  # fmt: skip
    alone = _cells(under.under("existing_system"))
    rows.append(("Existing system alone", *alone, "yes" if step.existing.feasible else "no"))
    heads = (
        "Design",
        under.head("First cost", "money"),
        under.head("Yearly", "money_per_year"),
        under.head("Life-cycle cost", "money"),
        "Hours above [h a year]",
        "Keeps every limit",
    )
    return Table(say("Costs at {}", at), heads, tuple(rows), frozenset({1, 2, 3, 4}))


def _cells(under: Figures) -> tuple[Markup, ...]:
    return (
        under("costs.first", "money", unit=False),
        under("costs.annual_operating", "money_per_year", unit=False),
        under("costs.life_cycle", "money", unit=False),
        under("humidity.hours_above", "hours", unit=False),
    )


def _switches(sweep: Sweep, figures: Figures) -> list[Block]:
    if not sweep.switches:
        if sweep.resolution is None:
            return [Paragraph("Between separate weather files there is nothing to switch over at.")]
        return [Paragraph("None was found between the steps.")]
    variation = sweep.variations[0]
    places = _values(sweep, variation).decimals
    rows: list[tuple[Text, ...]] = []
    for at, switch in enumerate(sweep.switches):
        for side, name in ((switch.low, "below"), (switch.high, "above")):
            under = figures.under(f"switch_over.{at}.{name}")
            other: Text = none_text(sweep=sweep)
            if side.other is not None:
                other = under("other.life_cycle", "money", unit=False)
                other = other if side.other.feasible else say("{}, breaks a limit", other)
            cost: Text = under("life_cycle", "money", unit=False) if side.cost is not None else ""
            rows.append(
                (
                    say(
                        "{} ({} point {})",
                        under("value", variation.dimension, decimals=places),
                        name,
                        f"{at + 1}",
                    ),
                    chosen_text(sweep=sweep, install=side.install),
                    cost,
                    other,
                    "yes" if side.proved else "no",
                )
            )
    heads = (
        title_of(variation),
        "Chosen there",
        figures.head("Its life-cycle cost", "money"),
        figures.head("The other side's design there", "money"),
        "Proved",
    )
    caption = say(
        "Both sides of each point were chosen for in full; they lie at most {} apart",
        figures("resolution", _difference(variation.dimension), decimals=places),
    )
    return [Table(caption, heads, tuple(rows), frozenset({2, 3}))]


def _difference(dimension: str) -> str:
    return "temperature_difference" if dimension == "temperature" else dimension


def _steps(sweep: Sweep, figures: Figures) -> Table:
    variation = sweep.variations[0]
    amount, words = step_for(site=sweep.site, variation=variation)
    rows: list[tuple[Text, ...]] = []
    strong: set[int] = set()
    for place, step in enumerate(sweep.steps):
        under = figures.under(f"steps.{place}")
        row: list[Text] = [_value(sweep, figures, place), chosen_text(sweep=sweep, install=step.install)]
        row += _cells(under) if step.best is not None else ("", "", "", "")
        row.append(under("existing_system.humidity.hours_above", "hours", unit=False))
        if step.staying is None:
            row.append("")
        elif step.regret is None:
            row.append("breaks a limit" if not step.staying.feasible else "")
        else:
            row.append(under("today_design.extra_cost", "money", unit=False, signed=True))
        if variation.is_continuous:
            more = under.get("marginal_cost")
            row.append("" if more is None else under("marginal_cost", "money", unit=False, times=amount))
        if place == _start(sweep):
            strong.add(place)
        rows.append(tuple(row))
    heads = [
        title_of(variation),
        "Chosen",
        figures.head("First cost", "money"),
        figures.head("Yearly", "money_per_year"),
        figures.head("Life-cycle cost", "money"),
        "Hours above [h a year]",
        "Hours above, existing system alone [h a year]",
        figures.head("Staying with today's design costs more by", "money"),
    ]
    if variation.is_continuous:
        heads.append(f"Each further {words} costs [{sweep.site.costs.currency}]")
    proved = sum(step.status != "best-found" for step in sweep.steps)
    caption = (
        f"Every step, each chosen for on its own, {proved} of {len(sweep.steps)} proved; the step nearest to today's "
        "value stands out"
    )
    return Table(
        caption, tuple(heads), tuple(rows), frozenset(range(2, len(heads))), frozenset(strong), wide=True
    )
