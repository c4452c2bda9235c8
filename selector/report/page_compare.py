"""The page of a comparison: which option to take, and why each other one stands where it stands."""

from __future__ import annotations

from datetime import date

from markupsafe import Markup

from selector.decide.compare import Comparison, OptionResult
from selector.decide.limits import target_of
from selector.decide.options import CHOSEN, EXISTING
from selector.inputs.site import assumptions_of_options
from selector.physics.prepare import Prepared
from selector.report.charts import money_chart, psychrometric_chart, rows_of_comparison
from selector.report.charts_guides import frame_of
from selector.report.charts_states import design_air
from selector.report.compare_json import prepared_of
from selector.report.compare_screen import OPTION_WORDS, name_of, stated_text
from selector.report.lines import broken_text, derived_texts
from selector.report.page_assumptions import assumptions_section
from selector.report.page_choice import kept_text, sweep_hint
from selector.report.page_figures import Figures
from selector.report.page_hour import hour_section
from selector.report.page_money import bill_blocks, cost_cells, cost_heads
from selector.report.page_parts import (
    Block,
    Heading,
    Pairs,
    Paragraph,
    Points,
    Section,
    Table,
    Text,
    join,
    picture,
    say,
)
from selector.report.page_proof import audit_table
from selector.report.page_sections import (
    AIR_CAPTION,
    cautions_section,
    humidity_section,
    moisture_section,
    record_section,
)
from selector.report.text import clean, design_text


def comparison_sections(
    *, comparison: Comparison, prepared: Prepared, figures: Figures, today: date
) -> tuple[Section, ...]:
    """Write a comparison.

    Args: comparison; prepared, its site; figures of its result; today, the date that stands on the page.
    Returns: sections in the order in which they are read; humidity, the worked hour and the moisture balance are those
        of the option that ranks first.
    """
    site = comparison.site
    first = comparison.options[0]
    own = prepared_of(option=first, prepared=prepared)
    shown = first.evaluation
    ours, there = figures.under("options.0"), figures.under(f"options.{comparison.existing.rank - 1}")
    assumptions = (*site.assumptions, *assumptions_of_options(site=site))
    return (
        Section("answer", "Answer", _answer(comparison, figures)),
        Section("money", "Money", _money(comparison, figures)),
        humidity_section(
            prepared=own, shown=shown, existing=comparison.existing.evaluation, figures=ours, there=there,
            word=name_of(first),
        ),
        Section("air", "Air in the design hour", _air(comparison, prepared)),
        Section("others", "Why each option stands where it stands", _others(comparison, figures)),
        hour_section(prepared=own, evaluation=shown, figures=figures),
        moisture_section(prepared=own, shown=shown, figures=figures),
        sweep_hint(file=site.file, has_air_handler=site.air_handler is not None),
        assumptions_section(assumptions=assumptions, site=site, figures=figures),
        record_section(site=site, figures=figures, today=today),
        Section("proof", "Proof and balance audit", _proof(comparison, figures)),
        cautions_section(site=first.option.site, install=shown.install),
    )  # fmt: skip


def _what(one: OptionResult, nothing: str) -> str:
    """What an option installs or changes."""
    if one.option.change is not None:
        return OPTION_WORDS[one.option.change.kind]
    return design_text(one.evaluation.install) if one.evaluation.install else nothing


def _answer(comparison: Comparison, figures: Figures) -> tuple[Block, ...]:
    best = comparison.best
    points: list[Text] = []
    if best is None:
        first = comparison.options[0]
        lead = say(
            "Not possible: none of the {} options keeps every limit. The cheapest of them is {}, which breaks the "
            "limit on {}.",
            f"{len(comparison.options)}", name_of(first),
            figures.under("options.0").broken(),
        )  # fmt: skip
    else:
        ours = figures.under("options.0")
        design = _what(best, "install nothing")
        lead = say(
            "Take {}{}: {}. It {}, and costs {} first and {} over {}, the least of the {} options that keep every "
            "limit.",
            "the " if best.option.name in (CHOSEN, EXISTING) else "", name_of(best), design,
            kept_text(evaluation=best.evaluation, figures=ours), ours("costs.first", "money"),
            ours("costs.life_cycle", "money"), figures.study_years(),
            f"{sum(one.evaluation.feasible for one in comparison.options)}",
        )  # fmt: skip
        points += [
            f"Derived from a class curve: {text}."
            for text in derived_texts(best.evaluation.install, best.fitted)
        ]
        margin = best.margin
        if margin is not None and margin.extra_vapour > 0.0:
            points.append(
                say(
                    "It can take {}{} more moisture in every hour of the year, {} of the mean load, and still keep "
                    "every limit.",
                    "at least " if margin.at_least else "",
                    ours("margin.extra_moisture", "moisture_rate", digits=3),
                    ours("margin.share", "fraction", decimals=0),
                )
            )
    choice = comparison.choice
    if choice is None:
        points.append("No search was asked for: other designs may be better.")
    elif choice.best is None:
        points.append(f"No design of the catalogue keeps every limit: {clean(choice.proof.reason)}.")
    else:
        points.append(f"The chosen design is {choice.proof.status} within the catalogue, at our own prices.")
    if told := stated_text(comparison):
        points.append(told)
    return Paragraph(lead, lead=True), Points(tuple(points))


def _money(comparison: Comparison, figures: Figures) -> tuple[Block, ...]:
    rows: list[tuple[Text, ...]] = []
    for place, one in enumerate(comparison.options):
        under = figures.under(f"options.{place}")
        rows.append(
            (
                f"{one.rank}. {name_of(one)}",
                *cost_cells(figures=under),
                "yes" if one.evaluation.feasible else "no",
            )
        )
    best = frozenset({0}) if comparison.best is not None else frozenset[int]()
    chart = money_chart(site=comparison.site, rows=rows_of_comparison(comparison=comparison))
    return (
        picture(chart=chart, caption="First and life-cycle cost of each option, brought to one scope."),
        Table(
            "Options by rank: those that keep every limit first, each group by life-cycle cost",
            ("Option", *cost_heads(figures=figures), "Keeps every limit"),
            tuple(rows),
            frozenset(range(1, 7)),
            best,
            wide=True,
        ),
        *_levelled(comparison, figures),
        *_economics(comparison, figures),
        *bill_blocks(
            evaluation=comparison.options[0].evaluation,
            site=comparison.site,
            figures=figures.under("options.0"),
        ),
    )


def _levelled(comparison: Comparison, figures: Figures) -> list[Block]:
    """What was added to offers so that all have one scope."""
    rows: list[tuple[Text, ...]] = []
    for place, one in enumerate(comparison.options):
        if one.price.offered is None:
            continue
        under = figures.under(f"options.{place}.levelled")
        added = [
            say("{} {}", clean(each.section), under(f"added.{at}.amount", "price", unit=False))
            if each.amount is not None
            else say("{}, for which there is no price", clean(each.section))
            for at, each in enumerate(one.price.added)
        ]
        rows.append(
            (
                name_of(one),
                under("offered", "price", unit=False),
                Markup(", ").join(added) if added else "nothing",
                under("total", "price", unit=False),
            )
        )
    if not rows:
        return []
    code = comparison.site.costs.currency
    heads = ("Offer", f"Offered [{code}]", f"Added for what it leaves out [{code}]", f"First cost [{code}]")
    return [Table("Offers brought to one scope", heads, tuple(rows), frozenset({1, 3}))]


def _economics(comparison: Comparison, figures: Figures) -> list[Block]:
    base = comparison.options[comparison.base]
    rows: list[tuple[Text, ...]] = []
    for place, one in enumerate(comparison.options):
        found = one.measures
        if found is None or not one.evaluation.feasible:
            continue
        under = figures.under(f"options.{place}.economics")
        rows.append(
            (
                f"{one.rank}. {name_of(one)}",
                under("net_savings", "money", unit=False),
                under("added_investment", "money", unit=False),
                under("savings_to_investment", "ratio"),
                under("adjusted_rate_of_return", "percent"),
                _years(under, "simple_payback_years", found.simple_payback),
                _years(under, "discounted_payback_years", found.discounted_payback),
            )
        )
    text = Paragraph(say("Base case: {}, {}.", name_of(base), clean(comparison.base_reason)))
    if not rows:
        return [text]
    heads = (
        "Option",
        figures.head("Net savings", "money"),
        figures.head("Added investment", "money"),
        "Savings to investment",
        "Adjusted rate of return",
        "Payback",
        "Discounted payback",
    )
    caption = "Options that keep every limit against the base case (ASTM E917, E1057, E964, E1074)"
    return [text, Table(caption, heads, tuple(rows), frozenset(range(1, 7)), wide=True)]


def _years(under: Figures, key: str, value: float | None) -> Text:
    return "never" if value is None else under(key, "years")


def _air(comparison: Comparison, prepared: Prepared) -> tuple[Block, ...]:
    """The design hour of each option, all on the same axes."""
    found = []
    for one in comparison.options:
        own = prepared_of(option=one, prepared=prepared)
        found.append((one, own, design_air(prepared=own, evaluation=one.evaluation)))
    states = [(state.air.dry_bulb, state.air.humidity_ratio) for _, _, air in found for state in air.states]
    frame = frame_of(states=states, units=comparison.site.display_units)
    blocks: list[Block] = [
        Paragraph(
            "The hour of the 0.4 % dew-point design week in which the new units together take out most moisture, for "
            "each option, all on the same axes; an hour of the year where they take out none in that week."
        )
    ]
    for one, own, air in found:
        chart = psychrometric_chart(
            site=own.site,
            install=one.evaluation.install,
            air=air,
            name=f"psychrometric-option-{one.rank}",
            frame=frame,
            what=OPTION_WORDS[one.option.change.kind] if one.option.change is not None else "",
        )
        what = _what(one, "nothing new")
        title = f"{one.rank}. {name_of(one)}: {what}"
        blocks += [Heading(title), picture(chart=chart, caption=AIR_CAPTION, label=title)]
    return tuple(blocks)


def _others(comparison: Comparison, figures: Figures) -> tuple[Block, ...]:
    rows: list[tuple[Text, ...]] = []
    for place, one in enumerate(comparison.options):
        under = figures.under(f"options.{place}")
        limits = one.evaluation.broken
        # hours stand in the reason, of one humidity limit
        humidity = sum(target_of(limit.limit) is not None for limit in limits)
        told_all = humidity <= 1 and all(limit.unit == "h" for limit in limits)
        broken = "" if told_all else under.broken()
        several = len({part.model for part in one.evaluation.install}) > 1
        told = {limit.limit for limit in limits if not several}
        misfits = "; ".join(
            f"{clean(each.model)}: {broken_text(limit, figures.show)}"
            for each in one.misfits
            for limit in each.broken
            if limit.limit not in told
        )
        design = _what(one, "nothing new")
        above = say(
            "{} of {}",
            under("humidity.hours_above", "hours", unit=False),
            under("humidity.allowed_hours_above", "hours", unit=False),
        )
        words: list[Text] = [clean(one.reason)] + ([say("Not kept: {}", broken)] if broken else [])
        words += [f"The site cannot take: {misfits}"] if misfits else []
        rows.append((f"{one.rank}. {name_of(one)}", design, above, join(words, ". ")))
    heads = ("Option", "Design", "Hours above, of those allowed [h a year]", "Why it stands here")
    return (Table("Every option and its reason", heads, tuple(rows), frozenset({2})),)


def _proof(comparison: Comparison, figures: Figures) -> tuple[Block, ...]:
    blocks: list[Block] = []
    choice = comparison.choice
    if choice is None:
        blocks.append(Paragraph("No search was asked for, so nothing is proved about other designs."))
    else:
        pairs: tuple[tuple[str, Text], ...] = (
            ("Status of the search", clean(choice.proof.status)),
            ("Reason", clean(choice.proof.reason)),
            ("Designs possible", figures("choice.designs_possible", "count")),
            ("Simulation work", figures("choice.year_equivalents", "work")),
        )
        blocks.append(Pairs(pairs))
    designs = [
        (f"{one.rank}. {name_of(one)}", figures.under(f"options.{at}"))
        for at, one in enumerate(comparison.options)
    ]
    return (*blocks, audit_table(designs=designs))
