"""Choose: which design, with a proof.

Every arrangement is searched on its own, with its own best, so that the best of each is proved as well; designs of
several arrangements, where the site allows them, are one more search. The searches are independent of each other and
run on as many cores as there are, with the same result on one.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from selector.decide.common_years import SamePhysics, on_all_cores, trace_all
from selector.decide.designs import (
    Designs,
    count_reasons,
    enumerate_designs,
    install_of,
    rows_of,
    tie_key,
    to_front,
)
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.margin import margin_of, one_out_of
from selector.decide.moves import moves_of
from selector.decide.nearest import (
    cheapest_excluded,
    nearest_design,
    nearness,
    why_none,
    with_units_out,
)
from selector.decide.propose import BIG, NO_PROPOSAL, Estimate, propose, search_order
from selector.decide.results import ArrangementResult, Choice, LimitMove, Proof, Status, Stop
from selector.decide.search import (
    FAILS_WITH_UNITS_OUT,
    NOT_REACHED,
    SAME_COST,
    TOO_DEAR_BEFORE,
    Found,
    search,
)
from selector.decide.search_tables import Field, Library, field_of, row_of
from selector.decide.shared import ABOVE, COST, NO_LIMIT, PLACES, unavoidable
from selector.decide.solver import SolverName
from selector.decide.tariff_search import BOUND_TOO_DEAR, search_bills, with_average_prices
from selector.inputs.site import ARRANGEMENTS, HOURS, Arrangement, FloatArray, Install
from selector.money.design_costs import cost_coefficients
from selector.physics.arrangements import IntArray
from selector.physics.prepare import Prepared
from selector.physics.year import ABOVE_LIMIT, COIL_FROST, FINISHED, TOO_DEAR, TOO_WARM, WARM_UP

ENDS = {
    TOO_DEAR_BEFORE: "cost before simulation",
    TOO_DEAR: "cost by some hour",
    BOUND_TOO_DEAR: "cost of the year at the least",
    ABOVE_LIMIT: "hours above the humidity limit",
    TOO_WARM: "hours too warm",
    COIL_FROST: "coil below 0 °C while bypassed",
    FAILS_WITH_UNITS_OUT: "humidity with units out",
    NOT_REACHED: "not reached",
}
MIXED = "several arrangements"
_STOPS: Mapping[Stop, str] = {"work": "work", "clock": "the clock"}
CONTENDERS = 6  # designs that are named as those an estimate puts first
Search = Callable[..., Found]


@dataclass(frozen=True, slots=True, eq=False)
class Searched:
    """One search and its outcome."""

    name: str  # arrangement, or MIXED
    order: IntArray
    found: Found
    finished: tuple[int, ...]  # rows that keep all limits, cheapest first


def allowed_hours(*, prepared: Prepared) -> FloatArray:
    """Hours above that each humidity limit allows.

    Args: prepared.
    Returns: hours (L,).
    """
    return np.array([target.allowed_hours_above for target in prepared.site.targets], np.float64)


def warm_hours_allowed(*, prepared: Prepared, existing: Evaluation) -> float | None:
    """Hours too warm that a design may have: the existing system's own and what the site allows beyond.

    Args: prepared; existing, the existing system alone.
    Returns: hours, None where the site sets no limit.
    """
    extra = prepared.site.limits.extra_hours_too_warm
    return None if extra is None else existing.hours_too_warm + extra


def estimate_of(*, prepared: Prepared, library: Library, allowed: FloatArray) -> Estimate:
    """What the common years say about each choice.

    Args: prepared; library; allowed (L,) hours above.
    Returns: `Estimate`.
    """
    site = prepared.site
    width = len(ARRANGEMENTS)
    units = site.catalog.units
    pairs = tuple(
        (unit.model, name) for unit in units for name in ARRANGEMENTS if name in site.limits.arrangements
    )
    coefficients = cost_coefficients(site=site, choices=pairs)
    total = len(units) * width
    energy, need = np.zeros(total), np.full(total, BIG)
    first, later, current, airflow = np.zeros(total), np.zeros(total), np.zeros(total), np.zeros(total)
    voltage = np.zeros(total)
    here = np.zeros(total, bool)
    hours = float(allowed.min(initial=HOURS))
    for at, (model, name) in enumerate(pairs):
        row = next(r for r, unit in enumerate(units) if unit.model == model)
        choice = row * width + ARRANGEMENTS.index(name)
        first[choice], later[choice] = coefficients.first[at], coefficients.later[at]
        current[choice], airflow[choice] = units[row].current, units[row].airflow
        voltage[choice] = units[row].voltage
        if library.index[choice] == 0:
            continue
        one = row_of(library=library, choice=choice)
        here[choice] = True
        energy[choice] = one.sums[PLACES, COST]
        if np.all(one.sums[PLACES, ABOVE:] <= allowed):
            called = np.sort(one.called[WARM_UP:][np.isfinite(one.called[WARM_UP:])])
            # floating between set point and limit all year is enough, too
            skipped = min(called.size - 1, int(hours))
            need[choice] = max(0.05, float(called[called.size - 1 - skipped])) if called.size else 1.0
    room = np.array([_room(prepared, code) for code in range(width)])
    return Estimate(energy, need, first, later, coefficients.fixed, current, voltage, airflow, room, here)


def _room(prepared: Prepared, code: int) -> float:
    from selector.decide.limits import stream_airflow

    return stream_airflow(site=prepared.site, arrangement=code)


def searches_of(*, prepared: Prepared, designs: Designs, order: IntArray) -> list[tuple[str, IntArray]]:
    """Split an order into one search for each arrangement and one for designs of several.

    Args: prepared; designs; order (N,).
    Returns: name and rows of each search; "install nothing" belongs to none.
    """
    used = designs.arrangements[order]
    parts: list[tuple[str, IntArray]] = [
        (name, order[used == 1 << code])
        for code, name in enumerate(ARRANGEMENTS)
        if name in prepared.site.limits.arrangements
    ]
    single = np.isin(used, [0, *(1 << code for code in range(len(ARRANGEMENTS)))])
    if not single.all():
        parts.append((MIXED, order[~single]))
    return parts


def shares_of_work(*, hours: int, designs: list[int]) -> list[int]:
    """Work that each search may do: half of all in equal parts, half by how many designs it has.

    Args: hours [h] to simulate, for all searches; designs, how many each has.
    Returns: hours [h] for each.
    """
    total = max(1, sum(designs))
    return [hours // (2 * len(designs)) + hours * count // (2 * total) for count in designs]


def choose(
    *,
    prepared: Prepared,
    solver: SolverName = "highs",
    seconds: float | None = None,
    first: Sequence[tuple[Install, ...]] = (),
    shared: SamePhysics | None = None,
    progress: Callable[[str, float], None] | None = None,
) -> Choice:
    """Choose the design of lowest life-cycle cost that keeps every limit.

    Args: prepared; solver of the proposal; seconds [s], a clock limit after which the answer is best-found, None for
        the site's work limit alone; first, designs to look at before all others, as those that won a similar site, in
        place of a proposal; shared, what is known from sites that differ from this one in prices alone, which is added
        to: with either the answer is the same, the work is not; progress, called with what is being done and the share
        done, 0 to 1.
    Returns: `Choice`.
    """
    began = time.monotonic()
    deadline = None if seconds is None else began + seconds
    site = prepared.site
    say = progress if progress is not None else (lambda _what, _share: None)
    say("existing system", 0.0)
    existing = evaluate(prepared=prepared, install=())
    warm_allowed = warm_hours_allowed(prepared=prepared, existing=existing)
    existing = evaluate(prepared=prepared, install=(), warm_allowed=warm_allowed, year=existing.year)
    work = float(2 * PLACES)  # and the year that its start state is taken from
    allowed = allowed_hours(prepared=prepared)
    warm_limit = NO_LIMIT if warm_allowed is None else warm_allowed
    designs = enumerate_designs(prepared=prepared)
    field = field_of(prepared=prepared)
    say("common years", 0.05)
    tracing = trace_all if shared is None else shared.trace_all
    library, hours = tracing(prepared=prepared, designs=designs, field=field)
    work += hours
    estimate = estimate_of(prepared=prepared, library=library, allowed=allowed)
    find: Search = search if shared is None else shared.search
    if site.costs.tariff is not None:
        find = partial(search_bills, trace=partial(trace_all, field=field))
        estimate = with_average_prices(estimate=estimate, existing=existing, prepared=prepared)
    say("integer programme", 0.5)
    proposal = NO_PROPOSAL if first else propose(estimate=estimate, limits=site.limits, solver=solver)
    order = search_order(designs=designs, estimate=estimate, proposal=proposal)
    contenders = order[:CONTENDERS]
    if first:
        order = to_front(order=order, rows=rows_of(prepared=prepared, designs=designs, installs=first))
    parts = searches_of(prepared=prepared, designs=designs, order=order)
    spare = site.limits.spare_units
    budgets = shares_of_work(
        hours=max(0, int(site.limits.work_years * HOURS - work)), designs=[rows.size for _, rows in parts]
    )
    done = [0] * len(parts)
    found: list[Searched | None] = [None] * len(parts)

    def one(at: int) -> None:
        name, rows = parts[at]

        def count(finished: int) -> None:
            done[at] = finished
            say("designs", 0.5 + 0.4 * sum(done) / max(1, order.size))

        result = find(
            prepared=prepared, field=field, library=library, designs=designs, order=rows, spare=spare,
            warm_limit=warm_limit, allowed=allowed, budget=budgets[at], deadline=deadline,
            progress=count if progress is not None else None,
        )  # fmt: skip
        kept = np.flatnonzero(result.ended == FINISHED)
        found[at] = Searched(name, rows, result, _ranked(designs, result.cost, kept))

    on_all_cores(one, list(range(len(parts))))
    stop: Stop = "clock" if deadline is not None and time.monotonic() >= deadline else "work"
    searched = [one_search for one_search in found if one_search is not None]
    work += sum(one_search.found.hours for one_search in searched)
    nothing = _nothing(prepared, spare, warm_limit, allowed, designs, field, library)
    work += nothing.hours
    cost = np.zeros(designs.parts.shape[0])
    ended = np.full(designs.parts.shape[0], NOT_REACHED)
    for one_search in searched:
        here = one_search.order
        cost[here], ended[here] = one_search.found.cost[here], one_search.found.ended[here]
    cost[0], ended[0] = existing.costs.life_cycle, nothing.ended[0]
    if spare == 0 or existing.broken:
        ended[0] = FINISHED if not existing.broken else ABOVE_LIMIT
    ranking = _ranked(designs, cost, np.flatnonzero((ended == FINISHED) & (designs.excluded == 0)))
    say("details", 0.9)

    def full(row: int) -> Evaluation:
        nonlocal work
        if row == 0:
            return existing
        work += PLACES
        install = install_of(prepared=prepared, designs=designs, row=row)
        return evaluate(prepared=prepared, install=install, warm_allowed=warm_allowed)

    evaluated: dict[int, Evaluation] = {}

    def get(row: int) -> Evaluation:
        if row not in evaluated:
            evaluated[row] = full(row)
        return evaluated[row]

    def marked(one: Evaluation) -> Evaluation:
        nonlocal work
        shown, hours = with_units_out(prepared=prepared, design=one, warm_allowed=warm_allowed)
        work += hours
        return shown

    best = get(ranking[0]) if ranking else None
    runner_up = get(ranking[1]) if len(ranking) > 1 else None
    by_arrangement: list[ArrangementResult] = []
    closest: Evaluation | None = None
    for one_search in searched:
        if one_search.name == MIXED:
            continue
        name = _arrangement(one_search.name)
        if one_search.finished:
            top = get(one_search.finished[0])
            by_arrangement.append(_result(name, top, best))
            continue
        nearest = nearest_design(
            prepared=prepared, field=field, library=library, designs=designs, estimate=estimate,
            order=np.sort(one_search.order), found=one_search.found, allowed=allowed, warm_limit=warm_limit,
        )  # fmt: skip
        work += nearest.hours
        row, code = nearest.row, ARRANGEMENTS.index(name)
        if one_search.order.size == 0:
            row = cheapest_excluded(designs=designs, code=code)
        near = None if row is None else marked(get(row))
        why = why_none(designs=designs, order=one_search.order, found=one_search.found, code=code, near=near)
        by_arrangement.append(ArrangementResult(name, None, near, None, why))
        if near is not None and (closest is None or nearness(near) < nearness(closest)):
            closest = near
    reached = all(np.all(s.found.ended[s.order] != NOT_REACHED) for s in searched)
    margin = one_out = None
    moves: tuple[LimitMove, ...] = ()
    if best is not None:
        margin, hours = margin_of(prepared=prepared, best=best, allowed=allowed, warm_limit=warm_limit)
        work += hours
        one_out, hours = one_out_of(prepared=prepared, best=best, warm_allowed=warm_allowed)
        work += hours
    else:
        existing = marked(existing)
        if closest is None or nearness(existing) <= nearness(closest):
            closest = existing
    if best is None and reached:
        moves, hours = moves_of(
            prepared=prepared, designs=designs, field=field, library=library, allowed=allowed, warm_limit=warm_limit,
            budget=max(0.0, site.limits.work_years * HOURS - work), deadline=deadline,
        )  # fmt: skip
        work += hours
    say("done", 1.0)
    counts = np.bincount(ended[designs.excluded == 0] + 1, minlength=max(ENDS) + 2)
    reasons = {**count_reasons(designs.excluded)}
    reasons.update({ENDS[end]: int(counts[end + 1]) for end in ENDS if counts[end + 1]})
    simulated = int(((ended != NOT_REACHED) & (ended != TOO_DEAR_BEFORE) & (designs.excluded == 0)).sum())
    waiting = (ended == NOT_REACHED) & (designs.excluded == 0)
    least = float(designs.fixed[waiting].min(initial=np.inf)) + float(unavoidable(prepared=prepared)[0])
    spent = time.monotonic() - began
    proof = _proof(best, None if reached else stop, designs, least, reasons, simulated, work, spent)
    return Choice(
        site=site,
        best=best,
        closest=None if best is not None else closest,
        existing=existing,
        runner_up=runner_up,
        by_arrangement=tuple(by_arrangement),
        margin=margin,
        one_out=one_out,
        moves=moves,
        proof=proof,
        contenders=tuple(install_of(prepared=prepared, designs=designs, row=int(row)) for row in contenders),
    )


def _nothing(
    prepared: Prepared,
    spare: int,
    warm_limit: float,
    allowed: FloatArray,
    designs: Designs,
    field: Field,
    library: Library,
) -> Found:
    """ "Install nothing" as a design like any other, with units out where the site asks for it."""
    return search(
        prepared=prepared, field=field, library=library, designs=designs, order=np.zeros(1, np.int64), spare=spare,
        warm_limit=warm_limit, allowed=allowed, budget=10 * PLACES,
    )  # fmt: skip


def _arrangement(name: str) -> Arrangement:
    return ARRANGEMENTS[ARRANGEMENTS.index(name)]


def _ranked(designs: Designs, cost: FloatArray, rows: IntArray) -> tuple[int, ...]:
    """Rows by cost; costs closer than SAME_COST to the cheapest of their run are ties, in the order of `tie_key`."""
    ordered = sorted((int(row) for row in rows), key=lambda row: float(cost[row]))
    ranked: list[int] = []
    while ordered:
        level = cost[ordered[0]] * (1.0 + SAME_COST)
        tied = [row for row in ordered if cost[row] <= level]
        ranked.extend(sorted(tied, key=lambda row: tie_key(designs, row)))
        ordered = ordered[len(tied) :]
    return tuple(ranked)


def _result(name: Arrangement, top: Evaluation, best: Evaluation | None) -> ArrangementResult:
    assert best is not None
    if top is best:
        return ArrangementResult(name, top, None, 0.0, "chosen")
    extra = top.costs.life_cycle - best.costs.life_cycle
    first = top.costs.first - best.costs.first
    energy = top.costs.present_value_energy - best.costs.present_value_energy
    later = extra - first - energy
    parts = {"first cost": first, "energy": energy, "maintenance and replacement": later}
    worst = max(parts, key=lambda key: parts[key])
    return ArrangementResult(name, top, None, extra, f"more {worst}")


def _proof(
    best: Evaluation | None,
    stop: Stop | None,
    designs: Designs,
    least: float,
    reasons: dict[str, int],
    simulated: int,
    work: float,
    spent: float,
) -> Proof:
    possible = designs.parts.shape[0]
    if best is None:
        status: Status = "not possible" if stop is None else "best-found"
        reason = "no design keeps every limit"
        if stop is not None:
            reason = f"no design found before the limit of {_STOPS[stop]}"
        return Proof(status, reason, float("nan"), float("nan"), float("nan"), possible, simulated, reasons,
                     work / HOURS, spent, stop)  # fmt: skip
    cost = best.costs.life_cycle
    if stop is None:
        reason = "every design within the limits was followed to its end or stopped by a rule that proves it dearer"
        return Proof("optimal", reason, cost, 0.0, 0.0, possible, simulated, reasons, work / HOURS, spent)
    bound = min(cost, least)  # what a design not reached costs at the least
    reason = f"the limit of {_STOPS[stop]} was reached; designs not reached could be cheaper"
    return Proof("best-found", reason, bound, (cost - bound) / cost, cost - bound, possible, simulated, reasons,
                 work / HOURS, spent, stop)  # fmt: skip
