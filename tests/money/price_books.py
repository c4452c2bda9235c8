"""An invented price book of round numbers, and sites that are priced by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from selector.inputs.price_book import ITEMS
from selector.inputs.site import (
    ARRANGEMENTS,
    Arrangement,
    Installation,
    PriceBook,
    PriceRow,
    Shares,
    Site,
    Unit,
)
from selector.money.design_costs import CostCoefficients
from tests.builders import make_costs, make_site, make_unit

NOTHING = Shares(0.0, 0.0, 0.0)
MARKED = {
    "overhead": Shares(0.02, 0.10, 0.12),
    "margin": Shares(0.03, 0.08, 0.09),
    "contingency": Shares(0.0, 0.05, 0.04),
    "tax": Shares(0.06, 0.07, 0.0),
}
SIZES = {
    "up to diameter": ((0.25, "250 mm"), (0.5, "500 mm")),
    "up to airflow": ((1.0, "1000 L/s"),),
    "up to weight": ((100.0, "100 kg"), (200.0, "200 kg")),
    "up to current": ((16.0, "16 A"), (20.0, "20 A")),
}
LENGTHS: dict[Arrangement, float] = {
    "return-side": 6.0,
    "supply-side": 6.0,
    "coil-bypass": 10.0,
    "standalone": 0.0,
    "outdoor-air": 6.0,
}


def linear_costs(coefficients: CostCoefficients, counts: Sequence[int]) -> tuple[float, float]:
    """First cost of a design, and present value of its upkeep and replacements, from its counts."""
    used = {int(place) for place, count in zip(coefficients.arrangement, counts, strict=True) if count}
    fixed = sum(float(coefficients.fixed[place]) for place in used)
    return fixed + float(coefficients.first @ counts), float(coefficients.later @ counts)


def round_book(**markups: Shares) -> PriceBook:
    """Every piece 10 and half an hour, the next size twice that; pads go further than hangers; labour 60, 80, 100."""
    rows: dict[str, tuple[PriceRow, ...]] = {}
    for name, item in ITEMS.items():
        if item.trade is None:
            continue
        sizes = SIZES[item.size] if item.size else ((None, ""),)
        if name == "pad":
            sizes = ((100.0, "100 kg"), (400.0, "400 kg"))
        rows[name] = tuple(
            PriceRow(name, size, words, 10.0 * (place + 1), 0.5 * (place + 1))
            for place, (size, words) in enumerate(sizes)
        )
    return PriceBook(
        file="round.csv",
        currency="USD",
        invented=True,
        rows=rows,
        labour={"mechanical": 60.0, "electrical": 80.0, "commissioning": 100.0},
        markups={
            "overhead": markups.get("overhead", NOTHING),
            "margin": markups.get("margin", NOTHING),
            "contingency": markups.get("contingency", NOTHING),
            "tax": markups.get("tax", NOTHING),
        },
    )


def unit(model: str = "compressor-60", **changes: Any) -> Unit:
    """0.3 m³/s, 80 kg, 8 A at 208 V; 4,000."""
    return replace(make_unit(model, price=4000.0), **changes)


def rotor(model: str = "rotor-90", **changes: Any) -> Unit:
    """The same as a desiccant unit with 0.1 m³/s of outdoor reactivation air."""
    return replace(
        unit(model),
        **{
            "technology": "desiccant",
            "reactivation_airflow": 0.1,
            "reactivation_air": "outdoor",
            "reactivation_energy": "electric",
            **changes,
        },
    )


def priced_site(
    *units: Unit, book: PriceBook | None = None, location_factor: float = 1.0, **terms: Any
) -> Site:
    """A site without lump sums: 5 m/s in the ducts, fittings as much as the straight duct."""
    installation = {
        name: replace(
            Installation(
                None, None, LENGTHS[name], 5.0, 1.0, 4.0, "pump" if name == "standalone" else "gravity"
            ),
            **terms,
        )
        for name in ARRANGEMENTS
    }
    costs = replace(
        make_costs(),
        installation=installation,
        price_book=book or round_book(),
        location_factor=location_factor,
    )
    return make_site(units=units or (unit(),), costs=costs)
