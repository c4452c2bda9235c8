"""The page in a real browser: Chromium without a window, driven over its own protocol.

Nothing may be fetched or said on the console; the slider has to work by keyboard and by mouse, and what it shows has to
be what JSON says; axe-core (the rules of WCAG 2.1 A and AA, and its best practices) may find nothing and leave nothing
open; what it cannot decide, the contrast of texts within pictures, is worked out here; printed, no table may be cut and
no heading stand alone; nothing may be wider than the screen. Without Chromium these tests fail.
Sources: W3C, Web Content Accessibility Guidelines 2.1; axe-core (Mozilla Public License 2.0) as axe-core-python has it.
"""

from __future__ import annotations

import base64
import io
import json
import re
import shutil
import unicodedata
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pypdf
import pytest
from selenium.webdriver import ActionChains, Chrome, ChromeOptions, ChromeService
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from selector.report.page_figures import found_at
from tests.report.pages import Made, agrees, comparison_page, sweep_page

PAGES = {
    "comparison": comparison_page,
    "sweep": sweep_page,
}  # the page of a sweep holds all that of a choice has
EVERY_PAGE = pytest.mark.parametrize("which", PAGES)
WIDTHS = (375, 700, 1024, 1600)  # px: a phone, a tablet upright, a small and a large screen
PIXEL = 0.75  # pt


def program(*names: str) -> str:
    found = next((path for path in map(shutil.which, names) if path is not None), None)
    assert found is not None, f"{' or '.join(names)} is missing: apt-get install chromium chromium-driver"
    return found


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    options = ChromeOptions()
    options.binary_location = program("chromium", "chromium-browser")
    for word in ("headless", "no-sandbox", "disable-gpu", "disable-background-networking", "no-first-run"):
        options.add_argument(f"--{word}")
    options.add_argument(f"--user-data-dir={tmp_path_factory.mktemp('profile')}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = Chrome(options=options, service=ChromeService(program("chromedriver")))
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    paths = {}
    for name, make in PAGES.items():
        paths[name] = folder / f"{name}.html"
        paths[name].write_text(make().html, encoding="utf-8")
    return paths


def show(browser: Chrome, path: Path, width: int = 1024, height: int = 900) -> None:
    screen = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    browser.get(path.as_uri())


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
        panels = browser.find_elements(By.CLASS_NAME, "panel")
        assert [one.is_displayed() for one in panels] == [True] * 3
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


# ---------------------------------------------------------------------------------------- accessibility


# Pictures are images to a reader of the screen, and what their texts lie on axe-core does not decide, see below: they
# are emptied but for their names. A text of one letter is judged like any other.
AXE = """
const done = arguments[0];
document.querySelectorAll("svg").forEach(one => one.replaceChildren(
  ...Array.from(one.children).filter(part => part.tagName === "title" || part.tagName === "desc")));
axe.run(document, {resultTypes: ["violations", "incomplete"],
  checks: {"color-contrast": {options: {ignoreLength: true}}}}).then(done);
"""


def axe(browser: Chrome) -> list[dict[str, Any]]:
    """Faults, and what was left open."""
    source = files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    browser.execute_script(source)
    browser.set_script_timeout(60)
    found: dict[str, Any] = browser.execute_async_script(AXE)
    assert found["passes"]
    return [*found["violations"], *found["incomplete"]]


def told(found: list[dict[str, Any]]) -> list[str]:
    return [
        f"{one['impact']}: {one['id']}: {one['help']}: {[node['html'][:120] for node in one['nodes'][:3]]}"
        for one in found
    ]


ON_SCREENS = pytest.mark.parametrize(("which", "width"), [("comparison", 375), ("sweep", 1024)])


@ON_SCREENS
def test_axe_finds_no_fault_and_leaves_nothing_open(
    browser: Chrome, written: dict[str, Path], which: str, width: int
) -> None:
    show(browser, written[which], width)
    twice = browser.execute_script(
        "const ids = new Set(), all = Array.from(document.querySelectorAll('[id]'), one => one.id);"
        "return all.filter(id => ids.has(id) || !ids.add(id))"
    )
    assert twice == []  # within pictures too
    assert told(axe(browser)) == []


def test_axe_would_find_a_fault_and_what_is_open(browser: Chrome, tmp_path: Path) -> None:
    bad = tmp_path / "bad.html"
    bad.write_text(
        '<input type="range"><p style="color: #bbb">pale</p><p style="background: linear-gradient(#eee, #fff)">on</p>',
        encoding="utf-8",
    )
    show(browser, bad)
    found = axe(browser)
    assert {"label", "color-contrast", "html-has-lang"} <= {one["id"] for one in found}
    assert sum(one["id"] == "color-contrast" for one in found) == 2  # a fault, and one that is open


# What each text of a picture is written in, and all that it lies on, where a grid of points meets it: the shapes
# painted before it, laid over each other on white paper. A shape filled with a pattern is told as null.
WRITTEN_ON = """
const numbers = text => (text.match(/[\\d.]+/g) || []).map(Number);
const over = (below, color, share) => below.map((one, at) => share * color[at] + (1 - share) * one);
return Array.from(document.querySelectorAll("svg text")).filter(one => one.getClientRects().length).map(text => {
  text.scrollIntoView({block: "center", inline: "center"});
  const box = text.getBoundingClientRect(), style = getComputedStyle(text), grounds = new Map();
  for (const across of [0.02, 0.5, 0.98]) for (const down of [0.1, 0.5, 0.9]) {
    const below = document.elementsFromPoint(box.left + across * box.width, box.top + down * box.height).filter(one =>
      one.closest("svg") === text.closest("svg") && one.compareDocumentPosition(text) & 4 && one.tagName !== "g");
    let ground = [255, 255, 255];
    for (const one of below.reverse()) {
      const look = getComputedStyle(one);
      if (look.fill === "none" || one.tagName === "text" || one.tagName === "svg") continue;
      const share = Number(look.fillOpacity) * Number(look.opacity);
      ground = look.fill.startsWith("url") || ground === null && share < 1 ? null
        : over(ground || [255, 255, 255], numbers(look.fill), share);
    }
    grounds.set(JSON.stringify(ground), ground);
  }
  return {text: text.textContent, color: numbers(style.fill), grounds: Array.from(grounds.values()),
    clear: Number(style.fillOpacity) * Number(style.opacity)};
});
"""


def contrast(one: list[float], other: list[float]) -> float:
    """Contrast ratio of two colours of sRGB: Web Content Accessibility Guidelines 2.1, relative luminance."""
    lights = []
    for color in (one, other):
        parts = [part / 255.0 for part in color]
        red, green, blue = (
            part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
        )
        lights.append(0.2126 * red + 0.7152 * green + 0.0722 * blue)
    return (max(lights) + 0.05) / (min(lights) + 0.05)


def faint(browser: Chrome) -> list[str]:
    """Texts of pictures that stand out less than 4.5 to 1 (success criterion 1.4.3), or on a pattern."""
    found: list[dict[str, Any]] = browser.execute_script(WRITTEN_ON)
    assert len(found) > 0
    assert all(one["clear"] == 1.0 and len(one["color"]) == 3 for one in found)
    return [
        f"{one['text']}: {one['color']} on {ground}"
        for one in found
        for ground in one["grounds"]
        if ground is None or contrast(one["color"], ground) < 4.5
    ]


@ON_SCREENS
def test_texts_of_pictures_stand_out_from_what_they_lie_on(
    browser: Chrome, written: dict[str, Path], which: str, width: int
) -> None:
    show(browser, written[which], width)
    assert faint(browser) == []


def test_a_faint_text_of_a_picture_would_be_noticed(browser: Chrome, tmp_path: Path) -> None:
    """Black on white is 21 to 1 and #777777 on it 4.48, as the guidelines' own examples have them."""
    assert contrast([0, 0, 0], [255, 255, 255]) == pytest.approx(21.0, rel=1e-12)
    assert contrast([0x77] * 3, [255] * 3) == pytest.approx(4.478, abs=5e-4)
    shapes = (
        '<defs><pattern id="p" width="4" height="4" patternUnits="userSpaceOnUse"><path d="M0 0H4"/></pattern></defs>'
        '<rect width="90" height="90" fill="#fff"/><rect y="30" width="90" height="30" fill="#000" fill-opacity="0.5"/>'
        '<rect y="60" width="90" height="30" fill="url(#p)"/>'
    )
    texts = "".join(
        f'<text x="5" y="{20 + 30 * row}" fill="#767676">{word}</text>'
        for row, word in enumerate(("white", "grey", "hatched"))
    )
    page = tmp_path / "faint.html"
    page.write_text(f'<svg width="90" height="90">{shapes}{texts}</svg>', encoding="utf-8")
    show(browser, page)
    assert [one.partition(":")[0] for one in faint(browser)] == ["grey", "hatched"]


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
