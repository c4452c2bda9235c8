"""What the reports say of a refrigerant unit whose leaving air was hotter than its circuit is likely to bear."""

from __future__ import annotations

from dataclasses import replace

from selector.decide.evaluate import Evaluation
from selector.decide.hot_air import HotAir
from selector.report.choose_screen import HEIGHT, choose_screen
from selector.report.json_report import choose_json, simulate_json
from selector.report.lines import hot_air_texts
from selector.report.simulate_screen import details_screen, simulate_screen
from selector.report.terminal import plain_lines
from selector.report.text import WIDTH, Show
from tests.report.choices import chosen, simulated
from tests.report.test_low_airflow import whole, words

FOUND = HotAir("compressor-60", "coil-bypass", 1200, 3400, 66.66, 60.0, False)
TEXT = (
    "compressor-60 coil-bypass: leaving air above 140.0 degF, where many units trip on high pressure (common practice, "
    "no source), in 1,200 of 3,400 hours that it runs, up to 152.0 degF; ask the maker for the least airflow"
)
STATED = (
    "compressor-60 coil-bypass: leaving air above 55.0 degC, the highest that the catalogue allows it, in 1,200 of "
    "3,400 hours that it runs, up to 66.7 degC; ask the maker for the least airflow"
)


def marked() -> Evaluation:
    return replace(simulated("1 compressor-60 coil-bypass"), hot_air=(FOUND,))


def test_the_text_says_above_what_and_who_says_so() -> None:
    assert hot_air_texts(marked(), Show("IP", "USD")) == (TEXT,)
    stated = replace(marked(), hot_air=(replace(FOUND, highest=55.0, stated=True),))
    assert hot_air_texts(stated, Show("SI", "USD")) == (STATED,)


def test_the_screens_say_in_how_many_hours() -> None:
    assert f"Hot air {TEXT}" in words(simulate_screen(**whole(marked())))
    choice = replace(chosen(), best=marked())
    assert f"Hot air {TEXT}" in words(details_screen(choice=choice, days=(), fitted=()))
    assert "Hot air" not in words(simulate_screen(**whole(replace(marked(), hot_air=()))))


def test_the_first_screen_says_it_in_one_line() -> None:
    lines = plain_lines(choose_screen(choice=replace(chosen(), best=marked()), days=(), fitted=()))
    assert "Hot air     compressor-60: 1,200 h/year above 140.0 degF leaving it: --details" in lines
    assert len(lines) <= HEIGHT
    assert max(len(line) for line in lines) <= WIDTH
    assert not [
        line for line in plain_lines(choose_screen(choice=chosen(), days=(), fitted=())) if "Hot air" in line
    ]


def test_the_json_has_figures_and_a_note() -> None:
    choice = replace(chosen(), best=marked())
    for result in (
        simulate_json(**whole(marked())),
        choose_json(choice=choice, answer=marked(), days=(), fitted=()),
    ):
        assert TEXT in result["notes"]
        assert result["units"]["hot_leaving_air"] == [
            {
                "model": "compressor-60",
                "arrangement": "coil-bypass",
                "hours": 1200,
                "running_hours": 3400,
                "hottest": 66.66,
                "highest": 60.0,
                "stated": False,
            }
        ]
        assert result["existing_system"]["units"]["hot_leaving_air"] == []
