"""The bill of quantities by hand: what each arrangement and each machine has, and what it costs."""

from __future__ import annotations

from dataclasses import replace

import pytest

from selector.inputs.site import Arrangement, Install, Shares
from selector.money.installation import elbows_for
from selector.money.quantities import BillLine, BillOfQuantities, bill_of_quantities
from selector.physics.ducts import diameter_at_friction, diameter_for
from tests.money.price_books import LENGTHS, MARKED, priced_site, rotor, round_book, unit


def of(bill: BillOfQuantities, section: str) -> dict[str, tuple[float, float]]:
    """Quantity and rate of each line of a section."""
    return {line.what: (line.quantity, line.rate) for line in bill.lines if line.section == section}


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


def test_lengths_feed_the_bill() -> None:
    for name, length in LENGTHS.items():
        bill = bill_of_quantities(site=priced_site(), install=(Install("compressor-60", name, 1),))
        ducts: list[BillLine] = [line for line in bill.lines if line.section == "ducts"]
        assert sum(line.quantity for line in ducts) == length
