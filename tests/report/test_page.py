"""The page without a browser: every figure is JSON's, parts stand in their order with what belongs to them."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from selector.inputs.fingerprint import fingerprint
from selector.report.key_names import name_of
from selector.report.page import page_of_choice, symbol
from selector.report.page_figures import Figures, found_at, written
from selector.report.text import Show
from tests.report import pages
from tests.report.choices import chosen
from tests.report.pages import TODAY, Element, agrees, by_id, choice_page, comparison, read
from tests.report.working import value_of
from tests.sites import prepared_room, room

PAGES = {name: make for name, make in pages.PAGES.items() if not name.startswith("demo")}
EVERY_PAGE = pytest.mark.parametrize("which", PAGES)
ORDER = (
    "answer", "money", "humidity", "air", "others", "hour", "moisture", "sweep", "assumptions", "record", "proof",
    "cautions",
)  # fmt: skip


def page(which: str) -> Element:
    return read(PAGES[which]().html)


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
    names = {one["key"]: f"{name_of(one['key'])} {one['key']}" for one in everything}
    assert sorted(row[0] for row in rows) == sorted(names.values())
    for one in everything:
        told = (names[one["key"]], " ".join(one["source"].split()))
        assert any((row[0], row[-1]) == told for row in rows), told
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
            assert one.why in text
    assert text.count("the nearest breaks the limit on hours above the humidity target, ") == 1
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


@EVERY_PAGE
def test_symbols_have_their_index_below(which: str) -> None:
    assert str(symbol("w_m = <w_o>")) == "w<sub>m</sub> = &lt;w<sub>o</sub>&gt;"
    for step in page(which).every("section"):
        if step.has("step"):
            assert "_" not in step.text()
