"""A few designs held against each other for one site, by the rules and the search of `choose`, but without a proof.

It costs a fraction of a choice: only these designs are simulated, and all but the first only until they are dearer than
the best so far or break a limit. Designs with the same lead share its year, as in `choose`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from selector.decide.choose import allowed_hours, warm_hours_allowed
from selector.decide.common_years import trace_all
from selector.decide.designs import NO_PART, Designs
from selector.decide.evaluate import Evaluation, evaluate, fixed_present_value
from selector.decide.limits import broken_before_simulation
from selector.decide.nearest import with_units_out
from selector.decide.search import FAILS_WITH_UNITS_OUT, SAME_COST, search
from selector.decide.search_tables import Field, Library, field_of, library_for
from selector.decide.shared import NO_LIMIT
from selector.inputs.site import ARRANGEMENTS, Install
from selector.money.first_cost import first_cost
from selector.physics.prepare import Prepared, lead_order
from selector.physics.year import FINISHED, TOO_WARM

LEAST_SHARED = 4  # designs beyond one for each lead from which common years are worth simulating
Design = tuple[Install, ...]


@dataclass(frozen=True, slots=True)
class Contest:
    """Which of a few designs would be chosen."""

    winner: Design | None  # None: none of them keeps the limits, or is cheaper than what was known
    cost: float | None  # currency, life-cycle cost of the winner
    hours: tuple[int, ...] = ()  # of the winner: above each limit, too warm


def judged(*, prepared: Prepared, install: Design, warm_allowed: float | None) -> Evaluation:
    """One design in full, held to every limit, with spare units out where the site asks for it.

    Args: prepared; install, its new units; warm_allowed [h a year], None for no limit.
    Returns: `Evaluation`.
    """
    one = evaluate(prepared=prepared, install=install, warm_allowed=warm_allowed)
    return with_units_out(prepared=prepared, design=one, warm_allowed=warm_allowed)[0]


def contest(*, prepared: Prepared, designs: Sequence[Design], known: float = NO_LIMIT) -> Contest:
    """Find which of a few designs would be chosen for a site.

    Args: prepared; designs, new units of each, the likely winner first; known [currency], the cost of another design
        that keeps the limits: only what is cheaper wins.
    Returns: `Contest`.
    """
    site = prepared.site
    extra = site.limits.extra_hours_too_warm
    if site.costs.tariff is not None:
        warm = None if extra is None else _warm_allowed(prepared)
        found = [judged(prepared=prepared, install=install, warm_allowed=warm) for install in designs]
        kept = [one for one in found if one.feasible and one.costs.life_cycle < known * (1.0 - SAME_COST)]
        least = min(kept, key=lambda one: one.costs.life_cycle, default=None)
        if least is None:
            return Contest(None, None)
        hours = (*(limit.hours_above for limit in least.limits), least.hours_too_warm)
        return Contest(least.install, least.costs.life_cycle, hours)
    table, field = _table(prepared, designs), field_of(prepared=prepared)
    library = _library(prepared, table, field)
    # the hours that the existing system has itself need to be known only where more than the extra ones occur
    best, broke = _search(prepared, field, library, table, NO_LIMIT if extra is None else extra, known)
    if extra is not None and broke:
        best, _ = _search(prepared, field, library, table, _warm_allowed(prepared), known)
    if best is None:
        return Contest(None, None)
    return Contest(designs[best.row], best.cost, best.hours)


def _warm_allowed(prepared: Prepared) -> float:
    warm = warm_hours_allowed(prepared=prepared, existing=evaluate(prepared=prepared, install=()))
    return NO_LIMIT if warm is None else warm


def _table(prepared: Prepared, designs: Sequence[Design]) -> Designs:
    units = {unit.model: row for row, unit in enumerate(prepared.site.catalog.units)}
    width = max(1, *(len(install) for install in designs))
    parts = np.full((len(designs), width), NO_PART, np.int64)
    counts = np.zeros((len(designs), width), np.int64)
    for row, install in enumerate(designs):
        for place, part in enumerate(lead_order(prepared=prepared, install=install)):
            parts[row, place] = units[part.model] * len(ARRANGEMENTS) + ARRANGEMENTS.index(part.arrangement)
            counts[row, place] = part.count
    site = prepared.site
    first = np.array([first_cost(site=site, install=install).total for install in designs])
    fixed = np.array([fixed_present_value(site=site, install=install) for install in designs])
    broken = [bool(broken_before_simulation(prepared=prepared, install=install)) for install in designs]
    return Designs(parts, counts, np.zeros(len(designs), np.int64), first, fixed, np.array(broken, np.int64))


def _library(prepared: Prepared, table: Designs, field: Field) -> Library:
    """Common years of leads that several designs have; blank where simulating them costs more than it saves."""
    lead = table.parts[:, 0]
    open_leads = lead[(table.excluded == 0) & (lead >= 0)]
    leads, counts = np.unique(open_leads, return_counts=True)
    leads, counts = leads[counts > 1], counts[counts > 1]
    if int(counts.sum()) - leads.size < LEAST_SHARED:
        return library_for(prepared=prepared, choices=field.choices.size, leads=())
    rest = np.where(np.isin(lead, leads), table.excluded, 1)
    return trace_all(prepared=prepared, designs=replace(table, excluded=rest), field=field)[0]


@dataclass(frozen=True, slots=True)
class _Best:
    row: int
    cost: float
    hours: tuple[int, ...]


def _search(
    prepared: Prepared, field: Field, library: Library, table: Designs, warm_limit: float, known: float
) -> tuple[_Best | None, bool]:
    """The winner, None where there is none; whether any broke the limit on hours too warm."""
    site = prepared.site
    rows = [row for row in range(table.excluded.size) if table.excluded[row] == 0]
    best: _Best | None = None
    broke = False
    for batch in (rows[:1], sorted(rows[1:], key=lambda row: float(table.fixed[row]))):
        limit = known if best is None else best.cost
        result = search(
            prepared=prepared, field=field, library=library, designs=table, order=np.array(batch, np.int64),
            spare=site.limits.spare_units, warm_limit=warm_limit, allowed=allowed_hours(prepared=prepared),
            budget=10**9, known=(limit, limit),
        )  # fmt: skip
        for row in batch:
            cost, ended = float(result.cost[row]), int(result.ended[row])
            broke = broke or ended in (TOO_WARM, FAILS_WITH_UNITS_OUT)
            least = known if best is None else best.cost
            if ended == FINISHED and cost < least * (1.0 - SAME_COST):
                hours = (*(round(one) for one in result.above[row]), round(float(result.warm[row])))
                best = _Best(row, cost, hours)
    return best, broke
