"""The five-minute questions make a site file that reads back clean."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs.new_site import QUESTIONS, Answers, check_answer, render_site, suggested_limit
from selector.inputs.quantities import QuantityError
from selector.inputs.schema import PROFILES
from selector.inputs.site import Site
from selector.inputs.site_file import read_site

ROOT = Path(__file__).parents[2]
EXAMPLE = Answers(
    **{question.answer: question.example for question in QUESTIONS if question.answer != "catalog"},
    catalog=str(ROOT / "catalogs" / "general"),
)
ANSWERS = replace(EXAMPLE, weather_file=str(ROOT / "scenarios" / "weather" / "tidewater.csv"))


def read(answers: Answers, folder: Path) -> Site:
    path = folder / "site.toml"
    path.write_text(render_site(answers=answers), encoding="utf-8")
    return read_site(path=path)


@pytest.mark.parametrize("profile", PROFILES)
def test_every_profile_reads_back_clean(profile: str, tmp_path: Path) -> None:
    site = read(replace(ANSWERS, profile=profile), tmp_path)
    assert site.profile == profile
    assert site.space.floor_area == pytest.approx(836.127, abs=1e-3)
    assert site.air_handler is not None
    assert site.air_handler.outdoor_airflow == pytest.approx(site.air_handler.supply_airflow / 4)
    assert site.gains
    assert 0 < np.mean(site.occupied) < 1
    origins = {assumption.origin for assumption in site.assumptions}
    assert origins == {"given", "profile", "default", "helper"}
    for assumption in site.assumptions:
        if assumption.origin in ("profile", "default"):
            assert assumption.source
            assert assumption.find


def test_a_building_without_an_air_handler_may_leave_it_out(tmp_path: Path) -> None:
    answers = replace(
        ANSWERS, profile="store", supply_airflow=None, outdoor_airflow=None, cooling_capacity=None
    )
    site = read(answers, tmp_path)
    assert site.air_handler is None
    assert site.limits.arrangements == ("standalone",)


def test_a_limit_may_be_a_dew_point(tmp_path: Path) -> None:
    site = read(replace(ANSWERS, humidity_limit="60 degF"), tmp_path)
    assert site.targets[0].kind == "dew-point"
    assert site.targets[0].limit == pytest.approx(15.5556, abs=1e-4)


@given(name=st.text(min_size=1, max_size=30).filter(lambda text: text.strip() and "\n" not in text))
def test_any_name_is_written_so_that_it_reads_back(name: str) -> None:
    import tomllib

    encodable = name.encode("utf-8", errors="replace").decode("utf-8")
    text = render_site(answers=replace(ANSWERS, name=encodable))
    assert tomllib.loads(text)["name"] == encodable


def test_every_profile_suggests_a_limit() -> None:
    for profile in PROFILES:
        check_answer(answer="humidity_limit", text=suggested_limit(profile))


def test_every_example_is_an_answer() -> None:
    for question in QUESTIONS:
        check_answer(answer=question.answer, text=question.example)


@pytest.mark.parametrize(
    ("answer", "text", "message"),
    [
        ("floor_area", "9000", 'got "9000" (no unit); allowed: an area in ft2'),
        ("supply_airflow", "9000 fm", 'got "9000 fm"; allowed: an airflow in cfm'),
        ("cooling_capacity", "25 tonnes", 'got "25 tonnes"; allowed: a cooling capacity in ton'),
        ("humidity_limit", "60", 'got "60"; allowed: a relative humidity, as 60 %, or a dew point'),
        ("profile", "scool", 'got "scool"; allowed: school'),
        ("name", "  ", "got nothing; allowed: text"),
        ("floor_area", "-3 m2", 'got "-3 m2"; allowed: an area in ft2, m2 or sq ft, above 0'),
        ("ceiling_height", "300 ft", "a length in ft, m, in or mm, at least 3.281 ft and at most 196.8 ft"),
        ("humidity_limit", "150 %", 'got "150 %"; allowed: a relative humidity, as 60 %, or a dew point'),
        ("humidity_limit", "98 %", "at least 10 % and at most 95 %"),
        ("humidity_limit", "120 degF", "at least 14 degF and at most 86 degF"),
        ("humidity_limit", "49 degC", "at least -10 degC and at most 30 degC"),
    ],
)
def test_a_wrong_answer_is_refused_at_once(answer: str, text: str, message: str) -> None:
    with pytest.raises(QuantityError, match=re.escape(message)):
        check_answer(answer=answer, text=text)


def test_more_outdoor_air_than_supply_air_is_refused() -> None:
    with pytest.raises(QuantityError, match='got "9001 cfm"; allowed: at most the supply airflow, 9000 cfm'):
        render_site(answers=replace(ANSWERS, supply_airflow="9000 cfm", outdoor_airflow="9001 cfm"))
    assert "9000 cfm" in render_site(
        answers=replace(ANSWERS, supply_airflow="9000 cfm", outdoor_airflow="9000 cfm")
    )


def test_half_an_air_handler_is_refused() -> None:
    with pytest.raises(
        QuantityError, match="no outdoor_airflow; allowed: all three of an air handler's values"
    ):
        render_site(answers=replace(ANSWERS, outdoor_airflow=None))
