"""The command `sweep` as a person runs it: what it prints, what it writes, and what an interrupt leaves."""

from __future__ import annotations

import csv
import functools
import io
import json
import os
import re
import shlex
import signal
import subprocess
import sys
import tempfile
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.decide.sweep_store import folder
from selector.inputs.site import ARRANGEMENTS as ARRANGEMENT_NAMES
from selector.inputs.site import Install
from selector.inputs.site_file import read_site
from selector.inputs.vary import changed_site
from selector.inputs.vary_words import Words, read_variations
from selector.physics.prepare import Prepared
from selector.report.json_report import evaluation_json
from tests.commands import BOXES, run
from tests.sites import ROOM, SCENARIOS, write_room

GOLDEN = Path(__file__).parent / "report" / "golden" / "sweep.txt"
ARRANGEMENTS = '["coil-bypass", "standalone"]'
RANGE = ("--vary", "outdoor-air-fraction", "--from", "10%", "--to", "60%", "--steps", "3")
PROOF = "Proof       3 of 3 steps proved as by choose; ..."


@functools.cache
def swept() -> tuple[str, dict[str, Any], str]:
    """One sweep: its screen, its JSON and its CSV; the second run takes its steps from the first."""
    with tempfile.TemporaryDirectory() as place:
        site = write_room(Path(place), ("max_units = 3", f"max_units = 3\narrangements = {ARRANGEMENTS}"))
        out, table = Path(place) / "sweep.json", Path(place) / "sweep.csv"
        done = run("sweep", site, *RANGE, "--json", out, "--csv", table)
        assert done.exit_code == 0, done.stderr
        again = run("sweep", site, *RANGE)
        assert again.exit_code == 0, again.stderr
        assert "sweep: today\n" in done.stderr  # plain lines into a pipe
        assert done.stderr.endswith("sweep: done\n")
        return (
            again.stdout.replace(str(site), "room.toml"),
            json.loads(out.read_text("utf-8")),
            table.read_text("utf-8"),
        )


def test_the_screen_of_one_sweep(renew_golden: bool) -> None:
    lines = swept()[0].splitlines()
    kept: list[str] = []
    for line in lines:  # but for what the work took
        if kept and kept[-1] == PROOF and line.startswith("            "):
            continue
        kept.append(PROOF if line.startswith("Proof") else line)
    text = "\n".join(kept) + "\n"
    if renew_golden:
        GOLDEN.write_text(text, encoding="utf-8")
    assert GOLDEN.is_file(), f"{GOLDEN}: no such file; pytest --renew-golden writes it"
    assert text == GOLDEN.read_text("utf-8")


def test_the_answer_comes_first_and_fits_80_columns() -> None:
    screen = swept()[0]
    lines = screen.splitlines()
    assert max(map(len, lines)) <= 80, max(lines, key=len)
    assert "invented prices, not for a bid" in lines[0]
    order = [
        "Sweep ",
        "Answer ",
        "Today's ",
        "Existing ",
        "Held ",
        "Proof ",
        "Defaults ",
        "Cautions ",
        "Next ",
    ]
    places = [next(at for at, line in enumerate(lines) if line.startswith(word)) for word in order]
    assert places == sorted(places)
    assert not any(box in screen for box in BOXES)
    assert "supply airflow 3,600 cfm" in " ".join(line.strip() for line in lines)
    assert "exhaust airflow 810 cfm" in " ".join(line.strip() for line in lines)


def test_json_says_what_the_screen_says() -> None:
    screen, result, _ = swept()
    assert [step["value"] for step in result["steps"]] == [0.1, 0.35, 0.6]
    for step in result["steps"]:
        assert step["proof"]["status"] == "optimal"
        assert f"{step['costs']['life_cycle']:,.0f}" in screen
        assert list(step["best_by_arrangement"]) == json.loads(ARRANGEMENTS)
    assert result["switch_over"]
    for switch in result["switch_over"]:
        assert switch["below"]["value"] < switch["value"] < switch["above"]["value"]
        assert switch["above"]["value"] - switch["below"]["value"] <= result["resolution"] * (1.0 + 1e-9)
        assert f"{switch['above']['life_cycle']:,.0f}" in screen
    assert result["vary"][0]["name"] == "outdoor-air-fraction"
    assert result["vary"][0]["today"] == 0.25
    assert any(text.startswith("supply airflow") for text in result["held"])
    assert result["input_sha256"] == result["steps"][0]["input_sha256"]


def test_csv_has_the_figures_of_json() -> None:
    _, result, text = swept()
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 3
    for row, step in zip(rows, result["steps"], strict=True):
        assert float(row["outdoor-air-fraction"]) == step["value"]
        assert float(row["life-cycle cost [USD]"]) == step["costs"]["life_cycle"]
        assert float(row["first cost [USD]"]) == step["costs"]["first"]
        assert int(row["hours above [h/year]"]) == step["humidity"]["hours_above"]
        assert (
            int(row["existing system, hours above [h/year]"])
            == step["existing_system"]["humidity"]["hours_above"]
        )
        extra = step["today_design"]["extra_cost"]
        assert row["design of today, extra cost [USD]"] == ("" if extra is None else repr(extra))
    rises = [float(row["further cost by 1 % of supply air [USD]"]) for row in rows[:-1]]
    costs = [step["costs"]["life_cycle"] for step in result["steps"]]
    assert rises == pytest.approx([(high - low) / 25.0 for low, high in pairwise(costs)])


def test_two_things_make_a_grid(tmp_path: Path) -> None:
    site = write_room(tmp_path, ("max_units = 3", f"max_units = 2\narrangements = {ARRANGEMENTS}"))
    out, table = tmp_path / "grid.json", tmp_path / "grid.csv"
    price = ("--vary", "electricity-price", "--values", "0.05 USD/kWh; 0.40 USD/kWh")
    gains = ("--vary", "gains", "--values", "80 %; 120 %")
    done = run("sweep", site, *gains, *price, "--json", out, "--csv", table, "--fresh")
    assert done.exit_code == 0, done.stderr
    result = json.loads(out.read_text("utf-8"))
    assert len(result["steps"]) == 4
    assert [step["value"][0] for step in result["steps"]] == pytest.approx([0.8, 0.8, 1.2, 1.2], rel=1e-12)
    assert len({step["value"][1] for step in result["steps"]}) == 2
    assert [one["name"] for one in result["vary"]] == ["gains", "electricity-price"]
    rows = list(csv.DictReader(io.StringIO(table.read_text("utf-8"))))
    assert [float(row["life-cycle cost [USD]"]) for row in rows] == [
        step["costs"]["life_cycle"] for step in result["steps"]
    ]
    assert [row["electricity-price [USD/kWh]"] for row in rows] == ["0.05", "0.4"] * 2
    screen = run("sweep", site, *gains, *price).stdout
    assert "Down: internal gains" in screen
    assert "4 steps taken from an earlier run" in " ".join(screen.split())
    for step in result["steps"]:
        assert f"{step['costs']['life_cycle']:,.0f}" in screen


@functools.cache
def demo(name: str) -> Prepared:
    return prepare_site(site=read_site(path=SCENARIOS / f"{name}.toml"))


def demo_at(name: str, value: str) -> Prepared:
    """A demo site with another outdoor airflow."""
    base = demo(name)
    vary = "outdoor-air-fraction" if value.endswith("%") else "outdoor-airflow"
    (variation,) = read_variations(
        site=base.site, words=(Words(vary, None, None, 0, f"{value}; 0 {value.split()[1]}"),)
    )
    there = changed_site(site=base.site, settings=((variation, variation.values[-1]),))
    return prepare_site(site=there, fitted=base.fitted)


def design_of(text: str) -> tuple[Install, ...]:
    """A design as the screen writes it, in one arrangement."""
    parts, _, place = text.rpartition(" ")
    arrangement = next(one for one in ARRANGEMENT_NAMES if one == place)
    pairs = [part.split(" ") for part in parts.split(" + ")]
    return tuple(Install(model, arrangement, int(count)) for count, model in pairs)


def judged_at(there: Prepared, design: tuple[Install, ...]) -> Evaluation:
    """One design held to every limit."""
    extra = there.site.limits.extra_hours_too_warm
    warm = None if extra is None else evaluate(prepared=there, install=()).hours_too_warm + extra
    return evaluate(prepared=there, install=design, warm_allowed=warm)


def readme_part(mark: str, end: str) -> str:
    text = (SCENARIOS.parent / "README.md").read_text("utf-8")
    return text.partition(f"<!-- {mark} -->")[2].partition(end)[0]


def test_the_table_of_demo_sweeps_is_what_each_design_does() -> None:
    """Each design that the README names, simulated for the year at that outdoor airflow; invented sites and prices."""
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in readme_part("table: sweeps", "\n- *").strip().splitlines()[2:]
    ]
    assert {row[0] for row in rows} == {"school", "hall", "clinic", "pool", "growing"}
    last: dict[str, tuple[Install, ...]] = {}
    for name, value, chosen, *figures in rows:
        there = demo_at(name, value)
        if chosen == "none possible":
            assert not judged_at(there, last[name]).feasible, f"{name} at {value}"
            continue
        design = last[name] = design_of(chosen.partition(" (")[0])
        found = judged_at(there, design)
        assert found.feasible, f"{name} at {value}"
        mass = evaluation_json(found)["moisture_kg"]
        brought = mass["ventilation"] + mass["infiltration"]
        shown = [found.costs.life_cycle, found.hours_above, brought, mass["coil"], mass["units"]]
        assert figures == [f"{one:,.0f}" for one in shown], f"{name} at {value}"


def test_the_shown_sweep_is_what_each_design_does() -> None:
    """The steps of the README's screen, and its two sides of the switch-over point to the rounding of the airflow."""
    lines = readme_part("sweep: scenarios/school.toml", "\n```\n\n").splitlines()
    named = [one for line in lines if (one := re.search(r"cfm: ([A-Z]) (.*?)(?:, as today)?$", line))]
    designs = {one[1]: design_of(one[2]) for one in named}
    assert list(designs) == ["A", "B"]
    steps = [line.split() for line in lines if re.match(r"\d,\d{3}  [AB]    ", line)]
    assert [row[0] for row in steps] == ["1,100", "1,650", "2,200"]
    for value, letter, *figures in steps:
        there = demo_at("school", f"{value} cfm")
        found = judged_at(there, designs[letter])
        assert found.feasible
        alone = evaluate(prepared=there, install=())
        costs = found.costs
        shown = [
            f"{one:,.0f}"
            for one in (costs.first, costs.annual_operating, costs.life_cycle, found.hours_above)
        ]
        assert figures[:4] == shown
        assert figures[5] == f"{alone.hours_above:,}"
    sides = [
        side
        for line in lines
        if (side := re.match(r"(\S+)  ([AB]) .*?([\d,]+)  +([\d,]+)( not held)?$", line))
    ]
    sides = [one for one in sides if one[1] not in {row[0] for row in steps}]
    assert [one[2] for one in sides] == ["A", "B"]
    for value, letter, cost, other, broken in (one.groups() for one in sides):
        there = demo_at("school", f"{value} cfm")
        rival = designs["B" if letter == "A" else "A"]
        assert float(cost.replace(",", "")) == pytest.approx(
            judged_at(there, designs[letter]).costs.life_cycle, abs=1
        )
        assert float(other.replace(",", "")) == pytest.approx(judged_at(there, rival).costs.life_cycle, abs=1)
        assert judged_at(there, rival).feasible is (broken is None)


def test_faults_of_options_and_values_are_refused() -> None:
    done = run("sweep", ROOM, "--vary", "infiltration", "--from", "1 cfm", "--to", "99 1/h", "--steps", "1")
    assert done.exit_code == 2
    for word in ("--from: infiltration", "--to: infiltration", "--steps: infiltration"):
        assert word in done.stderr
    assert done.stdout == ""


def test_an_interrupt_keeps_finished_steps_and_the_next_run_goes_on(tmp_path: Path) -> None:
    """A real interrupt of a real process, while it is at some step after the first two."""
    name = f'name = "Room {tmp_path.name} {os.getpid()}"'  # steps of its own on disk
    few = ("max_units = 3", 'max_units = 2\narrangements = ["standalone"]')
    site = write_room(tmp_path, ('name = "Test room"', name), few)
    out = tmp_path / "sweep.json"
    words = ["sweep", str(site), *RANGE[:-1], "9", "--work-years", "900", "--json", str(out)]
    # a shell that runs this in its background has it ignore interrupts
    heard = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)"
    command = [sys.executable, "-c", f"{heard}; from selector.cli import main; main()", *words]
    before = set(folder().glob("*.jsonl"))
    said = []
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stderr is not None
        assert process.stdout is not None
        for line in process.stderr:
            said.append(line)
            if " of 9 steps" in line and not line.startswith(("sweep: 0 of", "sweep: 1 of")):
                process.send_signal(signal.SIGINT)
                break
        rest, stdout = process.stderr.read(), process.stdout.read()
    assert any(re.search(r" of 9 steps, about \d+ s left$", line) for line in said), said
    assert process.returncode == 130, "".join(said) + rest
    assert "Traceback" not in rest
    assert "steps are kept; to go on: selector sweep" in rest
    assert "STOPPED" in stdout
    assert shlex.join(["selector", *words]) in rest  # with all that was typed
    part = json.loads(out.read_text("utf-8"))
    assert part["interrupted"] is True
    finished = len(part["steps"])
    assert 2 <= finished < 9
    try:
        done = subprocess.run(command, check=False, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
        assert "Traceback" not in done.stderr
        whole = json.loads(out.read_text("utf-8"))
        assert whole["steps_reused"] >= finished
        assert whole["interrupted"] is False
        values = [step["value"] for step in whole["steps"]]
        assert len(values) == 9
        for step in part["steps"]:
            later = whole["steps"][values.index(step["value"])]
            skipped = ("marginal_cost",)  # to a step that was not there yet
            assert {k: v for k, v in step.items() if k not in skipped} == {
                k: v for k, v in later.items() if k not in skipped
            }
    finally:
        for file in set(folder().glob("*.jsonl")) - before:
            file.unlink()
