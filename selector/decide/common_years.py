"""The common years that a choice rests on, and what choices for sites that differ in prices alone share.

While a design holds the humidistat's set point, all designs with its lead share one year (`shared.py`). Which units run
when does not depend on prices: at other prices the same years cost their energy at those prices, and a design that
breaks a limit breaks it at any price.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import numpy as np

from selector.decide.designs import Designs
from selector.decide.search import FAILS_WITH_UNITS_OUT, NOT_REACHED, Found, search
from selector.decide.search_tables import Field, Library, library_for, row_of
from selector.decide.shared import COST, trace
from selector.inputs.site import ARRANGEMENTS, FloatArray, Install
from selector.physics.arrangements import IntArray
from selector.physics.prepare import Prepared, lead_order
from selector.physics.year import ABOVE_LIMIT, COIL_FROST, TOO_WARM

FAILED = (ABOVE_LIMIT, TOO_WARM, COIL_FROST, FAILS_WITH_UNITS_OUT)  # at any price


def on_all_cores(work: Callable[[int], None], items: list[int]) -> None:
    """Do independent pieces of work on all cores.

    Args: work, done once for each item; items.
    """
    with ThreadPoolExecutor(max_workers=max(1, len(os.sched_getaffinity(0)))) as pool:
        for _ in pool.map(work, items):
            pass


def trace_all(*, prepared: Prepared, designs: Designs, field: Field) -> tuple[Library, float]:
    """Simulate the common year of every choice that leads a design which may be simulated.

    Args: prepared; designs; field.
    Returns: `Library`, and work [h].
    """
    site = prepared.site
    units, width = site.catalog.units, len(ARRANGEMENTS)
    most = np.zeros(len(units) * width, np.int64)
    if designs.parts.shape[1]:  # with no unit allowed, "nothing" is the only design and has no parts
        open_rows = designs.excluded == 0
        leads = designs.parts[open_rows, 0]
        np.maximum.at(most, leads[leads >= 0], designs.counts[open_rows, 0][leads >= 0])
    choices = [-1, *(int(choice) for choice in np.flatnonzero(most))]
    library = library_for(prepared=prepared, choices=most.size, leads=tuple(choices))

    work = np.zeros(len(choices))

    def one(place: int) -> None:
        choice = choices[place]
        into = row_of(library=library, choice=choice)
        ranks = field.existing_ranks
        there = [
            Install(units[int(group["unit"])].model, ARRANGEMENTS[int(group["arrangement"])], int(count))
            for group, count, rank in zip(field.existing, field.existing_counts, ranks, strict=True)
            if choice < 0 or rank <= field.ranks[choice]
        ]
        if choice < 0:
            _, work[place] = trace(prepared=prepared, install=tuple(there), lead=-1, into=into)
            return
        model, arrangement = units[choice // width].model, ARRANGEMENTS[choice % width]
        install = lead_order(
            prepared=prepared, install=(*there, Install(model, arrangement, int(most[choice])))
        )
        _, work[place] = trace(prepared=prepared, install=install, lead=len(install) - 1, into=into)

    on_all_cores(one, [*range(len(choices))])
    return library, float(work.sum())


class SamePhysics:
    """What choices for sites that differ in flat prices alone have in common, kept from one to the next."""

    def __init__(self) -> None:
        self._electric: Library | None = None  # common years, a joule of electricity costing 1 and of gas 0
        self._gas: FloatArray | None = None  # (B, PLACES + 1) J of gas so far
        self._failed: IntArray | None = None  # (D,) how each design ended that broke a limit

    def trace_all(self, *, prepared: Prepared, designs: Designs, field: Field) -> tuple[Library, float]:
        """Give the common years at a site's prices; they are simulated for the first of the sites only.

        Args: prepared; designs; field, as `trace_all`. Returns: `Library`, and work [h].
        """
        hours = 0.0
        if self._electric is None or self._gas is None:
            years = []
            for electricity, gas in ((1.0, 0.0), (0.0, 1.0)):
                priced = prepared.hours.copy()
                priced["electricity"], priced["gas"] = electricity, gas
                library, spent = trace_all(
                    prepared=replace(prepared, hours=priced), designs=designs, field=field
                )
                years.append(library)
                hours += spent
            self._electric, self._gas = years[0], years[1].sums[:, :, COST].copy()
        prices = [float(prepared.hours[name][0]) for name in ("electricity", "gas")]
        sums = self._electric.sums.copy()
        sums[:, :, COST] = prices[0] * sums[:, :, COST] + prices[1] * self._gas
        return replace(self._electric, sums=sums), hours

    def search(self, *, designs: Designs, order: IntArray, **arguments: Any) -> Found:
        """Search a list of designs, but for those that broke a limit at other prices.

        Args: designs; order (N,), and arguments as `search`. Returns: `Found`.
        """
        if self._failed is None or self._failed.size != designs.excluded.size:
            self._failed = np.full(designs.excluded.size, NOT_REACHED, np.int64)
        failed = self._failed
        known = order[failed[order] != NOT_REACHED]
        found = search(designs=designs, order=order[failed[order] == NOT_REACHED], **arguments)
        found.ended[known] = failed[known]
        broke = order[np.isin(found.ended[order], FAILED)]
        failed[broke] = found.ended[broke]
        return found
