"""Where a sweep's answer changes: what lies between steps is what a dense sweep finds, and on made-up winners too."""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable, Iterable, Sequence

import pytest

from selector.decide.choose import choose
from selector.decide.contest import Contest
from selector.decide.evaluate import evaluate
from selector.decide.sweep import sweep
from selector.decide.sweep_results import DesignFigures, StepResult
from selector.decide.sweep_run import Job, Result
from selector.decide.sweep_switch import find_switches, line_of, spans
from selector.inputs.site import Install
from tests.decide.small_cases import make_case
from tests.decide.sweeps import at, narrow_room, swept_room, varied

Design = tuple[Install, ...]


@pytest.mark.parametrize("number", [5, 18])
def test_a_price_at_which_two_designs_cost_the_same_is_bracketed(number: int) -> None:
    """A design's life-cycle cost is linear in the price of electricity, so the point can be solved for."""
    prepared = make_case(number).prepared
    variations = varied(prepared.site, ("electricity-price", "0 USD/kWh", "0.6 USD/kWh", 4))
    found = sweep(prepared=prepared, variations=variations, processes=1)
    assert found.resolution is not None
    assert found.switches, "nothing switches: another case is wanted"
    for switch in found.switches:
        low, high = switch.low, switch.high
        assert low.install is not None
        assert high.install is not None
        ends = variations[0].values[0], variations[0].values[-1]
        lines = []
        for install in (low.install, high.install):
            costs = [
                evaluate(prepared=at(prepared, variations, (value,)), install=install).costs.life_cycle
                for value in ends
            ]
            slope = (costs[1] - costs[0]) / (ends[1] - ends[0])
            lines.append((costs[0] - slope * ends[0], slope))
        point = (lines[1][0] - lines[0][0]) / (lines[0][1] - lines[1][1])
        assert low.value <= point <= high.value
        assert high.value - low.value <= found.resolution * (1.0 + 1e-9)


def test_every_switch_of_a_dense_sweep_is_found() -> None:
    """27 points chosen for one after the other; in this case hours above go to and fro, and with them the choice."""
    prepared = make_case(4).prepared
    variations = varied(prepared.site, ("outdoor-air-fraction", "10 %", "35 %", 3))
    found = sweep(prepared=prepared, variations=variations, resolution=1.0 / 26.0, processes=1)
    dense = varied(prepared.site, ("outdoor-air-fraction", "10 %", "35 %", 27))
    chosen = [choose(prepared=at(prepared, dense, (value,))) for value in dense[0].values]
    pairs = list(itertools.pairwise(zip(dense[0].values, chosen, strict=True)))
    wanted = [
        (low, high)
        for (low, one), (high, other) in pairs
        if (one.best and one.best.install) != (other.best and other.best.install)
    ]
    assert len(wanted) >= 4, "too few switches: another case is wanted"
    got = [value for switch in found.switches for value in (switch.low.value, switch.high.value)]
    assert got == pytest.approx([value for pair in wanted for value in pair], rel=1e-12)
    assert all(side.proved for switch in found.switches for side in (switch.low, switch.high))


def test_costs_at_a_switch_are_those_of_both_designs() -> None:
    prepared, found = narrow_room(), swept_room()
    assert found.switches, "nothing switches: another range is wanted"
    for switch in found.switches:
        for side, other in ((switch.low, switch.high), (switch.high, switch.low)):
            there = at(prepared, found.variations, (side.value,))
            existing = evaluate(prepared=there, install=())
            warm = existing.hours_too_warm + 50.0
            assert side.install is not None
            own = evaluate(prepared=there, install=side.install, warm_allowed=warm)
            assert own.feasible
            assert side.cost == own.costs.life_cycle
            assert other.install is not None
            rival = evaluate(prepared=there, install=other.install, warm_allowed=warm)
            assert side.other_cost == (rival.costs.life_cycle if rival.feasible else None)
            assert side.other_cost is None or side.other_cost >= side.cost
            assert side.other is not None  # its cost is known where it breaks a limit, too
            assert (side.other.life_cycle, side.other.feasible) == (rival.costs.life_cycle, rival.feasible)


# ------------------------------------------------------------------------ what lies between, on made-up winners


def figures(install: Design, cost: float) -> DesignFigures:
    return DesignFigures(install, 0.0, 0.0, cost, 0, 40.0, 0.5, 10.0, 0, 0, 0, True, ())


def made_step(value: float, install: Design, estimated: tuple[Design, ...]) -> StepResult:
    best = figures(install, 1.0)
    return StepResult(
        (value,), best, None, figures((), 0.0), None, (), None, "optimal", 1.0, 0.1, estimated, None
    )


def design(letter: str) -> Design:
    return (Install(letter, "standalone", 1),)


def winner_at(value: float, parts: Sequence[tuple[float, str]]) -> Design:
    """What wins where: each part from its value on."""
    return design(next(letter for start, letter in reversed(parts) if value >= start))


def seek(
    parts: Sequence[tuple[float, str]], steps: int, *, estimated: str = "ABC"
) -> list[tuple[float, float]]:
    """Find the switches of made-up winners between 0 and 1; an estimate knows the designs in `estimated`."""
    values = [place / (steps - 1) for place in range(steps)]

    def at_value(value: float) -> StepResult:
        return made_step(value, winner_at(value, parts), tuple(design(letter) for letter in estimated))

    def do(jobs: Sequence[Callable[[], Job]]) -> Iterable[tuple[int, Result]]:
        for place, make in enumerate(jobs):
            job = make()
            assert job.values is not None
            first = winner_at(job.values[0], parts)
            if job.kind == "choose":
                yield place, at_value(job.values[0])
                continue
            yield place, Contest(first if first in job.designs else job.designs[0], 1.0)

    line = line_of(steps=[at_value(value) for value in values], resolution=0.002)
    found = find_switches(
        line=line,
        do=do,
        figures=lambda value, install: figures(install, 2.0),
        staying=None,
        progress=lambda what: None,
    )
    return [(one.low.value, one.high.value) for one in found]


def brackets(found: Sequence[tuple[float, float]], points: Sequence[float]) -> bool:
    return len(found) == len(points) and all(
        low < point <= high and high - low <= 0.002 + 1e-12
        for (low, high), point in zip(found, points, strict=True)
    )


@pytest.mark.parametrize("steps", [2, 3, 6, 12, 21])
def test_switches_anywhere_are_bracketed_to_the_resolution(steps: int) -> None:
    draw = random.Random(steps)
    for _ in range(30):
        # stretches of 2.6 % of the range and more
        points = sorted(draw.sample(range(3, 96, 3), draw.choice((0, 1, 2, 5))))
        starts = [0.0, *(point / 100.0 + draw.uniform(0.0, 0.001) for point in points)]
        letters = ["A"]
        for _ in points:
            letters.append(draw.choice([name for name in "ABC" if name != letters[-1]]))
        parts = list(zip(starts, letters, strict=True))
        found = seek(parts, steps)
        assert brackets(found, starts[1:]), f"{parts}\n{found}"


@pytest.mark.parametrize("steps", [2, 6, 21])
def test_a_choice_that_goes_to_and_fro_is_listed_in_full(steps: int) -> None:
    """At the resolution itself, close to a change."""
    draw = random.Random(100 + steps)
    for _ in range(30):
        start = 0.0005 + draw.randrange(60, 430) / 500.0
        parts = [(0.0, "A")]
        point = start
        for turn in range(draw.choice((1, 3, 5))):
            parts.append((point, "B" if turn % 2 == 0 else "A"))
            point += draw.randint(1, 4) / 500.0
        found = seek(parts, steps)
        assert brackets(found, [value for value, _ in parts[1:]]), f"{parts}\n{found}"


def test_a_winner_that_nobody_expected_is_found_by_its_proof() -> None:
    """C wins at no step and no estimate names it; it turns up where a change between A and B is chosen for in full."""
    parts = [(0.0, "A"), (0.413, "C"), (0.431, "B")]
    found = seek(parts, 3, estimated="")
    assert brackets(found, [0.413, 0.431])


def test_the_ends_of_a_stretch_are_bisected() -> None:
    def inside(value: float) -> bool:
        return 0.31 <= value < 0.62

    values = [place / 10.0 for place in range(11)]
    (one,) = spans(values=values, holds=[inside(v) for v in values], probe=inside, resolution=0.001)
    assert inside(one.low)
    assert inside(one.high)
    assert 0.31 <= one.low <= 0.311
    assert 0.619 <= one.high < 0.62
    assert not one.from_end
    assert not one.to_end
    everywhere = spans(values=values, holds=[True] * 11, probe=inside, resolution=0.001)
    assert [(span.low, span.high, span.from_end, span.to_end) for span in everywhere] == [
        (0.0, 1.0, True, True)
    ]
    assert spans(values=values, holds=[False] * 11, probe=inside, resolution=0.001) == ()
