"""The workbook's first sheet: the answer, its money as it follows from the rates, and what the reader has to know.

Units: in the unit column, or in the heading.
"""

from __future__ import annotations

from collections.abc import Mapping

from selector.report.lines import design_day_text, humidity_text, rests_on, running_text, title
from selector.report.text import PLACES, show_for
from selector.report.workbook_cells import Column, Page
from selector.report.workbook_content import Content
from selector.report.workbook_options import Money
from selector.report.workbook_rates import Rates
from selector.report.workbook_styles import MONEY, SHARE, YEAR

NAME = "Summary"
WIDTHS = (42, 20, 20, 20)
SHEETS = (
    ("Options", "every option side by side: cost, rank, what it does"),
    ("Bill of quantities", "rates, quantities and amounts of each option's first cost"),
    ("Energy by month", "energy and its cost, month by month"),
    ("Life-cycle", "what falls in each year, and its present value"),
    ("Savings", "measures against the base case, and when an option has paid for itself"),
    ("Assumptions", "rates that may be changed, and every value of the run with its origin"),
    ("Ratings", "rating rows of each unit, the fitted curve and its errors"),
    ("Equipment schedule", "tags, duties and connections of the units"),
    ("Commissioning", "what to read on site, with tolerances"),
    ("Cautions", "where the work can hurt someone, and who decides"),
)


def write_summary(*, page: Page, content: Content, rates: Rates, money: Mapping[str, Money]) -> None:
    """Write the summary.

    Args: page, the sheet, empty; content; rates; money, cells by the option's mark.
    """
    site = content.site
    show = show_for(site)
    shown, base = content.shown, content.base
    if base.mark == shown.mark:  # beside the base case itself, what doing nothing costs
        base = next((one for one in content.options if not one.evaluation.install), base)
    one = shown.evaluation
    page.title(site.name)
    page.paragraph(title(site, 400, estimate=content.estimate).removeprefix(f"{site.name}: "), "strong")
    page.part("Answer")
    page.paragraph(content.answer, "strong")
    if one.install:
        for arrangement in dict.fromkeys(part.arrangement for part in one.install):
            page.paragraph(f"{arrangement}: {PLACES[arrangement]}")
    for limit in one.limits:
        page.paragraph(humidity_text(limit, show, name=len(one.limits) > 1))
    page.paragraph(f"Option {shown.mark}: {running_text(one, site, show)}")
    code = site.costs.currency
    page.part("Money")
    alone = shown.mark == base.mark
    heads = [Column("Figure"), Column(f"Option {shown.mark}: {shown.name} [as in the figure]", MONEY)]
    if not alone:
        heads += [
            Column(f"Option {base.mark}: {base.name} [as in the figure]", MONEY),
            Column("Difference [as in the figure]", MONEY),
        ]
    page.headings(heads)
    mine, theirs = money[shown.mark], money[base.mark]
    for words, cell, other in (
        (f"First cost [{code}]", mine.first, theirs.first),
        (f"Electricity [{code}/year]", mine.electricity, theirs.electricity),
        (f"Gas [{code}/year]", mine.gas, theirs.gas),
        (f"Maintenance [{code}/year]", mine.maintenance, theirs.maintenance),
        (f"Yearly cost [{code}/year]", mine.yearly, theirs.yearly),
        (f"Life-cycle cost [{code}]", mine.life_cycle, theirs.life_cycle),
    ):
        page.text(0, words)
        page.formula(1, cell.ref, cell.value, MONEY)
        if not alone:
            page.formula(2, other.ref, other.value, MONEY)
            row = page.row + 1
            page.formula(3, f"B{row}-C{row}", cell.value - other.value, MONEY)
        page.row += 1
    for words, cell, form in (
        ("Discount rate, real [a year]", rates.named["Discount_rate"], SHARE),
        ("Study period [year]", rates.named["Study_period"], YEAR),
    ):
        page.text(0, words)
        page.formula(1, cell.ref, cell.value, form)
        page.row += 1
    page.part("What it rests on")
    for day in content.days[:1]:
        page.paragraph(f"Design day: {design_day_text(day, show)}")
    page.paragraph(f"Proof: {content.proof}")
    page.paragraph(f"Defaults: {rests_on(site)}")
    page.part("How to use this workbook")
    for text in (
        "Cells with a border may be changed: energy prices, discount rate, study period, escalations, prices, service "
        "lives and maintenance on the sheet Assumptions, rates and quantities on the sheet Bill of quantities. All "
        "totals are formulas and follow.",
        "Energy quantities are those of the simulated designs and do not follow. Another building, another number of "
        "units or another limit needs a new run. So does the choice itself: other rates may make a design the cheapest "
        "that is not among these options. The sheet Options shows how far each option has moved since the run.",
    ):
        page.paragraph(text)
    page.part("Sheets")
    for name, words in SHEETS:
        page.text(0, name)
        page.wide(1, len(page.widths) - 1, words)
        page.row += 1
