"""The first screen of a choice: 24 lines of 80 columns, whatever stands in the site."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from rich.cells import cell_len

from selector.decide.results import Choice, LimitMove
from selector.decide.what_would_change import WhatWouldChange
from selector.inputs.site import HOURS, HumidityTarget, Site
from selector.physics.design_day import simulate_design_day
from selector.physics.prepare import lead_order
from selector.report.choose_screen import HEIGHT, answer_of, choose_screen, next_command, proof_text
from selector.report.lines import humidity_text, set_back_text
from selector.report.simulate_screen import details_screen
from selector.report.terminal import plain_lines
from selector.report.text import show_in
from tests.report.choices import PROOF, chosen, impossible, kept, nothing, simulated
from tests.sites import prepared_room, room


def lines_of(choice: Choice) -> tuple[str, ...]:
    prepared = prepared_room()
    install = lead_order(prepared=prepared, install=answer_of(choice).install)
    days = tuple(
        simulate_design_day(prepared=prepared, install=install, day=day)
        for day in prepared.site.weather.design_days
    )
    return plain_lines(choose_screen(choice=choice, days=days, fitted=prepared.fitted))


def several_limits(choice: Choice) -> Choice:
    result = kept(choice.existing).limits[0]
    name = "a limit with a long name \x1b[31m" * 3
    limits = tuple(replace(result, name=f"{name} {place}", only_set_back=12) for place in range(5))
    best = None if choice.best is None else replace(choice.best, limits=limits)
    closest = None if choice.closest is None else replace(choice.closest, limits=limits)
    return replace(choice, best=best, closest=closest, existing=replace(choice.existing, limits=limits))


def dear(choice: Choice) -> Choice:
    """Costs of nine figures."""
    best = answer_of(choice)
    costs = replace(best.costs, first=123456789.0, annual_operating=23456789.0, life_cycle=523456789.0)
    best = replace(best, costs=costs, weight=123456.0, currents=((120.0, 1234.5), (208.0, 1234.5)))
    return replace(
        choice, best=best, proof=replace(choice.proof, status="best-found", gap_money=1e8, gap=0.2)
    )


def long_words(choice: Choice) -> Choice:
    site = replace(
        room(), name="東京" * 60 + "\n[red]\x1b[2J", file="a folder with spaces/" * 8 + "site.toml"
    )
    return replace(choice, site=site)


CHOICES: dict[str, Callable[[], Choice]] = {
    "chosen": chosen,
    "nothing": nothing,
    "impossible": impossible,
    "several limits": lambda: several_limits(chosen()),
    "several limits, impossible": lambda: several_limits(impossible()),
    "dear": lambda: dear(chosen()),
    "long words": lambda: long_words(chosen()),
    "long words, impossible": lambda: long_words(several_limits(impossible())),
}


@pytest.mark.parametrize("name", CHOICES)
def test_the_first_screen_fits(name: str) -> None:
    lines = lines_of(CHOICES[name]())
    assert len(lines) <= HEIGHT
    for line in lines:
        assert cell_len(line) <= 80
        assert "\x1b" not in line


@pytest.mark.parametrize("name", CHOICES)
def test_what_must_never_be_cut_away_is_there(name: str) -> None:
    choice = CHOICES[name]()
    text = "\n".join(lines_of(choice))
    for words in (
        *(("Broken ", "Would do ") if choice.moves else ()),
        "FIRST ESTIMATE",
        "invented prices, not for a bid",
        "SYNTHETIC weather",
        "h/year above",
        "Cost ",
        "Proof ",
        "year-equivalents",
        "Cautions ",
        "codes and licensed practice decide",
        "Next        selector ",
    ):
        assert words in text, words


def test_the_answer_stands_first_with_its_figures() -> None:
    choice = chosen()
    lines = lines_of(choice)
    assert choice.best is not None
    assert lines[1] == "Install     2 precool-120 + 1 compressor-60 standalone (in the space itself)"
    assert f"{choice.best.hours_above:,} h/year above 60.0 % RH (40 allowed)" in lines[2]
    text = "\n".join(lines)
    # 2.5e-4 kg/s = 0.9 kg/h = 1.98 lb/h
    assert "holds with 1.98 lb/h more moisture all year (17 % of the mean load)" in text
    assert "Unit out    precool-120 out: 388 h/year above, worst 68.1 % RH: NOT held" in text
    assert "Proof       optimal: 1,234 of 21,421 designs simulated, 123 year-equivalents" in text
    assert "+123,456  more maintenance" in text
    assert "outdoor-air 1 precool-120 + 2 rotor-60" in text


def school_like(choice: Choice) -> Choice:
    """Two limits with names, each of whose lines takes two: the most that a demo site needs."""
    result = kept(choice.existing).limits[0]
    limits = (
        replace(result, name="classes", kind="dew-point", limit=15.56, worst=18.2),
        replace(result, name="mould, all year"),
    )
    best = None if choice.best is None else replace(choice.best, limits=limits)
    closest = None if choice.closest is None else replace(choice.closest, limits=limits)
    return replace(choice, best=best, closest=closest, existing=replace(choice.existing, limits=limits))


@pytest.mark.parametrize("made", [chosen, nothing, lambda: school_like(chosen())])
def test_nothing_gives_way_where_a_site_has_two_limits(made: Callable[[], Choice]) -> None:
    choice = made()
    lines = lines_of(choice)
    assert len(lines) <= HEIGHT
    assert choice.best is not None
    labels = [line[:11].strip() for line in lines]
    for label in ("Install", "Humidity", "Design day", "Too warm", "Margin", "Cost", "Proof", "Defaults"):
        assert label in labels, label
    assert labels.count("Humidity") == len(choice.best.limits)
    assert any("extra life-cycle cost [USD]" in line for line in lines)
    others = {one.arrangement for one in choice.by_arrangement if one.reason != "chosen"}
    assert others <= {line[2:14].strip() for line in lines}
    if choice.best.install:
        assert "(in the space itself)" in lines[1]
        assert {"Existing", "Unit out", "Units"} <= set(labels)


def test_the_place_has_a_line_of_its_own_where_the_design_is_long() -> None:
    parts = ("2 precool-120 standalone", "1 compressor-60 standalone", "1 rotor-60 standalone")
    best = kept(simulated(*parts))
    lines = lines_of(replace(chosen(), best=best))
    assert lines[1].startswith("Install     ")
    assert lines[1].endswith(" standalone")
    assert lines[2] == "Where       in the space itself"


def test_air_above_saturation_is_called_what_it_is() -> None:
    limit = nothing().existing.limits[0]
    assert limit.kind == "relative-humidity"
    for worst, words in ((1.0, "worst 100.0 %, "), (1.024, "worst 102.4 % (water condenses, left out), ")):
        assert words in humidity_text(
            replace(limit, worst=worst), show_in(units="SI", currency="USD"), name=False
        )


def test_nothing_is_an_answer() -> None:
    lines = lines_of(nothing())
    assert lines[1] == "Install     NOTHING: the existing system keeps every limit"
    text = "\n".join(lines)
    assert "electricity," not in text  # nothing is wired
    assert "ventilation, mould" in text
    assert "+1,000  more first cost" in text


def test_hours_above_that_only_a_set_back_makes_are_told_by_limit() -> None:
    one = chosen().best
    assert one is not None
    limits = tuple(
        replace(one.limits[0], name=name, only_set_back=hours) for name, hours in (("a", 5), ("b", 8))
    )
    assert (
        set_back_text(replace(one, limits=limits)) == "only because the space is set back cold: a 5 h, b 8 h"
    )
    assert (
        set_back_text(replace(one, limits=limits[:1]))
        == "of these 5 h only because the space is set back cold"
    )
    assert set_back_text(one) is None


def test_not_possible_names_the_nearest_and_what_would_help() -> None:
    text = "\n".join(lines_of(impossible()))
    assert "Answer      NOT POSSIBLE: no design keeps every limit" in text
    assert "Nearest     3 precool-120 return-side (return duct, before outdoor air)" in text
    assert "Proof       proved: 1,234 of 21,421 designs simulated, 123 year-equivalents" in text
    assert "Broken      first cost: 23,100 USD (20,000 allowed)" in text
    # 1.3 and 1.2 m³/s in cfm
    assert "airflow of the units against return air: 2,755 cfm (2,543 allowed)" in " ".join(text.split())
    assert "Would do    hours above the humidity target: 106 h instead of 40 h (proved)" in text
    assert "hours too warm: now 50 h; alone it does not help" in text
    assert "gap" not in text
    assert "            highest first cost: 23,100 USD instead of 20,000 USD (best tried)" in text


def none_found() -> Choice:
    """The search ended before any design that keeps the limits was found."""
    proof = replace(
        impossible().proof,
        status="best-found",
        reason="no design found before the limit of the clock",
        excluded_by={"not reached": 21420},
        designs_simulated=1,
        stopped_by="clock",
    )
    return replace(impossible(), proof=proof, moves=())


def test_none_found_in_time_is_not_called_impossible() -> None:
    nothing_changes = WhatWouldChange(None, ((),), (), (), 0)
    lines = plain_lines(
        choose_screen(choice=none_found(), days=(), fitted=prepared_room().fitted, what_if=nothing_changes)
    )
    text = "\n".join(lines)
    assert "FIRST ESTIMATE" in lines[0]
    assert "Answer      NONE FOUND: no design found before the limit of the clock" in text
    assert "POSSIBLE" not in text
    assert "nan USD" not in text
    assert "Would do" not in text
    details = "\n".join(
        plain_lines(details_screen(choice=none_found(), days=(), fitted=prepared_room().fitted))
    )
    assert "lower bound of the life-cycle cost: none" in details
    assert "nan USD" not in details


def test_a_limit_whose_move_was_not_found_is_not_said_to_be_of_no_help() -> None:
    move = LimitMove("max_units", 3, None, "", "within the designs tried")
    text = "\n".join(lines_of(replace(impossible(), moves=(move,))))
    assert "Would do    most units: now 3; alone it helps none of the designs tried" in text


def all_given(site: Site) -> Site:
    given = tuple(replace(one, origin="given") for one in site.assumptions)
    return replace(site, assumptions=given, weather=replace(site.weather, kind="measured year"))


def test_it_is_a_first_estimate_only_while_a_default_stands() -> None:
    text = "\n".join(lines_of(replace(chosen(), site=all_given(room()))))
    assert "FIRST ESTIMATE" not in text
    assert "all values given" in text
    assert "weather of a measured year" in text
    assert "SYNTHETIC" not in text
    one = replace(room().assumptions[-1], origin="default")
    site = all_given(room())
    site = replace(site, assumptions=(*site.assumptions[:-1], one))
    assert "FIRST ESTIMATE" in "\n".join(lines_of(replace(chosen(), site=site)))


def test_prices_are_called_invented_only_where_they_are() -> None:
    book = room().costs.price_book
    assert book is not None
    costs = replace(room().costs, price_book=replace(book, invented=False))
    site = replace(room(), catalog=replace(room().catalog, invented=False), costs=costs)
    assert "invented" not in "\n".join(lines_of(replace(chosen(), site=site)))


def test_derived_units_are_marked() -> None:
    prepared = prepared_room()
    fitted = tuple(replace(one, derived=True, low=0.85, high=1.12) for one in prepared.fitted)
    lines = plain_lines(choose_screen(choice=chosen(), days=(), fitted=fitted))
    assert "Derived     precool-120 from 12 rating rows: 0.85 to 1.12 of the removal shown" in "\n".join(
        lines
    )
    assert len(lines) <= HEIGHT


def test_details_hold_what_the_first_screen_has_no_room_for() -> None:
    choice = several_limits(chosen())
    prepared = prepared_room()
    fitted = tuple(replace(one, derived=True, low=0.85, high=1.12) for one in prepared.fitted)
    first = " ".join(" ".join(lines_of(choice)).split())
    assert "and 3 more limits: --details" in first
    details = plain_lines(details_screen(choice=choice, days=(), fitted=fitted))
    assert sum(line.startswith("Humidity    a limit with a") for line in details) == 5
    text = " ".join(" ".join(details).split())
    assert text.count(" 12 h") == 5  # only because the space is set back cold
    assert "Derived precool-120 from 12 rating rows: 0.85 to 1.12 of the removal shown" in text
    best, extra = answer_of(choice), choice.site.limits.extra_hours_too_warm
    assert extra is not None
    allowed = choice.existing.hours_too_warm + extra
    assert f"Too warm {best.hours_too_warm:,} h/year ({allowed:,.0f} allowed); " in text


def test_units_of_display_follow_the_site() -> None:
    text = "\n".join(lines_of(replace(chosen(), site=replace(room(), display_units="SI"))))
    assert "0.9 kg/h more moisture" in text
    assert "lb" not in text
    assert "degF" not in text


def test_the_next_command_depends_on_what_is_open() -> None:
    site = replace(room(), file="hall.toml")
    choice = replace(chosen(), site=site)
    assert next_command(choice) == "selector check hall.toml --defaults"
    assert next_command(replace(choice, site=all_given(site))) == "selector choose hall.toml --details"
    stopped = replace(choice, proof=replace(PROOF, status="best-found", stopped_by="work"))
    assert next_command(stopped) == "selector choose hall.toml --work-years 20000"
    late = replace(choice, proof=replace(PROOF, status="best-found", stopped_by="clock"))
    assert next_command(late) == "selector choose hall.toml"
    none = replace(impossible(), site=site)
    assert next_command(none) == "selector simulate hall.toml --install '3 precool-120 return-side'"


def test_a_long_path_takes_no_second_line() -> None:
    choice = school_like(chosen())
    lines = lines_of(replace(choice, site=replace(choice.site, file="/" + "long-folder/" * 6 + "hall.toml")))
    assert lines[-1] == "Next        selector check SITE --defaults"
    assert any(line.startswith("Design day") for line in lines)


def test_best_found_says_how_much_is_open() -> None:
    excluded = {"cost before simulation": 1000, "not reached": 19000}
    proof = replace(PROOF, status="best-found", excluded_by=excluded, gap_money=1234.0, gap=0.03)
    assert proof_text(proof, "USD") == (
        "best-found; 21,421 designs: 1,234 simulated, 1,187 excluded by rules, 19,000 not reached; gap 1,234 USD; "
        "123.4 year-equivalents"
    )


def test_no_limit_in_force_is_no_reason_to_fail() -> None:
    target = room().targets[0]
    off = HumidityTarget(target.name, target.kind, target.limit, target.band, target.hours & False, 0.0)
    assert off.hours.sum() == 0
    assert off.hours.size == HOURS
    site = replace(room(), targets=(off,))
    prepared = replace(prepared_room(), site=site)
    day = simulate_design_day(prepared=prepared, install=(), day=site.weather.design_days[0])
    screen = choose_screen(choice=replace(chosen(), site=site), days=(day,), fitted=prepared.fitted)
    assert "no limit in force" in "\n".join(plain_lines(screen))


@pytest.mark.parametrize("name", CHOICES)
def test_details_hold_the_cautions_and_every_reason_in_full(name: str) -> None:
    choice = CHOICES[name]()
    prepared = prepared_room()
    lines = plain_lines(details_screen(choice=choice, days=(), fitted=prepared.fitted))
    text = " ".join(" ".join(lines).split())
    for one in choice.by_arrangement:
        assert f"{one.arrangement}: {one.reason}" in text
    assert "Local codes and licensed practice decide, not this estimate." in text
    assert "static pressure on the unit 3,000" in text
