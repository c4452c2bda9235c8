"""Files with faults, and the exact text that each of them is refused with.

Beside every broken file stands a .txt with the message. After a message was changed on purpose, read the new
one and keep it with `pytest tests/inputs/test_broken_files.py --renew-golden`.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from selector.inputs.catalog import read_catalog
from selector.inputs.errors import InputFaults
from selector.inputs.price_book import read_price_book
from selector.inputs.site_file import read_site
from selector.inputs.weather import read_weather

BROKEN = Path(__file__).parent / "broken"
SITES = sorted(path for path in (BROKEN / "sites").iterdir() if path.suffix == ".toml")
WEATHER = sorted(path for path in (BROKEN / "weather").iterdir() if path.suffix != ".txt")
PRICE_BOOKS = sorted(path for path in (BROKEN / "price-books").iterdir() if path.suffix != ".txt")
CATALOGS = sorted(path for path in (BROKEN / "catalogs").iterdir() if path.is_dir())


def compare(message: str, golden: Path, *, renew: bool) -> None:
    """Hold a message against its golden file; a missing one is a failure."""
    if renew:
        golden.write_text(message + "\n", encoding="utf-8")
    assert golden.exists(), f"no golden file {golden.name}; the message was:\n{message}"
    assert message + "\n" == golden.read_text(encoding="utf-8")


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
def test_a_broken_site_file_is_refused(
    path: Path, monkeypatch: pytest.MonkeyPatch, renew_golden: bool
) -> None:
    monkeypatch.chdir(path.parent)
    with pytest.raises(InputFaults, match=r": got .*; allowed: ") as caught:
        read_site(path=Path(path.name))
    compare(str(caught.value), path.with_suffix(".txt"), renew=renew_golden)


@pytest.mark.parametrize("path", WEATHER, ids=lambda path: path.stem)
def test_a_broken_weather_file_is_refused(
    path: Path, monkeypatch: pytest.MonkeyPatch, renew_golden: bool
) -> None:
    monkeypatch.chdir(path.parent)
    with pytest.raises(InputFaults, match=r": got .*; allowed: ") as caught:
        read_weather(path=Path(path.name), elevation=None, first_weekday=0)
    compare(str(caught.value), path.with_suffix(".txt"), renew=renew_golden)


@pytest.mark.parametrize("path", CATALOGS, ids=lambda path: path.name)
def test_a_broken_catalogue_is_refused(
    path: Path, monkeypatch: pytest.MonkeyPatch, renew_golden: bool
) -> None:
    monkeypatch.chdir(path.parent)
    with pytest.raises(InputFaults, match=r": got .*; allowed: ") as caught:
        read_catalog(folder=Path(path.name))
    compare(str(caught.value), path.with_suffix(".txt"), renew=renew_golden)


@pytest.mark.parametrize("path", PRICE_BOOKS, ids=lambda path: path.stem)
def test_a_broken_price_book_is_refused(
    path: Path, monkeypatch: pytest.MonkeyPatch, renew_golden: bool
) -> None:
    monkeypatch.chdir(path.parent)
    with pytest.raises(InputFaults, match=r": got .*; allowed: ") as caught:
        read_price_book(path=Path(path.name))
    compare(str(caught.value), path.with_suffix(".txt"), renew=renew_golden)


def test_there_are_enough_of_them_and_no_golden_file_without_its_input() -> None:
    assert len(SITES) + len(WEATHER) + len(CATALOGS) >= 60
    inputs = {path.stem for path in (*SITES, *WEATHER, *PRICE_BOOKS)} | {path.name for path in CATALOGS}
    goldens = {path.stem for path in BROKEN.rglob("*.txt")}
    assert goldens == inputs


def test_every_line_names_file_place_value_and_what_is_allowed() -> None:
    lines = [line for golden in BROKEN.rglob("*.txt") for line in golden.read_text("utf-8").splitlines()]
    assert len(lines) > len(SITES)
    for line in lines:
        assert re.fullmatch(r"\S.*: .+: got .+; allowed: .+", line), line
