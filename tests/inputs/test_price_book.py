"""The price book: the shipped one, where it is found, and the keys of a site that price installation."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from selector.inputs.errors import InputFaults
from selector.inputs.price_book import FILE, ITEMS, read_price_book, shipped_price_book
from selector.inputs.site import ARRANGEMENTS, MARKUPS, Assumption, Shares, Site
from selector.inputs.site_file import read_site
from selector.money.installation import invented_prices, uses_price_book
from tests.sites import SCENARIOS, room, write_room

SHIPPED = SCENARIOS.parent / "catalogs" / FILE
PACKAGED = SCENARIOS.parent / "selector" / "inputs" / FILE
LUMPS = "".join(
    f'[costs.installation.{name}]\nfixed = "100 USD"\nper_unit = "10 USD"\n' for name in ARRANGEMENTS
)


def assumption(site: Site, key: str) -> Assumption | None:
    return next((one for one in site.assumptions if one.key == key), None)


def test_shipped_book_is_complete_invented_and_in_order_of_size() -> None:
    book = read_price_book(path=SHIPPED)
    assert (book.currency, book.invented) == ("USD", True)
    assert set(book.rows) == {name for name, item in ITEMS.items() if item.trade is not None}
    for name, rows in book.rows.items():
        sizes = [row.up_to for row in rows]
        assert sizes == sorted(size for size in sizes if size is not None) or sizes == [None]
        # a larger size never costs less, nor takes less time
        assert [row.material for row in rows] == sorted(row.material for row in rows), name
        assert [row.hours for row in rows] == sorted(row.hours for row in rows), name
    assert set(book.labour) == {"mechanical", "electrical", "commissioning"}
    assert tuple(book.markups) == MARKUPS
    # what the owner pays for a unit is the catalogue's price
    assert all(shares.units == 0.0 for shares in book.markups.values())


def test_values_by_hand() -> None:
    # 3.6 USD/ft and 0.05 h/ft are 11.811 USD/m and 0.16404 h/m; 10 in is 0.254 m; 250 lb 113.398 kg; 12 % is 0.12
    book = read_price_book(path=SHIPPED)
    duct = next(row for row in book.rows["duct"] if row.size == "10 in")
    assert (duct.up_to, duct.material, duct.hours) == pytest.approx(
        (0.254, 3.6 / 0.3048, 0.05 / 0.3048), rel=1e-12
    )
    hanging = next(row for row in book.rows["hanging"] if row.size == "250 lb")
    assert (hanging.up_to, hanging.material, hanging.hours) == pytest.approx(
        (113.3980925, 38.0, 1.8), rel=1e-9
    )
    assert book.labour["mechanical"] == pytest.approx(68.0, rel=1e-12)
    assert book.markups["overhead"] == Shares(0.0, 0.12, 0.12)
    assert book.markups["tax"] == Shares(0.0, 0.06, 0.0)


def test_package_brings_the_same_book() -> None:
    assert PACKAGED.read_bytes() == SHIPPED.read_bytes()


def test_book_is_found_in_the_catalogue_then_beside_it_then_in_the_package(tmp_path: Path) -> None:
    folder = tmp_path / "catalogs" / "ours"
    folder.mkdir(parents=True)
    assert shipped_price_book(catalog=folder).resolve() == PACKAGED
    shutil.copy(SHIPPED, folder.parent)
    assert shipped_price_book(catalog=folder) == folder.parent / FILE
    shutil.copy(SHIPPED, folder)
    assert shipped_price_book(catalog=folder) == folder / FILE


def test_site_anywhere_is_priced_by_the_shipped_book(tmp_path: Path) -> None:
    site = read_site(path=write_room(tmp_path))
    assert site.costs.price_book is not None
    assert (
        Path(site.costs.price_book.file).resolve() == PACKAGED
    )  # none stands beside the catalogue of the tests
    found = assumption(site, "costs.price_book")
    assert found is not None
    assert (found.origin, found.value) == ("default", "the shipped price-book.csv")
    assert "invented" in found.source
    assert (uses_price_book(site=site), invented_prices(site=site)) == (True, True)
    factor = assumption(site, "costs.location_factor")
    assert factor is not None
    assert (factor.value, factor.low, factor.high) == (1.0, 0.6, 1.8)


def test_site_names_a_book_of_its_own(tmp_path: Path) -> None:
    text = SHIPPED.read_text("utf-8").replace(
        "# invented: every price and labour time in this file; not for a bid\n", ""
    )
    (tmp_path / "ours.csv").write_text(
        text.replace("mechanical labour,,,,,,,,,68", "mechanical labour,,,,,,,,,91")
    )
    path = write_room(tmp_path, more='\n[costs]\nprice_book = "ours.csv"\nlocation_factor = 1.2\n')
    site = read_site(path=path)
    assert site.costs.price_book is not None
    assert site.costs.price_book.labour["mechanical"] == pytest.approx(91.0, rel=1e-12)
    assert site.costs.location_factor == 1.2
    assert not site.costs.price_book.invented
    assert invented_prices(site=site)  # the catalogue still is
    found = assumption(site, "costs.price_book")
    assert found is not None
    assert (found.origin, found.value) == ("given", "ours.csv")


def test_lump_sums_everywhere_need_no_book(tmp_path: Path) -> None:
    site = read_site(path=write_room(tmp_path, more=LUMPS))
    assert not uses_price_book(site=site)
    assert assumption(site, "costs.price_book") is None
    assert assumption(site, "costs.location_factor") is None
    terms = site.costs.installation["standalone"]
    assert (terms.fixed, terms.per_unit) == (100.0, 10.0)
    given = assumption(site, "costs.installation.standalone.fixed")
    assert given is not None
    assert given.origin == "given"


def test_lump_sum_for_one_part_leaves_the_other_to_the_book(tmp_path: Path) -> None:
    more = '[costs.installation.standalone]\nfixed = "100 USD"\n'
    site = read_site(path=write_room(tmp_path, more=more))
    terms = site.costs.installation["standalone"]
    assert (terms.fixed, terms.per_unit) == (100.0, None)
    assert uses_price_book(site=site)


def test_a_drain_is_pumped_in_the_space_and_runs_off_at_the_air_handler(tmp_path: Path) -> None:
    terms = room().costs.installation
    assert {name: one.drain for name, one in terms.items() if one.drain == "pump"} == {"standalone": "pump"}
    more = '[costs.installation.standalone]\ndrain = "gravity"\n'
    site = read_site(path=write_room(tmp_path, more=more))
    assert site.costs.installation["standalone"].drain == "gravity"


def test_friction_rate_instead_of_a_velocity(tmp_path: Path) -> None:
    more = '[costs.installation.return-side]\nduct_friction = "0.08 in. w.g./100 ft"\n'
    terms = read_site(path=write_room(tmp_path, more=more)).costs.installation["return-side"]
    # 0.08 x 249.089 Pa in 30.48 m
    assert terms.duct_friction == pytest.approx(0.08 * 249.08891 / 30.48, rel=1e-6)
    assert terms.duct_velocity == 0.0


@pytest.mark.parametrize(
    ("more", "message"),
    [
        (
            '[costs]\nprice_book = "nowhere.csv"\n',
            r"nowhere\.csv: file: got no such file or directory; allowed: a CSV",
        ),
        ("[costs]\nprice_book = 3\n", r"costs\.price_book: got 3; allowed: the path of a price book"),
        ("[costs]\nlocation_factor = 0\n", r"costs\.location_factor: got 0; allowed: "),
        (
            '[costs.installation.standalone]\ndrain = "bucket"\n',
            r'costs\.installation\.standalone\.drain: got "bucket"; allowed: "gravity", "pump"',
        ),
        (
            '[costs.installation.standalone]\nduct_velocity = "5 m/s"\nduct_friction = "1 Pa/m"\n',
            r"duct_velocity: got duct_velocity and duct_friction; allowed: one of duct_velocity, duct_friction",
        ),
    ],
)
def test_keys_that_are_refused(tmp_path: Path, more: str, message: str) -> None:
    with pytest.raises(InputFaults, match=message):
        read_site(path=write_room(tmp_path, more=more))


def test_book_in_another_currency_is_refused(tmp_path: Path) -> None:
    text = SHIPPED.read_text("utf-8").replace("USD", "CAD")
    (tmp_path / "ours.csv").write_text(text)
    path = write_room(tmp_path, more='\n[costs]\nprice_book = "ours.csv"\n')
    with pytest.raises(
        InputFaults, match=r"costs\.price_book: got prices in CAD; allowed: a price book in USD"
    ):
        read_site(path=path)


def test_without_defaults_the_shipped_book_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=r"costs\.price_book: got nothing, and defaults are refused"):
        read_site(path=write_room(tmp_path), no_defaults=True)
    with pytest.raises(InputFaults, match=r".") as caught:
        read_site(path=write_room(tmp_path, more=LUMPS), no_defaults=True)
    assert "price_book" not in str(caught.value)


def test_excluded_arrangements_are_priced_without_being_asked_for(tmp_path: Path) -> None:
    limits = ("[limits]", '[limits]\narrangements = ["standalone"]')
    site = read_site(path=write_room(tmp_path, limits))
    assert set(site.costs.installation) == set(ARRANGEMENTS)
    asked = {one.key.split(".")[2] for one in site.assumptions if one.key.startswith("costs.installation.")}
    assert asked == {"standalone"}


def test_nominal_rates_become_real_ones(tmp_path: Path) -> None:
    # 1.055/1.02 - 1 = 3.43137 %; 1.03/1.02 - 1 = 0.980392 %; the gas escalation is a default and real
    more = (
        '[costs]\ndiscount_rate_kind = "nominal"\ndiscount_rate = "5.5 %"\nelectricity_escalation = "3 %"\n'
        'inflation = "2 %"\n'
    )
    costs = read_site(path=write_room(tmp_path, more=more)).costs
    assert costs.discount_rate == pytest.approx(0.0343137255, abs=1e-10)
    assert costs.electricity_escalation == pytest.approx(0.0098039216, abs=1e-10)
    assert costs.gas_escalation == 0.0
    assert (costs.inflation, costs.discount_rate_kind) == (0.02, "nominal")


def test_real_rates_stay_and_need_no_inflation(tmp_path: Path) -> None:
    site = read_site(path=write_room(tmp_path, more='[costs]\ndiscount_rate = "5.5 %"\n'))
    assert (site.costs.discount_rate, site.costs.inflation, site.costs.discount_rate_kind) == (
        0.055,
        0.0,
        "real",
    )
    assert assumption(site, "costs.inflation") is None
    nominal = read_site(path=write_room(tmp_path, more='[costs]\ndiscount_rate_kind = "nominal"\n'))
    assert nominal.costs.discount_rate == 0.05  # a default is real
    assert assumption(nominal, "costs.inflation") is not None
