"""The commands `schedule` and `commission`: what they answer, where they write it, and their exit statuses."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from tests.commands import BOXES, chosen, run
from tests.sites import CATALOG, ROOM, write_room

BOTH = pytest.mark.parametrize("command", ["schedule", "commission"])
NAMED = ("--install", "1 precool-120 return-side")


@BOTH
def test_without_a_name_it_is_the_design_that_choose_chooses(command: str, tmp_path: Path) -> None:
    out, table = tmp_path / "out.json", tmp_path / "out.csv"
    done = run(command, ROOM, "--json", out, "--csv", table)
    assert done.exit_code == 0, done.stderr
    choice = chosen()[1]
    result = json.loads(out.read_text("utf-8"))
    for key in ("install", "costs", "feasible", "moisture_kg", "energy_kwh", "units"):
        assert result[key] == choice[key], key
    assert result["answer"] == "chosen, optimal"
    assert len(result["schedule"]) == sum(part["count"] for part in choice["install"])
    for one in choice["units"]["currents"]:
        there = [row["current"] for row in result["schedule"] if row["voltage"] == one["voltage"]]
        assert sum(there) == pytest.approx(one["current"], rel=1e-15)
    assert {one["voltage"] for one in choice["units"]["currents"]} == {
        row["voltage"] for row in result["schedule"]
    }
    headings, *rows = csv.reader(io.StringIO(table.read_text("utf-8")))
    assert headings[0] == "tag"
    assert {row[0] for row in rows} == {row["tag"] for row in result["schedule"]}
    assert "chosen, optimal" in done.stdout
    assert "\x1b" not in done.stdout
    assert not any(box in done.stdout for box in BOXES)
    assert max(map(len, done.stdout.splitlines())) <= 80 + len(str(CATALOG))


def test_the_schedule_agrees_with_rate_to_the_figures_shown() -> None:
    result = json.loads(run("schedule", ROOM, *NAMED, "--json", "-").stdout)
    rated = json.loads(
        run(
            "rate", CATALOG, "precool-120", "--dry-bulb", "26.7 degC", "--relative-humidity", "60 %", "--json", "-"
        ).stdout
    )  # fmt: skip
    standard = result["schedule"][0]["standard"]
    assert standard["removal"] == rated["removal"]
    assert standard["power"] == rated["power"]
    assert standard["leaving"]["dry_bulb"] == rated["leaving"]["dry_bulb"]


def test_the_sheet_names_a_command_that_gives_its_own_figures() -> None:
    done = run("commission", ROOM, *NAMED)
    text = " ".join(line.strip() for line in done.stdout.splitlines())
    assert "Other air   selector rate" in text
    result = json.loads(run("commission", ROOM, *NAMED, "--json", "-").stdout)
    at = result["commissioning"]["units"][0]["conditions"][0]
    entering = at["entering"]
    rated = json.loads(
        run(
            "rate", CATALOG, "precool-120", "--dry-bulb", f"{entering['dry_bulb']} degC", "--relative-humidity",
            str(entering["relative_humidity"]), "--pressure", f"{at['pressure']} Pa", "--json", "-",
        ).stdout
    )  # fmt: skip
    # the same call, but for dry bulb and relative humidity written as text and turned into a humidity ratio again
    assert rated["removal"] == pytest.approx(at["removal"], rel=1e-11)
    assert rated["power"] == pytest.approx(at["power"], rel=1e-11)


@BOTH
def test_a_named_design_that_breaks_a_limit_says_so_with_status_0(command: str) -> None:
    done = run(command, ROOM, "--install", "1 precool-120 standalone")
    assert done.exit_code == 0
    assert "Design      as named with --install; does NOT keep every limit" in done.stdout
    assert "Broken      hours above the humidity target: " in done.stdout


@BOTH
def test_not_possible_is_status_1_and_shows_the_nearest(command: str, tmp_path: Path) -> None:
    # nothing costs less than 1 USD, and the existing system does not hold the limit
    site = write_room(tmp_path, more='first_cost = "1 USD"\n')
    done = run(command, site)
    assert done.exit_code == 1
    text = " ".join(line.strip() for line in done.stdout.splitlines())
    assert "NOT POSSIBLE: " in text
    assert "this one comes nearest" in text


@BOTH
def test_install_nothing_is_status_0(command: str, tmp_path: Path) -> None:
    site = write_room(tmp_path, ("allowed_hours_above = 40", "allowed_hours_above = 8760"))
    table = tmp_path / "out.csv"
    done = run(command, site, "--csv", table)
    assert done.exit_code == 0
    assert "none: nothing is installed" in done.stdout
    assert len(table.read_text("utf-8").splitlines()) == 1  # its headings


@BOTH
def test_csv_to_standard_output_takes_the_place_of_the_screen(command: str) -> None:
    done = run(command, ROOM, *NAMED, "--csv", "-")
    headings, *rows = csv.reader(io.StringIO(done.stdout))
    assert headings[0] == "tag"
    assert rows
    assert {len(row) for row in rows} == {len(headings)}


@BOTH
def test_wrong_input_is_status_2_and_nothing_is_written(command: str, tmp_path: Path) -> None:
    out = tmp_path / "out.csv"
    done = run(command, ROOM, "--install", "2 precool-12 standalone", "--csv", out)
    assert done.exit_code == 2
    assert 'got "precool-12"' in done.stderr
    assert not out.exists()
    done = run(command, ROOM, *NAMED, "--csv", out, "--json", out)
    assert done.exit_code == 2
    assert "the same as --json" in done.stderr
    assert not out.exists()
    done = run(command, ROOM, *NAMED, "--csv", ROOM)
    assert done.exit_code == 2
    assert "a file that is read" in done.stderr


@BOTH
def test_no_defaults_refuses_them(command: str) -> None:
    done = run(command, ROOM, *NAMED, "--no-defaults")
    assert done.exit_code == 2
    assert "space.heat_loss" in done.stderr
