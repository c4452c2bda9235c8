"""The workbook's bill of quantities: every line of every option is quantity times a rate, and every rate stands once.

Quantities and rates are cells; amounts, markups and totals are formulas. Counts of units stand in the bill but are not
for changing: another count is another design, whose energy only the simulation knows. Units: as the headings say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from selector.inputs.quantities import display_unit, display_value
from selector.money.first_cost import unit_of
from selector.money.quantities import SECTIONS, BillLine
from selector.report.workbook_cells import Book, Cell, Column, Page, relative
from selector.report.workbook_content import Content, Option, unit_key
from selector.report.workbook_rates import Rates
from selector.report.workbook_styles import MONEY, SHARE, TWO, WHOLE

NAME = "Bill of quantities"
WIDTHS = (14, 13, 36, 12, 13, 8, 14, 14)
_AMOUNT = 7  # column

RateKey = tuple[str, str, str, str, float]  # section, what, unit, arrangement of a lump sum, rate


@dataclass(frozen=True, slots=True)
class Bill:
    """The cells of one option that other sheets read."""

    total: Cell  # currency
    markup: str  # what follows a unit's price in a formula: "" or the markups on units


def write_bill(*, book: Book, page: Page, content: Content, rates: Rates) -> dict[str, Bill]:
    """Write the rates, then the bill of every option.

    Args: book; page, the sheet, empty; content; rates.
    Returns: cells of each option, by its mark.
    """
    page.title("Bill of quantities")
    if any(option.bill.invented for option in content.options):
        page.paragraph("Invented prices, not for a bid.", "strong")
    names = sorted({"/".join(Path(option.bill.price_book).parts[-2:]) for option in content.options} - {""})
    page.paragraph(
        "Rates and quantities with a border may be changed; amounts, totals and life-cycle costs follow. Prices of "
        "units stand on the sheet Assumptions. The number of units is not for changing: another number is another "
        "design, and its energy needs a new run. A markup is on all lines above it of its kind, earlier markups "
        "included." + (f" Price book: {', '.join(names)}." if names else "")
    )
    found = _rates(book, page, content)
    bills: dict[str, Bill] = {}
    breaks = []
    for option in content.options:
        if option.bill.lines:
            breaks.append(page.row)
        bills[option.mark] = _bill(page, content, option, rates, found)
    page.page_breaks(breaks)
    return bills


def _key(line: BillLine) -> RateKey:
    own = line.arrangement if line.section == "lump sums" else None
    return line.section, line.what, line.unit, own or "", line.rate


def _is_unit(line: BillLine) -> bool:
    """Whether a line is units of a model at their price, not what someone offers for all of them."""
    return line.section == "units" and line.origin == "catalogue"


def _unit(line: BillLine, content: Content) -> tuple[str, float]:
    """Unit in which a quantity is shown, and how many of them one of the line's own is."""
    if line.unit == "m":
        units = content.site.display_units
        return display_unit("length", units), display_value(1.0, "length", units)
    return line.unit, 1.0


def _rates(book: Book, page: Page, content: Content) -> dict[RateKey, Cell]:
    """Every rate once, but for the prices of units."""
    code = content.site.costs.currency
    lines = [line for option in content.options for line in option.bill.lines if not _is_unit(line)]
    lines += _unused_markups(content, lines)
    lines.sort(key=lambda line: SECTIONS.index(line.section))
    booked = any(line.origin == "price book" for line in lines)
    factor = content.site.costs.location_factor
    page.part("Rates")
    page.headings(
        (
            Column("Section"),
            Column("Origin"),
            Column("Item"),
            Column("For"),
            Column(f"Rate [{code}/unit; share]", TWO),
            Column("Unit"),
        )
    )
    if booked:
        page.text(0, "all")
        page.text(1, "site file")
        page.text(2, "location factor, on rates of the price book")
        cell = page.number(4, factor, "0.000", "input")
        page.text(5, "-", "unit")
        book.name("Location_factor", cell)
        page.allow(cell, low=0.1, high=10.0)
        page.row += 1
    found: dict[RateKey, Cell] = {}
    for line in lines:
        key = _key(line)
        if key in found:
            continue
        unit, size = _unit(line, content)
        share = line.section == "markups"
        page.text(0, line.section)
        page.text(1, line.origin)
        page.text(2, line.what)
        page.text(3, key[3])
        own = line.rate / factor if line.origin == "price book" and not share else line.rate
        found[key] = page.number(4, own / size, SHARE if share else TWO, "input")
        page.text(5, "share" if share else unit, "unit")
        page.allow(found[key], low=0.0, high=10.0 if share else 1e9)
        page.row += 1
    return found


def _bill(page: Page, content: Content, option: Option, rates: Rates, found: Mapping[RateKey, Cell]) -> Bill:
    code = content.site.costs.currency
    page.part(option.heading)
    page.headings(
        (
            Column("Section"),
            Column("Arrangement"),
            Column("Item"),
            Column("Kind"),
            Column("Quantity [unit]", TWO),
            Column("Unit"),
            Column(f"Rate [{code}/unit; share]", MONEY),
            Column(f"Amount [{code}]", MONEY),
        )
    )
    amounts: list[Cell] = []
    for line in option.bill.lines:
        for column, text in enumerate((line.section, line.arrangement or "all", line.what, line.kind)):
            page.text(column, text)
        unit, size = _unit(line, content)
        page.text(5, unit, "unit")
        if _is_unit(line):
            quantity = page.number(4, line.quantity, WHOLE)
            price = rates.units[unit_key(unit_of(site=option.site, model=line.what))].price
            rate = page.formula(6, price.ref, line.rate, MONEY)
        elif line.section == "markups":
            quantity = page.formula(4, _of_kind(amounts, line.kind), line.quantity, MONEY)
            rate = page.formula(6, found[_key(line)].ref, line.rate, SHARE)
        else:
            quantity = page.number(4, line.quantity * size, TWO, "input")
            page.allow(quantity, low=0.0, high=1e9)
            own = found[_key(line)].ref
            booked = "*Location_factor" if line.origin == "price book" else ""
            rate = page.formula(6, f"{own}{booked}", line.rate / size, MONEY)
        amounts.append(page.formula(_AMOUNT, f"{relative(quantity)}*{relative(rate)}", line.amount, MONEY))
        page.row += 1
    page.text(0, f"First cost, option {option.mark}", "total_text")
    for column in range(1, _AMOUNT):
        page.text(column, "", "total_text")
    total = page.sum_of(_AMOUNT, amounts, MONEY) if amounts else page.number(_AMOUNT, 0.0, MONEY, "total")
    page.row += 1
    shares = [cell for key, cell in found.items() if key[0] == "markups" and key[1].endswith(" on units")]
    return Bill(total, "".join(f"*(1+{cell.ref})" for cell in shares))


def _of_kind(amounts: list[Cell], kind: str) -> str:
    """Sum of the amounts above of one kind."""
    first, last = amounts[0].row + 1, amounts[-1].row + 1
    return f'SUMIF($D${first}:$D${last},"{kind}",$H${first}:$H${last})'


def _unused_markups(content: Content, lines: list[BillLine]) -> list[BillLine]:
    """Markups on units that no bill has, but that units bought again bear."""
    book = content.site.costs.price_book
    known = {line.what for line in lines}
    if book is None:
        return []
    return [
        BillLine(
            "markups", f"{name} on units", None, 0.0, book.currency, shares.units, 0.0, "price book", "units"
        )
        for name, shares in book.markups.items()
        if shares.units > 0.0 and f"{name} on units" not in known
    ]
