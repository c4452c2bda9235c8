"""The workbook's life-cycle cost, year by year, all of it formulas.

As `money.life_cycle`: first cost today, everything else at the end of its year; energy rises from today's price by its
escalation; a unit is bought again when its service life ends before the study does, and the last one is worth the share
of its life that is left. Units: as the headings say.
Source: ASTM E917, Standard Practice for Measuring Life-Cycle Costs of Buildings and Building Systems; NIST Handbook
135, Life-Cycle Costing Manual.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from selector.inputs.site import Site
from selector.money.factors import single_present_value
from selector.money.first_cost import unit_of
from selector.money.installation import owner_price
from selector.money.life_cycle import replacements
from selector.report.workbook_bill import Bill
from selector.report.workbook_cells import Cell, Column, Page, relative
from selector.report.workbook_content import CENT, Content, Option, unit_key
from selector.report.workbook_energy import EnergyYear
from selector.report.workbook_rates import Rates, years_of
from selector.report.workbook_styles import FACTOR, MONEY, SIGNIFICANT, WHOLE, YEAR

NAME = "Life-cycle"
WIDTHS = (13, *(12.5,) * 9)
SMALL = "0.000000001"  # of a year: a service life that ends with a year ends in it


@dataclass(frozen=True, slots=True)
class LifeCells:
    """The cells of one option that other sheets read."""

    maintenance: Cell  # currency/year
    total: Cell  # currency, the life-cycle cost
    annualised: Cell  # currency/year
    present: Mapping[int, Cell]  # currency, present values of the columns, by column
    years: tuple[Cell, ...]  # currency, total of each year from 0
    factors: tuple[Cell, ...]  # discount factor of each year


@dataclass(frozen=True, slots=True)
class _Bought:
    """One model of an option, as it is bought again."""

    cost: Cell  # currency, all of them
    life: Cell  # year
    lives: Cell  # bought over the study, the first among them
    left: Cell  # share of the last one's life left


def write_life_cycle(
    *,
    page: Page,
    content: Content,
    rates: Rates,
    bills: Mapping[str, Bill],
    energy: Mapping[str, EnergyYear],
) -> dict[str, LifeCells]:
    """Write the years of every option.

    Args: page, the sheet, empty; content; rates; bills and energy, cells by the option's mark.
    Returns: cells of each option, by its mark.
    """
    page.title("Life-cycle cost, year by year")
    page.paragraph(
        "First cost falls today, everything else at the end of its year, in today's money. Energy rises by its "
        "escalation from today's price; the present value is the total times 1 / (1 + discount rate) ^ year. A unit "
        "is bought again when its service life ends before the study does; at the end it is worth its price times "
        "the share of its life that is left. ASTM E917; NIST Handbook 135."
    )
    found: dict[str, LifeCells] = {}
    breaks = []
    for place, option in enumerate(content.options):
        if place:
            breaks.append(page.row)
        found[option.mark] = _option(
            page, content.site, option, rates, bills[option.mark], energy[option.mark]
        )
    page.page_breaks(breaks)
    return found


def _option(
    page: Page, site: Site, option: Option, rates: Rates, bill: Bill, energy: EnergyYear
) -> LifeCells:
    code = site.costs.currency
    page.part(option.heading)
    bought, maintenance = _units(page, site, option, rates, bill)
    page.row += 1
    page.headings(
        (
            Column("Year [-]", YEAR),
            Column(f"First cost [{code}]", MONEY),
            Column(f"Electricity [{code}]", MONEY),
            Column(f"Gas [{code}]", MONEY),
            Column(f"Maintenance [{code}]", MONEY),
            Column(f"Replacement [{code}]", MONEY),
            Column(f"Residual value [{code}]", MONEY),
            Column(f"Total [{code}]", MONEY),
            Column("Discount factor [-]", FACTOR),
            Column(f"Present value [{code}]", MONEY),
        )
    )
    top = page.row
    page.row += 2
    columns: dict[int, list[Cell]] = {column: [] for column in range(10)}
    for year in range(years_of(site) + 1):
        for column, cell in _year(page, site, year, bill, energy, maintenance, bought).items():
            columns[column].append(cell)
        page.row += 1
    page.hide_where(columns[0][1], columns[9][-1], f"${relative(columns[0][1])}>Study_period")
    return _present(page, site, top, columns, maintenance)


def _present(
    page: Page, site: Site, top: int, columns: dict[int, list[Cell]], maintenance: Cell
) -> LifeCells:
    """Present values of the columns, above the years."""
    page.text(0, "Present value", "total_text", row=top)
    factors = _area(columns[8])
    present: dict[int, Cell] = {}
    for column in range(1, 8):
        value = sum(a.value * b.value for a, b in zip(columns[column], columns[8], strict=True))
        formula = f"SUMPRODUCT({_area(columns[column])},{factors})"
        present[column] = page.formula(column, formula, value, MONEY, "total", row=top)
    page.text(8, "", "total_text", row=top)
    total = page.sum_of(9, columns[9], MONEY, row=top)
    page.text(0, "Equal yearly amounts over the study", "line", row=top + 1)
    years = sum(cell.value for cell in columns[8][1 : site.costs.study_period + 1])
    counted = f'SUMIF({_area(columns[0][1:])},"<="&Study_period,{_area(columns[8][1:])})'
    formula = f"{relative(total)}/{counted}"
    annualised = page.formula(9, formula, total.value / years, MONEY, row=top + 1)
    return LifeCells(maintenance, total, annualised, present, tuple(columns[7]), tuple(columns[8]))


def _units(page: Page, site: Site, option: Option, rates: Rates, bill: Bill) -> tuple[list[_Bought], Cell]:
    """Units of an option: what they cost again, and their upkeep."""
    code = site.costs.currency
    period = site.costs.study_period
    page.headings(
        (
            Column("Model"),
            Column("Count [units]", WHOLE),
            Column(f"Bought again for [{code}]", MONEY),
            Column("Service life [year]", SIGNIFICANT),
            Column("Bought in the study [times]", WHOLE),
            Column("Life left at the end [-]", "0.0000"),
            Column(f"Maintenance [{code}/year]", MONEY),
        )
    )
    bought: list[_Bought] = []
    upkeep: list[Cell] = []
    for part in option.evaluation.install:
        unit = unit_of(site=option.site, model=part.model)
        own = rates.units[unit_key(unit)]
        page.text(0, part.model)
        count = page.number(1, part.count, WHOLE)
        each = owner_price(costs=site.costs, unit=unit)
        cost = page.formula(2, f"{relative(count)}*{own.price.ref}{bill.markup}", part.count * each, MONEY)
        life = page.formula(3, own.life.ref, unit.service_life, SIGNIFICANT)
        bought.append(_bought(page, period, cost, life))
        upkeep.append(_upkeep(page, count, own.maintenance, part.count * unit.maintenance))
    for part in site.existing_units:
        unit = unit_of(site=site, model=part.model)
        page.text(0, f"{part.model}, there already")
        count = page.number(1, part.count, WHOLE)
        upkeep.append(
            _upkeep(page, count, rates.units[unit_key(unit)].maintenance, part.count * unit.maintenance)
        )
    if option.extra_life is not None:
        page.text(0, "beside units")
        count = page.number(1, 1, WHOLE)
        cost = page.number(2, option.extra_first, MONEY, "input")
        life = page.number(3, option.extra_life, SIGNIFICANT, "input")
        bought.append(_bought(page, period, cost, life))
        page.row += 1
    rest = option.evaluation.costs.maintenance - sum(cell.value for cell in upkeep)
    if abs(rest) >= CENT:
        page.text(0, "other")
        upkeep.append(page.number(6, rest, MONEY, "input"))
        page.row += 1
    page.text(0, "Together", "total_text")
    for column in range(1, 6):
        page.text(column, "", "total_text")
    maintenance = page.sum_of(6, upkeep, MONEY) if upkeep else page.number(6, 0.0, MONEY, "total")
    page.row += 1
    return bought, maintenance


def _bought(page: Page, period: int, cost: Cell, life: Cell) -> _Bought:
    """How often something is bought over the study, and what is left of the last one."""
    lives_value = max(1, math.ceil(period / life.value - 1e-9))
    _, left_value = replacements(service_life=life.value, study_period=period)
    here = relative(life)
    lives = page.formula(4, f"MAX(1,-INT(-(Study_period/{here}-{SMALL})))", lives_value, WHOLE)
    left = page.formula(
        5, f"MIN(1,MAX(0,({relative(lives)}*{here}-Study_period)/{here}))", left_value, "0.0000"
    )
    return _Bought(cost, life, lives, left)


def _upkeep(page: Page, count: Cell, each: Cell, value: float) -> Cell:
    cell = page.formula(6, f"{relative(count)}*{each.ref}", value, MONEY)
    page.row += 1
    return cell


def _year(
    page: Page,
    site: Site,
    year: int,
    bill: Bill,
    energy: EnergyYear,
    maintenance: Cell,
    bought: list[_Bought],
) -> dict[int, Cell]:
    """One year's row."""
    costs = site.costs
    inside = 1 <= year <= costs.study_period
    number = page.number(0, year, YEAR)
    at = f"${relative(number)}"
    cells: dict[int, Cell] = {0: number}
    if year == 0:
        cells[1] = page.formula(1, bill.total.ref, bill.total.value, MONEY)
        for column in range(2, 7):
            cells[column] = page.number(column, 0.0, MONEY)
    else:
        cells[1] = page.number(1, 0.0, MONEY)
        grown = (
            (2, energy.electricity, "Electricity_escalation", costs.electricity_escalation),
            (3, energy.gas, "Gas_escalation", costs.gas_escalation),
        )
        for column, today, name, rate in grown:
            cells[column] = page.formula(
                column,
                f"IF({at}<=Study_period,{today.ref}*(1+{name})^{at},0)",
                today.value * (1.0 + rate) ** year if inside else 0.0,
                MONEY,
            )
        cells[4] = page.formula(
            4,
            f"IF({at}<=Study_period,{maintenance.here},0)",
            maintenance.value if inside else 0.0,
            MONEY,
        )
        terms, again = _again(bought, at, year)
        cells[5] = page.formula(5, f"IF({at}<=Study_period,{terms},0)", again if inside else 0.0, MONEY)
        worth = "+".join(f"{one.cost.here}*{one.left.here}" for one in bought) or "0"
        left = sum(one.cost.value * one.left.value for one in bought)
        cells[6] = page.formula(
            6, f"IF({at}=Study_period,-({worth}),0)", -left if year == costs.study_period else 0.0, MONEY
        )
    total = sum(cells[column].value for column in range(1, 7))
    cells[7] = page.formula(7, f"SUM({relative(cells[1])}:{relative(cells[6])})", total, MONEY)
    factor = single_present_value(rate=costs.discount_rate, year=year)
    cells[8] = page.formula(8, f"1/(1+Discount_rate)^{at}", factor, FACTOR)
    cells[9] = page.formula(9, f"{relative(cells[7])}*{relative(cells[8])}", total * factor, MONEY)
    return cells


def _again(bought: list[_Bought], at: str, year: int) -> tuple[str, float]:
    """What is bought again in a year: those whose service life has ended a whole number of times since last year."""
    terms = []
    amount = 0.0
    for one in bought:
        life, most = one.life.here, f"{one.lives.here}-1"
        terms.append(
            f"{one.cost.here}*(MIN({most},INT(({at}+{SMALL})/{life}))"
            f"-MIN({most},INT(({at}-1+{SMALL})/{life})))"
        )
        ends = [math.floor((end + 1e-9) / one.life.value) for end in (year, year - 1)]
        amount += one.cost.value * (min(one.lives.value - 1, ends[0]) - min(one.lives.value - 1, ends[1]))
    return "+".join(terms) or "0", amount


def _area(cells: list[Cell]) -> str:
    return f"{relative(cells[0])}:{relative(cells[-1])}"
