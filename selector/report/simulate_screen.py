"""Screens of a simulated design: what it does, where moisture and energy go, and the longer detail of a choice."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from selector.decide.evaluate import Evaluation
from selector.decide.results import Choice
from selector.inputs.site import Site
from selector.physics.design_day import DesignDayResult
from selector.physics.fit import FittedUnit
from selector.report.bill_report import bill_texts
from selector.report.bill_text import bill_screen
from selector.report.cautions import DEFER, cautions
from selector.report.choose_screen import answer_of, move_text
from selector.report.lines import (
    LABEL,
    balance_text,
    bought_currents,
    broken_text,
    cost_text,
    derived_texts,
    design_day_text,
    existing_text,
    hot_air_texts,
    humidity_text,
    labelled,
    low_airflow_texts,
    rests_on,
    running_text,
    set_back_text,
    standing_defaults,
    title,
    unsettled_texts,
)
from selector.report.terminal import Line, Screen, Table
from selector.report.text import WIDTH, Show, command, design_text, design_within, plural, show_for

_MOISTURE = {
    "internal": "people, surfaces and other gains",
    "ventilation": "ventilation",
    "infiltration": "infiltration",
    "coil": "taken out by the cooling coil",
    "units": "taken out by dehumidifiers",
    "stored": "stored",
}
_ENERGY = {
    "units": "dehumidifiers, electricity",
    "unit_gas": "dehumidifiers, gas",
    "cooling": "cooling plant",
    "fan": "air handler's fan",
    "heating": "heating, bought",
}


def simulate_screen(
    *,
    site: Site,
    evaluation: Evaluation,
    existing: Evaluation,
    days: Sequence[DesignDayResult],
    fitted: Sequence[FittedUnit],
    warm_allowed: float | None,
    bill: bool = False,
) -> Screen:
    """Write a simulated design.

    Args: site; evaluation; existing, the existing system alone; days, the design days of the design; fitted, of the
        catalogue; warm_allowed [h a year]; bill, whether the bill of quantities is shown.
    Returns: lines and tables.
    """
    show = show_for(site)
    several = len(evaluation.limits) > 1
    screen: list[Line | Table] = [
        Line(title(site, WIDTH), "bold"),
        _line("Design", design_text(evaluation.install)),
        _line("Answer", "keeps every limit" if evaluation.feasible else "does NOT keep every limit", "bold"),
    ]
    screen += [_line("Broken", broken_text(one, show)) for one in evaluation.broken]
    screen += _humidity(evaluation, fitted, show)
    screen.append(_line("Existing", existing_text(existing, show, name=several)))
    screen += [_line("Design day", design_day_text(day, show)) for day in days]
    screen += _comfort(evaluation, existing, warm_allowed, show)
    screen.append(_line("Cost", cost_text(evaluation, site, show)))
    screen += [_line(label, text) for label, text in bill_texts(evaluation, site, show)]
    screen.append(_line("Units", running_text(evaluation, site, show)))
    screen.append(_line("Defaults", rests_on(site)))
    screen.append(Line(""))
    if bill:
        screen += [*bill_screen(bill=evaluation.costs.quantities, show=show), Line("")]
    screen += _flows(evaluation, existing, show)
    screen += _audit(evaluation)
    screen += _cautions(site, evaluation)
    if standing_defaults(site):
        screen.append(_line("Next", command("check", site.file, "--defaults")))
    return tuple(screen)


def _line(label: str, text: str, style: str = "") -> Line:
    return Line(labelled(label, text), "bold" if style == "bold" else "", LABEL)


def _humidity(evaluation: Evaluation, fitted: Sequence[FittedUnit], show: Show) -> list[Line]:
    """How every limit fared, after what derived units may turn out to remove."""
    several = len(evaluation.limits) > 1
    lines = [_line("Derived", text) for text in derived_texts(evaluation.install, fitted)]
    lines += [_line("Humidity", humidity_text(one, show, name=several)) for one in evaluation.limits]
    set_back = set_back_text(evaluation)
    return lines if set_back is None else [*lines, _line("", set_back)]


def _comfort(
    evaluation: Evaluation, existing: Evaluation, warm_allowed: float | None, show: Show
) -> list[Line]:
    allowed = "" if warm_allowed is None else f" ({warm_allowed:,.0f} allowed)"
    before = f"{existing.hours_too_warm:,} h/year with the existing system"
    lines = [_line("Too warm", f"{evaluation.hours_too_warm:,} h/year{allowed}; {before}")]
    if evaluation.short_heating_hours:
        lines.append(_line("Heating", f"runs out in {plural(evaluation.short_heating_hours, 'hour')} a year"))
    if evaluation.short_cooling_hours:
        lines.append(_line("Cooling", f"runs out in {plural(evaluation.short_cooling_hours, 'hour')} a year"))
    if evaluation.lost_hours:
        lines.append(
            _line(
                "Not running",
                f"{plural(evaluation.lost_hours, 'hour')} a year with air outside the units' range",
            )
        )
    lines += [_line("Low airflow", text) for text in low_airflow_texts(evaluation)]
    lines += [_line("Hot air", text) for text in hot_air_texts(evaluation, show)]
    if evaluation.coil_frost_hours:
        lines.append(
            _line(
                "Frost",
                f"coil below freezing in {plural(evaluation.coil_frost_hours, 'hour')} while bypassed",
            )
        )
    return lines


def _flows(evaluation: Evaluation, existing: Evaluation, show: Show) -> list[Line | Table]:
    moisture = tuple(
        (words, *(show(_round(one.moisture_kg[key]), "moisture", 3) for one in (evaluation, existing)))
        for key, words in _MOISTURE.items()
    )
    energy = tuple(
        (words, *(show.kwh(one.energy_kwh[key]) for one in (evaluation, existing)))
        for key, words in _ENERGY.items()
        if evaluation.energy_kwh[key] or existing.energy_kwh[key]
    )
    right = frozenset({1, 2})
    return [
        Table(("moisture, a year", "this design", "existing system"), moisture, right),
        Line(""),
        Table(("energy, a year", "this design", "existing system"), energy, right),
        Line(""),
    ]


def _round(mass: float) -> float:
    """Drop what is rounding: less than a gram a year."""
    return mass if abs(mass) > 1e-3 else 0.0


def _audit(evaluation: Evaluation) -> list[Line]:
    lines = [_line("Balance", balance_text(evaluation))]
    lines += [_line("Unsettled", text) for text in unsettled_texts(evaluation)]
    return lines


def _cautions(site: Site, evaluation: Evaluation) -> list[Line]:
    found = cautions(site=site, install=evaluation.install)
    lines = [
        _line("Cautions" if place == 0 else "", f"{one.topic}: {one.text}") for place, one in enumerate(found)
    ]
    return [*lines, _line("", DEFER)]


def details_screen(
    *, choice: Choice, days: Sequence[DesignDayResult], fitted: Sequence[FittedUnit]
) -> Screen:
    """Write what stands behind the first screen of a choice.

    Args: choice; days, the design days of the answer; fitted, of the catalogue.
    Returns: lines and tables.
    """
    site = choice.site
    show = show_for(site)
    shown = answer_of(choice)
    screen: list[Line | Table] = [Line("")]
    screen += [_line("Broken", broken_text(one, show)) for one in shown.broken]
    screen += [_line("Would do", move_text(move, show)) for move in choice.moves]
    screen += _first_cost(shown, show)
    screen += [_line("Electricity", text) for text in bought_currents(site, shown.install)]
    screen += _humidity(shown, fitted, show)
    screen += [_line("Design day", design_day_text(day, show)) for day in days]
    screen += _comfort(shown, choice.existing, choice.warm_allowed, show)
    screen.append(Line(""))
    screen += _flows(shown, choice.existing, show)
    screen.append(_by_arrangement(choice, show))
    screen += [Line(f"{one.arrangement}: {one.reason}") for one in choice.by_arrangement]
    if choice.runner_up is not None:
        screen.append(
            _line(
                "Runner-up",
                f"{design_text(choice.runner_up.install)}; {cost_text(choice.runner_up, site, show)}",
            )
        )
    screen.append(Line(""))
    screen += _proof(choice, show)
    screen += _audit(shown)
    screen += _cautions(site, shown)
    screen += [_line("Note", note) for note in site.notes]
    return tuple(screen)


def _by_arrangement(choice: Choice, show: Show) -> Table:
    """Best, or nearest, of each arrangement."""
    rows: list[tuple[str, ...]] = []
    for one in choice.by_arrangement:
        design = one.best or one.closest
        if design is None:
            rows.append((one.arrangement, "none", "", "", "", ""))
            continue
        costs = design.costs
        money = tuple(f"{value:,.0f}" for value in (costs.first, costs.annual_operating, costs.life_cycle))
        what = design_within(design.install, one.arrangement)
        rows.append(
            (one.arrangement, what, *money, f"{design.hours_above:,} h" + ("" if one.best else ", no"))
        )
    code = f"[{show.currency}]"
    headings = ("arrangement", "best, or nearest", f"first {code}", f"a year {code}", f"life {code}", "above")
    return Table(headings, tuple(rows), frozenset({2, 3, 4, 5}))


def _first_cost(evaluation: Evaluation, show: Show) -> list[Line | Table]:
    if not evaluation.costs.lines.lines:
        return []
    rows = tuple(
        (
            line.model if line.kind == "unit" else ", ".join(filter(None, (line.kind, line.model))),
            line.arrangement,
            f"{line.count}",
            show(line.each, "money"),
            show(line.total, "money"),
        )
        for line in evaluation.costs.lines.lines
    )
    table = Table(("first cost", "arrangement", "count", "each", "total"), rows, frozenset({2, 3, 4}))
    costs = evaluation.costs
    yearly = (
        f"electricity {show(costs.electricity, 'money_per_year')}, gas {show(costs.gas, 'money_per_year')}, "
        f"maintenance {show(costs.maintenance, 'money_per_year')}"
    )
    return [table, _line("Yearly", yearly)]


def _proof(choice: Choice, show: Show) -> list[Line | Table]:
    proof = choice.proof
    rows = tuple((rule, f"{count:,}") for rule, count in proof.excluded_by.items())
    bound = "none"
    if not isnan(proof.lower_bound):
        bound = f"{show(proof.lower_bound, 'money')}; gap {show(proof.gap_money, 'money')}"
    return [
        _line("Proof", f"{proof.status}: {proof.reason}"),
        _line("", f"lower bound of the life-cycle cost: {bound}"),
        Table(("designs accounted for by", "designs"), rows, frozenset({1})),
    ]
