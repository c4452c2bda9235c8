"""Words and figures of a sweep's screen: values written as finely as they lie apart, stretches, letters, grids."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest

from selector.decide.sweep_results import DesignFigures, Side, Span, StepResult, Sweep, Switch
from selector.inputs.site import Install
from selector.inputs.vary import BY_NAME, Variation
from selector.inputs.vary_words import Words, read_variations
from selector.report.sweep_json import sweep_csv
from selector.report.sweep_screen import sweep_screen
from selector.report.sweep_words import (
    held_texts,
    letters_of,
    si_unit,
    spans_text,
    step_for,
    stretches,
    values_of,
)
from selector.report.terminal import plain_lines
from tests.commands import run
from tests.sites import ROOM, room

A: tuple[Install, ...] = (Install("precool-120", "standalone", 2),)
B: tuple[Install, ...] = (Install("rotor-60", "supply-side", 1),)


def test_gas_is_priced_by_the_therm_where_people_work_in_inch_pound_units() -> None:
    """1.20 USD/therm is 0.0409 USD/kWh; electricity stays by the kWh, and JSON in USD/J."""
    (gas,) = varied(("gas-price", "0.80 USD/therm", "1.60 USD/therm", 3))
    (power,) = varied(("electricity-price", "0.10 USD/kWh", "0.20 USD/kWh", 3))
    shown = [values_of(site=room(), variation=one, resolution=None)(one.values[1]) for one in (gas, power)]
    assert shown == ["1.2 USD/therm", "0.15 USD/kWh"]
    assert step_for(site=room(), variation=gas)[1] == "0.10 USD/therm"
    assert si_unit(site=room(), variation=gas) == "USD/J"
    metric = replace(room(), display_units="SI")
    assert values_of(site=metric, variation=gas, resolution=None).unit == "USD/kWh"
    checked = " ".join(run("check", ROOM, "--defaults").stdout.split())
    assert "costs.gas 1.2 (0.7 to 2) USD/therm" in checked
    assert "costs.electricity 0.14 (0.08 to 0.25) USD/kWh" in checked


def varied(*words: tuple[str, str, str, int]) -> tuple[Variation, ...]:
    return read_variations(site=room(), words=[Words(*one, None) for one in words])


def figures(install: tuple[Install, ...], cost: float = 1000.0, *, feasible: bool = True) -> DesignFigures:
    broken = () if feasible else ('hours above "all"',)
    return DesignFigures(install, 500.0, 50.0, cost, 10, 40.0, 0.6, 12.0, 0, 3, 0, feasible, broken)


def step(
    values: Sequence[float], install: tuple[Install, ...] | None, stay: float | None = None
) -> StepResult:
    return StepResult(
        values=tuple(values),
        best=None if install is None else figures(install),
        closest=figures(A, 2000.0, feasible=False) if install is None else None,
        existing=figures((), 800.0, feasible=False),
        runner_up=None,
        by_arrangement=(),
        staying=figures(A, 0.0, feasible=False) if stay is None else figures(A, stay),
        status="not possible" if install is None else "optimal",
        year_equivalents=2.0,
        seconds=0.1,
        contenders=(),
        record=None,
    )


def made(variations: tuple[Variation, ...], steps: Sequence[StepResult], **more: Any) -> Sweep:
    whole = Sweep(
        site=room(), variations=variations, today=tuple(0.25 for _ in variations), now=step((), A, 1000.0),
        steps=tuple(steps), switches=(), resolution=0.001, existing_holds=(), staying_holds=(), short_cooling=(),
        short_heating=(), reused=0, wanted=len(steps), interrupted=False, year_equivalents=12.0, seconds=1.0,
    )  # fmt: skip
    return replace(whole, **more)


@pytest.mark.parametrize(
    ("words", "resolution", "shown"),
    [
        (("outdoor-air-fraction", "10 %", "60 %", 6), None, ["10 %", "20 %"]),
        (("outdoor-air-fraction", "10 %", "60 %", 6), 0.001, ["10.0 %", "20.0 %"]),
        (("outdoor-air-fraction", "10 %", "60 %", 9), None, ["10.0 %", "16.2 %"]),  # 16.25
        (("humidity-limit", "50 %", "65 %", 3), None, ["50.0 %", "57.5 %"]),
        (("electricity-price", "0.10 USD/kWh", "0.20 USD/kWh", 5), None, ["0.100 USD/kWh", "0.125 USD/kWh"]),
        (("outdoor-airflow", "500 cfm", "1,500 cfm", 3), 2.0 * 0.3048**3 / 60.0, ["500 cfm", "1,000 cfm"]),
        (("moisture-buffer", "5", "30", 6), None, ["5", "10"]),
    ],
)
def test_values_are_written_as_finely_as_they_lie_apart(
    words: tuple[str, str, str, int], resolution: float | None, shown: list[str]
) -> None:
    (variation,) = varied(words)
    write = values_of(site=room(), variation=variation, resolution=resolution)
    assert [write(value) for value in variation.values[:2]] == shown


def test_files_are_named_without_their_folder_unless_that_tells_them_apart() -> None:
    parameter = BY_NAME["weather-file"]
    for files, shown in ((("a/x.csv", "b/y.csv"), "x.csv"), (("a/x.csv", "b/x.csv"), "a/x.csv")):
        variation = Variation(parameter, "", "", (0.0, 1.0), files=files)
        assert values_of(site=room(), variation=variation, resolution=None)(0.0) == shown


def test_stretches_run_from_step_to_switch() -> None:
    (variation,) = varied(("outdoor-air-fraction", "10 %", "30 %", 3))
    switch = Switch(Side(0.15, A, 900.0, None, True), Side(0.151, B, 950.0, figures(A, 960.0), True))
    found = made((variation,), [step((0.1,), A), step((0.2,), B), step((0.3,), None)], switches=(switch,))
    assert [(one.low, one.high, one.install) for one in stretches(found)] == [
        (0.1, 0.15, A),
        (0.151, 0.2, B),
        (0.3, 0.3, None),
    ]
    assert letters_of(found) == {A: "A", B: "B"}


def test_where_something_holds_in_words() -> None:
    (variation,) = varied(("outdoor-air-fraction", "10 %", "60 %", 6))
    write = values_of(site=room(), variation=variation, resolution=0.001)
    assert spans_text((), write) == "nowhere in the range"
    assert spans_text((Span(0.1, 0.6, True, True),), write) == "over the whole range"
    assert spans_text((Span(0.1, 0.174, True, False),), write) == "up to 17.4 %"
    assert spans_text((Span(0.2, 0.6, False, True),), write) == "from 20.0 % up"
    parts = (Span(0.1, 0.2, True, False), Span(0.3, 0.4, False, False))
    assert spans_text(parts, write) == "up to 20.0 %, from 30.0 to 40.0 %"


def test_how_far_the_system_alone_is_good_counts_from_the_low_end() -> None:
    (variation,) = varied(("outdoor-air-fraction", "10 %", "60 %", 6))
    steps = [step((0.1,), A), step((0.6,), A)]

    def good(*holds: Span, below: tuple[Span, ...] | None = None) -> float | None:
        return made((variation,), steps, existing_holds=holds, existing_below=below).existing_good_to

    assert good() is None
    assert good(Span(0.1, 0.2, True, False), Span(0.3, 0.4, False, False)) == 0.2
    assert good(Span(0.3, 0.6, False, True)) == 0.3
    assert good(Span(0.3, 0.4, False, False)) is None
    assert good(below=(Span(0.0, 0.07, True, False),)) == 0.07
    below = made(
        (variation,), steps, existing_below=(Span(0.0, 0.07, True, False),), existing_at_none=figures((), 0.0)
    )
    text = " ".join(line.strip() for line in plain_lines(sweep_screen(sweep=below, again="")))
    assert "keeps every limit nowhere in the range; below it up to 7.0 %" in text


def test_a_design_that_breaks_a_limit_has_its_cost_beside_the_switch() -> None:
    (variation,) = varied(("outdoor-air-fraction", "10 %", "30 %", 3))
    broken = figures(B, 123_900.0, feasible=False)
    sides = (
        Side(0.15, A, 987_900.0, broken, True),
        Side(0.151, B, 123_950.0, figures(A, 987_960.0), True),
    )
    found = made((variation,), [step((0.1,), A), step((0.3,), B)], switches=(Switch(*sides),))
    lines = plain_lines(sweep_screen(sweep=found, again=""))
    assert any("987,900  123,900 not held" in line for line in lines)
    assert max(map(len, lines)) <= 80


def test_the_screen_says_what_stopped_and_what_is_kept() -> None:
    (variation,) = varied(("outdoor-air-fraction", "10 %", "30 %", 3))
    found = made((variation,), [step((0.1,), A, 1000.0)], wanted=3, interrupted=True)
    text = " ".join(line.strip() for line in plain_lines(sweep_screen(sweep=found, again="selector sweep x")))
    assert "1 of 3 steps finished and kept; the same command goes on from here" in text
    assert "Next        selector sweep x" in "\n".join(
        plain_lines(sweep_screen(sweep=found, again="selector sweep x"))
    )
    assert "keeps every limit" not in text  # nothing between steps was looked at


def test_what_is_not_possible_and_what_is_not_held_are_said() -> None:
    (variation,) = varied(("outdoor-air-fraction", "10 %", "30 %", 3))
    steps = [step((0.1,), A, 1000.0), step((0.2,), B, 1234.0), step((0.3,), None)]
    text = "\n".join(plain_lines(sweep_screen(sweep=made((variation,), steps), again="")))
    assert "NOT POSSIBLE" in text
    assert "+234" in text  # regret: 1,234 less 1,000
    assert "not held" in text
    assert max(map(len, text.splitlines())) <= 80
    rows = sweep_csv(sweep=made((variation,), steps)).splitlines()
    assert len(rows) == 4
    assert rows[3].split(",")[:3] == [repr(steps[2].values[0]), "not possible", "not possible"]


def test_none_found_before_the_search_ended_is_not_called_impossible() -> None:
    (variation,) = varied(("outdoor-air-fraction", "10 %", "30 %", 2))
    ended = replace(step((0.3,), None), status="best-found")
    sweep = made((variation,), [step((0.1,), A, 1000.0), ended])
    text = "\n".join(plain_lines(sweep_screen(sweep=sweep, again="")))
    assert "NONE FOUND" in text
    assert "POSSIBLE" not in text
    assert sweep_csv(sweep=sweep).splitlines()[2].split(",")[1:3] == ["best-found", "none found"]


def test_a_grid_has_a_letter_for_each_design() -> None:
    pair = varied(("outdoor-air-fraction", "10 %", "30 %", 2), ("gains", "100 %", "200 %", 2))
    cells = [step((0.1, 1.0), A, 1000.0), step((0.1, 2.0), B), step((0.3, 1.0), None)]
    lines = plain_lines(sweep_screen(sweep=made(pair, cells, wanted=4, resolution=None), again="go"))
    text = "\n".join(lines)
    assert "A  2 precool-120 standalone" in text
    at = next(place for place, line in enumerate(lines) if line.startswith("% \\ %"))
    assert [line.split() for line in lines[at : at + 3]] == [
        ["%", "\\", "%", "100", "200"],
        ["10", "A*", "B"],
        ["30", ".", "?"],
    ]


def test_todays_value_is_not_rounded_to_the_steps() -> None:
    """Steps of 0.2 need one decimal, and today's 0.25 two."""
    (variation,) = varied(("infiltration", "0.1 1/h", "0.3 1/h", 2))
    values = values_of(site=room(), variation=variation, resolution=None)
    assert [values(one) for one in variation.values] == ["0.1 1/h", "0.3 1/h"]
    assert values.about(0.25 / 3600.0) == "0.25 1/h"
    assert values.about(0.3 / 3600.0) == "0.3 1/h"


def test_what_is_held_is_named_with_its_value() -> None:
    (variation,) = varied(("outdoor-air-per-person:classroom", "5 cfm", "10 cfm", 2))
    texts = held_texts(made((variation,), []))
    assert "supply airflow 3,600 cfm" in texts
    assert "exhaust airflow 810 cfm" in texts
    assert "outdoor air by floor area 0.12 cfm/ft2" in texts


def test_the_amount_of_a_marginal_cost_is_in_the_readers_units() -> None:
    (price,) = varied(("electricity-price", "0.10 USD/kWh", "0.20 USD/kWh", 2))
    assert step_for(site=room(), variation=price) == (0.01 / 3.6e6, "0.01 USD/kWh")
    (air,) = varied(("outdoor-airflow", "500 cfm", "900 cfm", 2))
    amount, words = step_for(site=room(), variation=air)
    assert words == "100 cfm"
    assert amount == pytest.approx(100.0 * 0.3048**3 / 60.0, rel=1e-15)
    assert step_for(site=replace(room(), display_units="SI"), variation=air) == (0.05, "50 L/s")
