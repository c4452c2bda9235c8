"""Where compiled functions are kept, and when a command says that it compiles."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from selector.physics import compiled


def test_a_command_compiles_until_it_has_run_to_its_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiled, "CACHE", tmp_path / "compiled" / "now")
    assert not compiled.is_compiled(work="choose")
    compiled.note_compiled(work="choose")  # nothing has been compiled yet: no folder
    assert not compiled.is_compiled(work="choose")
    compiled.CACHE.mkdir(parents=True)
    compiled.note_compiled(work="choose")
    assert compiled.is_compiled(work="choose")
    assert not compiled.is_compiled(work="rate")


def test_the_youngest_folders_of_earlier_versions_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiled, "CACHE", tmp_path / "now")
    for age in range(7):
        (tmp_path / f"old-{age}").mkdir()
        os.utime(tmp_path / f"old-{age}", (1e9 - age, 1e9 - age))
    (tmp_path / "now").mkdir()
    compiled.note_compiled(work="rate")
    kept = sorted(path.name for path in tmp_path.iterdir())
    assert kept == ["now", *(f"old-{age}" for age in range(compiled.KEPT))]
