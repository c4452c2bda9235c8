"""Sweeps: every step is what a separate choice finds, and figures are those of plain simulations."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from selector.decide.choose import choose
from selector.decide.contest import Contest, contest
from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.sweep import sweep
from selector.decide.sweep_results import figures_of
from selector.inputs.site_file import read_site
from selector.inputs.vary_words import Words, read_variations
from selector.physics.prepare import Prepared
from selector.report.json_report import to_text
from selector.report.sweep_json import sweep_json
from tests.decide.small_cases import designs_of, make_case
from tests.decide.sweeps import at, narrow_room, swept_room, varied, without_work
from tests.sites import SCENARIOS, prepared_room, write_room


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


def test_a_step_is_what_the_changed_file_is_chosen_for(tmp_path: Path) -> None:
    """The file with 1,260 cfm of outdoor air, and the exhaust held that the reader worked out from 900 cfm."""
    changes = ('outdoor_airflow = "900 cfm"', "outdoor_air_fraction = 0.35")
    space = ('infiltration = "0.25 1/h"', 'infiltration = "0.25 1/h"\nexhaust_airflow = "810 cfm"')
    two = ("max_units = 3", 'max_units = 3\narrangements = ["coil-bypass", "standalone"]')
    site = read_site(path=write_room(tmp_path, changes, space, two))
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


def test_regret_is_what_staying_costs_more() -> None:
    prepared, found = narrow_room(), swept_room()
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
    prepared, found = narrow_room(), swept_room()
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


def test_where_todays_design_holds_agrees_with_what_is_said_at_switch_over_points() -> None:
    """Between steps it may stop to hold and hold again: what switch-over points say of it is taken up."""
    found = swept_room()
    told = 0
    for side in (side for one in found.switches for side in (one.low, one.high)):
        if side.install == found.now.install:
            held = True
        elif side.other is not None and side.other.install == found.now.install:
            held = side.other.feasible
        else:
            continue
        told += 1
        assert any(span.low <= side.value <= span.high for span in found.staying_holds) == held
    assert told > 0


def test_how_far_the_system_alone_is_good_is_one_number() -> None:
    """Sought below the range as well; beside a dense line of simulations of the existing system."""
    prepared, found = narrow_room(), swept_room()
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
    assert without_work(spread) == without_work(alone)


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


def test_json_has_steps_as_choose_writes_them(tmp_path: Path) -> None:
    result = sweep_json(sweep=swept_room())
    assert [step["value"] for step in result["steps"]] == [0.1, 0.35, 0.6]
    for step, found in zip(result["steps"], swept_room().steps, strict=True):
        assert found.record is not None
        assert {key: step[key] for key in found.record} == dict(found.record)
        assert step["today_design"]["extra_cost"] == found.regret
    assert len(result["switch_over"]) == len(swept_room().switches)
    to_text(result)
