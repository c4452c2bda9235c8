"""The bill of quantities: by hand, added up again by pandas, and linear as the search needs it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs.errors import InputFaults
from selector.inputs.site import ARRANGEMENTS, MARKUPS, Arrangement, Install, PriceBook, Shares, Site
from selector.money.design_costs import cost_coefficients
from selector.money.first_cost import arrangement_fixed_cost, first_cost, per_unit_first_cost
from selector.money.installation import (
    elbows_for,
    invented_prices,
    refuse_missing_prices,
    unit_pieces,
    uses_price_book,
)
from selector.money.life_cycle import life_cycle_cost, per_unit_present_value
from selector.money.quantities import BillLine, BillOfQuantities, bill_of_quantities
from selector.physics.ducts import diameter_at_friction, diameter_for
from selector.report.bill_text import quantities_json
from tests.builders import make_costs, make_site
from tests.money.price_books import LENGTHS, linear_costs, priced_site, rotor, round_book, unit
from tests.sites import room

MARKED = {
    "overhead": Shares(0.02, 0.10, 0.12),
    "margin": Shares(0.03, 0.08, 0.09),
    "contingency": Shares(0.0, 0.05, 0.04),
    "tax": Shares(0.06, 0.07, 0.0),
}
CATALOGUE = (
    unit(),
    unit("compressor-300", airflow=0.6, weight=170.0, current=14.0, phases=3, price=9000.0),
    rotor(),
    rotor("rotor-180", reactivation_energy="gas", reactivation_air="space", weight=250.0, price=21000.0),
)


def of(bill: BillOfQuantities, section: str) -> dict[str, tuple[float, float]]:
    """Quantity and rate of each line of a section."""
    return {line.what: (line.quantity, line.rate) for line in bill.lines if line.section == section}


def again(bill: BillOfQuantities, book: PriceBook) -> pd.DataFrame:
    """The bill added up once more from its JSON, by pandas and not by us: its amounts, and markups from the book."""
    table = pd.DataFrame(quantities_json(bill)["lines"])
    table["added"] = table["quantity"] * table["rate"]
    assert np.allclose(table["added"], table["amount"], rtol=1e-14, atol=0.0)
    works = table[table["section"] != "markups"]
    by_kind = works.groupby("kind")["added"].sum()
    for kind in ("units", "materials", "labour"):
        base = by_kind.get(kind, 0.0)
        for markup in MARKUPS:
            share = getattr(book.markups[markup], kind)
            mine = table[(table["section"] == "markups") & (table["what"] == f"{markup} on {kind}")]
            assert mine["added"].sum() == pytest.approx(base * share, rel=1e-12)
            base *= 1.0 + share
    return table


def test_bill_by_hand() -> None:
    """Two units of 0.3 m³/s, return-side, at 5 m/s: sqrt(4 x 0.3 / (5 pi)) = 0.2764 m, so 500 mm at 20 and 1 h a metre.

    Elbows: 6 m / (12 x 0.2764 m) = 1.81, so 2 each. 8 A x 1.25 = 10 A, so a breaker of 15 A and the row to 16 A.
    Mechanical: duct 12 h, elbows 4, taps 4, dampers 2, filters 1, hangers 1, drains 1, drawings 0.5; electrical:
    circuits 1, unit controls 1, humidistat and interlock 1; commissioning: 2 units 1, arrangement 0.5, balancing 0.5.
    """
    bill = bill_of_quantities(site=priced_site(), install=(Install("compressor-60", "return-side", 2),))
    assert of(bill, "units") == {"compressor-60": (2.0, 4000.0)}
    assert of(bill, "ducts") == {"duct, 500 mm": (12.0, 20.0)}
    assert of(bill, "fittings") == {"elbow, 500 mm": (4.0, 20.0), "tap, 500 mm": (4.0, 20.0)}
    assert of(bill, "dampers") == {"balancing damper, 500 mm": (2.0, 20.0)}
    assert of(bill, "filters") == {"filter, 1000 L/s": (2.0, 10.0)}
    assert of(bill, "supports") == {"hanging, 100 kg": (2.0, 10.0)}
    assert of(bill, "electrical") == {"one-phase circuit, 16 A": (2.0, 10.0)}
    assert of(bill, "drains") == {"gravity drain": (2.0, 10.0)}
    assert of(bill, "controls") == {
        "unit controls": (2.0, 10.0),
        "humidistat": (1.0, 10.0),
        "fan interlock": (1.0, 10.0),
    }
    assert of(bill, "permits") == {"drawings and permit": (1.0, 10.0)}
    assert of(bill, "labour") == {"mechanical labour": (25.5, 60.0), "electrical labour": (3.0, 80.0)}
    # balancing and commissioning have a price in this book as well
    commissioning = of(bill, "commissioning")
    assert commissioning["commissioning labour"] == (2.0, 100.0)
    assert sum(quantity * rate for quantity, rate in commissioning.values()) == 200.0 + 40.0
    # 8,000 of units; 240 + 160 + 40 + 20 + 20 + 20 + 20 + 40 + 10 + 40 of materials; 1,530 + 240 + 200 of labour
    assert (bill.units, bill.installation, bill.total) == (8000.0, 610.0 + 1970.0, 10580.0)
    assert (bill.currency, bill.invented, bill.price_book, bill.location_factor) == (
        "USD",
        True,
        "round.csv",
        1.0,
    )


def test_markups_by_hand() -> None:
    """Materials 610: + 10 % = 671; + 8 % = 724.68; labour 1,970: + 10 % = 2,167."""
    book = round_book(overhead=Shares(0.0, 0.1, 0.1), margin=Shares(0.0, 0.08, 0.0))
    bill = bill_of_quantities(
        site=priced_site(book=book), install=(Install("compressor-60", "return-side", 2),)
    )
    marks = [line for line in bill.lines if line.section == "markups"]
    assert [line.what for line in marks] == [
        "overhead on materials",
        "overhead on labour",
        "margin on materials",
    ]
    assert [line.quantity for line in marks] == pytest.approx([610.0, 1970.0, 671.0], rel=1e-14)
    assert [line.rate for line in marks] == [0.1, 0.1, 0.08]
    assert [line.amount for line in marks] == pytest.approx([61.0, 197.0, 53.68], rel=1e-14)
    assert all(line.arrangement is None and line.unit == "USD" for line in marks)
    assert bill.total == pytest.approx(8000.0 + 724.68 + 2167.0, rel=1e-14)


def test_what_each_arrangement_has() -> None:
    site = priced_site()

    def sections(name: Arrangement) -> dict[str, set[str]]:
        bill = bill_of_quantities(site=site, install=(Install("compressor-60", name, 1),))
        return {
            section: {what.partition(",")[0] for what in of(bill, section)}
            for section in ("ducts", "fittings", "dampers", "supports", "drains", "controls", "commissioning")
        }

    ducted = {"duct"}, {"elbow", "tap"}
    for name in ("return-side", "supply-side", "coil-bypass", "outdoor-air"):
        found = sections(name)
        assert (found["ducts"], found["fittings"]) == ducted
        assert found["supports"] == {"hanging"}
        assert found["drains"] == {"gravity drain"}
        assert "air balancing" in found["commissioning"]
        assert {"humidistat", "fan interlock"} <= found["controls"]
        assert ("backdraft damper" in found["dampers"]) == (name == "coil-bypass")
        assert ("frost protection" in found["controls"]) == (name == "outdoor-air")
    alone = sections("standalone")
    assert (alone["ducts"], alone["fittings"], alone["dampers"]) == (set(), set(), set())
    assert (alone["supports"], alone["drains"]) == ({"pad"}, {"condensate pump"})
    assert alone["controls"] == {"unit controls", "humidistat"}
    assert "air balancing" not in alone["commissioning"]


def test_standalone_with_ducts_of_its_own_has_grilles_and_hangs() -> None:
    site = priced_site(duct_length=9.0)
    bill = bill_of_quantities(site=site, install=(Install("compressor-60", "standalone", 1),))
    assert set(of(bill, "fittings")) == {"elbow, 500 mm", "grille, 500 mm"}
    assert of(bill, "ducts") == {"duct, 500 mm": (9.0, 20.0)}
    assert of(bill, "supports") == {"hanging, 100 kg": (1.0, 10.0)}
    assert "air balancing" in of(bill, "commissioning")


def test_a_unit_too_heavy_to_hang_stands_on_a_pad() -> None:
    bill = bill_of_quantities(
        site=priced_site(unit(weight=230.0)), install=(Install("compressor-60", "return-side", 1),)
    )
    assert of(bill, "supports") == {"pad, 400 kg": (1.0, 20.0)}


def test_desiccant_units_have_reactivation_ducts_and_no_drain() -> None:
    """0.1 m³/s at 5 m/s: 0.1596 m, so 250 mm; 4 m / (12 x 0.1596 m) = 2.09, so 3 elbows a duct; two ducts."""
    bill = bill_of_quantities(site=priced_site(rotor()), install=(Install("rotor-90", "standalone", 1),))
    assert of(bill, "drains") == {}
    assert of(bill, "reactivation") == {
        "reactivation duct, 250 mm": (8.0, 10.0),
        "reactivation elbow, 250 mm": (6.0, 10.0),
        "wall cap, 250 mm": (2.0, 10.0),
    }
    gas = rotor(reactivation_energy="gas", reactivation_air="space")
    bill = bill_of_quantities(site=priced_site(gas), install=(Install("rotor-90", "standalone", 2),))
    assert of(bill, "reactivation") == {
        "reactivation duct, 250 mm": (8.0, 10.0),
        "reactivation elbow, 250 mm": (6.0, 10.0),
        "wall cap, 250 mm": (2.0, 10.0),
        "gas connection": (2.0, 10.0),
    }


@pytest.mark.parametrize(
    ("current", "phases", "line"),
    [
        (12.0, 1, "one-phase circuit, 16 A"),  # x 1.25 = 15 A
        (12.1, 1, "one-phase circuit, 20 A"),  # 15.1 A, so 20 A
        (16.0, 3, "three-phase circuit, 20 A"),
    ],
)
def test_circuit_by_its_breaker(current: float, phases: int, line: str) -> None:
    """NFPA 70, 210.20(A) and 240.6(A): 125 %, then the next of 15, 20, 25 A."""
    site = priced_site(unit(current=current, phases=phases))
    bill = bill_of_quantities(site=site, install=(Install("compressor-60", "standalone", 1),))
    assert set(of(bill, "electrical")) == {line}


@pytest.mark.parametrize(
    ("cfm", "fpm", "friction", "inches"),
    [
        (1000.0, 935.0, 0.0885, 14.0),
        (1200.0, 1528.0, 0.2657, 12.0),
        (400.0, 905.0, 0.1433, 9.0),
        (2000.0, 1132.0, 0.0928, 18.0),
    ],
)
def test_duct_diameters_by_velocity_and_by_friction(
    cfm: float, fpm: float, friction: float, inches: float
) -> None:
    """Continuity; Darcy and Colebrook through the library fluids: friction in in. w.g. in 100 ft.

    Found: 0.02 % by velocity and 0.01 % by friction, from the digits given.
    """
    airflow = cfm * 0.3048**3 / 60.0
    assert diameter_for(airflow=airflow, velocity=fpm * 0.00508) == pytest.approx(inches * 0.0254, rel=3e-4)
    rate = friction * 249.08891 / 30.48
    assert diameter_at_friction(airflow=airflow, friction=rate) == pytest.approx(inches * 0.0254, rel=1.5e-4)


def test_a_friction_rate_sizes_the_ducts_of_the_bill() -> None:
    """0.3 m³/s take 0.265 m at 1 Pa/m by the friction chart, and 0.23 m at 2 Pa/m."""
    bills = {}
    for friction in (2.0, 1.0):
        site = priced_site(duct_friction=friction, duct_velocity=0.0)
        bills[friction] = bill_of_quantities(site=site, install=(Install("compressor-60", "return-side", 1),))
    assert set(of(bills[2.0], "ducts")) == {"duct, 250 mm"}
    assert set(of(bills[1.0], "ducts")) == {"duct, 500 mm"}


def test_elbows_round_up() -> None:
    # 12 m over 12 x 0.25 m is 4 exactly
    assert elbows_for(length=12.0, diameter=0.25, fittings=1.0) == 4
    assert elbows_for(length=12.1, diameter=0.25, fittings=1.0) == 5
    assert elbows_for(length=12.0, diameter=0.25, fittings=0.0) == 0
    assert elbows_for(length=12.0, diameter=0.0, fittings=1.0) == 0


def test_location_factor_is_on_material_and_labour_alone() -> None:
    install = (Install("compressor-60", "coil-bypass", 3),)
    plain = bill_of_quantities(site=priced_site(), install=install)
    dear = bill_of_quantities(site=priced_site(location_factor=1.5), install=install)
    assert dear.units == plain.units
    assert dear.installation == pytest.approx(1.5 * plain.installation, rel=1e-14)
    assert dear.location_factor == 1.5


def test_lump_sums_take_the_place_of_the_lines() -> None:
    """Without markups on them: 2 x 4,000 + 1,800 + 2 x 950."""
    site = priced_site(book=round_book(**MARKED), fixed=1800.0, per_unit=950.0)
    bill = bill_of_quantities(site=site, install=(Install("compressor-60", "return-side", 2),))
    lumps = [line for line in bill.lines if line.kind == "lump sums"]
    assert [(line.what, line.quantity, line.rate, line.origin) for line in lumps] == [
        ("for each unit", 2.0, 950.0, "site file"),
        ("once", 1.0, 1800.0, "site file"),
    ]
    assert {line.section for line in bill.lines} == {"units", "lump sums", "markups"}
    # 4,000 with 2, 3 and 6 % on units
    assert bill.units == pytest.approx(8000.0 * 1.02 * 1.03 * 1.06, rel=1e-14)
    assert bill.installation == 3700.0


def test_one_lump_sum_leaves_the_rest_to_the_book() -> None:
    site = priced_site(fixed=1800.0)
    bill = bill_of_quantities(site=site, install=(Install("compressor-60", "return-side", 1),))
    assert of(bill, "lump sums") == {"once": (1.0, 1800.0)}
    assert "humidistat" not in of(bill, "controls")
    assert "unit controls" in of(bill, "controls")


def test_nothing_costs_nothing() -> None:
    bill = bill_of_quantities(site=priced_site(), install=())
    assert (bill.lines, bill.total, bill.price_book) == ((), 0.0, "")
    none = (Install("compressor-60", "standalone", 0),)
    assert bill_of_quantities(site=priced_site(), install=none).lines == ()


def test_negative_count_is_refused() -> None:
    with pytest.raises(ValueError, match="install: got -1 of 'compressor-60'; allowed: 0 or more"):
        bill_of_quantities(site=priced_site(), install=(Install("compressor-60", "standalone", -1),))


def test_site_without_lump_sums_needs_a_book() -> None:
    site = priced_site()
    site = replace(site, costs=replace(site.costs, price_book=None))
    with pytest.raises(ValueError, match="needs a price book"):
        bill_of_quantities(site=site, install=(Install("compressor-60", "standalone", 1),))


COUNTS = st.lists(st.integers(0, 4), min_size=20, max_size=20)
CHOICES = tuple((one.model, name) for one in CATALOGUE for name in ARRANGEMENTS)


def install_of(counts: list[int]) -> tuple[Install, ...]:
    return tuple(
        Install(model, name, count) for (model, name), count in zip(CHOICES, counts, strict=True) if count
    )


@given(counts=COUNTS, factor=st.floats(0.5, 2.0), lumps=st.booleans())
def test_random_bills_are_added_up_again_and_are_what_the_search_adds_up(
    counts: list[int], factor: float, lumps: bool
) -> None:
    """Found: within 4e-16 of the total."""
    book = round_book(**MARKED)
    site = priced_site(*CATALOGUE, book=book, location_factor=factor)
    if lumps:
        terms = dict(site.costs.installation)
        terms["supply-side"] = replace(terms["supply-side"], fixed=700.0, per_unit=333.0)
        site = replace(site, costs=replace(site.costs, installation=terms))
    install = install_of(counts)
    bill = bill_of_quantities(site=site, install=install)
    if not install:
        assert bill.total == 0.0
        return
    table = again(bill, book)
    assert table["added"].sum() == pytest.approx(bill.total, rel=1e-13)
    assert table[table["kind"] == "units"]["added"].sum() == pytest.approx(bill.units, rel=1e-13)
    cost = first_cost(site=site, install=install)
    assert cost.total == pytest.approx(bill.total, rel=1e-13)
    assert (cost.units, cost.installation) == pytest.approx((bill.units, bill.installation), rel=1e-13)
    assert sum(line.total for line in cost.lines) == pytest.approx(bill.total, rel=1e-13)
    coefficients = cost_coefficients(site=site, choices=CHOICES)
    first, _ = linear_costs(coefficients, counts)
    assert first == pytest.approx(bill.total, rel=1e-13)


def test_bill_of_the_shipped_book_is_added_up_again() -> None:
    site = room()
    assert site.costs.price_book is not None
    models = [one.model for one in site.catalog.units]
    install = tuple(
        Install(model, ARRANGEMENTS[place % 5], place % 3 + 1) for place, model in enumerate(models)
    )
    bill = bill_of_quantities(site=site, install=install)
    table = again(bill, site.costs.price_book)
    assert table["added"].sum() == pytest.approx(bill.total, rel=1e-13)
    # every line of the price book is the book's own rate
    rates: Mapping[str, set[float]] = {
        name: {row.material for row in rows} for name, rows in site.costs.price_book.rows.items()
    }
    for line in bill.lines:
        if line.kind == "materials" and line.section != "markups":
            item = line.what.partition(",")[0].replace("reactivation ", "")
            assert line.rate in rates[item], line


def test_lines_stand_in_the_order_of_the_work() -> None:
    bill = bill_of_quantities(site=priced_site(*CATALOGUE), install=install_of([1] * 20))
    order = [
        "units", "ducts", "fittings", "dampers", "filters", "supports", "electrical", "drains", "reactivation",
        "controls", "permits", "labour", "commissioning",
    ]  # fmt: skip
    places = [order.index(line.section) for line in bill.lines]
    assert places == sorted(places)
    assert set(places) == set(range(len(order)))


def test_one_line_for_one_rate_in_an_arrangement() -> None:
    bill = bill_of_quantities(site=priced_site(*CATALOGUE), install=install_of([2] * 20))
    keys = [(line.section, line.what, line.arrangement, line.rate) for line in bill.lines]
    assert len(set(keys)) == len(keys)


def missing(site: Site) -> str:
    with pytest.raises(InputFaults, match=r"got nothing for a .*; allowed: a row that reaches it") as caught:
        refuse_missing_prices(site=site)
    return str(caught.value)


def test_sizes_that_the_book_does_not_reach_are_all_named() -> None:
    """1.5 m³/s at 5 m/s takes 0.618 m."""
    site = priced_site(unit(), unit("giant", airflow=1.5, weight=900.0, current=30.0))
    text = missing(site)
    # duct, elbow, tap and two dampers; filter, pad and circuit, each once with the arrangements that need it
    assert len(text.splitlines()) == 8
    ducted = "return-side, supply-side, coil-bypass, outdoor-air"
    assert (
        f"round.csv: duct: got nothing for a diameter of 0.618 m (giant, {ducted}); the largest is 500 mm"
        in text
    )
    assert (
        "backdraft damper: got nothing for a diameter of 0.618 m (giant, coil-bypass); the largest is" in text
    )
    assert "round.csv: filter: got nothing for an airflow of 1.5 m³/s" in text
    assert "round.csv: pad: got nothing for a weight of 900 kg (giant, return-side," in text
    assert "round.csv: one-phase circuit: got nothing for a circuit of 40 A" in text
    with pytest.raises(InputFaults, match="giant") as caught:
        per_unit_first_cost(site=site, unit=site.catalog.units[1], arrangement="standalone")
    assert str(caught.value) == text
    # what is not allowed is not looked at, until it is asked for
    limits = replace(site.limits, arrangements=("standalone",))
    assert len(missing(replace(site, limits=limits)).splitlines()) == 3


def test_lump_sums_need_no_sizes() -> None:
    site = priced_site(unit("giant", airflow=1.5, weight=900.0, current=30.0), per_unit=100.0)
    refuse_missing_prices(site=site)
    assert per_unit_first_cost(site=site, unit=site.catalog.units[0], arrangement="coil-bypass") == 4100.0


def test_sites_of_lump_sums_do_not_use_the_book() -> None:
    assert uses_price_book(site=priced_site())
    assert not uses_price_book(site=priced_site(fixed=1.0, per_unit=1.0))
    assert uses_price_book(site=priced_site(book=round_book(**MARKED), fixed=1.0, per_unit=1.0))
    assert not uses_price_book(site=make_site())
    real = priced_site(book=replace(round_book(), invented=False))
    real = replace(real, catalog=replace(real.catalog, invented=False))
    assert not invented_prices(site=real)
    marked = replace(real, costs=replace(real.costs, price_book=round_book()))
    assert invented_prices(site=marked)


def test_markups_on_units_are_paid_again_with_every_replacement() -> None:
    """1 year longer than the unit's life: bought again in year 12 of 15, 9/12 left at the end."""
    factor = 1.02 * 1.03 * 1.06
    marked, plain = priced_site(book=round_book(**MARKED)), priced_site()
    one = marked.catalog.units[0]
    free = replace(one, maintenance=0.0)
    assert per_unit_present_value(site=marked, unit=free) == pytest.approx(
        factor * per_unit_present_value(site=plain, unit=free), rel=1e-12
    )
    cycles = [
        life_cycle_cost(
            first=0.0, electricity=0.0, gas=0.0, maintenance=0.0, units=((free, 2),), costs=site.costs
        ).total
        for site in (marked, plain)
    ]
    assert cycles[0] == pytest.approx(factor * cycles[1], rel=1e-12)


def test_excluded_arrangement_has_its_price() -> None:
    site = priced_site()
    site = replace(site, limits=replace(site.limits, arrangements=("standalone",)))
    whole = bill_of_quantities(site=site, install=(Install("compressor-60", "outdoor-air", 1),)).total
    each = per_unit_first_cost(site=site, unit=site.catalog.units[0], arrangement="outdoor-air")
    assert whole == pytest.approx(
        each + arrangement_fixed_cost(site=site, arrangement="outdoor-air"), rel=1e-14
    )


def test_arrangement_that_the_building_cannot_have_is_refused_in_words() -> None:
    site = make_site(
        costs=replace(make_costs(), installation={"standalone": make_costs().installation["standalone"]})
    )
    with pytest.raises(ValueError, match="arrangement: got 'return-side'; allowed: standalone"):
        unit_pieces(site=site, unit=unit(), arrangement="return-side")
    with pytest.raises(ValueError, match="arrangement: got 'coil-bypass'; allowed: standalone"):
        arrangement_fixed_cost(site=site, arrangement="coil-bypass")


def test_lengths_feed_the_bill() -> None:
    for name, length in LENGTHS.items():
        bill = bill_of_quantities(site=priced_site(), install=(Install("compressor-60", name, 1),))
        ducts: list[BillLine] = [line for line in bill.lines if line.section == "ducts"]
        assert sum(line.quantity for line in ducts) == length
