"""What would change the answer: what is said to change it does, by a whole choice."""

from __future__ import annotations

import functools
from dataclasses import replace

import pytest

from selector.decide.choose import choose
from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.results import Choice
from selector.decide.what_would_change import (
    HALVINGS,
    WhatWouldChange,
    compared_designs,
    is_uncertain,
    what_would_change,
)
from selector.inputs.site import Assumption, Install
from selector.inputs.site_file import read_site
from selector.physics.prepare import Prepared
from selector.report.choose_screen import choose_screen, sensitive_text
from selector.report.json_report import to_text
from selector.report.terminal import plain_lines
from selector.report.text import design_text, show_for
from selector.report.what_if import what_if_json, what_if_screen
from tests.sites import ROOM, prepared_room, room

KEYS = ("space.moisture_buffer", "space.exhaust_airflow", "costs.discount_rate", "space.solar_aperture",
        "costs.installation.standalone.duct_fittings")  # fmt: skip


@functools.cache
def choice() -> Choice:
    return choose(prepared=prepared_room())


@functools.cache
def tried() -> WhatWouldChange:
    return what_would_change(prepared=few(), choice=choice(), closely=True)


def few() -> Prepared:
    """The room with only a few values that count as uncertain."""
    assumptions = tuple(
        one if one.key in KEYS else replace(one, low=None, high=None) for one in room().assumptions
    )
    return replace(prepared_room(), site=replace(room(), assumptions=assumptions))


def at(key: str, value: float) -> Prepared:
    site = read_site(path=ROOM, instead={key: value}, like=room())
    return prepare_site(site=site, fitted=prepared_room().fitted)


def test_each_uncertain_value_is_tried_at_both_ends() -> None:
    effects = tried().effects
    assert {one.assumption.key for one in effects} == set(KEYS)
    for one in effects:
        for end, value in ((one.low, one.assumption.low), (one.high, one.assumption.high)):
            assert end is not None
            assert end.value == value
    assert [one.changes for one in effects] == sorted((one.changes for one in effects), reverse=True)
    best = choice().best
    assert best is not None
    assert tried().chosen == best.install


def test_what_is_said_to_change_the_answer_does() -> None:
    """By a whole choice at that value; and the room has values that do."""
    changing = [
        (one.assumption.key, end)
        for one in tried().effects
        for end in (one.low, one.high)
        if end and end.changes
    ]
    assert changing
    for key, end in changing:
        whole = choose(prepared=at(key, end.value))
        assert whole.best is None or whole.best.install != tried().chosen, key
        if end.winner is not None:  # what won among those compared is no better than what wins among all
            assert whole.best is not None
            assert end.cost is not None
            assert whole.best.costs.life_cycle <= end.cost * (1.0 + 1e-9)


def test_where_it_is_said_not_to_change_the_chosen_design_still_holds_at_that_cost() -> None:
    chosen = tried().chosen
    assert chosen is not None
    staying = [
        (one.assumption.key, end)
        for one in tried().effects
        for end in (one.low, one.high)
        if end and not end.changes
    ]
    assert staying
    for key, end in staying:
        there = at(key, end.value)
        warm = evaluate(prepared=there, install=()).hours_too_warm + 50.0
        alone = evaluate(prepared=there, install=chosen, warm_allowed=warm)
        assert alone.feasible, key
        assert end.cost == pytest.approx(alone.costs.life_cycle, rel=1e-12)


def test_how_far_a_value_can_move() -> None:
    """At the value found the chosen design holds; one step of the bisection farther the answer is another."""
    sought = [(one, end, reach) for one in tried().effects
              for end, reach in ((one.low, one.holds_down_to), (one.high, one.holds_up_to))
              if end is not None and end.changes and end.winner is None]  # fmt: skip
    assert sought
    for one, end, reach in sought:
        assert reach is not None
        value = float(one.assumption.value)
        assert min(value, end.value) <= reach <= max(value, end.value)
        step = (end.value - value) / 2**HALVINGS
        assert tried().chosen is not None

        def holds(there: float, key: str = one.assumption.key) -> bool:
            prepared = at(key, there)
            warm = evaluate(prepared=prepared, install=()).hours_too_warm + 50.0
            return evaluate(prepared=prepared, install=tried().chosen or (), warm_allowed=warm).feasible

        assert holds(reach)
        assert not holds(reach + step)


def test_prices_are_tried_without_simulating_again() -> None:
    """The same cost as a simulation at the other price gives."""
    one = next(one for one in tried().effects if one.assumption.key == "costs.discount_rate")
    assert one.low is not None
    there = at("costs.discount_rate", one.low.value)
    assert one.low.winner is not None
    assert one.low.cost == pytest.approx(
        evaluate(prepared=there, install=one.low.winner).costs.life_cycle, rel=1e-12
    )


def test_the_designs_compared() -> None:
    best = choice().best
    assert best is not None
    quick = compared_designs(choice=choice(), closely=False)
    close = compared_designs(choice=choice(), closely=True)
    assert quick[0] == close[0] == best.install
    assert () in quick
    assert set(quick) <= set(close)
    assert choice().runner_up is not None
    for one in choice().by_arrangement:
        assert one.best is None or one.best.install in close
    less = [Install(part.model, part.arrangement, part.count - 1) for part in best.install]
    for place, part in enumerate(best.install):
        assert (
            tuple(
                two for two in (*best.install[:place], less[place], *best.install[place + 1 :]) if two.count
            )
            in quick
        ), part


def value(key: str, low: float | None, high: float | None, used: float | str = 1.0) -> Assumption:
    return Assumption(key, used, "", low, high, "default", "", "")


def test_what_counts_as_uncertain() -> None:
    def uncertain(one: Assumption, price: float = 0.0) -> bool:
        return is_uncertain(assumption=one, carbon_price=price)

    assert uncertain(value("space.heat_loss", 0.5, 2.0))
    assert not uncertain(value("space.heat_loss", None, None))
    assert not uncertain(value("space.heat_loss", 1.0, 1.0))
    assert not uncertain(value("air_handler.economizer", None, None, "none"))
    assert not uncertain(value("limits.max_units", 1.0, 12.0))  # a decision about what is searched
    assert not uncertain(value("costs.carbon_gas", 0.5, 2.0))
    assert uncertain(value("costs.carbon_gas", 0.5, 2.0), 0.05)


def test_a_first_estimate_only_as_long_as_a_default_could_change_it() -> None:
    whole = tried()
    still = replace(whole, effects=tuple(one for one in whole.effects if not one.changes))
    assert still.effects
    for found, said in ((whole, True), (still, False), (None, True)):
        lines = plain_lines(
            choose_screen(choice=choice(), days=(), fitted=prepared_room().fitted, what_if=found)
        )
        assert ("FIRST ESTIMATE" in lines[0]) is said
        assert any(line.startswith("Sensitive") for line in lines) is (found is not None)
        assert len(lines) <= 24
    assert (
        "no default tried changes it"
        in plain_lines(choose_screen(choice=choice(), days=(), fitted=prepared_room().fitted, what_if=still))[
            0
        ]
    )
    assert "moisture buffer" in sensitive_text(whole)
    assert sensitive_text(still).startswith("to none of")


def test_names_that_have_no_room_are_counted() -> None:
    changing = next(one for one in tried().effects if one.changes)

    def said(*names: str) -> str:
        effects = tuple(
            replace(changing, assumption=replace(changing.assumption, key=name)) for name in names
        )
        return sensitive_text(replace(tried(), effects=effects))

    band, cop = "humidity_target[0].band", "air_handler.cooling_coil.cop"
    long = ("gains[0].idle_activity_factor", "air_handler.cooling_coil.evaporation_ratio", band)
    assert said(cop, "space.infiltration") == "to 2 of 2 uncertain values: COP of cooling; infiltration"
    assert said(*long) == "to 3 of 3 uncertain values: pool activity factor out of use and 2 more"
    assert said(band, band, cop) == "to 3 of 3 uncertain values: humidistat's band below the limit and 2 more"


def test_the_table_and_json_name_what_changes() -> None:
    text = " ".join(
        line.strip() for line in plain_lines(what_if_screen(what_if=tried(), show=show_for(room())))
    )
    result = what_if_json(what_if=tried())
    to_text(result)
    assert result["could_change"] == [one.key for one in tried().could_change]
    for one in tried().effects:
        assert one.assumption.key.split(".")[-1] in text
    assert "Not tried" in text
    assert "Other designs were not" in text


def test_every_uncertain_value_has_a_row_with_both_ends_and_how_far_it_can_move() -> None:
    lines = plain_lines(what_if_screen(what_if=tried(), show=show_for(room())))
    at_head = next(place for place, line in enumerate(lines) if line.startswith("uncertain value"))
    assert lines[at_head].split()[-4:] == ["low", "high", "answer", "stays"]
    rows = lines[at_head + 1 : at_head + 1 + len(tried().effects)]
    assert max(map(len, rows)) <= 80
    legend = " ".join(line.strip() for line in lines)
    for row, one in zip(rows, tried().effects, strict=True):
        assert one.assumption.key.split(".")[-1] in row
        cells = [cell for cell in row.split("  ") if cell.strip()]
        for cell, end in zip(cells[2:4], (one.low, one.high), strict=True):
            assert end is not None
            mark = cell.split()[-1]
            assert (mark != "=") is end.changes
            assert (mark == "x") is (end.changes and end.winner is None)
            if end.winner is not None and end.changes:
                assert f"{mark} {design_text(end.winner)}" in legend
        low, high = (float(text.replace(",", "")) for text in cells[4].split(" to "))
        assert low <= high
        assert (low, high) != (0.0, 0.0)


def test_a_site_that_would_contradict_itself_is_passed_over() -> None:
    """A cooling set point of 10 °C, below the heating one: there is no such site."""
    assumptions = tuple(
        replace(one, low=10.0, high=float(one.value))
        if one.key == "space.cooling_setpoint"
        else replace(one, low=None, high=None)
        for one in room().assumptions
    )
    site = replace(room(), assumptions=assumptions)
    found = what_would_change(prepared=replace(prepared_room(), site=site), choice=choice())
    (only,) = found.effects
    assert only.low is None
    assert only.high is None
    assert not found.could_change
