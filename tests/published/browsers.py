"""Chromium without a window, driven over its own protocol, and the pages that it shows.

Without Chromium the tests that use it fail.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

from selenium.webdriver import Chrome, ChromeOptions, ChromeService

from tests.report.pages import comparison_page, sweep_page

PAGES = {
    "comparison": comparison_page,
    "sweep": sweep_page,
}  # the page of a sweep holds all that of a choice has


def program(*names: str) -> str:
    found = next((path for path in map(shutil.which, names) if path is not None), None)
    assert found is not None, f"{' or '.join(names)} is missing: apt-get install chromium chromium-driver"
    return found


def opened_browser(profile: Path) -> Iterator[Chrome]:
    """Open the browser with a profile of its own; it is closed when the tests are through."""
    options = ChromeOptions()
    options.binary_location = program("chromium", "chromium-browser")
    for word in ("headless", "no-sandbox", "disable-gpu", "disable-background-networking", "no-first-run"):
        options.add_argument(f"--{word}")
    options.add_argument(f"--user-data-dir={profile}")
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = Chrome(options=options, service=ChromeService(program("chromedriver")))
    yield driver
    driver.quit()


def write_pages(folder: Path) -> dict[str, Path]:
    paths = {}
    for name, make in PAGES.items():
        paths[name] = folder / f"{name}.html"
        paths[name].write_text(make().html, encoding="utf-8")
    return paths


def show(browser: Chrome, path: Path, width: int = 1024, height: int = 900) -> None:
    screen = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 500}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    browser.get(path.as_uri())
