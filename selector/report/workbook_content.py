"""What a workbook is made from: the options side by side, which of them is the answer and which the base case."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from selector.decide.commissioning import CommissioningSheet, commissioning_sheet
from selector.decide.compare import Comparison, OptionResult, base_of
from selector.decide.evaluate import Evaluation, life_cycle_of, prepare_site
from selector.decide.levelling import EnteringAir, LevelledRating
from selector.decide.results import Choice
from selector.inputs.site import Assumption, Install, Site, Unit, assumptions_of_options
from selector.money.economics import Measures, measures
from selector.money.first_cost import unit_of
from selector.money.life_cycle import LifeCycle
from selector.money.quantities import BillLine, BillOfQuantities
from selector.physics.design_day import DesignDayResult
from selector.physics.fit import FittedUnit
from selector.physics.prepare import Prepared
from selector.report.choose_screen import answer_of, proof_text
from selector.report.text import clean, design_text, design_within

CENT = 0.005  # currency; amounts closer than this are the same


@dataclass(frozen=True, slots=True, eq=False)
class Option:
    """One design among those that are compared."""

    mark: str  # "1", "2", ...: the sheets name it so
    name: str  # may be a person's words
    site: Site  # as the option changes it
    evaluation: Evaluation
    life_cycle: LifeCycle
    bill: BillOfQuantities
    reason: str
    measures: Measures | None  # against the base case, None for the base case itself
    ratings: tuple[LevelledRating, ...] = ()  # on the same entering air as all others
    extra_first: float = 0.0  # currency, of what is not units
    extra_life: float | None = None  # years, after which it is bought again; None: never in the study

    @property
    def heading(self) -> str:
        """Return the words above a part that is about this option: "Best standalone" names its place already."""
        design = design_within(self.evaluation.install, self.name.rpartition(" ")[2])
        return f"Option {self.mark}: {self.name}: {design}"


@dataclass(frozen=True, slots=True, eq=False)
class Content:
    """Everything that stands in a workbook."""

    site: Site
    answer: str
    proof: str
    options: tuple[Option, ...]
    shown: Option  # the answer
    base: Option  # the base case
    base_reason: str
    days: tuple[DesignDayResult, ...]  # design days of the answer
    fitted: tuple[FittedUnit, ...]  # units that stand in an option, or are there already
    commissioning: CommissioningSheet  # of the answer
    air: tuple[EnteringAir, ...] = ()  # that the options' units are rated at
    estimate: bool | None = None  # whether a default could change the answer, None where that was not tried

    @property
    def assumptions(self) -> tuple[Assumption, ...]:
        """Return every value that the run used, those of proposals last."""
        proposed = assumptions_of_options(site=self.site) if self.air else ()
        return (*self.site.assumptions, *proposed)


def content_of_choice(
    *, choice: Choice, prepared: Prepared, days: Sequence[DesignDayResult], estimate: bool | None = None
) -> Content:
    """Put a choice in order for a workbook.

    Args: choice; prepared, its site; days, the design days of its answer; estimate, whether a default could change it,
        None where that was not tried.
    Returns: `Content`: the answer first, then the runner-up, the best (or nearest) of each arrangement, and the
        existing system; a design that stands in two of these places is named once.
    """
    site = choice.site
    answer = answer_of(choice)
    if choice.best is None:
        word = f"{choice.answer.capitalize()}: {choice.proof.reason}. Nearest: {design_text(answer.install)}"
        first = "Nearest design"
    elif answer.install:
        word, first = f"Install {design_text(answer.install)}", "Chosen design"
    else:
        word = "Install nothing: the existing system keeps every limit"
        first = "Existing system alone"
    found: dict[tuple[Install, ...], tuple[str, Evaluation, str]] = {
        answer.install: (first, answer, _kept(answer))
    }
    if choice.runner_up is not None:
        found.setdefault(choice.runner_up.install, ("Runner-up", choice.runner_up, "dearer over the study"))
    for one in choice.by_arrangement:
        design = one.best or one.closest
        if design is not None:
            name = f"{'Best' if one.best else 'Nearest'} {one.arrangement}"
            found.setdefault(design.install, (name, design, one.reason))
    existing = choice.existing
    found.setdefault(existing.install, ("Existing system alone", existing, _kept(existing)))
    evaluations = [evaluation for _, evaluation, _ in found.values()]
    base, base_reason = base_of(
        existing=[*found].index(existing.install),
        feasible=[one.feasible for one in evaluations],
        first=[one.costs.first for one in evaluations],
    )
    against = life_cycle_of(site=site, evaluation=evaluations[base])
    options = tuple(
        _option(f"{place + 1}", name, site, evaluation, why, against, is_base=place == base)
        for place, (name, evaluation, why) in enumerate(found.values())
    )
    return Content(
        site=site,
        answer=word,
        proof=proof_text(choice.proof, site.costs.currency),
        options=options,
        shown=options[0],
        base=options[base],
        base_reason=base_reason,
        days=tuple(days),
        fitted=_standing(prepared.fitted, [(one.site, one.evaluation.install) for one in options]),
        commissioning=commissioning_sheet(prepared=prepared, install=answer.install),
        estimate=estimate,
    )


def content_of_design(
    *, prepared: Prepared, shown: Evaluation, existing: Evaluation, days: Sequence[DesignDayResult]
) -> Content:
    """Put one simulated design in order for a workbook, the existing system beside it.

    Args: prepared; shown, the design; existing, the existing system alone; days, design days of the design.
    Returns: `Content`.
    """
    site = prepared.site
    base = life_cycle_of(site=site, evaluation=existing)
    designs = [("Existing system alone", existing, _kept(existing))]
    if shown.install:
        designs.insert(0, ("Design", shown, _kept(shown)))
    options = tuple(
        _option(f"{place + 1}", name, site, one, why, base, is_base=not one.install)
        for place, (name, one, why) in enumerate(designs)
    )
    return Content(
        site=site,
        answer=f"{design_text(shown.install).capitalize()}: {_kept(shown)}",
        proof="none: the design was named, not chosen",
        options=options,
        shown=options[0],
        base=options[-1],
        base_reason="the existing system",
        days=tuple(days),
        fitted=_standing(prepared.fitted, [(site, one.install) for _, one, _ in designs]),
        commissioning=commissioning_sheet(prepared=prepared, install=shown.install),
    )


def _kept(evaluation: Evaluation) -> str:
    """Say that a design keeps every limit, or what it breaks."""
    if evaluation.feasible:
        return "keeps every limit"
    return f"breaks: {', '.join(clean(one.limit) for one in evaluation.broken)}"


def _option(
    mark: str, name: str, site: Site, evaluation: Evaluation, reason: str, base: LifeCycle, *, is_base: bool
) -> Option:
    life = life_cycle_of(site=site, evaluation=evaluation)
    costs = site.costs
    against = measures(base=base, option=life, rate=costs.discount_rate, inflation=costs.inflation)
    return Option(
        mark=mark,
        name=name,
        site=site,
        evaluation=evaluation,
        life_cycle=life,
        bill=evaluation.costs.quantities,
        reason=reason,
        measures=None if is_base else against,
    )


def content_of_comparison(*, comparison: Comparison, prepared: Prepared) -> Content:
    """Put a comparison in order for a workbook.

    Args: comparison; prepared, its site.
    Returns: `Content`, options in their rank.
    """
    site = comparison.site
    options = tuple(_compared(f"{place + 1}", one) for place, one in enumerate(comparison.options))
    first = comparison.options[0]
    best = comparison.best
    if best is None:
        word = f"Not possible: no option keeps every limit. Nearest: {first.option.name}"
    else:
        word = f"Take {best.option.name}"
        if best.option.kind != "change":
            word += f": {design_text(best.evaluation.install)}"
    choice = comparison.choice
    fitted = [unit for one in comparison.options for unit in one.fitted]
    own = prepared if first.option.site is site else prepare_site(site=first.option.site, fitted=first.fitted)
    return Content(
        site=site,
        answer=word,
        proof="no search was asked for" if choice is None else proof_text(choice.proof, site.costs.currency),
        options=options,
        shown=options[0],
        base=options[comparison.base],
        base_reason=comparison.base_reason,
        days=first.days,
        fitted=_standing(
            (*prepared.fitted, *fitted),
            [(one.option.site, one.evaluation.install) for one in comparison.options],
        ),
        commissioning=commissioning_sheet(prepared=own, install=first.evaluation.install),
        air=comparison.air,
    )


def _compared(mark: str, one: OptionResult) -> Option:
    by = f", by {one.option.by}" if one.option.by else ""
    return Option(
        mark=mark,
        name=f"{one.option.name}{by}",
        site=one.option.site,
        evaluation=one.evaluation,
        life_cycle=one.life_cycle,
        bill=_whole_bill(one),
        reason=one.reason,
        measures=one.measures,
        ratings=one.ratings,
        extra_first=one.option.extra_first,
        extra_life=one.option.extra_life,
    )


def _whole_bill(one: OptionResult) -> BillOfQuantities:
    """The bill with a line for work that is no part of any unit, where an option has such work."""
    bill = one.evaluation.costs.quantities
    rest = one.evaluation.costs.first - bill.total
    if abs(rest) < CENT:
        return bill
    line = BillLine(
        section="lump sums",
        what=f"{one.option.name}, work beside units",
        arrangement=None,
        quantity=1.0,
        unit="each",
        rate=rest,
        amount=rest,
        origin="site file",
        kind="lump sums",
    )
    return replace(
        bill, lines=(line, *bill.lines), installation=bill.installation + rest, total=bill.total + rest
    )


def units_of(content: Content) -> tuple[Unit, ...]:
    """Units that stand in any option or are there already, each once; the same model twice where prices differ.

    Args: content. Returns: units, in the catalogue's order, proposals' own ones last.
    """
    found: dict[tuple[str, float, float, float], Unit] = {}
    parts = [(one.site, part) for one in content.options for part in one.evaluation.install]
    parts += [(content.site, part) for part in content.site.existing_units]
    for site, part in parts:
        unit = unit_of(site=site, model=part.model)
        found.setdefault(unit_key(unit), unit)
    order = {unit.model: place for place, unit in enumerate(content.site.catalog.units)}
    return tuple(sorted(found.values(), key=lambda unit: order.get(unit.model, len(order))))


def unit_key(unit: Unit) -> tuple[str, float, float, float]:
    """What tells units apart in money.

    Args: unit. Returns: model, price [currency], service life [year] and maintenance [currency/year].
    """
    return unit.model, unit.price, unit.service_life, unit.maintenance


def _standing(
    fitted: Sequence[FittedUnit], designs: Sequence[tuple[Site, tuple[Install, ...]]]
) -> tuple[FittedUnit, ...]:
    """Fitted units that stand in a design, each once."""
    wanted = {part.model for site, install in designs for part in (*install, *site.existing_units)}
    found: dict[tuple[object, ...], FittedUnit] = {}
    for one in fitted:
        if one.unit.model in wanted:
            found.setdefault((one.unit.model, one.unit.ratings), one)
    return tuple(found.values())
