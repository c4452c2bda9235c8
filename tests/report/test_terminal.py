"""Screens on a terminal and in a pipe."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import pytest

from selector.physics import compiled
from selector.report.steps import say_compiling
from selector.report.terminal import Line, Table, plain_lines, progress_line, say, show_screen

SCREEN = (
    Line("[red]Hall[/red]\x1b[2J", "bold"),
    Table(("model", "price"), (("rotor-60", "8,420 USD"), ("東京", "1 USD")), frozenset({1})),
    Line("word " * 40),
)
BOXES = "─━│┃┌┐└┘├┤┬┴┼╭╮╰╯═║"


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_pipe_sees_plain_text() -> None:
    file = io.StringIO()
    show_screen(SCREEN, file=file)
    text = file.getvalue()
    assert "\x1b" not in text
    assert not any(box in text for box in BOXES)
    assert text.splitlines()[0] == "[red]Hall[/red]\\x1b[2J"
    assert max(len(line) for line in text.splitlines()) <= 80


def test_columns_are_aligned_by_what_a_terminal_shows() -> None:
    # the two wide characters take four columns, so four blanks fill up to "rotor-60"
    assert plain_lines((SCREEN[1],)) == ("model         price", "rotor-60  8,420 USD", "東京          1 USD")


def test_a_terminal_gets_emphasis_and_lines_but_no_one_elses_codes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.delenv("NO_COLOR", raising=False)
    file = Terminal()
    show_screen(SCREEN, file=file)
    text = file.getvalue()
    assert "\x1b[1m" in text  # bold
    assert "\x1b[2J" not in text
    assert "[red]Hall[/red]" in text
    assert any(box in text for box in BOXES)


def test_a_table_wider_than_the_terminal_is_not_cut(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    file = Terminal()
    show_screen((Table(("model", "remark"), (("rotor-60", "word " * 20 + "end"),)),), file=file)
    assert "word " * 20 + "end" in file.getvalue()


def test_progress_stays_silent_in_a_pipe(capsys: pytest.CaptureFixture[str]) -> None:
    with progress_line("choosing") as step:
        step("designs", 0.5)
    assert capsys.readouterr() == ("", "")


def test_progress_shows_what_is_done_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", "80")
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    with progress_line("choosing") as step:
        step("designs\x1b[2J", 0.5)
    text = terminal.getvalue()
    assert "choosing: designs\\x1b[2J" in text
    assert "50 %" in text
    assert "\x1b[2J" not in text
    assert text.endswith("\x1b[2K")  # the line is taken away at the end


@pytest.mark.parametrize("before", [False, True])
def test_a_command_that_has_to_compile_says_so_once(
    before: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(compiled, "CACHE", tmp_path)
    if before:
        compiled.note_compiled(work="choose")
    say_compiling("choose")
    said = "" if before else "compiling, once (half a minute to two minutes)\n"
    assert capsys.readouterr() == ("", said)


def test_messages_keep_their_lines_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    say("first\nsecond\x07")
    assert capsys.readouterr().err == "first\nsecond\\x07\n"


def test_a_number_keeps_its_unit_on_its_line() -> None:
    lines = plain_lines((Line("the worst is 63.9 %, 7 Dec 04:00", indent=4),), width=17)
    assert lines == ("the worst is", "    63.9 %, 7 Dec", "    04:00")
