"""The page in a real browser: quiet and alone, moved by keyboard and mouse, whole on every screen and on paper.

Nothing may be fetched or said on the console; the slider has to work by keyboard and by mouse, and what it shows has to
be what JSON says; printed, no table may be cut and no heading stand alone; nothing may be wider than the screen.
"""

from __future__ import annotations

import base64
import io
import json
import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdf
import pytest
from selenium.webdriver import ActionChains, Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.wait import WebDriverWait

from selector.report.page_figures import found_at
from tests.published.browsers import PAGES, opened_browser, show, write_pages
from tests.report.pages import Made, agrees, sweep_page

EVERY_PAGE = pytest.mark.parametrize("which", PAGES)
WIDTHS = (375, 700, 1024, 1600)  # px: a phone, a tablet upright, a small and a large screen
PIXEL = 0.75  # pt


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    yield from opened_browser(tmp_path_factory.mktemp("profile"))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_pages(tmp_path_factory.mktemp("pages"))


def events(browser: Chrome) -> list[dict[str, Any]]:
    return [json.loads(one["message"])["message"] for one in browser.get_log("performance")]


# ---------------------------------------------------------------------------------------- quiet and alone


@EVERY_PAGE
def test_nothing_is_said_and_nothing_is_fetched(
    browser: Chrome, written: dict[str, Path], which: str
) -> None:
    browser.get("about:blank")
    browser.get_log("browser")
    events(browser)
    show(browser, written[which])
    for summary in browser.find_elements(By.TAG_NAME, "summary")[:3]:
        summary.click()
    browser.execute_script("window.scrollTo(0, document.body.scrollHeight)")
    assert browser.get_log("browser") == []
    asked = [
        one["params"]["request"]["url"]
        for one in events(browser)
        if one["method"] == "Network.requestWillBeSent"
    ]
    assert written[which].as_uri() in asked
    assert all(url == written[which].as_uri() or url.startswith("data:") for url in asked), asked
    assert not browser.execute_script("return performance.getEntriesByType('resource').map(one => one.name)")


def test_a_page_that_spoke_or_fetched_would_be_noticed(
    browser: Chrome, written: dict[str, Path], tmp_path: Path
) -> None:
    bad = tmp_path / "bad.html"
    more = '<img src="other.png" alt=""><script>console.log("here")</script></body>'
    bad.write_text(written["comparison"].read_text("utf-8").replace("</body>", more), encoding="utf-8")
    browser.get("about:blank")
    browser.get_log("browser")
    show(browser, bad)
    said = [one["message"] for one in browser.get_log("browser")]
    assert any("other.png" in one for one in said)
    assert not any(
        "here" in one for one in said
    )  # the policy of the page lets no script run that is not its own


# ---------------------------------------------------------------------------------------- the slider


SHOWN = """
const seen = one => one.getClientRects().length > 0;
return {
  figures: Array.from(document.querySelectorAll("#slider data")).filter(seen).map(one => ({
    key: one.dataset.key, text: one.textContent, value: one.value,
    "data-kind": one.dataset.kind, "data-unit": one.dataset.unit, "data-times": one.dataset.times || "1"})),
  places: Array.from(document.querySelectorAll(".panel")).filter(seen).map(one => Number(one.dataset.place)),
  labels: Array.from(document.querySelectorAll(".panel")).map(one => one.dataset.label),
  pictures: Array.from(document.querySelectorAll(".panel svg")).filter(seen).length,
  marks: Array.from(document.querySelectorAll("g[id^=sweep-cursor-]")).filter(seen).map(one => one.id),
  spoken: document.getElementById("place").getAttribute("aria-valuetext"),
  outcome: document.getElementById("outcome").textContent,
};
"""


def check_place(browser: Chrome, made: Made, place: int) -> None:
    """Answer, costs, picture and mark are those of one step, and their figures are JSON's."""
    shown = browser.execute_script(SHOWN)
    assert shown["places"] == [place]
    assert shown["pictures"] == 1
    assert shown["marks"] == [f"sweep-cursor-{place}"]
    assert shown["spoken"] == shown["labels"][place]
    first = made.result["steps"][place]["install"][0]
    assert f"install {first['count']} {first['model']}" in shown["outcome"]
    keys = {one["key"] for one in shown["figures"]}
    for key in ("value", "costs.first", "costs.life_cycle", "existing_system.costs.life_cycle"):
        assert f"steps.{place}.{key}" in keys
    for one in shown["figures"]:
        assert one["key"].startswith(f"steps.{place}.")
        wanted = found_at(made.result, one["key"])
        assert float(one["value"]) == wanted
        assert agrees(one, one["text"].split("\N{NO-BREAK SPACE}")[0], wanted), one


def test_the_slider_moves_by_keyboard_and_by_mouse(browser: Chrome, written: dict[str, Path]) -> None:
    made = sweep_page()
    show(browser, written["sweep"])
    control = browser.find_element(By.ID, "place")
    check_place(browser, made, 1)  # the step nearest to today
    for key, place in ((Keys.ARROW_RIGHT, 2), (Keys.ARROW_RIGHT, 2), (Keys.HOME, 0), (Keys.ARROW_UP, 1), (Keys.END, 2),
                       (Keys.ARROW_LEFT, 1), (Keys.ARROW_DOWN, 0)):  # fmt: skip
        control.send_keys(key)
        check_place(browser, made, place)
    width = control.size["width"]
    for share, place in ((0.48, 2), (0.0, 1), (-0.48, 0)):
        ActionChains(browser).move_to_element_with_offset(control, int(share * width), 0).click().perform()
        check_place(browser, made, place)


def test_what_the_slider_changes_is_told_to_a_screen_reader(
    browser: Chrome, written: dict[str, Path]
) -> None:
    show(browser, written["sweep"])
    control = browser.find_element(By.ID, "place")
    assert control.aria_role == "slider"
    assert control.accessible_name == "outdoor air, share of supply air"
    outcome = browser.find_element(By.ID, "outcome")
    assert outcome.get_attribute("aria-live") == "polite"
    before = outcome.text
    control.send_keys(Keys.END)
    assert outcome.text != before
    assert outcome.text.startswith("45")


def test_the_keyboard_reaches_everything_in_order(browser: Chrome, written: dict[str, Path]) -> None:
    """What can be used is reached by Tab alone, in the order of the page, and is marked while it has the focus."""
    show(browser, written["sweep"])
    places, seen = [], []
    for _ in range(400):
        ActionChains(browser).send_keys(Keys.TAB).perform()
        one = browser.switch_to.active_element
        if one.tag_name == "body":
            break
        place, outlined, words = browser.execute_script(
            "const one = document.activeElement, style = getComputedStyle(one);"
            "const all = Array.from(document.querySelectorAll('a, summary, input, [tabindex]'));"
            "return [all.indexOf(one), style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 1,"
            " one.id || one.className]"
        )
        assert outlined, words
        places.append(place)
        seen.append(words)
    assert places == sorted(places)
    assert len(places) > 40
    assert seen[0] == "skip"
    assert "place" in seen


def test_the_first_link_leads_to_the_answer(browser: Chrome, written: dict[str, Path]) -> None:
    show(browser, written["comparison"])
    ActionChains(browser).send_keys(Keys.TAB).perform()
    assert browser.switch_to.active_element.is_displayed()
    ActionChains(browser).send_keys(Keys.ENTER).perform()
    assert browser.current_url.endswith("#answer")


def test_without_script_every_step_is_there(browser: Chrome, written: dict[str, Path]) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        show(browser, written["sweep"])
        # the browser does not wait for a page that may run no script
        WebDriverWait(browser, 20.0).until(
            lambda there: len(there.find_elements(By.CLASS_NAME, "panel")) == 3
        )
        panels = browser.find_elements(By.CLASS_NAME, "panel")
        assert [one.is_displayed() for one in panels] == [True] * 3
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


# ---------------------------------------------------------------------------------------- screens


@pytest.mark.parametrize(
    ("which", "width"), [("comparison", WIDTHS[0]), *(("sweep", width) for width in WIDTHS)]
)
def test_nothing_is_wider_than_the_screen(
    browser: Chrome, written: dict[str, Path], which: str, width: int, tmp_path: Path
) -> None:
    """Wide tables and pictures scroll within themselves, and say so; text is no smaller than 11 px."""
    show(browser, written[which], width)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    cut = browser.execute_script(
        "return Array.from(document.querySelectorAll('body *')).filter(one => {"
        " if (one.closest('svg, .scroll, .skip, .unseen, [hidden]')) return false;"
        " const box = one.getBoundingClientRect();"
        " return box.width > 0 && (box.right > innerWidth + 1 || box.left < -1)"
        "}).map(one => one.outerHTML.slice(0, 100))"
    )
    assert cut == []
    small = browser.execute_script(
        "return Array.from(document.querySelectorAll('p, li, td, th, dt, dd, figcaption, a, h4')).filter(one =>"
        " !one.closest('svg') && one.getClientRects().length && parseFloat(getComputedStyle(one).fontSize) < 11)"
        ".map(one => one.outerHTML.slice(0, 100))"
    )
    assert small == []
    silent = browser.execute_script(
        "return Array.from(document.querySelectorAll('.scroll')).filter(one => one.getClientRects().length &&"
        " (one.scrollWidth > one.clientWidth + 1) !== (getComputedStyle(one, '::before').content !== 'none'))"
        ".map(one => one.getAttribute('aria-label'))"
    )
    assert silent == []  # a hint at what scrolls, and none at what does not
    tall = browser.execute_script("return document.documentElement.scrollHeight")
    clip = {"x": 0, "y": 0, "width": width, "height": min(tall, 3000), "scale": 1}
    wanted = {"format": "png", "captureBeyondViewport": True, "clip": clip}
    picture = browser.execute_cdp_cmd("Page.captureScreenshot", wanted)
    content = base64.b64decode(picture["data"])
    (tmp_path / f"{which}-{width}.png").write_bytes(content)
    assert len(content) > 50_000  # there is something on it


# ---------------------------------------------------------------------------------------- paper


PLAIN = (
    "const style = document.createElement('style'); style.textContent = 'svg { visibility: hidden }';"
    "document.head.append(style);"
    "document.querySelectorAll('figcaption').forEach(one => one.append('|'))"
)  # pictures leave their place empty: reading them back takes long; captions end so that they are no headings


def printed(browser: Chrome, path: Path) -> tuple[list[str], float]:
    """Text of each sheet without its spaces, and the scale that it is printed at, 1 unless it had to be shrunk."""
    show(browser, path)
    browser.execute_script(PLAIN)
    found = browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    sheets, scales = [], []
    for sheet in pypdf.PdfReader(io.BytesIO(base64.b64decode(found["data"]))).pages:
        parts: list[str] = []

        def keep(text: str, page: list[float], *_: Any, parts: list[str] = parts) -> None:
            parts.append(text)
            if text.strip():
                scales.append(page[0] / PIXEL)

        sheet.extract_text(visitor_text=keep)
        sheets.append(bare("".join(parts)))
    return sheets, min(scales)


def rows_shown(browser: Chrome) -> list[list[str]]:
    """Cells of every table that is not hidden."""
    rows: list[list[str]] = browser.execute_script(
        "return Array.from(document.querySelectorAll('tr')).filter(one => !one.closest('[hidden]'))"
        ".map(row => Array.from(row.cells).map(cell => cell.textContent))"
    )
    return [[bare(cell) for cell in row] for row in rows]


def bare(text: str) -> str:
    """A text without spaces and without the ligatures that a printer may set."""
    return re.sub(r"\s|\N{SOFT HYPHEN}", "", unicodedata.normalize("NFKC", text))


def lost_rows(rows: list[list[str]], sheets: list[str]) -> list[list[str]]:
    """Rows of which no sheet has every cell."""
    return [row for row in rows if not any(all(cell in sheet for cell in row) for sheet in sheets)]


def headings_shown(browser: Chrome) -> list[str]:
    """Headings, captions of tables and heads of tables, each of which something has to follow."""
    found: list[str] = browser.execute_script(
        "return Array.from(document.querySelectorAll('h1, h2, h3, h4, caption, thead'))"
        ".filter(one => !one.closest('[hidden]')).map(one => one.textContent)"
    )
    return [bare(one) for one in found]


def ends_with_a_heading(sheets: list[str], headings: list[str]) -> list[str]:
    return [one for sheet in sheets for one in headings if sheet.endswith(one)]


@EVERY_PAGE
def test_paper_has_every_row_whole_on_one_sheet_and_no_heading_at_its_foot(
    browser: Chrome, written: dict[str, Path], which: str
) -> None:
    sheets, scale = printed(browser, written[which])
    assert 10 <= len(sheets) <= 30, len(sheets)
    assert scale == pytest.approx(1.0, abs=3e-5)  # found 2.3e-5 off
    rows = rows_shown(browser)
    assert len(rows) > 150
    assert lost_rows(rows, sheets) == []
    headings = headings_shown(browser)
    assert len(headings) > 60
    assert ends_with_a_heading(sheets, headings) == []


# inside the page's margins: width and height [px] at 96 to the inch
PAPERS = {
    "A4": (182.0 / 25.4 * 96.0, 267.0 / 25.4 * 96.0),
    "Letter": (8.5 * 96.0 - 105.8, 11.0 * 96.0 - 113.4),
}


@pytest.mark.parametrize("paper", PAPERS)
@EVERY_PAGE
def test_a_psychrometric_chart_takes_the_width_of_its_sheet_and_fits_on_it(
    browser: Chrome, written: dict[str, Path], which: str, paper: str
) -> None:
    width, height = PAPERS[paper]
    show(browser, written[which])
    metrics = {"width": int(width), "height": int(height), "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        found = browser.execute_script(
            "return Array.from(document.querySelectorAll('figure[id^=figure-psychrometric]'))"
            ".filter(one => one.getClientRects().length).map(one => {"
            " const svg = one.querySelector('svg'), before = one.previousElementSibling;"
            " const head = before && before.tagName === 'H3' ? before : one;"
            " return [svg.getBoundingClientRect().width, document.body.clientWidth, svg.getBoundingClientRect().height,"
            " svg.viewBox.baseVal.width / svg.viewBox.baseVal.height,"
            " one.getBoundingClientRect().bottom - head.getBoundingClientRect().top] })"
        )
    finally:
        browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
        browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert len(found) >= 2
    for wide, room, high, shape, whole in found:
        assert wide == pytest.approx(room, abs=1.0)
        assert room > width - 20.0  # a bar to scroll by is on the screen
        assert high * shape == pytest.approx(wide, rel=1e-3)  # drawn as wide as its place
        assert 0.6 * height < whole < height


def test_a_table_that_is_cut_would_be_noticed(browser: Chrome, tmp_path: Path) -> None:
    wide = tmp_path / "wide.html"
    cells = "".join(f"<td>column{place}</td>" for place in range(60))
    wide.write_text(f"<title>wide</title><table><tr>{cells}</tr></table>", encoding="utf-8")
    sheets, scale = printed(browser, wide)
    assert scale < 0.9
    assert len(lost_rows(rows_shown(browser), sheets)) == 1


def test_a_heading_at_the_foot_of_a_sheet_would_be_noticed(browser: Chrome, tmp_path: Path) -> None:
    page = tmp_path / "foot.html"
    page.write_text(
        '<title>foot</title><h2>Kept</h2><p>text</p><h2>Left alone</h2><p style="break-before: page">more</p>',
        encoding="utf-8",
    )
    sheets, _ = printed(browser, page)
    assert sheets == ["KepttextLeftalone", "more"]
    assert ends_with_a_heading(sheets, headings_shown(browser)) == ["Leftalone"]
