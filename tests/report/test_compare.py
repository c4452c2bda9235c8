"""A comparison on the screen and as JSON: 80 columns, every figure with its unit, the figures of `simulate`."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from rich.cells import cell_len

from selector.decide.choose import choose
from selector.decide.compare import Comparison, compare
from selector.decide.levelling import Added
from selector.report.compare_json import compare_json
from selector.report.compare_screen import MIXED, compare_screen, next_command
from selector.report.json_report import to_text
from selector.report.terminal import plain_lines
from tests.commands import run
from tests.proposals import ALL, LUMP, ONE, OWN, TWO, room_with
from tests.sites import write_room


@pytest.fixture(scope="module")
def everything(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    return compare(prepared=room_with(tmp_path_factory.mktemp("room"), *ALL), choice=None)


def lines_of(comparison: Comparison) -> tuple[str, ...]:
    return plain_lines(compare_screen(comparison=comparison))


def text_of(comparison: Comparison) -> str:
    """The screen with its lines joined, as if they had not been wrapped."""
    return " ".join(line.strip() for line in lines_of(comparison))


def renamed(comparison: Comparison, name: str, by: str) -> Comparison:
    options = tuple(
        replace(one, option=replace(one.option, name=f"{name}{one.rank}", by=by))
        for one in comparison.options
    )
    return replace(comparison, options=options)


# the screen -----------------------------------------------------------------------------------------------------------


def test_an_option_says_in_how_many_hours_it_did_not_settle(everything: Comparison) -> None:
    assert "not settled" not in text_of(everything)
    last = everything.options[-1]
    hours = replace(last.evaluation, unsettled_hours=1, balance_energy=1.03)
    marked = replace(everything, options=(*everything.options[:-1], replace(last, evaluation=hours)))
    text = text_of(marked)
    assert f"Running {last.rank} 1 hour not settled to the tolerance;" in " ".join(text.split())
    assert "heat 1e+00 of its largest term" in text


def test_the_answer_comes_first_then_tables_then_reasons(everything: Comparison) -> None:
    lines = lines_of(everything)
    starts = [line[:12].strip() for line in lines]
    assert lines[0].startswith("Test room: FIRST ESTIMATE; invented prices, not for a bid")
    best = everything.options[0]
    assert lines[1].startswith(f"Answer      {best.option.name}")
    places = [starts.index(word) for word in ("Answer", "Cost", "Humidity", "Why", "Base case", "Levelled")]
    assert places == sorted(places)
    assert starts.index("Ratings") > starts.index("Levelled")
    assert lines[-1].startswith("Next        selector compare ") or "selector compare" in text_of(everything)


def test_every_option_has_a_row_and_a_reason(everything: Comparison) -> None:
    lines = lines_of(everything)
    text = text_of(everything)
    for one in everything.options:
        costs = one.evaluation.costs
        (row,) = [line for line in lines if line.startswith(f"{one.rank}  {one.option.name}  ")]
        figures = [f"{costs.first:,.0f}", f"{costs.annual_operating:,.0f}", f"{costs.life_cycle:,.0f}"]
        figures.append(f"{one.evaluation.hours_above:,}")
        held = "yes" if one.evaluation.feasible else "NO"
        assert row.split()[-5:] == [*figures, held]
        assert one.reason in text


def test_what_was_added_to_level_is_shown_with_its_sum(everything: Comparison) -> None:
    lump = next(one for one in everything.options if one.option.name == "lump")
    drains, electrical = (one.amount for one in lump.price.added)
    assert drains is not None
    assert electrical is not None
    assert (
        f"{lump.rank} lump (bidder A): lump sum 13,000.00 + drains {drains:,.2f} + electrical "
        f"{electrical:,.2f} = {lump.price.total:,.2f} USD"
    ) in text_of(everything)
    assert "ask for a signed data sheet" in text_of(everything)


def test_what_could_not_be_levelled_is_named(everything: Comparison) -> None:
    options = tuple(
        replace(one, price=replace(one.price, added=(Added("drains", None), Added("ducts", None))))
        if one.option.name == "lump"
        else one
        for one in everything.options
    )
    text = text_of(replace(everything, options=options))
    assert "NOT levelled, as this site prices them in lump sums: drains, ducts" in text


def test_options_at_our_own_prices_need_no_levelling(tmp_path: Path) -> None:
    text = text_of(compare(prepared=room_with(tmp_path, TWO), choice=None))
    assert "Levelled    nothing: all options are at our own prices and scope" in text
    assert "Proposals" not in text


def test_ratings_stand_as_stated_and_on_one_entering_state(everything: Comparison) -> None:
    lines = lines_of(everything)
    own = next(one for one in everything.options if one.option.name == "own")
    (row,) = [line for line in lines if line.startswith(f"{own.rank}  2 own-120")]
    rated, standard, design = (float(word) for word in row.split()[-3:])
    (rating,) = own.ratings
    hourly = 2.0 * 3600.0 / 0.45359237
    assert rated == pytest.approx(rating.offered.removal * hourly, abs=0.051)
    assert [standard, design] == pytest.approx([one.removal * hourly for one in rating.at], abs=0.051)
    assert "86.0 degF, 80 %" in row
    assert f"{own.rank} own-120 from 1 rating row: " in text_of(everything) or own is everything.best


def test_a_misfit_and_its_limit_are_named(tmp_path: Path) -> None:
    prepared = room_with(tmp_path, TWO, ONE, limits='sound = "53 dBA"\nweight = "190 lb"\nheight = "25 in"')
    text = text_of(compare(prepared=prepared, choice=None))
    assert "precool-120, sound: 54.0 dBA (53.0 allowed)" in text
    assert "precool-120, weight of a unit: 196 lb (190 allowed)" in text
    assert "precool-120, height of a unit: 26.0 in (25.0 allowed)" in text
    assert "Answer      NOT POSSIBLE: no option keeps every limit" in text


def test_close_results_are_said_to_be_close(everything: Comparison) -> None:
    first, second = everything.options[:2]
    total = first.life_cycle.total
    near = replace(second, life_cycle=replace(second.life_cycle, total=1.001 * total))
    far = replace(second, life_cycle=replace(second.life_cycle, total=1.1 * total))
    close = text_of(replace(everything, options=(first, near, *everything.options[2:])))
    assert f"{second.rank} {second.option.name}" in close
    assert "(0.10 %) dearer: closer than prices and loads are known" in close
    assert "(10.00 %)" not in text_of(replace(everything, options=(first, far, *everything.options[2:])))


def test_every_line_fits_80_columns_whatever_the_names_and_figures(everything: Comparison) -> None:
    rows = []
    for one in everything.options:
        costs = replace(
            one.evaluation.costs,
            first=1234567.0,
            annual_operating=234567.0,
            life_cycle=4234567.0,
            gas=23456.0,
        )
        rows.append(replace(one, evaluation=replace(one.evaluation, costs=costs, weight=12345.0)))
    for comparison in (
        everything,
        renamed(everything, "東京" * 30 + "\x1b[2J\n", "bidder\x1b[31m " * 6),
        replace(everything, options=tuple(rows)),
        replace(everything, site=replace(everything.site, display_units="SI")),
    ):
        lines = lines_of(comparison)
        assert max(map(cell_len, lines)) <= 80
        assert not any("\x1b" in line for line in lines)


def test_si_is_shown_where_the_site_asks_for_it(everything: Comparison) -> None:
    text = text_of(replace(everything, site=replace(everything.site, display_units="SI")))
    assert "removed kg/y" in text
    assert "standard kg/h" in text
    assert " lb" not in text
    assert "degF" not in text


def test_the_search_is_named_with_its_status(tmp_path: Path) -> None:
    prepared = room_with(tmp_path, ONE)
    limits = replace(prepared.site.limits, arrangements=("standalone",), max_sizes=1)
    prepared = replace(prepared, site=replace(prepared.site, limits=limits))
    comparison = compare(prepared=prepared, choice=choose(prepared=prepared))
    assert "the chosen design is optimal within the catalogue, at our own prices" in text_of(comparison)
    assert next_command(comparison).startswith("selector check ")
    assert "--no-choice" not in text_of(comparison)
    result = compare_json(comparison=comparison)
    assert result["choice"]["status"] == "optimal"
    assert result["answer"] == "chosen design"


def test_currents_at_two_voltages_stand_side_by_side_and_say_so(everything: Comparison) -> None:
    """10.1 A at 208 V and 13.4 A at 120 V load no one conductor with 23.5 A."""
    assert MIXED not in text_of(everything)
    first, *rest = everything.options
    mixed = replace(first, evaluation=replace(first.evaluation, currents=((120.0, 13.4), (208.0, 10.1))))
    text = text_of(replace(everything, options=(mixed, *rest)))
    assert "  13.4+10.1  " in text
    assert MIXED in text
    units = compare_json(comparison=replace(everything, options=(mixed, *rest)))["options"][0]["units"]
    assert units["current"] is None
    assert units["currents"] == [{"voltage": 120.0, "current": 13.4}, {"voltage": 208.0, "current": 10.1}]


def test_without_a_search_it_is_said_and_offered(everything: Comparison) -> None:
    assert "other designs may be better; without --no-choice they are tried" in text_of(everything)
    assert next_command(everything) == f"selector compare {everything.site.file}"


# JSON -----------------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def written(everything: Comparison) -> dict[str, Any]:
    result: dict[str, Any] = json.loads(to_text(compare_json(comparison=everything)))
    return result


def test_json_holds_every_option_in_the_order_of_the_screen(
    everything: Comparison, written: dict[str, Any]
) -> None:
    found = [(one["rank"], one["name"], one["by"], one["reason"]) for one in written["options"]]
    assert found == [
        (one.rank, one.option.name, one.option.by or None, one.reason) for one in everything.options
    ]
    assert written["answer"] == everything.options[0].option.name
    assert written["base"]["name"] == everything.options[everything.base].option.name
    assert written["choice"] is None


def test_levelled_amounts_add_up_in_json(written: dict[str, Any]) -> None:
    for one in written["options"]:
        levelled = one["levelled"]
        assert levelled["total"] == one["costs"]["first"]
        if levelled["offered"] is not None:
            added = sum(each["amount"] for each in levelled["added"])
            assert levelled["offered"] + added == pytest.approx(levelled["total"], rel=1e-12)
        lines = one["costs"]["bill_of_quantities"]["lines"]
        assert sum(line["amount"] for line in lines) == pytest.approx(levelled["total"], rel=1e-12, abs=1e-9)


def test_defaults_of_proposed_units_are_among_the_assumptions(tmp_path: Path) -> None:
    text = OWN.replace('service_life = "12 year"\n', "")
    comparison = compare(prepared=room_with(tmp_path, text), choice=None)
    keys = {one["key"]: one["origin"] for one in compare_json(comparison=comparison)["assumptions"]}
    assert keys["alternates[0].units[0].service_life"] == "default"
    assert "1 more for proposals and options" in text_of(comparison)


# the command ----------------------------------------------------------------------------------------------------------


def test_the_command_gives_the_figures_of_simulate(tmp_path: Path) -> None:
    site = write_room(tmp_path, more=TWO)
    done = run("compare", site, "--no-choice", "--json", tmp_path / "compared.json")
    assert done.exit_code == 0, done.stderr
    assert done.stdout.splitlines()[1] == "Answer      two: 2 precool-120 standalone"
    simulated = run("simulate", site, "--install", "2 precool-120 standalone", "--json", "-")
    assert simulated.exit_code == 0, simulated.stderr
    plain = json.loads(simulated.stdout)
    option = json.loads((tmp_path / "compared.json").read_text("utf-8"))["options"][0]
    assert option["name"] == "two"
    shared = set(plain) & set(option)
    assert shared >= {"install", "costs", "humidity", "comfort", "feasible", "limits_broken", "moisture_kg",
                      "energy_kwh", "balance", "units", "unsettled_hours", "derived_units"}  # fmt: skip
    assert {key: option[key] for key in shared} == {key: plain[key] for key in shared}
    there = next(
        one
        for one in json.loads((tmp_path / "compared.json").read_text("utf-8"))["options"]
        if one["kind"] == "existing"
    )
    assert there["costs"] == plain["existing_system"]["costs"]


def test_status_1_where_no_option_keeps_every_limit(tmp_path: Path) -> None:
    done = run("compare", write_room(tmp_path, more=ONE), "--no-choice")
    assert done.exit_code == 1
    assert "NOT POSSIBLE" in done.stdout.splitlines()[1]
    assert "fails 189 hours" in done.stdout


def test_json_on_standard_output_is_all_there_is(tmp_path: Path) -> None:
    done = run("compare", write_room(tmp_path, more=LUMP), "--no-choice", "--json", "-")
    assert done.exit_code == 0
    assert [one["name"] for one in json.loads(done.stdout)["options"]] == ["lump", "existing system"]


def test_wrong_input_is_status_2_and_nothing_is_written(tmp_path: Path) -> None:
    site = write_room(tmp_path, more=LUMP.replace("drains", "drain"))
    done = run("compare", site, "--json", tmp_path / "x.json")
    assert done.exit_code == 2
    assert 'alternates[0].exclusions[0]: got "drain"; allowed: drains' in done.stderr
    assert not (tmp_path / "x.json").exists()


def test_the_input_is_never_overwritten(tmp_path: Path) -> None:
    site = write_room(tmp_path, more=LUMP)
    done = run("compare", site, "--no-choice", "--json", site)
    assert done.exit_code == 2
    assert "lump" in site.read_text("utf-8")


def test_a_solver_that_is_not_known_is_refused(tmp_path: Path) -> None:
    done = run("compare", write_room(tmp_path, more=ONE), "--solver", "abacus")
    assert done.exit_code == 2
    assert "--solver" in done.stderr
