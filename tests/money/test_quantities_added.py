"""The bill of quantities added up again by pandas, linear as the search needs it, and sizes without a price."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs.errors import InputFaults
from selector.inputs.site import ARRANGEMENTS, MARKUPS, Install, PriceBook, Site
from selector.money.design_costs import cost_coefficients
from selector.money.first_cost import arrangement_fixed_cost, first_cost, per_unit_first_cost
from selector.money.installation import invented_prices, refuse_missing_prices, unit_pieces, uses_price_book
from selector.money.life_cycle import life_cycle_cost, per_unit_present_value
from selector.money.quantities import BillOfQuantities, bill_of_quantities
from selector.report.bill_text import quantities_json
from tests.builders import make_costs, make_site
from tests.money.price_books import MARKED, linear_costs, priced_site, rotor, round_book, unit
from tests.sites import room

CATALOGUE = (
    unit(),
    unit("compressor-300", airflow=0.6, weight=170.0, current=14.0, phases=3, price=9000.0),
    rotor(),
    rotor("rotor-180", reactivation_energy="gas", reactivation_air="space", weight=250.0, price=21000.0),
)


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
