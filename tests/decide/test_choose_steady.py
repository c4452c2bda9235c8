"""The choice repeats itself to the byte, and the optimum moves the right way when more or less is possible."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from selector.decide.choose import choose
from selector.decide.solver import SolverName
from selector.inputs.site import Installation, Site
from selector.report.json_report import choose_json, to_text
from tests.decide.halls import EVERY, MODELS, cost, hall, pick, usual, with_units
from tests.sites import prepared_room

# the same again -----------------------------------------------------------------------------------------------------

SCRIPT = """
import os, sys
if sys.argv[2] == "one":
    os.sched_setaffinity(0, [min(os.sched_getaffinity(0))])
from tests.decide.test_choose_steady import text_of
print(text_of(sys.argv[1]), end="")
"""


def text_of(solver: SolverName) -> str:
    """A choice's JSON for the site of tests/data, `seconds` aside."""
    prepared = prepared_room()
    choice = choose(prepared=prepared, solver=solver)
    assert choice.best is not None
    result = json.loads(
        to_text(choose_json(choice=choice, answer=choice.best, days=(), fitted=prepared.fitted))
    )
    del result["proof"]["seconds"]
    return json.dumps(result, indent=1)


def test_the_same_bytes_with_either_solver_and_on_one_core_or_two() -> None:
    here = text_of("highs")
    assert json.loads(here)["proof"]["status"] == "optimal"
    assert text_of("cbc") == here
    for solver, cores in (("cbc", "one"), ("highs", "all")):
        run = subprocess.run(
            [sys.executable, "-c", SCRIPT, solver, cores], capture_output=True, text=True, check=True,
            cwd=Path(__file__).parents[2],
        )  # fmt: skip
        assert run.stdout == here, (solver, cores)


def test_watching_the_progress_changes_nothing() -> None:
    seen: list[float] = []
    watched = pick(hall(), progress=lambda _what, share: seen.append(share))
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert watched.proof.year_equivalents == usual().proof.year_equivalents
    assert watched.proof.excluded_by == usual().proof.excluded_by


# more can only help -------------------------------------------------------------------------------------------------


def cheaper(site: Site, model: str, share: float) -> Site:
    units = tuple(
        replace(unit, price=share * unit.price) if unit.model == model else unit
        for unit in site.catalog.units
    )
    return with_units(site, *units)


@pytest.mark.parametrize(
    "changed",
    [
        lambda: hall(arrangements=(*EVERY, "outdoor-air")),
        lambda: hall(models=(*MODELS, "compressor-90")),
        lambda: hall(max_units=4),
        lambda: hall(max_arrangements=2),
        lambda: hall(allowed=80.0),
        lambda: hall(limit=0.62),
        lambda: cheaper(hall(), "compressor-60", 0.8),
        lambda: cheaper(hall(), "rotor-60", 0.3),
    ],
    ids=["arrangement", "model", "units", "mixed", "hours", "limit", "price", "rotor price"],
)
def test_the_optimum_never_rises_when_more_is_possible_or_cheaper(changed: Any) -> None:
    assert cost(pick(changed())) <= cost(usual()) * (1.0 + 1e-9)


@pytest.mark.parametrize(
    "limits",
    [
        {"max_units": 1},
        {"max_sizes": 1},
        {"arrangements": ("return-side",)},
        {"sound": 52.0},
        {"weight": 60.0},
        {"height": 0.5},
    ],
    ids=["units", "sizes", "arrangement", "sound", "weight", "height"],
)
def test_the_optimum_never_falls_when_less_is_possible(limits: dict[str, Any]) -> None:
    assert cost(pick(hall(**limits))) >= cost(usual()) * (1.0 - 1e-9)


def test_a_bound_of_installation_moves_the_choice() -> None:
    """Where connecting anything but standalone costs a fortune, standalone is chosen."""
    site = hall()
    terms = {
        name: one if name == "standalone" else Installation(1e6, 0.0, 0.0, 5.0, 1.0)
        for name, one in site.costs.installation.items()
    }
    choice = pick(replace(site, costs=replace(site.costs, installation=terms)))
    assert choice.best is not None
    assert {part.arrangement for part in choice.best.install} == {"standalone"}
