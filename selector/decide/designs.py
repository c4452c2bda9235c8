"""All designs that the counts allow, as tables, and the limits that need no simulation.

A choice is a model in an arrangement. A design is up to P parts, each a choice and how many units of it; parts stand in
lead order, best kg/kWh first. "Install nothing" is the design without parts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
import numpy.typing as npt

from selector.decide.limits import broken_by_unit, stream_airflow
from selector.inputs.site import ARRANGEMENTS, FloatArray, Install, Limits, Unit
from selector.money.design_costs import existing_present_value
from selector.money.first_cost import arrangement_fixed_cost, per_unit_first_cost
from selector.money.life_cycle import per_unit_present_value
from selector.physics.arrangements import IntArray
from selector.physics.prepare import Prepared, lead_order

NO_PART = -1


@dataclass(frozen=True, slots=True, eq=False)
class Designs:
    """D designs of up to P parts; padded with NO_PART."""

    parts: IntArray  # (D, P) choice = model's row x 5 + arrangement, in lead order
    counts: IntArray  # (D, P)
    arrangements: IntArray  # (D,) a bit for each arrangement in use
    first: FloatArray  # (D,) currency, first cost
    fixed: FloatArray  # (D,) currency, first cost and present value of all that is not energy
    excluded: IntArray  # (D,) place in REASONS of the first limit that is broken, 0 where none is

    @property
    def units(self) -> IntArray:
        """Return the number of units of each design (D,)."""
        return np.asarray(self.counts.sum(axis=1))


REASONS = (
    "",
    "supply voltage, phases, sound, weight or size of a unit",
    "static pressure on the unit",
    "airflow against the stream it taps",
    "electrical current",
    "first cost",
)
UNIT, STATIC, STREAM, CURRENT, FIRST_COST = range(1, 6)


def compositions(parts: int, limits: Limits, models: tuple[int, ...]) -> IntArray:
    """Counts of a design's parts that the limits allow.

    Args: parts, how many; limits; models, which model each part is of (places may repeat).
    Returns: array (C, parts), each count 1 or more, in lexical order.
    """
    most = min(limits.max_per_model, limits.max_units)
    rows = []
    for counts in product(range(1, most + 1), repeat=parts):
        if sum(counts) > limits.max_units:
            continue
        per_model: dict[int, int] = {}
        for model, count in zip(models, counts, strict=True):
            per_model[model] = per_model.get(model, 0) + count
        if max(per_model.values()) <= limits.max_per_model:
            rows.append(counts)
    return np.array(rows, np.int64).reshape(-1, parts)


def _shapes(limits: Limits, arrangements: int) -> Iterator[tuple[tuple[int, int], ...]]:
    """Ways to place m models in a arrangements so that each is used: cells (model, arrangement) of a grid."""
    for sizes in range(1, limits.max_sizes + 1):
        for places in range(1, min(limits.max_arrangements, arrangements) + 1):
            cells = list(product(range(sizes), range(places)))
            for used in range(max(sizes, places), min(len(cells), limits.max_units) + 1):
                for shape in combinations(cells, used):
                    if len({m for m, _ in shape}) == sizes and len({a for _, a in shape}) == places:
                        yield shape


def enumerate_designs(*, prepared: Prepared, limits: Limits | None = None) -> Designs:
    """Every design within the counts and arrangements of the limits, "install nothing" first.

    Args: prepared; limits, the site's own where None.
    Returns: `Designs`; those that break a limit that needs no simulation are marked, not left out.
    """
    site = prepared.site
    limits = site.limits if limits is None else limits
    codes = sorted(ARRANGEMENTS.index(name) for name in limits.arrangements)
    models = len(site.catalog.units)
    place = np.empty(models, np.int64)
    place[list(prepared.lead)] = np.arange(models)
    width = max([len(shape) for shape in _shapes(limits, len(codes))], default=0)
    parts = [np.full((1, width), NO_PART, np.int64)]
    counts = [np.zeros((1, width), np.int64)]
    for shape in _shapes(limits, len(codes)) if models else ():
        sizes, places = 1 + max(m for m, _ in shape), 1 + max(a for _, a in shape)
        if sizes > models:
            continue
        # models in lead order, so that a part's place in the shape is its place in the lead
        rows = np.array(list(combinations(prepared.lead, sizes)), np.int64)
        places_of = np.array(list(combinations(codes, places)), np.int64)
        chosen = np.empty((rows.shape[0], places_of.shape[0], len(shape)), np.int64)
        for at, (m, a) in enumerate(shape):
            chosen[:, :, at] = rows[:, m, None] * len(ARRANGEMENTS) + places_of[None, :, a]
        rows_of = chosen.reshape(-1, len(shape))
        amounts = compositions(len(shape), limits, tuple(m for m, _ in shape))
        if amounts.shape[0] == 0:
            continue
        total = rows_of.shape[0] * amounts.shape[0]
        part = np.full((total, width), NO_PART, np.int64)
        count = np.zeros((total, width), np.int64)
        part[:, : len(shape)] = np.repeat(rows_of, amounts.shape[0], axis=0)
        count[:, : len(shape)] = np.tile(amounts, (rows_of.shape[0], 1))
        parts.append(part)
        counts.append(count)
    return judge_designs(
        prepared=prepared, parts=np.concatenate(parts), counts=np.concatenate(counts), limits=limits
    )


def highest_current(*, units: Sequence[Unit], parts: IntArray, counts: IntArray) -> FloatArray:
    """Highest current of designs at one voltage, since currents at several do not add up.

    Args: units of the catalogue; parts, counts (D, P).
    Returns: (D,) A.
    """
    width = len(ARRANGEMENTS)
    highest = np.zeros(parts.shape[0])
    for voltage in sorted({unit.voltage for unit in units}):
        there = [unit.current if unit.voltage == voltage else 0.0 for unit in units]
        of_choice = np.append(np.repeat(there, width), 0.0)
        highest = np.maximum(highest, (of_choice[parts] * counts).sum(axis=1))
    return highest


def judge_designs(*, prepared: Prepared, parts: IntArray, counts: IntArray, limits: Limits) -> Designs:
    """Cost of designs before energy, and which limits they break without being simulated.

    Args: prepared; parts, counts (D, P); limits.
    Returns: `Designs`.
    """
    site = prepared.site
    units = site.catalog.units
    choices = len(units) * len(ARRANGEMENTS)
    price = np.zeros(choices + 1)
    later = np.zeros(choices + 1)
    flow = np.zeros(choices + 1)
    shut = np.zeros(choices + 1, bool)
    misfit = np.zeros(choices + 1, bool)
    relaxed = replace(site, limits=limits)
    for row, unit in enumerate(units):
        broken = bool(broken_by_unit(site=relaxed, unit=unit))
        worth = per_unit_present_value(site=site, unit=unit)
        for code, name in enumerate(ARRANGEMENTS):
            if name not in site.costs.installation:
                continue
            choice = row * len(ARRANGEMENTS) + code
            fraction = prepared.connections[row, code].flow_fraction
            if name in limits.arrangements:
                price[choice] = per_unit_first_cost(site=site, unit=unit, arrangement=name)
            later[choice] = worth
            flow[choice] = unit.airflow * fraction
            shut[choice] = fraction <= 0.0
            misfit[choice] = broken
    places = np.where(parts >= 0, parts % len(ARRANGEMENTS), -1)
    used = np.zeros(parts.shape[0], np.int64)
    first = (price[parts] * counts).sum(axis=1)
    overfull = np.zeros(parts.shape[0], bool)
    rows = {unit.model: row for row, unit in enumerate(units)}
    for code, name in enumerate(ARRANGEMENTS):
        if name not in site.costs.installation:
            continue
        here = (places == code).any(axis=1)
        used |= np.where(here, 1 << code, 0)
        first += np.where(here, arrangement_fixed_cost(site=site, arrangement=name), 0.0)
        there = sum(
            part.count * flow[rows[part.model] * len(ARRANGEMENTS) + code]
            for part in site.existing_units
            if part.arrangement == name
        )
        wanted = there + np.where(places == code, flow[parts] * counts, 0.0).sum(axis=1)
        overfull |= here & (wanted > stream_airflow(site=site, arrangement=code))
    fixed = first + (later[parts] * counts).sum(axis=1) + existing_present_value(site=site)
    excluded = np.zeros(parts.shape[0], np.int64)
    tests = (
        (FIRST_COST, None if limits.first_cost is None else first > limits.first_cost),
        (
            CURRENT,
            None
            if limits.electrical_current is None
            else highest_current(units=units, parts=parts, counts=counts) > limits.electrical_current,
        ),
        (STREAM, overfull),
        (STATIC, shut[parts].any(axis=1)),
        (UNIT, misfit[parts].any(axis=1)),
    )
    for reason, broken_here in tests:
        if broken_here is not None:
            excluded[broken_here] = reason
    return Designs(parts, counts, used, first, fixed, excluded)


def install_of(*, prepared: Prepared, designs: Designs, row: int) -> tuple[Install, ...]:
    """A design in words.

    Args: prepared; designs; row.
    Returns: its parts, in lead order.
    """
    units = prepared.site.catalog.units
    width = len(ARRANGEMENTS)
    return tuple(
        Install(units[part // width].model, ARRANGEMENTS[part % width], int(count))
        for part, count in zip(designs.parts[row], designs.counts[row], strict=True)
        if part >= 0
    )


def rows_of(*, prepared: Prepared, designs: Designs, installs: Sequence[tuple[Install, ...]]) -> IntArray:
    """Find designs among all that the counts allow.

    Args: prepared; designs; installs, new units of each design.
    Returns: rows, in the order of `installs`; designs that are not among them, or break a limit that needs no
        simulation, are left out.
    """
    models = {unit.model: row for row, unit in enumerate(prepared.site.catalog.units)}
    found: dict[int, None] = {}
    for install in installs:
        parts = np.full(designs.parts.shape[1], NO_PART, np.int64)
        counts = np.zeros(designs.parts.shape[1], np.int64)
        if len(install) > parts.size or any(part.model not in models for part in install):
            continue
        for place, part in enumerate(lead_order(prepared=prepared, install=install)):
            parts[place] = models[part.model] * len(ARRANGEMENTS) + ARRANGEMENTS.index(part.arrangement)
            counts[place] = part.count
        same = (designs.parts == parts).all(axis=1) & (designs.counts == counts).all(axis=1)
        found.update(dict.fromkeys(int(row) for row in np.flatnonzero(same & (designs.excluded == 0))))
    return np.array([*found], np.int64)


def to_front(*, order: IntArray, rows: IntArray) -> IntArray:
    """Bring rows to the front of an order.

    Args: order (N,); rows, some of them.
    Returns: order (N,): first the rows that are in it, then the others as they stood.
    """
    ahead = rows[np.isin(rows, order)]
    return np.concatenate([ahead, order[~np.isin(order, ahead)]])


def tie_key(designs: Designs, row: int) -> tuple[object, ...]:
    """Order among designs of the same cost: fewer units, fewer models, catalogue order.

    Args: designs; row.
    Returns: sort key.
    """
    parts = [int(part) for part in designs.parts[row] if part >= 0]
    order = sorted(zip(parts, (-int(count) for count in designs.counts[row]), strict=False))
    models = {part // len(ARRANGEMENTS) for part in parts}
    return int(designs.counts[row].sum()), len(models), order


def count_reasons(excluded: npt.NDArray[np.int64]) -> Mapping[str, int]:
    """How many designs each limit excluded.

    Args: excluded (D,), places in REASONS.
    Returns: reason: designs, in the order of REASONS, none left out for being 0 but the first.
    """
    found = np.bincount(excluded, minlength=len(REASONS))
    return {REASONS[i]: int(found[i]) for i in range(1, len(REASONS)) if found[i]}
