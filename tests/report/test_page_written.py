"""The page as it is written: names are text, bytes repeat, and the commands write it beside JSON."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from selector.report.key_names import name_of
from selector.report.page import page_of_choice
from selector.report.page_figures import found_at
from selector.report.page_parts import say
from selector.report.text import show_for
from tests.commands import run
from tests.report.choices import chosen
from tests.report.pages import TODAY, Element, agrees, choice_page, comparison, made_of, read
from tests.sites import ROOM, prepared_room, write_room


def figures(root: Element) -> list[Element]:
    return [one for one in root.every("data") if one.attributes["value"]]


# ---------------------------------------------------------------------------------------- safety and repetition

NASTY = '<script>alert("x")</script>&amp;<img src=x onerror=alert(1)>\u202e{{ 7 * 7 }}'


def test_html_in_names_is_shown_as_text() -> None:
    prepared = prepared_room()
    site = replace(prepared.site, name=NASTY, notes=(NASTY,))
    choice = replace(
        chosen(site),
        site=site,
        by_arrangement=tuple(replace(one, why=NASTY) for one in chosen().by_arrangement),
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
    assert [row[0] for row in rows] == [f"{name_of(one['key'])} {one['key']}" for one in changing]
    (told,) = [one.text() for one in root.every("li") if one.text().startswith("What would change it")]
    assert told == f"What would change it: {'; '.join(name_of(one['key']) for one in changing)}."
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
