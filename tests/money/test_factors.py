"""Present-value factors: hand cases, limits, identities."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.money.factors import (
    capital_recovery,
    escalating_present_value,
    single_present_value,
    uniform_present_value,
)

RATE = st.floats(0.0, 0.3)
YEARS = st.integers(1, 40)


def test_two_years_by_hand() -> None:
    # At 25 %: 1/1.25 = 0.8, 0.8^2 = 0.64; sum 1.44; with prices that rise 25 % as well: 1 + 1 = 2.
    assert single_present_value(rate=0.25, year=2) == pytest.approx(0.64, rel=1e-15)
    assert uniform_present_value(rate=0.25, years=2) == pytest.approx(1.44, rel=1e-15)
    assert escalating_present_value(rate=0.25, escalation=0.25, years=2) == pytest.approx(2.0, rel=1e-15)


def test_no_discount_counts_the_years() -> None:
    assert uniform_present_value(rate=0.0, years=15) == 15.0
    assert single_present_value(rate=0.0, year=15) == 1.0


@given(rate=RATE, years=YEARS)
def test_capital_recovery_repays(rate: float, years: int) -> None:
    payment = capital_recovery(rate=rate, years=years)
    repaid = sum(payment * single_present_value(rate=rate, year=year) for year in range(1, years + 1))
    assert repaid == pytest.approx(1.0, abs=1e-13)


@given(rate=st.floats(0.01, 0.3), escalation=st.floats(-0.05, 0.2), years=YEARS)
def test_escalating_factor_is_its_closed_form(rate: float, escalation: float, years: int) -> None:
    if abs(rate - escalation) < 1e-3:
        return
    closed = (1 + escalation) / (rate - escalation) * (1 - ((1 + escalation) / (1 + rate)) ** years)
    found = escalating_present_value(rate=rate, escalation=escalation, years=years)
    assert found == pytest.approx(closed, rel=1e-11)


def test_recovery_over_no_years_is_refused() -> None:
    with pytest.raises(ValueError, match="capital recovery over 0 years; it takes at least 1"):
        capital_recovery(rate=0.05, years=0)
