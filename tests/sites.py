"""The invented site of tests/data, as it stands or with some of its text replaced."""

from __future__ import annotations

import functools
from pathlib import Path

from selector.decide.evaluate import prepare_site
from selector.inputs.site import Site
from selector.inputs.site_file import read_site
from selector.physics.prepare import Prepared

DATA = Path(__file__).parent / "data"
ROOM = DATA / "room.toml"
CATALOG = DATA / "catalog"
SCENARIOS = Path(__file__).parent.parent / "scenarios"


@functools.cache
def room() -> Site:
    return read_site(path=ROOM)


@functools.cache
def prepared_room() -> Prepared:
    return prepare_site(site=room())


def write_room(folder: Path, *changes: tuple[str, str], more: str = "") -> Path:
    """Write the site into a folder, with texts replaced and more text behind it; its files are found from anywhere."""
    text = ROOM.read_text(encoding="utf-8")
    files = (('"../../scenarios', f'"{SCENARIOS.as_posix()}'), ('"catalog"', f'"{CATALOG.as_posix()}"'))
    for old, new in (*files, *changes):
        assert old in text, old
        text = text.replace(old, new)
    path = folder / "room.toml"
    path.write_text(text + more, encoding="utf-8")
    return path
