"""Where no design of an arrangement keeps the limits: which came nearest, and what it breaks.

A stopped design says only that it failed, not by how much. So the designs that failed for the arrangement's commonest
reason are put in the order in which they promise most, the first of them are followed to the year's end, and the one
with the fewest hours beyond its limits is taken. It is the nearest of those followed: nothing is proved about the rest.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from selector.decide.designs import FIRST_COST, Designs, count_reasons, install_of
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.limits import BrokenLimit
from selector.decide.propose import BIG, Estimate
from selector.decide.search import FAILS_WITH_UNITS_OUT, NOT_REACHED, Found, search
from selector.decide.search_tables import Field, Library
from selector.decide.shared import NO_LIMIT, PLACES, WARM_HOURS
from selector.inputs.site import FloatArray, Install
from selector.physics.arrangements import IntArray
from selector.physics.hourly import simulate_hours
from selector.physics.prepare import Prepared, lead_order
from selector.physics.year import ABOVE_LIMIT, COIL_FROST, TOO_WARM

TRIED = 16  # designs of an arrangement that are followed to the year's end
TRIED_WHOLE = 6  # where each takes a whole year, or several, that no common year shortens
WITH_UNITS_OUT = "hours above with units out"

# reasons in the order that decides between equally many designs
_ENDS = (ABOVE_LIMIT, TOO_WARM, COIL_FROST)


@dataclass(frozen=True, slots=True)
class Nearest:
    """The design that came nearest, or none, and the hours that were simulated to find it."""

    row: int | None
    hours: float


def dominant_end(*, found: Found, order: IntArray) -> int | None:
    """How most designs of a list ended.

    Args: found; order (N,), rows of designs, none of which keeps the limits.
    Returns: what stopped most of them, None where none was simulated. Designs that fail only with units out of service
        keep every limit with all their units: where there are such, none of the others is nearer.
    """
    ended = found.ended[order]
    if np.any(ended == FAILS_WITH_UNITS_OUT):
        return FAILS_WITH_UNITS_OUT
    counts = [int((ended == end).sum()) for end in _ENDS]
    return _ENDS[int(np.argmax(counts))] if sum(counts) else None


def nearest_design(
    *,
    prepared: Prepared,
    field: Field,
    library: Library,
    designs: Designs,
    estimate: Estimate,
    order: IntArray,
    found: Found,
    allowed: FloatArray,
    warm_limit: float,
) -> Nearest:
    """Find which of the designs that were stopped came nearest.

    Args: prepared; field; library; designs; estimate; order (N,), rows of designs that were searched, none of which
        keeps the limits; found, of that search; allowed (L,) [h]; warm_limit [h].
    Returns: `Nearest`; no row where none was simulated.
    """
    end = dominant_end(found=found, order=order)
    if end is None:
        return Nearest(None, 0)
    rows = order[found.ended[order] == end]
    rows = promising(designs=designs, estimate=estimate, library=library, rows=rows, end=end)
    if end in (COIL_FROST, FAILS_WITH_UNITS_OUT):
        rows = rows[:TRIED_WHOLE]
    best: tuple[float, float] | None = None
    nearest: int | None = None
    hours = 0.0
    for row in rows:
        beyond, cost, spent = _followed(prepared, field, library, designs, int(row), allowed, warm_limit, end)
        hours += spent
        if best is None or (beyond, cost) < best:
            best, nearest = (beyond, cost), int(row)
    return Nearest(nearest, hours)


def promising(
    *, designs: Designs, estimate: Estimate, library: Library, rows: IntArray, end: int
) -> IntArray:
    """Order designs that failed for one reason by how near they may have come.

    Args: designs; estimate; library; rows (N,) of them; end, how they ended.
    Returns: at most `TRIED` rows. Too wet: those that cover most of the need, then those that move most air. Too warm:
        of each lead the cheapest that covers the need and the cheapest that does not, the lead first that leaves the
        space coolest in its common year. Frost: in turn one of those that cover most and of those that lead least air
        around the coil.
    """
    parts, counts = designs.parts[rows], designs.counts[rows]
    size = (np.append(estimate.airflow, 0.0)[parts] * counts).sum(axis=1)
    cover = np.round((counts / np.append(estimate.need, BIG)[parts]).sum(axis=1), 6)
    most = rows[np.lexsort((-size, -cover))]
    if end == COIL_FROST:
        least = rows[np.argsort(size, kind="stable")]
        mixed = dict.fromkeys(int(row) for pair in zip(most, least, strict=True) for row in pair)
        return np.array([*mixed][:TRIED], np.int64)
    if end != TOO_WARM:
        return np.asarray(most[:TRIED])
    leads, short = parts[:, 0], cover < 1.0
    warm = library.sums[library.index[leads], PLACES, WARM_HOURS]
    ranked = np.lexsort((designs.fixed[rows], short, leads, warm))
    _, first = np.unique(np.stack([leads[ranked], short[ranked]]), axis=1, return_index=True)
    return np.asarray(rows[ranked[np.sort(first)]][:TRIED])


def _followed(
    prepared: Prepared,
    field: Field,
    library: Library,
    designs: Designs,
    row: int,
    allowed: FloatArray,
    warm_limit: float,
    end: int,
) -> tuple[float, float, float]:
    """Hours beyond the limits over the whole year, life-cycle cost, and the work [h]."""
    if end in (COIL_FROST, FAILS_WITH_UNITS_OUT):
        install = install_of(prepared=prepared, designs=designs, row=row)
        warm_allowed = warm_limit if warm_limit < NO_LIMIT else None
        one = evaluate(prepared=prepared, install=install, warm_allowed=warm_allowed)
        beyond, spent = hours_beyond(one), float(PLACES)
        if end == FAILS_WITH_UNITS_OUT:
            broken, more = units_out(prepared=prepared, design=one, warm_allowed=warm_allowed)
            beyond += 0.0 if broken is None else broken.got - broken.allowed
            spent += more
        return beyond, one.costs.life_cycle, spent
    result = search(
        prepared=prepared, field=field, library=library, designs=designs, order=np.array([row], np.int64), spare=0,
        warm_limit=NO_LIMIT, allowed=np.full(allowed.size, NO_LIMIT), budget=PLACES,
    )  # fmt: skip
    beyond = float(np.maximum(0.0, result.above[row] - allowed).sum())
    beyond += max(0.0, float(result.warm[row]) - warm_limit)
    if result.ended[row] == COIL_FROST:
        beyond = float("inf")  # it was stopped before its hours were counted
    return beyond, float(result.cost[row]), result.hours


def hours_beyond(evaluation: Evaluation) -> float:
    """Hours a year in which a design breaks its limits beyond what is allowed.

    Args: evaluation.
    Returns: sum over all limits on hours: each humidity limit, too warm, frost, units out.
    """
    return float(sum(one.got - one.allowed for one in evaluation.broken if one.unit == "h"))


def nearness(evaluation: Evaluation) -> tuple[bool, float, int, float]:
    """Order in which designs that keep not every limit come near.

    Args: evaluation.
    Returns: sort key: whether it breaks a limit with all its units, hours beyond the limits, other limits broken,
        life-cycle cost.
    """
    whole = any(one.limit != WITH_UNITS_OUT for one in evaluation.broken)
    others = sum(one.unit != "h" for one in evaluation.broken)
    return whole, hours_beyond(evaluation), others, evaluation.costs.life_cycle


def units_out(
    *, prepared: Prepared, design: Evaluation, warm_allowed: float | None
) -> tuple[BrokenLimit | None, float]:
    """Simulate a design with the site's spare units out, in every way, and keep the worst.

    Args: prepared; design; warm_allowed [h a year], None for no limit.
    Returns: the limit on hours that is broken by most, None where all ways keep the limits; the work [h].
    """
    site = prepared.site
    every = lead_order(prepared=prepared, install=(*design.install, *site.existing_units))
    out = min(site.limits.spare_units, sum(part.count for part in every))
    worst: BrokenLimit | None = None
    spent = 0
    for less in _less(every, out):
        year = simulate_hours(prepared=prepared, install=tuple(part for part in less if part.count > 0))
        spent += PLACES
        pairs = [
            (float(year.above[:, k].sum()), target.allowed_hours_above)
            for k, target in enumerate(site.targets)
        ]
        if warm_allowed is not None:
            pairs.append((float(year.warm.sum()), warm_allowed))
        got, limit = max(pairs, key=lambda pair: pair[0] - pair[1])
        if got > limit and (worst is None or got - limit > worst.got - worst.allowed):
            worst = BrokenLimit(WITH_UNITS_OUT, got, limit, "h")
    return worst, spent


def _less(install: tuple[Install, ...], out: int) -> Iterator[tuple[Install, ...]]:
    """Every way to take so many units out."""
    if not install:
        if out == 0:
            yield ()
        return
    first, rest = install[0], install[1:]
    for taken in range(min(out, first.count) + 1):
        for less in _less(rest, out - taken):
            yield (replace(first, count=first.count - taken), *less)


def with_units_out(
    *, prepared: Prepared, design: Evaluation, warm_allowed: float | None
) -> tuple[Evaluation, float]:
    """Mark a design that keeps every limit with all its units, but not with spare units out.

    Args: prepared; design; warm_allowed [h a year], None for no limit.
    Returns: the design with that limit among those it breaks; the work [h].
    """
    if design.broken or prepared.site.limits.spare_units == 0:
        return design, 0
    broken, spent = units_out(prepared=prepared, design=design, warm_allowed=warm_allowed)
    if broken is None:
        return design, spent
    return replace(design, feasible=False, broken=(broken,)), spent


def cheapest_excluded(*, designs: Designs, code: int) -> int | None:
    """The design that comes nearest where all of an arrangement break a limit that needs no simulation.

    Args: designs; code of the arrangement.
    Returns: of the designs that the commonest reason excludes, the one of least first cost, then the fewest units; None
        where that reason is not one of cost, which no other design is nearer to.
    """
    here = designs.arrangements == 1 << code
    reasons = np.bincount(designs.excluded[here], minlength=FIRST_COST + 1)
    if reasons[1:].sum() == 0 or int(np.argmax(reasons[1:])) + 1 != FIRST_COST:
        return None
    rows = np.flatnonzero(here & (designs.excluded == FIRST_COST))
    return int(rows[np.lexsort((designs.units[rows], designs.first[rows]))[0]])


def why_none(*, designs: Designs, order: IntArray, found: Found, code: int, near: Evaluation | None) -> str:
    """Say why no design of an arrangement is possible.

    Args: designs; order (N,), rows of it that were searched; found, of that search; code of the arrangement; near, the
        nearest design of it.
    Returns: text; what the nearest design breaks is not in it.
    """
    open_ones = int((found.ended[order] == NOT_REACHED).sum())
    if order.size and open_ones == order.size:
        return "not reached"
    if near is not None and near.broken:
        return "none keeps the limits" if open_ones == 0 else f"none found, {open_ones} not reached"
    reasons: Mapping[str, int] = count_reasons(designs.excluded[designs.arrangements == 1 << code])
    if not reasons:
        return "no design of it in the catalogue"
    return "no design fits: " + max(reasons, key=lambda reason: reasons[reason])
