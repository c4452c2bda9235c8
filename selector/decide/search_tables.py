"""What the searches of one site share: its choices and existing units as tables, and the common years.

A choice is one model in one arrangement, numbered model by model; a design is put together from choices, with the units
that are there already, in lead order.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit

from selector.decide.shared import Trajectory, blank
from selector.inputs.site import ARRANGEMENTS, FloatArray
from selector.physics.arrangements import CELL, Group, Groups, IntArray, needs_fan
from selector.physics.prepare import Prepared, table_of


@dataclass(frozen=True, slots=True, eq=False)
class Field:
    """What all searches of one site share."""

    choices: Any  # (C,) records of `Group`
    ranks: IntArray  # (C,) place in the lead
    existing: Any  # (E,) records of `Group`, in lead order
    existing_counts: IntArray  # (E,)
    existing_ranks: IntArray  # (E,)


@dataclass(frozen=True, slots=True, eq=False)
class Library:
    """Common years by choice."""

    index: IntArray  # (C,) row of the arrays below, -1 where there is none
    starts: FloatArray  # (B, PLACES + 1, 2)
    called: FloatArray  # (B, PLACES)
    sums: FloatArray  # (B, PLACES + 1, ABOVE + L)


def field_of(*, prepared: Prepared) -> Field:
    """Tables of choices and of existing units.

    Args: prepared.
    Returns: `Field`.
    """
    site = prepared.site
    units = site.catalog.units
    width = len(ARRANGEMENTS)
    place = {row: at for at, row in enumerate(prepared.lead)}
    rows = {unit.model: row for row, unit in enumerate(units)}
    everything = [(row, code) for row in range(len(units)) for code in range(width)]

    def records(pairs: list[tuple[int, int]]) -> Any:
        return table_of(
            Group,
            {
                "unit": np.array([row for row, _ in pairs], np.int64),
                "arrangement": np.array([code for _, code in pairs], np.int64),
                "flow_fraction": [
                    prepared.connections[pair].flow_fraction if pair in prepared.connections else 0.0
                    for pair in pairs
                ],
                "airflow": [units[row].airflow for row, _ in pairs],
                "cycling_loss": [units[row].cycling_loss for row, _ in pairs],
                "desiccant": [int(units[row].technology == "desiccant") for row, _ in pairs],
                "reactivation": [
                    units[row].reactivation_airflow if units[row].reactivation_air == "space" else 0.0
                    for row, _ in pairs
                ],
                "fan": [int(needs_fan(code)) for _, code in pairs],
                "parameters": prepared.units[[row for row, _ in pairs]],
                "running": np.zeros(len(pairs)),
                "cell": np.zeros((len(pairs), CELL)),
            },
        )

    there = sorted(
        (place[rows[part.model]] * width + ARRANGEMENTS.index(part.arrangement), part.count)
        for part in site.existing_units
        if part.count > 0
    )
    pairs = [(prepared.lead[rank // width], rank % width) for rank, _ in there]
    return Field(
        choices=records(everything),
        ranks=np.array([place[row] * width + code for row, code in everything], np.int64),
        existing=records(pairs),
        existing_counts=np.array([count for _, count in there], np.int64),
        existing_ranks=np.array([rank for rank, _ in there], np.int64),
    )


@njit(cache=True, nogil=True, error_model="numpy")
def assemble(
    parts: IntArray,
    counts: IntArray,
    choices: Groups,
    ranks: IntArray,
    existing: Groups,
    existing_counts: IntArray,
    existing_ranks: IntArray,
    groups: Any,
    amounts: IntArray,
) -> tuple[int, int]:
    """Merge a design with the units that are there, in lead order, units of the same kind joined.

    Args: parts, counts (P,); the tables of `Field`; groups (P + E,) and amounts (P + E,) are filled.
    Returns: how many groups there are; the choice that leads among the new ones, -1 where there is none.
    """
    filled = 0
    there = 0
    lead = -1
    for at in range(parts.size):
        if parts[at] < 0 or counts[at] == 0:
            continue
        while there < existing_counts.size and existing_ranks[there] <= ranks[parts[at]]:
            groups[filled] = existing[there]
            amounts[filled] = existing_counts[there]
            filled += 1
            there += 1
        if lead < 0:
            lead = parts[at]
        if there > 0 and existing_ranks[there - 1] == ranks[parts[at]]:
            amounts[filled - 1] += counts[at]  # more of what is there already
            continue
        groups[filled] = choices[parts[at]]
        amounts[filled] = counts[at]
        filled += 1
    while there < existing_counts.size:
        groups[filled] = existing[there]
        amounts[filled] = existing_counts[there]
        filled += 1
        there += 1
    return filled, lead


@njit(cache=True, nogil=True, error_model="numpy")
def place_of(groups: Groups, filled: int, choice: Group) -> int:
    """Place of a choice among a design's groups.

    Args: groups, of which the first `filled` count; choice, a record of its unit and arrangement.
    Returns: place, -1 where it is not among them.
    """
    for place in range(filled):
        if groups[place].unit == choice.unit and groups[place].arrangement == choice.arrangement:
            return place
    return -1


def library_for(*, prepared: Prepared, choices: int, leads: tuple[int, ...]) -> Library:
    """Room for common years; the first row stays blank, for designs that share nothing.

    Args: prepared; choices, how many there are; leads, those that get a common year, -1 for the existing system alone.
    Returns: `Library` with blank rows; `index` has one more place than choices, the last for the existing system.
    """
    empty = blank(prepared=prepared)
    rows = len(leads) + 1
    index = np.zeros(choices + 1, np.int64)
    index[list(leads)] = np.arange(1, rows)
    return Library(
        index,
        np.repeat(empty.starts[None], rows, axis=0),
        np.repeat(empty.called[None], rows, axis=0),
        np.repeat(empty.sums[None], rows, axis=0),
    )


def row_of(*, library: Library, choice: int) -> Trajectory:
    """The common year of a choice, as views into the library.

    Args: library; choice, or -1 for the existing system alone.
    Returns: `Trajectory`.
    """
    row = library.index[choice]
    return Trajectory(library.starts[row], library.called[row], library.sums[row])
