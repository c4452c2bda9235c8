"""What it takes to connect units at a site: its own lump sums, or a price book and what sizes the work."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from selector.inputs.errors import Faults, InputFaults
from selector.inputs.price_book import read_price_book, shipped_price_book
from selector.inputs.resolve import Resolver, checked
from selector.inputs.schema import CostsTable, InstallationTable
from selector.inputs.site import ARRANGEMENTS, Arrangement, Installation, PriceBook

SHARED = "costs.installation"


@dataclass(frozen=True, slots=True)
class InstallationCosts:
    """How installation is priced."""

    installation: Mapping[Arrangement, Installation]
    price_book: PriceBook | None  # None where there is none in the site's currency and none is needed
    location_factor: float


def build_installation(
    *,
    table: CostsTable,
    resolver: Resolver,
    arrangements: Sequence[Arrangement],
    possible: Sequence[Arrangement],
    folder: Path,
    catalog: str | None,
) -> InstallationCosts:
    """Build what installation takes and costs.

    Args: table; resolver; arrangements, those that the site allows, has or is offered; possible, all that its building
        can have: the others of these are priced, too, without being asked for; folder of the site file; catalog, the
        folder of the catalogue as the site names it.
    Returns: `InstallationCosts`.
    """
    given = table.installation or {}
    silent = Resolver(
        file=resolver.file,
        profile=resolver.profile,
        currency=resolver.currency,
        broken=frozenset(),
        faults=Faults(),
        no_defaults=False,
    )
    found: dict[Arrangement, Installation] = {}
    for name in ARRANGEMENTS:
        asked = name in arrangements or name in given
        if asked or name in possible:
            terms = given.get(name) or InstallationTable()
            found[name] = _installation(terms, name, resolver if asked else silent)
    asked_for = [terms for name, terms in found.items() if name in arrangements]
    book = _price_book(table, resolver, asked_for, folder, catalog)
    used = book is not None and (_needs_book(asked_for) or any(one.units for one in book.markups.values()))
    if book is None:
        found = {name: terms for name, terms in found.items() if not _needs_book([terms])}
    return InstallationCosts(
        installation=found,
        price_book=book,
        location_factor=(resolver if used else silent).number("costs.location_factor", table.location_factor),
    )


def _needs_book(terms: Iterable[Installation]) -> bool:
    return any(one.fixed is None or one.per_unit is None for one in terms)


def _installation(table: InstallationTable, arrangement: str, resolver: Resolver) -> Installation:
    where = f"{SHARED}.{arrangement}"
    by_bill = table.per_unit is None

    def shared(name: str) -> float:
        return resolver.number(f"{where}.{name}", getattr(table, name), default=f"{SHARED}.{name}")

    friction, velocity = table.duct_friction, table.duct_velocity
    resolver.only_one(where, {"duct_velocity": velocity, "duct_friction": friction})
    drain = table.drain
    if drain is not None or by_bill:
        drain = resolver.word(f"{where}.drain", drain)
    reactivation = table.reactivation_duct_length
    if reactivation is not None or by_bill:
        reactivation = shared("reactivation_duct_length")
    return Installation(
        fixed=resolver.optional(f"{where}.fixed", table.fixed),
        per_unit=resolver.optional(f"{where}.per_unit", table.per_unit),
        duct_length=resolver.number(f"{where}.duct_length", table.duct_length),
        duct_velocity=shared("duct_velocity") if friction is None or velocity is not None else 0.0,
        duct_fittings=shared("duct_fittings"),
        duct_friction=resolver.optional(f"{where}.duct_friction", friction),
        reactivation_duct_length=reactivation or 0.0,
        drain=checked(drain or "gravity"),
    )


def _price_book(
    table: CostsTable,
    resolver: Resolver,
    terms: Sequence[Installation],
    folder: Path,
    catalog: str | None,
) -> PriceBook | None:
    """Read the site's price book, or the shipped one; note a fault where it will not do and is needed."""
    where = "costs.price_book"
    needed = _needs_book(terms)
    if table.price_book is not None:
        path = folder / resolver.word(where, table.price_book)
    elif resolver.is_broken(where):
        return None
    else:
        path = shipped_price_book(catalog=folder / (catalog or "."))
    try:
        book = read_price_book(path=path)
    except InputFaults as error:
        resolver.faults.extend(error.faults)
        return None
    if book.currency != resolver.currency:
        if table.price_book is not None or needed:
            resolver.fault(
                where,
                f"prices in {book.currency}"
                + ("" if table.price_book is not None else " in the price book that is there"),
                f"a price book in {resolver.currency}, or fixed and per_unit in [costs.installation] for every "
                "arrangement",
            )
        return None
    if table.price_book is None and (needed or any(one.units for one in book.markups.values())):
        resolver.word(where, None)
    return book
