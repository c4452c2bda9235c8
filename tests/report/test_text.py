"""Words, figures and lines."""

from __future__ import annotations

import doctest
from types import ModuleType

import pytest
from rich.cells import cell_len

from selector.inputs.errors import InputFaults
from selector.inputs.site import Install
from selector.report import files, hourly_csv, text
from selector.report.text import (
    Show,
    clean,
    command,
    design_text,
    design_within,
    fit,
    hour_text,
    pad,
    show_in,
    weekday_text,
)


@pytest.mark.parametrize("module", [text, hourly_csv, files])
def test_the_examples_in_docstrings_hold(module: ModuleType) -> None:
    assert doctest.testmod(module).failed == 0


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("hall\x1b[31m", "hall\\x1b[31m"),
        ("a\nb\tc\r", "a\\x0ab\\x09c\\x0d"),
        ("left\u202eright", "left\\u202eright"),  # turns the direction of writing
        ("line\u2028line", "line\\u2028line"),
        ("[bold]hall[/bold]", "[bold]hall[/bold]"),
        ("Zürich, 東京 °C", "Zürich, 東京 °C"),
        ("\U000e0001", "\\U000e0001"),
    ],
)
def test_what_would_move_the_cursor_is_escaped(typed: str, shown: str) -> None:
    assert clean(typed) == shown


@pytest.mark.parametrize("width", [0, 1, 2, 3, 4, 7, 20, 40])
@pytest.mark.parametrize("typed", ["", "hall", "a very long name of a hall", "東京東京東京東京", "é" * 30])
def test_fitted_text_keeps_its_width(typed: str, width: int) -> None:
    assert cell_len(fit(typed, width)) <= width
    assert cell_len(pad(typed, width)) == width


def test_a_design_names_each_arrangement_once() -> None:
    install = (
        Install("precool-120", "standalone", 2),
        Install("rotor-60", "standalone", 1),
        Install("precool-120", "return-side", 1),
    )
    assert design_text(install) == "2 precool-120 + 1 rotor-60 standalone + 1 precool-120 return-side"
    assert design_text(()) == "nothing"


def test_a_design_behind_its_arrangement_says_it_once_and_another_one_still() -> None:
    here = Install("precool-120", "standalone", 2)
    assert (
        design_within((here, Install("rotor-60", "standalone", 1)), "standalone")
        == "2 precool-120 + 1 rotor-60"
    )
    mixed = (Install("rotor-60", "return-side", 1), here)
    assert design_within(mixed, "standalone") == "1 rotor-60 return-side + 2 precool-120 standalone"
    assert design_within((), "standalone") == "nothing"


def test_figures_come_in_the_units_asked_for() -> None:
    # 1 kg/h = 2.2046 lb/h; 50 % is the same in both
    assert Show("IP", "USD")(1.0 / 3600.0, "moisture_rate", 3) == "2.2 lb/h"
    assert Show("SI", "USD")(1.0 / 3600.0, "moisture_rate", 3) == "1 kg/h"
    assert Show("SI", "EUR").limited("dew-point", 15.0) == "15.0 degC dew point"
    assert Show("SI", "EUR").limited("relative-humidity", 0.5) == "50.0 % RH"
    assert show_in(units="SI", currency="EUR")(1234.0, "money") == "1,234 EUR"


def test_other_units_are_refused() -> None:
    with pytest.raises(InputFaults, match='--units: option: got "metric"; allowed: IP or SI'):
        show_in(units="metric", currency="USD")


def test_hours_have_a_day_and_a_weekday() -> None:
    assert hour_text(8759) == "31 Dec 23:00"
    assert weekday_text(0, 2) == "Wednesday"
    assert weekday_text(5 * 24, 2) == "Monday"


def test_a_command_can_be_pasted_into_a_shell() -> None:
    assert command("check", "it's here.toml") == "selector check 'it'\"'\"'s here.toml'"
