"""Charts read back from their SVG: points, curves and bars against the evaluation, and the words against the same."""

from __future__ import annotations

import dataclasses
import functools
import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator

import matplotlib
import numpy as np
import pytest
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.path import Path as Outline
from matplotlib.text import Text
from PIL import Image

from selector.decide.duty import design_hours
from selector.decide.evaluate import Evaluation
from selector.inputs.calendar import month_of_hour
from selector.inputs.site import ARRANGEMENTS, HOURS
from selector.physics import response as out
from selector.physics.design_day import simulate_design_day
from selector.physics.loads import moisture_sources
from selector.physics.moist_air import sensible_heat
from selector.physics.prepare import lead_order
from selector.report.charts import (
    WHICH,
    Chart,
    MoneyRow,
    Which,
    chart_of,
    money_chart,
    png_of,
    psychrometric_chart,
    psychrometric_charts,
    rows_of_choice,
    svg_of,
)
from selector.report.charts_humidity import curve_ranks
from selector.report.charts_look import figure_of, renderer_of, settings
from selector.report.charts_psychrometric import COLUMNS, state_figures
from selector.report.charts_states import DesignAir, design_air
from selector.report.figures import number
from selector.report.moisture_months import moisture_rows
from selector.report.text import MONTHS, hour_text
from tests.report.choices import chosen, impossible, nothing, simulated
from tests.report.pictures import SVG, XLINK, Picture, number_of
from tests.sites import prepared_room, room

DESIGNS = (
    (),
    ("2 precool-120 return-side",),
    ("1 precool-120 supply-side", "1 compressor-60 supply-side"),
    ("1 rotor-60 coil-bypass",),
    ("2 precool-120 standalone",),
    ("2 rotor-60 outdoor-air",),
    ("1 precool-120 return-side", "1 compressor-60 standalone"),
)
EVERY_DESIGN = pytest.mark.parametrize("design", DESIGNS, ids=lambda one: "+".join(one) or "nothing")
EVERY_CHART = pytest.mark.parametrize("which", WHICH)
PAIR = ("2 precool-120 standalone", "1 compressor-60 standalone")


@functools.cache
def air_of(design: tuple[str, ...]) -> DesignAir:
    return design_air(prepared=prepared_room(), evaluation=simulated(*design))


@functools.cache
def chart(which: Which, design: tuple[str, ...]) -> Chart:
    return chart_of(
        which=which, prepared=prepared_room(), evaluation=simulated(*design), existing=simulated()
    )


@functools.cache
def picture(which: Which, design: tuple[str, ...]) -> Picture:
    made = chart(which, design)
    return Picture(svg_of(chart=made), made.name)


# ------------------------------------------------------------------------------------------ psychrometric


@EVERY_DESIGN
def test_every_plotted_state_stands_where_its_air_is(design: tuple[str, ...]) -> None:
    air, shown = air_of(design), picture("psychrometric", design)
    ratio, dry_bulb = shown.scale(1, "y"), shown.scale(2, "x")
    assert len(shown.ids("state-")) == len(air.states)
    for place, state in enumerate(air.states, start=1):
        x, y = shown.marker(f"state-{place}")
        # °F, and grains in a pound: 7000; found within a thousandth of a point of the picture
        assert abs(dry_bulb.read(x) - (1.8 * state.air.dry_bulb + 32.0)) <= 2.0 * dry_bulb.slack
        assert abs(ratio.read(y) - 7000.0 * state.air.humidity_ratio) <= 2.0 * ratio.slack


@EVERY_DESIGN
def test_every_process_joins_the_two_states_it_names(design: tuple[str, ...]) -> None:
    air, shown = air_of(design), picture("psychrometric", design)
    assert len(shown.ids("process-")) == len(air.processes)
    for place, process in enumerate(air.processes, start=1):
        ends = shown.path(f"process-{place}-{process.kind}")
        points = [shown.marker(f"state-{1 + state}") for state in (process.start, process.end)]
        assert ends == pytest.approx(np.array(points), abs=0.002)  # a thousandth each


@EVERY_DESIGN
def test_states_are_those_that_the_simulation_left(design: tuple[str, ...]) -> None:
    """The hour's response, and what the equipment schedule says of the units, hold the same states."""
    prepared, evaluation, air = prepared_room(), simulated(*design), air_of(design)
    assert air.basis == "design week"
    day = min(prepared.site.weather.design_days, key=lambda one: one.percent)
    week = simulate_design_day(prepared=prepared, install=lead_order(prepared=prepared, install=evaluation.install),
                               day=day)  # fmt: skip
    row = range(*week.place.indices(HOURS))[week.hours.index(air.hour)]
    response = week.year.response[row]
    now = week.prepared.hours[row]

    def roles(t: float, w: float) -> tuple[str, ...]:
        """Of the state there; found within 5e-7 K and 1e-9 kg/kg, to which the hour's own mean settles."""
        return next(
            state.roles
            for state in air.states
            if abs(state.air.dry_bulb - t) < 1e-6 and abs(state.air.humidity_ratio - w) < 2e-9
        )

    assert "outdoor" in roles(now["outdoor_t"], now["outdoor_w"])
    assert "space" in roles(week.year.mean_t[row], week.year.mean_w[row])
    assert (air.fan_share, air.coil_share) == (response[out.FAN_SHARE], response[out.COIL_SHARE])
    if air.coil_share > 0.0:
        assert "leaving coil" in roles(response[out.COIL_OUT_T], response[out.COIL_OUT_W])
        assert air.surface == response[out.SURFACE_T]
    entering = [state.air for state in air.states if "entering coil" in state.roles]
    assert len(entering) == (1 if air.fan_share > 0.0 else 0)
    if entering:  # mixed from what enters it: found within 2e-7 K and 7e-9 kg/kg of the coil's own
        assert entering[0].dry_bulb == pytest.approx(float(response[out.COIL_IN_T]), abs=1e-6)
        assert entering[0].humidity_ratio == pytest.approx(float(response[out.COIL_IN_W]), abs=2e-8)
    hours = design_hours(prepared=prepared, evaluation=evaluation)
    if not design:
        assert air.hour == week.worst_hour
    for unit in (one for one in hours if one.hour == air.hour):
        for met in unit.met:
            assert "entering unit" in roles(met.duty.entering.dry_bulb, met.duty.entering.humidity_ratio)
            leaving = roles(met.duty.leaving.dry_bulb, met.duty.leaving.humidity_ratio)
            assert any(role in ("leaving unit", f"leaving {unit.model}") for role in leaving)
    assert not hours or air.hour in {one.hour for one in hours}


@EVERY_DESIGN
def test_supply_air_carries_the_heat_that_the_balance_counts(design: tuple[str, ...]) -> None:
    """Supply air by its shares of the hour, against the space, is what the year's energy balance holds."""
    prepared, evaluation, air = prepared_room(), simulated(*design), air_of(design)
    if air.fan_share == 0.0:
        pytest.fail("a design hour without the fan says nothing here")
    day = min(prepared.site.weather.design_days, key=lambda one: one.percent)
    every = lead_order(prepared=prepared, install=evaluation.install)
    week = simulate_design_day(prepared=prepared, install=every, day=day)
    row = range(*week.place.indices(HOURS))[week.hours.index(air.hour)]
    response, now, plant = week.year.response[row], week.prepared.hours[row], prepared.plant
    space = next(one.air for one in air.states if "space" in one.roles)
    heat = 0.0
    for state in air.states:
        if "supply air" not in state.roles:
            continue
        share = air.coil_share if not state.rest and air.coil_share > 0.0 else air.fan_share - air.coil_share
        per_kg = float(sensible_heat(state.air.humidity_ratio, state.air.dry_bulb, space.dry_bulb))
        heat += share * float(plant["supply"]) * per_kg
    per_kelvin = float(sensible_heat(float(now["outdoor_w"]), 1.0, 0.0))
    outdoor = float(response[out.BROUGHT]) * per_kelvin * (float(now["outdoor_t"]) - space.dry_bulb)
    # W; found within 2e-3 W of some 10 kW: the state of the space settles to 1e-6 K
    assert heat - outdoor == pytest.approx(float(response[out.SYSTEM_HEAT]), abs=0.02)


@EVERY_DESIGN
def test_the_words_of_the_psychrometric_chart_give_each_state(design: tuple[str, ...]) -> None:
    air, words = air_of(design), chart("psychrometric", design).text
    found = re.findall(
        r"State (\d+), [^:]*: dry bulb (\S+) °F, dew point (\S+) °F, RH (\S+) %, humidity ratio (\S+) gr/lb, "
        r"enthalpy (\S+) Btu/lb\.",
        words,
    )
    assert [int(one[0]) for one in found] == list(range(1, len(air.states) + 1))
    for one, state in zip(found, air.states, strict=True):
        told = [number_of(value) for value in one[1:]]
        t, w = state.air.dry_bulb, state.air.humidity_ratio
        meant = [
            1.8 * t + 32.0,
            1.8 * state.air.dew_point + 32.0,
            100.0 * state.air.relative_humidity,
            7000.0 * w,
        ]
        assert told[:4] == pytest.approx(meant, abs=0.0501)
        # dry air at 0 °F has none: 0.240 t + w (1061 + 0.444 t), ASHRAE Fundamentals 2017 ch. 1 eq. 30 (IP)
        fahrenheit = 1.8 * t + 32.0
        # the handbook's two forms are up to 0.03 Btu/lb apart at 50 °C
        assert told[4] == pytest.approx(0.240 * fahrenheit + w * (1061.0 + 0.444 * fahrenheit), abs=0.0801)
    shown = picture("psychrometric", design).texts()
    for state in air.states:
        for value in state_figures(state=state, units="IP"):
            assert value in shown


def test_a_state_in_si_units_is_read_off_in_si_units() -> None:
    site = dataclasses.replace(room(), display_units="SI")
    air = air_of(DESIGNS[1])
    made = psychrometric_chart(site=site, install=simulated(*DESIGNS[1]).install, air=air)
    shown = Picture(svg_of(chart=made), made.name)
    ratio, dry_bulb = shown.scale(1, "y"), shown.scale(2, "x")
    for place, state in enumerate(air.states, start=1):
        x, y = shown.marker(f"state-{place}")
        assert abs(dry_bulb.read(x) - state.air.dry_bulb) <= 2.0 * dry_bulb.slack
        assert abs(ratio.read(y) - 1000.0 * state.air.humidity_ratio) <= 2.0 * ratio.slack
    assert "humidity ratio [g/kg dry air]" in shown.texts()
    assert [name for name, _ in COLUMNS] == ["dry bulb", "dew point", "RH", "humidity ratio", "enthalpy"]


def test_each_arrangement_has_its_chart_on_the_same_axes() -> None:
    choice = chosen()
    charts = psychrometric_charts(prepared=prepared_room(), choice=choice)
    assert [one.name for one in charts] == [f"psychrometric-{name}" for name in ("existing", *ARRANGEMENTS)]
    scales = set()
    ids: set[str] = set()
    for made in charts:
        shown = Picture(svg_of(chart=made), made.name)
        scales.add((shown.scale(1, "y"), shown.scale(2, "x")))
        assert not ids & {key for key in shown.by_id if key}
        ids |= {key for key in shown.by_id if key}
    assert len(scales) == 1
    without = psychrometric_charts(prepared=prepared_room(), choice=impossible())
    assert [one.name for one in without] == [
        f"psychrometric-{name}" for name in ("existing", *ARRANGEMENTS) if name != "coil-bypass"
    ]


# ------------------------------------------------------------------------------------------ humidity


def test_each_days_highest_humidity_stands_in_the_chart() -> None:
    shown = picture("humidity", PAIR)
    scale = shown.scale(2, "y")
    for which, evaluation in (("with", simulated(*PAIR)), ("without", simulated())):
        days = evaluation.year.relative_humidity.reshape(365, 24).max(axis=1)
        places = shown.markers(f"days-{which}")
        assert len(places) == 365
        assert scale.read([y for _, y in places]) == pytest.approx(100.0 * days, abs=3.0 * scale.slack)
    assert any(words == f"without: {simulated().hours_above:,} h above" for words in shown.texts())


def test_hours_above_stand_day_by_day() -> None:
    shown = picture("humidity", PAIR)
    ticks = shown.ticks(4, "y")
    hour = (ticks[0][0] - ticks[1][0]) / 24.0  # points
    for which, sign, evaluation in (("without", 1.0, simulated()), ("with", -1.0, simulated(*PAIR))):
        above = evaluation.year.above[:, 0].reshape(365, 24).sum(axis=1)
        corners = shown.path(f"above-{which}")[1:-1]  # the base line closes it
        heights = (ticks[1][0] - corners[:, 1].reshape(365, 2)) / hour
        assert heights == pytest.approx(sign * np.repeat(above, 2).reshape(365, 2), abs=0.002)
        assert above.sum() == evaluation.hours_above


@pytest.mark.parametrize("design", [(), PAIR], ids=["nothing", "pair"])
def test_the_words_of_the_humidity_chart_give_months_and_hours(design: tuple[str, ...]) -> None:
    words = chart("humidity", design).text
    found = re.findall(
        r"(with the new units|existing system alone), ([\d,]+) hours? a year above, 40 allowed; the worst is (\S+) %, "
        r"([^;]*); by month ([^.]*(?:\.\d[^.]*)*)\.",
        words,
    )
    assert [one[0] for one in found] == (["with the new units"] if design else []) + ["existing system alone"]
    for name, hours, worst, when, months in found:
        evaluation = simulated(*design) if name.startswith("with") else simulated()
        limit = evaluation.limits[0]
        assert number_of(hours) == limit.hours_above
        assert number_of(worst) == pytest.approx(100.0 * limit.worst, abs=0.0501)
        assert when == hour_text(limit.worst_hour)
        told = re.findall(r"(\w{3}) (\S+) \((\d+) h\)", months)
        assert [one[0] for one in told] == list(MONTHS)
        month = month_of_hour()
        for place, (_, most, above) in enumerate(told):
            values = evaluation.year.relative_humidity[month == place]
            assert number_of(most) == pytest.approx(100.0 * values.max(), abs=0.0501)
            assert int(above) == evaluation.year.above[month == place, 0].sum()


def test_the_duration_curve_is_the_ranked_year() -> None:
    shown = picture("duration", PAIR)
    scale = shown.scale(2, "y")
    ranks = curve_ranks(hours=HOURS)
    ticks = shown.ticks(1, "x")
    decade = (ticks[-1][0] - ticks[0][0]) / np.log10(HOURS)
    for which, evaluation in (("with", simulated(*PAIR)), ("without", simulated())):
        ranked = np.sort(evaluation.year.relative_humidity)[::-1]
        corners = shown.path(f"duration-{which}")
        assert (corners[:, 0] - ticks[0][0]) / decade == pytest.approx(np.log10(ranks), abs=1e-4)
        assert scale.read(corners[:, 1]) == pytest.approx(100.0 * ranked[ranks - 1], abs=3.0 * scale.slack)
        # as many hours lie above the limit's line as the evaluation counts
        assert int((ranked > 0.6 + 0.0005).sum()) == evaluation.hours_above
    words = chart("duration", PAIR).text
    told = re.findall(
        r"at least (\S+) % for 1 hour, (\S+) % for 10 hours, (\S+) % for 100 hours, (\S+) %", words
    )
    for one, evaluation in zip(told, (simulated(*PAIR), simulated()), strict=True):
        ranked = np.sort(evaluation.year.relative_humidity)[::-1]
        meant = [100.0 * ranked[rank - 1] for rank in (1, 10, 100, 1000)]
        assert [number_of(value) for value in one] == pytest.approx(meant, abs=0.0501)


# ------------------------------------------------------------------------------------------ moisture and money


@EVERY_DESIGN
def test_bars_of_moisture_are_the_sources_and_close_each_month(design: tuple[str, ...]) -> None:
    evaluation, shown = simulated(*design), picture("moisture", design)
    sources = moisture_sources(prepared=prepared_room(), year=evaluation.year)
    rows = moisture_rows(prepared=prepared_room(), evaluation=evaluation)
    ticks = shown.ticks(2, "y")
    zero = next(place for place, label in ticks if label == "0")
    step = next((zero - place) / number_of(label) for place, label in ticks if place < zero)  # points a pound
    month = month_of_hour()
    heights = np.zeros((len(sources), 12))
    for at, (source, row) in enumerate(zip(sources, rows, strict=True)):
        assert row.name == source.name
        assert row.year == pytest.approx(source.values.sum(), rel=1e-12, abs=1e-9)
        for place in range(12):
            corners = shown.path(f"source-{at + 1}-month-{place + 1}")
            high = np.ptp(corners[:, 1]) / step
            value = source.values[month == place].sum() / 0.45359237  # lb
            assert row.months[place] == pytest.approx(value * 0.45359237, rel=1e-12, abs=1e-9)
            assert high == pytest.approx(abs(value), abs=0.004 / step)  # of a point; found: 0.0028
            above = corners[:, 1].mean() <= zero
            assert above == (value >= 0.0) or high < 0.01 / step
            heights[at, place] = value
    # lb a month, of some thousand: found 3.5e-6, the hours' own rounding
    assert heights.sum(axis=0) == pytest.approx(np.zeros(12), abs=4e-6)


@EVERY_DESIGN
def test_the_words_of_the_moisture_chart_give_years_and_months(design: tuple[str, ...]) -> None:
    words = chart("moisture", design).text
    rows = moisture_rows(prepared=prepared_room(), evaluation=simulated(*design))
    assert "Positive into the space." in words
    for row in rows:
        found = re.search(rf"{re.escape(row.name)}: (\S+) lb in the year; by month ([^.]*)\.", words)
        assert found
        assert number_of(found[1]) == pytest.approx(row.year / 0.45359237, abs=0.501)
        months = re.findall(r"(\w{3}) ([-+]?[\d,]+)", found[2])
        assert [name for name, _ in months] == list(MONTHS)
        assert [number_of(value) for _, value in months] == pytest.approx(
            [value / 0.45359237 for value in row.months], abs=0.501
        )


@pytest.mark.parametrize(
    "choice", [chosen(), nothing(), impossible()], ids=["chosen", "nothing", "impossible"]
)
def test_bars_of_money_are_the_costs_of_the_options(choice: object) -> None:
    assert isinstance(choice, type(chosen()))
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


def written(figure: Figure) -> Iterator[tuple[Text, Outline]]:
    """Every text with the outline that it takes, turned as it is."""
    renderer = renderer_of(figure)
    beyond = {
        id(tick.label1)
        for axes in figure.axes
        for axis in (axes.xaxis, axes.yaxis)
        for tick in axis.get_major_ticks()
        if not min(axis.get_view_interval()) <= tick.get_loc() <= max(axis.get_view_interval())
    }  # never drawn
    for text in figure.findobj(Text):
        assert isinstance(text, Text)
        if id(text) in beyond or not text.get_visible() or not text.get_text().strip():
            continue
        box = text.get_window_extent(renderer)
        turn = text.get_rotation()
        x, y = 0.5 * (box.x0 + box.x1), 0.5 * (box.y0 + box.y1)
        text.set_rotation(0.0)
        flat = text.get_window_extent(renderer)
        text.set_rotation(turn)
        half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1], [-1, -1]]) * [
            max(0.5 * flat.width - 0.75, 0.1),
            max(0.5 * flat.height - 0.75, 0.1),
        ]
        cosine, sine = np.cos(np.radians(turn)), np.sin(np.radians(turn))
        yield text, Outline(half @ np.array([[cosine, sine], [-sine, cosine]]) + [x, y])


def crossings(made: Chart) -> list[tuple[str, str]]:
    """Texts that stand on each other, or leave the picture."""
    with settings():
        figure = figure_of(chart=made)
        figure.canvas.draw()
        every = list(written(figure))
    frame = figure.bbox
    faults = [
        (text.get_text(), "edge")
        for text, place in every
        if place.get_extents().x0 < frame.x0 - 0.5
        or place.get_extents().x1 > frame.x1 + 0.5
        or place.get_extents().y0 < frame.y0 - 0.5
        or place.get_extents().y1 > frame.y1 + 0.5
    ]
    for at, (text, place) in enumerate(every):
        faults += [
            (text.get_text(), other.get_text())
            for other, there in every[at + 1 :]
            if place.intersects_path(there, filled=True)
        ]
    return faults


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


def test_figures_of_states_are_written_in_the_units_of_the_columns() -> None:
    state = air_of(())
    for (_, figure), value in zip(
        COLUMNS[:1], state_figures(state=state.states[0], units="SI"), strict=False
    ):
        assert number_of(value) == pytest.approx(
            number(state.states[0].air.dry_bulb, figure, "SI"), abs=0.0501
        )


def test_a_figure_that_cannot_measure_its_texts_is_refused() -> None:
    figure = Figure()
    FigureCanvasSVG(figure)
    with pytest.raises(TypeError, match="got a figure on FigureCanvasSVG; allowed: one of `figure_of`"):
        renderer_of(figure)
