"""Prints a screen: with `rich` on a terminal, as plain text into a pipe or a file.

A screen is a tuple of lines and tables. Text that a person typed is made safe here, so that no report can forget it.
"""

from __future__ import annotations

import re
import sys
import textwrap
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Literal, TextIO

from rich.box import SIMPLE_HEAD
from rich.cells import cell_len
from rich.console import Console
from rich.progress import BarColumn, Progress, TextColumn
from rich.table import Table as RichTable
from rich.text import Text

from selector.report.files import standard_output
from selector.report.text import WIDTH, clean

Style = Literal["", "bold", "dim"]

NO_BREAK = "\N{NO-BREAK SPACE}"
# what stands between them, or a number and its noun
NUMBER_AND_UNIT = re.compile(r"(?<=\d) (?=[^\W\d]|[%°])")


@dataclass(frozen=True, slots=True)
class Line:
    """One line; longer than the width it is wrapped, and what follows is indented."""

    text: str
    style: Style = ""
    indent: int = 2


@dataclass(frozen=True, slots=True)
class Table:
    """Columns under headings; those in `right` stand to the right, as figures do."""

    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int] = field(default_factory=frozenset)


Screen = tuple[Line | Table, ...]


def plain_lines(screen: Screen, *, width: int = WIDTH) -> tuple[str, ...]:
    """Write a screen as plain text.

    Args: screen; width in columns at which lines are wrapped, tables never.
    Returns: lines without colour codes and box characters.
    """
    lines: list[str] = []
    for part in screen:
        if isinstance(part, Table):
            lines += _columns(part)
        else:
            lines += _wrapped(part, width)
    return tuple(line.rstrip() for line in lines)


def _wrapped(line: Line, width: int) -> list[str]:
    text = clean(line.text)
    if cell_len(text) <= width:
        return [text]
    if cell_len(text) > len(text):
        width //= 2  # letters that take two columns: half as many always fit
    lines = textwrap.wrap(
        NUMBER_AND_UNIT.sub(NO_BREAK, text),
        width,
        subsequent_indent=" " * line.indent,
        break_on_hyphens=False,
    )
    return [one.replace(NO_BREAK, " ") for one in lines]


def _columns(table: Table) -> list[str]:
    cells = [[clean(cell) for cell in row] for row in (table.headings, *table.rows)]
    widths = [max(cell_len(row[i]) for row in cells) for i in range(len(table.headings))]
    lines = []
    for row in cells:
        parts = []
        for i, cell in enumerate(row):
            space = " " * (widths[i] - cell_len(cell))
            parts.append(space + cell if i in table.right else cell + space)
        lines.append("  ".join(parts))
    return lines


def show_screen(screen: Screen, *, file: TextIO | None = None) -> None:
    """Print a screen.

    Args: screen; file, standard output unless given. Tables and emphasis come with `rich` where it is a terminal.
    """
    if file is not None:
        _print(screen, file)
        return
    with standard_output():
        _print(screen, sys.stdout)


def _print(screen: Screen, file: TextIO) -> None:
    if not file.isatty():
        for text in plain_lines(screen):
            print(text, file=file)
        return
    console = Console(file=file, highlight=False, emoji=False, markup=False)
    for part in screen:
        if isinstance(part, Line):
            for text in _wrapped(part, max(40, min(console.width, 100))):
                console.print(Text(text, style=part.style), soft_wrap=True)
            continue
        if max(map(cell_len, _columns(part))) + 2 * len(part.headings) > console.width:
            for text in _columns(part):  # wider than the terminal: nothing is cut away
                console.print(Text(text.rstrip()), soft_wrap=True)
            continue
        table = RichTable(box=SIMPLE_HEAD, show_edge=False, pad_edge=False)
        for i, heading in enumerate(part.headings):
            table.add_column(Text(clean(heading)), justify="right" if i in part.right else "left")
        for row in part.rows:
            table.add_row(*(Text(clean(cell)) for cell in row))
        console.print(table)


@contextmanager
def progress_line(what: str) -> Iterator[Callable[[str, float], None]]:
    """Show a line of progress on a terminal, nothing into a pipe.

    Args: what is being done.
    Returns: a context, for `with`, that yields a function of the step's name and the share done, 0 to 1.
    """
    if not sys.stderr.isatty():
        yield lambda step, share: None
        return
    console = Console(file=sys.stderr, highlight=False, emoji=False, markup=False)
    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f} %"),
    )
    with Progress(*columns, console=console, transient=True) as progress:
        shown = progress.add_task(what, total=1.0)

        def step(name: str, share: float) -> None:
            progress.update(shown, description=clean(f"{what}: {name}"), completed=min(1.0, max(0.0, share)))

        yield step


def say(text: str) -> None:
    """Print a line on standard error.

    Args: text; line ends in it are kept, everything else unsafe is escaped.
    """
    for line in text.split("\n"):
        print(clean(line), file=sys.stderr)
