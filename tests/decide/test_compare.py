"""Named options side by side: what is compared, in which order, and that every figure is the one `simulate` finds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from selector.decide.choose import choose
from selector.decide.compare import Comparison, compare
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.options import Option, option_of_alternate, prepare_options
from selector.decide.reasons import Standing, reasons
from selector.decide.results import Choice
from selector.inputs.site import Install
from selector.money.economics import measures
from selector.money.first_cost import unit_of
from selector.money.life_cycle import life_cycle_cost
from selector.physics.prepare import Prepared
from tests.decide.comparisons import TWO_UNITS, every_proposal, named, quick
from tests.proposals import ALL, ONE, PARTS, THREE_SMALL, TWO, room_with
from tests.sites import prepared_room


@pytest.fixture
def everything() -> Comparison:
    return every_proposal()


def few_designs(prepared: Prepared) -> tuple[Prepared, Choice]:
    """The best of the standalone designs of one size."""
    limits = replace(prepared.site.limits, arrangements=("standalone",), max_sizes=1)
    prepared = replace(prepared, site=replace(prepared.site, limits=limits))
    return prepared, choose(prepared=prepared)


# what is compared, and in which order --------------------------------------------------------------------------------


def test_every_alternate_and_the_existing_system_are_there_once(everything: Comparison) -> None:
    names = sorted(one.option.name for one in everything.options)
    assert names == sorted(["alone", "existing system", "lump", "one", "own", "parts", "three small", "two"])
    assert [one.rank for one in everything.options] == list(range(1, 9))


def test_options_that_keep_every_limit_come_first_and_each_group_by_life_cycle_cost(
    everything: Comparison,
) -> None:
    kept = [one.evaluation.feasible for one in everything.options]
    assert kept == sorted(kept, reverse=True)
    assert 0 < sum(kept) < len(kept)
    for group in (True, False):
        costs = [
            one.evaluation.costs.life_cycle for one in everything.options if one.evaluation.feasible is group
        ]
        assert costs == sorted(costs)
    assert everything.best is everything.options[0]
    assert everything.existing.option.install == ()


@pytest.mark.parametrize(
    ("limits", "broken"),
    [
        ('sound = "50 dBA"', "sound"),
        ('supply_voltage = "480 V"', "supply voltage"),
        ('electrical_current = "15 A"', "electrical current"),
        ('first_cost = "9000 USD"', "first cost"),
        ('weight = "150 lb"', "weight of a unit"),
        ('height = "20 in"', "height of a unit"),
        ('width = "20 in"', "width of a unit"),
        ('length = "30 in"', "length of a unit"),
        ('arrangements = ["return-side"]', "arrangements: standalone is not among them"),
        ("spare_units = 1", "hours above the humidity target with 1 unit out"),
    ],
)
def test_what_breaks_a_limit_is_shown_with_it_and_never_dropped(
    limits: str, broken: str, tmp_path: Path
) -> None:
    comparison = quick(room_with(tmp_path, TWO, ONE, limits=limits))
    two = named(comparison, "two")
    assert [one.option.name for one in comparison.options if one.option.kind == "alternate"]
    assert len(comparison.options) == 3
    assert broken in [limit.limit for limit in two.evaluation.broken]
    assert not two.evaluation.feasible
    assert comparison.best is None


def test_no_unit_is_out_where_there_is_none_and_no_more_than_there_are(tmp_path: Path) -> None:
    """Two units to spare, of none in the existing system and of one in the option."""
    comparison = quick(room_with(tmp_path, ONE, limits="spare_units = 2"))
    for name, wanted in (("existing system", None), ("one", "1 unit")):
        broken = [limit.limit for limit in named(comparison, name).evaluation.broken]
        out = [limit.partition(" with ")[2] for limit in broken if " out" in limit]
        assert out == ([] if wanted is None else [f"{wanted} out"])
        assert "hours above the humidity target" in broken


def test_units_that_the_site_cannot_take_are_named(tmp_path: Path) -> None:
    limits = 'supply_voltage = "120 V"\nsound = "53 dBA"\nweight = "190 lb"\nphases = 3'
    comparison = quick(room_with(tmp_path, TWO, THREE_SMALL, limits=limits))
    (misfit,) = named(comparison, "two").misfits
    assert misfit.model == "precool-120"
    assert [limit.limit for limit in misfit.broken] == ["supply voltage", "sound", "weight of a unit"]
    assert named(comparison, "three small").misfits == ()


def test_the_chosen_design_takes_part_with_what_the_choice_found(tmp_path: Path) -> None:
    prepared, choice = few_designs(room_with(tmp_path, ONE))
    assert choice.best is not None
    comparison = compare(prepared=prepared, choice=choice)
    chosen = named(comparison, "chosen design")
    assert chosen.evaluation.install == choice.best.install
    assert chosen.evaluation.costs.life_cycle == choice.best.costs.life_cycle
    assert (chosen.margin, chosen.one_out) == (choice.margin, choice.one_out)
    assert [one.option.kind for one in comparison.options] == ["chosen", "existing", "alternate"]
    assert comparison.best is chosen


def test_an_alternate_that_is_the_chosen_design_is_shown_beside_it(tmp_path: Path) -> None:
    _, choice = few_designs(prepared_room())
    assert choice.best is not None
    texts = ", ".join(f'"{part.count} {part.model} {part.arrangement}"' for part in choice.best.install)
    same = f'\n[[alternates]]\nname = "the same"\ninstall = [{texts}]\n'
    again, choice = few_designs(room_with(tmp_path, same))
    comparison = compare(prepared=again, choice=choice)
    assert [one.option.name for one in comparison.options] == [
        "the same",
        "chosen design",
        "existing system",
    ]
    assert comparison.options[1].reason == "costs the same as the same"  # neither is cheapest first


def test_nothing_chosen_is_the_existing_system_and_no_second_row(tmp_path: Path) -> None:
    dry = room_with(tmp_path, ONE, changes=(('"60 %"\n', '"95 %"\n'),))
    dry, choice = few_designs(dry)
    assert choice.best is not None
    assert choice.best.install == ()
    comparison = compare(prepared=dry, choice=choice)
    assert [one.option.name for one in comparison.options] == ["existing system", "one"]
    assert comparison.best is comparison.existing
    assert comparison.base == 0
    assert comparison.base_reason == "the existing system, which keeps every limit"


def test_where_no_design_is_possible_the_nearest_takes_part(tmp_path: Path) -> None:
    prepared, choice = few_designs(room_with(tmp_path, ONE, limits='first_cost = "4000 USD"'))
    assert choice.best is None
    comparison = compare(prepared=prepared, choice=choice)
    assert comparison.best is None
    assert {one.option.name for one in comparison.options} >= {"one", "existing system"}
    assert comparison.options[comparison.base].option.kind == "existing"
    assert comparison.base_reason == "the existing system; no option keeps every limit"


# every figure is that of simulate -------------------------------------------------------------------------------------


def physics_of(evaluation: Evaluation) -> tuple[object, ...]:
    return (
        evaluation.install, evaluation.limits, evaluation.hours_too_warm, evaluation.moisture_kg,
        evaluation.energy_kwh, evaluation.specific_removal, evaluation.currents, evaluation.sound, evaluation.weight,
        evaluation.costs.electricity, evaluation.costs.gas, evaluation.costs.peak, evaluation.costs.carbon_electricity,
        evaluation.costs.carbon_gas,
    )  # fmt: skip


def test_an_option_of_the_catalogue_has_the_very_figures_of_simulate(everything: Comparison) -> None:
    prepared = prepared_room()
    for name, model, count in (
        ("two", "precool-120", 2),
        ("one", "precool-120", 1),
        ("three small", "compressor-60", 3),
    ):
        one = named(everything, name).evaluation
        plain = evaluate(
            prepared=prepared,
            install=(Install(model, "standalone", count),),
            warm_allowed=everything.warm_allowed,
        )
        assert physics_of(one) == physics_of(plain)
        assert one.costs == plain.costs
        assert (one.feasible, one.broken) == (plain.feasible, plain.broken)
    there = evaluate(prepared=prepared, install=(), warm_allowed=everything.warm_allowed)
    assert physics_of(everything.existing.evaluation) == physics_of(there)
    assert everything.existing.evaluation.costs == there.costs


def test_a_proposal_of_the_same_units_has_the_same_physics_at_its_own_price(everything: Comparison) -> None:
    two = named(everything, "two").evaluation
    for name in ("lump", "parts", "alone"):
        assert physics_of(named(everything, name).evaluation) == physics_of(two)
        assert named(everything, name).evaluation.costs.first != two.costs.first


def test_costs_of_every_option_add_up(everything: Comparison) -> None:
    for one in everything.options:
        costs = one.evaluation.costs
        assert costs.first == one.price.total
        assert costs.annual_operating == costs.electricity + costs.gas + costs.maintenance
        assert costs.quantities.total == pytest.approx(costs.first, rel=1e-12)
        lines = sum(line.amount for line in costs.quantities.lines)
        assert lines == pytest.approx(costs.first, rel=1e-12, abs=1e-9)
        # agreement found: 4e-16
        assert one.life_cycle.total == pytest.approx(costs.life_cycle, rel=1e-12)
        assert sum(year.present_value for year in one.life_cycle.years) == pytest.approx(
            costs.life_cycle, rel=1e-12
        )


def test_a_price_of_its_own_is_what_a_unit_costs_when_it_is_bought_again(everything: Comparison) -> None:
    alone = named(everything, "alone")
    site = alone.option.site
    assert unit_of(site=site, model="precool-120").price == pytest.approx(5000.0, rel=1e-12)
    assert unit_of(site=everything.site, model="precool-120").price == pytest.approx(6150.0, rel=1e-12)
    # one replacement of two units after 12 of 15 years, and 9/12 of the life of the new ones left at the end
    again = 2.0 * 5000.0 * 1.05**-12
    left = 2.0 * 5000.0 * (24.0 - 15.0) / 12.0 * 1.05**-15
    assert alone.life_cycle.replacement == pytest.approx(again, rel=1e-12)
    assert alone.life_cycle.residual == pytest.approx(-left, rel=1e-12)
    # a lump sum says nothing of that: the catalogue's price holds
    assert named(everything, "lump").life_cycle.replacement == pytest.approx(
        again * 6150.0 / 5000.0, rel=1e-12
    )


def test_months_add_up_to_the_year(everything: Comparison) -> None:
    for one in everything.options:
        assert sum(one.months_above) == one.evaluation.hours_above
    wettest = everything.existing.months_above
    above = everything.existing.evaluation.year.above[:, 0]
    july = slice(181 * 24, 212 * 24)  # 31 + 28 + 31 + 30 + 31 + 30 days before it
    assert wettest[6] == int(above[july].sum())


# spare capacity and economics -----------------------------------------------------------------------------------------


def test_spare_capacity_is_that_of_the_design(everything: Comparison) -> None:
    two, one = named(everything, "two"), named(everything, "one")
    assert one.margin is None  # it does not keep its limits as it is
    assert two.margin is not None
    assert two.margin.share > 0.0
    assert two.one_out is not None
    assert two.one_out.hours_above == one.evaluation.hours_above
    assert everything.existing.one_out is None


def test_existing_units_count_among_those_that_may_be_out(tmp_path: Path) -> None:
    there = '\n[[existing_units]]\nmodel = "precool-120"\narrangement = "standalone"\ncount = 1\n'
    without_spare = quick(room_with(tmp_path, ONE, there))
    assert named(without_spare, "one").evaluation.feasible
    broken = {
        limit.limit: limit.got
        for limit in named(
            quick(room_with(tmp_path, ONE, there, limits="spare_units = 1")), "one"
        ).evaluation.broken
    }
    # one of two alike is out, new or there: what is left is one unit
    alone = evaluate(prepared=prepared_room(), install=(Install("precool-120", "standalone", 1),))
    assert broken == {"hours above the humidity target with 1 unit out": alone.hours_above}


def test_the_base_case_is_the_cheapest_first_that_keeps_every_limit(everything: Comparison) -> None:
    base = everything.options[everything.base]
    kept = [one for one in everything.options if one.evaluation.feasible]
    assert base.price.total == min(one.price.total for one in kept)
    assert base.measures is None
    assert "the existing system does not" in everything.base_reason
    for one in everything.options:
        if one is base:
            continue
        rate_ = everything.site.costs.discount_rate
        assert one.measures == measures(
            base=base.life_cycle, option=one.life_cycle, rate=rate_, inflation=0.02
        )
        assert one.measures is not None
        saved = base.evaluation.costs.life_cycle - one.evaluation.costs.life_cycle
        assert one.measures.net_savings == pytest.approx(saved, rel=1e-12, abs=1e-10)


# reasons --------------------------------------------------------------------------------------------------------------


def test_reasons_say_what_decides(everything: Comparison) -> None:
    best = everything.options[0]
    assert best.reason.endswith("lowest life-cycle cost of those that keep every limit")
    for one in everything.options[1:]:
        if not one.evaluation.feasible:
            continue
        extra = one.life_cycle.total - best.life_cycle.total
        assert f"{extra:,.0f} USD dearer than {best.option.name} over 15 years: more " in one.reason
    one = named(everything, "one")
    month = int(np.argmax(one.months_above))
    name = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
            "November", "December")[month]  # fmt: skip
    assert f"fails {one.evaluation.hours_above} hours, most in {name} (40 allowed)" in one.reason
    cheapest = min((each for each in everything.options if each.option.install), key=lambda x: x.price.total)
    assert cheapest.reason.startswith("cheapest first, ")
    assert sum("cheapest first" in each.reason for each in everything.options) == 1


@pytest.mark.parametrize(
    ("there", "words"),
    [(500.0, "cheapest to run after the existing system, "), (5000.0, "cheapest to run, ")],
)
def test_the_existing_system_may_be_cheaper_to_run(everything: Comparison, there: float, words: str) -> None:
    """Three options cost 1,000, 2,000 and 3,000 a year, dearest first cost first; the existing system 500 or 5,000."""
    ranked = []
    for place, one in enumerate([each for each in everything.options if each.option.install][:3]):
        costs = replace(one.evaluation.costs, first=9000.0 - place, annual_operating=1000.0 * (place + 1))
        ranked.append(
            Standing(f"{place}", True, replace(one.evaluation, costs=costs), one.life_cycle, (0,) * 12)
        )
    own = everything.existing
    costs = replace(own.evaluation.costs, annual_operating=there)
    ranked.append(Standing("there", False, replace(own.evaluation, costs=costs), own.life_cycle, (0,) * 12))
    found = reasons(ranked=ranked, currency="USD", years=15)
    assert found[0].startswith(words)
    assert not any("cheapest to run" in text for text in found[1:])


def test_two_named_limits_are_told_apart_in_the_reason(tmp_path: Path) -> None:
    more = '\n[[humidity_target]]\nname = "dew"\ndew_point = "50 degF"\nallowed_hours_above = 10\n'
    changes = (("[humidity_target]\n", '[[humidity_target]]\nname = "damp"\n'),)
    comparison = quick(room_with(tmp_path, ONE, more, changes=changes))
    assert 'hours of "dew", most in ' in named(comparison, "one").reason


# options that are not units -------------------------------------------------------------------------------------------


def test_an_option_may_change_the_site_instead_of_installing_units() -> None:
    prepared = prepared_room()
    site = prepared.site
    assert site.air_handler is not None
    less = replace(site.air_handler, outdoor_airflow=0.5 * site.air_handler.outdoor_airflow)
    changed = replace(site, air_handler=less)
    option = Option("less outdoor air", "change", changed, (), extra_first=1500.0, extra_maintenance=120.0)
    comparison = compare(prepared=prepared, choice=None, more=(option,))
    found, there = named(comparison, "less outdoor air"), comparison.existing
    (own,) = prepare_options(prepared=prepared, options=(option,))
    plain = evaluate(prepared=own, install=(), warm_allowed=comparison.warm_allowed)
    assert physics_of(found.evaluation) == physics_of(plain)
    assert found.evaluation.hours_above < there.evaluation.hours_above
    costs = found.evaluation.costs
    assert costs.first == 1500.0
    assert costs.maintenance == 120.0
    assert [(line.what, line.amount) for line in costs.quantities.lines] == [("less outdoor air", 1500.0)]
    assert costs.quantities.total == 1500.0
    expected = life_cycle_cost(
        first=1500.0,
        electricity=plain.costs.electricity,
        gas=plain.costs.gas,
        maintenance=120.0,
        units=(),
        costs=site.costs,
    )
    assert costs.life_cycle == expected.total


def test_options_that_only_install_share_the_tables_of_the_site(tmp_path: Path) -> None:
    prepared = room_with(tmp_path, *ALL)
    options = tuple(
        option_of_alternate(site=prepared.site, alternate=one) for one in prepared.site.alternates
    )
    tables = prepare_options(prepared=prepared, options=options)
    shared = [option.name for option, own in zip(options, tables, strict=True) if own is prepared]
    assert shared == ["two", "one", "three small", "lump"]
    assert len(tables[-1].fitted) == len(prepared.fitted) + 1


def test_progress_is_told_and_changes_nothing(tmp_path: Path) -> None:
    seen: list[float] = []
    prepared = room_with(tmp_path, PARTS)
    watched = compare(prepared=prepared, choice=None, progress=lambda _what, share: seen.append(share))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert [one.reason for one in watched.options] == [one.reason for one in quick(prepared).options]


# a tariff -------------------------------------------------------------------------------------------------------------


TARIFF = """
[costs.tariff.electricity]
fixed = "30 USD/month"
tax = "6 %"
[[costs.tariff.electricity.energy]]
name = "all"
price = "0.11 USD/kWh"
[[costs.tariff.electricity.demand]]
name = "peak"
price = "12 USD/kW"
"""


def test_under_a_tariff_every_option_has_its_bill_and_costs_add_up(tmp_path: Path) -> None:
    prepared = room_with(tmp_path, TWO, PARTS, TARIFF)
    comparison = quick(prepared)
    plain = evaluate(prepared=prepared, install=TWO_UNITS, warm_allowed=comparison.warm_allowed)
    assert named(comparison, "two").evaluation.costs == plain.costs
    for one in comparison.options:
        costs = one.evaluation.costs
        assert costs.bill is not None
        assert costs.electricity == costs.bill.electricity
        assert one.life_cycle.total == pytest.approx(costs.life_cycle, rel=1e-12)
