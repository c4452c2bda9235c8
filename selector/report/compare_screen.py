"""The screen of `compare`: the option to take, all options side by side, why each stands where it stands, and what was
added to level them; in 80 columns.

Options are numbered by their rank, and the number stands for the option in every table.
"""

from __future__ import annotations

from selector.decide.compare import Comparison, OptionResult
from selector.decide.levelling import EnteringAir, LevelledRating
from selector.decide.limits import hours_limit
from selector.inputs.quantities import display_unit, display_value
from selector.inputs.site import assumptions_of_options
from selector.report import figures as f
from selector.report.cautions import short_cautions
from selector.report.lines import (
    LABEL,
    broken_text,
    cost_text,
    derived_texts,
    humidity_text,
    labelled,
    rests_on,
    run_notes,
    short_current,
    standard_condition,
    standing_defaults,
    title,
)
from selector.report.terminal import Line, Screen, Table
from selector.report.text import WIDTH, Show, clean, command, design_text, fit, hour_text, show_for

NAME = 29  # columns that an option's name may take; fewer where figures are long
LONGEST, BY = 48, 24  # columns of a name, and of who proposes it, within a line of text
CLOSE = 0.02  # of the life-cycle cost: less than prices and loads are known to
SPARE = (
    "warm: hours too warm; spare: more moisture all year with every limit kept, in % of the mean load; unit out: "
    "hours above with the worst unit out of service; figures are rounded after they are added"
)
MIXED = "a+b A: current at two voltages, the lower first; they do not add up"
MEASURES = (
    "against the base case, present values: added: first cost, replacement and what is left at the end; ratio: "
    "savings to added; return: adjusted, real; payback: until savings stay ahead of all costs, replacements included"
)
OPTION_WORDS = {
    "overcooling-reheat": "run the cooling coil for humidity and reheat the supply air; no units",
    "recovery-wheel": "an energy-recovery wheel on the outdoor air; no units",
    "unoccupied": "another fan or set-point policy while unoccupied; no units",
    "outdoor-air": "less outdoor air, not below the ventilation standard; no units",
    "economizer": "another economizer or limit of it; no units",
}
STATED = "Figures of proposals are as their bidders state them; ask for a signed data sheet and scope."


def compare_screen(*, comparison: Comparison) -> Screen:
    """Write a comparison.

    Args: comparison.
    Returns: lines and tables of at most 80 columns.
    """
    site = comparison.site
    show = show_for(site)
    screen: list[Line | Table] = [Line(title(site, WIDTH), "bold")]
    screen += _answer(comparison, show)
    screen += [Line(""), _money(comparison, show), Line(""), _energy(comparison, show)]
    screen += [Line(""), _holding(comparison, show), Line(SPARE, "dim")]
    mixed = any(one.evaluation.current is None for one in comparison.options)
    screen += [Line(MIXED, "dim"), Line("")] if mixed else [Line("")]
    screen += [
        _line("Why" if place == 0 else "", f"{one.rank} {name_of(one)}: {one.reason}")
        for place, one in enumerate(comparison.options)
    ]
    screen += _broken(comparison, show)
    screen += _economics(comparison, show)
    screen += _levelled(comparison, show)
    screen += _end(comparison, show)
    return tuple(screen)


def name_of(one: OptionResult) -> str:
    """Name an option and who proposes it.

    Args: one. Returns: text.
    """
    by = f" ({fit(clean(one.option.by), BY)})" if one.option.by else ""
    return fit(clean(one.option.name), LONGEST) + by


def _line(label: str, text: str, style: str = "") -> Line:
    return Line(labelled(label, text), "bold" if style == "bold" else "", LABEL)


def _answer(comparison: Comparison, show: Show) -> list[Line | Table]:
    site, best = comparison.site, comparison.best
    if best is None:
        return [
            _line("Answer", "NOT POSSIBLE: no option keeps every limit", "bold"),
            _line("Cheapest", f"{name_of(comparison.options[0])}; what it breaks stands below"),
        ]
    design = design_text(best.evaluation.install) if best.evaluation.install else "install nothing"
    if best.option.change is not None:
        design = OPTION_WORDS[best.option.change.kind]
    several = len(best.evaluation.limits) > 1
    lines: list[Line | Table] = [
        _line("Answer", f"{name_of(best)}: {design}", "bold"),
        _line("", "lowest life-cycle cost of the options that keep every limit"),
        _line("Cost", cost_text(best.evaluation, site, show)),
    ]
    lines += [_line("Humidity", humidity_text(one, show, name=several)) for one in best.evaluation.limits]
    lines += [_line("Derived", text) for text in derived_texts(best.evaluation.install, best.fitted)]
    choice = comparison.choice
    if choice is None:
        lines.append(_line("No search", "other designs may be better; without --no-choice they are tried"))
    elif choice.best is None:
        lines.append(_line("Search", f"no design of the catalogue keeps every limit ({choice.proof.status})"))
    elif not choice.best.install:
        lines.append(_line("Search", f"the search chose to install nothing ({choice.proof.status})"))
    else:
        status = choice.proof.status
        lines.append(
            _line("Search", f"the chosen design is {status} within the catalogue, at our own prices")
        )
    good = [one for one in comparison.options if one.evaluation.feasible]
    if len(good) > 1:
        extra = good[1].life_cycle.total - best.life_cycle.total
        share = extra / best.life_cycle.total if best.life_cycle.total else 0.0
        if share < CLOSE:
            words = f"{good[1].rank} {name_of(good[1])} is {show(extra, 'money', 9)} ({100.0 * share:.2f} %) dearer"
            lines.append(_line("Close", f"{words}: closer than prices and loads are known"))
    return lines


def _bare(value: float, dimension: str, show: Show, digits: int = 0) -> str:
    """Write a figure whose unit stands in the heading."""
    return f"{display_value(value, dimension, show.units) + 0.0:,.{digits}f}"


def _unit(dimension: str, show: Show) -> str:
    return display_unit(dimension, show.units, currency=show.currency)


def _money(comparison: Comparison, show: Show) -> Table:
    code = show.currency
    rows = []
    for one in comparison.options:
        costs, evaluation = one.evaluation.costs, one.evaluation
        rows.append(
            (
                f"{one.rank}",
                clean(one.option.name),
                f"{costs.first:,.0f}",
                f"{costs.annual_operating:,.0f}",
                f"{costs.life_cycle:,.0f}",
                f"{evaluation.hours_above:,}",
                "yes" if evaluation.feasible else "NO",
            )
        )
    headings = ("#", "option", f"first {code}", f"{code}/year", f"life {code}", "above h/y", "holds")
    widths = [max(len(row[at]) for row in (headings, *rows)) for at in range(len(headings)) if at != 1]
    room = min(NAME, max(8, WIDTH - sum(widths) - 2 * len(widths)))
    named = tuple((row[0], fit(row[1], room), *row[2:]) for row in rows)
    return Table(headings, named, frozenset({2, 3, 4, 5}))


def _energy(comparison: Comparison, show: Show) -> Table:
    code = show.currency
    rows = []
    for one in comparison.options:
        costs, evaluation = one.evaluation.costs, one.evaluation
        specific = evaluation.specific_removal
        rows.append(
            (
                f"{one.rank}",
                f"{costs.electricity:,.0f}",
                f"{costs.gas:,.0f}",
                f"{costs.maintenance:,.0f}",
                f"{costs.peak / 1000.0:,.1f}",
                f"{(costs.carbon_electricity + costs.carbon_gas) / 1000.0:,.1f}",
                _bare(evaluation.moisture_kg["units"], "moisture", show),
                "-" if specific is None else _bare(specific / 3.6e6, "specific_removal", show, 2),
            )
        )
    headings = (
        "#",
        f"elec. {code}/y",
        f"gas {code}/y",
        f"upkeep {code}/y",
        "peak kW",
        "CO2 t/y",
        f"removed {_unit('moisture', show)}/y",
        _unit("specific_removal", show),
    )
    return Table(headings, tuple(rows), frozenset(range(1, 8)))


def _holding(comparison: Comparison, show: Show) -> Table:
    """Comfort, nameplate and spare capacity."""
    rows = []
    for one in comparison.options:
        evaluation = one.evaluation
        worst = evaluation.worst_limit
        margin, out = one.margin, one.one_out
        more = "-"
        if margin is not None:
            more = f"{'>=' if margin.at_least else ''}{100.0 * margin.share:.0f}"
        rows.append(
            (
                f"{one.rank}",
                f"{show.limited(worst.kind, worst.worst, short=True)} {hour_text(worst.worst_hour)}",
                f"{evaluation.hours_too_warm:,}",
                "-" if evaluation.sound is None else f"{evaluation.sound:.1f}",
                short_current(evaluation) or "-",
                _bare(evaluation.weight, "mass", show) if evaluation.install else "-",
                more,
                "-" if out is None else f"{out.hours_above:,}",
            )
        )
    headings = (
        "#",
        "worst hour",
        "warm h/y",
        "dBA",
        "A",
        _unit("mass", show),
        "spare %",
        "unit out h/y",
    )
    return Table(headings, tuple(rows), frozenset(range(2, 8)))


def _broken(comparison: Comparison, show: Show) -> list[Line | Table]:
    """Limits that options break beside the one on humidity, and units that the site cannot take."""
    lines: list[Line | Table] = []
    for one in comparison.options:
        units = {limit.limit: misfit.model for misfit in one.misfits for limit in misfit.broken}
        worst = one.evaluation.worst_limit
        for limit in one.evaluation.broken:
            if limit.limit == hours_limit(worst.name):
                continue  # stands in its reason
            who = f"{clean(units[limit.limit])}, " if limit.limit in units else ""
            label = "" if lines else "Broken"
            lines.append(_line(label, f"{one.rank} {who}{broken_text(limit, show)}"))
    return lines


def _economics(comparison: Comparison, show: Show) -> list[Line | Table]:
    """Measures of the options that do the job against the base case."""
    base = comparison.options[comparison.base]
    lines: list[Line | Table] = [
        Line(""),
        _line("Base case", f"{base.rank} {name_of(base)}: {comparison.base_reason}"),
    ]
    rows = []
    for one in comparison.options:
        found = one.measures
        if found is None or not one.evaluation.feasible:
            continue
        ratio, gain = found.savings_to_investment, found.adjusted_rate_of_return
        rows.append(
            (
                f"{one.rank}",
                f"{found.net_savings:,.0f}",
                f"{found.added_investment:,.0f}",
                "-" if ratio is None else f"{ratio:.2f}",
                "-" if gain is None else f"{100.0 * gain:.1f}",
                _years(found.simple_payback),
                _years(found.discounted_payback),
            )
        )
    code = show.currency
    headings = (
        "#",
        f"net savings {code}",
        f"added {code}",
        "ratio",
        "return %/y",
        "payback years",
        "discounted",
    )
    if rows:
        lines += [Table(headings, tuple(rows), frozenset(range(1, 7))), Line(MEASURES, "dim")]
    return lines


def _years(value: float | None) -> str:
    return "never" if value is None else f"{value:.1f}"


def _levelled(comparison: Comparison, show: Show) -> list[Line | Table]:
    """Prices brought to one scope, and ratings to one entering state."""
    lines: list[Line | Table] = [Line("")]
    first = True
    for one in comparison.options:
        price = one.price
        if price.offered is None:
            continue
        added = " + ".join(
            f"{each.section} {each.amount:,.2f}" for each in price.added if each.amount is not None
        )
        words = f"{price.basis} {price.offered:,.2f}" + (f" + {added}" if added else "")
        lines.append(
            _line(
                "Levelled" if first else "",
                f"{one.rank} {name_of(one)}: {words} = {price.total:,.2f} {show.currency}",
            )
        )
        first = False
        missing = [each.section for each in price.added if each.amount is None]
        if missing:
            lines.append(
                _line("", f"NOT levelled, as this site prices them in lump sums: {', '.join(missing)}")
            )
    if first:
        lines.append(_line("Levelled", "nothing: all options are at our own prices and scope"))
    rows = [(f"{one.rank}", *_rating(each, show)) for one in comparison.options for each in one.ratings]
    if rows:
        lines.append(Line(""))
        lines += _air_lines(comparison.air, show)
        rate = _unit("moisture_rate", show)
        headings = ["#", "unit", "rated at", f"rated {rate}", f"standard {rate}"]
        if len(comparison.air) > 1:
            headings.append(f"at limit {rate}")
        lines.append(Table(tuple(headings), tuple(rows), frozenset(range(3, len(headings)))))
    return lines


def _air_lines(air: tuple[EnteringAir, ...], show: Show) -> list[Line]:
    lines = []
    for place, state in enumerate(air):
        when = ""
        if state.hour is not None and state.percent is not None:
            when = f", in the hour of the {state.percent:g} % dew-point day, {hour_text(state.hour)}"
        words = standard_condition(show)
        if state.hour is not None:
            words = f"{show(state.dry_bulb, 'temperature')}, {show(state.relative_humidity, 'fraction')} RH"
        text = f"{state.name}: {words}{when}"
        lines.append(_line("Ratings" if place == 0 else "", text))
    return lines


def _rating(one: LevelledRating, show: Show) -> tuple[str, ...]:
    """A model's removal, all its units together: as rated, and on the same air as all others."""
    row = one.offered
    state = f"{show(row.dry_bulb, 'temperature')}, {100.0 * row.relative_humidity:.0f} %"
    return (
        fit(f"{one.count} {clean(one.model)}", 18),
        state,
        f.text(one.count * row.removal, f.REMOVAL, show.units),
        *(
            f.text(one.count * rating.removal, f.REMOVAL, show.units) if rating.runs else "does not run"
            for rating in one.at
        ),
    )


def _end(comparison: Comparison, show: Show) -> list[Line | Table]:
    """What the figures rest on, and what to look out for."""
    site = comparison.site
    shown = comparison.best or comparison.options[0]
    lines: list[Line | Table] = [Line("")]
    derived = [
        f"{one.rank} {text}"
        for one in comparison.options
        if one is not comparison.best  # whose stands with the answer
        for text in derived_texts(one.evaluation.install, one.fitted)
    ]
    lines += [_line("Derived" if place == 0 else "", text) for place, text in enumerate(derived)]
    ran = [f"{one.rank} {text}" for one in comparison.options for text in run_notes(one.evaluation, show)]
    lines += [_line("Running" if place == 0 else "", text) for place, text in enumerate(ran)]
    if told := stated_text(comparison):
        lines.append(_line("Proposals", told))
    assumed = sum(one.origin in ("default", "profile") for one in assumptions_of_options(site=site))
    more = f"; {assumed} more for proposals and options" if assumed else ""
    lines.append(_line("Defaults", f"{rests_on(site)}{more}"))
    lines.append(_line("Cautions", short_cautions(site=shown.option.site, install=shown.evaluation.install)))
    lines.append(_line("Next", next_command(comparison)))
    return lines


def stated_text(comparison: Comparison) -> str:
    """Say what figures of proposals rest on, and which of them name no price.

    Args: comparison. Returns: text, empty where there are none.
    """
    proposals = [one for one in comparison.options if one.option.by]
    ours = [clean(one.option.name) for one in proposals if one.price.basis == "our own prices"]
    priced = f" Without a price of their own, and so at ours: {', '.join(ours)}." if ours else ""
    return STATED + priced if proposals else ""


def next_command(comparison: Comparison) -> str:
    """The command that is worth running next.

    Args: comparison. Returns: text that can be pasted into a shell.
    """
    file = comparison.site.file
    if comparison.choice is None:
        return command("compare", file)
    if standing_defaults(comparison.site):
        return command("check", file, "--defaults")
    return command("choose", file, "--details")
