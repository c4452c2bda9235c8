"""Every chart: whole, told in words, the same bytes again, no text on another; and the bars of money."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from collections.abc import Callable

import matplotlib
import pytest
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from PIL import Image

from selector.decide.evaluate import Evaluation
from selector.decide.results import Choice
from selector.report.charts import (
    WHICH,
    Chart,
    MoneyRow,
    Which,
    chart_of,
    money_chart,
    png_of,
    rows_of_choice,
    svg_of,
)
from selector.report.charts_look import renderer_of
from tests.report.choices import chosen, impossible, nothing, simulated
from tests.report.drawn_charts import EVERY_DESIGN, PAIR, chart, crossings, picture
from tests.report.pictures import SVG, XLINK, Picture, number_of
from tests.sites import prepared_room, room

EVERY_CHART = pytest.mark.parametrize("which", WHICH)


# ------------------------------------------------------------------------------------------ money


@pytest.mark.parametrize("choose", [chosen, nothing, impossible])
def test_bars_of_money_are_the_costs_of_the_options(choose: Callable[[], Choice]) -> None:
    choice = choose()
    rows = rows_of_choice(choice=choice)
    made = money_chart(site=room(), rows=rows)
    shown = Picture(svg_of(chart=made), made.name)
    scale = shown.scale(1, "x")
    evaluations: list[Evaluation] = [choice.existing]
    evaluations += [best for one in choice.by_arrangement if (best := one.best or one.closest) is not None]
    assert sorted((row.first, row.life_cycle) for row in rows) == sorted(
        (one.costs.first, one.costs.life_cycle) for one in evaluations
    )
    assert [row.feasible for row in rows] == sorted((row.feasible for row in rows), reverse=True)
    for place, row in enumerate(rows, start=1):
        for kind, value in (("first", row.first), ("life-cycle", row.life_cycle)):
            ends = shown.path(f"{kind}-{place}")[:, 0]
            assert scale.read(ends.max()) == pytest.approx(value, abs=3.0 * scale.slack)
            assert scale.read(ends.min()) == pytest.approx(0.0, abs=3.0 * scale.slack)
            assert f"{value:,.0f}" in shown.texts()
        told = re.search(
            rf"{re.escape(row.name)}[^:]*: first cost (\S+) USD, life-cycle cost (\S+) USD(; does not keep)?",
            made.text,
        )
        assert told
        assert number_of(told[1]) == round(row.first)
        assert number_of(told[2]) == round(row.life_cycle)
        assert (told[3] is None) == row.feasible
    assert sum("(chosen)" in row.name for row in rows) == (0 if choice.best is None else 1)
    assert "Invented prices, not for a bid." in made.text
    assert "invented prices, not for a bid" in shown.texts()


# ------------------------------------------------------------------------------------------ every chart


@EVERY_CHART
@pytest.mark.parametrize("design", [(), PAIR], ids=["nothing", "pair"])
def test_an_svg_is_whole_and_says_what_it_shows(which: Which, design: tuple[str, ...]) -> None:
    made, shown = chart(which, design), picture(which, design)
    text = svg_of(chart=made)
    root = shown.root
    assert root.tag == f"{SVG}svg"
    assert [one.text for one in root if one.tag in (f"{SVG}title", f"{SVG}desc")] == [made.title, made.text]
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-labelledby"] == f"{made.name}-title {made.name}-desc"
    ids = [one.attrib["id"] for one in root.iter() if "id" in one.attrib]
    assert len(ids) == len(set(ids))
    assert all(one.startswith(f"{made.name}-") for one in ids)
    referred = [
        one.attrib[f"{XLINK}href"].removeprefix("#") for one in root.iter() if f"{XLINK}href" in one.attrib
    ]
    referred += re.findall(r"url\(#([^)]+)\)", text)
    assert referred
    assert set(referred) <= set(ids)
    assert not {one.tag for one in root.iter()} & {
        f"{SVG}style",
        f"{SVG}metadata",
        f"{SVG}script",
        f"{SVG}image",
    }
    assert not re.search(r"20\d\d-\d\d-\d\d", text)  # no date
    assert "stroke-dasharray: ;" not in text  # a viewer may draw nothing then
    assert sum(one.startswith(made.title[:20]) for one in shown.texts()) == 1  # text is text
    assert not [one for one in shown.texts() if one.endswith("...")]  # nothing had to be cut
    assert set(re.findall(r"https?://[^\"' ]+", text)) == {SVG.strip("{}"), XLINK.strip("{}")}


@EVERY_CHART
def test_two_runs_give_the_same_bytes_whatever_a_person_has_set(which: Which) -> None:
    first = svg_of(chart=chart(which, PAIR)), png_of(chart=chart(which, PAIR))
    again = chart_of(which=which, prepared=prepared_room(), evaluation=simulated(*PAIR), existing=simulated())
    with matplotlib.rc_context({"lines.linewidth": 7.0, "font.size": 20.0, "svg.fonttype": "path"}):
        assert (svg_of(chart=again), png_of(chart=again)) == first
        assert matplotlib.rcParams["font.size"] == 20.0
    assert first[1].startswith(b"\x89PNG")
    assert made_words(first[1], chart(which, PAIR))


SMALL = """
from selector.report.charts_look import Chart, png_of, svg_of
import hashlib

def paint(figure):
    axes = figure.add_subplot()
    axes.bar([1, 2], [3, 4], hatch="//", color="#2412d8")
    axes.plot([1, 2], [3, 4], marker="o", gid="line")

made = Chart("small", "a title", "some words", 4.0, 3.0, paint)
print(hashlib.sha256(svg_of(chart=made).encode() + png_of(chart=made)).hexdigest())
"""


def test_another_process_gives_the_same_bytes() -> None:
    digests = set()
    for order in ("1", "2"):  # of sets and dictionaries
        done = subprocess.run(
            [sys.executable, "-c", SMALL],
            env={**os.environ, "PYTHONHASHSEED": order},
            capture_output=True,
            text=True,
            check=True,
        )
        digests.add(done.stdout)
    assert len(digests) == 1
    assert len(digests.pop().strip()) == 64


def made_words(png: bytes, made: Chart) -> bool:
    """Whether title and words stand in a PNG."""
    kept = Image.open(io.BytesIO(png)).info
    return bool(kept["Title"] == made.title and kept["Description"] == made.text)


@EVERY_CHART
@EVERY_DESIGN
def test_no_text_stands_on_another_or_outside(which: Which, design: tuple[str, ...]) -> None:
    assert crossings(chart(which, design)) == []


def test_texts_that_do_stand_on_each_other_are_found() -> None:
    def paint(figure: Figure) -> None:
        figure.text(0.5, 0.5, "one")
        figure.text(0.5, 0.5, "two", rotation=30.0)
        figure.text(0.99, 0.1, "three")

    found = crossings(Chart("bad", "bad", "bad", 3.0, 2.0, paint))
    assert found == [("three", "edge"), ("one", "two")]


HOSTILE = '<script>alert(1)</script> & "$x_1$" \x1b[31m\u202e 空調 ' + 30 * "long "


def test_a_name_of_anyone_is_shown_as_text_and_cut_to_its_place() -> None:
    rows = (
        MoneyRow(HOSTILE, f"1 {HOSTILE} standalone", 1000.0, 2000.0, False),
        MoneyRow("b", "", 0.0, -5.0, True),
    )
    made = money_chart(site=room(), rows=rows)
    shown = Picture(svg_of(chart=made), made.name)
    assert not list(shown.root.iter(f"{SVG}script"))
    assert any(words.startswith("<script>alert(1)</script>") for words in shown.texts())
    assert not any(sign in svg_of(chart=made) for sign in "\x1b\u202e")
    assert png_of(chart=made).startswith(b"\x89PNG")
    assert crossings(made) == []
    assert "life-cycle cost -5 USD" in made.text


def test_a_figure_that_cannot_measure_its_texts_is_refused() -> None:
    figure = Figure()
    FigureCanvasSVG(figure)
    with pytest.raises(TypeError, match="got a figure on FigureCanvasSVG; allowed: one of `figure_of`"):
        renderer_of(figure)
