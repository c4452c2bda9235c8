"""The page without a browser: every figure is JSON's, names are text, parts stand in their order, bytes repeat."""

from __future__ import annotations

import functools
import json
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from selector.inputs.fingerprint import fingerprint
from selector.report.page import page_of_choice, symbol
from selector.report.page_figures import Figures, found_at, written
from selector.report.page_parts import say
from selector.report.text import Show, show_for
from tests.commands import run
from tests.report.choices import chosen, impossible, nothing
from tests.report.pages import (
    TODAY,
    Element,
    Made,
    agrees,
    by_id,
    choice_page,
    comparison,
    comparison_page,
    made_of,
    outdoor_sweep,
    read,
    small_room,
    sweep_page,
    sweep_page_of,
    swept,
)
from tests.report.working import value_of
from tests.sites import ROOM, prepared_room, room, write_room

PAGES: dict[str, Callable[[], Made]] = {
    "choice": choice_page,
    "not possible": functools.cache(lambda: made_of(impossible())),
    "nothing": functools.cache(lambda: made_of(nothing())),
    "comparison": comparison_page,
    "sweep": sweep_page,
}
EVERY_PAGE = pytest.mark.parametrize("which", PAGES)
ORDER = (
    "answer", "money", "humidity", "air", "others", "hour", "moisture", "sweep", "assumptions", "record", "proof",
    "cautions",
)  # fmt: skip


def page(which: str) -> Element:
    return read(PAGES[which]().html)


def figures(root: Element) -> list[Element]:
    return [one for one in root.every("data") if one.attributes["value"]]


# ---------------------------------------------------------------------------------------- figures


@EVERY_PAGE
def test_every_figure_is_jsons_to_the_digits_shown(which: str) -> None:
    made = PAGES[which]()
    seen = 0
    for one in read(made.html).every("data"):
        value = found_at(made.result, one.attributes["data-key"])
        if not one.attributes["value"]:
            assert value is None
            assert one.text() == "none"
            continue
        assert float(one.attributes["value"]) == value  # as JSON has it
        words = one.text().split(" ", 1) if one.attributes["data-unit"] else [one.text()]
        number = words[0].replace(" ", "")
        if len(words) == 2:
            assert words[1] == one.attributes["data-unit"], one.attributes
        assert agrees(one.attributes, number, value), (one.attributes, number)
        seen += 1
    assert seen > 150


@EVERY_PAGE
def test_no_figure_of_money_stands_without_its_key(which: str) -> None:
    """In texts of the answer and in tables of money; not in what others wrote."""
    root = page(which)
    for one in by_id(root, "money").every("td"):
        if one.has("figure") and any(letter.isdigit() for letter in one.text()):
            assert list(one.every("data")), one.text()


@pytest.mark.parametrize("which", ["choice", "comparison", "sweep"])
def test_months_of_the_moisture_balance_add_up(which: str) -> None:
    """Each to half a pound; months to the year, and sources to nothing."""
    (table,) = by_id(page(which), "moisture").every("table")
    rows = [[cell.text() for cell in row.every("th", "td")] for row in table.every("tr")][1:]
    columns = [0.0] * 13
    for name, *cells in rows:
        values = [value_of(cell) for cell in cells]
        assert sum(values[:12]) == pytest.approx(values[12], abs=0.5 * 13)
        sign = -1.0 if name.endswith("(taken out)") else 1.0
        columns = [column + sign * value for column, value in zip(columns, values, strict=True)]
    assert all(abs(column) <= 0.5 * (len(rows) + 1) for column in columns)


@pytest.mark.parametrize(
    ("value", "kind", "wanted"),
    [
        (0.6123, "fraction", ("61.2", "%")),
        (-0.2, "money", ("0", "USD")),
        (12345.678, "money", ("12,346", "USD")),
        (23.889, "temperature", ("75.0", "°F")),
        (3.6e-4, "moisture_rate", ("2.857", "lb/h")),
        (0.0, "moisture_rate", ("0", "lb/h")),
        (1.23456e-12, "residual", ("1.2e-12", "")),
        (0.00083333, "rate", ("3", "1/h")),
        (151, "count", ("151", "")),
    ],
)
def test_a_figure_is_written_with_its_unit(value: float, kind: str, wanted: tuple[str, str]) -> None:
    assert written(value, kind, Show("IP", "USD")) == wanted


def test_a_figure_needs_its_key() -> None:
    with pytest.raises(KeyError, match="costs"):
        Figures({}, Show("IP", "USD"))("costs.first", "money")


# ---------------------------------------------------------------------------------------- order and content


@EVERY_PAGE
def test_parts_stand_in_their_order_and_are_linked(which: str) -> None:
    root = page(which)
    (main,) = root.every("main")
    parts = [one for one in main.parts if isinstance(one, Element) and one.tag == "section"]
    assert tuple(one.attributes["id"] for one in parts) == ORDER
    for one in parts:
        title = by_id(root, one.attributes["aria-labelledby"])
        assert title.tag == "h2"
        assert title.text()
    (nav,) = root.every("nav")
    assert [one.attributes["href"] for one in nav.every("a")] == [f"#{name}" for name in ORDER]
    assert len(list(root.every("h1"))) == 1


@EVERY_PAGE
def test_headings_skip_no_level(which: str) -> None:
    levels = [int(one.tag[1]) for one in page(which).every("h1", "h2", "h3", "h4", "h5")]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))


@EVERY_PAGE
def test_tables_have_captions_and_scopes_and_every_row_its_cells(which: str) -> None:
    tables = list(page(which).every("table"))
    assert len(tables) >= 7
    for table in tables:
        (caption,) = table.every("caption")
        assert caption.text()
        heads = [one for one in table.every("th") if one.attributes["scope"] == "col"]
        for row in list(table.every("tr"))[1:]:
            cells = list(row.every("th", "td"))
            assert cells[0].attributes["scope"] == "row"
            assert len(cells) == len(heads), caption.text()


@EVERY_PAGE
def test_every_picture_is_named_and_told_in_words(which: str) -> None:
    root = page(which)
    pictures = list(root.every("figure"))
    assert len(pictures) >= 5
    for one in pictures:
        (svg,) = one.every("svg")
        title, words = (by_id(root, name) for name in svg.attributes["aria-labelledby"].split())
        assert title.text()
        assert len(words.text()) > 100
        (details,) = one.every("details")
        assert words.text() in details.text()
        assert "width" not in svg.attributes


@EVERY_PAGE
def test_ids_are_given_once_and_what_points_to_them_finds_them(which: str) -> None:
    root = page(which)
    ids = [one.attributes["id"] for one in root.every() if "id" in one.attributes]
    assert len(ids) == len(set(ids))
    known = set(ids)
    for one in root.every():
        for name in ("href", "xlink:href"):
            target = one.attributes.get(name, "")
            if target.startswith("#"):
                assert target[1:] in known, target
        for name in ("aria-labelledby", "aria-describedby", "for"):
            assert set(one.attributes.get(name, "").split()) <= known
        for target in re.findall(r"url\(#([^)]+)\)", " ".join(one.attributes.values())):
            assert target in known


@EVERY_PAGE
def test_nothing_is_fetched(which: str) -> None:
    root = page(which)
    assert not list(root.every("img", "iframe", "object", "embed", "audio", "video"))
    for one in root.every():
        for name in ("src", "href", "action", "xlink:href", "srcset"):
            assert one.attributes.get(name, "#").startswith(("#", "data:,")), one.attributes
        assert not any(name.startswith("on") for name in one.attributes)
    (policy,) = [
        one for one in root.every("meta") if one.attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    assert policy.attributes["content"].startswith("default-src 'none'")
    assert "@import" not in PAGES[which]().html
    (style,) = root.every("style")
    assert "url(" not in style.raw()


def test_the_answer_is_said_in_two_sentences() -> None:
    for which in PAGES:
        (lead,) = [one for one in page(which).every("p") if one.has("lead")]
        text = re.sub(r"(?<=\d)\.(?=\d)", "", lead.text())
        assert 1 <= text.count(". ") <= 2, text
        assert text.endswith(".")
    choice = page("choice")
    (lead,) = [one for one in choice.every("p") if one.has("lead")]
    assert lead.text().startswith("Install 2 precool-120 + 1 compressor-60 standalone, in the space")
    assert (
        "Not possible: no design keeps every limit. The nearest is 3 precool-120 return-side"
        in page("not possible").text()
    )
    assert "Install nothing: the existing system keeps every limit" in page("nothing").text()


def test_the_record_has_hash_version_date_and_a_blank_for_the_engineer() -> None:
    made = choice_page()
    text = by_id(read(made.html), "record").text()
    assert fingerprint(site=room()) in text
    assert made.result["version"] in text
    assert "2031-04-09" in text
    assert "Engineer's nameto be filled in by hand" in text
    blanks = [one for one in by_id(read(made.html), "record").every("span") if one.has("blank")]
    assert len(blanks) == 2


@EVERY_PAGE
def test_assumptions_stand_by_origin_with_their_sources(which: str) -> None:
    made = PAGES[which]()
    part = by_id(read(made.html), "assumptions")
    everything = made.result["assumptions"]
    rows = [
        [cell.text() for cell in row.every("th", "td")]
        for table in part.every("table")
        for row in list(table.every("tr"))[1:]
        if not table.text().startswith("Each uncertain value")
    ]
    assert sorted(row[0] for row in rows) == sorted(one["key"] for one in everything)
    for one in everything:
        assert any(row[0] == one["key"] and row[3] == " ".join(one["source"].split()) for row in rows), one[
            "key"
        ]
    captions = [one.text() for one in part.every("caption")]
    for origin in {one["origin"] for one in everything}:
        count = sum(one["origin"] == origin for one in everything)
        assert sum(f"({count})" in caption for caption in captions) >= 1, origin


@EVERY_PAGE
def test_cautions_are_jsons_and_defer_to_codes(which: str) -> None:
    made = PAGES[which]()
    text = by_id(read(made.html), "cautions").text()
    assert "Local codes and licensed practice decide" in text
    for one in made.result.get("today", made.result)["cautions"]:
        assert " ".join(one["text"].split()) in text
    assert "Invented prices, not for a bid." in read(made.html).text()
    assert "synthetic weather" in read(made.html).text()


def test_each_other_arrangement_has_its_reason() -> None:
    text = by_id(page("choice"), "others").text()
    for one in chosen().by_arrangement:
        if one.arrangement != "standalone":
            assert one.arrangement in text
            assert one.reason in text
    assert "standalone" not in text.replace("2 precool-120 + 1 compressor-60 standalone", "")


def test_options_that_are_no_units_say_what_they_change() -> None:
    text = by_id(page("comparison"), "others").text()
    titles = [one.text() for one in by_id(page("comparison"), "air").every("title")]
    assert "Air in the design hour: an energy-recovery wheel on the outdoor air; no units" in titles
    assert "an energy-recovery wheel on the outdoor air; no units" in text
    assert "run the cooling coil for humidity and reheat the supply air; no units" in text
    result = dict(choice_page().result)
    option = {
        "name": "wheel <1>", "kind": "recovery-wheel", "feasible": False, "limits_broken": ["humidity"],
        "first": 9000.4, "annual_operating": 1500.0, "life_cycle": 30000.0, "hours_above": 1234,
        "beats_best_design": False,
    }  # fmt: skip
    result["options"] = [option]
    html = page_of_choice(choice=chosen(), prepared=prepared_room(), result=result, today=TODAY)
    rows = [row.text() for row in by_id(read(html), "others").every("tr")]
    assert any(row.replace(" ", "") == "wheel<1>9,0001,50030,0001,234no:humidityno" for row in rows), rows


def test_every_arrangement_has_its_air() -> None:
    names = [one.attributes["id"] for one in by_id(page("choice"), "air").every("figure")]
    wanted = ["existing", "return-side", "supply-side", "coil-bypass", "standalone", "outdoor-air"]
    assert names == [f"figure-psychrometric-{name}" for name in wanted]
    several = [one.attributes["id"] for one in by_id(page("comparison"), "air").every("figure")]
    found, _ = comparison()
    assert several == [f"figure-psychrometric-option-{one.rank}" for one in found.options]


def test_the_worked_hour_prints_its_steps_whole() -> None:
    steps = [one for one in page("choice").every("section") if one.has("step")]
    names = [one.attributes["data-step"] for one in steps]
    assert names[:2] == ["leakage", "infiltration"]
    assert names[-4:] == ["sources", "moisture", "heat", "verdict"]
    for one in steps:
        symbols = {each.attributes["data-symbol"] for each in one.every("var")}
        equations = [each for each in one.every("p") if each.has("equation")]
        assert equations
        for each in equations:
            text = each.raw().partition("\n")[0]
            assert " = " in text
            assert [inner for inner in each.every("span") if inner.has("numbers")]
        assert symbols
        assert any(each.has("source") for each in one.every("p"))


def test_symbols_have_their_index_below() -> None:
    assert str(symbol("w_m = <w_o>")) == "w<sub>m</sub> = &lt;w<sub>o</sub>&gt;"


# ---------------------------------------------------------------------------------------- the sweep


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
    assert "The sweep was stopped: 2 of 3 steps are finished." in text
    assert "not every step was finished" in text


# ---------------------------------------------------------------------------------------- safety and repetition

NASTY = '<script>alert("x")</script>&amp;<img src=x onerror=alert(1)>\u202e{{ 7 * 7 }}'


def test_html_in_names_is_shown_as_text() -> None:
    prepared = prepared_room()
    site = replace(prepared.site, name=NASTY, notes=(NASTY,))
    choice = replace(
        chosen(site),
        site=site,
        by_arrangement=tuple(replace(one, reason=NASTY) for one in chosen().by_arrangement),
    )
    made = made_of(choice, replace(prepared, site=site))
    root = read(made.html)
    assert not list(root.every("script", "img"))
    (title,) = root.every("h1")
    assert title.text() == NASTY.replace("\u202e", "\\u202e")
    assert "alert(1)>" not in made.html
    assert "\u202e" not in made.html
    assert "49" not in title.text()


def test_names_of_options_are_shown_as_text() -> None:
    from selector.report.compare_json import compare_json
    from selector.report.page import page_of_comparison

    found, prepared = comparison()
    options = tuple(
        replace(one, reason=NASTY, option=replace(one.option, name=f"{one.rank} <b>{NASTY}", by="</td>"))
        for one in found.options
    )
    odd = replace(found, options=options)
    html = page_of_comparison(
        comparison=odd, prepared=prepared, result=compare_json(comparison=odd, prepared=prepared), today=TODAY
    )
    root = read(html)
    assert not list(root.every("script", "img", "b"))


def test_texts_put_into_sentences_are_escaped() -> None:
    assert say("{} {}", "<b>", say("{}", "&")) == "&lt;b&gt; &amp;"


def test_the_same_result_gives_the_same_bytes_but_for_the_date() -> None:
    first, choice, prepared = choice_page(), chosen(), prepared_room()
    later = TODAY + timedelta(days=1)
    again = page_of_choice(choice=choice, prepared=prepared, result=first.result, today=later)
    assert again != first.html
    assert again.replace(later.isoformat(), TODAY.isoformat()) == first.html


def test_si_sites_have_pages_in_si() -> None:
    prepared = prepared_room()
    site = replace(prepared.site, display_units="SI")
    made = made_of(chosen(site), replace(prepared, site=site))
    units = {one.attributes["data-unit"] for one in figures(read(made.html))}
    assert {"°C", "kg", "kg/kWh", "USD"} <= units
    assert not units & {"°F", "lb", "cfm", "ft2"}
    assert show_for(site).units == "SI"


# ---------------------------------------------------------------------------------------- the commands


def agree_with(plain: dict[str, Any], html: str) -> Element:
    """Hold every figure of a page to a JSON file."""
    root = read(html)
    for one in figures(root):
        value = found_at(plain, one.attributes["data-key"])
        assert float(one.attributes["value"]) == value
        assert agrees(one.attributes, one.text().split(" ")[0], value), one.attributes
    return root


def test_compare_writes_the_page_beside_the_json(tmp_path: Path) -> None:
    result, html = tmp_path / "choice.json", tmp_path / "choice.html"
    done = run("compare", ROOM, "--no-choice", "--json", result, "--report", html)
    assert done.exit_code in (0, 1), done.stderr
    agree_with(json.loads(result.read_text("utf-8")), html.read_text("utf-8"))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["choice.html", "choice.json"]


def test_choose_writes_the_page_with_what_would_change_the_answer(tmp_path: Path) -> None:
    site = write_room(tmp_path, ("max_units = 3", "max_units = 2"), ('infiltration = "0.25 1/h"\n', ""))
    result, html = tmp_path / "choice.json", tmp_path / "choice.htm"
    done = run("choose", site, "--json", result, "--report", html)
    assert done.exit_code == 0, done.stderr
    plain = json.loads(result.read_text("utf-8"))
    root = agree_with(plain, html.read_text("utf-8"))
    changing = [one for one in plain["what_would_change"]["assumptions"] if one["changes"]]
    assert changing
    (table,) = [one for one in root.every("table") if one.text().startswith("Each uncertain value")]
    rows = [[cell.text() for cell in row.every("th", "td")] for row in list(table.every("tr"))[1:]]
    assert [row[0] for row in rows] == [one["key"] for one in changing]
    marks = [one.text() for one in root.every("p") if one.has("mark")]
    assert "First estimate: defaults stand that may change the answer." in marks


@pytest.mark.parametrize("command", ["choose", "compare", "sweep"])
def test_a_page_has_an_ending_that_a_browser_opens(command: str, tmp_path: Path) -> None:
    more = ("--vary", "infiltration", "--from", "0.1 1/h", "--to", "0.3 1/h") if command == "sweep" else ()
    done = run(command, ROOM, *more, "--report", tmp_path / "page.pdf")
    assert done.exit_code == 2
    assert "--report" in done.stderr
    assert "*.html or *.htm" in done.stderr
    assert not list(tmp_path.iterdir())


def test_a_page_does_not_overwrite_the_site(tmp_path: Path) -> None:
    site = write_room(tmp_path)
    page_file = site.rename(tmp_path / "site.html")
    done = run("choose", page_file, "--report", page_file)
    assert done.exit_code == 2
    assert "a file that is read" in done.stderr
