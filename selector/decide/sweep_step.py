"""One value of a sweep: the site with that value is chosen for like any other site, by `choose`.

These functions run in the sweep's own process or in one of several; what they are given and what they return can be
sent from one to another.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from selector.decide.choose import choose, warm_hours_allowed
from selector.decide.common_years import SamePhysics
from selector.decide.contest import Contest, Design, contest, judged
from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.results import Choice
from selector.decide.solver import SolverName
from selector.decide.sweep_results import DesignFigures, StepResult, Values, figures_of, step_of
from selector.inputs.site import Site
from selector.inputs.vary import PRICES, Variation, changed_site
from selector.physics.fit import FittedUnit
from selector.physics.prepare import Prepared

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
    shared: SamePhysics | None  # where prices alone are varied; each process has its own


def base_of(
    *, prepared: Prepared, variations: tuple[Variation, ...], solver: SolverName, record: Record | None
) -> Base:
    """What all values of a sweep share.

    Args: prepared, the site as it was read; variations; solver of the proposals; record, of `sweep`.
    Returns: `Base`.
    """
    site = prepared.site
    names = {one.parameter.name for one in variations}
    # a limit on first cost leaves out other designs at other prices of units
    same = names <= set(PRICES) and site.costs.tariff is None
    same = same and (site.limits.first_cost is None or "unit-price" not in names)
    return Base(site, variations, prepared.fitted, solver, record, SamePhysics() if same else None)


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
    choice = choose(prepared=prepared, solver=base.solver, first=first, shared=base.shared)
    if values is None and choice.best is not None:
        staying = choice.best.install
    stays = None if staying is None else _staying(prepared, choice, staying)
    record = None if base.record is None else base.record(choice, prepared)
    return step_of(values=values or (), choice=choice, staying=stays, record=record)


def _staying(prepared: Prepared, choice: Choice, install: Design) -> DesignFigures:
    if choice.best is not None and choice.best.install == install:
        return figures_of(choice.best)
    warm = warm_hours_allowed(prepared=prepared, existing=choice.existing)
    return figures_of(judged(prepared=prepared, install=install, warm_allowed=warm))


def design_at(*, base: Base, values: Values, install: Design) -> DesignFigures:
    """One design at one value, held to every limit.

    Args: base; values [SI]; install, its new units.
    Returns: `DesignFigures`.
    """
    prepared = prepared_at(base=base, values=values)
    existing = evaluate(prepared=prepared, install=())
    warm = warm_hours_allowed(prepared=prepared, existing=existing)
    return figures_of(judged(prepared=prepared, install=install, warm_allowed=warm))


def contest_at(*, base: Base, values: Values, designs: Sequence[Design]) -> Contest:
    """Find which of a few designs would be chosen at one value.

    Args: base; values [SI]; designs, new units of each.
    Returns: `Contest`.
    """
    return contest(prepared=prepared_at(base=base, values=values), designs=designs)
