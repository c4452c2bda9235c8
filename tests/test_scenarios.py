"""The six demo sites: their answers are kept in golden files.

School, records and hall are chosen as their files stand. The three others would take 40 to 65 s each, so they are
chosen among designs of one size (`max_sizes` 1), nothing else changed.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from rich.cells import cell_len

from selector.decide.choose import choose
from selector.decide.results import Choice
from tests.commands import run
from tests.golden_files import answer_of, compare
from tests.hours import prepared_demo
from tests.sites import SCENARIOS

GOLDEN = Path(__file__).parent / "golden"
WHOLE = ("school", "records", "hall")
ONE_SIZE = ("clinic", "pool", "growing")
SITES = (*WHOLE, *ONE_SIZE)
TO_BALANCE = 1e-9


def chosen(name: str) -> Choice:
    prepared = prepared_demo(name)
    if name in ONE_SIZE:
        limits = replace(prepared.site.limits, max_sizes=1)
        prepared = replace(prepared, site=replace(prepared.site, limits=limits))
    return choose(prepared=prepared)


def test_every_demo_site_is_here() -> None:
    assert {path.stem for path in SCENARIOS.glob("*.toml")} == set(SITES)
    assert {path.stem for path in GOLDEN.glob("*.json")} == set(SITES)


@pytest.mark.parametrize("name", SITES)
def test_answer_is_the_golden_one_proved_and_balanced(name: str, renew_golden: bool) -> None:
    choice = chosen(name)
    compare(GOLDEN / f"{name}.json", answer_of(choice), renew=renew_golden)
    assert choice.proof.status == "optimal"
    assert choice.proof.gap == 0.0
    assert choice.best is not None
    assert choice.best.feasible
    shown = [
        choice.best,
        choice.existing,
        *(row.best for row in choice.by_arrangement if row.best is not None),
    ]
    for one in shown:
        assert one.balance_moisture <= TO_BALANCE
        assert one.balance_energy <= TO_BALANCE
        assert one.costs.life_cycle >= choice.best.costs.life_cycle or not one.feasible


def test_sites_differ_in_their_best_arrangement() -> None:
    best = {}
    for name in SITES:  # the golden answers, to which the choices are held above
        answer = json.loads((GOLDEN / f"{name}.json").read_text("utf-8"))
        best[name] = {part.split()[-1] for part in answer["best"]["install"]}
    assert best["records"] == {"standalone"}  # it has no air handler
    assert len(set().union(*best.values())) >= 3, best


@pytest.mark.parametrize("name", SITES)
@pytest.mark.parametrize("command", ["check", "loads"])
def test_what_is_read_and_its_loads_fit_80_columns_with_no_rounding_noise(command: str, name: str) -> None:
    done = run(command, SCENARIOS / f"{name}.toml")
    assert done.exit_code == 0, done.stderr
    for line in done.stdout.splitlines():
        assert cell_len(line) <= 80, line
        assert not re.search(r"0\.0000000", line), line
