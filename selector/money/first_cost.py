"""First cost of a design: the units, and what it takes to connect them.

An arrangement that is used costs its fixed amount once, however many units and models stand in it, and its
amount for each unit. Units that are there already cost nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from selector.inputs.site import ARRANGEMENTS, Arrangement, Install, Site, Unit


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the first cost."""

    kind: Literal["unit", "installation, fixed", "installation, per unit"]
    model: str  # "" for what belongs to the arrangement
    arrangement: Arrangement
    count: int
    each: float  # currency
    total: float  # currency


@dataclass(frozen=True, slots=True)
class FirstCost:
    """What has to be paid before the first hour."""

    lines: tuple[CostLine, ...]
    units: float  # currency
    installation: float  # currency
    total: float  # currency


def unit_of(*, site: Site, model: str) -> Unit:
    """Find a model in the site's catalogue.

    Args: site; model, as in the catalogue.
    Returns: the unit.
    Raises: ValueError where the catalogue has no such model, with the models that it has.
    """
    for unit in site.catalog.units:
        if unit.model == model:
            return unit
    known = ", ".join(unit.model for unit in site.catalog.units)
    raise ValueError(f"{site.catalog.folder}: got model {model!r}; allowed: {known}")


def per_unit_first_cost(*, site: Site, unit: Unit, arrangement: Arrangement) -> float:
    """First cost of one more unit in an arrangement that is used already.

    Args: site; unit; arrangement.
    Returns: price and installation of one unit [currency].
    """
    return unit.price + site.costs.installation[arrangement].per_unit


def arrangement_fixed_cost(*, site: Site, arrangement: Arrangement) -> float:
    """First cost of using an arrangement at all.

    Args: site; arrangement.
    Returns: fixed part of the installation [currency], once for an arrangement with one unit or more.
    """
    return site.costs.installation[arrangement].fixed


def first_cost(*, site: Site, install: tuple[Install, ...]) -> FirstCost:
    """First cost of a design, line by line.

    Args: site, with catalogue and installation costs; install, the units to buy, without existing ones.
    Returns: `FirstCost` [currency], nothing for an empty design; the lines follow the order of `install`, then
        of the arrangements.
    Raises: ValueError where a model is not in the catalogue or a count is negative.
    """
    lines: list[CostLine] = []
    counts: dict[Arrangement, int] = {}
    for item in install:
        if item.count < 0:
            raise ValueError(f"install: got {item.count} of {item.model!r}; allowed: 0 or more")
        if item.count == 0:
            continue
        price = unit_of(site=site, model=item.model).price
        lines.append(CostLine("unit", item.model, item.arrangement, item.count, price, item.count * price))
        counts[item.arrangement] = counts.get(item.arrangement, 0) + item.count
    units = sum(line.total for line in lines)
    installation = 0.0
    for arrangement in ARRANGEMENTS:
        count = counts.get(arrangement, 0)
        if count == 0:
            continue
        terms = site.costs.installation[arrangement]
        each = terms.per_unit
        lines.append(CostLine("installation, fixed", "", arrangement, 1, terms.fixed, terms.fixed))
        lines.append(CostLine("installation, per unit", "", arrangement, count, each, count * each))
        installation += terms.fixed + count * each
    return FirstCost(tuple(lines), units, installation, units + installation)
