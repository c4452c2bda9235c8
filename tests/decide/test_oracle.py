"""The choice against an oracle that simulates every design of a small case through the whole year.

The oracle counts through all designs by itself, calls `evaluate` for each and the plain hourly simulation for each way
to take units out, and keeps the cheapest that holds. It shares neither the order of the search, nor common years, nor
early stops with it. Found over all 200 cases: life-cycle costs agree to AGREEMENT, feasibility and designs exactly.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

import pytest

from selector.decide.choose import choose
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.limits import broken_before_simulation
from selector.inputs.site import ARRANGEMENTS, Install
from selector.physics.hourly import simulate_hours
from selector.physics.prepare import Prepared, lead_order
from tests.decide.small_cases import Case, designs_of, make_case

CASES, CHUNK = 200, 20
AGREEMENT = 1e-7


@dataclass(frozen=True, eq=False)
class Answer:
    """What the oracle found: designs that keep all limits, cheapest first."""

    kept: tuple[Evaluation, ...]
    simulated: int
    spare_decided: bool  # a cheaper design held, but not with units out


def ways_out(parts: tuple[Install, ...], spare: int) -> Iterator[tuple[Install, ...]]:
    """What is left of all units with any `spare` of them out of service, or with none where there are fewer."""
    spare = min(spare, sum(part.count for part in parts))
    for out in itertools.product(*(range(part.count + 1) for part in parts)):
        if sum(out) == spare:
            yield tuple(
                Install(part.model, part.arrangement, part.count - gone)
                for part, gone in zip(parts, out, strict=True)
                if part.count > gone
            )


def holds_with_units_out(
    prepared: Prepared, install: tuple[Install, ...], warm_allowed: float | None
) -> bool:
    every = lead_order(prepared=prepared, install=(*install, *prepared.site.existing_units))
    for less in ways_out(every, prepared.site.limits.spare_units):
        year = simulate_hours(prepared=prepared, install=less)
        allowed = [target.allowed_hours_above for target in prepared.site.targets]
        if (year.above.sum(axis=0) > allowed).any() or year.frost_hours:
            return False
        if warm_allowed is not None and year.warm.sum() > warm_allowed:
            return False
    return True


def ask_oracle(case: Case) -> Answer:
    prepared = case.prepared
    limits = prepared.site.limits
    extra = limits.extra_hours_too_warm
    allowed = None
    if extra is not None:
        allowed = evaluate(prepared=prepared, install=()).hours_too_warm + extra
    found: list[Evaluation] = []
    simulated = 0
    for install in designs_of(prepared.site):
        if broken_before_simulation(prepared=prepared, install=install):
            continue
        simulated += 1
        one = evaluate(prepared=prepared, install=install, warm_allowed=allowed)
        if one.feasible:
            found.append(one)
    found.sort(key=lambda one: one.costs.life_cycle)
    if limits.spare_units == 0:
        return Answer(tuple(found), simulated, False)
    held = [holds_with_units_out(prepared, one.install, allowed) for one in found]
    kept = tuple(one for one, good in zip(found, held, strict=True) if good)
    return Answer(kept, simulated, bool(found) and not held[0])


def told(answer: Evaluation | None) -> str:
    if answer is None:
        return "not possible"
    return f"{answer.costs.life_cycle:.9f} {answer.install or 'nothing'}"


def agree(case: Case, what: str, chosen: Evaluation | None, best: tuple[Evaluation, ...]) -> float:
    """Hold an answer against the oracle's; the relative difference of cost."""
    expected = best[0] if best else None
    if chosen is None or expected is None:
        assert chosen is expected, f"{case}\n  {what}: got {told(chosen)}, oracle {told(expected)}"
        return 0.0
    want = expected.costs.life_cycle
    off = abs(chosen.costs.life_cycle - want) / max(abs(want), 1.0)
    text = f"{case}\n  {what}: got {told(chosen)}, oracle {told(expected)}, difference {off:.3g}"
    assert off <= AGREEMENT, text
    tied = len(best) > 1 and best[1].costs.life_cycle - want <= 1e-6 * max(abs(want), 1.0)
    assert tied or chosen.install == expected.install, text
    return off


@pytest.mark.parametrize("first", range(0, CASES, CHUNK))
def test_choose_agrees_with_simulating_every_design(first: int, capsys: pytest.CaptureFixture[str]) -> None:
    seen: Counter[str] = Counter()
    worst = 0.0
    for number in range(first, first + CHUNK):
        case = make_case(number)
        choice = choose(prepared=case.prepared)
        answer = ask_oracle(case)
        worst = max(worst, agree(case, "best", choice.best, answer.kept))
        second = answer.kept[1:]
        if len(answer.kept) > 1:
            tied = answer.kept[1].costs.life_cycle - answer.kept[0].costs.life_cycle <= 1e-6
            if not tied:
                worst = max(worst, agree(case, "runner-up", choice.runner_up, second))
        for row in choice.by_arrangement:
            one = tuple(
                kept
                for kept in answer.kept
                if {part.arrangement for part in kept.install} == {row.arrangement}
            )
            worst = max(worst, agree(case, f"best of {row.arrangement}", row.best, one))
        assert choice.proof.status == ("optimal" if answer.kept else "not possible"), str(case)
        seen["designs simulated"] += answer.simulated
        seen["spare units decided"] += answer.spare_decided
        seen[
            "not possible" if choice.best is None else "nothing" if not choice.best.install else "units"
        ] += 1
        if choice.best is not None:
            seen.update(f"chosen {name}" for name in sorted({p.arrangement for p in choice.best.install}))
            seen["two sizes chosen"] += len({part.model for part in choice.best.install}) > 1
    with capsys.disabled():
        print(f"\ncases {first} to {first + CHUNK - 1}: worst {worst:.2g}, {dict(sorted(seen.items()))}")
    assert seen["not possible"] >= 1
    assert seen["nothing"] >= 1
    assert seen["units"] >= 5


def test_cases_hold_what_they_are_meant_to_hold() -> None:
    """Counts over all cases, from the numbers alone."""
    seen: Counter[str] = Counter()
    for number in range(CASES):
        seen.update(make_case(number).marks)
    assert all(
        seen[mark] >= least
        for mark, least in {
            **{f"arrangement {name}": 50 for name in ARRANGEMENTS},
            "mixed technologies": 50,
            "spare units": 50,
            "lock-out": 25,
            "several humidity limits": 50,
            "existing units": 30,
            "several arrangements in one design": 20,
            "hours too warm": 50,
            "set back": 50,
            **{f"unoccupied fan {mode}": 30 for mode in ("off", "cycles", "runs")},
            **dict.fromkeys(("first_cost", "electrical_current", "sound", "supply_voltage", "phases"), 15),
        }.items()
    ), seen
