"""The workbook's options side by side: what each is, what it costs and what it does, and its rank as rates change.

Units: as the headings say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from selector.inputs.quantities import display_unit, display_value
from selector.report.lines import current_text, humidity_text
from selector.report.text import design_text, show_for
from selector.report.workbook_bill import Bill
from selector.report.workbook_cells import Cell, Column, Page, relative
from selector.report.workbook_content import Content, Option
from selector.report.workbook_energy import EnergyYear
from selector.report.workbook_life_cycle import LifeCells
from selector.report.workbook_styles import MONEY, ONE, TWO, WHOLE

NAME = "Options"
WIDTHS = (7, 35, *(14,) * 8)
NO_RANK = "breaks a limit"
_END = len(WIDTHS) - 1


@dataclass(frozen=True, slots=True)
class Money:
    """The cells of one option that the summary reads."""

    first: Cell  # currency
    electricity: Cell  # currency/year
    gas: Cell  # currency/year
    maintenance: Cell  # currency/year
    yearly: Cell  # currency/year
    life_cycle: Cell  # currency


def write_options(
    *,
    page: Page,
    content: Content,
    bills: Mapping[str, Bill],
    energy: Mapping[str, EnergyYear],
    life: Mapping[str, LifeCells],
) -> dict[str, Money]:
    """Write the options.

    Args: page, the sheet, empty; content; bills, energy and life, cells by the option's mark.
    Returns: cells of each option, by its mark.
    """
    page.title("Options")
    _what(page, content)
    found = _money(page, content, bills, energy, life)
    _since(page, content, found)
    page.page_breaks((page.row,))
    _humidity(page, content)
    _equipment(page, content, energy)
    return found


def _begin(page: Page, option: Option) -> None:
    page.text(0, option.mark, "strong")
    page.text(1, option.name)


def _what(page: Page, content: Content) -> None:
    page.part("What they are")
    page.wide(3, 6, "Design", "heading")
    page.wide(7, _END, "Why", "heading")
    page.headings((Column("Option"), Column("Name"), Column("Keeps every limit")))
    for option in content.options:
        _begin(page, option)
        page.text(2, "yes" if option.evaluation.feasible else "no")
        page.wide(3, 6, design_text(option.evaluation.install))
        page.wide(7, _END, option.reason)
        page.row += 1


def _money(
    page: Page,
    content: Content,
    bills: Mapping[str, Bill],
    energy: Mapping[str, EnergyYear],
    life: Mapping[str, LifeCells],
) -> dict[str, Money]:
    code, base = content.site.costs.currency, content.base.mark
    page.part("What they cost")
    page.headings(
        (
            Column("Option"),
            Column("Name"),
            Column(f"First cost [{code}]", MONEY),
            Column(f"Electricity [{code}/year]", MONEY),
            Column(f"Gas [{code}/year]", MONEY),
            Column(f"Maintenance [{code}/year]", MONEY),
            Column(f"Yearly cost [{code}/year]", MONEY),
            Column(f"Life-cycle cost [{code}]", MONEY),
            Column(f"Below option {base} by [{code}]", MONEY),
            Column("Rank [-]", WHOLE),
        )
    )
    start = page.row
    rows = {option.mark: start + place for place, option in enumerate(content.options)}
    found: dict[str, Money] = {}
    for option in content.options:
        mark = option.mark
        _begin(page, option)
        first = page.formula(2, bills[mark].total.ref, bills[mark].total.value, MONEY)
        parts = [
            page.formula(column, cell.ref, cell.value, MONEY)
            for column, cell in enumerate(
                (energy[mark].electricity, energy[mark].gas, life[mark].maintenance), start=3
            )
        ]
        yearly = page.sum_of(6, parts, MONEY, "number")
        total = page.formula(7, life[mark].total.ref, life[mark].total.value, MONEY)
        less = life[base].total.value - total.value
        page.formula(8, f"$H${rows[base] + 1}-{relative(total)}", less, MONEY)
        _rank(page, content, option, start, life)
        found[mark] = Money(first, parts[0], parts[1], parts[2], yearly, total)
        page.row += 1
    return found


def _rank(page: Page, content: Content, option: Option, start: int, life: Mapping[str, LifeCells]) -> None:
    """Rank by life-cycle cost among the options that keep every limit."""
    if not option.evaluation.feasible:
        page.text(9, NO_RANK, "word")
        return
    rivals = [
        (start + place + 1, life[other.mark].total.value)
        for place, other in enumerate(content.options)
        if other.evaluation.feasible and other.mark != option.mark
    ]
    cheaper = "+".join(f"(H{row}<H{page.row + 1})" for row, _ in rivals)
    value = 1 + sum(cost < life[option.mark].total.value for _, cost in rivals)
    page.formula(9, f"1+{cheaper}" if cheaper else "1", value, WHOLE)


def _since(page: Page, content: Content, money: Mapping[str, Money]) -> None:
    """How far a change of rates has moved each option since the run."""
    code = content.site.costs.currency
    page.part("What a change of rates has moved")
    page.headings(
        (
            Column("Option"),
            Column("Name"),
            Column(f"First cost, run [{code}]", MONEY),
            Column(f"First cost, now [{code}]", MONEY),
            Column(f"Moved by [{code}]", MONEY),
            Column(f"Life-cycle, run [{code}]", MONEY),
            Column(f"Life-cycle, now [{code}]", MONEY),
            Column(f"Moved by [{code}]", MONEY),
        )
    )
    for option in content.options:
        costs = option.evaluation.costs
        one = money[option.mark]
        _begin(page, option)
        for column, then, now in ((2, costs.first, one.first), (5, costs.life_cycle, one.life_cycle)):
            before = page.number(column, then, MONEY)
            after = page.formula(column + 1, now.ref, now.value, MONEY)
            page.formula(column + 2, f"ROUND({relative(after)}-{relative(before)},2)", 0.0, MONEY)
        page.row += 1


def _humidity(page: Page, content: Content) -> None:
    show = show_for(content.site)
    page.part("What they do to the space in a year")
    page.wide(6, _END, "  Each limit", "heading")
    page.headings(
        (
            Column("Option"),
            Column("Name"),
            Column("Above limit [h/year]", WHOLE),
            Column("Allowed [h/year]", WHOLE),
            Column("Highest [% RH]", ONE),
            Column("Too warm [h/year]", WHOLE),
        )
    )
    for option in content.options:
        one = option.evaluation
        worst = one.worst_limit
        _begin(page, option)
        page.number(2, one.hours_above, WHOLE)
        page.number(3, worst.allowed, WHOLE)
        page.number(4, 100.0 * one.maximum_relative_humidity, ONE)
        page.number(5, one.hours_too_warm, WHOLE)
        several = len(one.limits) > 1
        page.wide(
            6, _END, "; ".join(humidity_text(limit, show, name=several) for limit in one.limits), "beside"
        )
        page.row += 1


def _equipment(page: Page, content: Content, energy: Mapping[str, EnergyYear]) -> None:
    units = content.site.display_units
    water, mass = display_unit("moisture", units), display_unit("mass", units)
    by_energy = display_unit("specific_removal", units)
    page.part("What they draw; current, weight and sound of the new units")
    page.headings(
        (
            Column("Option"),
            Column("Name"),
            Column("Peak power [kW]", ONE),
            Column("Carbon dioxide [kg/year]", WHOLE),
            Column(f"Removed by units [{water}/year]", WHOLE),
            Column(f"Specific removal [{by_energy}]", TWO),
            Column("Loudest [dBA]", WHOLE),
            Column("Current [A]", ONE),
            Column(f"Weight [{mass}]", WHOLE),
        )
    )
    for option in content.options:
        one, drawn = option.evaluation, energy[option.mark]
        _begin(page, option)
        page.formula(2, drawn.peak.ref, drawn.peak.value, ONE)
        page.formula(3, drawn.carbon.ref, drawn.carbon.value, WHOLE)
        page.formula(4, drawn.removed.ref, drawn.removed.value, WHOLE)
        specific = one.specific_removal
        shown = None if specific is None else display_value(specific / 3.6e6, "specific_removal", units)
        page.figure(5, shown, TWO)
        page.figure(6, one.sound, WHOLE)
        if one.current is None:
            page.text(7, current_text(one, show_for(content.site)))
        else:
            page.number(7, one.current, ONE)
        page.number(8, display_value(one.weight, "mass", units), WHOLE)
        page.row += 1
