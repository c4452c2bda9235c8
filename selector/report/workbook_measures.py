"""The workbook's economic measures of each option against the base case, all of it formulas.

As `money.economics`. Savings accumulate year by year in two tables, in today's money and discounted; the year of
payback is read from them. Units: as the headings say.
Source: ASTM E917, E964, E1057, E1074 and E1121; NIST Handbook 135, Life-Cycle Costing Manual.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from selector.money.economics import Measures
from selector.report.workbook_cells import Cell, Column, Page, relative
from selector.report.workbook_content import Content, Option
from selector.report.workbook_life_cycle import LifeCells
from selector.report.workbook_rates import Rates
from selector.report.workbook_styles import MONEY, SHARE, TWO, YEAR

NAME = "Savings"
WIDTHS = (9, *(13.5,) * 10)
SIDE_BY_SIDE = 8  # options in one table
NONE = "none"
NEVER = '0;"never";0'  # a year, or -1 where there is none
BEHIND = "0.000001"  # currency; less is rounding


@dataclass(frozen=True, slots=True)
class _Ahead:
    """How far an option is ahead of the base case, year by year."""

    years: list[Cell]
    simple: list[Cell]  # currency, added up
    discounted: list[Cell]  # currency, added up


def write_measures(*, page: Page, content: Content, rates: Rates, life: Mapping[str, LifeCells]) -> None:
    """Write the measures, and the savings by year that they are read from.

    Args: page, the sheet, empty; content; rates; life, cells by the option's mark.
    """
    base = content.base
    others = [option for option in content.options if option.mark != base.mark]
    page.title(f"Savings against option {base.mark}")
    page.paragraph(f"Base case: option {base.mark}, {base.name}: {content.base_reason}.")
    page.paragraph(
        "Savings are energy and maintenance saved; investment is first cost, replacement and residual value added; all "
        "as present values. The adjusted internal rate of return puts savings aside at the discount rate. Payback is "
        "the year from which an option stays ahead to the end of the study, within a year evenly; none where it ends "
        "behind. ASTM E917, E964, E1057, E1121; NIST Handbook 135."
    )
    if not others:
        page.line("There is no option beside the base case.")
        return
    top = page.row + 2  # a part's title and the headings
    page.row = top + 1 + len(others)
    ahead: dict[str, _Ahead] = {}
    breaks: list[int] = []
    for first in range(0, len(others), SIDE_BY_SIDE):
        ahead.update(_years(page, content, others[first : first + SIDE_BY_SIDE], life, breaks))
    after, page.row = page.row, top - 2
    _measures(page, content, others, rates, life, ahead)
    page.page_breaks(breaks)
    page.row = after


def _years(
    page: Page, content: Content, options: Sequence[Option], life: Mapping[str, LifeCells], breaks: list[int]
) -> dict[str, _Ahead]:
    """Both tables of accumulated savings of some options."""
    code = content.site.costs.currency
    base = life[content.base.mark]
    found = {option.mark: _Ahead([], [], []) for option in options}
    for words, discounted in (("today's money", False), ("present value", True)):
        breaks.append(page.row)
        page.part(f"Ahead of option {content.base.mark} by the end of each year, {words}")
        page.headings(
            (Column("Year [-]", YEAR), *(Column(f"Option {one.mark} [{code}]", MONEY) for one in options))
        )
        start = page.row
        for year, (cost, factor) in enumerate(zip(base.years, base.factors, strict=True)):
            number = page.number(0, year, YEAR)
            for column, option in enumerate(options, start=1):
                one = found[option.mark]
                own = life[option.mark].years[year]
                cells = one.discounted if discounted else one.simple
                step = f"{cost.ref}-{own.ref}"
                value = cost.value - own.value
                if discounted:
                    step, value = f"({step})*{factor.ref}", value * factor.value
                before = f"{relative(cells[-1])}+" if cells else ""
                total = (cells[-1].value if cells else 0.0) + value
                cells.append(page.formula(column, f"{before}{step}", total, MONEY))
                if not discounted:
                    one.years.append(number)
            page.row += 1
        last = found[options[-1].mark]
        corner = (last.discounted if discounted else last.simple)[-1]
        page.hide_where(Cell(page.name, start, 0, 0.0), corner, f"$A{start + 1}>Study_period")
    return found


def _measures(
    page: Page,
    content: Content,
    others: Sequence[Option],
    rates: Rates,
    life: Mapping[str, LifeCells],
    ahead: Mapping[str, _Ahead],
) -> None:
    code = content.site.costs.currency
    inflated = "Inflation" in rates.named
    page.part("Measures")
    heads = [
        Column("Option"),
        Column(f"Net savings [{code}]", MONEY),
        Column(f"Savings [{code}]", MONEY),
        Column(f"Investment added [{code}]", MONEY),
        Column("Savings to investment [-]", TWO),
        Column("Adjusted return, real [a year]", SHARE),
        Column("Last year behind, today's money [-]", YEAR),
        Column("Simple payback [year]", TWO),
        Column("Last year behind, present value [-]", YEAR),
        Column("Discounted payback [year]", TWO),
    ]
    if inflated:
        heads.append(Column("Adjusted return, nominal [a year]", SHARE))
    page.headings(heads)
    base = life[content.base.mark]
    for option in others:
        one = option.measures
        assert one is not None  # only the base case has none
        _row(page, option, one, base, life[option.mark], ahead[option.mark], inflated=inflated)
        page.row += 1


def _row(
    page: Page,
    option: Option,
    one: Measures,
    base: LifeCells,
    own: LifeCells,
    ahead: _Ahead,
    *,
    inflated: bool,
) -> None:
    page.text(0, option.mark, "strong")
    page.formula(1, f"{base.total.ref}-{own.total.ref}", one.net_savings, MONEY)
    saved = page.formula(2, _against(base, own, (2, 3, 4), 1), one.savings, MONEY)
    added = page.formula(3, _against(base, own, (1, 5, 6), -1), one.added_investment, MONEY)
    s, a = relative(saved), relative(added)
    ratio = page.formula(4, f'IF({a}>0,{s}/{a},"{NONE}")', _or_none(one.savings_to_investment), TWO)
    r = relative(ratio)
    gain = page.formula(
        5,
        f'IF(ISNUMBER({r}),IF({r}>=0,(1+Discount_rate)*{r}^(1/Study_period)-1,"{NONE}"),"{NONE}")',
        _or_none(one.adjusted_rate_of_return),
        SHARE,
    )
    study = option.site.costs.study_period
    _payback(page, 6, ahead.years, ahead.simple, "0", one.simple_payback, study)
    _payback(page, 8, ahead.years, ahead.discounted, "Discount_rate", one.discounted_payback, study)
    if inflated:
        g = relative(gain)
        page.formula(
            10,
            f'IF(ISNUMBER({g}),(1+{g})*(1+Inflation)-1,"{NONE}")',
            _or_none(one.nominal_rate_of_return),
            SHARE,
        )


def _against(base: LifeCells, own: LifeCells, columns: Sequence[int], sign: int) -> str:
    """Present values of columns, base less option, or the other way round."""
    first, second = (base, own) if sign > 0 else (own, base)
    return "+".join(f"({first.present[column].ref}-{second.present[column].ref})" for column in columns)


def _or_none(value: float | None) -> float | str:
    return NONE if value is None else value


def _payback(
    page: Page, column: int, years: list[Cell], ahead: list[Cell], rate: str, value: float | None, study: int
) -> None:
    """Year of payback: after the last year behind, the share of the next year's savings that makes up for it."""
    cells = f"{relative(ahead[0])}:{relative(ahead[-1])}"
    numbers = f"{relative(years[0])}:{relative(years[-1])}"
    late = [year for year, cell in enumerate(ahead[: study + 1]) if cell.value < -float(BEHIND)]
    last = page.formula(
        column,
        f"SUMPRODUCT(MAX(({cells}<-{BEHIND})*({numbers}<=Study_period)*({numbers}+1)))-1",
        max(late, default=-1),
        NEVER,
    )
    behind = relative(last)
    at, after = f"INDEX({cells},{behind}+1)", f"INDEX({cells},{behind}+2)"
    part = f"-{at}/({after}-{at})"
    if rate != "0":  # evenly spread over the year in today's money
        part = f"IF({rate}=0,{part},-LN(1+{at}/({after}-{at})/(1+{rate})*{rate})/LN(1+{rate}))"
    formula = f'IF(INDEX({cells},Study_period+1)<-{BEHIND},"{NONE}",IF({behind}<0,0,{behind}+MIN(1,{part})))'
    page.formula(column + 1, formula, _or_none(value), TWO)
