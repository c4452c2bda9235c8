"""The bill of quantities as a table and as JSON, and how a bidder gets to see it."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from selector.inputs.site import Install, Shares
from selector.money.quantities import bill_of_quantities
from selector.report.bill_text import bill_rows, bill_screen, quantities_json
from selector.report.json_report import about_json
from selector.report.lines import title
from selector.report.terminal import plain_lines
from selector.report.text import Show
from tests.commands import run
from tests.money.price_books import priced_site, round_book
from tests.sites import room, write_room

BOOK = round_book(overhead=Shares(0.0, 0.1, 0.1))
TWO = (Install("compressor-60", "return-side", 2),)
BILL = bill_of_quantities(site=priced_site(book=BOOK), install=TWO)


def test_rows_in_the_reader_s_units() -> None:
    """12 m at 20 a metre are 39.4 ft at 6.096 a foot; both are 240."""
    metric = {row[0]: row[1:] for row in bill_rows(bill=BILL, show=Show("SI", "USD"))}
    assert metric["compressor-60"] == ("return-side", "2.00", "each", "4,000.00", "8,000.00")
    assert metric["duct, 500 mm"] == ("return-side", "12.00", "m", "20.00", "240.00")
    assert metric["mechanical labour"] == ("return-side", "25.50", "h", "60.00", "1,530.00")
    assert metric["overhead on materials"] == ("all", "610.00", "USD", "10.00 %", "61.00")
    trade = {row[0]: row[1:] for row in bill_rows(bill=BILL, show=Show("IP", "USD"))}
    assert trade["duct, 500 mm"] == ("return-side", "39.37", "ft", "6.10", "240.00")
    assert trade["mechanical labour"] == metric["mechanical labour"]


def test_a_lump_sum_says_what_it_is_for() -> None:
    lump = replace(BILL.lines[0], section="lump sums", what="for each unit")
    (row,) = bill_rows(bill=replace(BILL, lines=(lump,)), show=Show("SI", "USD"))
    assert row[0] == "installation, for each unit"


def test_table_adds_up_and_says_what_its_prices_are_worth() -> None:
    lines = plain_lines(bill_screen(bill=BILL, show=Show("SI", "USD")))
    total = next(line for line in lines if line.startswith("first cost"))
    assert total.split()[-1] == "10,838.00"  # 8,000 + 671 + 2,167
    assert "rate [USD]" in lines[0]
    assert "amount [USD]" in lines[0]
    assert any("round.csv" in line for line in lines)
    assert any("invented prices, not for a bid" in line for line in lines)
    dear = bill_of_quantities(site=priced_site(location_factor=1.25), install=TWO)
    assert any(
        "round.csv, times 1.25 for the place" in line
        for line in plain_lines(bill_screen(bill=dear, show=Show("SI", "USD")))
    )


def test_table_fits_80_columns_with_every_arrangement_and_a_shipped_book() -> None:
    site = room()
    install = (
        Install("compressor-60", "coil-bypass", 2),
        Install(site.catalog.units[-1].model, "standalone", 1),
    )
    lines = plain_lines(
        bill_screen(bill=bill_of_quantities(site=site, install=install), show=Show("IP", "USD"))
    )
    assert max(len(line) for line in lines) <= 80


def test_real_prices_are_not_called_invented() -> None:
    site = priced_site(book=replace(BOOK, invented=False))
    site = replace(site, catalog=replace(site.catalog, invented=False))
    lines = plain_lines(bill_screen(bill=bill_of_quantities(site=site, install=TWO), show=Show("SI", "USD")))
    assert not any("invented" in line for line in lines)
    assert "invented" not in title(site, 80)
    # an invented book on real units still is
    marked = replace(site, costs=replace(site.costs, price_book=BOOK))
    assert "invented prices, not for a bid" in title(marked, 80)
    bill = bill_of_quantities(site=marked, install=TWO)
    assert quantities_json(bill)["warning"] == "invented prices, not for a bid"


def test_nothing_bought_is_said_in_a_line() -> None:
    bill = bill_of_quantities(site=priced_site(), install=())
    assert plain_lines(bill_screen(bill=bill, show=Show("SI", "USD"))) == ("Bill        nothing is bought",)
    assert quantities_json(bill)["lines"] == []


def test_json_of_a_bill() -> None:
    found = quantities_json(BILL)
    assert (found["currency"], found["price_book"], found["location_factor"]) == ("USD", "round.csv", 1.0)
    assert found["total"] == BILL.total == found["units"] + found["installation"]
    assert sum(line["amount"] for line in found["lines"]) == pytest.approx(BILL.total, rel=1e-14)
    assert found["lines"][0] == {
        "section": "units",
        "what": "compressor-60",
        "arrangement": "return-side",
        "kind": "units",
        "quantity": 2.0,
        "unit": "each",
        "rate": 4000.0,
        "amount": 8000.0,
        "origin": "catalogue",
    }


def test_json_of_a_site_names_its_price_book() -> None:
    assert about_json(site=room())["price_book"] == {
        "name": "price-book.csv",
        "currency": "USD",
        "location_factor": 1.0,
        "invented": True,
        "warning": "invented prices, not for a bid",
    }


def test_bidder_sees_the_bill(tmp_path: Path) -> None:
    path = write_room(tmp_path)
    install = ("--install", "1 compressor-60 standalone")
    done = run("simulate", path, *install, "--bill")
    assert done.exit_code == 0
    assert "bill of quantities" in done.stdout
    assert "condensate pump" in done.stdout
    assert "bill of quantities" not in run("simulate", path, *install).stdout
    result = json.loads(run("simulate", path, *install, "--json", "-").stdout)
    bill = result["costs"]["bill_of_quantities"]
    assert bill["total"] == pytest.approx(result["costs"]["first"], rel=1e-13)
    assert f"{bill['total']:,.2f}" in done.stdout


def test_design_in_an_excluded_arrangement_is_simulated_and_says_so(tmp_path: Path) -> None:
    path = write_room(tmp_path, ("[limits]", '[limits]\narrangements = ["standalone"]'))
    done = run("simulate", path, "--install", "1 compressor-60 return-side", "--bill")
    assert done.exit_code == 0
    assert "arrangements: return-side is not among them" in done.stdout
    assert "balancing damper" in done.stdout
