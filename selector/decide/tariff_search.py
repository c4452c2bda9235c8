"""Search under a tariff, where what a design costs is known only when its year is over.

Blocks, demand and its ratchet make an hour's cost depend on all other hours. The plain search therefore follows designs
with prices whose sum over the year is a lower bound of its cost: at first the lowest price that each hour can have,
and, once a design is found that keeps the limits, prices whose plane touches the bill of that design and lies below
the bills of all others. A bound that exceeds the second best cost proves a design dearer, as before. Designs that it
cannot stop so are simulated in full and billed, the lowest bound first, until the lowest bound left exceeds the second
best cost of those billed.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from selector.decide.designs import Designs, install_of
from selector.decide.evaluate import Evaluation
from selector.decide.propose import Estimate
from selector.decide.search import NOT_REACHED, SAME_COST, Found, search
from selector.decide.search_tables import Field, Library
from selector.decide.shared import NO_LIMIT, PLACES
from selector.inputs.site import FloatArray
from selector.money.energy_prices import present_value_factors, prices, year_cost
from selector.money.tariff_bounds import certain_beyond_prices, supporting_prices
from selector.physics.air_handler import FAN_RUNS
from selector.physics.arrangements import IntArray
from selector.physics.hourly import simulate_hours
from selector.physics.prepare import Prepared, lead_order
from selector.physics.step import HOUR
from selector.physics.year import FINISHED

BOUND_TOO_DEAR = (
    7  # how a design ended: followed to the year's end, its lower bound exceeds the second best cost
)
FIRST_BATCH, LARGEST_BATCH = (
    8,
    256,
)  # designs bounded before the next bills; each batch is twice the one before it
BILLED_BETWEEN = 4  # designs billed after each batch, so that the next is held against a cost
FOR_BOUNDS = 0.9  # share of the work after which no further batch is begun, so that some is left for bills


class Trace(Protocol):
    """Simulates common years."""

    def __call__(self, *, prepared: Prepared, designs: Designs) -> tuple[Library, float]:
        """Return the common years of all choices that lead an open design, and the work [h]."""


def least_beyond(*, prepared: Prepared) -> float:
    """What every design's bills hold beyond the prices that the loop adds up.

    Args: prepared, of a site with a tariff.
    Returns: present value [currency]: demand and dearer blocks of the fan that runs while ventilation is open.
    """
    plant, hours = prepared.plant, prepared.hours
    runs = (hours["ventilation"] > 0.0) | (plant["unoccupied_fan"] == FAN_RUNS)
    fan = np.where(runs & (plant["has_air_handler"] == 1), plant["fan_power"], 0.0) * HOUR
    costs = prepared.site.costs
    # a little less, so that the order in which sums are added up cannot matter
    beyond = certain_beyond_prices(costs=costs, at_least=fan) * (1.0 - 1e-9)
    return beyond * present_value_factors(costs=costs).electricity


@dataclass(frozen=True, slots=True, eq=False)
class Billed:
    """A design whose year was simulated in full and billed."""

    cost: float  # currency, life-cycle cost as `evaluate` finds it
    electricity: FloatArray  # (8760,) J bought
    gas: FloatArray  # (8760,) J bought


def bill_design(*, prepared: Prepared, designs: Designs, row: int) -> Billed:
    """Simulate a design's year in full and bill it.

    Args: prepared; designs; row.
    Returns: `Billed`.
    """
    site = prepared.site
    install = install_of(prepared=prepared, designs=designs, row=row)
    every = lead_order(prepared=prepared, install=(*install, *site.existing_units))
    year = simulate_hours(prepared=prepared, install=every)
    energy = year_cost(site=site, electricity=year.electricity, gas=year.gas)
    factor = present_value_factors(costs=site.costs)
    cost = designs.fixed[row] + energy.electricity * factor.electricity + energy.gas * factor.gas
    return Billed(float(cost), year.electricity, year.gas)


def with_average_prices(*, estimate: Estimate, existing: Evaluation, prepared: Prepared) -> Estimate:
    """Raise what the certain prices say of each choice's energy to what the existing system pays on average.

    Args: estimate; existing, the existing system alone; prepared.
    Returns: `Estimate`. It orders the search and proves nothing.
    """
    site = prepared.site
    price, factor = prices(site=site), present_value_factors(costs=site.costs)
    certain = factor.electricity * float((price.electricity * existing.year.electricity).sum())
    certain += factor.gas * float((price.gas * existing.year.gas).sum())
    if certain <= 0.0:
        return estimate
    return replace(estimate, energy=estimate.energy * (existing.costs.present_value_energy / certain))


@dataclass(slots=True)
class _Billing:
    """Designs that a bound did not stop, and the two best costs of those billed."""

    prepared: Prepared
    designs: Designs
    best: list[float]  # currency, the two lowest
    bounds: dict[int, float]  # currency, by row, of those that wait
    costs: dict[int, float]  # currency, by row, of those billed
    cheapest: Billed | None

    def limit(self) -> float:
        """Cost that no design to be kept exceeds."""
        return self.best[1] * (1.0 + SAME_COST)

    def bill(self, *, most: int | None = None, stop: Callable[[], bool]) -> None:
        """Bill those that wait, the lowest bound first, until no bound left can be among the two best."""
        for row, bound in sorted(self.bounds.items(), key=lambda item: item[1])[:most]:
            if bound > self.limit() or stop():
                return
            billed = bill_design(prepared=self.prepared, designs=self.designs, row=row)
            del self.bounds[row]
            self.costs[row] = billed.cost
            if self.cheapest is None or billed.cost < self.cheapest.cost:
                self.cheapest = billed
            self.best = sorted((*self.best, billed.cost))[:2]


@dataclass(frozen=True, slots=True, eq=False)
class _Bounding:
    """What lower bounds are worked out with."""

    prepared: Prepared  # with the prices that the loop adds up
    designs: Designs  # with what every bill holds beyond them
    library: Library


def _like(
    prepared: Prepared, designs: Designs, rows: IntArray, known: Billed, trace: Trace
) -> tuple[_Bounding, float]:
    """Lower bounds that touch the bill of a known design; and the work [h] of their common years."""
    costs = prepared.site.costs
    plane = supporting_prices(costs=costs, electricity=known.electricity, gas=known.gas)
    factor = present_value_factors(costs=costs)
    hours = prepared.hours.copy()
    hours["electricity"] = plane.electricity * factor.electricity
    hours["gas"] = plane.gas * factor.gas
    priced = replace(prepared, hours=hours)
    constant = plane.electricity_constant * factor.electricity + plane.gas_constant * factor.gas
    here = np.zeros(designs.excluded.size, np.bool_)
    here[rows] = True
    mine = replace(designs, excluded=np.where(here, designs.excluded, 1))
    library, spent = trace(prepared=priced, designs=mine)
    return _Bounding(priced, replace(designs, fixed=designs.fixed + constant), library), spent


def search_bills(
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
    trace: Trace,
    deadline: float | None = None,
    progress: Callable[[int], None] | None = None,
) -> Found:
    """Find the two cheapest designs of a list that keep the limits, under a tariff.

    Args: as `search`; trace, simulates the common years of all choices that lead an open design, under the prices of a
        `Prepared`, and returns them with the work [h].
    Returns: `Found`; the cost of a design that is FINISHED is its billed life-cycle cost, of one that is
        BOUND_TOO_DEAR a lower bound of it [currency].
    """
    total, limits = designs.parts.shape[0], prepared.limit_rh.shape[0]
    found = Found(
        np.full(total, NOT_REACHED, np.int64), np.zeros(total), np.zeros((total, limits)), np.zeros(total), 0
    )
    least = least_beyond(prepared=prepared)
    bounding = _Bounding(prepared, replace(designs, fixed=designs.fixed + least), library)
    billing = _Billing(prepared, designs, [NO_LIMIT, NO_LIMIT], {}, {}, None)
    every, spent = order.size, 0.0
    like: Billed | None = None

    def work() -> float:
        return spent + PLACES * len(billing.costs)

    def stop() -> bool:
        late = deadline is not None and time.monotonic() > deadline
        return late or work() >= budget

    at, size = 0, FIRST_BATCH
    while at < order.size and work() < FOR_BOUNDS * budget and not stop():
        batch = order[at : at + size]
        result = search(
            prepared=bounding.prepared, field=field, library=bounding.library, designs=bounding.designs, order=batch,
            spare=spare, warm_limit=warm_limit, allowed=allowed, budget=int(FOR_BOUNDS * budget) - work(),
            deadline=deadline, known=(billing.limit(), billing.limit()), bound=True,
        )  # fmt: skip
        spent += result.hours
        for mine, theirs in (
            (found.ended, result.ended), (found.cost, result.cost), (found.above, result.above),
            (found.warm, result.warm),
        ):  # fmt: skip
            mine[batch] = theirs[batch]
        for row in batch[result.ended[batch] == FINISHED]:
            billing.bounds[int(row)] = float(result.cost[row])
        at, size = at + size, min(2 * size, LARGEST_BATCH)
        billing.bill(most=BILLED_BETWEEN, stop=stop)
        if progress is not None:
            progress(every - max(0, order.size - at))
        if like is None and billing.cheapest is not None:
            # from here on bounds touch the bill of the best so far; those that wait are bounded again
            like = billing.cheapest
            order = np.concatenate([np.array([*billing.bounds], np.int64), order[at:]])
            billing.bounds.clear()
            at = 0
            bounding, hours = _like(prepared, designs, order, like, trace)
            spent += hours
    billing.bill(stop=stop)
    for row, cost in billing.costs.items():
        found.cost[row] = cost
    for row, bound in billing.bounds.items():
        found.ended[row] = BOUND_TOO_DEAR if bound > billing.limit() else NOT_REACHED
    for row in order[at:]:
        found.ended[row] = NOT_REACHED
    return replace(found, hours=work())
