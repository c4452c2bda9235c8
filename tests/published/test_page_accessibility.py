"""The page in a real browser, for people who do not see it, or not well.

axe-core (the rules of WCAG 2.1 A and AA, and its best practices) may find nothing and leave nothing open; what it
cannot decide, the contrast of texts within pictures, is worked out here.
Sources: W3C, Web Content Accessibility Guidelines 2.1; axe-core (Mozilla Public License 2.0) as axe-core-python has it.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver import Chrome

from tests.published.browsers import opened_browser, show, write_pages


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Chrome]:
    yield from opened_browser(tmp_path_factory.mktemp("profile"))


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_pages(tmp_path_factory.mktemp("pages"))


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
