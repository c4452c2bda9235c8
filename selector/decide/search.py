"""Search a list of designs for the two cheapest that keep the limits, each followed until it ends or is stopped.

A design is left out for one of four reasons, each a proof that it cannot be among the two cheapest: it costs too much
with no more energy than the fan's while ventilation is open; it costs too much by some hour, with the same for the
rest of the year, since no hour costs less; its hours above a limit have passed what is allowed, which no later hour
takes back; it fails with units out of service that it must do without.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit

from selector.decide.designs import Designs
from selector.decide.search_tables import Field, Library, assemble, place_of
from selector.decide.shared import (
    ABOVE,
    COST,
    NO_LIMIT,
    blank,
    derive_tables,
    follow_tables,
    tables,
    unavoidable,
)
from selector.inputs.site import FloatArray
from selector.physics.air_handler import Plant
from selector.physics.arrangements import Groups, IntArray
from selector.physics.prepare import Prepared
from selector.physics.year import FINISHED, Workspace, workspace

NOT_REACHED, TOO_DEAR_BEFORE, FAILS_WITH_UNITS_OUT = -1, 5, 6
SAME_COST = (
    1e-7  # relative: to this, running times are found; costs this close are equal, and the tie rule decides
)
CHUNK = 400  # designs between looks at the clock


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What a search left of each design."""

    ended: IntArray  # (D,) how it ended
    cost: FloatArray  # (D,) currency; where FINISHED the life-cycle cost, else so far
    above: FloatArray  # (D, L) hours above so far
    warm: FloatArray  # (D,) hours too warm so far
    hours: float  # work, as `year.WORK` counts it


@njit(cache=True, nogil=True, error_model="numpy")
def _one(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    first: int,
    choices: Groups,
    ranks: IntArray,
    existing: Groups,
    existing_counts: IntArray,
    existing_full: IntArray,
    existing_ranks: IntArray,
    index: IntArray,
    starts: FloatArray,
    called: FloatArray,
    shared: FloatArray,
    still: FloatArray,
    parts: IntArray,
    counts: IntArray,
    groups: Groups,
    amounts: IntArray,
    fixed: float,
    cost_limit: float,
    warm_limit: float,
    allowed: FloatArray,
    sums: FloatArray,
    space: Workspace,
) -> tuple[int, float]:
    """Follow one design; `existing_full` tells whether a common year still fits when existing units are out."""
    filled, lead = assemble(
        parts, counts, choices, ranks, existing, existing_counts, existing_ranks, groups, amounts
    )
    row = index[lead] if lead >= 0 else index[-1]
    for e in range(existing_counts.size):
        if existing_counts[e] != existing_full[e] and (lead < 0 or existing_ranks[e] <= ranks[lead]):
            row = 0  # the first row is blank: nothing is shared
    has = float(amounts[place_of(groups, filled, choices[lead])]) if lead >= 0 else 0.0
    sums[:] = 0.0
    sums[COST] = fixed
    ended, simulated = follow_tables(
        plant, hours, wet, limit_rh, limit_w, groups[:filled], amounts[:filled], first,
        space, starts[row], called[row], shared[row], still, has, cost_limit, warm_limit, allowed, sums,
    )  # fmt: skip
    return ended, simulated


@njit(cache=True, nogil=True, error_model="numpy")
def _search(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    first: int,
    choices: Groups,
    ranks: IntArray,
    existing: Groups,
    existing_counts: IntArray,
    existing_ranks: IntArray,
    index: IntArray,
    starts: FloatArray,
    called: FloatArray,
    shared: FloatArray,
    still: FloatArray,
    parts: IntArray,
    counts: IntArray,
    fixed: FloatArray,
    order: IntArray,
    chains: IntArray,
    spare: int,
    warm_limit: float,
    allowed: FloatArray,
    best: FloatArray,
    bound: bool,
    budget: float,
    groups: Groups,
    amounts: IntArray,
    space: Workspace,
    own_starts: FloatArray,
    own_called: FloatArray,
    own_sums: FloatArray,
    ended: IntArray,
    cost: FloatArray,
    above: FloatArray,
    warm: FloatArray,
) -> float:
    """Search the designs of `order`; see `search`."""
    spent = 0.0
    limits = allowed.size
    sums = np.zeros(ABOVE + limits)
    less = np.zeros(parts.shape[1], np.int64)
    there = existing_counts.copy()
    out = np.zeros(parts.shape[1] + existing_counts.size, np.int64)
    ample = np.zeros(parts.shape[1], np.int64)
    begins = 0
    derived = False
    for place in range(order.size):
        d = order[place]
        if spent >= budget:
            return spent
        limit = best[1] * (1.0 + SAME_COST)
        if place == 0 or chains[place] != chains[place - 1]:
            # designs that differ only in their last part's count: share their own common year, if there are several
            begins = place
            derived = False
            alive = 0
            least = np.inf
            ample[:] = counts[d]
            last_part = 0
            for at in range(parts.shape[1]):
                if parts[d, at] >= 0:
                    last_part = at
            while begins < order.size and chains[begins] == chains[place]:
                other = order[begins]
                if fixed[other] + still[0] <= limit:
                    alive += 1
                    least = min(least, fixed[other])
                    ample[last_part] = max(ample[last_part], counts[other, last_part])
                begins += 1
            if last_part > 0 and alive > 1:
                filled, lead = assemble(
                    parts[d],
                    ample,
                    choices,
                    ranks,
                    existing,
                    existing_counts,
                    existing_ranks,
                    groups,
                    amounts,
                )
                row = index[lead]
                last = place_of(groups, filled, choices[parts[d, last_part]])
                has = float(amounts[place_of(groups, filled, choices[lead])])
                came, simulated = derive_tables(
                    plant, hours, wet, limit_rh, limit_w, groups[:filled], amounts[:filled], last, first,
                    space, starts[row], called[row], shared[row], still, has, limit - least, allowed, own_starts,
                    own_called, own_sums,
                )  # fmt: skip
                spent += simulated
                derived = True
        cost[d] = fixed[d]
        if fixed[d] + still[0] > limit:
            ended[d] = TOO_DEAR_BEFORE
            continue
        if derived:
            filled, lead = assemble(
                parts[d],
                counts[d],
                choices,
                ranks,
                existing,
                existing_counts,
                existing_ranks,
                groups,
                amounts,
            )
            sums[:] = 0.0
            sums[COST] = fixed[d]
            ended[d], simulated = follow_tables(
                plant, hours, wet, limit_rh, limit_w, groups[:filled], amounts[:filled], first,
                space, own_starts, own_called, own_sums, still, float(amounts[last]), limit, warm_limit,
                allowed, sums,
            )  # fmt: skip
        else:
            ended[d], simulated = _one(
                plant, hours, wet, limit_rh, limit_w, first, choices, ranks, existing, existing_counts,
                existing_counts, existing_ranks, index, starts, called, shared, still, parts[d], counts[d],
                groups, amounts, fixed[d], limit, warm_limit, allowed, sums, space,
            )  # fmt: skip
        spent += simulated
        cost[d] = sums[COST]
        above[d] = sums[ABOVE:]
        warm[d] = sums[1]
        if ended[d] != FINISHED:
            continue
        if spare > 0:
            # every way to take `spare` units out: an odometer over the units taken from each group
            out[:] = 0
            while ended[d] == FINISHED:
                at = 0
                while at < out.size:
                    room = counts[d, at] if at < parts.shape[1] else existing_counts[at - parts.shape[1]]
                    if out[at] < room and out.sum() < spare:
                        out[at] += 1
                        break
                    out[at] = 0
                    at += 1
                if at == out.size:
                    break
                total = counts[d].sum() + existing_counts.sum()
                if out.sum() != min(spare, total):
                    continue
                for i in range(less.size):
                    less[i] = counts[d, i] - out[i]
                for i in range(there.size):
                    there[i] = existing_counts[i] - out[less.size + i]
                came, simulated = _one(
                    plant, hours, wet, limit_rh, limit_w, first, choices, ranks, existing, there,
                    existing_counts, existing_ranks, index, starts, called, shared, still, parts[d], less,
                    groups, amounts, 0.0, NO_LIMIT, warm_limit, allowed, sums, space,
                )  # fmt: skip
                spent += simulated
                if came != FINISHED:
                    ended[d] = FAILS_WITH_UNITS_OUT
            if ended[d] != FINISHED:
                continue
        if bound:
            continue
        if cost[d] < best[0]:
            best[1] = best[0]
            best[0] = cost[d]
        elif cost[d] < best[1]:
            best[1] = cost[d]
    return spent


def chained(*, designs: Designs, order: IntArray) -> tuple[IntArray, IntArray]:
    """Bring designs together that differ only in the count of their last part.

    Args: designs; order (N,), best guess first.
    Returns: order (N,) by chain, chains in the order of their best design, the same order within each; and a number for
        each place's chain.
    """
    if order.size == 0:
        return order, order
    parts, counts = designs.parts[order], designs.counts[order].copy()
    if parts.shape[1]:
        last = np.maximum(0, (parts >= 0).sum(axis=1) - 1)
        counts[np.arange(order.size), last] = 0
    keys = np.concatenate([parts, counts], axis=1)
    _, first, chain = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    rank = first[chain.reshape(-1)]
    places = np.lexsort((np.arange(order.size), rank))
    return order[places], rank[places]


def search(
    *,
    prepared: Prepared,
    field: Field,
    library: Library,
    designs: Designs,
    order: IntArray,
    spare: int,
    warm_limit: float,
    allowed: FloatArray,
    budget: float,
    deadline: float | None = None,
    known: tuple[float, float] = (NO_LIMIT, NO_LIMIT),
    bound: bool = False,
    progress: Callable[[int], None] | None = None,
) -> Found:
    """Find the two cheapest designs of a list that keep the limits.

    Args: prepared; field; library; designs; order (N,), rows of designs to look at, best guess first; spare, units any
        of which may be out; warm_limit [h]; allowed (L,) [h]; budget [h], work after which no further
        design is begun; deadline [s], of `time.monotonic`, likewise; known [currency], costs of the two best so far;
        bound, whether hours cost at least what the tables say, so that a design that ends is not known to be one of the
        two best; progress, called with the number of designs done.
    Returns: `Found`, over all rows of designs; those not in `order` stay NOT_REACHED.
    """
    total, limits = designs.parts.shape[0], prepared.limit_rh.shape[0]
    order, chains = chained(designs=designs, order=order)
    own = blank(prepared=prepared)
    still = unavoidable(prepared=prepared)
    ended = np.full(total, NOT_REACHED, np.int64)
    cost = np.zeros(total)
    above = np.zeros((total, limits))
    warm = np.zeros(total)
    best = np.array(known, np.float64)
    most = designs.parts.shape[1] + field.existing_counts.size
    groups: Any = np.zeros(max(1, most), field.choices.dtype)
    amounts = np.zeros(max(1, most), np.int64)
    space = workspace(limits=limits)
    spent = 0.0
    # pieces end where a chain ends, so that the work is the same however often somebody looks
    ends = np.flatnonzero(np.diff(chains, append=-1)) + 1
    watched = deadline is not None or progress is not None
    at = 0
    while at < order.size:
        if deadline is not None and time.monotonic() > deadline:
            break
        end = int(ends[ends >= min(at + CHUNK, order.size)][0]) if watched else order.size
        spent += _search(
            *tables(prepared), prepared.first_hour, field.choices, field.ranks, field.existing,
            field.existing_counts, field.existing_ranks, library.index, library.starts, library.called,
            library.sums, still, designs.parts, designs.counts, designs.fixed, order[at:end],
            chains[at:end], spare, warm_limit, allowed, best, bound, float(budget - spent), groups, amounts, space,
            own.starts, own.called, own.sums, ended, cost, above, warm,
        )  # fmt: skip
        if progress is not None:
            progress(end)
        if spent >= budget:
            break
        at = end
    return Found(ended, cost, above, warm, spent)
