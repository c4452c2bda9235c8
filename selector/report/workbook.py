"""The workbook: everything that stands behind a choice, as a spreadsheet that still calculates.

Sheets are made in the order in which their formulas need each other, and stand in the order in which they are read.
"""

from __future__ import annotations

from collections.abc import Mapping

from selector.report import workbook_assumptions as assumptions
from selector.report import workbook_bill as bill
from selector.report import workbook_energy as energy
from selector.report import workbook_life_cycle as life_cycle
from selector.report import workbook_measures as measures
from selector.report import workbook_options as options
from selector.report import workbook_ratings as ratings
from selector.report import workbook_summary as summary
from selector.report import workbook_tariff as tariff
from selector.report import workbook_texts as texts
from selector.report.workbook_cells import Book
from selector.report.workbook_content import CENT, Content
from selector.report.workbook_rates import write_rates


def workbook_bytes(*, content: Content) -> bytes:
    """Write a workbook.

    Args: content. Returns: the file, for a spreadsheet program.
    """
    largest = max(option.evaluation.costs.life_cycle for option in content.options)
    book = Book(title=content.site.name, letter=content.site.display_units == "IP", largest=largest)
    first = book.page(summary.NAME, summary.WIDTHS)
    side_by_side = book.page(options.NAME, options.WIDTHS, landscape=True)
    quantities = book.page(bill.NAME, bill.WIDTHS)
    months = book.page(energy.NAME, energy.WIDTHS, landscape=True)
    billed = content.site.costs.tariff is not None
    bills_of_utility = book.page(tariff.NAME, tariff.WIDTHS, landscape=True) if billed else None
    years = book.page(life_cycle.NAME, life_cycle.WIDTHS)
    savings = book.page(measures.NAME, measures.WIDTHS, landscape=True)
    values = book.page(assumptions.NAME, assumptions.WIDTHS, landscape=True)
    curves = book.page(ratings.NAME, ratings.WIDTHS, landscape=True)
    equipment = book.page(texts.SCHEDULE, texts.SCHEDULE_WIDTHS)
    readings = book.page(texts.COMMISSIONING, texts.COMMISSIONING_WIDTHS, landscape=True)
    warnings = book.page(texts.CAUTIONS, texts.CAUTION_WIDTHS)

    rates = write_rates(book=book, page=values, content=content)
    assumptions.write_record(page=values, content=content, rates=rates)
    bills = bill.write_bill(book=book, page=quantities, content=content, rates=rates)
    drawn = energy.write_energy(page=months, bills=bills_of_utility, content=content, rates=rates)
    life = life_cycle.write_life_cycle(page=years, content=content, rates=rates, bills=bills, energy=drawn)
    _check(content, life)
    money = options.write_options(page=side_by_side, content=content, bills=bills, energy=drawn, life=life)
    summary.write_summary(page=first, content=content, rates=rates, money=money)
    measures.write_measures(page=savings, content=content, rates=rates, life=life)
    ratings.write_ratings(page=curves, content=content)
    texts.write_schedule(page=equipment, content=content)
    texts.write_commissioning(page=readings, content=content)
    texts.write_cautions(page=warnings, content=content)
    return book.finish()


def _check(content: Content, life: Mapping[str, life_cycle.LifeCells]) -> None:
    """Refuse to write a workbook whose life-cycle costs are not the tool's own.

    Raises: ValueError, a defect of ours.
    """
    for option in content.options:
        own, added = option.evaluation.costs.life_cycle, life[option.mark].total.value
        if abs(own - added) > CENT + 1e-9 * abs(own):
            raise ValueError(
                f"option {option.mark}: the workbook adds up to {added}, the evaluation to {own}"
            )
