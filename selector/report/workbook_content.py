"""What a workbook is made from: the options side by side, which of them is the answer and which the base case."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from selector.decide.evaluate import Evaluation
from selector.decide.results import Choice
from selector.inputs.site import Install, Site
from selector.money.quantities import BillOfQuantities, bill_of_quantities
from selector.physics.design_day import DesignDayResult
from selector.physics.fit import FittedUnit
from selector.report.choose_screen import answer_of, proof_text
from selector.report.text import design_text


@dataclass(frozen=True, slots=True, eq=False)
class Option:
    """One design among those that are compared."""

    letter: str  # by which the sheets name it
    name: str  # may be a person's words
    evaluation: Evaluation
    bill: BillOfQuantities
    reason: str


@dataclass(frozen=True, slots=True, eq=False)
class Content:
    """Everything that stands in a workbook."""

    site: Site
    answer: str
    proof: str
    options: tuple[Option, ...]
    shown: Option  # the answer
    base: Option  # the existing system alone
    days: tuple[DesignDayResult, ...]  # design days of the answer
    fitted: tuple[FittedUnit, ...]  # the catalogue's units


def letter_of(place: int) -> str:
    """Letter of an option.

    >>> letter_of(0), letter_of(25), letter_of(26)
    ('A', 'Z', 'AA')

    Args: place, number from 0. Returns: one letter, or two.
    """
    first, last = divmod(place, 26)
    return (chr(64 + first) if first else "") + chr(65 + last)


def content_of_choice(
    *, choice: Choice, days: Sequence[DesignDayResult], fitted: Sequence[FittedUnit]
) -> Content:
    """Put a choice in order for a workbook.

    Args: choice; days, the design days of its answer; fitted, units of the catalogue.
    Returns: `Content`: the answer first, then the runner-up, the best (or nearest) of each arrangement, and the
        existing system; a design that stands in two of these places is named once.
    """
    answer = answer_of(choice)
    if choice.best is None:
        word = f"Not possible: {choice.proof.reason}. Nearest: {design_text(answer.install)}"
        first = "Nearest design"
    elif answer.install:
        word, first = f"Install {design_text(answer.install)}", "Chosen design"
    else:
        word = "Install nothing: the existing system keeps every limit"
        first = "Existing system alone"
    found: dict[tuple[Install, ...], tuple[str, Evaluation, str]] = {
        answer.install: (first, answer, "keeps every limit" if answer.feasible else _broken(answer))
    }
    if choice.runner_up is not None:
        found.setdefault(choice.runner_up.install, ("Runner-up", choice.runner_up, "dearer over the study"))
    for one in choice.by_arrangement:
        design = one.best or one.closest
        if design is not None:
            name = f"{'Best' if one.best else 'Nearest'} {one.arrangement}"
            found.setdefault(design.install, (name, design, one.reason))
    existing = choice.existing
    reason = "keeps every limit" if existing.feasible else _broken(existing)
    found.setdefault(existing.install, ("Existing system alone", existing, reason))
    options = tuple(
        Option(
            letter_of(place),
            name,
            evaluation,
            bill_of_quantities(site=choice.site, install=evaluation.install),
            why,
        )
        for place, (name, evaluation, why) in enumerate(found.values())
    )
    return Content(
        site=choice.site,
        answer=word,
        proof=proof_text(choice.proof, choice.site.costs.currency),
        options=options,
        shown=options[0],
        base=next(one for one in options if one.evaluation.install == existing.install),
        days=tuple(days),
        fitted=tuple(fitted),
    )


def _broken(evaluation: Evaluation) -> str:
    """Name what a design breaks."""
    names = ", ".join(one.limit for one in evaluation.broken)
    return f"breaks: {names}"
