"""First cost of a design: the units, and what it takes to connect them.

An arrangement that is used costs its fixed amount once, however many units and models stand in it, and its
amount for each unit. Units that are there already cost nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from selector.inputs.site import ARRANGEMENTS, Arrangement, Install, Site, Unit
from selector.money.installation import amount_of, arrangement_pieces, owner_price, unit_pieces


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
    Returns: price and installation of one unit, markups included [currency].
    Raises: as `unit_pieces`.
    """
    return amount_of(costs=site.costs, pieces=unit_pieces(site=site, unit=unit, arrangement=arrangement))


def arrangement_fixed_cost(*, site: Site, arrangement: Arrangement) -> float:
    """First cost of using an arrangement at all.

    Args: site; arrangement.
    Returns: fixed part of the installation, markups included [currency], once for an arrangement with one unit or more.
    """
    return amount_of(costs=site.costs, pieces=arrangement_pieces(site=site, arrangement=arrangement))


def first_cost(*, site: Site, install: tuple[Install, ...]) -> FirstCost:
    """First cost of a design, in a few lines; `bill_of_quantities` has all of them.

    Args: site, with catalogue and installation costs; install, the units to buy, without existing ones.
    Returns: `FirstCost` [currency], nothing for an empty design; the lines follow the order of `install`, then
        of the arrangements.
    Raises: ValueError where a model is not in the catalogue or a count is negative; as `unit_pieces`.
    """
    lines: list[CostLine] = []
    counts: dict[Arrangement, dict[str, int]] = {}
    for item in install:
        if item.count < 0:
            raise ValueError(f"install: got {item.count} of {item.model!r}; allowed: 0 or more")
        if item.count == 0:
            continue
        price = owner_price(costs=site.costs, unit=unit_of(site=site, model=item.model))
        lines.append(CostLine("unit", item.model, item.arrangement, item.count, price, item.count * price))
        here = counts.setdefault(item.arrangement, {})
        here[item.model] = here.get(item.model, 0) + item.count
    units = sum(line.total for line in lines)
    installation = 0.0
    for arrangement in ARRANGEMENTS:
        if arrangement not in counts:
            continue
        fixed = arrangement_fixed_cost(site=site, arrangement=arrangement)
        lines.append(CostLine("installation, fixed", "", arrangement, 1, fixed, fixed))
        installation += fixed
        for line in _per_unit_lines(site, arrangement, counts[arrangement]):
            lines.append(line)
            installation += line.total
    return FirstCost(tuple(lines), units, installation, units + installation)


def _per_unit_lines(site: Site, arrangement: Arrangement, counts: dict[str, int]) -> list[CostLine]:
    """Installation of the units, the site's lump sum in one line, the bill's by model."""
    lump = site.costs.installation[arrangement].per_unit
    if lump is not None:
        count = sum(counts.values())
        return [CostLine("installation, per unit", "", arrangement, count, lump, count * lump)]
    lines = []
    for model, count in counts.items():
        pieces = unit_pieces(site=site, unit=unit_of(site=site, model=model), arrangement=arrangement)
        each = amount_of(costs=site.costs, pieces=tuple(piece for piece in pieces if piece.kind != "units"))
        lines.append(CostLine("installation, per unit", model, arrangement, count, each, count * each))
    return lines
