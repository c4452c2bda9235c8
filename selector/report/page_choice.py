"""The page of a choice: the answer and the argument for it, section by section."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from markupsafe import Markup

from selector.decide.evaluate import Evaluation
from selector.decide.results import ArrangementResult, Choice
from selector.physics.prepare import Prepared
from selector.report.charts import money_chart, psychrometric_charts, rows_of_choice
from selector.report.choose_screen import answer_of
from selector.report.key_names import limit_name, name_of
from selector.report.lines import derived_texts, limit_kind
from selector.report.page_assumptions import assumptions_section
from selector.report.page_figures import Figures
from selector.report.page_hour import hour_section
from selector.report.page_money import bill_blocks, cost_cells, cost_heads, life_cycle_table
from selector.report.page_parts import (
    Block,
    Heading,
    Paragraph,
    Points,
    Section,
    Table,
    Text,
    join,
    picture,
    say,
)
from selector.report.page_proof import ALONE, proof_blocks
from selector.report.page_sections import (
    AIR_CAPTION,
    cautions_section,
    humidity_section,
    moisture_section,
    record_section,
)
from selector.report.text import PLACES, clean, command, design_text, design_within


def choice_sections(
    *, choice: Choice, prepared: Prepared, figures: Figures, today: date, sweep: Section | None = None
) -> tuple[Section, ...]:
    """Write a choice.

    Args: choice; prepared, its site; figures of the choice's result; today, the date that stands on the page; sweep,
        the section that stands behind the moisture balance, a hint at the command unless given.
    Returns: sections in the order in which they are read.
    """
    site, shown = choice.site, answer_of(choice)
    there = figures.under("existing_system")
    word = "chosen design" if choice.best is not None else "nearest design"
    return (
        Section("answer", "Answer", answer_blocks(choice=choice, prepared=prepared, figures=figures)),
        Section("money", "Money", _money(choice, figures)),
        humidity_section(
            prepared=prepared, shown=shown, existing=choice.existing, figures=figures, there=there, word=word
        ),
        Section("air", "Air in the design hour", _air(choice, prepared)),
        Section(
            "others",
            "Why each other arrangement lost"
            if choice.best is not None
            else "How near each arrangement came",
            _others(choice, figures),
        ),
        hour_section(prepared=prepared, evaluation=shown, figures=figures),
        moisture_section(prepared=prepared, shown=shown, figures=figures),
        sweep or sweep_hint(file=choice.site.file, has_air_handler=site.air_handler is not None),
        assumptions_section(assumptions=site.assumptions, site=site, figures=figures),
        record_section(site=site, figures=figures, today=today),
        Section("proof", "Proof and balance audit", proof_blocks(choice=choice, figures=figures)),
        cautions_section(site=site, install=shown.install),
    )


def answer_blocks(*, choice: Choice, prepared: Prepared, figures: Figures) -> tuple[Block, ...]:
    """Write the answer in two sentences, and what bears on it.

    Args: choice; prepared, its site; figures of its result. Returns: blocks.
    """
    points: list[Text] = _why(choice, figures)
    margin, out = choice.margin, choice.one_out
    if margin is not None and margin.extra_vapour > 0.0:
        points.append(
            say(
                "It can take {}{} more moisture in every hour of the year, {} of the mean load, and still keep every "
                "limit.",
                "at least " if margin.at_least else "",
                figures("margin.extra_moisture", "moisture_rate", digits=3),
                figures("margin.share", "fraction", decimals=0),
            )
        )
    elif margin is not None:
        points.append("It has no margin: any more moisture breaks a limit.")
    if out is not None:
        points.append(
            say(
                "With one {} out of service {} a year are above the limit{}, the worst at {}: {}.",
                clean(out.model),
                figures("one_unit_out.hours_above", "hours"),
                say(' of "{}"', clean(out.limit)) if len(choice.existing.limits) > 1 else "",
                figures.limited(out.kind, "one_unit_out.worst"),
                "every limit is still kept" if out.feasible else "not every limit is kept",
            )
        )
    points += [
        f"Derived from a class curve: {text}."
        for text in derived_texts(answer_of(choice).install, prepared.fitted)
    ]
    points += _moves(choice, figures)
    points += _what_changes(figures)
    blocks: list[Block] = [Paragraph(answer_sentences(choice=choice, figures=figures), lead=True)]
    return (*blocks, Points(tuple(points))) if points else tuple(blocks)


def answer_sentences(*, choice: Choice, figures: Figures) -> Markup:
    """Write the answer in two sentences.

    Args: choice; figures of its result. Returns: text.
    """
    shown = answer_of(choice)
    if choice.best is None:
        what = design_text(shown.install) if shown.install else ALONE
        return say(
            "{}: {}. The nearest is {}, which breaks {}{}.",
            choice.answer.capitalize(), clean(choice.proof.reason), what,
            "the limit on " if shown.broken else "",
            figures.broken() or "no limit that was simulated",
        )  # fmt: skip
    years = figures.study_years()
    proof = say(
        "the least of {} designs, which is proved"
        if choice.proof.status == "optimal"
        else "the best found among {} designs, which is not proved",
        figures("proof.designs_possible", "count"),
    )
    money = say(
        "{} first and {} over {}, {}",
        figures("costs.first", "money"), figures("costs.life_cycle", "money"), years, proof,
    )  # fmt: skip
    kept = kept_text(evaluation=shown, figures=figures)
    if not shown.install:
        return say("Install nothing: the existing system {}. It costs {}.", kept, money)
    places = "; ".join(PLACES[one] for one in dict.fromkeys(part.arrangement for part in shown.install))
    return say("Install {}, {}. It {}, and costs {}.", design_text(shown.install), places, kept, money)


def kept_text(*, evaluation: Evaluation, figures: Figures) -> Markup:
    """Say how a design that keeps every limit keeps them.

    Args: evaluation; figures of the design. Returns: text, as "keeps every limit, with ...".
    """
    limit = evaluation.worst_limit
    key = f"humidity.limits.{evaluation.limits.index(limit)}"
    name = say(' of "{}"', clean(limit.name)) if len(evaluation.limits) > 1 else ""
    return say(
        "keeps every limit, with {} a year above {}{} where {} are allowed",
        figures(f"{key}.hours_above", "hours"),
        figures.limited(limit.kind, f"{key}.limit"),
        name,
        figures(f"{key}.allowed_hours_above", "hours", unit=False),
    )


def _moves(choice: Choice, figures: Figures) -> list[Text]:
    """How far each limit would have to move, where nothing is possible."""
    found: list[Text] = []
    for place, move in enumerate(choice.moves):
        name, kind = limit_name(move.limit), limit_kind(move.unit, choice.site.costs.currency)
        now = figures(f"limit_moves.{place}.now", kind)
        if move.needed is None:
            helps = "does not help" if move.status == "does not help" else "helps none of the designs tried"
            found.append(say("{}: now {}; moving it alone {}.", name, now, helps))
            continue
        status = "proved" if move.status == "proved" else "the best of those tried"
        needed = figures(f"limit_moves.{place}.needed", kind)
        found.append(say("{}: {} instead of {} would do ({}).", name, needed, now, status))
    return found


def _why(choice: Choice, figures: Figures) -> list[Text]:
    """Why the answer is what it is: what the existing system does, and what the next best costs."""
    points: list[Text] = []
    alone = figures.under("existing_system")
    if choice.best is not None and choice.best.install and not choice.existing.feasible:
        points.append(say("The existing system alone does not keep every limit: {}.", alone.broken()))
    if choice.runner_up is not None:
        points.append(
            say(
                "Next best of all designs: {}, life-cycle cost {}.",
                design_text(choice.runner_up.install) if choice.runner_up.install else ALONE,
                figures("runner_up.costs.life_cycle", "money"),
            )
        )
    return points


def _what_changes(figures: Figures) -> list[Text]:
    """Which uncertain values would change the answer, where that was tried."""
    found = figures.get("what_would_change")
    if found is None:
        return []
    limits = [clean(one["name"]) for one in figures.get("humidity.limits")]
    names = [name_of(one["key"], limits) for one in found["assumptions"] if one["changes"]]
    link = Markup('<a href="#what-would-change">{}</a>')
    if not names:
        return [say("{}: none of the uncertain values that were tried.", link.format("What would change it"))]
    return [say("{}: {}.", link.format("What would change it"), join(names, "; "))]


def _arrangements(choice: Choice) -> list[tuple[ArrangementResult, Evaluation | None]]:
    return [(one, one.best or one.closest) for one in choice.by_arrangement]


def _money(choice: Choice, figures: Figures) -> tuple[Block, ...]:
    shown = answer_of(choice)
    rows: list[tuple[Text, ...]] = []
    strong: set[int] = set()
    for one, design in _arrangements(choice):
        if design is None:
            continue
        if choice.best is not None and design.install == choice.best.install:
            strong.add(len(rows))
        under = figures.under(f"best_by_arrangement.{one.arrangement}")
        rows.append(
            (
                f"{one.arrangement}: {design_within(design.install, one.arrangement)}",
                *cost_cells(figures=under),
                _yes(design),
            )
        )
    if choice.best is not None and not choice.best.install:
        strong.add(len(rows))
    rows.append((ALONE, *cost_cells(figures=figures.under("existing_system")), _yes(choice.existing)))
    chart = money_chart(site=choice.site, rows=rows_of_choice(choice=choice))
    return (
        picture(chart=chart, caption="First and life-cycle cost of the best design of each arrangement."),
        Table(
            "Best design of each arrangement, or the nearest where none keeps every limit",
            ("Design", *cost_heads(figures=figures), "Keeps every limit"),
            tuple(rows),
            frozenset(range(1, 7)),
            frozenset(strong),
            wide=True,
        ),
        life_cycle_table(evaluation=shown, figures=figures),
        *bill_blocks(evaluation=shown, site=choice.site, figures=figures),
    )


def _yes(evaluation: Evaluation) -> str:
    return "yes" if evaluation.feasible else "no"


def _air(choice: Choice, prepared: Prepared) -> tuple[Block, ...]:
    charts = psychrometric_charts(prepared=prepared, choice=choice)
    names = {f"psychrometric-{one.arrangement}": (one, design) for one, design in _arrangements(choice)}
    blocks: list[Block] = [
        Paragraph(
            "The hour of the 0.4 % dew-point design week in which the new units together take out most moisture, for "
            "the existing system and for each arrangement's best design, all on the same axes; an hour of the year "
            "where they take out none in that week."
        )
    ]
    for chart in charts:
        one, design = names.get(chart.name, (None, choice.existing))
        title = "Existing system alone"
        if one is not None and design is not None:
            kind = "" if one.best is not None else ", nearest"
            title = f"{one.arrangement}{kind}: {design_within(design.install, one.arrangement)}"
        blocks += [Heading(title), picture(chart=chart, caption=AIR_CAPTION, label=title)]
    return tuple(blocks)


def _others(choice: Choice, figures: Figures) -> tuple[Block, ...]:
    chosen = {part.arrangement for part in choice.best.install} if choice.best is not None else set()
    rows: list[tuple[Text, ...]] = []
    for one, design in _arrangements(choice):
        if one.arrangement in chosen:
            continue
        key = f"best_by_arrangement.{one.arrangement}"
        under = figures.under(key)
        if design is None:
            rows.append((one.arrangement, "none", "", "", clean(one.reason)))
            continue
        above = say("{} of {}{}", under("humidity.hours_above", "hours", unit=False),
                    under("humidity.allowed_hours_above", "hours", unit=False),
                    f', "{clean(design.worst_limit.name)}"' if len(design.limits) > 1 else "")  # fmt: skip
        extra: Text = under("extra_cost", "money", unit=False, signed=True)
        broken = under.broken()
        reason: Text = clean(one.reason)
        if broken:
            reason = say("{}; the nearest breaks the limit on {}", clean(one.why), broken)
        rows.append((one.arrangement, design_within(design.install, one.arrangement), above, extra, reason))
    heads = (
        "Arrangement",
        "Its best design, or the nearest",
        "Hours above, of those allowed [h a year]",
        figures.head("Extra life-cycle cost", "money"),
        "Why it lost" if choice.best is not None else "Why it is not possible",
    )
    blocks: list[Block] = []
    if rows:
        caption = "Every other arrangement at its best" if choice.best is not None else "Every arrangement"
        blocks.append(Table(caption, heads, tuple(rows), frozenset({2, 3})))
    else:
        blocks.append(Paragraph("The limits of the site allow no other arrangement."))
    blocks += _options(figures)
    return tuple(blocks)


def _options(figures: Figures) -> list[Block]:
    """Options that are no units, where the site lets them take part."""
    rows: list[tuple[Text, ...]] = []
    for place, one in enumerate(figures.get("options") or ()):
        under = figures.under(f"options.{place}")
        held = "yes" if one["feasible"] else f"no: {', '.join(clean(name) for name in one['limits_broken'])}"
        rows.append(
            (
                clean(one["name"]),
                under("first", "money", unit=False),
                under("annual_operating", "money_per_year", unit=False),
                under("life_cycle", "money", unit=False),
                under("hours_above", "hours", unit=False),
                held,
                "yes" if one["beats_best_design"] else "no",
            )
        )
    heads = (
        "Option",
        figures.head("First cost", "money"),
        figures.head("Yearly", "money_per_year"),
        figures.head("Life-cycle cost", "money"),
        "Hours above [h a year]",
        "Keeps every limit",
        "Beats the best design",
    )
    caption = "Options that are no units, each simulated in full without new units, and not among the designs counted"
    return [Table(caption, heads, tuple(rows), frozenset({1, 2, 3, 4}))] if rows else []


def sweep_hint(*, file: str, has_air_handler: bool) -> Section:
    """Say which command would show how the answer changes.

    Args: file of the site; has_air_handler, whether there is outdoor air to raise. Returns: section.
    """
    name, low, high = ("infiltration", "0.1 1/h", "1 1/h")
    if has_air_handler:
        name, low, high = ("outdoor-air-fraction", "10%", "60%")
    ends = ("--from", low, "--to", high, "--steps", "11")
    words = command("sweep", Path(file).name, "--vary", name, *ends, "--report", "sweep.html")
    text = say(
        "This page is about one state of the building. How the answer changes as it changes: <code>{}</code>",
        clean(words),
    )
    return Section("sweep", "What if it changes", (Paragraph(text),))
