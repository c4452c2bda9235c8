"""Propose a first design by an integer programme, and order all others behind it.

The estimate: a design whose units cover the needed capacity has the operating cost that its choices would have each
alone, weighted by the share of the need that each covers. Cost and need of a choice come from its common year. It is
no bound - a design that floats between set point and limit can be cheaper - so it orders the search and proves nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from selector.decide.designs import Designs
from selector.decide.solver import SolverName, solve
from selector.inputs.site import ARRANGEMENTS, FloatArray, Limits
from selector.physics.arrangements import IntArray

if TYPE_CHECKING:
    import pulp

BIG = 1e9  # units; a choice that cannot cover the need


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """What each choice would cost and how many of it the need takes."""

    energy: FloatArray  # (C,) currency, present value of energy with ample units of this choice alone
    need: FloatArray  # (C,) units of it that keep the limits, about; BIG where none do
    first: FloatArray  # (C,) currency a unit
    later: FloatArray  # (C,) currency a unit, present value of all later costs but energy
    fixed: FloatArray  # (5,) currency, once for an arrangement
    current: FloatArray  # (C,) A a unit
    voltage: FloatArray  # (C,) V, at which that is
    airflow: FloatArray  # (C,) m³/s a unit
    room: FloatArray  # (5,) m³/s for all units of an arrangement
    allowed: np.ndarray[tuple[int], np.dtype[np.bool_]]  # (C,)


def estimated_cost(*, designs: Designs, estimate: Estimate) -> FloatArray:
    """Life-cycle cost of every design by the estimate.

    Args: designs; estimate.
    Returns: cost (D,) [currency]; designs that cover less than the need get a surcharge that grows with the lack.
    """
    energy = np.append(estimate.energy, 0.0)
    cover = designs.counts / np.append(estimate.need, BIG)[designs.parts]
    covered = cover.sum(axis=1)
    # parts stand in lead order: the first covers what it can, the next the rest
    served = np.zeros_like(cover)
    left = np.ones(cover.shape[0])
    for at in range(cover.shape[1]):
        served[:, at] = np.minimum(cover[:, at], left)
        left -= served[:, at]
    dearest = float(np.max(estimate.energy[estimate.allowed], initial=0.0))
    cost = designs.fixed + (served * energy[designs.parts]).sum(axis=1) + left * dearest
    return np.asarray(np.where(covered < 1.0, cost * (2.0 - covered) + 1e6 * (1.0 - covered), cost))


def programme(
    *, estimate: Estimate, limits: Limits
) -> tuple[pulp.LpProblem, dict[int, pulp.LpVariable], dict[int, pulp.LpVariable]]:
    """The covering programme over counts.

    Args: estimate; limits.
    Returns: problem, count variables and share variables by choice. Minimise first and later costs plus the energy of
        each choice's share of the need; shares add up to 1 and none exceeds count / need; counts, models, arrangements,
        current, airflow and first cost within the limits.
    """
    import pulp

    problem = pulp.LpProblem("propose", pulp.LpMinimize)
    width = len(ARRANGEMENTS)
    choices = [c for c in range(estimate.energy.size) if estimate.allowed[c] and estimate.need[c] < BIG]
    most = min(limits.max_per_model, limits.max_units)
    counts = {c: problem.add_variable(f"n{c}", 0, most, cat=pulp.LpInteger) for c in choices}
    shares = {c: problem.add_variable(f"s{c}", 0, 1) for c in choices}
    models = {
        m: problem.add_variable(f"m{m}", cat=pulp.LpBinary) for m in sorted({c // width for c in choices})
    }
    places = {
        a: problem.add_variable(f"a{a}", cat=pulp.LpBinary) for a in sorted({c % width for c in choices})
    }
    problem.setObjective(
        pulp.lpSum(
            [
                (estimate.first[c] + estimate.later[c]) * counts[c] + estimate.energy[c] * shares[c]
                for c in choices
            ]
            + [estimate.fixed[a] * places[a] for a in places]
        )
    )
    problem += pulp.lpSum(shares.values()) == 1
    problem += pulp.lpSum(counts.values()) <= limits.max_units
    problem += pulp.lpSum(models.values()) <= limits.max_sizes
    problem += pulp.lpSum(places.values()) <= limits.max_arrangements
    for c in choices:
        problem += estimate.need[c] * shares[c] <= counts[c]
        problem += counts[c] <= most * places[c % width]
    for m, used in models.items():
        problem += pulp.lpSum(counts[c] for c in choices if c // width == m) <= most * used
    if limits.electrical_current is not None:
        for voltage in np.unique(estimate.voltage[choices]):
            there = [c for c in choices if estimate.voltage[c] == voltage]
            drawn = pulp.lpSum(estimate.current[c] * counts[c] for c in there)
            problem += drawn <= limits.electrical_current
    for a in places:
        if math.isfinite(estimate.room[a]):
            flow = pulp.lpSum(estimate.airflow[c] * counts[c] for c in choices if c % width == a)
            problem += flow <= float(estimate.room[a])
    if limits.first_cost is not None:
        bought = [estimate.first[c] * counts[c] for c in choices] + [
            estimate.fixed[a] * places[a] for a in places
        ]
        problem += pulp.lpSum(bought) <= limits.first_cost
    return problem, counts, shares


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the integer programme said."""

    status: str
    objective: float | None  # currency
    counts: tuple[tuple[int, int], ...]  # choice, count


NO_PROPOSAL = Proposal("not asked", None, ())


def propose(*, estimate: Estimate, limits: Limits, solver: SolverName) -> Proposal:
    """Solve the covering programme.

    Args: estimate; limits; solver.
    Returns: `Proposal`; no counts where no choice covers the need.
    """
    if not np.any(estimate.allowed & (estimate.need < BIG)):
        return Proposal("infeasible", None, ())
    problem, counts, _ = programme(estimate=estimate, limits=limits)
    result = solve(problem=problem, solver=solver)
    if result.objective is None:
        return Proposal(result.status, None, ())
    chosen = tuple((c, round(n.value())) for c, n in counts.items() if n.value() and round(n.value()) > 0)
    return Proposal(result.status, result.objective, chosen)


def programme_cost(*, designs: Designs, estimate: Estimate) -> FloatArray:
    """What the integer programme's objective is for every design, shares at their best.

    Args: designs; estimate.
    Returns: objective (D,) [currency], infinite for designs that do not cover the need.
    """
    energy = np.append(estimate.energy, 0.0)[designs.parts]
    cover = designs.counts / np.append(estimate.need, BIG)[designs.parts]
    later = np.append(estimate.later, 0.0)[designs.parts] * designs.counts
    cheapest = np.argsort(energy, axis=1, kind="stable")
    cost = designs.first + later.sum(axis=1)
    left = np.ones(cost.size)
    for at in range(cover.shape[1]):
        column = cheapest[:, at : at + 1]
        served = np.minimum(np.take_along_axis(cover, column, axis=1)[:, 0], left)
        cost = cost + served * np.take_along_axis(energy, column, axis=1)[:, 0]
        left = left - served
    return np.where(left > 1e-9, np.inf, cost)


def search_order(*, designs: Designs, estimate: Estimate, proposal: Proposal) -> IntArray:
    """Designs that may be simulated, best guess first.

    Args: designs; estimate; proposal.
    Returns: rows (N,): a design of the proposed one's cost, then by estimated cost, then as they stand. Two solvers may
        propose different designs of one cost; the first of that cost is taken, whichever solver it was.
    """
    cost = estimated_cost(designs=designs, estimate=estimate)
    rows = np.flatnonzero(designs.excluded == 0)
    order = rows[np.argsort(np.round(cost[rows], 2), kind="stable")]
    if proposal.objective is None:
        return np.asarray(order)
    objective = programme_cost(designs=designs, estimate=estimate)[order]
    same = order[objective <= proposal.objective * (1.0 + 1e-6)]
    if same.size == 0:
        return np.asarray(order)
    return np.concatenate([same[:1], order[order != same[0]]])
