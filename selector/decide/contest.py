"""A few designs held against each other for one site, by the rules and the search of `choose`, but without a proof.

It costs a fraction of a choice: only these designs are simulated, and all but the first only until they are dearer than
the best so far or break a limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.decide.choose import allowed_hours, warm_hours_allowed
from selector.decide.designs import NO_PART, Designs, judge_designs
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.nearest import with_units_out
from selector.decide.search import FAILS_WITH_UNITS_OUT, SAME_COST, Found, field_of, library_for, search
from selector.decide.shared import NO_LIMIT
from selector.inputs.site import ARRANGEMENTS, Install
from selector.physics.prepare import Prepared, lead_order
from selector.physics.year import FINISHED, TOO_WARM

Design = tuple[Install, ...]


@dataclass(frozen=True, slots=True)
class Contest:
    """Which of a few designs would be chosen."""

    winner: Design | None  # None: none of them keeps the limits
    cost: float | None  # currency, life-cycle cost of the winner


def judged(*, prepared: Prepared, install: Design, warm_allowed: float | None) -> Evaluation:
    """One design in full, held to every limit, with spare units out where the site asks for it.

    Args: prepared; install, its new units; warm_allowed [h a year], None for no limit.
    Returns: `Evaluation`.
    """
    one = evaluate(prepared=prepared, install=install, warm_allowed=warm_allowed)
    return with_units_out(prepared=prepared, design=one, warm_allowed=warm_allowed)[0]


def contest(*, prepared: Prepared, designs: Sequence[Design]) -> Contest:
    """Find which of a few designs would be chosen for a site.

    Args: prepared; designs, new units of each, the likely winner first.
    Returns: `Contest`.
    """
    site = prepared.site
    extra = site.limits.extra_hours_too_warm
    if site.costs.tariff is not None:
        warm = None if extra is None else _warm_allowed(prepared)
        found = [judged(prepared=prepared, install=install, warm_allowed=warm) for install in designs]
        kept = [one for one in found if one.feasible]
        best = min(kept, key=lambda one: one.costs.life_cycle, default=None)
        return Contest(None, None) if best is None else Contest(best.install, best.costs.life_cycle)
    table = _table(prepared, designs)
    # the hours that the existing system has itself need to be known only where more than the extra ones occur
    found_at, broke = _search(prepared, table, NO_LIMIT if extra is None else extra)
    if extra is not None and broke:
        found_at, _ = _search(prepared, table, _warm_allowed(prepared))
    if found_at is None:
        return Contest(None, None)
    row, cost = found_at
    return Contest(designs[row], cost)


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
    return judge_designs(prepared=prepared, parts=parts, counts=counts, limits=prepared.site.limits)


def _search(prepared: Prepared, table: Designs, warm_limit: float) -> tuple[tuple[int, float] | None, bool]:
    """Row and cost of the winner, None where none keeps the limits; whether any broke the limit on hours too warm."""
    site = prepared.site
    field = field_of(prepared=prepared)
    choices = len(site.catalog.units) * len(ARRANGEMENTS)
    library = library_for(prepared=prepared, choices=choices, leads=())

    def searched(rows: list[int], known: float) -> Found:
        return search(
            prepared=prepared, field=field, library=library, designs=table, order=np.array(rows, np.int64),
            spare=site.limits.spare_units, warm_limit=warm_limit, allowed=allowed_hours(prepared=prepared),
            budget=10**9, known=(known, known),
        )  # fmt: skip

    rows = [row for row in range(table.excluded.size) if table.excluded[row] == 0]
    best: tuple[int, float] | None = None
    broke = False
    for batch in (rows[:1], sorted(rows[1:], key=lambda row: float(table.fixed[row]))):
        result = searched(batch, NO_LIMIT if best is None else best[1])
        for row in batch:
            cost = float(result.cost[row])
            broke = broke or int(result.ended[row]) in (TOO_WARM, FAILS_WITH_UNITS_OUT)
            if result.ended[row] == FINISHED and (best is None or cost < best[1] * (1.0 - SAME_COST)):
                best = row, cost
    return best, broke
