"""Replacements, what is left at the end, and the years of a life-cycle cost."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.money.life_cycle import (
    life_cycle_cost,
    life_cycle_of_amounts,
    per_unit_present_value,
    replacements,
)
from tests.builders import make_costs, make_site, make_unit


@pytest.mark.parametrize(
    ("service_life", "study_period", "years", "left"),
    [
        (15.0, 15, (), 0.0),  # ends with the study
        (20.0, 15, (), 0.25),  # 5 of 20 years left
        (10.0, 15, (10,), 0.5),  # bought again in year 10, 5 of 10 left
        (5.0, 15, (5, 10), 0.0),
        (6.0, 15, (6, 12), 0.5),  # third unit from 12 to 18
        (7.5, 15, (8,), 0.0),  # ends in the middle of year 8, paid at that year's end
        (14.5, 15, (15,), 14.0 / 14.5),  # ends in the middle of the last year
        (0.5, 2, (1, 1, 2), 0.0),
        (100.0, 1, (), 0.99),
    ],
)
def test_replacements(service_life: float, study_period: int, years: tuple[int, ...], left: float) -> None:
    found, share = replacements(service_life=service_life, study_period=study_period)
    assert found == years
    assert share == pytest.approx(left, abs=1e-12)


@given(service_life=st.floats(0.5, 60.0), study_period=st.integers(1, 40))
def test_life_bought_is_life_used_and_life_left(service_life: float, study_period: int) -> None:
    years, left = replacements(service_life=service_life, study_period=study_period)
    bought = (1 + len(years)) * service_life
    assert bought == pytest.approx(study_period + left * service_life, rel=1e-8)
    assert all(1 <= year <= study_period for year in years)


def test_service_life_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="service life is 0 years; it has to be above 0"):
        replacements(service_life=0.0, study_period=15)


def test_life_cycle_by_hand() -> None:
    # 25 % a year, 2 years, electricity 100 rising 25 %, gas 10, upkeep 50, a 400 unit that lasts 1.6 years:
    # year 1: 125 + 10 + 50; year 2: 156.25 + 10 + 50 + 400 - 400 x 1.2/1.6 = -300 left.
    # Present values: first 1000; electricity 200; gas 14.4; upkeep 72; replacement 256; residual -192; 1350.4.
    found = life_cycle_cost(
        first=1000.0,
        electricity=100.0,
        gas=10.0,
        maintenance=50.0,
        units=((make_unit(price=400.0, service_life=1.6), 1),),
        costs=make_costs(discount_rate=0.25, study_period=2, electricity_escalation=0.25),
    )
    parts = (found.electricity, found.gas, found.maintenance, found.replacement, found.residual)
    assert parts == pytest.approx((200.0, 14.4, 72.0, 256.0, -192.0), rel=1e-12)
    assert found.total == pytest.approx(1350.4, rel=1e-12)
    assert [row.total for row in found.years] == pytest.approx([1000.0, 185.0, 316.25], rel=1e-12)
    # 1350.4 / 1.44 a year.
    assert found.annualised == pytest.approx(937.7777777777778, rel=1e-12)


@given(
    price=st.floats(100.0, 1e5),
    service_life=st.floats(1.0, 30.0),
    maintenance=st.floats(0.0, 5000.0),
    count=st.integers(0, 6),
    rate=st.floats(0.0, 0.2),
    study_period=st.integers(1, 30),
)
def test_one_unit_times_the_count_is_the_design(
    price: float, service_life: float, maintenance: float, count: int, rate: float, study_period: int
) -> None:
    unit = make_unit(price=price, service_life=service_life, maintenance=maintenance)
    costs = make_costs(discount_rate=rate, study_period=study_period)
    site = make_site(costs=costs, units=(unit,))
    whole = life_cycle_cost(
        first=0.0,
        electricity=0.0,
        gas=0.0,
        maintenance=count * maintenance,
        units=((unit, count),),
        costs=costs,
    )
    each = per_unit_present_value(site=site, unit=unit)
    size = count * (price + maintenance * study_period)
    assert whole.total == pytest.approx(count * each, abs=1e-10 * (1.0 + size))


def test_replacement_outside_the_study_is_refused() -> None:
    with pytest.raises(ValueError, match="replacement in year 16; allowed: 1 to 15"):
        life_cycle_of_amounts(
            first=0.0,
            electricity=0.0,
            gas=0.0,
            maintenance=0.0,
            bought_again=((16, 100.0),),
            residual=0.0,
            costs=make_costs(study_period=15),
        )
