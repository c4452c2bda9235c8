"""CSV files with units in their headings: comment lines, headings, rows and the lines these stand on."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass

from selector.inputs.errors import Faults


@dataclass(frozen=True, slots=True)
class Table:
    """A CSV file as written."""

    comments: dict[str, str]  # of the lines "# name: value" before the headings; names in small letters
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]  # as many fields in each as there are headings, no spaces around
    lines: tuple[int, ...]  # of the file, the first is 1
    torn: bool  # rows with more or fewer fields were left out, and noted as faults


def read_table(*, text: str, file: str, faults: Faults) -> Table | None:
    """Part a CSV file into its comments, headings and rows; rows with nothing in them are left out.

    Arguments: text of the file; file, as the person named it; faults, takes what is wrong.
    Returns: the table, without rows that have more or fewer fields than there are headings; None where it is no table
        or no row is left.
    """
    written = text.splitlines()
    start = next((i for i, line in enumerate(written) if line.strip() and not line.startswith("#")), None)
    if start is None:
        faults.add(file=file, where="contents", got="an empty file", allowed="headings with units, then rows")
        return None
    comments: dict[str, str] = {}
    for line in written[:start]:
        name, _, value = line.lstrip("# ").partition(":")
        comments.setdefault(" ".join(name.lower().split()), value.strip())
    for mark, name in ((";", "semicolons"), ("\t", "tabs")):
        if "," not in written[start] and written[start].count(mark) >= 2:
            faults.add(
                file=file,
                where=f"line {start + 1}",
                got=f"{name} between the fields",
                allowed="commas between the fields, and points in numbers",
            )
            return None
    fields: list[tuple[str, ...]] = []
    try:
        for row in csv.reader(written[start:], strict=True):
            fields.append(tuple(field.strip() for field in row))
    except csv.Error:
        faults.add(
            file=file,
            where=f"line {start + 1 + len(fields)}",
            got="a quotation mark without its fellow",
            allowed='fields without quotation marks, or "quoted" as a whole',
        )
        return None
    headings = fields[0]
    kept = [
        (start + 1 + i, row) for i, row in enumerate(fields) if i and any(row) and not row[0].startswith("#")
    ]
    uneven = [(line, row) for line, row in kept if len(row) != len(headings)]
    if uneven:
        faults.add(
            file=file,
            where=lines_text([line for line, _ in uneven]),
            got=f"{len(uneven[0][1])} field{'s' if len(uneven[0][1]) > 1 else ''}",
            allowed=f"{len(headings)} field{'s' if len(headings) > 1 else ''}, as in the headings; no commas within "
            "numbers",
        )
        kept = [(line, row) for line, row in kept if len(row) == len(headings)]
        if not kept:
            return None
    if not kept:
        faults.add(file=file, where="rows", got="none", allowed="at least one row below the headings")
        return None
    return Table(
        comments=comments,
        headings=headings,
        rows=tuple(row for _, row in kept),
        lines=tuple(line for line, _ in kept),
        torn=bool(uneven),
    )


def plain(name: str) -> str:
    """Write a heading's name as it is compared: small letters, single spaces for hyphens and underscores.

    Args: name, as written. Returns: text.

    >>> plain(" Dry_Bulb ")
    'dry bulb'
    """
    return " ".join(name.lower().replace("-", " ").replace("_", " ").split())


def lines_text(lines: Sequence[int], *, most: int = 3) -> str:
    """Name a few lines of a file and count the others.

    Args: lines, their numbers; most, how many are named. Returns: text.

    >>> lines_text([4]), lines_text(range(12, 20))
    ('line 4', 'lines 12, 13, 14 and 5 more')
    """
    shown = ", ".join(str(line) for line in lines[:most])
    more = f" and {len(lines) - most} more" if len(lines) > most else ""
    return f"line{'s' if len(lines) > 1 else ''} {shown}{more}"
