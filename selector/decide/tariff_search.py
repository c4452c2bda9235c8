"""Search under a tariff, where what a design costs is known only when its year is over.

Blocks, demand and its ratchet make an hour's cost depend on all other hours. What is certain of each hour, the lowest
price that it can have, adds up to a lower bound of the year's cost, and so do what every design's fan pays beyond
these prices and all costs but energy. The plain search follows designs with these; a bound that exceeds the second
best cost proves a design dearer, as before. Designs that it cannot stop so are simulated in full and billed, the
lowest bound first, until the lowest bound left exceeds the second best cost of those billed.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from selector.decide.designs import Designs, install_of
from selector.decide.evaluate import Evaluation
from selector.decide.propose import Estimate
from selector.decide.search import (
    NOT_REACHED,
    SAME_COST,
    TOO_DEAR_BEFORE,
    Field,
    Found,
    Library,
    search,
)
from selector.decide.shared import NO_LIMIT, PLACES, unavoidable
from selector.inputs.site import FloatArray
from selector.money.energy_prices import present_value_factors, prices, year_cost
from selector.money.tariff import certain_beyond_prices
from selector.physics.air_handler import FAN_RUNS
from selector.physics.arrangements import IntArray
from selector.physics.hourly import simulate_hours
from selector.physics.prepare import Prepared, lead_order
from selector.physics.step import HOUR
from selector.physics.year import FINISHED

BOUND_TOO_DEAR = (
    7  # how a design ended: followed to the year's end, its lower bound exceeds the second best cost
)
FIRST_BATCH = 8  # designs bounded before the first bills; each batch is twice the one before it
BILLED_BETWEEN = 2  # designs billed after each batch, so that the next is held against a cost


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


def billed_cost(*, prepared: Prepared, designs: Designs, row: int) -> float:
    """Life-cycle cost of a design, its year simulated in full and billed.

    Args: prepared; designs; row.
    Returns: cost [currency], as `evaluate` finds it.
    """
    site = prepared.site
    install = install_of(prepared=prepared, designs=designs, row=row)
    every = lead_order(prepared=prepared, install=(*install, *site.existing_units))
    year = simulate_hours(prepared=prepared, install=every)
    energy = year_cost(site=site, electricity=year.electricity, gas=year.gas)
    factor = present_value_factors(costs=site.costs)
    return float(designs.fixed[row] + energy.electricity * factor.electricity + energy.gas * factor.gas)


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

    cost_of: Callable[[int], float]
    best: list[float]  # currency, the two lowest
    bounds: dict[int, float]  # currency, by row, of those that wait
    costs: dict[int, float]  # currency, by row, of those billed

    def limit(self) -> float:
        """Cost that no design to be kept exceeds."""
        return self.best[1] * (1.0 + SAME_COST)

    def bill(self, *, most: int | None = None, stop: Callable[[], bool]) -> None:
        """Bill those that wait, the lowest bound first, until no bound left can be among the two best."""
        for row, bound in sorted(self.bounds.items(), key=lambda item: item[1])[:most]:
            if bound > self.limit() or stop():
                return
            del self.bounds[row]
            self.costs[row] = self.cost_of(row)
            self.best = sorted((*self.best, self.costs[row]))[:2]


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
    budget: int,
    deadline: float | None = None,
    progress: Callable[[int], None] | None = None,
) -> Found:
    """Find the two cheapest designs of a list that keep the limits, under a tariff.

    Args: as `search`.
    Returns: `Found`; the cost of a design that is FINISHED is its billed life-cycle cost, of one that is
        BOUND_TOO_DEAR a lower bound of it [currency].
    """
    total, limits = designs.parts.shape[0], prepared.limit_rh.shape[0]
    found = Found(
        np.full(total, NOT_REACHED, np.int64), np.zeros(total), np.zeros((total, limits)), np.zeros(total), 0
    )
    bounded = replace(designs, fixed=designs.fixed + least_beyond(prepared=prepared))
    billing = _Billing(partial(_cost_of, prepared, designs), [NO_LIMIT, NO_LIMIT], {}, {})
    spent = 0

    def stop() -> bool:
        late = deadline is not None and time.monotonic() > deadline
        return late or spent + PLACES * len(billing.costs) >= budget

    at, size = 0, FIRST_BATCH
    while at < order.size and not stop():
        batch = order[at : at + size]
        result = _bounds(
            prepared=prepared, field=field, library=library, designs=bounded, order=batch, spare=spare,
            warm_limit=warm_limit, allowed=allowed, budget=budget - spent - PLACES * len(billing.costs),
            deadline=deadline, limit=billing.limit(),
        )  # fmt: skip
        spent += result.hours
        for mine, theirs in (
            (found.ended, result.ended), (found.cost, result.cost), (found.above, result.above),
            (found.warm, result.warm),
        ):  # fmt: skip
            mine[batch] = theirs[batch]
        for row in batch[result.ended[batch] == FINISHED]:
            billing.bounds[int(row)] = float(result.cost[row])
        at, size = at + size, 2 * size
        billing.bill(most=BILLED_BETWEEN, stop=stop)
        if progress is not None:
            progress(min(at, order.size))
    billing.bill(stop=stop)
    for row, cost in billing.costs.items():
        found.cost[row] = cost
    for row, least in billing.bounds.items():
        found.ended[row] = BOUND_TOO_DEAR if least > billing.limit() else NOT_REACHED
    return replace(found, hours=spent + PLACES * len(billing.costs))


def _bounds(
    *,
    prepared: Prepared,
    field: Field,
    library: Library,
    designs: Designs,
    order: IntArray,
    spare: int,
    warm_limit: float,
    allowed: FloatArray,
    budget: int,
    deadline: float | None,
    limit: float,
) -> Found:
    """Follow designs one at a time, each against the same limit: the bound of one says nothing of the next's cost."""
    total, limits = designs.parts.shape[0], prepared.limit_rh.shape[0]
    found = Found(
        np.full(total, NOT_REACHED, np.int64), np.zeros(total), np.zeros((total, limits)), np.zeros(total), 0
    )
    least = float(unavoidable(prepared=prepared)[0])
    spent = 0
    for row in order:
        if spent >= budget or (deadline is not None and time.monotonic() > deadline):
            break
        found.cost[row] = designs.fixed[row]
        if designs.fixed[row] + least > limit:
            found.ended[row] = TOO_DEAR_BEFORE
            continue
        alone = replace(
            designs, parts=designs.parts[[row]], counts=designs.counts[[row]], fixed=designs.fixed[[row]]
        )
        result = search(
            prepared=prepared, field=field, library=library, designs=alone, order=np.zeros(1, np.int64),
            spare=spare, warm_limit=warm_limit, allowed=allowed, budget=budget - spent, known=(limit, limit),
        )  # fmt: skip
        spent += result.hours
        found.ended[row], found.cost[row] = result.ended[0], result.cost[0]
        found.above[row], found.warm[row] = result.above[0], result.warm[0]
    return replace(found, hours=spent)


def _cost_of(prepared: Prepared, designs: Designs, row: int) -> float:
    return billed_cost(prepared=prepared, designs=designs, row=row)
