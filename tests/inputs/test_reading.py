"""Files that cannot be read, each for its own reason."""

from __future__ import annotations

from pathlib import Path

import pytest

from selector.inputs.errors import Faults
from selector.inputs.reading import is_folder, is_there, read_bytes


@pytest.mark.parametrize(
    ("name", "got"),
    [
        ("nowhere.csv", "no such file or directory"),
        (".", "a folder"),
        ("a\0b.csv", "a name that no file can have"),
        ("n" * 300, "file name too long"),
        ("utf-16.csv", "UTF-16 text"),
    ],
)
def test_a_file_that_cannot_be_read_is_one_fault(tmp_path: Path, name: str, got: str) -> None:
    (tmp_path / "utf-16.csv").write_bytes("time,dry bulb".encode("utf-16"))
    faults = Faults()
    assert read_bytes(path=tmp_path / name, allowed="a CSV file", faults=faults) is None
    [fault] = faults.all()
    named = str(tmp_path / name).replace("\0", "\\x00")  # as it can be printed
    assert (fault.file, fault.where, fault.got) == (named, "file", got)


def test_bytes_come_as_they_are(tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    path.write_bytes(b"\xef\xbb\xbfname\r\n")
    faults = Faults()
    assert read_bytes(path=path, allowed="a file", faults=faults) == b"\xef\xbb\xbfname\r\n"
    assert faults.all() == ()


def test_names_that_no_file_can_have_lead_nowhere(tmp_path: Path) -> None:
    for name in ("a\0b", "n" * 300):
        assert not is_folder(tmp_path / name)
        assert not is_there(tmp_path / name)
    assert is_folder(tmp_path)
    assert is_there(tmp_path)
