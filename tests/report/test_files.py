"""Files are written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest

from selector.inputs.errors import InputFaults
from selector.report.files import check_outputs, write_files


def test_all_faults_of_the_outputs_come_at_once(tmp_path: Path) -> None:
    site = tmp_path / "site.toml"
    site.write_text("")
    with pytest.raises(InputFaults, match="got") as caught:
        check_outputs(
            outputs={"--json": str(site), "--hourly": str(tmp_path / "no" / "x.csv")}, inputs=(site,)
        )
    assert [(fault.file, fault.got) for fault in caught.value.faults] == [
        ("--json", "a file that is read"),
        ("--hourly", "a folder that is not there"),
    ]


def test_two_results_need_two_places(tmp_path: Path) -> None:
    with pytest.raises(
        InputFaults, match=r"--hourly: .* got the same as --json; allowed: a place of its own"
    ):
        check_outputs(outputs={"--json": "-", "--hourly": "-"})
    with pytest.raises(InputFaults, match="the same as --json"):
        check_outputs(outputs={"--json": str(tmp_path / "x"), "--hourly": str(tmp_path / "." / "x")})


def test_a_folder_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=r"--json: .* got a folder; allowed: a file"):
        check_outputs(outputs={"--json": str(tmp_path), "--hourly": None})


def test_a_name_that_ends_as_a_folder_does_is_no_file(tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=r"--json: .* got a folder; allowed: a file"):
        check_outputs(outputs={"--json": f"{tmp_path}/x/"})


def test_links_in_a_circle_are_no_place(tmp_path: Path) -> None:
    (tmp_path / "x").symlink_to("x")
    with pytest.raises(
        InputFaults, match=r"--json: .* got a name that no file can have; allowed: another name"
    ):
        check_outputs(outputs={"--json": str(tmp_path / "x")}, inputs=(tmp_path / "x",))


def test_a_folder_that_refuses_is_told_before_any_work_is_done() -> None:
    """As somebody without rights, since root may write anywhere."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        (place / "closed").mkdir(mode=0o700)
        place.chmod(0o555)
        mine = os.geteuid()
        if mine == 0:
            os.seteuid(65534)
        try:
            with pytest.raises(InputFaults, match="got") as caught:
                check_outputs(
                    outputs={"--json": str(place / "x.json"), "--csv": str(place / "closed" / "in" / "x.csv")}
                )
        finally:
            os.seteuid(mine)
            place.chmod(0o755)
    assert [fault.got for fault in caught.value.faults] == [
        "a folder that cannot be written",
        "a folder that is not there",
    ]


def test_a_workbook_is_a_file_with_its_own_ending(tmp_path: Path) -> None:
    for name in ("-", str(tmp_path / "book.txt")):
        with pytest.raises(
            InputFaults, match=r"--workbook: .* got another name; allowed: a file named \*\.xlsx"
        ):
            check_outputs(outputs={"--workbook": name})
    check_outputs(outputs={"--workbook": str(tmp_path / "book.XLSX")})


def test_bytes_are_written_as_they_are(tmp_path: Path) -> None:
    write_files(contents={str(tmp_path / "a"): b"\r\n\xff"})
    assert (tmp_path / "a").read_bytes() == b"\r\n\xff"


def test_files_are_written_and_nothing_is_left_beside_them(tmp_path: Path) -> None:
    write_files(contents={str(tmp_path / "a"): "1\n", str(tmp_path / "b"): "°\n"})
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a", "b"]
    assert (tmp_path / "b").read_bytes() == "°\n".encode()


def test_where_one_file_cannot_be_written_none_is(tmp_path: Path) -> None:
    old = tmp_path / "a"
    old.write_text("old")
    with pytest.raises(InputFaults, match="no such file or directory; allowed: a place that can be written"):
        write_files(contents={str(old): "new", str(tmp_path / "gone" / "b"): "new"})
    assert old.read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["a"]


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real", tmp_path / "link"
    real.write_text("old")
    link.symlink_to(real)
    write_files(contents={str(link): "new"})
    assert link.is_symlink()
    assert real.read_text() == "new"


def test_a_device_is_written_to_and_not_replaced() -> None:
    write_files(contents={"/dev/null": "text"})
    assert Path("/dev/null").is_char_device()
