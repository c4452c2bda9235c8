"""Bills under a tariff: each rule by hand, the whole against a plain count hour by hour, and what a bound must keep.

All tariffs and loads are invented.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.inputs.site import HOURS, FloatArray
from selector.inputs.tariff import Block, EnergyPeriod, GasTariff, Tariff
from selector.money.energy_prices import prices, year_cost
from selector.money.tariff import (
    Bill,
    DesignBill,
    bill,
    billed_demand,
    design_bill,
    in_blocks,
    month_peaks,
    month_sums,
)
from selector.money.tariff_bounds import certain_beyond_prices, certain_prices, supporting_prices
from tests.builders import flat, make_costs, make_site
from tests.money.tariffs import (
    ALWAYS,
    CLOCK,
    KWH,
    MONTH,
    WEEKDAY,
    charge,
    drawn_load,
    drawn_tariff,
    make_tariff,
    one_price,
    with_tariff,
)

SUMMER = np.isin(np.arange(12), (5, 6, 7, 8))
NOTHING = np.zeros(HOURS)
numbers = st.integers(0, 10**6)


def of_load(tariff: Tariff, power: FloatArray, gas: FloatArray = NOTHING) -> Bill:
    """Bills of one load [W]."""
    return bill(tariff=tariff, electricity=power * 3600.0, other=NOTHING, gas=gas)


def lines(found: Bill, kind: str, fuel: str = "electricity") -> list[tuple[float, ...]]:
    return [line.amounts for line in found.lines if line.kind == kind and line.fuel == fuel]


# ------------------------------------------------------------------------------------------------ each rule by hand


def test_months_are_those_of_the_calendar() -> None:
    hours = month_sums(np.ones(HOURS))
    assert hours.tolist() == [744, 672, 744, 720, 744, 720, 744, 744, 720, 744, 720, 744]
    peaks = month_peaks(np.arange(HOURS, dtype=np.float64))
    assert peaks[0] == 743.0
    assert peaks[11] == 8759.0


def test_blocks_are_filled_from_the_first() -> None:
    blocks = (Block(100.0, 1.0), Block(250.0, 1.0), Block(math.inf, 1.0))
    parts = in_blocks(blocks=blocks, energy=np.array([0.0, 60.0, 100.0, 120.0, 250.0, 400.0]))
    assert [part.tolist() for part in parts] == [
        [0.0, 60.0, 100.0, 100.0, 100.0, 100.0],
        [0.0, 0.0, 0.0, 20.0, 150.0, 150.0],
        [0.0, 0.0, 0.0, 0.0, 0.0, 150.0],
    ]


def test_energy_is_priced_by_the_period_of_its_hour() -> None:
    # weekdays 12 to 18 at 0.20, all else at 0.10; January has 23 weekdays: 138 h and 606 h of 10 kW
    peak = WEEKDAY & (CLOCK >= 12) & (CLOCK < 18)
    tariff = make_tariff(
        energy=(
            EnergyPeriod("peak", peak, one_price(0.20 / KWH)),
            EnergyPeriod("off-peak", ~peak, one_price(0.10 / KWH)),
        )
    )
    at_peak, rest = lines(of_load(tariff, flat(10000.0)), "energy")
    assert at_peak[0] == pytest.approx(1380 * 0.20, rel=1e-12)
    assert rest[0] == pytest.approx(6060 * 0.10, rel=1e-12)


def test_blocks_count_the_energy_of_their_own_period() -> None:
    # 7,440 kWh in January: 5,000 at 0.12 and 2,440 at 0.09; February 6,720 kWh: 5,000 and 1,720
    blocks = (Block(5000.0 * KWH, 0.12 / KWH), Block(math.inf, 0.09 / KWH))
    first, second = lines(
        of_load(make_tariff(energy=(EnergyPeriod("all", ALWAYS, blocks),)), flat(10000.0)), "energy"
    )
    assert first[:2] == pytest.approx((600.0, 600.0), rel=1e-12)
    assert second[:2] == pytest.approx((2440 * 0.09, 1720 * 0.09), rel=1e-12)


def test_demand_is_the_highest_hour_within_the_window() -> None:
    power = flat(20000.0)
    power[3 * 24 + 4] = 90000.0  # Thursday 4 January at 4:00, outside the window
    power[3 * 24 + 14] = 60000.0
    window = charge(15.0 / 1000.0, hours=WEEKDAY & (CLOCK >= 12) & (CLOCK < 18))
    assert billed_demand(charge=window, power=power).tolist() == [60000.0, *[20000.0] * 11]
    assert billed_demand(charge=charge(1.0), power=power)[0] == 90000.0
    (amounts,) = lines(of_load(make_tariff(demand=(window,)), power), "demand")
    assert amounts[:2] == pytest.approx((900.0, 300.0), rel=1e-12)


def test_a_charge_of_the_summer_bills_nothing_in_winter() -> None:
    billed = billed_demand(charge=charge(1.0, months=SUMMER, minimum=5.0), power=flat(3.0))
    assert billed.tolist() == [0.0] * 5 + [5.0] * 4 + [0.0] * 3


def test_the_ratchet_of_january_looks_back_on_december() -> None:
    power = flat(40.0)
    power[-1] = 100.0
    assert billed_demand(charge=charge(1.0, ratchet=0.8), power=power).tolist() == [*[80.0] * 11, 100.0]


def test_the_ratchet_looks_back_on_its_months_alone() -> None:
    power = np.where(MONTH == 0, 100.0, np.where(MONTH == 6, 60.0, 40.0))
    billed = billed_demand(charge=charge(1.0, ratchet=0.9, ratchet_months=SUMMER), power=power)
    assert billed.tolist() == [100.0, *[54.0] * 5, 60.0, *[54.0] * 5]


def test_a_ratchet_holds_a_minimum_too() -> None:
    power = np.where(MONTH == 3, 90.0, 10.0)
    billed = billed_demand(charge=charge(1.0, ratchet=0.5, minimum=60.0), power=power)
    assert billed.tolist() == [60.0, 60.0, 60.0, 90.0, *[60.0] * 8]


def test_tax_is_on_all_but_carbon() -> None:
    tariff = make_tariff(price=0.10 / KWH, demand=(charge(10.0 / 1000.0),), fixed=50.0, tax=0.06)
    found = bill(
        tariff=tariff, electricity=flat(10000.0) * 3600.0, other=NOTHING, gas=NOTHING,
        carbon_electricity=0.5 / KWH, carbon_price=0.04,
    )  # fmt: skip
    # January: 744.00 of energy, 100.00 of demand, 50.00 fixed; 6 % of 894.00; 3,720 kg at 0.04
    assert lines(found, "tax")[0][0] == pytest.approx(53.64, rel=1e-12)
    assert lines(found, "carbon")[0][0] == pytest.approx(148.80, rel=1e-12)
    january = sum(line.amounts[0] for line in found.lines if line.fuel == "electricity")
    assert january == pytest.approx(1096.44, rel=1e-12)


def test_gas_is_priced_by_blocks_with_its_own_fixed_charge_and_tax() -> None:
    # 1,000 therms in January: 400 at 1.20 and 600 at 0.90, 25.00 fixed, 4 % tax; nothing later but the charge
    therm = 105505585.262
    gas = GasTariff((Block(400 * therm, 1.2 / therm), Block(math.inf, 0.9 / therm)), 25.0, 0.04)
    burnt = np.where(MONTH == 0, 1000 * therm / 744, 0.0)
    found = of_load(make_tariff(gas=gas), NOTHING, burnt)
    assert [line[0] for line in lines(found, "energy", "gas")] == pytest.approx([480.0, 540.0], rel=1e-12)
    assert found.gas == pytest.approx(1.04 * (480.0 + 540.0 + 300.0), rel=1e-12)


def test_a_design_costs_what_it_adds() -> None:
    # the other load peaks at 100 kW by day; 10 kW by night raise no peak and no fixed charge
    day = WEEKDAY & (CLOCK >= 8) & (CLOCK < 18)
    tariff = make_tariff(price=0.10 / KWH, demand=(charge(10.0 / 1000.0),), fixed=70.0)
    costs = with_tariff(tariff, other=np.where(day, 100000.0, 0.0))
    night = np.where(day, 0.0, 10000.0) * 3600.0
    added = design_bill(costs=costs, electricity=night, gas=NOTHING)
    assert added.electricity == pytest.approx(float(night.sum()) / KWH * 0.10, rel=1e-12)
    assert added.gas == 0.0
    # by day it raises every month's peak by 10 kW
    by_day = design_bill(costs=costs, electricity=np.where(day, 10000.0, 0.0) * 3600.0, gas=NOTHING)
    assert by_day.electricity - 0.10 * float(day.sum()) * 10 == pytest.approx(12 * 100.0, rel=1e-9)
    assert by_day.other.peaks == (100000.0,) * 12
    assert by_day.whole.peaks == (110000.0,) * 12


def test_certain_prices_leave_out_blocks_that_the_other_load_has_used_up() -> None:
    # 10 kW of other load: 7,440 kWh in January fill the first block of 7,000, February's 6,720 do not
    blocks = (Block(7000.0 * KWH, 0.05 / KWH), Block(math.inf, 0.20 / KWH))
    tariff = make_tariff(energy=(EnergyPeriod("all", ALWAYS, blocks),), tax=0.10)
    electricity, gas = certain_prices(costs=with_tariff(tariff, other=flat(10000.0)))
    assert electricity[0] * KWH == pytest.approx(0.22, rel=1e-12)
    assert electricity[800] * KWH == pytest.approx(0.055, rel=1e-12)
    assert np.array_equal(gas, np.full(HOURS, 1.0e-8))
    alone, _ = certain_prices(costs=with_tariff(tariff, carbon_price=0.05))
    assert alone[0] * KWH == pytest.approx(0.055 + 0.4 * 0.05, rel=1e-12)


def test_flat_prices_have_no_bill() -> None:
    with pytest.raises(ValueError, match="a bill takes a tariff; these costs have flat prices"):
        design_bill(costs=make_costs(), electricity=NOTHING, gas=NOTHING)
    with pytest.raises(ValueError, match="prices of a tariff take a tariff; these costs have flat prices"):
        certain_prices(costs=make_costs())


# ---------------------------------------------------------------------- the year's cost of a site


def test_without_a_tariff_a_year_costs_what_it_did() -> None:
    site = make_site(costs=make_costs(electricity=5.0e-8, gas=2.0e-8))
    load, burnt = drawn_load(1, power=5000.0) * 3600.0, drawn_load(2, power=3000.0) * 3600.0
    found = year_cost(site=site, electricity=load, gas=burnt)
    assert found.electricity == float((np.full(HOURS, 5.0e-8) * load).sum())  # to the bit
    assert found.gas == float((np.full(HOURS, 2.0e-8) * burnt).sum())
    assert found.bill is None


def test_a_price_of_carbon_is_part_of_flat_prices() -> None:
    costs = replace(
        make_costs(electricity=0.1 / KWH, gas=0.04 / KWH),
        carbon_electricity=0.4 / KWH, carbon_gas=0.2 / KWH, carbon_price=0.05,
    )  # fmt: skip
    found = prices(site=make_site(costs=costs))
    assert found.electricity[7] * KWH == pytest.approx(0.12, rel=1e-12)
    assert found.gas[7] * KWH == pytest.approx(0.05, rel=1e-12)
    year = year_cost(site=make_site(costs=costs), electricity=flat(KWH), gas=flat(2.0 * KWH))
    assert (year.carbon_electricity, year.carbon_gas) == pytest.approx((3504.0, 3504.0), rel=1e-12)
    assert year.electricity == pytest.approx(8760 * 0.12, rel=1e-12)


def test_the_peak_is_that_of_the_whole_building() -> None:
    other = np.where(CLOCK == 12, 30000.0, 5000.0)
    site = make_site(costs=replace(make_costs(), other_load=other))
    load = np.where(CLOCK == 3, 20000.0, 1000.0) * 3600.0
    assert year_cost(site=site, electricity=load, gas=NOTHING).peak == pytest.approx(31000.0, rel=1e-12)


@given(price=st.floats(1e-9, 1e-6), number=numbers, fixed=st.floats(0.0, 1e4))
@settings(max_examples=20)
def test_a_tariff_of_one_price_is_a_flat_price(price: float, number: int, fixed: float) -> None:
    """Found: within 5e-16 of the yearly cost, and 1e-12 of the fixed charges that cancel."""
    load, burnt = drawn_load(number, power=5000.0) * 3600.0, drawn_load(number + 1, power=3000.0) * 3600.0
    tariff = make_tariff(price=price, fixed=fixed, gas=GasTariff(one_price(price / 3), fixed, 0.0))
    plain = make_site(costs=make_costs(electricity=price, gas=price / 3))
    under = make_site(costs=with_tariff(tariff, costs=plain.costs))
    want = year_cost(site=plain, electricity=load, gas=burnt)
    got = year_cost(site=under, electricity=load, gas=burnt)
    assert got.electricity == pytest.approx(want.electricity, rel=5e-15, abs=1e-12 * fixed)
    assert got.gas == pytest.approx(want.gas, rel=5e-15, abs=1e-12 * fixed)
    assert np.array_equal(prices(site=under).electricity, prices(site=plain).electricity)
    assert np.array_equal(prices(site=under).gas, prices(site=plain).gas)


# ---------------------------------------------------------------------- any tariff, any load


def counted(tariff: Tariff, power: FloatArray, gas: FloatArray) -> tuple[float, float]:
    """Both bills of a year, counted hour by hour, the ratchet settled over three years one after the other."""
    terms = tariff.electricity
    money = 0.0
    for period in terms.energy:
        used = [0.0] * 12
        for hour in np.flatnonzero(period.hours):
            used[MONTH[hour]] += power[hour] * 3600.0
        money += sum(_priced(period.blocks, energy) for energy in used)
    for one in terms.demand:
        measured = [0.0] * 12
        for hour in np.flatnonzero(one.hours):
            measured[MONTH[hour]] = max(measured[MONTH[hour]], power[hour])
        past: list[float] = []
        for month in [*range(12)] * 3:
            back = [
                past[-k] if one.ratchet_months[(month - k) % 12] else 0.0
                for k in range(1, 12)
                if k <= len(past)
            ]
            highest = max(back, default=0.0)
            due = max(measured[month], one.minimum, one.ratchet * highest) if one.months[month] else 0.0
            past.append(due)
        money += one.price * sum(past[-12:])
    money = (money + 12 * terms.fixed) * (1.0 + terms.tax)
    burnt = [float(gas[month == MONTH].sum()) for month in range(12)]
    of_gas = sum(_priced(tariff.gas.blocks, energy) for energy in burnt) + 12 * tariff.gas.fixed
    return money, of_gas * (1.0 + tariff.gas.tax)


def _priced(blocks: tuple[Block, ...], energy: float) -> float:
    money, left, start = 0.0, energy, 0.0
    for block in blocks:
        within = min(left, block.up_to - start)
        money += within * block.price
        left -= within
        start = block.up_to
    return money


@given(number=numbers)
@settings(max_examples=15)
def test_a_bill_is_what_counting_by_the_hour_gives(number: int) -> None:
    """Found: within 1e-15."""
    tariff = drawn_tariff(number, power=5000.0)
    load, burnt = drawn_load(number, power=5000.0), drawn_load(number + 1, power=3000.0) * 3600.0
    found = of_load(tariff, load, burnt)
    assert (found.electricity, found.gas) == pytest.approx(counted(tariff, load, burnt), rel=1e-14)


@given(number=numbers)
@settings(max_examples=25)
def test_lines_add_up(number: int) -> None:
    tariff = drawn_tariff(number, power=5000.0)
    load, burnt = drawn_load(number, power=5000.0), drawn_load(number + 1, power=3000.0) * 3600.0
    found = of_load(tariff, load, burnt)
    for fuel, total, energy in (
        ("electricity", found.electricity, float(load.sum()) * 3600.0),
        ("gas", found.gas, float(burnt.sum())),
    ):
        mine = [line for line in found.lines if line.fuel == fuel]
        assert sum(line.total for line in mine) == pytest.approx(total, rel=1e-13)
        sold = sum(sum(line.quantities) for line in mine if line.kind == "energy")
        assert sold == pytest.approx(energy, rel=1e-12)
        for line in mine:
            assert len(line.amounts) == len(line.quantities) == 12
            assert line.amounts == tuple(quantity * line.rate for quantity in line.quantities)
            assert line.total == pytest.approx(sum(line.amounts), rel=1e-13)
            assert min(line.amounts) >= 0.0


def added_by(
    number: int, more: FloatArray | float = 0.0, *, carbon: float = 0.03
) -> tuple[DesignBill, FloatArray]:
    """A drawn design under a drawn tariff with a drawn other load, and what it buys [J]."""
    tariff = drawn_tariff(number, power=9000.0)
    other = None if number % 3 == 0 else drawn_load(number + 2, power=5000.0)
    load = (drawn_load(number, power=5000.0) + more) * 3600.0
    burnt = (drawn_load(number + 1, power=3000.0) + more) * 3600.0
    costs = with_tariff(tariff, other=other, carbon_price=carbon)
    return design_bill(costs=costs, electricity=load, gas=burnt), load


@given(number=numbers)
@settings(max_examples=60)
def test_a_design_costs_at_least_its_energy_at_the_certain_prices(number: int) -> None:
    added, load = added_by(number)
    tariff = drawn_tariff(number, power=9000.0)
    other = None if number % 3 == 0 else drawn_load(number + 2, power=5000.0)
    costs = with_tariff(tariff, other=other, carbon_price=0.03)
    electricity, gas = certain_prices(costs=costs)
    least = float((electricity * load).sum())
    assert added.electricity >= least * (1.0 - 1e-12) - 1e-9
    burnt = drawn_load(number + 1, power=3000.0) * 3600.0
    assert added.gas >= float((gas * burnt).sum()) * (1.0 - 1e-12) - 1e-9
    # and beyond them what a load pays that is nowhere greater
    share = np.random.default_rng([number, 13]).choice([0.0, 0.3, 1.0], HOURS)
    beyond = certain_beyond_prices(costs=costs, at_least=load * share)
    assert beyond >= 0.0
    assert added.electricity >= least + beyond - 1e-9 * added.electricity - 1e-9


@given(number=numbers, hour=st.integers(0, HOURS - 1), hours=st.integers(1, 2000))
@settings(max_examples=60)
def test_a_greater_load_never_costs_less(number: int, hour: int, hours: int) -> None:
    more = np.zeros(HOURS)
    more[hour : hour + hours] = 1500.0
    base, _ = added_by(number)
    greater, _ = added_by(number, more)
    assert greater.electricity >= base.electricity - 1e-9 * abs(base.whole.electricity)
    assert greater.gas >= base.gas - 1e-9 * abs(base.whole.gas)
    assert base.electricity >= 0.0
    assert base.gas >= 0.0


def test_certain_money_beyond_the_prices_is_demand_that_no_design_avoids() -> None:
    # a fan of 4 kW all year, 10 currency/kW: 12 months of 40.00; the energy is in the prices
    tariff = make_tariff(demand=(charge(10.0 / 1000.0),))
    assert certain_beyond_prices(costs=with_tariff(tariff), at_least=flat(4000.0 * 3600.0)) == pytest.approx(
        480.0, rel=1e-12
    )


@given(number=numbers, known=numbers)
@settings(max_examples=80)
def test_a_plane_that_touches_one_bill_lies_below_all_others(number: int, known: int) -> None:
    """Found: at the known load within 1e-9 of its demand, the margin that is kept."""
    tariff = drawn_tariff(number, power=9000.0)
    other = None if number % 3 == 0 else drawn_load(number + 2, power=5000.0)
    costs = with_tariff(tariff, other=other, carbon_price=0.03)
    mine = [drawn_load(known + k, power=5000.0) * 3600.0 for k in range(2)]
    plane = supporting_prices(costs=costs, electricity=mine[0], gas=mine[1])
    assert (plane.electricity >= 0.0).all()
    assert (plane.gas >= 0.0).all()
    assert max(plane.electricity_constant, plane.gas_constant) <= 0.0
    for load, burnt in (
        (mine[0], mine[1]),
        (NOTHING, NOTHING),
        (drawn_load(number, power=5000.0) * 3600.0, drawn_load(number + 1, power=3000.0) * 3600.0),
        (mine[0] * 1.02, mine[1] * 0.97),
        (mine[0] + mine[1], mine[1] + mine[0]),
    ):
        added = design_bill(costs=costs, electricity=load, gas=burnt)
        least = float((plane.electricity * load).sum()) + plane.electricity_constant
        assert added.electricity >= least - 1e-12 * added.whole.electricity
        assert added.gas >= float((plane.gas * burnt).sum()) + plane.gas_constant - 1e-12 * added.whole.gas
        convex = all(
            list(period.blocks) == sorted(period.blocks, key=lambda block: block.price)
            for period in tariff.electricity.energy
        )
        if load is mine[0] and convex:
            assert added.electricity == pytest.approx(least, rel=1e-8, abs=1e-6)


def test_a_plane_turns_a_peak_into_a_price_of_its_hour() -> None:
    # the known load peaks once a month at noon of the 10th, the other load of 20 kW is flat: 12 per kW in that hour
    noon = np.isin(np.arange(HOURS), [np.flatnonzero(month == MONTH)[0] + 9 * 24 + 12 for month in range(12)])
    load = np.where(noon, 8000.0, 3000.0) * 3600.0
    costs = with_tariff(make_tariff(price=0.10 / KWH, demand=(charge(12.0 / 1000.0),)), other=flat(20000.0))
    plane = supporting_prices(costs=costs, electricity=load, gas=NOTHING)
    assert plane.electricity[noon] * KWH == pytest.approx(np.full(12, 12.10), rel=1e-12)
    assert plane.electricity[~noon] * KWH == pytest.approx(np.full(HOURS - 12, 0.10), rel=1e-12)
    # the other load has no lower hour: no amount is taken off but for the margin
    assert plane.electricity_constant == pytest.approx(0.0, abs=1e-9 * 12 * 28 * 12.0 * 1.01)


def test_a_plane_over_falling_blocks_runs_to_where_they_end() -> None:
    # 100 kWh at 0.30, 300 at 0.10, the rest at 0.20 a month: from 0 to 400 kWh 60.00, so 0.15, then 0.20
    blocks = (Block(100 * KWH, 0.30 / KWH), Block(400 * KWH, 0.10 / KWH), Block(math.inf, 0.20 / KWH))
    costs = with_tariff(make_tariff(energy=(EnergyPeriod("all", ALWAYS, blocks),)))
    hours = month_sums(np.ones(HOURS))[MONTH]
    small = supporting_prices(costs=costs, electricity=100 * KWH / hours, gas=NOTHING)
    assert small.electricity * KWH == pytest.approx(np.full(HOURS, 0.15), rel=1e-12)
    assert small.electricity_constant == 0.0
    large = supporting_prices(costs=costs, electricity=900 * KWH / hours, gas=NOTHING)
    assert large.electricity * KWH == pytest.approx(np.full(HOURS, 0.20), rel=1e-12)
    assert large.electricity_constant == pytest.approx(12 * (60.0 - 0.20 * 400), rel=1e-12)
