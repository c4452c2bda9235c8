"""What the reports say of a unit that ran on far less air than it was rated at."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from selector.decide.evaluate import Evaluation
from selector.decide.low_airflow import LowAirflow
from selector.report.json_report import choose_json, simulate_json
from selector.report.lines import low_airflow_texts
from selector.report.simulate_screen import details_screen, simulate_screen
from selector.report.terminal import Screen, plain_lines
from tests.report.choices import chosen, simulated
from tests.sites import prepared_room, room

FOUND = LowAirflow("rotor-60", "outdoor-air", 1200, 3400, 0.3472)
TEXT = (
    "rotor-60 outdoor-air: below 60 % of its rated airflow in 1,200 of 3,400 hours that it runs, down to 35 %; "
    "no rating row says what it removes then"
)


def marked() -> Evaluation:
    return replace(simulated("1 rotor-60 coil-bypass"), low_airflow=(FOUND,))


def whole(shown: Evaluation) -> dict[str, Any]:
    return {
        "site": room(), "evaluation": shown, "existing": simulated(), "days": (), "fitted": prepared_room().fitted,
        "warm_allowed": None,
    }  # fmt: skip


def words(screen: Screen) -> str:
    return " ".join(" ".join(plain_lines(screen)).split())


def test_the_screens_say_in_how_many_hours() -> None:
    assert low_airflow_texts(marked()) == (TEXT,)
    assert f"Low airflow {TEXT}" in words(simulate_screen(**whole(marked())))
    choice = replace(chosen(), best=marked())
    assert f"Low airflow {TEXT}" in words(details_screen(choice=choice, days=(), fitted=()))


def test_the_screens_say_nothing_where_all_ran_on_enough() -> None:
    assert "Low airflow" not in words(simulate_screen(**whole(replace(marked(), low_airflow=()))))


def test_the_json_has_figures_and_a_note() -> None:
    choice = replace(chosen(), best=marked())
    for result in (
        simulate_json(**whole(marked())),
        choose_json(choice=choice, answer=marked(), days=(), fitted=()),
    ):
        assert TEXT in result["notes"]
        assert result["units"]["low_airflow_below"] == 0.6
        assert result["units"]["low_airflow"] == [
            {
                "model": "rotor-60",
                "arrangement": "outdoor-air",
                "hours": 1200,
                "running_hours": 3400,
                "least": 0.3472,
            }
        ]
        assert result["existing_system"]["units"]["low_airflow"] == []
