"""A page shows one system of units: no unit of the other stands in its texts, charts, headings or attributes.

What is left out, and what the page says of it: the steps of the worked hour with the two columns of states that they
start from (in SI, which the program reckons in), what was noted while the inputs were read (in SI), and what the page
quotes from elsewhere, sources of assumptions and names of priced items (each in its own units).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from tests.report.pages import PAGES, Element, read

UNITS = {
    "IP": r"°F|degF|lbs?|gr|grains?|s?cfm|fpm|ft[23]?|in\. (?:of water|w\.g\.)|inH2O|Btu|MBH|therms?|tons?|psia?|gal"
    r"|gpm|pints?",
    "SI": r"°C|degC|K|kg|g|mm?|cm|m[23²³]|m?L|k?Pa|[kMG]?J",
}
OTHER = {"IP": "SI", "SI": "IP"}
SPOKEN = ("aria-label", "aria-valuetext", "data-label", "title")
QUOTED = ("Source, in its own units", "Item, its size as its source has it")
STEPS = "The steps are in SI, which the program reckons in"
NOTES = "Noted while the inputs were read, in SI:"
INLINE = {"a", "code", "data", "span", "sub", "time", "var"}  # other elements end a line
STATES = "States of the air in this hour; the last two columns in the units of the steps"
EVERY_PAGE = pytest.mark.parametrize("which", PAGES)


def left_out(table: Element) -> set[int]:
    """Columns whose units are not the page's own."""
    heads = [one.text() for one in table.every("th") if one.attributes.get("scope") == "col"]
    places = {at for at, head in enumerate(heads) if head in QUOTED}
    if any(one.text() == STATES for one in table.every("caption")):
        places |= {len(heads) - 2, len(heads) - 1}
    return places


def own_texts(one: Element, skipped: frozenset[int] = frozenset()) -> Iterator[str]:
    """Texts and spoken attributes in the page's own units."""
    if one.tag in ("style", "script") or one.has("step"):
        return
    yield from (f" {one.attributes[name]}\n" for name in SPOKEN if name in one.attributes)
    if one.attributes.get("data-unit"):
        yield f" [{one.attributes['data-unit']}]\n"
    if one.tag == "table":
        skipped = frozenset(left_out(one))
    cells, noted = 0, False
    for part in one.parts:
        if isinstance(part, str):
            yield part
            continue
        if noted and part.tag == "ul":
            continue
        noted = part.text() == NOTES
        if one.tag == "tr":
            cells += 1
            if cells - 1 in skipped:
                continue
        yield from own_texts(part, skipped)
    if one.tag not in INLINE:
        yield "\n"


def foreign(root: Element, units: str) -> list[str]:
    """Where a unit of the other system stands behind a number, in brackets, or below a stroke."""
    text = "".join(own_texts(root))
    inch = r"|\[in\]" if units == "SI" else ""
    pattern = rf"(?:(?<=[\d\[(/])|(?<=\d[ \N{{NO-BREAK SPACE}}]))(?:{UNITS[OTHER[units]]})(?![\w²³]){inch}"
    return [
        " ".join(text[max(0, one.start() - 30) : one.end() + 10].split())
        for one in re.finditer(pattern, text)
    ]


def system_of(result: dict[str, object]) -> str:
    today = result.get("today", result)
    assert isinstance(today, dict)
    (found,) = [one["value"] for one in today["assumptions"] if one["key"] == "display_units"]
    return str(found)


@EVERY_PAGE
def test_a_page_shows_one_system_of_units(which: str) -> None:
    made = PAGES[which]()
    root, units = read(made.html), system_of(made.result)
    assert units == ("SI" if which.startswith("demo") else "IP")
    assert foreign(root, units) == []
    own = foreign(root, OTHER[units])
    assert len(own) > 200
    text = root.text()
    for words in (STEPS, STATES, NOTES, QUOTED[0]):
        assert words in text


@pytest.mark.parametrize(
    "more",
    ["<p>75 °F</p>", "<th>flow [cfm]</th>", '<data data-unit="gr/lb">7</data>', '<p aria-label="1.2 USD/therm">0</p>',
     "<svg><text>dew point [°F]</text></svg>", "<td>0.8\N{NO-BREAK SPACE}in. of water</td>", "<th>width [in]</th>"],
)  # fmt: skip
def test_a_unit_of_the_other_system_would_be_noticed(more: str) -> None:
    html = PAGES["demo choose"]().html.replace("</main>", f"{more}</main>")
    assert foreign(read(html), "SI")


@pytest.mark.parametrize(
    "more", ["<p>24 °C</p>", "<th>[m3/h]</th>", '<data data-unit="kg">7</data>', "<p>125\N{NO-BREAK SPACE}Pa</p>",
             "<p>3 W/K</p>", "<p>0.5 kg/kWh</p>", "<p>12 m</p>", "<p>1 K warmer</p>"],
)  # fmt: skip
def test_a_unit_of_si_would_be_noticed_on_a_page_in_ip(more: str) -> None:
    html = PAGES["choice"]().html.replace("</main>", f"{more}</main>")
    assert foreign(read(html), "IP")
