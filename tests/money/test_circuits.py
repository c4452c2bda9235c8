"""The first size of a circuit, by hand from the rule.

The rule and its ratings (NFPA 70, 210.20(A) and table 240.6(A); IEC 60898-1) are values from memory; these tests hold
the arithmetic, not the codes.
"""

from __future__ import annotations

import pytest

from selector.money.circuits import INTERNATIONAL, NORTH_AMERICAN, circuit_for


@pytest.mark.parametrize(
    ("voltage", "phases", "current", "ampacity", "breaker", "poles"),
    [
        (208.0, 1, 10.1, 12.625, 15, 2),  # 1.25 x 10.1 = 12.625, next of 15, 20, 25, ...
        (120.0, 1, 13.4, 16.75, 20, 1),
        (208.0, 3, 22.9, 28.625, 30, 3),
        (480.0, 3, 1.0, 1.25, 15, 3),  # the smallest of the series
        (208.0, 1, 12.0, 15.0, 15, 2),  # at the rating, not above it
        (208.0, 1, 12.1, 15.125, 20, 2),
        (480.0, 3, 500.0, 625.0, None, 3),  # beyond the series: nothing is said
        (230.0, 1, 10.0, 12.5, 13, 1),
        (400.0, 3, 52.0, 65.0, 80, 3),
    ],
)
def test_the_next_rating_at_or_above_125_percent(
    voltage: float, phases: int, current: float, ampacity: float, breaker: int | None, poles: int
) -> None:
    found = circuit_for(voltage=voltage, phases=phases, current=current)
    assert found.ampacity == pytest.approx(ampacity, rel=1e-15)
    assert (found.breaker, found.poles) == (breaker, poles)
    assert (found.voltage, found.phases, found.current) == (voltage, phases, current)


def test_the_series_follows_the_voltage() -> None:
    assert circuit_for(voltage=400.0, phases=3, current=5.0).series == "IEC 60898-1"
    assert circuit_for(voltage=208.0, phases=3, current=5.0).series == "NFPA 70, table 240.6(A)"


def test_ratings_rise() -> None:
    for series in (NORTH_AMERICAN, INTERNATIONAL):
        assert list(series) == sorted(set(series))


def test_a_negative_current_is_refused() -> None:
    with pytest.raises(ValueError, match=r"current of a unit is -1 A; it may not be negative"):
        circuit_for(voltage=208.0, phases=1, current=-1.0)
