"""Present-value factors and life-cycle costs against tables, worked cases and numpy-financial.

The formulas of ASTM E917 and NIST Handbook 135 are from memory; no worked example of either was at hand in print. What
is sure is the arithmetic: closed forms, numpy-financial and term-by-term sums agree.
"""

from __future__ import annotations

import numpy as np
import numpy_financial
import pytest
from scipy.optimize import brentq

from selector.money.factors import (
    capital_recovery,
    escalating_present_value,
    single_present_value,
    uniform_present_value,
)
from selector.money.life_cycle import life_cycle_cost, life_cycle_of_amounts
from tests.builders import make_costs, make_unit

# SPV, UPV and capital recovery, which ASTM E917 and NIST Handbook 135 tabulate, here to six digits as closed form and
# numpy-financial both give them. Found: within 5e-7, the rounding.
FACTORS = [
    (0.03, 10, 0.744094, 8.530203, 0.117231),
    (0.03, 15, 0.641862, 11.937935, 0.083767),
    (0.03, 20, 0.553676, 14.877475, 0.067216),
    (0.03, 25, 0.477606, 17.413148, 0.057428),
    (0.03, 30, 0.411987, 19.600441, 0.051019),
    (0.05, 10, 0.613913, 7.721735, 0.129505),
    (0.05, 15, 0.481017, 10.379658, 0.096342),
    (0.05, 20, 0.376889, 12.462210, 0.080243),
    (0.07, 10, 0.508349, 7.023582, 0.142378),
    (0.07, 15, 0.362446, 9.107914, 0.109795),
    (0.07, 20, 0.258419, 10.594014, 0.094393),
    (0.08, 20, 0.214548, 9.818147, 0.101852),
    (0.10, 20, 0.148644, 8.513564, 0.117460),
]


@pytest.mark.parametrize(("rate", "years", "single", "uniform", "recovery"), FACTORS)
def test_factors_of_the_tables(
    rate: float, years: int, single: float, uniform: float, recovery: float
) -> None:
    assert single_present_value(rate=rate, year=years) == pytest.approx(single, abs=5e-7)
    assert uniform_present_value(rate=rate, years=years) == pytest.approx(uniform, abs=5e-7)
    assert capital_recovery(rate=rate, years=years) == pytest.approx(recovery, abs=5e-7)


@pytest.mark.parametrize(("rate", "years", "single", "uniform", "recovery"), FACTORS)
def test_factors_of_numpy_financial(
    rate: float, years: int, single: float, uniform: float, recovery: float
) -> None:
    # Found: within 2e-14.
    assert single_present_value(rate=rate, year=years) == pytest.approx(
        -numpy_financial.pv(rate, years, 0.0, 1.0), rel=1e-13
    )
    assert uniform_present_value(rate=rate, years=years) == pytest.approx(
        -numpy_financial.pv(rate, years, 1.0), rel=1e-13
    )
    assert capital_recovery(rate=rate, years=years) == pytest.approx(
        -numpy_financial.pmt(rate, years, 1.0), rel=1e-13
    )


# UPV* = ((1+e)/(d-e)) (1 - ((1+e)/(1+d))^n), ASTM E917; n where d = e. Found: within 5e-7, the rounding.
ESCALATING = [
    (0.03, 0.02, 20, 18.081229),
    (0.05, 0.02, 20, 14.958710),
    (0.07, 0.03, 15, 11.209513),
    (0.08, 0.03, 20, 12.617543),
    (0.03, 0.03, 20, 20.0),
]


@pytest.mark.parametrize(("rate", "escalation", "years", "factor"), ESCALATING)
def test_escalating_factor(rate: float, escalation: float, years: int, factor: float) -> None:
    found = escalating_present_value(rate=rate, escalation=escalation, years=years)
    assert found == pytest.approx(factor, abs=5e-7)


def test_life_cycle_cost_of_a_worked_case() -> None:
    # First 20,000; 8,000 in year 12; 2,000 left in year 20; energy 3,000 a year rising 2 %; upkeep 500; 3 %, 20
    # years: 20,000 + 5,611.04 + 54,243.69 + 7,438.74 - 1,107.35 = 86,186.11 by the formulas of ASTM E917.
    found = life_cycle_of_amounts(
        first=20000.0,
        electricity=3000.0,
        gas=0.0,
        maintenance=500.0,
        bought_again=((12, 8000.0),),
        residual=2000.0,
        costs=make_costs(discount_rate=0.03, study_period=20, electricity_escalation=0.02),
    )
    parts = (found.first, found.replacement, found.electricity, found.maintenance, found.residual)
    assert parts == pytest.approx((20000.0, 5611.04, 54243.69, 7438.74, -1107.35), abs=0.005)
    assert found.total == pytest.approx(86186.11, abs=0.005)


def test_two_systems_in_the_manner_of_the_handbook_of_life_cycle_costing() -> None:
    # After NIST Handbook 135, inputs from memory: conventional 103,000 first, 12,000 in year 12, 3,500 left,
    # 20,000 of electricity a year; alternative 110,000, 12,500, 3,700, 13,000; upkeep 7,000 and 8,000; 3 %, 20
    # years, electricity's factor 15.13. 516,221 and 432,428. Found: within 0.45, the rounding.
    escalation = brentq(
        lambda e: escalating_present_value(rate=0.03, escalation=e, years=20) - 15.13, 0.0, 0.01
    )
    costs = make_costs(discount_rate=0.03, study_period=20, electricity_escalation=escalation)

    def total(first: float, again: float, left: float, power: float, upkeep: float) -> float:
        return life_cycle_of_amounts(
            first=first,
            electricity=power,
            gas=0.0,
            maintenance=upkeep,
            bought_again=((12, again),),
            residual=left,
            costs=costs,
        ).total

    base = total(103000.0, 12000.0, 3500.0, 20000.0, 7000.0)
    alternative = total(110000.0, 12500.0, 3700.0, 13000.0, 8000.0)
    assert (base, alternative) == pytest.approx((516221.0, 432428.0), abs=0.45)
    assert base - alternative == pytest.approx(83793.0, abs=0.45)


def test_random_cash_flows_against_numpy_financial() -> None:
    # An amount today and one in every year, of either sign. Found: within 1e-13 of the sum of sizes.
    random = np.random.default_rng(17)
    for _ in range(200):
        rate = float(random.uniform(0.001, 0.2))
        flows = random.normal(0.0, 1e4, int(random.integers(2, 41)))
        found = life_cycle_of_amounts(
            first=float(flows[0]),
            electricity=0.0,
            gas=0.0,
            maintenance=0.0,
            bought_again=tuple(enumerate(map(float, flows[1:]), start=1)),
            residual=0.0,
            costs=make_costs(discount_rate=rate, study_period=len(flows) - 1),
        ).total
        size = float(np.abs(flows).sum())
        assert found == pytest.approx(float(numpy_financial.npv(rate, flows)), abs=1e-13 * size)


def test_random_life_cycles_against_numpy_financial() -> None:
    # The years' totals, discounted by numpy-financial, are the life-cycle cost; its equal payment is the
    # annualised cost. Found: within 3e-15 and 1e-14.
    random = np.random.default_rng(18)
    for _ in range(200):
        costs = make_costs(
            discount_rate=float(random.uniform(0.001, 0.15)),
            study_period=int(random.integers(1, 31)),
            electricity_escalation=float(random.uniform(-0.02, 0.05)),
            gas_escalation=float(random.uniform(-0.02, 0.05)),
        )
        unit = make_unit(
            price=float(random.uniform(500.0, 20000.0)),
            service_life=float(random.uniform(3.0, 25.0)),
        )
        found = life_cycle_cost(
            first=float(random.uniform(0.0, 50000.0)),
            electricity=float(random.uniform(0.0, 20000.0)),
            gas=float(random.uniform(0.0, 5000.0)),
            maintenance=float(random.uniform(0.0, 2000.0)),
            units=((unit, int(random.integers(0, 5))),),
            costs=costs,
        )
        flows = [row.total for row in found.years]
        assert found.total == pytest.approx(float(numpy_financial.npv(costs.discount_rate, flows)), rel=1e-12)
        payment = -numpy_financial.pmt(costs.discount_rate, costs.study_period, found.total)
        assert found.annualised == pytest.approx(float(payment), rel=1e-12)
