"""Every number on a page is one of JSON's: what carries a key is held to it, and nothing that carries none has a digit.

Pages of a demo site, as the commands write them, and of the invented room. What is not read here: the charts, whose
points are read back from their pictures, and what they say in words, see `test_page_pictures`.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from selector.inputs.site import ARRANGEMENTS
from selector.report.lines import limit_kind, limit_value
from selector.report.page_figures import found_at, written
from selector.report.text import show_in
from tests.report.pages import MONTHS, PAGES, Element, agrees, choice_page, read, texts_of

TEXTS = ("p", "li", "td", "th", "caption", "figcaption", "h1", "h2", "h3", "h4", "dt", "dd", "label")
# words of the page itself that have digits and are no result
FIXED = (
    "more than 1.0 K above",  # what counts as too warm
    "more than 1.8 °F above",
    "0.4 % dew-point design week",
    "ASTM E917, E1057, E964, E1074",
    "SHA-256",
    "over the hour of 3600 s",
    "at 0 °C surface and 0 °C entering",  # of a symbol
)
EVERY_PAGE = pytest.mark.parametrize("which", PAGES)


def bare(one: Element) -> str:
    """Text of an element without what carries a key, and without pictures, their words, commands and dates."""
    if one.tag in ("data", "svg", "code", "time", "details") or "data-hour" in one.attributes:
        return " \N{BULLET} "
    if "data-key" in one.attributes or one.has("numbers"):
        return " \N{BULLET} "
    return "".join(part if isinstance(part, str) else bare(part) for part in one.parts)


def counted(plain: dict[str, Any]) -> tuple[str, ...]:
    """Counts of what JSON lists, in the words that stand around them."""
    here = plain.get("today", plain)
    every = here["assumptions"]
    found = [f"({sum(one['origin'] == origin for one in every)})" for origin in {o["origin"] for o in every}]
    own = [one for one in every if not one["key"].startswith(("alternates[", "options["))]
    most = sum(one["origin"] in ("default", "profile") for one in own)
    for rest in range(min(6, most)):
        more = f", {rest} more only on the search or on what is shown" if rest else ""
        found.append(f"{most - rest} of {len(own)} values are defaults that bear on the answer{more};")
    change = here.get("what_would_change")
    if change is not None:
        tried = change["assumptions"]
        found += [
            f"{sum(one['changes'] for one in tried)} of {len(tried)} change the answer",
            f"none of {len(tried)}",
        ]
    if "options" in plain:
        found.append(f"{sum(one['feasible'] for one in plain['options'])} options that keep every limit")
        for one in plain["options"]:
            if "rank" in one:
                found.append(f"{one['rank']}. {one['name']}")
    if "steps" in plain:
        proved = sum(one["proof"]["status"] != "best-found" for one in plain["steps"])
        found.append(f"{proved} of {len(plain['steps'])} proved")
        found.append("Each further 0.01 USD/kWh costs")  # the multiple that the column's figures carry
        found += [f"below point {at}" for at in range(1, 1 + len(plain["switch_over"]))]
        found += [f"above point {at}" for at in range(1, 1 + len(plain["switch_over"]))]
    return tuple(found)


def left_over(root: Element, plain: dict[str, Any]) -> list[str]:
    """Texts with a digit that nothing accounts for."""
    known = sorted({*texts_of(plain), *FIXED, *counted(plain)}, key=len, reverse=True)
    found = []
    for one in root.every(*TEXTS):
        if one.has("equation") or (one.above is not None and one.above.tag == "details"):
            continue  # see the test of equations; and what a picture says in words
        text = " ".join(bare(one).split()).replace("(\N{BULLET} ", "(")
        if one.tag == "dt" and list(one.every("var")):
            text = " ".join(
                "".join(part for part in one.parts if isinstance(part, str)).split()
            )  # symbols aside
        for words in known:
            text = re.sub(
                rf"(?<![\w.]){re.escape(words)}(?![\w])" if words[0].isdigit() else re.escape(words),
                "~",
                text,
            )
        if re.search(r"\d", text):
            found.append(f"{one.tag}: {text}")
    return found


@EVERY_PAGE
def test_no_number_stands_without_its_key(which: str) -> None:
    made = PAGES[which]()
    assert left_over(read(made.html), made.result) == []


def test_a_unit_too_large_is_as_large_on_the_page_as_on_the_screen() -> None:
    """20 inches are 0.508 m."""
    for units, shown in (("IP", "20.0 in"), ("SI", "0.51 m")):
        show = show_in(units=units, currency="USD")
        assert limit_value(0.508, "m", show) == shown
        assert " ".join(written(0.508, limit_kind("m", "USD"), show)) == shown


def test_currents_at_two_voltages_are_not_added() -> None:
    """One unit of 13.4 A at 120 V and two of 10.1 A at 208 V."""
    made = choice_page()
    text = " ".join(read(made.html).text().split())
    assert "13.4 A at 120 V, 20.2 A at 208 V together" in text
    assert "33.6 A" not in text


def test_no_heading_or_cell_of_the_page_says_an_arrangement_twice() -> None:
    root = read(choice_page().html)
    names = [one.text() for one in root.every("h3", "h4", "td", "th")]
    assert any(name.startswith("coil-bypass: 1 rotor-60") for name in names)
    for name in names:
        assert not re.match(rf"({'|'.join(ARRANGEMENTS)})(, nearest)?: .* \1$", name), name


def test_a_number_without_a_key_would_be_noticed() -> None:
    made = choice_page()
    html = made.html.replace("</main>", "<p>1,234 USD</p><table><tr><td>7</td></tr></table></main>")
    assert left_over(read(html), made.result) == ["p: 1,234 USD", "td: 7"]


@EVERY_PAGE
def test_every_key_is_held_to_json(which: str) -> None:
    """Figures to the digits shown, hours by their name."""
    made = PAGES[which]()
    root = read(made.html)
    seen: dict[str, int] = {}
    for one in root.every():
        if "data-hour" in one.attributes:
            month, day, clock = re.split("[- ]", found_at(made.result, one.attributes["data-hour"]))
            assert one.text() == f"{int(day)} {MONTHS[int(month) - 1]} {clock}"
            seen["hours"] = seen.get("hours", 0) + 1
        if one.tag != "data":
            continue
        value = found_at(made.result, one.attributes["data-key"])
        if not one.attributes["value"]:
            assert (value, one.text()) == (None, "none")
            continue
        assert float(one.attributes["value"]) == value, one.attributes
        assert agrees(one.attributes, one.text().split(" ")[0], value), (one.attributes, one.text(), value)
        words = re.sub(r"\.\d+(?=\.|$)", "", one.attributes["data-key"])
        seen[words] = seen.get(words, 0) + 1
    assert seen["hours"] >= 1
    prefix = "today." if "steps" in made.result else ""
    assert seen[f"{prefix}worked_hour.steps.given.value"] > 20
    assert seen[f"{prefix}moisture_by_source_kg.months"] >= 36
    assert seen[f"{prefix}worked_hour.states.enthalpy"] >= 1


@EVERY_PAGE
def test_equations_have_no_numbers_but_their_own_and_the_printed_ones(which: str) -> None:
    for step in read(PAGES[which]().html).every("section"):
        if not step.has("step"):
            continue
        printed = {one.text() for one in step.every("data")}
        for one in step.every("p"):
            if not one.has("equation"):
                continue
            (worked,) = [part for part in one.every("span") if part.has("numbers")]
            plain = one.text().removesuffix(worked.text())
            own = set(re.findall(r"\d[\d.]*", plain))
            numbers = set(re.findall(r"(?<![\w.)])\(?(-?\d[\d.]*)", worked.text()))
            unknown = {
                each
                for each in numbers
                if each not in printed | own and each.removeprefix("-") not in printed | own
            }
            assert not unknown, (step.attributes["data-step"], one.text(), unknown)


@EVERY_PAGE
def test_moisture_of_json_adds_up_to_the_year_of_each_source(which: str) -> None:
    """Found within 1e-9 of the largest; JSON's other key has the same years."""
    result = PAGES[which]().result
    # a comparison's is of the option that ranks first
    here = result.get("today", result)
    totals = here["options"][0] if "moisture_kg" not in here else here
    rows = {one["source"]: one for one in here["moisture_by_source_kg"]}
    most = max(abs(one["year"]) for one in rows.values())
    for one in rows.values():
        assert sum(one["months"]) == pytest.approx(one["year"], abs=1e-9 * most)
    for month in range(12):
        assert abs(sum(one["months"][month] for one in rows.values())) <= 1e-9 * most
    for source, key, sign in (("ventilation", "ventilation", 1.0), ("infiltration", "infiltration", 1.0),
                              ("cooling coil", "coil", -1.0), ("dehumidifiers", "units", -1.0)):  # fmt: skip
        if source in rows:
            assert rows[source]["year"] == pytest.approx(sign * totals["moisture_kg"][key], abs=1e-9 * most)
