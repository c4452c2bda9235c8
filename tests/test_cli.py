"""What the commands answer, and where they write it."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from pathlib import Path

import pytest

from tests.commands import BOXES, chosen, run
from tests.sites import CATALOG, ROOM, write_room

# ---------------------------------------------------------------------------------------- choose


def test_choose_answers_on_one_screen() -> None:
    done = chosen()[0]
    lines = done.stdout.splitlines()
    assert len(lines) <= 24
    assert max(len(line) for line in lines) <= 80
    assert lines[1].startswith("Install     ")
    assert "Proof       optimal: " in done.stdout
    assert "\x1b" not in done.stdout
    assert not any(box in done.stdout for box in BOXES)


def test_choose_writes_the_json_that_belongs_to_its_screen() -> None:
    done, result, _ = chosen()
    assert result["proof"]["status"] == "optimal"
    assert result["feasible"] is True
    counts = " + ".join(f"{part['count']} {part['model']}" for part in result["install"])
    assert counts in done.stdout.splitlines()[1]
    assert f"{result['costs']['first']:,.0f} USD first" in done.stdout


def test_the_hourly_file_is_of_the_design_chosen() -> None:
    _, result, text = chosen()
    headings, *rows = csv.reader(io.StringIO(text))
    for part in result["install"]:
        assert f"{part['model']}_runtime" in headings
    total = sum(float(row[headings.index("unit_removal_kg")]) for row in rows)
    # a sum of 8,760 numbers in another order
    assert total == pytest.approx(result["moisture_kg"]["units"], rel=1e-12)


def test_the_other_solver_gives_the_same_bytes_but_for_the_seconds_and_details_follow_the_first_screen(
    tmp_path: Path,
) -> None:
    done = run("choose", ROOM, "--json", tmp_path / "x.json", "--solver", "cbc", "--details")
    assert done.exit_code == 0
    assert done.stdout.startswith(chosen()[0].stdout)
    assert "designs accounted for by" in done.stdout
    assert "Local codes and licensed practice decide, not this estimate." in done.stdout
    again = json.loads((tmp_path / "x.json").read_text("utf-8"))
    first = chosen()[1]
    assert again["proof"].pop("seconds") > 0.0
    expected = json.loads(json.dumps(first))
    del expected["proof"]["seconds"]
    assert json.dumps(again) == json.dumps(expected)


def test_not_possible_is_status_1(tmp_path: Path) -> None:
    # nothing costs less than 1 USD, and the existing system does not hold the limit
    site = write_room(tmp_path, more='first_cost = "1 USD"\n')
    done = run("choose", site, "--json", tmp_path / "x.json")
    assert done.exit_code == 1
    assert "NOT POSSIBLE" in done.stdout.splitlines()[1]
    assert len(done.stdout.splitlines()) <= 24
    result = json.loads((tmp_path / "x.json").read_text("utf-8"))
    assert (result["answer"], result["proof"]["status"]) == ("not possible", "not possible")
    assert any(move["limit"] == "first_cost" for move in result["limit_moves"])


def test_install_nothing_is_status_0(tmp_path: Path) -> None:
    site = write_room(tmp_path, ("allowed_hours_above = 40", "allowed_hours_above = 8760"))
    done = run("choose", site, "--json", tmp_path / "x.json")
    assert done.exit_code == 0
    assert done.stdout.splitlines()[1] == "Install     NOTHING: the existing system keeps every limit"
    result = json.loads((tmp_path / "x.json").read_text("utf-8"))
    assert (result["answer"], result["install"]) == ("install nothing", [])


def test_a_limit_of_work_leaves_the_best_found() -> None:
    done = run("choose", ROOM, "--work-years", "1", "--json", "-")
    result = json.loads(done.stdout)
    assert result["proof"]["status"] == "best-found"
    work = next(one for one in result["assumptions"] if one["key"] == "limits.work_years")
    assert (work["value"], work["origin"]) == (1.0, "given")


# ---------------------------------------------------------------------------------------- simulate, loads, check


def test_simulate_shows_a_design_whether_it_holds_or_not() -> None:
    done = run(
        "simulate", ROOM, "--install", "1 precool-120 return-side", "--install", "1 rotor-60 return-side"
    )
    assert done.exit_code == 0
    assert "Design      1 precool-120 + 1 rotor-60 return-side" in done.stdout
    assert "does NOT keep every limit" in done.stdout
    assert "invented prices, not for a bid" in done.stdout


def test_simulate_without_units_is_the_existing_system() -> None:
    done = run("simulate", ROOM, "--json", "-")
    result = json.loads(done.stdout)
    assert result["install"] == []
    assert result["humidity"]["hours_above"] == result["existing_system"]["humidity"]["hours_above"]
    assert result["humidity"]["design_days"][0]["holds"] is False


def test_a_design_chosen_and_the_same_simulated_agree() -> None:
    result = chosen()[1]
    parts = [f"{part['count']} {part['model']} {part['arrangement']}" for part in result["install"]]
    words = [word for part in parts for word in ("--install", part)]
    again = json.loads(run("simulate", ROOM, *words, "--json", "-").stdout)
    for key in ("install", "costs", "humidity", "comfort", "moisture_kg", "energy_kwh", "units"):
        assert again[key] == result[key], key


def test_loads_come_by_source_month_and_design_hour() -> None:
    done = run("loads", ROOM)
    assert done.exit_code == 0
    for words in (
        "people",
        "ventilation",
        "infiltration",
        "Design hour, 0.4 % dew point",
        "Dec",
        "to be taken out",
    ):
        assert words in done.stdout, words


def test_check_says_what_was_read() -> None:
    done = run("check", ROOM)
    assert done.exit_code == 0
    for words in (
        "No faults found.",
        "Design day: 0.4 %",
        "Coil at its rating",
        "static on a unit",
        "one well-mixed space",
        "units that fit",
    ):
        assert words in done.stdout, words


def test_check_lists_defaults_by_their_effect() -> None:
    done = run("check", ROOM, "--defaults")
    assert done.exit_code == 0
    assert "How to find yours:" in done.stdout
    assert "costs.location_factor = 1 (0.6 to 1.8)" in done.stdout
    result = json.loads(run("check", ROOM, "--defaults", "--json", "-").stdout)
    keys = [one["key"] for one in result["defaults"]]
    assert keys.index("space.heat_loss") < keys.index("limits.max_sizes")


def test_check_takes_a_catalogue() -> None:
    done = run("check", CATALOG)
    assert done.exit_code == 0
    assert "precool-120" in done.stdout
    assert "not for a bid" in " ".join(done.stdout.split())  # wherever the line breaks


def test_defaults_can_be_refused() -> None:
    done = run("simulate", ROOM, "--no-defaults")
    assert done.exit_code == 2
    assert "space.heat_loss: got nothing, and defaults are refused" in done.stderr
    assert done.stdout == ""


# ---------------------------------------------------------------------------------------- rate


def test_rate_shows_the_air_on_its_way() -> None:
    done = run("rate", CATALOG, "precool-120", "--dry-bulb", "80 degF", "--relative-humidity", "60 %")
    assert done.exit_code == 0
    for words in ("entering", "after the pre-cooler", "Apparatus dew point", "leaving", "lb/kWh", "error"):
        assert words in done.stdout, words


def test_rate_keeps_to_the_units_that_were_asked_for() -> None:
    rated = ("rate", CATALOG, "precool-120", "--dry-bulb", "80 degF", "--relative-humidity", "60 %")
    flow = json.loads(run(*rated, "--json", "-").stdout)["flow"] * 3600.0  # kg/h
    for units, pressure, unit, size in (
        ("IP", "14.70 psia", "lb/h", 0.45359237),
        ("SI", "101.3 kPa", "kg/h", 1.0),
    ):
        shown = " ".join(run(*rated, "--units", units).stdout.split())
        assert f"Pressure {pressure}; " in shown
        found = re.search(rf"at the entering state, ([\d,]+) {unit} of dry air", shown)
        assert found is not None
        assert float(found[1].replace(",", "")) == pytest.approx(flow / size, rel=0.005)  # three figures


def test_rate_marks_an_invented_unit_and_no_other(tmp_path: Path) -> None:
    real = tmp_path / "real"
    shutil.copytree(CATALOG, real)
    for name in ("units.csv", "ratings.csv"):
        text = (real / name).read_text("utf-8")
        assert text.startswith("# invented")
        (real / name).write_text(text.partition("\n")[2], "utf-8")
    for folder, mark in ((CATALOG, "invented, not for a bid"), (real, None)):
        rated = ("rate", folder, "precool-120", "--dry-bulb", "80 degF")
        first = run(*rated).stdout.splitlines()[0]
        assert first == "precool-120, refrigerant-precool" + (f", {mark}" if mark else "")
        assert json.loads(run(*rated, "--json", "-").stdout)["warning"] == mark


def test_rate_in_si_as_json_conserves_water() -> None:
    done = run(
        "rate", CATALOG, "rotor-60", "--dry-bulb", "20 degC", "--relative-humidity", "50 %", "--json", "-"
    )
    result = json.loads(done.stdout)
    taken = result["flow"] * (result["entering"]["humidity_ratio"] - result["leaving"]["humidity_ratio"])
    assert taken == pytest.approx(result["removal"], rel=1e-9)


def test_rate_says_where_a_unit_does_not_run() -> None:
    done = run("rate", CATALOG, "compressor-60", "--dry-bulb", "30 degF", "--relative-humidity", "60 %")
    assert done.exit_code == 0
    assert "Does not run on this air." in done.stdout


def test_rate_refuses_wrong_words() -> None:
    done = run("rate", CATALOG, "precool-120", "--dry-bulb", "80", "--relative-humidity", "160 %")
    assert done.exit_code == 2
    assert len(done.stderr.splitlines()) == 2
    assert run("rate", CATALOG, "precool").exit_code == 2
    assert run("rate", CATALOG, "precool-120", "--units", "metric").exit_code == 2
    assert run("rate", ROOM, "precool-120").exit_code == 2


# ---------------------------------------------------------------------------------------- units out of the ordinary


def single_point_catalogue(folder: Path) -> Path:
    """The invented catalogue with all but the first rating row of precool-120 left out."""
    copy = folder / "catalog"
    shutil.copytree(CATALOG, copy)
    lines = (copy / "ratings.csv").read_text("utf-8").splitlines(keepends=True)
    first = next(line for line in lines if line.startswith("precool-120,"))
    kept = [line for line in lines if not line.startswith("precool-120,") or line == first]
    (copy / "ratings.csv").write_text("".join(kept), "utf-8")
    return copy


def test_a_unit_known_by_one_rating_is_marked_everywhere(tmp_path: Path) -> None:
    catalog = single_point_catalogue(tmp_path)
    assert "Derived: precool-120" in run("check", catalog).stdout
    rated = run("rate", catalog, "precool-120", "--dry-bulb", "65 degF", "--relative-humidity", "50 %")
    assert "(derived: " in rated.stdout
    result = json.loads(run("rate", catalog, "precool-120", "--dry-bulb", "65 degF", "--json", "-").stdout)
    assert result["removal_low"] < result["removal"] < result["removal_high"]
    site = write_room(tmp_path, (f'"{CATALOG.as_posix()}"', f'"{catalog.as_posix()}"'))
    done = run("simulate", site, "--install", "2 precool-120 standalone", "--json", tmp_path / "x.json")
    assert "Derived     precool-120 from 1 rating row" in done.stdout
    marked = json.loads((tmp_path / "x.json").read_text("utf-8"))["derived_units"]
    assert [one["model"] for one in marked] == ["precool-120"]


def test_units_that_are_there_already_work_and_cost_no_first_cost(tmp_path: Path) -> None:
    there = '\n[[existing_units]]\nmodel = "precool-60"\narrangement = "standalone"\ncount = 1\n'
    site = write_room(tmp_path, more=there)
    done = run("simulate", site, "--json", tmp_path / "x.json", "--hourly", tmp_path / "x.csv")
    assert done.exit_code == 0
    result = json.loads((tmp_path / "x.json").read_text("utf-8"))
    assert result["install"] == []
    assert result["costs"]["first"] == 0.0
    assert result["moisture_kg"]["units"] > 0.0
    assert "precool-60_runtime" in (tmp_path / "x.csv").read_text("utf-8").splitlines()[0]
    done = run("simulate", site, "--install", "1 precool-120 standalone", "--json", tmp_path / "x.json")
    units = json.loads((tmp_path / "x.json").read_text("utf-8"))
    drawn = f"{units['energy_kwh']['units']:,.0f} kWh/year"  # of both; current and weight are of the new one
    (line,) = [line for line in done.stdout.splitlines() if line.startswith("Units ")]
    assert f"Units       {drawn}, " in line
    assert " with the existing ones; new " in " ".join(done.stdout.split())


def test_a_space_without_an_air_handler_has_one_arrangement(tmp_path: Path) -> None:
    text = ROOM.read_text("utf-8")
    handler = text[text.index("[air_handler]") : text.index("[limits]")]
    site = write_room(tmp_path, (handler, '[space.cooling]\nsource = "electric"\n\n'))
    checked = run("check", site)
    assert "Air handler: none" in checked.stdout
    assert "return-side  not allowed here" in checked.stdout
    done = run("choose", site, "--json", tmp_path / "x.json", "--hourly", tmp_path / "x.csv")
    assert done.exit_code == 0, done.stderr
    assert "Others" not in done.stdout
    result = json.loads((tmp_path / "x.json").read_text("utf-8"))
    assert list(result["best_by_arrangement"]) == ["standalone"]
    assert run("loads", site).exit_code == 0
    refused = run("simulate", site, "--install", "1 precool-60 return-side")
    assert refused.exit_code == 2
    assert "allowed: standalone" in refused.stderr
