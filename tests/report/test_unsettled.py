"""Every report says it where hours of the year did not settle: all figures of that year have those hours in them."""

from __future__ import annotations

from dataclasses import replace

from selector.decide.evaluate import Evaluation
from selector.report.choose_screen import choose_screen
from selector.report.json_report import choose_json
from selector.report.lines import unsettled_texts
from selector.report.simulate_screen import simulate_screen
from selector.report.terminal import Screen, plain_lines
from tests.report.choices import chosen, simulated
from tests.sites import room

TEXT = "2 hours not settled to the tolerance; balance of the worst hour: moisture 3e-11, heat 1e+00 of its largest term"


def marked() -> Evaluation:
    return replace(chosen_design(), unsettled_hours=2, balance_moisture=3e-11, balance_energy=1.03)


def chosen_design() -> Evaluation:
    found = chosen().best
    assert found is not None
    return found


def words(screen: Screen) -> str:
    return " ".join(" ".join(plain_lines(screen)).split())


def test_simulate_and_choose_say_in_how_many_hours() -> None:
    assert unsettled_texts(marked()) == (TEXT,)
    screen = simulate_screen(
        site=room(), evaluation=marked(), existing=simulated(), days=(), fitted=(), warm_allowed=None
    )
    assert f"Unsettled {TEXT}" in words(screen)
    choice = replace(chosen(), best=marked())
    assert f"Unsettled {TEXT}" in words(choose_screen(choice=choice, days=(), fitted=()))
    assert TEXT in choose_json(choice=choice, answer=marked(), days=(), fitted=())["notes"]


def test_nothing_is_said_where_every_hour_settled() -> None:
    assert unsettled_texts(chosen_design()) == ()
    assert "Unsettled" not in words(choose_screen(choice=chosen(), days=(), fitted=()))
