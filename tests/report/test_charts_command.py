"""The command `chart`: what it writes, what it says, and what it refuses."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from PIL import Image

from selector.report.charts import WHICH, Which, chart_of, svg_of
from tests.commands import chosen as chosen_json
from tests.commands import run
from tests.report.choices import simulated
from tests.report.pictures import Picture
from tests.sites import ROOM, prepared_room, write_room

NAMED = ("--install", "2 precool-120 standalone", "--install", "1 compressor-60 standalone")
PAIR = ("2 precool-120 standalone", "1 compressor-60 standalone")


def told(stdout: str) -> str:
    return " ".join(stdout.split())


@pytest.mark.parametrize("which", WHICH)
def test_a_named_design_is_drawn_as_the_functions_draw_it(which: Which, tmp_path: Path) -> None:
    out = tmp_path / "chart.svg"
    done = run("chart", ROOM, *NAMED, "--which", which, "--out", out)
    assert done.exit_code == 0, done.stderr
    made = chart_of(which=which, prepared=prepared_room(), evaluation=simulated(*PAIR), existing=simulated())
    assert out.read_text("utf-8") == svg_of(chart=made)
    # without spaces: a long path is broken where the line ends
    assert "".join(done.stdout.split()) == "".join(f"Written: {out} {made.text}".split())
    assert [path.name for path in tmp_path.iterdir()] == ["chart.svg"]


def test_a_png_has_the_size_of_its_chart(tmp_path: Path) -> None:
    out = tmp_path / "Chart.PNG"
    done = run("chart", ROOM, *NAMED, "--which", "money", "--out", out)
    assert done.exit_code == 0, done.stderr
    picture = Image.open(io.BytesIO(out.read_bytes()))
    assert picture.format == "PNG"
    assert picture.width == 1320  # 6.6 inches of 200 dots
    assert picture.info["Title"] == "First and life-cycle cost by option, USD"


def test_without_a_name_it_is_the_design_that_is_chosen(tmp_path: Path) -> None:
    out = tmp_path / "money.svg"
    done = run("chart", ROOM, "--which", "money", "--out", out)
    assert done.exit_code == 0, done.stderr
    choice = chosen_json()[1]
    name = choice["install"][0]["arrangement"]
    found = re.search(
        rf"{name} \(chosen\), [^:]*: first cost (\S+) USD, life-cycle cost (\S+) USD", told(done.stdout)
    )
    assert found
    assert found[1] == f"{choice['costs']['first']:,.0f}"
    assert found[2] == f"{choice['costs']['life_cycle']:,.0f}"
    for one in choice["best_by_arrangement"].values():
        if one.get("costs"):
            assert f"{one['costs']['life_cycle']:,.0f}" in Picture(out.read_text("utf-8"), "money").texts()


def test_the_best_of_another_arrangement_is_drawn_on_request(tmp_path: Path) -> None:
    out = tmp_path / "air.svg"
    done = run("chart", ROOM, "--which", "psychrometric", "--arrangement", "coil-bypass", "--out", out)
    assert done.exit_code == 0, done.stderr
    assert "coil-bypass in its design hour" in told(done.stdout)


def test_not_possible_is_status_1_and_draws_the_nearest(tmp_path: Path) -> None:
    site = write_room(tmp_path, more='first_cost = "1 USD"\n')
    out = tmp_path / "chart.svg"
    done = run("chart", site, "--which", "duration", "--out", out)
    assert done.exit_code == 1
    assert told(done.stdout).startswith("NOT POSSIBLE: ")
    assert "the chart shows the design that comes nearest" in told(done.stdout)
    assert out.exists()


def test_wrong_options_come_all_at_once_and_nothing_is_written(tmp_path: Path) -> None:
    out = tmp_path / "chart.svg"
    done = run("chart", ROOM, "--which", "psychometric", "--arrangement", "standalon", "--out", out)
    assert done.exit_code == 2
    assert '--which: option: got "psychometric"; allowed: psychrometric' in done.stderr
    assert '--arrangement: option: got "standalon"; allowed: standalone' in done.stderr
    assert not out.exists()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--which", "money", "--out", "chart.pdf"), 'got another name; allowed: a file named *.svg or *.png'),
        (("--which", "money", "--out", "-"), 'got another name; allowed: a file named *.svg or *.png'),
        (("--which", "money", "--out", "no/chart.svg"), "got a folder that is not there"),
        (("--which", "money", "--arrangement", "standalone", "--out", "c.svg"), "allowed: none: it shows them all"),
        (
            ("--which", "humidity", "--arrangement", "standalone", *NAMED, "--out", "c.svg"),
            'got "standalone" beside --install; allowed: one of the two',
        ),
        (("--which", "humidity", "--install", "2 precool-12 standalone", "--out", "c.svg"), 'got "precool-12"'),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(
    options: tuple[str, ...], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done = run("chart", ROOM, *options)
    assert done.exit_code == 2
    assert said in done.stderr
    assert not list(tmp_path.iterdir())


def test_an_arrangement_without_a_design_is_refused(tmp_path: Path) -> None:
    site = write_room(tmp_path, more='arrangements = ["standalone", "return-side"]\n')
    out = tmp_path / "chart.svg"
    done = run("chart", site, "--which", "psychrometric", "--arrangement", "coil-bypass", "--out", out)
    assert done.exit_code == 2
    assert '"coil-bypass", of which there is no design' in done.stderr
    assert not out.exists()


def test_an_older_file_stands_where_the_input_is_wrong(tmp_path: Path) -> None:
    out = tmp_path / "chart.svg"
    out.write_text("older")
    done = run("chart", tmp_path / "none.toml", "--which", "money", "--out", out)
    assert done.exit_code == 2
    assert out.read_text() == "older"
