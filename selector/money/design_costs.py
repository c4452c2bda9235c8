"""What many designs cost apart from energy, all at once: the linear part of the search.

A design is a row of counts, one for each pair of model and arrangement. Its first cost and the present value of
its maintenance, replacements and residual value are linear in the counts, plus one fixed amount for each
arrangement with at least one unit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from selector.inputs.site import ARRANGEMENTS, Arrangement, FloatArray, Install, Site
from selector.money.energy_prices import present_value_factors
from selector.money.first_cost import arrangement_fixed_cost, per_unit_first_cost, unit_of
from selector.money.life_cycle import per_unit_present_value


@dataclass(frozen=True, slots=True, eq=False)
class CostCoefficients:
    """Cost of one more unit of each choice, and of using each arrangement."""

    choices: tuple[tuple[str, Arrangement], ...]  # (C,) model and arrangement
    first: FloatArray  # (C,) currency a unit: price and installation
    later: FloatArray  # (C,) currency a unit: present value of maintenance and replacements, less residual
    arrangement: npt.NDArray[np.int64]  # (C,) place in ARRANGEMENTS
    fixed: FloatArray  # (5,) currency, once for an arrangement that is used


def cost_coefficients(*, site: Site, choices: tuple[tuple[str, Arrangement], ...]) -> CostCoefficients:
    """Coefficients of the linear costs.

    Args: site; choices, C pairs of model and arrangement.
    Returns: `CostCoefficients`, arrays of shape (C,) and (5,) [currency].
    Raises: ValueError where a model is not in the catalogue.
    """
    units = [unit_of(site=site, model=model) for model, _ in choices]
    return CostCoefficients(
        choices=choices,
        first=np.array(
            [
                per_unit_first_cost(site=site, unit=unit, arrangement=arrangement)
                for unit, (_, arrangement) in zip(units, choices, strict=True)
            ],
            dtype=np.float64,
        ),
        later=np.array([per_unit_present_value(site=site, unit=unit) for unit in units], dtype=np.float64),
        arrangement=np.array([ARRANGEMENTS.index(arrangement) for _, arrangement in choices], np.int64),
        fixed=np.array(
            [
                arrangement_fixed_cost(site=site, arrangement=arrangement)
                if arrangement in site.costs.installation
                else 0.0
                for arrangement in ARRANGEMENTS
            ],
            dtype=np.float64,
        ),
    )


def existing_maintenance(*, site: Site) -> float:
    """Yearly maintenance of the units that are there already.

    Args: site.
    Returns: cost [currency/year].
    """
    return sum(item.count * unit_of(site=site, model=item.model).maintenance for item in site.existing_units)


def existing_present_value(*, site: Site) -> float:
    """Present value of the maintenance of the units that are there already, the same in every design.

    Args: site.
    Returns: cost [currency]; existing units are neither bought nor replaced.
    """
    return existing_maintenance(site=site) * present_value_factors(costs=site.costs).maintenance


def install_maintenance(*, site: Site, install: tuple[Install, ...]) -> float:
    """Yearly maintenance of the units of a design, without existing ones.

    Args: site; install, the units.
    Returns: cost [currency/year].
    """
    return sum(item.count * unit_of(site=site, model=item.model).maintenance for item in install)
