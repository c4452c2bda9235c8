"""Proposals levelled: prices by what each leaves out, ratings by the air they are stated at; and the demo bids."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from selector.decide.compare import Comparison, compare
from selector.decide.levelling import STANDARD
from selector.decide.options import Option
from selector.inputs.errors import InputFaults
from selector.inputs.quantities import parse
from selector.inputs.site import Install
from selector.money.first_cost import unit_of
from selector.money.quantities import bill_of_quantities
from selector.physics.fit import fit_unit
from selector.physics.rating import rate
from tests.decide.comparisons import TWO_UNITS, every_proposal, named, quick
from tests.hours import prepared_demo
from tests.proposals import ALONE, LUMP, ONE, OWN, TWO, room_with


@pytest.fixture
def everything() -> Comparison:
    return every_proposal()


# levelling of prices --------------------------------------------------------------------------------------------------

# Of the shipped, invented price book, by hand: on materials overhead 12 %, margin 8 %, contingency 5 % and tax 6 %,
# each on top of those before; on labour the same but for the tax. 68 USD/h mechanical, 76 USD/h electrical.
ON_MATERIALS = 1.12 * 1.08 * 1.05 * 1.06
ON_LABOUR = 1.12 * 1.08 * 1.05
PUMP = 72.0 * ON_MATERIALS + 0.9 * 68.0 * ON_LABOUR  # a condensate pump, the default of standalone units
DRAIN = 22.0 * ON_MATERIALS + 1.0 * 68.0 * ON_LABOUR  # a gravity drain
CIRCUIT = 48.0 * ON_MATERIALS + 1.8 * 76.0 * ON_LABOUR  # 208 V, one phase, 10.1 A: a breaker of 15 A


def test_a_lump_sum_is_given_what_it_leaves_out(everything: Comparison) -> None:
    price = named(everything, "lump").price
    assert price.basis == "lump sum"
    assert price.offered == pytest.approx(13000.0, rel=1e-12)
    assert [one.section for one in price.added] == ["drains", "electrical"]
    assert [one.amount for one in price.added] == [
        pytest.approx(2.0 * PUMP, rel=1e-12),
        pytest.approx(2.0 * CIRCUIT, rel=1e-12),
    ]
    assert price.total == pytest.approx(13000.0 + 2.0 * PUMP + 2.0 * CIRCUIT, rel=1e-12)
    assert named(everything, "lump").evaluation.costs.lines.lines == ()


def test_units_and_installation_are_added_and_levelled(everything: Comparison) -> None:
    one = named(everything, "parts")
    assert one.price.basis == "units and installation"
    assert one.price.offered == pytest.approx(2.0 * 5000.0 + 1500.0, rel=1e-12)
    assert one.price.total == pytest.approx(11500.0 + 2.0 * PUMP, rel=1e-12)
    lines = {line.what: line.amount for line in one.evaluation.costs.quantities.lines}
    assert lines == {
        "units, as offered by bidder B": pytest.approx(10000.0, rel=1e-12),
        "installation, as offered by bidder B": pytest.approx(1500.0, rel=1e-12),
        "drains, added to level": pytest.approx(2.0 * PUMP, rel=1e-12),
    }


def test_to_units_alone_all_our_installation_is_added(everything: Comparison) -> None:
    price = named(everything, "alone").price
    ours = bill_of_quantities(site=everything.site, install=TWO_UNITS)
    assert price.basis == "units alone"
    assert price.offered == pytest.approx(10000.0, rel=1e-12)
    assert [one.section for one in price.added] == ["installation"]
    assert price.added[0].amount == pytest.approx(ours.total - 2.0 * 6150.0, rel=1e-12)
    assert price.total == pytest.approx(10000.0 + ours.total - 12300.0, rel=1e-12)


def test_our_own_options_are_not_levelled(everything: Comparison) -> None:
    for name in ("one", "two", "three small", "existing system"):
        price = named(everything, name).price
        assert (price.basis, price.offered, price.added) == ("our own prices", None, ())


def test_a_whole_scope_left_out_is_our_whole_bill(tmp_path: Path) -> None:
    """Nothing offered and every section left out: our own first cost, to rounding."""
    nothing = LUMP.replace('"13000 USD"', '"0 USD"').replace(
        '["drains", "electrical"]',
        '["units", "ducts", "fittings", "dampers", "filters", "supports", "electrical", "drains", "reactivation", '
        '"controls", "permits", "commissioning"]',
    )
    comparison = quick(room_with(tmp_path, TWO, nothing))
    assert named(comparison, "lump").price.total == pytest.approx(
        named(comparison, "two").price.total, rel=1e-12
    )


def test_lump_sums_of_the_site_are_levelled_by_the_price_book(tmp_path: Path) -> None:
    lumps = '\n[costs.installation.standalone]\nfixed = "3000 USD"\nper_unit = "900 USD"\n'
    price = named(quick(room_with(tmp_path, LUMP, lumps)), "lump").price
    assert price.total == pytest.approx(13000.0 + 2.0 * DRAIN + 2.0 * CIRCUIT, rel=1e-12)


def test_without_a_price_book_what_is_left_out_has_no_price_and_says_so(tmp_path: Path) -> None:
    lumps = "".join(
        f'\n[costs.installation.{name}]\nfixed = "3000 USD"\nper_unit = "900 USD"\n'
        for name in ("return-side", "supply-side", "coil-bypass", "standalone", "outdoor-air")
    )
    with_units = LUMP.replace('["drains"', '["units", "drains"')
    prepared = room_with(tmp_path, with_units, lumps)
    costs = replace(prepared.site.costs, price_book=None)
    prepared = replace(prepared, site=replace(prepared.site, costs=costs))
    price = named(quick(prepared), "lump").price
    assert [(one.section, one.amount) for one in price.added] == [
        ("units", pytest.approx(12300.0, rel=1e-12)),
        ("drains", None),
        ("electrical", None),
    ]
    assert price.total == pytest.approx(13000.0 + 12300.0, rel=1e-12)


def test_the_limit_on_first_cost_is_on_the_levelled_price(tmp_path: Path) -> None:
    """The sum offered is within it, what it leaves out goes beyond it; our own price does not count."""
    comparison = quick(room_with(tmp_path, LUMP, TWO, limits='first_cost = "13500 USD"'))
    (broken,) = named(comparison, "lump").evaluation.broken
    assert broken.limit == "first cost"
    assert broken.allowed == pytest.approx(13500.0, rel=1e-12)
    assert broken.got == pytest.approx(13000.0 + 2.0 * PUMP + 2.0 * CIRCUIT, rel=1e-12)
    enough = quick(room_with(tmp_path, LUMP, TWO, limits='first_cost = "14000 USD"'))
    assert named(enough, "lump").evaluation.feasible
    assert [one.limit for one in named(enough, "two").evaluation.broken] == ["first cost"]


def test_markups_on_units_are_not_added_to_a_proposed_price(tmp_path: Path) -> None:
    prepared = room_with(tmp_path, ALONE)
    book = prepared.site.costs.price_book
    assert book is not None
    markups = {**book.markups, "margin": replace(book.markups["margin"], units=0.25)}
    costs = replace(prepared.site.costs, price_book=replace(book, markups=markups))
    dearer = replace(prepared, site=replace(prepared.site, costs=costs))
    price = named(quick(dearer), "alone").price
    assert price.offered == pytest.approx(10000.0, rel=1e-12)
    assert price.total == pytest.approx(named(quick(prepared), "alone").price.total, rel=1e-12)


# levelling of ratings -------------------------------------------------------------------------------------------------


def test_ratings_are_brought_to_one_entering_state(everything: Comparison) -> None:
    standard, design = everything.air
    assert standard == STANDARD
    assert (standard.dry_bulb, standard.relative_humidity, standard.pressure) == (26.7, 0.6, 101325.0)
    assert design.percent == 0.4
    (own,) = named(everything, "own").ratings
    assert own.own
    assert own.count == 2
    assert own.offered.removal == pytest.approx(parse("440 pints/day", "moisture_rate"), rel=1e-12)
    unit = unit_of(site=named(everything, "own").option.site, model="own-120")
    fitted = fit_unit(unit=unit)
    assert fitted.derived
    # on its own entering air the curve is the rating; on the standard condition it removes far less
    there = rate(fitted=fitted, dry_bulb=30.0, relative_humidity=0.8, pressure=101325.0)
    assert there.removal == pytest.approx(own.offered.removal, rel=1e-6)
    assert (
        own.at[0].removal
        == rate(fitted=fitted, dry_bulb=26.7, relative_humidity=0.6, pressure=101325.0).removal
    )
    assert 0.4 < own.at[0].removal / own.offered.removal < 0.75
    (two,) = named(everything, "two").ratings
    assert not two.own
    # the catalogue's row nearest to the standard condition, 80 degF and 60 %; the fit misses it by 0.45 %
    assert two.at[0].removal == pytest.approx(two.offered.removal, rel=0.0045)


def test_the_design_hour_is_the_space_at_its_limit(everything: Comparison) -> None:
    design = everything.air[1]
    assert design.relative_humidity == pytest.approx(0.6, abs=1e-9)
    assert design.pressure == everything.site.weather.design_days[0].pressure
    outdoor = everything.site.weather.design_days[0].dry_bulb
    assert outdoor.min() <= design.outdoor_dry_bulb <= outdoor.max()


def test_without_design_days_there_is_the_standard_condition_alone(tmp_path: Path) -> None:
    prepared = room_with(tmp_path, ONE)
    weather = replace(prepared.site.weather, design_days=())
    comparison = quick(replace(prepared, site=replace(prepared.site, weather=weather)))
    assert comparison.air == (STANDARD,)
    assert named(comparison, "one").days == ()


def test_faults_of_all_proposed_units_come_at_once(tmp_path: Path) -> None:
    # more water than a coil of that bypass factor takes from so little air
    one = OWN.replace('"520 cfm"', '"150 cfm"').replace('"440 pints/day"', '"240 pints/day"')
    other = one.replace('"own"', '"other"').replace("own-120", "own-121")
    with pytest.raises(InputFaults, match="own-120") as caught:
        quick(room_with(tmp_path, one, other))
    text = str(caught.value)
    assert "room.toml: own-120, row 1 (30.0 °C, 80 %), removal: got 4.73 kg/h" in text
    assert "room.toml: own-121, row 1 (30.0 °C, 80 %), removal: got 4.73 kg/h" in text


# the demo bids --------------------------------------------------------------------------------------------------------


def test_levelling_turns_the_order_of_the_hall() -> None:
    """Bidder A's sum lies below what the design that is chosen there costs, and above it once both hold the same."""
    prepared = prepared_demo("hall")
    ours = Option("ours", "alternate", prepared.site, (Install("precool-200", "standalone", 1),))
    comparison = compare(prepared=prepared, choice=None, more=(ours,))
    offered = named(comparison, "A: two quiet ones")
    assert offered.evaluation.feasible
    assert offered.price.offered is not None
    assert offered.price.offered < named(comparison, "ours").price.total < offered.price.total
    assert comparison.options[0].option.name == "ours"
    loud = named(comparison, "B: one cheap one")
    assert [limit.limit for limit in loud.evaluation.broken] == ["sound"]
    assert [misfit.model for misfit in loud.misfits] == ["compressor-300"]


def test_the_school_cannot_feed_what_bidder_b_proposes() -> None:
    comparison = compare(prepared=prepared_demo("school"), choice=None)
    dear = named(comparison, "B: one at 480 V")
    assert [limit.limit for limit in dear.evaluation.broken] == ["supply voltage"]
    assert dear.misfits[0].model == "B-340"
    (rating,) = named(comparison, "A: one in the supply duct").ratings
    # 1,030 pints/day on air of 86 degF and 80 %; on the standard condition little more than half
    assert rating.at[0].removal < 0.65 * rating.offered.removal
