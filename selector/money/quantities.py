"""First cost as a bill of quantities: what is bought and done, how much of it, at which rate.

The bill is linear, so that the search can add it up: each unit of a model in an arrangement brings its own lines,
each arrangement in use brings some once, and the markups are shares of these. Every line is quantity times rate.
Lengths in m, labour in h, money in the site's currency.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from selector.inputs.site import Arrangement, Install, Site

Section = Literal[
    "units",
    "ducts",
    "fittings",
    "dampers",
    "filters",
    "supports",
    "electrical",
    "drains",
    "reactivation",
    "controls",
    "labour",
    "commissioning",
    "lump sums",
    "markups",
]
BillOrigin = Literal["catalogue", "price book", "site file"]


@dataclass(frozen=True, slots=True)
class BillLine:
    """One line: amount is quantity times rate."""

    section: Section
    what: str
    arrangement: Arrangement | None  # None for markups, which are on the whole bill
    quantity: float
    unit: str  # "each", "m", "h", or the currency for a share of an amount
    rate: float  # currency by unit; a share for markups
    amount: float  # currency
    origin: BillOrigin


@dataclass(frozen=True, slots=True)
class BillOfQuantities:
    """Everything that has to be paid before the first hour."""

    currency: str
    invented: bool  # a price in it is invented: not for a bid
    price_book: str  # file, "" where none was needed
    lines: tuple[BillLine, ...]
    units: float  # currency, units with their markups
    installation: float  # currency, all else
    total: float  # currency, sum of the lines


def bill_of_quantities(*, site: Site, install: tuple[Install, ...]) -> BillOfQuantities:
    """Bill of quantities of a design.

    Args: site, with catalogue, installation and price book; install, the units to buy, without existing ones.
    Returns: `BillOfQuantities` [currency], without lines for an empty design.
    Raises: ValueError where a model is not in the catalogue or a count is negative.
    """
    from selector.money.first_cost import first_cost

    lines: list[BillLine] = []
    cost = first_cost(site=site, install=install)
    for line in cost.lines:
        lines.append(
            BillLine(
                "units" if line.kind == "unit" else "lump sums",
                line.model or line.kind,
                line.arrangement,
                float(line.count),
                "each",
                line.each,
                line.total,
                "catalogue" if line.kind == "unit" else "site file",
            )
        )
    return BillOfQuantities(
        site.costs.currency,
        site.catalog.invented,
        "",
        tuple(lines),
        cost.units,
        cost.installation,
        cost.total,
    )
