"""Where nothing is possible: how far each limit has to move, alone, for a design to become possible.

Limits that need no simulation are lifted, and designs are tried in the order of the limited quantity until one keeps
all other limits. Limits on hours are lifted one at a time, and the least hours of any design are found. Each is a
search of its own with a share of the work that is left.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from selector.decide.designs import Designs, enumerate_designs, highest_current
from selector.decide.limits import hours_limit
from selector.decide.results import LimitMove
from selector.decide.search import NOT_REACHED, search
from selector.decide.search_tables import Field, Library
from selector.decide.shared import NO_LIMIT
from selector.inputs.site import ARRANGEMENTS, FloatArray
from selector.physics.arrangements import IntArray
from selector.physics.prepare import Prepared
from selector.physics.year import FINISHED

# limits of any single unit: what of it they are on, and its unit
OF_UNITS = {
    "sound": ("sound", "dBA"),
    "supply_voltage": ("voltage", "V"),
    "phases": ("phases", ""),
    "weight": ("weight", "kg"),
    "length": ("length", "m"),
    "width": ("width", "m"),
    "height": ("height", "m"),
}
BATCH = 64  # designs followed between looks for one that keeps the limits


def moves_of(
    *,
    prepared: Prepared,
    designs: Designs,
    field: Field,
    library: Library,
    allowed: FloatArray,
    warm_limit: float,
    budget: float,
    deadline: float | None = None,
) -> tuple[tuple[LimitMove, ...], float]:
    """Find the least move of each limit that makes a design possible.

    Args: prepared; designs, none of which keeps all limits; field; library; allowed (L,) [h]; warm_limit [h];
        budget [h] to simulate, shared equally; deadline [s] of the monotonic clock, None for none.
    Returns: one `LimitMove` for each limit that the site sets, and the work [h].
    """
    site = prepared.site
    limits = site.limits
    names = [
        name for name in ("first_cost", "electrical_current", *OF_UNITS) if getattr(limits, name) is not None
    ]
    of_model = limits.max_per_model < limits.max_units  # a limit of its own
    searches = len(site.targets) + (warm_limit < NO_LIMIT) + len(names) + of_model + 1  # the last: more units
    share = budget // searches
    moves: list[LimitMove] = []
    spent = 0.0
    for k, target in enumerate(site.targets):
        move, hours = _least_hours(
            prepared,
            designs,
            field,
            library,
            allowed,
            warm_limit,
            share,
            deadline,
            k,
            hours_limit(target.name),
        )
        moves.append(move)
        spent += hours
    if warm_limit < NO_LIMIT:
        move, hours = _least_hours(
            prepared, designs, field, library, allowed, warm_limit, share, deadline, -1, "hours too warm"
        )
        moves.append(move)
        spent += hours
    units = site.catalog.units
    width = len(ARRANGEMENTS)

    def of_parts(values: list[float], lifted: Designs) -> FloatArray:
        return np.append(np.repeat(np.array(values, np.float64), width), 0.0)[lifted.parts]

    for name in names:
        if name == "first_cost":
            lifted = enumerate_designs(prepared=prepared, limits=replace(limits, first_cost=None))
            quantity, now, unit = lifted.first, limits.first_cost, site.costs.currency
        elif name == "electrical_current":
            lifted = enumerate_designs(prepared=prepared, limits=replace(limits, electrical_current=None))
            quantity = highest_current(units=units, parts=lifted.parts, counts=lifted.counts)
            now, unit = limits.electrical_current, "A"
        else:
            of_unit, unit = OF_UNITS[name]
            without: dict[str, Any] = {name: None}
            lifted = enumerate_designs(prepared=prepared, limits=replace(limits, **without))
            values = [float(getattr(one, of_unit)) for one in units]
            quantity = of_parts(values, lifted).max(axis=1, initial=0.0)
            now = getattr(limits, name)
        assert now is not None
        move, hours = _least_quantity(
            prepared, lifted, field, library, allowed, warm_limit, share, deadline, quantity, name, now, unit
        )
        moves.append(move)
        spent += hours
    if of_model:
        lifted = enumerate_designs(prepared=prepared, limits=replace(limits, max_per_model=limits.max_units))
        move, hours = _least_quantity(
            prepared, lifted, field, library, allowed, warm_limit, share, deadline, _most_of_a_model(lifted),
            "max_per_model", limits.max_per_model, "",
        )  # fmt: skip
        moves.append(move)
        spent += hours
    most = max(2, 2 * limits.max_units)
    more = replace(limits, max_units=most, max_per_model=limits.max_per_model if of_model else most)
    lifted = enumerate_designs(prepared=prepared, limits=more)
    move, hours = _least_quantity(
        prepared, lifted, field, library, allowed, warm_limit, share, deadline, lifted.units.astype(float),
        "max_units", limits.max_units, "",
    )  # fmt: skip
    if move.status == "does not help":  # nor do so many more; beyond them nothing was tried
        move = replace(move, status="within the designs tried")
    moves.append(move)
    return tuple(moves), spent + hours


def _most_of_a_model(designs: Designs) -> FloatArray:
    """How many units of one model a design has at most (D,), in whatever arrangements."""
    models = np.where(designs.counts > 0, designs.parts // len(ARRANGEMENTS), -1)
    counts = [((models == models[:, [part]]) * designs.counts).sum(axis=1) for part in range(models.shape[1])]
    return np.max(counts, axis=0, initial=0).astype(float)


def _least_hours(
    prepared: Prepared,
    designs: Designs,
    field: Field,
    library: Library,
    allowed: FloatArray,
    warm_limit: float,
    budget: float,
    deadline: float | None,
    which: int,
    name: str,
) -> tuple[LimitMove, float]:
    """Least hours of one kind among designs that keep all other limits; `which` is the limit, -1 hours too warm."""
    open_rows = np.flatnonzero(designs.excluded == 0)
    bound = allowed.copy()
    warm = warm_limit
    now = float(warm_limit if which < 0 else allowed[which])
    least = np.inf
    spent = 0.0
    complete = True
    order = open_rows[np.argsort(-designs.fixed[open_rows], kind="stable")]
    for at in range(0, order.size, BATCH):
        # a design with as many hours as the best so far cannot improve on it: it is stopped there
        if which < 0:
            warm = least - 1.0 if np.isfinite(least) else NO_LIMIT
        else:
            bound[which] = least - 1.0 if np.isfinite(least) else NO_LIMIT
        result = search(
            prepared=prepared, field=field, library=library, designs=designs, order=order[at : at + BATCH],
            spare=prepared.site.limits.spare_units, warm_limit=warm, allowed=bound, budget=budget - spent,
            deadline=deadline, bound=True,  # cost stops no design here
        )  # fmt: skip
        spent += result.hours
        kept = np.flatnonzero(result.ended == FINISHED)
        if kept.size:
            hours = result.warm[kept] if which < 0 else result.above[kept, which]
            least = min(least, float(hours.min()))
        complete = not np.any(result.ended[order[at : at + BATCH]] == NOT_REACHED)
        if not complete:
            break
    needed = float(least) if np.isfinite(least) else None
    if not complete:
        return LimitMove(name, now, needed, "h", "within the designs tried"), spent
    return LimitMove(name, now, needed, "h", "does not help" if needed is None else "proved"), spent


def _least_quantity(
    prepared: Prepared,
    designs: Designs,
    field: Field,
    library: Library,
    allowed: FloatArray,
    warm_limit: float,
    budget: float,
    deadline: float | None,
    quantity: FloatArray,
    name: str,
    now: float,
    unit: str,
) -> tuple[LimitMove, float]:
    """Least value of a quantity among designs that keep all limits but its own.

    Designs that keep this one as well are among those that are known to fail; of voltage and phases the site has one.
    """
    beyond = quantity != now if name in ("supply_voltage", "phases") else quantity > now
    rows = np.flatnonzero((designs.excluded == 0) & beyond)
    order: IntArray = rows[np.argsort(quantity[rows], kind="stable")]
    spent = 0.0
    for at in range(0, order.size, BATCH):
        batch = order[at : at + BATCH]
        result = search(
            prepared=prepared, field=field, library=library, designs=designs, order=batch,
            spare=prepared.site.limits.spare_units, warm_limit=warm_limit, allowed=allowed, budget=budget - spent,
            deadline=deadline, bound=True,
        )  # fmt: skip
        spent += result.hours
        kept = batch[result.ended[batch] == FINISHED]
        left = batch[result.ended[batch] == NOT_REACHED]
        if kept.size:
            least = float(quantity[kept].min())
            if np.any(quantity[left] < least):
                return LimitMove(name, now, least, unit, "within the designs tried"), spent
            return LimitMove(name, now, least, unit, "proved"), spent
        if left.size:
            return LimitMove(name, now, None, unit, "within the designs tried"), spent
    return LimitMove(name, now, None, unit, "does not help"), spent
