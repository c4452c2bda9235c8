"""Columns of CSV files with units in their headings: rows read into SI, field by field.

The catalogue and the price book are read with it. Every fault is noted, none stops the reading.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from selector.inputs.errors import Faults
from selector.inputs.quantities import Heading, QuantityError, parse_heading, parse_number
from selector.inputs.reading import read_bytes
from selector.inputs.tables import Table, plain, read_table


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its dimension (None for words) and what a number in it may be."""

    dimension: str | None
    low: float = 0.0  # SI
    high: float = math.inf
    low_allowed: bool = False  # whether `low` itself may stand
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One row: words as written, numbers in SI, None where the field is empty or was refused."""

    file: str
    line: int
    words: Mapping[str, str]
    numbers: Mapping[str, float | None]
    written: Mapping[str, str]  # numbers with their unit, as in the file
    whole: bool  # nothing in it was refused

    def place(self, column: str) -> str:
        """Name a field of this row in a message.

        Args: column. Returns: text.
        """
        return f"line {self.line}, {column}"

    def number(self, column: str) -> float:
        """Return a number that a whole row has.

        Args: column, one that is not optional. Returns: SI.
        """
        value = self.numbers[column]
        assert value is not None  # only asked of whole rows
        return value


def open_table(*, path: Path, faults: Faults) -> tuple[Table | None, str]:
    """Open a CSV file.

    Args: path; faults, takes what is wrong.
    Returns: the table, None where it cannot be read; the file's name for messages.
    """
    file = str(path)
    contents = read_bytes(path=path, allowed="a CSV file", faults=faults)
    if contents is None:
        return None, file
    try:
        text = contents.decode("utf-8-sig")
    except UnicodeDecodeError:
        faults.add(
            file=file, where="file", got="bytes that are not UTF-8 text", allowed="a CSV file in UTF-8"
        )
        return None, file
    return read_table(text=text, file=file, faults=faults), file


def currency_of(*, table: Table, file: str, priced: str, faults: Faults) -> str:
    """Find the code of the line "# currency", or else of the heading of a price.

    Args: table; file, for messages; priced, the column of money; faults, takes what is wrong.
    Returns: code, "" where there is none.
    """
    said = table.comments.get("currency")
    if said is None:
        for heading in table.headings:
            if plain(heading.partition("[")[0]) == priced:
                try:
                    found = parse_heading(heading, dimensions={priced: "money"}).conversion.currency
                except QuantityError:
                    found = None
                if found:
                    return found
    elif re.fullmatch(r"[A-Z]{3}", said):
        return said
    faults.add(
        file=file,
        where="# currency",
        got="nothing" if said is None else repr(said),
        allowed="a line with a code of three letters, as # currency: USD",
    )
    return ""


def read_rows(
    *,
    table: Table,
    file: str,
    columns: Mapping[str, Column],
    key: str,
    currency: str | None,
    faults: Faults,
) -> list[Row]:
    """Read the rows of a table in SI; refuse headings and fields one by one.

    Args: table; file, for messages; columns that may stand in it; key, the column without which no row is read;
        currency, the code that money must be in; faults, takes what is wrong.
    Returns: the rows, in the order of the file.
    """
    dimensions = {name: column.dimension for name, column in columns.items()}
    headings: dict[str, tuple[int, Heading]] = {}
    refused = set()
    for number, name_and_unit in enumerate(table.headings):
        try:
            heading = parse_heading(name_and_unit, dimensions=dimensions, currency=currency)
        except QuantityError as error:
            faults.add(file=file, where="headings", got=error.got, allowed=error.allowed)
            refused.add(plain(name_and_unit.partition("[")[0]))
            continue
        if heading.name in headings:
            faults.add(file=file, where="headings", got=f"{heading.name!r} twice", allowed="each column once")
        headings[heading.name] = (number, heading)
    for name, column in columns.items():
        if name not in headings and name not in refused and not column.optional:
            faults.add(file=file, where="headings", got=f"no column {name!r}", allowed=", ".join(columns))
    if key not in headings:
        return []

    rows = []
    for line, fields in zip(table.lines, table.rows, strict=True):
        before = len(faults)
        words = {}
        numbers: dict[str, float | None] = {}
        written = {}
        for name, column in columns.items():
            if name not in headings:
                words[name], numbers[name] = "", None
                continue
            number, heading = headings[name]
            field = fields[number]
            where = f"line {line}, {name}"
            if column.dimension is None:
                words[name] = field
            else:
                unit = table.headings[number].partition("[")[2].strip(" ]")
                numbers[name] = _field(field, heading, unit, column, file, where, faults)
                written[name] = f"{field} {unit}".strip() if field else ""
            if not field and not column.optional:
                faults.add(file=file, where=where, got="nothing", allowed="a value in every row")
        whole = len(faults) == before and all(
            name in headings or column.optional for name, column in columns.items()
        )
        rows.append(Row(file=file, line=line, words=words, numbers=numbers, written=written, whole=whole))
    return rows


def _field(
    field: str, heading: Heading, unit: str, column: Column, file: str, where: str, faults: Faults
) -> float | None:
    if not field:
        return None
    try:
        value = heading.to_si(parse_number(field))
    except QuantityError as error:
        faults.add(file=file, where=where, got=error.got, allowed=error.allowed)
        return None
    if value < column.low or value > column.high or (value == column.low and not column.low_allowed):
        bounds = f"{'from' if column.low_allowed else 'above'} {_written(column.low, heading)}"
        if column.high < math.inf:
            bounds += f" to {_written(column.high, heading)}"
        faults.add(file=file, where=where, got=field, allowed=f"a value {bounds} {unit}".rstrip())
        return None
    return value


def _written(bound: float, heading: Heading) -> str:
    """Write a bound [SI] in the unit of its column, to four figures."""
    conversion = heading.conversion
    return f"{float(f'{(bound - conversion.offset) / conversion.scale:.4g}'):,.10g}"
