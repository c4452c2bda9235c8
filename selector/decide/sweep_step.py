"""One value of a sweep: the site with that value is chosen for like any other site, by `choose`.

These functions run in the sweep's own process or in one of several; what they are given and what they return can be
sent from one to another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from selector.decide.choose import allowed_hours, choose, warm_hours_allowed
from selector.decide.designs import NO_PART, judge_designs
from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.decide.nearest import with_units_out
from selector.decide.results import Choice
from selector.decide.search import FAILS_WITH_UNITS_OUT, Found, field_of, library_for, search
from selector.decide.shared import NO_LIMIT
from selector.decide.solver import SolverName
from selector.decide.sweep_results import DesignFigures, StepResult, Values, figures_of, step_of
from selector.inputs.site import ARRANGEMENTS, Install, Site
from selector.inputs.vary import Variation, changed_site
from selector.physics.fit import FittedUnit
from selector.physics.prepare import Prepared, lead_order
from selector.physics.year import FINISHED, TOO_WARM

Design = tuple[Install, ...]
Record = Callable[
    [Choice, Prepared], Mapping[str, Any]
]  # makes plain values of a choice; a module's function


@dataclass(frozen=True, slots=True, eq=False)
class Base:
    """What all values of a sweep share."""

    site: Site  # as read
    variations: tuple[Variation, ...]
    fitted: tuple[FittedUnit, ...]
    solver: SolverName
    record: Record | None


@dataclass(frozen=True, slots=True)
class Contest:
    """A few designs at one value: which of them would be chosen."""

    winner: Design | None  # None: none of them keeps the limits
    cost: float | None  # currency, life-cycle cost of the winner


def prepared_at(*, base: Base, values: Values | None) -> Prepared:
    """Prepare the site for some values of what is varied.

    Args: base; values [SI], None for the site as it was read.
    Returns: `Prepared`.
    """
    site = base.site
    if values is not None:
        site = changed_site(site=site, settings=tuple(zip(base.variations, values, strict=True)))
    fitted = base.fitted
    if site.catalog is not base.site.catalog:
        fitted = tuple(replace(one, unit=unit) for one, unit in zip(fitted, site.catalog.units, strict=True))
    return prepare_site(site=site, fitted=fitted)


def choose_at(
    *, base: Base, values: Values | None, first: Sequence[Design], staying: Design | None
) -> StepResult:
    """Choose for one value, and see what today's design does there.

    Args: base; values [SI], None for the site as it was read, whose own choice is then today's design; first, designs
        to look at before others; staying, today's design, None where there is none or it is not known.
    Returns: `StepResult`.
    """
    prepared = prepared_at(base=base, values=values)
    choice = choose(prepared=prepared, solver=base.solver, first=first)
    if values is None and choice.best is not None:
        staying = choice.best.install
    stays = None if staying is None else _staying(prepared, choice, staying)
    record = None if base.record is None else base.record(choice, prepared)
    return step_of(values=values or (), choice=choice, staying=stays, record=record)


def _staying(prepared: Prepared, choice: Choice, install: Design) -> DesignFigures:
    if choice.best is not None and choice.best.install == install:
        return figures_of(choice.best)
    warm = warm_hours_allowed(prepared=prepared, existing=choice.existing)
    return figures_of(_judged(prepared, install, warm))


def _judged(prepared: Prepared, install: Design, warm_allowed: float | None) -> Evaluation:
    """One design in full, held to every limit, with spare units out where the site asks for it."""
    one = evaluate(prepared=prepared, install=install, warm_allowed=warm_allowed)
    return with_units_out(prepared=prepared, design=one, warm_allowed=warm_allowed)[0]


def design_at(*, base: Base, values: Values, install: Design) -> DesignFigures:
    """One design at one value, held to every limit.

    Args: base; values [SI]; install, its new units.
    Returns: `DesignFigures`.
    """
    prepared = prepared_at(base=base, values=values)
    existing = evaluate(prepared=prepared, install=())
    warm = warm_hours_allowed(prepared=prepared, existing=existing)
    return figures_of(_judged(prepared, install, warm))


def _warm_allowed(prepared: Prepared) -> float:
    warm = warm_hours_allowed(prepared=prepared, existing=evaluate(prepared=prepared, install=()))
    return NO_LIMIT if warm is None else warm


def contest_at(*, base: Base, values: Values, designs: Sequence[Design]) -> Contest:
    """Find which of a few designs would be chosen at one value.

    Args: base; values [SI]; designs, new units of each.
    Returns: `Contest`.
    """
    return contest(prepared=prepared_at(base=base, values=values), designs=designs)


def contest(*, prepared: Prepared, designs: Sequence[Design]) -> Contest:
    """Find which of a few designs would be chosen for a site, by the rules and the search of `choose`.

    Args: prepared; designs, new units of each.
    Returns: `Contest`.
    """
    site = prepared.site
    extra = site.limits.extra_hours_too_warm
    if site.costs.tariff is not None:
        warm = None if extra is None else _warm_allowed(prepared)
        found = [_judged(prepared, install, warm) for install in designs]
        kept = [one for one in found if one.feasible]
        best = min(kept, key=lambda one: one.costs.life_cycle, default=None)
        return Contest(None, None) if best is None else Contest(best.install, best.costs.life_cycle)
    units = {unit.model: row for row, unit in enumerate(site.catalog.units)}
    width = max(1, *(len(install) for install in designs))
    parts = np.full((len(designs), width), NO_PART, np.int64)
    counts = np.zeros((len(designs), width), np.int64)
    for row, install in enumerate(designs):
        for place, part in enumerate(lead_order(prepared=prepared, install=install)):
            parts[row, place] = units[part.model] * len(ARRANGEMENTS) + ARRANGEMENTS.index(part.arrangement)
            counts[row, place] = part.count
    table = judge_designs(prepared=prepared, parts=parts, counts=counts, limits=site.limits)
    rows = np.flatnonzero(table.excluded == 0)

    def searched(warm_limit: float) -> Found:
        return search(
            prepared=prepared,
            field=field_of(prepared=prepared),
            library=library_for(prepared=prepared, choices=len(units) * len(ARRANGEMENTS), leads=()),
            designs=table,
            order=rows[np.argsort(table.fixed[rows], kind="stable")],
            spare=site.limits.spare_units,
            warm_limit=warm_limit,
            allowed=allowed_hours(prepared=prepared),
            budget=10**9,
        )

    # the hours that the existing system has itself need to be known only where more than the extra ones occur
    result = searched(NO_LIMIT if extra is None else extra)
    if extra is not None and np.any(np.isin(result.ended[rows], (TOO_WARM, FAILS_WITH_UNITS_OUT))):
        result = searched(_warm_allowed(prepared))
    ended = [int(row) for row in rows if result.ended[row] == FINISHED]
    if not ended:
        return Contest(None, None)
    best_row = min(ended, key=lambda row: (float(result.cost[row]), int(table.units[row])))
    return Contest(designs[best_row], float(result.cost[best_row]))
