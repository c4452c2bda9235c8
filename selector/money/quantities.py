"""First cost as a bill of quantities: what is bought and done, how much of it, at which rate.

The bill is linear, so that the search can add it up: each unit of a model in an arrangement brings its own lines, each
arrangement in use brings some once, and the markups are shares of these. Every line is quantity times rate. The
quantity of a markup is the amount that it is on: all lines above it of the same kind, earlier markups included.
Lengths in m, labour in h, money in the site's currency.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from selector.inputs.site import ARRANGEMENTS, MARKUPS, Arrangement, Install, Site
from selector.money.first_cost import unit_of
from selector.money.installation import Kind, Piece, PieceOrigin, Section, arrangement_pieces, unit_pieces

SECTIONS: tuple[Section, ...] = get_args(Section)
MARKED_UP: tuple[Kind, ...] = ("units", "materials", "labour")


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
    origin: PieceOrigin
    kind: Kind  # of cost that the line is; of a markup, the kind that it is on


@dataclass(frozen=True, slots=True)
class BillOfQuantities:
    """Everything that has to be paid before the first hour."""

    currency: str
    invented: bool  # a price in it is invented: not for a bid
    price_book: str  # file, "" where no line is from one
    location_factor: float  # in the rates of the price book's lines already
    lines: tuple[BillLine, ...]
    units: float  # currency, units with their markups
    installation: float  # currency, all else
    total: float  # currency, sum of the lines


def bill_of_quantities(*, site: Site, install: tuple[Install, ...]) -> BillOfQuantities:
    """Bill of quantities of a design.

    Args: site, with catalogue, installation and price book; install, the units to buy, without existing ones.
    Returns: `BillOfQuantities` [currency], without lines for an empty design; lines by section, then by arrangement,
        the markups last.
    Raises: ValueError where a model is not in the catalogue or a count is negative; InputFaults where the price book
        does not reach a size that is needed.
    """
    quantities: dict[tuple[Arrangement, Piece], float] = {}
    for item in install:
        if item.count < 0:
            raise ValueError(f"install: got {item.count} of {item.model!r}; allowed: 0 or more")
        if item.count > 0:
            unit = unit_of(site=site, model=item.model)
            for piece in unit_pieces(site=site, unit=unit, arrangement=item.arrangement):
                _take(quantities, item.arrangement, piece, item.count)
    for arrangement in ARRANGEMENTS:
        if any(item.arrangement == arrangement and item.count > 0 for item in install):
            for piece in arrangement_pieces(site=site, arrangement=arrangement):
                _take(quantities, arrangement, piece, 1)
    lines = [
        BillLine(
            section=piece.section,
            what=piece.what,
            arrangement=arrangement,
            quantity=quantity,
            unit=piece.unit,
            rate=piece.rate,
            amount=quantity * piece.rate,
            origin=piece.origin,
            kind=piece.kind,
        )
        for (arrangement, piece), quantity in quantities.items()
    ]
    lines.sort(
        key=lambda line: (SECTIONS.index(line.section), ARRANGEMENTS.index(line.arrangement or "return-side"))
    )
    lines += _markups(site, lines)
    booked = any(line.origin == "price book" for line in lines)
    book = site.costs.price_book
    units = sum(line.amount for line in lines if line.kind == "units")
    others = sum(line.amount for line in lines if line.kind != "units")
    return BillOfQuantities(
        currency=site.costs.currency,
        invented=site.catalog.invented or (booked and book is not None and book.invented),
        price_book=book.file if booked and book is not None else "",
        location_factor=site.costs.location_factor,
        lines=tuple(lines),
        units=units,
        installation=others,
        total=units + others,
    )


def _take(
    quantities: dict[tuple[Arrangement, Piece], float], arrangement: Arrangement, piece: Piece, count: int
) -> None:
    """Add pieces to the line of the same rate, whatever their quantity."""
    line = Piece(piece.section, piece.what, piece.kind, 1.0, piece.unit, piece.rate, piece.origin)
    quantities[arrangement, line] = quantities.get((arrangement, line), 0.0) + count * piece.quantity


def _markups(site: Site, lines: list[BillLine]) -> list[BillLine]:
    """Markups on each kind of cost, each on top of those before it."""
    book = site.costs.price_book
    if book is None:
        return []
    base = {kind: sum(line.amount for line in lines if line.kind == kind) for kind in MARKED_UP}
    found = []
    for markup in MARKUPS:
        for kind in MARKED_UP:
            share = float(getattr(book.markups[markup], kind))
            if share == 0.0 or base[kind] == 0.0:
                continue
            amount = base[kind] * share
            found.append(
                BillLine(
                    section="markups",
                    what=f"{markup} on {kind}",
                    arrangement=None,
                    quantity=base[kind],
                    unit=book.currency,
                    rate=share,
                    amount=amount,
                    origin="price book",
                    kind=kind,
                )
            )
            base[kind] += amount
    return found
