"""Charts of the year read back from their SVG: days, hours above, ranks and moisture, and what they say in words."""

from __future__ import annotations

import re

import numpy as np
import pytest

from selector.inputs.calendar import month_of_hour
from selector.inputs.site import HOURS
from selector.physics.loads import moisture_sources
from selector.report.charts_humidity import curve_ranks
from selector.report.moisture_months import moisture_rows
from selector.report.text import MONTHS, hour_text
from tests.report.choices import simulated
from tests.report.drawn_charts import EVERY_DESIGN, PAIR, chart, picture
from tests.report.pictures import number_of
from tests.sites import prepared_room

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


# ------------------------------------------------------------------------------------------ moisture


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
