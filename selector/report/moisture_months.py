"""The moisture of a design by source and month, as the chart, the page and JSON have it.

Units: kg.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.decide.evaluate import Evaluation
from selector.inputs.calendar import month_of_hour
from selector.physics.loads import moisture_sources
from selector.physics.prepare import Prepared


@dataclass(frozen=True, slots=True)
class MoistureRow:
    """One source of moisture; positive into the space."""

    name: str
    year: float  # kg
    months: tuple[float, ...]  # (12,) kg


def moisture_rows(*, prepared: Prepared, evaluation: Evaluation) -> tuple[MoistureRow, ...]:
    """Add up the moisture of each source.

    Args: prepared; evaluation, of the design.
    Returns: gains first, then outdoor air, coil, units and what is stored; together they are nothing.
    """
    month = month_of_hour()
    return tuple(
        MoistureRow(
            source.name,
            float(source.values.sum()),
            tuple(float(value) for value in np.bincount(month, weights=source.values, minlength=12)),
        )
        for source in moisture_sources(prepared=prepared, year=evaluation.year)
    )
