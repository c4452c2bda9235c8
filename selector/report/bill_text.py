"""The bill of quantities as a table of the terminal and as JSON."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from selector.inputs.quantities import display_unit, display_value
from selector.money.quantities import BillLine, BillOfQuantities
from selector.report.lines import LABEL, labelled
from selector.report.terminal import Line, Screen, Table
from selector.report.text import Show, clean

_LENGTH = "m"  # the one unit of a bill that is not the same everywhere


def bill_rows(*, bill: BillOfQuantities, show: Show) -> tuple[tuple[str, ...], ...]:
    """Write the lines of a bill.

    Args: bill; show, the reader's units.
    Returns: for each line what, arrangement, quantity, unit, rate and amount, as text; numbers with two decimals.
    """
    return tuple(_row(line, show) for line in bill.lines)


def item_text(line: BillLine) -> str:
    """Name the item of a line; of a lump sum, what it is for.

    Args: line. Returns: text.
    """
    return f"installation, {line.what}" if line.section == "lump sums" else clean(line.what)


def _row(line: BillLine, show: Show) -> tuple[str, ...]:
    quantity, unit, rate = line.quantity, line.unit, line.rate
    if unit == _LENGTH:
        unit = display_unit("length", show.units)
        quantity = display_value(quantity, "length", show.units)
        rate = line.amount / quantity
    shown_rate = f"{100.0 * rate:,.2f} %" if line.section == "markups" else f"{rate:,.2f}"
    return (
        item_text(line),
        line.arrangement or "all",
        f"{quantity:,.2f}",
        unit,
        shown_rate,
        f"{line.amount:,.2f}",
    )


def bill_screen(*, bill: BillOfQuantities, show: Show) -> Screen:
    """Write a bill with its total and what its prices are worth.

    Args: bill; show, the reader's units.
    Returns: lines and a table; a single line where nothing is bought.
    """
    if not bill.lines:
        return (Line(labelled("Bill", "nothing is bought"), "", LABEL),)
    code = bill.currency
    headings = ("bill of quantities", "arrangement", "quantity", "unit", f"rate [{code}]", f"amount [{code}]")
    total = ("first cost", "", "", "", "", f"{bill.total:,.2f}")
    found: list[Line | Table] = [
        Table(headings, (*bill_rows(bill=bill, show=show), total), frozenset({2, 4, 5})),
    ]
    if bill.price_book:
        factor = "" if bill.location_factor == 1.0 else f", times {bill.location_factor:g} for the place"
        found.append(Line(labelled("Prices", f"{clean(Path(bill.price_book).name)}{factor}"), "", LABEL))
    if bill.invented:
        found.append(Line(labelled("", "invented prices, not for a bid"), "bold", LABEL))
    return tuple(found)


def quantities_json(bill: BillOfQuantities) -> dict[str, Any]:
    """Write a bill.

    Args: bill. Returns: plain values: lengths in m, labour in h, markups as shares, the site's currency.
    """
    return {
        "currency": bill.currency,
        "invented": bill.invented,
        "warning": "invented prices, not for a bid" if bill.invented else None,
        "price_book": Path(bill.price_book).name or None,
        "location_factor": bill.location_factor,
        "units": bill.units,
        "installation": bill.installation,
        "total": bill.total,
        "lines": [
            {
                "section": line.section,
                "what": line.what,
                "arrangement": line.arrangement,
                "kind": line.kind,
                "quantity": line.quantity,
                "unit": line.unit,
                "rate": line.rate,
                "amount": line.amount,
                "origin": line.origin,
            }
            for line in bill.lines
        ],
    }
