"""Words of the command line: designs, conditions, limits of a search; and the number that stands for the inputs."""

from __future__ import annotations

import doctest
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from selector.inputs import install_text
from selector.inputs.errors import Faults, InputFaults
from selector.inputs.fingerprint import fingerprint, input_files
from selector.inputs.install_text import parse_installs, text_of
from selector.inputs.rate_words import find_unit, parse_condition
from selector.inputs.search_limits import judge_search, limit_search
from selector.inputs.site import Arrangement, Install, Installation
from selector.inputs.site_file import read_site
from tests.sites import DATA, SCENARIOS, room, write_room


def test_the_examples_in_docstrings_hold() -> None:
    assert doctest.testmod(install_text).failed == 0


def test_a_design_is_read_and_written_alike() -> None:
    texts = ("2 precool-120 standalone", "  1   rotor-60   return-side ")
    parts = parse_installs(texts=texts, site=room())
    assert parts == (Install("precool-120", "standalone", 2), Install("rotor-60", "return-side", 1))
    assert parse_installs(texts=[text_of(part) for part in parts], site=room()) == parts
    assert parse_installs(texts=(), site=room()) == ()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            "",
            '--install: "": got nothing; allowed: count, model and arrangement, as in "2 precool-120 standalone"',
        ),
        (
            "precool-120 standalone",
            '--install: "precool-120 standalone": got 2 words; allowed: count, model and',
        ),
        ("two precool-120 standalone", 'count: got "two"; allowed: a whole number from 1 to 999'),
        ("0 precool-120 standalone", 'count: got "0"; allowed'),
        ("-1 precool-120 standalone", 'count: got "-1"; allowed'),
        ("1.5 precool-120 standalone", 'count: got "1.5"; allowed'),
        ("² precool-120 standalone", 'count: got "²"; allowed'),
        ("9" * 5000 + " precool-120 standalone", 'count: got "999'),
        ("1 precool-12 standalone", 'model: got "precool-12"; allowed: precool-120 or precool-60'),
        (
            "1 precool-120 roof",
            'arrangement: got "roof"; allowed: return-side, supply-side, coil-bypass, standalone',
        ),
    ],
)
def test_a_wrong_design_is_refused(text: str, message: str) -> None:
    with pytest.raises(InputFaults, match="--install") as caught:
        parse_installs(texts=(text,), site=room())
    assert message in str(caught.value)


def test_all_faults_of_a_design_come_at_once() -> None:
    with pytest.raises(InputFaults, match="--install") as caught:
        parse_installs(
            texts=("0 precool roof", "x", "1 rotor-60 standalone", "2 rotor-60 standalone"), site=room()
        )
    assert [fault.got for fault in caught.value.faults] == [
        '"0"',
        '"precool"',
        '"roof"',
        "1 word",
        "rotor-60 standalone a second time",
    ]


def test_only_arrangements_with_a_price_may_be_used() -> None:
    site = room()
    few: dict[Arrangement, Installation] = {
        name: terms for name, terms in site.costs.installation.items() if name == "standalone"
    }
    site = replace(site, costs=replace(site.costs, installation=few))
    with pytest.raises(InputFaults, match='arrangement: got "return-side"; allowed: standalone'):
        parse_installs(texts=("1 rotor-60 return-side",), site=site)


def test_a_condition_is_read_in_si() -> None:
    condition = parse_condition(
        dry_bulb="80 degF",
        relative_humidity="60 %",
        pressure="101.325 kPa",
        outdoor_dry_bulb="35 degC",
        outdoor_relative_humidity="0.4",
    )
    assert condition.dry_bulb == pytest.approx(26.6667, abs=1e-4)
    assert (condition.relative_humidity, condition.pressure) == pytest.approx((0.6, 101325.0))
    assert (condition.outdoor_dry_bulb, condition.outdoor_relative_humidity) == (35.0, 0.4)


def test_all_faults_of_a_condition_come_at_once() -> None:
    with pytest.raises(InputFaults, match="--dry-bulb") as caught:
        parse_condition(
            dry_bulb="80",
            relative_humidity="160 %",
            pressure="1 psia",
            outdoor_dry_bulb="500 degC",
            outdoor_relative_humidity="0",
        )
    assert [fault.file for fault in caught.value.faults] == [
        "--dry-bulb",
        "--relative-humidity",
        "--pressure",
        "--outdoor-dry-bulb",
        "--outdoor-relative-humidity",
    ]


def test_an_unknown_model_is_refused_with_the_nearest() -> None:
    assert find_unit(catalog=room().catalog, model="rotor-60").technology == "desiccant"
    with pytest.raises(InputFaults, match='MODEL: got "rotor-61"; allowed: rotor-60'):
        find_unit(catalog=room().catalog, model="rotor-61")


def test_the_limits_of_a_search_are_recorded_as_given() -> None:
    site = room()
    assert limit_search(site=site, work_years=None) is site
    limited = limit_search(site=site, work_years=12.5)
    assert limited.limits.work_years == 12.5
    one = next(one for one in limited.assumptions if one.key == "limits.work_years")
    assert (one.value, one.origin, one.source) == (12.5, "given", "--work-years")


@pytest.mark.parametrize("value", ["0", "-1", "nan", "inf", "1e999", "1,5", "soon", ""])
def test_a_search_needs_some_work(value: str) -> None:
    faults = Faults()
    found = judge_search(
        solver="cbc", solvers=("highs", "cbc"), seconds="5", work_years="1,012.5", faults=faults
    )
    assert (found, faults.all()) == ((5.0, 1012.5), ())
    judge_search(solver="best", solvers=("highs", "cbc"), seconds=value, work_years=value, faults=faults)
    assert [str(fault) for fault in faults.all()] == [
        '--solver: option: got "best"; allowed: highs or cbc',
        f'--seconds: option: got "{value}"; allowed: a number above 0',
        f'--work-years: option: got "{value}"; allowed: a number above 0',
    ]


def test_the_fingerprint_depends_on_what_the_files_hold_and_on_nothing_else(tmp_path: Path) -> None:
    shutil.copytree(DATA, tmp_path / "elsewhere" / "data")
    shutil.copytree(SCENARIOS / "weather", tmp_path / "scenarios" / "weather")
    site_file = tmp_path / "elsewhere" / "data" / "room.toml"
    shutil.copy(SCENARIOS.parent / "catalogs" / "price-book.csv", site_file.parent)
    moved = read_site(path=site_file)
    assert [path.name for path in input_files(site=moved)] == [
        "room.toml",
        "tidewater.csv",
        "units.csv",
        "ratings.csv",
        "price-book.csv",
    ]
    before = fingerprint(site=moved)
    assert before == fingerprint(site=room())
    assert len(before) == 64
    for path in input_files(site=moved):
        old = path.read_bytes()
        path.write_bytes(old + b"\n")
        assert fingerprint(site=moved) != before, path
        path.write_bytes(old)
    assert fingerprint(site=moved) == before


def test_monthly_normals_have_no_weather_file(tmp_path: Path) -> None:
    normals = '[weather]\nelevation = "12 m"\n[weather.normals]\n' + "\n".join(
        f"{key} = {[value] * 12}"
        for key, value in (("dry_bulb", "20 degC"), ("dew_point", "15 degC"), ("daily_range", "8 K"))
    )
    weather = f'[weather]\nfile = "{SCENARIOS.as_posix()}/weather/tidewater.csv"'
    site = read_site(path=write_room(tmp_path, (weather, normals)))
    names = [path.name for path in input_files(site=site)]
    assert names == ["room.toml", "units.csv", "ratings.csv", "price-book.csv"]
