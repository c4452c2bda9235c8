"""What has to be known of numbers stands in every table and picture that leaves the program by itself."""

from __future__ import annotations

import csv
import functools
import io
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from selector.decide.commissioning import commissioning_sheet
from selector.decide.sweep import sweep
from selector.inputs.site import Install, Site
from selector.inputs.vary_words import Words, read_variations
from selector.physics.prepare import Prepared
from selector.report.charts import WHICH, Chart, Which, chart_of, png_of, svg_of
from selector.report.commissioning_text import commissioning_csv
from selector.report.hourly_csv import hourly_csv
from selector.report.lines import marks
from selector.report.loads_csv import loads_csv
from selector.report.schedule_text import schedule_csv
from selector.report.sweep_json import sweep_csv
from selector.report.sweep_screen import sweep_screen
from selector.report.terminal import plain_lines
from tests.report.choices import simulated
from tests.report.pages import outdoor_sweep, small_room
from tests.report.pictures import Picture
from tests.sites import SCENARIOS, prepared_room

PAIR = ("2 precool-120 standalone", "1 compressor-60 standalone")
INSTALL = (Install("precool-120", "standalone", 2),)
MARKED = "first estimate; synthetic weather; invented units: not for a bid"
MONEY = "first estimate; synthetic weather; invented prices: not for a bid"


def real(prepared: Prepared) -> Prepared:
    """The same as if all of it were given and measured."""
    site = prepared.site
    book = site.costs.price_book
    assert book is not None
    site = replace(
        site,
        weather=replace(site.weather, kind="measured year"),
        catalog=replace(site.catalog, invented=False),
        costs=replace(site.costs, price_book=replace(book, invented=False)),
        assumptions=tuple(replace(one, origin="given") for one in site.assumptions),
    )
    return replace(prepared, site=site)


def _sweep_table(prepared: Prepared) -> str:
    return sweep_csv(sweep=replace(outdoor_sweep(), site=prepared.site))


TABLES: dict[str, Callable[[Prepared], str]] = {
    "hours": lambda prepared: hourly_csv(prepared=prepared, year=simulated(*PAIR).year),
    "loads": lambda prepared: loads_csv(prepared=prepared, year=simulated().year),
    "schedule": lambda prepared: schedule_csv(commissioning_sheet(prepared=prepared, install=INSTALL).schedule),
    "readings": lambda prepared: commissioning_csv(commissioning_sheet(prepared=prepared, install=INSTALL)),
    "sweep": _sweep_table,
}  # fmt: skip


@pytest.mark.parametrize("which", TABLES)
def test_every_row_of_a_table_is_marked(which: str) -> None:
    headings, *rows = csv.reader(io.StringIO(TABLES[which](prepared_room())))
    assert headings[-1] == "marks"
    assert rows
    assert {row[-1] for row in rows} == {MONEY if which == "sweep" else MARKED}
    headings, *rows = csv.reader(io.StringIO(TABLES[which](real(prepared_room()))))
    assert headings[-1] == "marks"
    assert {row[-1] for row in rows} == {""}


@pytest.mark.parametrize("which", ["hours", "loads"])
def test_a_reader_that_splits_at_commas_finds_every_column_of_the_hours(which: str) -> None:
    heads, *rows = TABLES[which](prepared_room()).splitlines()
    assert {len(row.split(",")) for row in rows} == {len(heads.split(","))}


@pytest.mark.parametrize("left", ["first estimate", "synthetic weather", "invented units: not for a bid"])
def test_each_mark_stands_by_itself(left: str) -> None:
    site, plain = prepared_room().site, real(prepared_room()).site
    alone: dict[str, Site] = {
        "first estimate": replace(plain, assumptions=site.assumptions),
        "synthetic weather": replace(plain, weather=site.weather),
        "invented units: not for a bid": replace(plain, catalog=site.catalog),
    }
    assert marks(alone[left]) == (left,)
    assert marks(plain) == marks(plain, money=True) == ()
    book = replace(plain, costs=site.costs)
    assert marks(book) == ()  # without money no price bears on it
    assert marks(book, money=True) == ("invented prices: not for a bid",)


def test_a_step_with_weather_of_its_own_is_marked_by_that() -> None:
    folder = SCENARIOS / "weather"
    words = Words("weather-file", None, None, 0, f"{folder}/tidewater.csv; {folder}/northfield.csv")
    (variation,) = read_variations(site=small_room().site, words=[words])
    first, second = variation.weathers
    mixed = replace(variation, weathers=(first, replace(second, kind="typical year")))
    found = sweep(prepared=real(small_room()), variations=(mixed,), processes=1)
    rows = list(csv.DictReader(io.StringIO(sweep_csv(sweep=found))))
    assert [row["marks"] for row in rows] == ["synthetic weather", ""]
    lines = "".join(plain_lines(sweep_screen(sweep=found, again="again")))
    assert "Weather     synthetic: " in lines
    known = replace(found, variations=(replace(mixed, weathers=(mixed.weathers[1],) * 2),))
    assert "synthetic" not in "".join(plain_lines(sweep_screen(sweep=known, again="again")))


@functools.cache
def chart(which: Which, *, invented: bool) -> Chart:
    prepared = prepared_room() if invented else real(prepared_room())
    return chart_of(which=which, prepared=prepared, evaluation=simulated(*PAIR), existing=simulated())


@pytest.mark.parametrize("which", WHICH)
def test_a_chart_that_stands_alone_is_marked_in_its_picture_and_its_words(which: Which) -> None:
    words = "First estimate. Synthetic weather. Invented units: not for a bid."
    made, plain = chart(which, invented=True), chart(which, invented=False)
    assert made.text.endswith(f" {words}")
    assert words in Picture(svg_of(chart=made), made.name).texts()
    for text in (plain.text, svg_of(chart=plain)):
        for mark in ("estimate", "ynthetic", "nvented"):
            assert mark not in text


@pytest.mark.parametrize("which", WHICH)
def test_the_foot_takes_nothing_from_the_picture(which: Which) -> None:
    """A strip of 0.22 inches, 44 dots, below a picture that stays as it is without."""
    made = chart(which, invented=True)
    whole, bare = (
        np.asarray(Image.open(io.BytesIO(png_of(chart=one))).convert("L"))
        for one in (made, replace(made, foot=""))
    )
    assert whole.shape[1] == bare.shape[1]
    assert abs(whole.shape[0] - bare.shape[0] - 44) <= 1  # heights are rounded to dots
    strip = whole[-44:]
    assert strip.min() < 100  # ink
    assert strip[:4].min() == strip[-4:].min() == 255  # within the strip
    assert np.count_nonzero(strip[:, -20:] < 255) == 0
    assert (
        Picture(svg_of(chart=made), made.name).texts()[:-1]
        == Picture(svg_of(chart=replace(made, foot="")), made.name).texts()
    )
