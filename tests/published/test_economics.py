"""Measures of an option against a base case: published formulas, worked cases and numpy-financial."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy_financial
import pytest
from scipy.optimize import brentq

from selector.inputs.site_limits import real_rate
from selector.money.economics import Measures, adjusted_rate_of_return, measures, payback
from selector.money.factors import escalating_present_value, nominal_rate
from selector.money.life_cycle import LifeCycle, life_cycle_of_amounts
from tests.builders import make_costs
from tests.published.test_money import ESCALATING


def cycle(
    *,
    first: float = 0.0,
    electricity: float = 0.0,
    gas: float = 0.0,
    maintenance: float = 0.0,
    again: tuple[tuple[int, float], ...] = (),
    left: float = 0.0,
    rate: float = 0.05,
    years: int = 15,
    escalation: float = 0.0,
    gas_escalation: float = 0.0,
) -> LifeCycle:
    return life_cycle_of_amounts(
        first=first,
        electricity=electricity,
        gas=gas,
        maintenance=maintenance,
        bought_again=again,
        residual=left,
        costs=make_costs(
            discount_rate=rate,
            study_period=years,
            electricity_escalation=escalation,
            gas_escalation=gas_escalation,
        ),
    )


def test_an_investment_that_saves_the_same_every_year() -> None:
    """10,000 today saves 1,500 a year for 15 years at 5 %.

    By the formulas of ASTM E964, E1057, E1074 and E1121: net 5569.487 (numpy-financial npv), ratio 1.556949, adjusted
    return 8.1453 % (numpy-financial mirr), simple payback 10000/1500 years, discounted -ln(1 - 10000 x 0.05/1500) /
    ln 1.05 = 8.3104 years. Found: all within the rounding.
    """
    found = measures(base=cycle(electricity=1500.0), option=cycle(first=10000.0), rate=0.05)
    assert found.net_savings == pytest.approx(5569.487, abs=5e-4)
    assert found.savings == pytest.approx(15569.487, abs=5e-4)
    assert found.added_investment == 10000.0
    assert found.savings_to_investment == pytest.approx(1.556949, abs=5e-7)
    assert found.adjusted_rate_of_return == pytest.approx(0.081453, abs=5e-7)
    assert found.simple_payback == pytest.approx(6.6667, abs=5e-5)
    assert found.discounted_payback == pytest.approx(8.3104, abs=5e-5)
    flows = [-10000.0] + [1500.0] * 15
    assert found.net_savings == pytest.approx(float(numpy_financial.npv(0.05, flows)), rel=1e-12)
    mirr = float(numpy_financial.mirr(np.array(flows), 0.05, 0.05))
    assert found.adjusted_rate_of_return == pytest.approx(mirr, rel=1e-12)


def test_a_system_with_replacement_and_residual_value() -> None:
    """ASTM E917: 20,000 first, 8,000 in year 12, 2,000 left, energy 3,000 rising 2 %, upkeep 500; 3 %, 20 years.

    86,186.11 in all. Against the same building with 5,000 of energy and no system the savings are 2,000 x 18.081229
    less 500 x 14.877475 = 28,723.72, the investment 20,000 + 5,611.04 - 1,107.35 = 24,503.69. Found: half a cent.
    """
    option = cycle(
        first=20000.0,
        electricity=3000.0,
        maintenance=500.0,
        again=((12, 8000.0),),
        left=2000.0,
        rate=0.03,
        years=20,
        escalation=0.02,
    )
    base = cycle(electricity=5000.0, rate=0.03, years=20, escalation=0.02)
    found = measures(base=base, option=option, rate=0.03)
    assert found.life_cycle_cost == pytest.approx(86186.11, abs=5e-3)
    assert found.savings == pytest.approx(28723.72, abs=5e-3)
    assert found.added_investment == pytest.approx(24503.69, abs=5e-3)
    assert found.net_savings == pytest.approx(28723.72 - 24503.69, abs=1e-2)
    assert found.savings_to_investment == pytest.approx(28723.72 / 24503.69, rel=1e-6)


def test_two_systems_in_the_manner_of_the_handbook_of_life_cycle_costing() -> None:
    """After NIST Handbook 135, inputs from memory: 516,221 against 432,428, net savings 83,793.

    Conventional 103,000 first, 12,000 in year 12, 3,500 left, 20,000 of electricity; alternative 110,000, 12,500,
    3,700, 13,000; upkeep 7,000 and 8,000; 3 %, 20 years, factor of electricity 15.13. Found: within 0.45,
    the rounding.
    """
    escalation = float(
        brentq(lambda e: escalating_present_value(rate=0.03, escalation=e, years=20) - 15.13, 0.0, 0.01)
    )

    def system(first: float, again: float, left: float, power: float, upkeep: float) -> LifeCycle:
        return cycle(
            first=first,
            electricity=power,
            maintenance=upkeep,
            again=((12, again),),
            left=left,
            rate=0.03,
            years=20,
            escalation=escalation,
        )

    found = measures(
        base=system(103000.0, 12000.0, 3500.0, 20000.0, 7000.0),
        option=system(110000.0, 12500.0, 3700.0, 13000.0, 8000.0),
        rate=0.03,
    )
    assert found.base_life_cycle_cost == pytest.approx(516221.0, abs=0.45)
    assert found.life_cycle_cost == pytest.approx(432428.0, abs=0.45)
    assert found.net_savings == pytest.approx(83793.0, abs=0.45)
    # 7,000 x 15.13 - 1,000 x 14.877475 = 91,032.5; 7,000 + 500 x 0.701380 - 200 x 0.553676 = 7,239.95
    assert found.savings_to_investment == pytest.approx(91032.5 / 7239.95, rel=5e-7)


def test_a_nominal_rate_beyond_inflation() -> None:
    """ASTM E917: (1 + D)/(1 + I) - 1; 5.5 % nominal and 2 % inflation are 3.43137 % real. Exact."""
    assert real_rate(nominal=0.055, inflation=0.02) == pytest.approx(0.0343137, abs=5e-8)
    assert nominal_rate(rate=real_rate(nominal=0.055, inflation=0.02), inflation=0.02) == pytest.approx(
        0.055, rel=1e-14
    )


@pytest.mark.parametrize(("rate", "escalation", "years", "factor"), ESCALATING)
def test_each_fuel_has_its_own_escalation(rate: float, escalation: float, years: int, factor: float) -> None:
    """UPV* of ASTM E917 on each fuel, UPV on the rest. Found: within the rounding of six digits."""
    uniform = (1.0 - (1.0 + rate) ** -years) / rate
    power = cycle(electricity=1.0, maintenance=1.0, rate=rate, years=years, escalation=escalation)
    assert (power.electricity, power.gas) == pytest.approx((factor, 0.0), abs=5e-7)
    fuel = cycle(gas=1.0, electricity=1.0, rate=rate, years=years, gas_escalation=escalation)
    assert (fuel.gas, fuel.electricity) == pytest.approx((factor, uniform), abs=5e-7)
    assert power.maintenance == pytest.approx(uniform, rel=1e-12)


def test_today_s_money_and_each_year_s_own_money_come_to_the_same() -> None:
    """NIST Handbook 135: constant-dollar and current-dollar analysis agree. numpy-financial discounts. Found: 3e-15."""
    random = np.random.default_rng(31)
    for _ in range(50):
        nominal, inflation, power = (
            random.uniform(0.01, 0.15),
            random.uniform(0.0, 0.08),
            random.uniform(-0.02, 0.1),
        )
        years = int(random.integers(1, 31))
        costs = make_costs(
            discount_rate=real_rate(nominal=nominal, inflation=inflation),
            study_period=years,
            electricity_escalation=real_rate(nominal=power, inflation=inflation),
        )
        first, energy, upkeep = random.uniform(0.0, 1e5), random.uniform(0.0, 2e4), random.uniform(0.0, 2e3)
        again = int(random.integers(1, years + 1))
        found = life_cycle_of_amounts(
            first=first,
            electricity=energy,
            gas=0.0,
            maintenance=upkeep,
            bought_again=((again, 5000.0),),
            residual=1000.0,
            costs=costs,
        )
        # in each year's own money: energy rises by its nominal escalation, all else by inflation
        flows = [first] + [
            energy * (1.0 + power) ** year
            + (upkeep + (5000.0 if year == again else 0.0) - (1000.0 if year == years else 0.0))
            * (1.0 + inflation) ** year
            for year in range(1, years + 1)
        ]
        assert found.total == pytest.approx(float(numpy_financial.npv(nominal, flows)), rel=1e-12)
        grown = [row.total * (1.0 + inflation) ** row.year for row in found.years]
        assert grown == pytest.approx(flows, rel=1e-12)
        assert nominal_rate(rate=costs.discount_rate, inflation=inflation) == pytest.approx(
            nominal, rel=1e-12
        )


def random_pair(random: np.random.Generator) -> tuple[LifeCycle, LifeCycle, float]:
    """Two life cycles over one study; invented."""
    rate, years = float(random.uniform(0.001, 0.15)), int(random.integers(1, 31))
    escalation, gas_escalation = (float(random.uniform(-0.02, 0.05)) for _ in range(2))

    def one(scale: float) -> LifeCycle:
        again = int(random.integers(1, years + 1))
        return cycle(
            first=float(random.uniform(0.0, 5e4)) * scale,
            electricity=float(random.uniform(0.0, 1e4)),
            gas=float(random.uniform(0.0, 5e3)),
            maintenance=float(random.uniform(0.0, 1e3)),
            again=((again, float(random.uniform(0.0, 1e4))),),
            left=float(random.uniform(0.0, 2e3)),
            rate=rate,
            years=years,
            escalation=escalation,
            gas_escalation=gas_escalation,
        )

    return one(0.2), one(1.0), rate


def flows_of(base: LifeCycle, option: LifeCycle) -> list[float]:
    return [one.total - other.total for one, other in zip(base.years, option.years, strict=True)]


def test_random_options_against_numpy_financial() -> None:
    """Net savings are numpy-financial's npv of the differences. Found: within 1e-15 of the costs.

    The adjusted return is its mirr where all investment is today and every later year saves. Found: within 1e-12.
    """
    random = np.random.default_rng(19)
    compared = 0
    for _ in range(300):
        base, option, rate = random_pair(random)
        found = measures(base=base, option=option, rate=rate)
        flows = flows_of(base, option)
        size = base.total + option.total
        assert found.net_savings == pytest.approx(float(numpy_financial.npv(rate, flows)), abs=1e-13 * size)
        assert found.net_savings == pytest.approx(found.savings - found.added_investment, abs=1e-13 * size)
        plain = replace(option, replacement=base.replacement, residual=base.residual)
        years = [
            replace(
                row, total=row.total - row.replacement - row.residual + other.replacement + other.residual
            )
            for row, other in zip(option.years, base.years, strict=True)
        ]
        plain = replace(plain, years=tuple(years))
        later = flows_of(base, plain)
        if later[0] < 0.0 and all(flow > 0.0 for flow in later[1:]):
            mirr = float(numpy_financial.mirr(np.array(later), rate, rate))
            gain = measures(base=base, option=plain, rate=rate).adjusted_rate_of_return
            assert gain == pytest.approx(mirr, abs=1e-11)
            compared += 1
    assert compared > 30


def test_random_options_keep_the_identities() -> None:
    """A ratio above 1, a return above the discount rate, net savings above 0 and a payback within the study are one."""
    random = np.random.default_rng(20)
    told = {"saves": 0, "does not": 0, "without investment": 0}
    for _ in range(500):
        base, option, rate = random_pair(random)
        found = measures(base=base, option=option, rate=rate)
        saves = found.net_savings > 0.0
        assert (found.life_cycle_cost < found.base_life_cycle_cost) == saves
        assert (found.discounted_payback is not None) == saves
        if found.added_investment <= 0.0:
            assert found.savings_to_investment is None
            assert found.adjusted_rate_of_return is None
            told["without investment"] += 1
            continue
        assert found.savings_to_investment is not None
        assert (found.savings_to_investment > 1.0) == saves
        if found.savings_to_investment < 0.0:
            assert found.adjusted_rate_of_return is None
        else:
            assert found.adjusted_rate_of_return is not None
            assert (found.adjusted_rate_of_return > rate) == saves
        told["saves" if saves else "does not"] += 1
    assert min(told.values()) > 10, told


def test_the_lowest_life_cycle_cost_is_the_highest_net_saving_and_not_always_the_highest_ratio() -> None:
    """NIST Handbook 135: ratios rank projects for a budget, not options of one project.

    A small option: 10,000 saves 1,500 a year, ratio 1.557. A large one: 40,000 saves 5,500 a year, ratio 1.427, but net
    57,088 - 40,000 = 17,088 against 5,569.
    """
    base = cycle(electricity=10000.0)
    small, large = cycle(first=10000.0, electricity=8500.0), cycle(first=40000.0, electricity=4500.0)
    one, other = (measures(base=base, option=option, rate=0.05) for option in (small, large))
    assert (one.net_savings, other.net_savings) == pytest.approx((5569.487, 17088.119), abs=5e-4)
    assert one.savings_to_investment is not None
    assert other.savings_to_investment is not None
    assert one.savings_to_investment > other.savings_to_investment
    assert large.total < small.total < base.total


def test_life_cycle_cost_over_the_uniform_factor_is_the_annualised_cost() -> None:
    found = cycle(first=1000.0, electricity=70.0, rate=0.05, years=20)
    assert found.annualised == pytest.approx(found.total / 12.462210, rel=1e-7)


def by_steps(flows: list[float], rate: float) -> float | None:
    """Payback by small steps: each year's flow is spread evenly over 20,000 steps of it, each discounted by itself."""
    steps, total, ahead = 20000, flows[0], []
    ahead.append((0.0, total))
    for year, flow in enumerate(flows[1:]):
        spread = np.log1p(rate) / rate if rate else 1.0
        at = year + (np.arange(steps) + 0.5) / steps
        grown = total + np.cumsum(flow * spread * (1.0 + rate) ** -at / steps)
        ahead += [(year + (step + 1) / steps, float(grown[step])) for step in range(steps)]
        total = float(grown[-1])
    behind = [at for at, value in ahead if value < 0.0]
    if ahead[-1][1] < -1e-6:
        return None
    return behind[-1] if behind else 0.0


@pytest.mark.parametrize("rate", [0.0, 0.05, 0.12])
def test_payback_found_by_small_steps(rate: float) -> None:
    """Found: within 2e-4 years, the width of a few steps."""
    for flows in (
        [-1000.0, 300.0, 300.0, 300.0, 300.0, 300.0, 300.0],
        [-1000.0, 900.0, 400.0, -500.0, 400.0, 400.0, 100.0],  # behind again after a replacement
        [-1000.0, 100.0, 100.0, 100.0],
        [200.0, 100.0, 50.0],
        [500.0, -100.0, -100.0],
    ):
        expected = by_steps(flows, rate)
        found = payback(flows=flows, rate=rate)
        if expected is None:
            assert found is None
        else:
            assert found == pytest.approx(expected, abs=2e-4)


def test_payback_that_never_comes() -> None:
    found: Measures = measures(base=cycle(electricity=100.0), option=cycle(first=10000.0), rate=0.05)
    assert (found.simple_payback, found.discounted_payback) == (None, None)
    assert found.savings_to_investment is not None
    assert found.savings_to_investment < 1.0


def test_an_option_that_costs_less_from_the_first_day() -> None:
    found = measures(base=cycle(first=500.0, electricity=100.0), option=cycle(first=300.0), rate=0.05)
    assert (found.simple_payback, found.discounted_payback) == (0.0, 0.0)
    assert found.savings_to_investment is None
    assert found.net_savings == pytest.approx(200.0 + 100.0 * 10.379658, abs=1e-4)


def test_the_nominal_return_has_inflation_on_it() -> None:
    found = measures(base=cycle(electricity=1500.0), option=cycle(first=10000.0), rate=0.05, inflation=0.02)
    assert found.adjusted_rate_of_return is not None
    assert found.nominal_rate_of_return == pytest.approx(1.0814530 * 1.02 - 1.0, abs=5e-7)


def test_studies_of_different_length_are_not_compared() -> None:
    with pytest.raises(ValueError, match="study of 10 years against one of 15; they have to be the same"):
        measures(base=cycle(years=15), option=cycle(years=10), rate=0.05)


def test_a_return_needs_a_ratio_and_a_year() -> None:
    assert adjusted_rate_of_return(ratio=1.0, rate=0.05, years=15) == pytest.approx(0.05, rel=1e-14)
    assert adjusted_rate_of_return(ratio=0.0, rate=0.05, years=15) == -1.0
    for ratio, years in ((-0.1, 15), (1.0, 0)):
        with pytest.raises(ValueError, match="both have to be positive"):
            adjusted_rate_of_return(ratio=ratio, rate=0.05, years=years)
    assert math.isclose(adjusted_rate_of_return(ratio=2.0, rate=0.0, years=1), 1.0)
