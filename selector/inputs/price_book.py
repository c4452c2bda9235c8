"""A price book: what installation work costs, units of measure in the headings.

::

    # invented: every price and labour time; not for a bid
    # currency: USD
    item,up to diameter [in],...,material [USD],material by length [USD/ft],labour [h],labour by length [h/ft],...

Every item of `ITEMS` stands in it, those that come in sizes with a row for each size; a size serves all that is no
larger. Each kind of item fills its own columns and leaves the others empty. An item that costs nothing has 0. The line
`# invented` marks prices that no one may bid on.
"""

from __future__ import annotations

import functools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from selector.inputs.columns import Column, Row, currency_of, open_table, read_rows
from selector.inputs.errors import Faults
from selector.inputs.fields import closest
from selector.inputs.reading import is_there
from selector.inputs.site import MARKUPS, TRADES, PriceBook, PriceRow, Shares, Trade
from selector.inputs.tables import lines_text, plain

FILE = "price-book.csv"
HOUR = 3600.0  # s; the book's labour is kept in h

DIAMETER, AIRFLOW, WEIGHT, CURRENT = (
    "up to diameter",
    "up to airflow",
    "up to weight",
    "up to current",
)
EACH = ("material", "labour")
BY_LENGTH = ("material by length", "labour by length")
RATE = ("rate",)
SHARES = ("on units", "on materials", "on labour")


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that a price book prices: by which size, in which columns, and who does the work."""

    size: str | None  # column of its size; None: one row
    columns: tuple[str, ...]
    trade: Trade | None = None


ITEMS: Mapping[str, Item] = {
    "duct": Item(DIAMETER, BY_LENGTH, "mechanical"),
    "elbow": Item(DIAMETER, EACH, "mechanical"),
    "tap": Item(DIAMETER, EACH, "mechanical"),
    "grille": Item(DIAMETER, EACH, "mechanical"),
    "wall cap": Item(DIAMETER, EACH, "mechanical"),
    "balancing damper": Item(DIAMETER, EACH, "mechanical"),
    "backdraft damper": Item(DIAMETER, EACH, "mechanical"),
    "filter": Item(AIRFLOW, EACH, "mechanical"),
    "hanging": Item(WEIGHT, EACH, "mechanical"),
    "pad": Item(WEIGHT, EACH, "mechanical"),
    "one-phase circuit": Item(CURRENT, EACH, "electrical"),
    "three-phase circuit": Item(CURRENT, EACH, "electrical"),
    "gravity drain": Item(None, EACH, "mechanical"),
    "condensate pump": Item(None, EACH, "mechanical"),
    "gas connection": Item(None, EACH, "mechanical"),
    "unit controls": Item(None, EACH, "electrical"),
    "humidistat": Item(None, EACH, "electrical"),
    "fan interlock": Item(None, EACH, "electrical"),
    "frost protection": Item(None, EACH, "electrical"),
    "drawings and permit": Item(None, EACH, "mechanical"),
    "air balancing": Item(None, EACH, "commissioning"),
    "commissioning of an arrangement": Item(None, EACH, "commissioning"),
    "commissioning of a unit": Item(None, EACH, "commissioning"),
    **{f"{trade} labour": Item(None, RATE) for trade in TRADES},
    **{markup: Item(None, SHARES) for markup in MARKUPS},
}

COLUMNS: Mapping[str, Column] = {
    "item": Column(None),
    DIAMETER: Column("length", high=100.0, optional=True),
    AIRFLOW: Column("airflow", high=1e3, optional=True),
    WEIGHT: Column("mass", high=1e6, optional=True),
    CURRENT: Column("current", high=1e4, optional=True),
    "material": Column("money", high=1e9, low_allowed=True, optional=True),
    "material by length": Column("money_per_length", high=1e9, low_allowed=True, optional=True),
    "labour": Column("time", high=1e5 * HOUR, low_allowed=True, optional=True),
    "labour by length": Column("time_per_length", high=1e5 * HOUR, low_allowed=True, optional=True),
    "rate": Column("money_per_hour", high=1e9, low_allowed=True, optional=True),
    **{name: Column("percent", high=2.0, low_allowed=True, optional=True) for name in SHARES},
}


def read_price_book(*, path: Path) -> PriceBook:
    """Read a price book.

    Args: path, of the CSV file.
    Returns: prices in the file's currency by piece, metre and hour of labour.
    Raises: InputFaults, with every fault of the file.
    """
    try:
        state = path.stat()
    except OSError:
        return _read(path, None)
    return _read(path, (path.absolute(), state.st_mtime_ns, state.st_size))


@functools.lru_cache(maxsize=8)
def _read(path: Path, unchanged: tuple[Path, int, int] | None) -> PriceBook:
    """Read a file once for as long as it does not change: a site is read again for each of its defaults."""
    faults = Faults()
    table, file = open_table(path=path, faults=faults)
    faults.raise_if_any()
    assert table is not None  # refused above
    currency = currency_of(table=table, file=file, priced="material", faults=faults)
    rows = read_rows(
        table=table, file=file, columns=COLUMNS, key="item", currency=currency or None, faults=faults
    )
    headed = {plain(heading.partition("[")[0]) for heading in table.headings}
    of_item: dict[str, list[Row]] = {}
    for row in rows:
        name = " ".join(row.words["item"].lower().split())
        if name in ITEMS:
            _check_fields(row, ITEMS[name], headed, faults)
            of_item.setdefault(name, []).append(row)
        elif name:
            faults.add(
                file=file, where=row.place("item"), got=f'"{row.words["item"]}"', allowed=closest(name, ITEMS)
            )
    for name, found in of_item.items():
        _refuse_doubled(name, found, faults)
    missing = [name for name in ITEMS if name not in of_item]
    if missing and rows and not table.torn:
        faults.add(
            file=file,
            where="items",
            got=f"no {'; no '.join(missing)}",
            allowed="a row for every item, with 0 where it costs nothing",
        )
    faults.raise_if_any()
    return PriceBook(
        file=file,
        currency=currency,
        invented="invented" in table.comments,
        rows={name: _priced(name, of_item[name]) for name, item in ITEMS.items() if item.trade is not None},
        labour={trade: of_item[f"{trade} labour"][0].number("rate") * HOUR for trade in TRADES},
        markups={
            markup: Shares(*(of_item[markup][0].number(column) for column in SHARES)) for markup in MARKUPS
        },
    )


def _check_fields(row: Row, item: Item, headed: Collection[str], faults: Faults) -> None:
    """Refuse what an item needs and does not have, and what it has and does not need.

    A column that is missing is one fault; of one whose heading was refused nothing more is said.
    """
    needed = (*((item.size,) if item.size else ()), *item.columns)
    for name in COLUMNS:
        if name == "item":
            continue
        where = row.place(name)
        value = row.numbers[name]
        if name in needed and name not in headed:
            faults.add(file=row.file, where="headings", got=f'no column "{name}"', allowed=", ".join(COLUMNS))
        elif name in needed and name in row.written and not row.written[name]:
            faults.add(file=row.file, where=where, got="nothing", allowed=f"a value for {row.words['item']}")
        if name not in needed and value is not None:
            faults.add(
                file=row.file,
                where=where,
                got=f"a value for {row.words['item']}",
                allowed=f"nothing; {row.words['item']} has {', '.join(needed)}",
            )


def _refuse_doubled(name: str, rows: Sequence[Row], faults: Faults) -> None:
    size = ITEMS[name].size
    lines_of: dict[float | None, list[int]] = {}
    for row in rows:
        lines_of.setdefault(row.numbers[size] if size else None, []).append(row.line)
    for value, lines in lines_of.items():
        if len(lines) > 1 and (value is not None or size is None):
            faults.add(
                file=rows[0].file,
                where=lines_text(lines),
                got=f"{name} twice" if size is None else f"the same size of {name} twice",
                allowed="each item, or each size of it, once",
            )


def _priced(name: str, rows: Sequence[Row]) -> tuple[PriceRow, ...]:
    item = ITEMS[name]
    material, labour = item.columns
    found = [
        PriceRow(
            name,
            row.number(item.size) if item.size else None,
            row.written[item.size] if item.size else "",
            row.number(material),
            row.number(labour) / HOUR,
        )
        for row in rows
    ]
    return tuple(sorted(found, key=lambda row: row.up_to or 0.0))


def shipped_price_book(*, catalog: Path) -> Path:
    """Find the price book that is used where a site names none.

    Args: catalog, the folder of the site's catalogue.
    Returns: the one in that folder, else the one beside it, else the one that the package brings.
    """
    for folder in (catalog, catalog.parent):
        if is_there(folder / FILE):
            return folder / FILE
    return Path(str(resources.files("selector.inputs").joinpath(FILE)))
