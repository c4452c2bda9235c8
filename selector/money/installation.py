"""What it takes to connect units, piece by piece: of each unit, and once for an arrangement in use.

A piece is something bought or done, with its quantity and rate. Lengths in m, labour in h, money in the site's
currency, before markups. Sizes come from the unit: ducts from its airflow, supports from its weight, the circuit from
its current. Ducts are sized for a design velocity or a friction rate; a book's row of the next larger size is bought.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from selector.inputs.errors import Fault, InputFaults
from selector.inputs.price_book import ITEMS
from selector.inputs.site import (
    MARKUPS,
    TRADES,
    Arrangement,
    Costs,
    Installation,
    PriceBook,
    PriceRow,
    Site,
    Trade,
    Unit,
)
from selector.money.circuits import circuit_for
from selector.physics.ducts import design_diameter

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
    "permits",
    "labour",
    "commissioning",
    "lump sums",
    "markups",
]
Kind = Literal["units", "materials", "labour", "lump sums"]  # what a markup is on; none is on lump sums
PieceOrigin = Literal["catalogue", "price book", "site file"]

ELBOW_LENGTH = 12.0  # diameters of straight duct with the friction of one elbow: common practice, no source
SIZE_NAMES = {
    "up to diameter": ("a diameter", "m"),
    "up to airflow": ("an airflow", "m³/s"),
    "up to weight": ("a weight", "kg"),
    "up to current": ("a circuit", "A"),
}


@dataclass(frozen=True, slots=True)
class Piece:
    """Something bought or done."""

    section: Section
    what: str
    kind: Kind
    quantity: float
    unit: str  # "each", "m" or "h"
    rate: float  # currency by unit
    origin: PieceOrigin


@dataclass(frozen=True, slots=True)
class _Missing:
    """A size that the price book does not reach."""

    item: str
    size: float

    def fault(self, book: PriceBook, whose: str) -> Fault:
        name, unit = SIZE_NAMES[ITEMS[self.item].size or ""]
        largest = book.rows[self.item][-1].size
        return Fault(
            file=book.file,
            where=self.item,
            got=f"nothing for {name} of {self.size:.4g} {unit} ({whose}); the largest is {largest}",
            allowed="a row that reaches it, a smaller unit, or fixed and per_unit in [costs.installation]",
        )


class _Pieces:
    """Gathers pieces from a price book, material and labour of each item apart; of one section where it is named."""

    def __init__(self, costs: Costs, only: Section | None = None) -> None:
        if costs.price_book is None:
            raise ValueError("installation without lump sums needs a price book; costs.price_book names it")
        self._book = costs.price_book
        self._factor = costs.location_factor
        self._only = only
        self._hours: dict[Trade, float] = {}
        self._found: list[Piece] = []
        self.missing: list[_Missing] = []

    def add(
        self, section: Section, item: str, quantity: float, *, size: float | None = None, named: str = ""
    ) -> None:
        """Add an item, by the piece or by the metre; note a size that the book does not reach."""
        if quantity <= 0.0 or (self._only is not None and section != self._only):
            return
        row = self._row(item, size)
        if row is None:
            return
        what = named or item
        what = f"{what}, {row.size}" if row.size else what
        unit = "m" if ITEMS[item].columns[0] == "material by length" else "each"
        if row.material > 0.0:
            rate = row.material * self._factor
            self._found.append(Piece(section, what, "materials", quantity, unit, rate, "price book"))
        trade = ITEMS[item].trade
        assert trade is not None  # of every item that is bought or done
        self._hours[trade] = self._hours.get(trade, 0.0) + quantity * row.hours

    def support(self, weight: float, *, hung: bool) -> None:
        """Add what carries a unit: hung where the book goes so far, else on a pad."""
        can_hang = hung and weight <= (self._book.rows["hanging"][-1].up_to or 0.0)
        self.add("supports", "hanging" if can_hang else "pad", 1.0, size=weight)

    def all(self) -> tuple[Piece, ...]:
        """Return materials, then labour by trade."""
        labour = [
            Piece(
                "commissioning" if trade == "commissioning" else "labour",
                f"{trade} labour",
                "labour",
                self._hours[trade],
                "h",
                self._book.labour[trade] * self._factor,
                "price book",
            )
            for trade in TRADES
            if self._hours.get(trade, 0.0) > 0.0
        ]
        return (*self._found, *labour)

    def _row(self, item: str, size: float | None) -> PriceRow | None:
        rows = self._book.rows[item]
        if size is None:
            return rows[0]
        for row in rows:
            if size <= (row.up_to or 0.0) * (1.0 + 1e-9):
                return row
        self.missing.append(_Missing(item, size))
        return None


def elbows_for(*, length: float, diameter: float, fittings: float) -> int:
    """Number of elbows whose friction is a multiple of the straight duct's.

    Args: length [m] of straight duct; diameter [m]; fittings [-], as a multiple of the straight duct's friction.
    Returns: number of elbows, rounded up.
    Source: common practice, no source: an elbow has the friction of `ELBOW_LENGTH` diameters of straight duct.
    """
    if diameter <= 0.0:
        return 0
    return math.ceil(fittings * length / (ELBOW_LENGTH * diameter) - 1e-9)


def _terms(site: Site, arrangement: Arrangement) -> Installation:
    if arrangement not in site.costs.installation:
        allowed = ", ".join(site.costs.installation)
        raise ValueError(f"arrangement: got {arrangement!r}; allowed: {allowed}")
    return site.costs.installation[arrangement]


def unit_pieces(
    *, site: Site, unit: Unit, arrangement: Arrangement, only: Section | None = None
) -> tuple[Piece, ...]:
    """What one more unit in an arrangement takes.

    Args: site; unit; arrangement; only, a section to be looked at by itself, with the labour that goes into it.
    Returns: the unit and its installation, or the site's lump sum for that.
    Raises: InputFaults where the price book does not reach a size that is needed, with all that the site needs;
        ValueError where the building cannot have the arrangement.
    """
    terms = _terms(site, arrangement)
    price = Piece("units", unit.model, "units", 1.0, "each", unit.price, "catalogue")
    if terms.per_unit is not None:
        lump = Piece("lump sums", "for each unit", "lump sums", 1.0, "each", terms.per_unit, "site file")
        return tuple(piece for piece in (price, lump) if only in (None, piece.section))
    found = _unit_installation(site.costs, terms, unit, arrangement, only)
    if found.missing:
        refuse_missing_prices(site=site)
        raise _faults(site, [(unit.model, arrangement, found.missing)])
    return (*((price,) if only in (None, "units") else ()), *found.all())


def _unit_installation(
    costs: Costs, terms: Installation, unit: Unit, arrangement: Arrangement, only: Section | None = None
) -> _Pieces:
    found = _Pieces(costs, only)
    alone = arrangement == "standalone"
    ducted = not alone or terms.duct_length > 0.0
    if ducted:
        diameter = _diameter(terms, unit.airflow)
        elbows = elbows_for(length=terms.duct_length, diameter=diameter, fittings=terms.duct_fittings)
        found.add("ducts", "duct", terms.duct_length, size=diameter)
        found.add("fittings", "elbow", elbows, size=diameter)
        found.add("fittings", "grille" if alone else "tap", 2.0, size=diameter)
        if not alone:
            found.add("dampers", "balancing damper", 1.0, size=diameter)
        if arrangement == "coil-bypass":
            found.add("dampers", "backdraft damper", 1.0, size=diameter)
    found.add("filters", "filter", 1.0, size=unit.airflow)
    found.support(unit.weight, hung=ducted)
    circuit = circuit_for(voltage=unit.voltage, phases=unit.phases, current=unit.current)
    rating = circuit.ampacity if circuit.breaker is None else float(circuit.breaker)
    found.add(
        "electrical", "three-phase circuit" if unit.phases == 3 else "one-phase circuit", 1.0, size=rating
    )
    if unit.technology == "desiccant":
        _reactivation(found, terms, unit)
    else:
        found.add("drains", "gravity drain" if terms.drain == "gravity" else "condensate pump", 1.0)
    found.add("controls", "unit controls", 1.0)
    found.add("commissioning", "commissioning of a unit", 1.0)
    return found


def _diameter(terms: Installation, airflow: float) -> float:
    return design_diameter(airflow=airflow, velocity=terms.duct_velocity, friction=terms.duct_friction)


def _reactivation(found: _Pieces, terms: Installation, unit: Unit) -> None:
    """Ducts of reactivation air: the exhaust, and the intake where it comes from outdoors."""
    ducts = 2 if unit.reactivation_air == "outdoor" else 1
    diameter = _diameter(terms, unit.reactivation_airflow)
    length = terms.reactivation_duct_length
    elbows = elbows_for(length=length, diameter=diameter, fittings=terms.duct_fittings)
    found.add("reactivation", "duct", ducts * length, size=diameter, named="reactivation duct")
    found.add("reactivation", "elbow", ducts * elbows, size=diameter, named="reactivation elbow")
    found.add("reactivation", "wall cap", ducts, size=diameter)
    if unit.reactivation_energy == "gas":
        found.add("reactivation", "gas connection", 1.0)


def arrangement_pieces(
    *, site: Site, arrangement: Arrangement, only: Section | None = None
) -> tuple[Piece, ...]:
    """What an arrangement takes once, however many units stand in it.

    Args: site; arrangement; only, as `unit_pieces`.
    Returns: controls, balancing, commissioning and papers, or the site's lump sum for that.
    Raises: ValueError where the building cannot have the arrangement.
    """
    terms = _terms(site, arrangement)
    if terms.fixed is not None:
        lump = Piece("lump sums", "once", "lump sums", 1.0, "each", terms.fixed, "site file")
        return (lump,) if only in (None, "lump sums") else ()
    found = _Pieces(site.costs, only)
    alone = arrangement == "standalone"
    found.add("controls", "humidistat", 1.0)
    if not alone:
        found.add("controls", "fan interlock", 1.0)
    if arrangement == "outdoor-air":
        found.add("controls", "frost protection", 1.0)
    if not alone or terms.duct_length > 0.0:
        # around the coil the air that is left for it has to be set as well
        found.add("commissioning", "air balancing", 2.0 if arrangement == "coil-bypass" else 1.0)
    found.add("commissioning", "commissioning of an arrangement", 1.0)
    found.add("permits", "drawings and permit", 1.0)
    return found.all()


def markup_factor(*, costs: Costs, kind: Kind) -> float:
    """What an amount becomes with all markups on it, each on top of those before it.

    Args: costs; kind of cost that the amount is.
    Returns: factor [-], 1 without a price book and for lump sums.
    """
    if costs.price_book is None or kind == "lump sums":
        return 1.0
    factor = 1.0
    for markup in MARKUPS:
        factor *= 1.0 + float(getattr(costs.price_book.markups[markup], kind))
    return factor


def amount_of(*, costs: Costs, pieces: tuple[Piece, ...]) -> float:
    """What pieces cost, markups included.

    Args: costs; pieces.
    Returns: amount [currency].
    """
    return sum(piece.quantity * piece.rate * markup_factor(costs=costs, kind=piece.kind) for piece in pieces)


def owner_price(*, costs: Costs, unit: Unit) -> float:
    """What the owner pays for a unit itself, also when it is bought again.

    Args: costs; unit.
    Returns: the catalogue's price with the markups on units [currency].
    """
    return unit.price * markup_factor(costs=costs, kind="units")


def uses_price_book(*, site: Site) -> bool:
    """Whether a price of the price book enters what the site may choose.

    Args: site. Returns: false where every arrangement that is allowed has its lump sums.
    """
    costs = site.costs
    if costs.price_book is None:
        return False
    terms = [costs.installation[name] for name in site.limits.arrangements]
    by_bill = any(one.fixed is None or one.per_unit is None for one in terms)
    return by_bill or markup_factor(costs=costs, kind="units") != 1.0


def invented_prices(*, site: Site) -> bool:
    """Whether an invented price enters the results of a site, so that no one may bid on them.

    Args: site. Returns: true where catalogue or price book are marked so and are used.
    """
    book = site.costs.price_book
    return site.catalog.invented or (book is not None and book.invented and uses_price_book(site=site))


def refuse_missing_prices(*, site: Site) -> None:
    """Refuse a price book that does not reach what the catalogue's units need where the site allows them.

    Args: site.
    Raises: InputFaults, with every size that is missing.
    """
    short: list[tuple[str, Arrangement, list[_Missing]]] = []
    for arrangement in site.limits.arrangements:
        terms = site.costs.installation[arrangement]
        if terms.per_unit is not None:
            continue
        for unit in site.catalog.units:
            found = _unit_installation(site.costs, terms, unit, arrangement)
            if found.missing:
                short.append((unit.model, arrangement, found.missing))
    if short:
        raise _faults(site, short)


def _faults(site: Site, short: list[tuple[str, Arrangement, list[_Missing]]]) -> InputFaults:
    book = site.costs.price_book
    assert book is not None  # without one nothing could be looked up
    places: dict[tuple[str, _Missing], list[Arrangement]] = {}
    for model, arrangement, missing in short:
        for one in missing:
            places.setdefault((model, one), []).append(arrangement)
    return InputFaults(
        tuple(
            one.fault(book, f"{model}, {', '.join(dict.fromkeys(arrangements))}")
            for (model, one), arrangements in places.items()
        )
    )
