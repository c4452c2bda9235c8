"""The page of a sweep: a panel for every step, where the choice changes, and the chart of the range."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.report.pages import (
    by_id,
    made_of,
    outdoor_sweep,
    read,
    small_room,
    sweep_page,
    sweep_page_of,
    swept,
)


def test_every_step_has_a_panel_that_says_its_answer() -> None:
    made, found = sweep_page(), outdoor_sweep()
    root = read(made.html)
    panels = [one for one in root.every("div") if one.has("panel")]
    assert [one.attributes["data-place"] for one in panels] == ["0", "1", "2"]
    assert [one.attributes["data-label"] for one in panels] == ["15 %", "30 %", "45 %"]
    for panel, step, plain in zip(panels, found.steps, made.result["steps"], strict=True):
        (summary,) = [one for one in panel.every("p") if one.has("summary")]
        assert step.best is not None
        assert f"{plain['install'][0]['count']} {plain['install'][0]['model']}" in summary.text()
        assert f"life-cycle cost {step.best.life_cycle:,.0f} USD" in summary.text()
        highest = f"{100.0 * step.best.maximum_relative_humidity:.1f} % RH"
        above = f"{step.best.hours_above} h above the limit; highest hour of the year {highest}"
        assert above in " ".join(summary.text().split())
        assert len(list(panel.every("svg"))) == 1
    (control,) = root.every("input")
    limits = [control.attributes[name] for name in ("min", "max", "step", "value")]
    assert limits == ["0", "2", "1", "1"]  # today's 25 % is nearest to the second step
    assert control.attributes["aria-valuetext"] == "30 %"
    (outcome,) = root.every("output")
    assert outcome.attributes["aria-live"] == "polite"


def test_switch_over_points_stand_in_the_answer_the_chart_and_a_table() -> None:
    made, found = sweep_page(), outdoor_sweep()
    assert len(found.switches) >= 1
    root = read(made.html)
    part = by_id(root, "sweep")
    (lead,) = [one for one in root.every("p") if one.has("lead")]
    for place, switch in enumerate(found.switches):
        shown = [
            one for one in lead.every("data") if one.attributes["data-key"] == f"switch_over.{place}.value"
        ]
        assert len(shown) == 1
        assert by_id(part, f"sweep-switch-{place + 1}").tag == "g"
        for side in ("below", "above"):
            keys = {one.attributes["data-key"] for one in part.every("data")}
            assert f"switch_over.{place}.{side}.value" in keys
            assert f"switch_over.{place}.{side}.life_cycle" in keys
        assert switch.low.install != switch.high.install
    assert [
        one.attributes["id"]
        for one in part.every("g")
        if one.attributes.get("id", "").startswith("sweep-cursor")
    ] == [f"sweep-cursor-{place}" for place in range(3)]


def test_the_chart_of_the_range_joins_the_costs_of_the_steps() -> None:
    """Read back from the SVG; found within a thousandth of a point."""
    from selector.report.charts_look import svg_of
    from selector.report.page_sweep_chart import lines_of, sweep_chart
    from tests.report.pictures import Picture

    found = outdoor_sweep()
    picture = Picture(svg_of(chart=sweep_chart(sweep=found)), "sweep")
    across, up = picture.scale(1, "x"), picture.scale(2, "y")
    assert [line.name for line in lines_of(found)] == ["chosen", "staying"]
    for line in lines_of(found):
        points = picture.path(f"line-{line.name}")
        known = [(at, cost) for at, cost in zip(line.at, line.costs, strict=True) if cost == cost]
        assert len(points) == len(known)
        for (x, y), (at, cost) in zip(points, known, strict=True):
            assert abs(float(across.read(x)) - 100.0 * at) <= 2.0 * across.slack
            assert abs(float(up.read(y)) - cost) <= 2.0 * up.slack
    chosen_line = dict(zip(lines_of(found)[0].at, lines_of(found)[0].costs, strict=True))
    for step in found.steps:
        assert step.best is not None
        assert chosen_line[step.values[0]] == step.best.life_cycle
    for switch in found.switches:
        for side in (switch.low, switch.high):
            assert chosen_line[side.value] == side.cost


def test_today_is_the_same_choice_as_without_a_sweep() -> None:
    """The page of a sweep puts today's designs together again: their figures are those of the record."""
    from selector.report.page_sweep_choice import choice_of

    found = outdoor_sweep()
    choice = choice_of(step=found.now, prepared=small_room())
    record = found.now.record
    assert record is not None
    again = made_of(choice, small_room()).result
    for key in (
        "install",
        "costs",
        "humidity",
        "feasible",
        "margin",
        "one_unit_out",
        "best_by_arrangement",
        "answer",
    ):
        assert again[key] == record[key], key
    with pytest.raises(ValueError, match="a step without a record"):
        choice_of(step=replace(found.now, record=None), prepared=small_room())


def test_many_switch_over_points_are_named_and_not_told() -> None:
    whole = outdoor_sweep()
    (one,) = whole.switches
    many = tuple(
        replace(
            one,
            low=replace(one.low, value=at, install=one.low.install if place % 2 == 0 else one.high.install),
            high=replace(
                one.high, value=at + 1e-4, install=one.high.install if place % 2 == 0 else one.low.install
            ),
        )
        for place, at in enumerate((0.32, 0.325, 0.34, 0.36, 0.39, 0.41, 0.44))
    )
    root = read(sweep_page_of(replace(whole, switches=many)).html)
    (lead,) = [one for one in root.every("p") if one.has("lead")]
    assert "the answer changes at 32 %, 33 %, 34 %, 36 %, 39 %, 41 % and at 1 further point." in lead.text()
    text = by_id(root, "answer").text()
    for word in (
        "15 to 32 %: 1 precool-120 + 1 compressor-60 supply-side.",
        "44 to 45 %: 3 compressor-60 standalone.",
    ):
        assert word in text
    labels = [one.text() for one in by_id(root, "figure-sweep").every("text")]
    assert (
        sum(label.endswith(" %") for label in labels) == 6
    )  # two lie too near to each other to be written both


def test_two_things_against_each_other_are_two_tables() -> None:
    found = swept(
        ["outdoor-air-fraction", "electricity-price"],
        ["20%", "0.10 USD/kWh"],
        ["40%", "0.20 USD/kWh"],
        [2, 2],
    )
    made = sweep_page_of(found)
    part = by_id(read(made.html), "sweep")
    captions = [one.text() for one in part.every("caption")]
    assert captions == ["What is chosen", "Its life-cycle cost [USD]"]
    keys = [one.attributes["data-key"] for one in part.every("data")]
    assert keys == [f"steps.{place}.costs.life_cycle" for place in range(4)]
    assert not list(read(made.html).every("input", "script"))


def test_an_interrupted_sweep_says_so() -> None:
    whole = outdoor_sweep()
    part = replace(whole, steps=whole.steps[:2], switches=(), interrupted=True)
    text = read(sweep_page_of(part).html).text()
    assert "dashed uprights" not in text  # there is none
    assert "dashed uprights are switch-over points" in read(sweep_page().html).text()
    assert "The sweep was stopped: 2 of 3 steps are finished." in text
    assert "not every step was finished" in text
