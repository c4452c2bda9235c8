"""Sweeps: every step is what a separate choice finds, and what lies between is what a dense sweep finds."""

from __future__ import annotations

import functools
import itertools
import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from selector.decide.choose import choose
from selector.decide.contest import Contest, contest
from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.sweep import sweep
from selector.decide.sweep_results import DesignFigures, StepResult, Sweep, figures_of
from selector.decide.sweep_run import Job, Result
from selector.decide.sweep_store import Store, key_of
from selector.decide.sweep_switch import find_switches, line_of, spans
from selector.inputs.site import Install, Site
from selector.inputs.site_file import read_site
from selector.inputs.vary import Variation, changed_site
from selector.inputs.vary_words import Words, read_variations
from selector.physics.prepare import Prepared
from selector.report.json_report import to_text
from selector.report.sweep_json import record_of, sweep_json
from tests.decide.small_cases import designs_of, make_case
from tests.sites import SCENARIOS, prepared_room, write_room

Design = tuple[Install, ...]


def varied(site: Site, *given: tuple[str, str, str, int]) -> tuple[Variation, ...]:
    return read_variations(site=site, words=[Words(*one, None) for one in given])


def at(prepared: Prepared, variations: tuple[Variation, ...], values: Sequence[float]) -> Prepared:
    """The site prepared from nothing with the values in it."""
    site = changed_site(site=prepared.site, settings=tuple(zip(variations, values, strict=True)))
    return prepare_site(
        site=site,
        fitted=tuple(
            replace(one, unit=unit) for one, unit in zip(prepared.fitted, site.catalog.units, strict=True)
        ),
    )


def without_proof(record: Any) -> str:
    return to_text({key: value for key, value in dict(record).items() if key != "proof"})


# (number of the case, what is varied, from, to): sites with and without air handler, spare units, existing units
STEPS = (
    (2, ("outdoor-air-fraction", "5 %", "60 %", 3)),
    (4, ("outdoor-air-fraction", "10 %", "35 %", 3)),
    (3, ("infiltration", "0.1 1/h", "0.9 1/h", 3)),
    (5, ("gains", "50 %", "400 %", 3)),
    (12, ("moisture-buffer", "3", "60", 3)),
    (7, ("electricity-price", "0 USD/kWh", "0.40 USD/kWh", 4)),
    (2, ("discount-rate", "0 %", "12 %", 3)),
    (5, ("unit-price", "20 %", "300 %", 3)),
    (4, ("gas-price", "0.2 USD/therm", "4 USD/therm", 3)),
    (2, ("outdoor-airflow", "50 cfm", "300 cfm", 2)),
    (4, ("outdoor-air-per-person:classroom", "2 L/s", "8 L/s", 2)),
    (4, ("outdoor-air-per-area:classroom", "0.1 L/(s*m2)", "0.6 L/(s*m2)", 2)),
    (2, ("humidity-limit:all", "50 %", "70 %", 2)),
)


@pytest.mark.parametrize(("number", "given"), STEPS, ids=[f"{n}, {g[0]}" for n, g in STEPS])
def test_every_step_is_a_separate_choice(number: int, given: tuple[str, str, str, int]) -> None:
    """To the last digit of everything that `choose` writes, the counts of its proof aside."""
    prepared = make_case(number).prepared
    variations = varied(prepared.site, given)
    found = sweep(prepared=prepared, variations=variations, between=False, record=_record, processes=1)
    assert [step.values for step in found.steps] == [(value,) for value in variations[0].values]
    for step in found.steps:
        there = at(prepared, variations, step.values)
        alone = choose(prepared=there)
        assert step.status == alone.proof.status
        assert step.record is not None
        assert without_proof(step.record) == without_proof(_record(alone, there)), f"{given} at {step.values}"


def _record(choice: Any, prepared: Prepared) -> dict[str, Any]:
    """What JSON says, without what is read from the files that these sites do not have."""
    from selector.report.choose_screen import answer_of
    from selector.report.json_report import evaluation_json, install_json

    shown = answer_of(choice)
    return {
        "best": None if choice.best is None else evaluation_json(choice.best),
        "answer": evaluation_json(shown),
        "existing": evaluation_json(choice.existing),
        "runner_up": None if choice.runner_up is None else evaluation_json(choice.runner_up),
        "by_arrangement": [
            (
                one.arrangement,
                None if one.best is None else evaluation_json(one.best),
                None if one.closest is None else evaluation_json(one.closest),
                one.extra_cost,
                one.reason,
            )
            for one in choice.by_arrangement
        ],
        "margin": None if choice.margin is None else (choice.margin.extra_vapour, choice.margin.at_least),
        "one_out": None if choice.one_out is None else (choice.one_out.model, choice.one_out.hours_above),
        "moves": [(one.limit, one.now, one.needed, one.status) for one in choice.moves],
        "install": install_json(shown.install),
        "assumptions": [(one.key, one.value, one.origin) for one in choice.site.assumptions],
        "proof": choice.proof.year_equivalents,
    }


@functools.cache
def swept_room() -> Sweep:
    variations = varied(prepared_room().site, ("outdoor-air-fraction", "10 %", "60 %", 3))
    return sweep(
        prepared=prepared_room(), variations=variations, resolution=0.05, record=record_of, processes=1
    )


def test_a_step_is_what_the_changed_file_is_chosen_for(tmp_path: Path) -> None:
    """The file with 1,260 cfm of outdoor air, and the exhaust held that the reader worked out from 900 cfm."""
    changes = ('outdoor_airflow = "900 cfm"', "outdoor_air_fraction = 0.35")
    space = ('infiltration = "0.25 1/h"', 'infiltration = "0.25 1/h"\nexhaust_airflow = "810 cfm"')
    site = read_site(path=write_room(tmp_path, changes, space))
    alone = choose(prepared=prepare_site(site=site, fitted=prepared_room().fitted))
    step = next(one for one in swept_room().steps if one.values[0] == 0.35)
    assert alone.best is not None
    assert step.best is not None
    assert step.best.install == alone.best.install
    # two ways to the same airflow and exhaust, which differ by their rounding
    assert step.best.life_cycle == pytest.approx(alone.best.costs.life_cycle, rel=1e-11)
    assert step.best.hours_above == alone.best.hours_above


def test_a_step_with_another_weather_file_is_what_the_file_with_it_is_chosen_for(tmp_path: Path) -> None:
    few = ("max_units = 3", 'max_units = 1\narrangements = ["standalone"]')
    here = prepare_site(site=read_site(path=write_room(tmp_path, few)), fitted=prepared_room().fitted)
    folder = SCENARIOS / "weather"
    names = Words("weather-file", None, None, 0, f"{folder}/tidewater.csv; {folder}/northfield.csv")
    variations = read_variations(site=here.site, words=[names])
    found = sweep(prepared=here, variations=variations, processes=1)
    assert found.switches == ()  # nothing lies between two files
    other = read_site(path=write_room(tmp_path, few, ("weather/tidewater.csv", "weather/northfield.csv")))
    costs = []
    for step, site in zip(found.steps, (here.site, other), strict=True):
        alone = choose(prepared=prepare_site(site=site, fitted=prepared_room().fitted))
        shown, there = step.best or step.closest, alone.best or alone.closest
        assert shown is not None
        assert there is not None
        assert (step.status, shown.install) == (alone.proof.status, there.install)
        assert shown.life_cycle == there.costs.life_cycle
        assert step.existing.life_cycle == alone.existing.costs.life_cycle
        costs.append(shown.life_cycle)
    assert costs[0] != costs[1]


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
    prepared, found = prepared_room(), swept_room()
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


def test_regret_is_what_staying_costs_more() -> None:
    prepared, found = prepared_room(), swept_room()
    today = choose(prepared=prepared)
    assert today.best is not None
    assert found.now.install == today.best.install
    held = 0
    for step in found.steps:
        there = at(prepared, found.variations, step.values)
        warm = evaluate(prepared=there, install=()).hours_too_warm + 50.0
        stay = evaluate(prepared=there, install=today.best.install, warm_allowed=warm)
        assert step.staying is not None
        assert step.staying.feasible == stay.feasible
        assert step.best is not None
        if stay.feasible:
            held += 1
            assert step.regret == stay.costs.life_cycle - step.best.life_cycle
            assert step.regret >= 0.0
        else:
            assert step.regret is None
    assert held


def test_further_costs_add_up_to_the_whole_rise() -> None:
    found = swept_room()
    first, last = found.steps[0].best, found.steps[-1].best
    assert first is not None
    assert last is not None
    total = 0.0
    for place in range(len(found.steps) - 1):
        slope = found.marginal(place)
        assert slope is not None
        total += slope * (found.steps[place + 1].values[0] - found.steps[place].values[0])
    assert total == pytest.approx(last.life_cycle - first.life_cycle, rel=1e-12)


def test_where_cooling_runs_out_is_where_hours_short_of_it_begin() -> None:
    prepared, found = prepared_room(), swept_room()
    assert found.resolution is not None
    (span,) = found.short_cooling
    assert span.to_end
    assert not span.from_end

    def short(value: float) -> int:
        there = at(prepared, found.variations, (value,))
        return evaluate(prepared=there, install=()).short_cooling_hours

    assert short(span.low) > 0
    assert short(span.low - found.resolution) == 0
    assert found.short_heating == ()  # its capacity is not given, so it never runs out


def test_how_far_the_system_alone_is_good_is_one_number() -> None:
    """Sought below the range as well; beside a dense line of simulations of the existing system."""
    prepared, found = prepared_room(), swept_room()
    assert found.existing_below == ()
    assert found.existing_good_to is None
    assert found.existing_at_none is not None
    assert found.existing_at_none == figures_of(
        evaluate(prepared=at(prepared, found.variations, (0.0,)), install=())
    )
    targets = tuple(replace(one, allowed_hours_above=3574.5) for one in prepared.site.targets)
    eased = prepare_site(site=replace(prepared.site, targets=targets), fitted=prepared.fitted)
    variations = varied(eased.site, ("outdoor-air-fraction", "10 %", "12 %", 2))
    found = sweep(prepared=eased, variations=variations, between=True, resolution=0.5, processes=1)
    assert found.resolution is not None
    good = found.existing_good_to
    assert good is not None
    assert found.existing_below
    assert found.existing_holds == ()

    def holds(value: float) -> bool:
        return evaluate(prepared=at(eased, variations, (value,)), install=()).feasible

    assert all(holds(good * place / 4.0) for place in range(5))
    assert not holds(good + found.resolution)


def test_the_share_done_is_never_all_before_the_end() -> None:
    """Work between steps is counted as it turns up, so that the time left is not told as nothing too early."""
    prepared = make_case(5).prepared
    variations = varied(prepared.site, ("electricity-price", "0 USD/kWh", "0.6 USD/kWh", 3))
    said: list[tuple[str, float]] = []
    found = sweep(
        prepared=prepared,
        variations=variations,
        processes=1,
        progress=lambda what, share: said.append((what, share)),
    )
    assert found.switches
    assert said[-1] == ("done", 1.0)
    assert all(0.0 <= share < 1.0 for _, share in said[:-1])
    proofs = [share for what, share in said if what.startswith("proof at")]
    assert proofs
    assert max(proofs) < 0.9  # more may turn up


def test_a_grid_is_chosen_for_cell_by_cell() -> None:
    prepared = make_case(5).prepared
    given = (("gains", "80 %", "200 %", 2), ("electricity-price", "0.05 USD/kWh", "0.30 USD/kWh", 2))
    variations = varied(prepared.site, *given)
    found = sweep(prepared=prepared, variations=variations, processes=1)
    assert len(found.steps) == 4
    assert [step.values for step in found.steps] == list(
        itertools.product(variations[0].values, variations[1].values)
    )
    assert found.switches == ()
    for step in found.steps:
        alone = choose(prepared=at(prepared, variations, step.values))
        assert step.install == (None if alone.best is None else alone.best.install)
        assert step.best is None or alone.best is None or step.best.life_cycle == alone.best.costs.life_cycle


def test_processes_change_nothing() -> None:
    prepared = make_case(5).prepared
    variations = varied(prepared.site, ("gains", "50 %", "400 %", 4))
    alone = sweep(prepared=prepared, variations=variations, processes=1)
    spread = sweep(prepared=prepared, variations=variations, processes=2)
    assert _plain(spread) == _plain(alone)


def _plain(found: Sweep) -> Any:
    """A sweep without what its work took."""
    steps = [replace(step, year_equivalents=0.0, seconds=0.0, contenders=()) for step in found.steps]
    return steps, found.switches, found.existing_holds, found.staying_holds, found.short_cooling


def test_a_contest_of_all_designs_is_won_by_the_chosen_one() -> None:
    for number in (2, 3, 5, 8, 12):
        prepared = make_case(number).prepared
        chosen = choose(prepared=prepared)
        found = contest(prepared=prepared, designs=list(designs_of(prepared.site)))
        if chosen.best is None:
            assert found == Contest(None, None), number
            continue
        assert found.cost == pytest.approx(chosen.best.costs.life_cycle, rel=1e-12), number
        assert found.hours == (
            *(limit.hours_above for limit in chosen.best.limits),
            chosen.best.hours_too_warm,
        ), number
        assert found.cost is not None
        cheaper = contest(prepared=prepared, designs=[chosen.best.install], known=found.cost)
        assert cheaper.winner is None, number


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


# ------------------------------------------------------------------------ what is kept on disk


def test_a_step_comes_back_from_disk_as_it_was(tmp_path: Path) -> None:
    file = tmp_path / "steps.jsonl"
    store = Store(file=file)
    for step in (swept_room().now, *swept_room().steps):
        store.add(step=step)
    with file.open("a", encoding="utf-8") as open_file:
        open_file.write('{"values": [0.5], "best"')  # cut off in the middle of a line
    again = Store(file=file)
    staying = swept_room().now.install
    for step in swept_room().steps:
        assert again.get(values=step.values, staying=staying) == step
    assert again.get(values=(), staying=None) == swept_room().now
    assert again.get(values=(0.5,), staying=staying) is None
    assert again.get(values=swept_room().steps[0].values, staying=()) is None  # of another design of today


def test_a_second_run_takes_all_from_the_first(tmp_path: Path) -> None:
    prepared = make_case(5).prepared
    variations = varied(prepared.site, ("gains", "50 %", "400 %", 4))
    file = tmp_path / "steps.jsonl"
    first = sweep(prepared=prepared, variations=variations, store=file, processes=1)
    second = sweep(prepared=prepared, variations=variations, store=file, processes=1)
    assert (first.reused, second.reused) == (0, 4)
    assert second.year_equivalents == 0.0
    assert _plain(second) == _plain(first)
    more = varied(prepared.site, ("gains", "50 %", "400 %", 7))  # every second step is there
    third = sweep(prepared=prepared, variations=more, store=file, between=False, processes=1)
    assert third.reused == 4
    assert [step.install for step in third.steps][::2] == [step.install for step in first.steps]


def test_another_site_has_steps_of_its_own(tmp_path: Path) -> None:
    path = write_room(tmp_path, ("count = 60", "count = 61"))
    sites = (read_site(path=path), prepared_room().site)
    keys = {
        key_of(site=site, variations=varied(site, given), solver=solver)
        for site in sites
        for given in (("gains", "1", "2", 3), ("infiltration", "0.1 1/h", "1 1/h", 3))
        for solver in ("highs", "cbc")
    }
    assert len(keys) == 8
    same = key_of(site=sites[1], variations=varied(sites[1], ("gains", "1", "3", 9)), solver="highs")
    assert same in keys  # another range or number of steps of the same thing


def test_an_interrupt_keeps_what_is_finished(tmp_path: Path) -> None:
    prepared = make_case(5).prepared
    variations = varied(prepared.site, ("gains", "50 %", "400 %", 4))
    file = tmp_path / "steps.jsonl"

    def stop(what: str, share: float) -> None:
        if what.startswith("2 of"):
            raise KeyboardInterrupt

    found = sweep(prepared=prepared, variations=variations, store=file, processes=1, progress=stop)
    assert found.interrupted
    assert not found.complete
    assert len(found.steps) == 2
    after = sweep(prepared=prepared, variations=variations, store=file, processes=1)
    assert after.reused == 2
    assert after.complete
    whole = sweep(prepared=prepared, variations=variations, processes=1)
    assert _plain(after) == _plain(whole)


def test_json_has_steps_as_choose_writes_them(tmp_path: Path) -> None:
    result = sweep_json(sweep=swept_room())
    assert [step["value"] for step in result["steps"]] == [0.1, 0.35, 0.6]
    for step, found in zip(result["steps"], swept_room().steps, strict=True):
        assert found.record is not None
        assert {key: step[key] for key in found.record} == dict(found.record)
        assert step["today_design"]["extra_cost"] == found.regret
    assert len(result["switch_over"]) == len(swept_room().switches)
    to_text(result)
