"""The workbook's utility bills under a tariff: what each option adds to them, line by line and month by month.

Each line is quantity times rate; the rates stand on the sheet of assumptions. Quantities are those of the simulated
hours, the option's bill less that of the building's other load alone. Units: as the unit column says.
"""

from __future__ import annotations

from dataclasses import dataclass

from selector.money.tariff import DesignBill
from selector.report.text import MONTHS
from selector.report.workbook_cells import Cell, Column, Page, relative
from selector.report.workbook_content import Content, Option
from selector.report.workbook_rates import KILOGRAMS_PER_TON, Rates, key_of, shown_unit, words_of
from selector.report.workbook_styles import FACTOR, MONEY, ONE, SHARE, WHOLE

NAME = "Utility bills"
WIDTHS = (34, 8, 12, *(9.5,) * 12, 12)
_FIRST = 3  # column of January
_LAST = _FIRST + 12  # column of the year


@dataclass(frozen=True, slots=True)
class _Row:
    """A line that is written."""

    rate: Cell
    months: list[Cell]


def write_bills(
    *,
    page: Page,
    content: Content,
    rates: Rates,
    energy: dict[str, dict[str, list[Cell]]],
) -> dict[str, dict[str, list[Cell]]]:
    """Write what each option adds to the bills.

    Args: page, the sheet, empty; content; rates; energy, cells of each month's electricity and gas, by option and fuel,
        in the unit of the fuel's rates.
    Returns: cells of each month's cost [currency], by option and fuel.
    """
    page.title("Utility bills")
    page.paragraph(
        "What each option adds to the bills of the building's other load: quantity times rate, line by line. Rates, "
        "tax and the price of carbon stand on the sheet Assumptions and may be changed. Not live, because they hang "
        "together in a way that is not proportional: how much energy falls into each block, the demand that is billed "
        "with its ratchet and minimum, and the hours of each period. They are as the run found them; other limits, "
        "windows or ratchets need a new run."
    )
    found: dict[str, dict[str, list[Cell]]] = {}
    breaks = []
    for place, option in enumerate(content.options):
        if place and place % 2 == 0:
            breaks.append(page.row)
        found[option.mark] = _option(page, content, option, rates, energy[option.mark])
    page.page_breaks(breaks)
    return found


def _option(
    page: Page, content: Content, option: Option, rates: Rates, energy: dict[str, list[Cell]]
) -> dict[str, list[Cell]]:
    bill = option.evaluation.costs.bill
    assert bill is not None  # there is a tariff
    page.part(option.heading)
    code = content.site.costs.currency
    page.headings(
        (
            Column("Line"),
            Column("Unit"),
            Column(f"Rate [{code}/unit, or share]", FACTOR),
            *(Column(f"{name} [quantity]", WHOLE) for name in MONTHS),
            Column(f"Year [{code}]", MONEY),
        )
    )
    return {fuel: _fuel(page, code, bill, fuel, rates, energy[fuel]) for fuel in ("electricity", "gas")}


def _fuel(page: Page, code: str, bill: DesignBill, fuel: str, rates: Rates, energy: list[Cell]) -> list[Cell]:
    """The lines of one fuel, and its cost by month."""
    rows: list[_Row] = []
    for line, other in zip(bill.whole.lines, bill.other.lines, strict=True):
        if line.fuel != fuel or line.kind in ("fixed", "tax", "carbon"):
            continue  # the fixed charge is paid either way
        unit, size = shown_unit(line, gas_unit=rates.gas_unit)
        rate = rates.tariff[key_of(line)]
        row = _begin(page, words_of(line), unit, rate.ref, rate.value, MONEY if line.unit == "W" else FACTOR)
        months = [
            page.number(_FIRST + place, (mine - theirs) / size, ONE if line.unit == "W" else WHOLE)
            for place, (mine, theirs) in enumerate(zip(line.quantities, other.quantities, strict=True))
        ]
        rows.append(_finish(page, row, months))
    tax = rates.tariff[fuel, "tax", "tax", 0]
    row = _begin(page, "tax, on the lines above", code, tax.ref, tax.value, SHARE)
    taxed = []
    for place in range(12):
        value = sum(one.rate.value * one.months[place].value for one in rows)
        taxed.append(page.formula(_FIRST + place, _product(rows, place), value, WHOLE))
    rows.append(_finish(page, row, taxed))
    factor = rates.named[f"Carbon_{fuel}"]
    price = rates.named["Carbon_price"].value / KILOGRAMS_PER_TON
    row = _begin(
        page, "carbon dioxide, not taxed", "kg", f"Carbon_price/{KILOGRAMS_PER_TON:.0f}", price, FACTOR
    )
    emitted = [
        page.formula(_FIRST + place, f"{cell.ref}*Carbon_{fuel}", cell.value * factor.value, WHOLE)
        for place, cell in enumerate(energy)
    ]
    rows.append(_finish(page, row, emitted))
    page.text(0, f"{fuel}, cost", "total_text")
    page.text(1, code, "total_text")
    page.text(2, "", "total_text")
    costs = [
        page.formula(
            _FIRST + place,
            _product(rows, place),
            sum(one.rate.value * one.months[place].value for one in rows),
            MONEY,
            "total",
        )
        for place in range(12)
    ]
    page.sum_of(_LAST, costs, MONEY)
    page.row += 1
    return costs


def _begin(page: Page, words: str, unit: str, formula: str, rate: float, form: str) -> Cell:
    page.text(0, words)
    page.text(1, unit)
    return page.formula(2, formula, rate, form)


def _finish(page: Page, rate: Cell, months: list[Cell]) -> _Row:
    """The year's amount of a line."""
    area = f"{relative(months[0])}:{relative(months[-1])}"
    page.formula(
        _LAST, f"SUM({area})*{relative(rate)}", sum(cell.value for cell in months) * rate.value, MONEY
    )
    page.row += 1
    return _Row(rate, months)


def _product(rows: list[_Row], place: int) -> str:
    """Rate times quantity of lines under each other, in one month."""
    first, last = rows[0], rows[-1]
    return (
        f"SUMPRODUCT({relative(first.rate)}:{relative(last.rate)},"
        f"{relative(first.months[place])}:{relative(last.months[place])})"
    )
