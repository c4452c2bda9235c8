"""How far a limit on hours must move, against simulating every design of a small case in full."""

from __future__ import annotations

import pytest

from selector.decide.choose import choose
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.limits import broken_before_simulation, hours_limit
from selector.physics.prepare import Prepared
from tests.decide.small_cases import designs_of, make_case

WARM = "hours too warm"


def simulated(prepared: Prepared) -> list[Evaluation]:
    extra = prepared.site.limits.extra_hours_too_warm
    allowed = None
    if extra is not None:
        allowed = evaluate(prepared=prepared, install=()).hours_too_warm + extra
    return [
        evaluate(prepared=prepared, install=install, warm_allowed=allowed)
        for install in designs_of(prepared.site)
        if not broken_before_simulation(prepared=prepared, install=install)
    ]


def hours_of(one: Evaluation, limit: str) -> float:
    if limit == WARM:
        return one.hours_too_warm
    return next(each.hours_above for each in one.limits if hours_limit(each.name) == limit)


@pytest.mark.parametrize(
    "number", [11, 14, 36, 42, 99]
)  # in 42 the design with the fewest hours is the dearest
def test_least_hours_of_any_design(number: int) -> None:
    prepared = make_case(number).prepared
    choice = choose(prepared=prepared)
    assert choice.best is None
    every = simulated(prepared)
    moves = [move for move in choice.moves if move.unit == "h"]
    assert any(move.status == "proved" for move in moves)
    for move in moves:
        kept = [one for one in every if all(broken.limit == move.limit for broken in one.broken)]
        if move.status == "proved":
            assert move.needed == min(hours_of(one, move.limit) for one in kept)
        else:
            assert move.status == "does not help"
            assert not kept
