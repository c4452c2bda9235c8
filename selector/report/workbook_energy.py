"""The workbook's energy by month: what each option draws, and what that costs at the rates of the assumptions.

Quantities are the simulation's, summed by month; costs are formulas. Units: as the headings say; gas in the unit that
its price is in.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.inputs.quantities import display_unit, display_value
from selector.inputs.site import Site
from selector.money.tariff import month_peaks, month_sums
from selector.report.text import MONTHS
from selector.report.workbook_cells import Cell, Column, Page, relative
from selector.report.workbook_content import Content, Option
from selector.report.workbook_rates import JOULES_PER_KWH, KILOGRAMS_PER_TON, Rates
from selector.report.workbook_styles import MONEY, ONE, WHOLE
from selector.report.workbook_tariff import write_bills

NAME = "Energy by month"
WIDTHS = (9, *(11,) * 13)
_ELECTRICITY, _PEAK, _POWER_COST, _GAS, _GAS_COST, _REMOVED, _LAST = 5, 6, 7, 10, 11, 12, 13


@dataclass(frozen=True, slots=True)
class EnergyYear:
    """The cells of one option that other sheets read."""

    electricity: Cell  # currency/year
    gas: Cell  # currency/year
    peak: Cell  # kW
    removed: Cell  # a year, by the units, in the reader's unit of moisture
    carbon: Cell  # kg/year


def write_energy(*, page: Page, bills: Page | None, content: Content, rates: Rates) -> dict[str, EnergyYear]:
    """Write the months of every option.

    Args: page, the sheet, empty; bills, the sheet of utility bills, None under flat prices; content; rates.
    Returns: cells of each option, by its mark.
    """
    page.title("Energy by month")
    page.paragraph(
        "Quantities of the whole site, from the simulation of every hour; costs are formulas at the rates of the sheet "
        "Assumptions, carbon included. Peak power is the highest mean of an hour, with the building's other load where "
        "the site gives one."
    )
    months: dict[str, dict[int, list[Cell]]] = {}
    breaks = []
    for place, option in enumerate(content.options):
        if place % 2 == 1:  # one beside the sheet's title, then two on a page
            breaks.append(page.row)
        months[option.mark] = _quantities(page, content.site, option, rates)
    page.page_breaks(breaks)
    fuels = (("electricity", _ELECTRICITY), ("gas", _GAS))
    energy = {mark: {fuel: cells[at] for fuel, at in fuels} for mark, cells in months.items()}
    if bills is None:
        costs = _flat(page, rates, energy)
    else:
        billed = write_bills(page=bills, content=content, rates=rates, energy=energy)
        costs = _billed(page, energy, billed)
    return {mark: _totals(page, rates, cells, costs[mark]) for mark, cells in months.items()}


def _quantities(page: Page, site: Site, option: Option, rates: Rates) -> dict[int, list[Cell]]:
    """Twelve rows of quantities; their cost columns and totals are filled later."""
    code, water = site.costs.currency, display_unit("moisture", site.display_units)
    gas = rates.gas_unit
    year = option.evaluation.year
    page.part(option.heading)
    page.headings(
        (
            Column("Month"),
            Column("Units [kWh]", WHOLE),
            Column("Cooling [kWh]", WHOLE),
            Column("Fan [kWh]", WHOLE),
            Column("Electric heating [kWh]", WHOLE),
            Column("Electricity [kWh]", WHOLE),
            Column("Peak power [kW]", ONE),
            Column(f"Electricity cost [{code}]", MONEY),
            Column(f"Units, gas [{gas}]", WHOLE),
            Column(f"Heating, gas [{gas}]", WHOLE),
            Column(f"Gas [{gas}]", WHOLE),
            Column(f"Gas cost [{code}]", MONEY),
            Column(f"Removed by units [{water}]", WHOLE),
            Column(f"Removed by coil [{water}]", WHOLE),
        )
    )
    heating = year.electricity - year.unit_electricity - year.cooling - year.fan
    per_kilogram = display_value(1.0, "moisture", site.display_units)
    other = 0.0 if site.costs.other_load is None else site.costs.other_load
    months = {
        1: month_sums(year.unit_electricity) / JOULES_PER_KWH,
        2: month_sums(year.cooling) / JOULES_PER_KWH,
        3: month_sums(year.fan) / JOULES_PER_KWH,
        4: month_sums(np.where(np.abs(heating) < 1.0, 0.0, heating)) / JOULES_PER_KWH,  # 1 J is rounding
        _PEAK: month_peaks(year.electricity / JOULES_PER_KWH + other / 1000.0),
        8: month_sums(year.unit_gas) / rates.joules_per_gas_unit,
        9: month_sums(year.gas - year.unit_gas) / rates.joules_per_gas_unit,
        _REMOVED: month_sums(year.units) * per_kilogram,
        _LAST: month_sums(year.coil) * per_kilogram,
    }
    columns: dict[int, list[Cell]] = {column: [] for column in (*months, _ELECTRICITY, _GAS)}
    for place, name in enumerate(MONTHS):
        page.text(0, name)
        for column, values in months.items():
            form = ONE if column == _PEAK else WHOLE
            columns[column].append(page.number(column, float(values[place]), form))
        for column, first, last in ((_ELECTRICITY, 1, 4), (_GAS, 8, 9)):
            cells = [columns[part][-1] for part in range(first, last + 1)]
            columns[column].append(page.sum_of(column, cells, WHOLE, "number"))
        page.row += 1
    page.row += 2  # totals and carbon
    return columns


def _flat(
    page: Page, rates: Rates, energy: dict[str, dict[str, list[Cell]]]
) -> dict[str, dict[str, list[Cell]]]:
    """Costs of each month at one price for each fuel, with carbon."""
    found: dict[str, dict[str, list[Cell]]] = {}
    carbon = rates.named["Carbon_price"].value / KILOGRAMS_PER_TON
    for mark, fuels in energy.items():
        found[mark] = {}
        for fuel, column in (("electricity", _POWER_COST), ("gas", _GAS_COST)):
            name = f"{fuel.capitalize()}_price"
            price = rates.named[name].value + carbon * rates.named[f"Carbon_{fuel}"].value
            each = f"({name}+Carbon_price/{KILOGRAMS_PER_TON:.0f}*Carbon_{fuel})"
            found[mark][fuel] = [
                page.formula(column, f"{relative(cell)}*{each}", cell.value * price, MONEY, row=cell.row)
                for cell in fuels[fuel]
            ]
    return found


def _billed(
    page: Page, energy: dict[str, dict[str, list[Cell]]], billed: dict[str, dict[str, list[Cell]]]
) -> dict[str, dict[str, list[Cell]]]:
    """Costs of each month as the bills have them."""
    return {
        mark: {
            fuel: [
                page.formula(column, cost.ref, cost.value, MONEY, row=cell.row)
                for cell, cost in zip(fuels[fuel], billed[mark][fuel], strict=True)
            ]
            for fuel, column in (("electricity", _POWER_COST), ("gas", _GAS_COST))
        }
        for mark, fuels in energy.items()
    }


def _totals(
    page: Page, rates: Rates, months: dict[int, list[Cell]], costs: dict[str, list[Cell]]
) -> EnergyYear:
    """The row below December."""
    row = months[1][-1].row + 1
    page.text(0, "Year", "total_text", row=row)
    columns = {**months, _POWER_COST: costs["electricity"], _GAS_COST: costs["gas"]}
    totals: dict[int, Cell] = {}
    for column, cells in columns.items():
        if column == _PEAK:
            area = f"{relative(cells[0])}:{relative(cells[-1])}"
            highest = max(cell.value for cell in cells)
            totals[column] = page.formula(column, f"MAX({area})", highest, ONE, "total", row=row)
        else:
            form = MONEY if column in (_POWER_COST, _GAS_COST) else WHOLE
            totals[column] = page.sum_of(column, cells, form, row=row)
    power, gas = totals[_ELECTRICITY], totals[_GAS]
    factors = rates.named["Carbon_electricity"].value, rates.named["Carbon_gas"].value
    page.text(0, "Carbon dioxide [kg/year]", "line", row=row + 1)
    carbon = page.formula(
        _ELECTRICITY,
        f"{relative(power)}*Carbon_electricity+{relative(gas)}*Carbon_gas",
        power.value * factors[0] + gas.value * factors[1],
        WHOLE,
        row=row + 1,
    )
    return EnergyYear(totals[_POWER_COST], totals[_GAS_COST], totals[_PEAK], totals[_REMOVED], carbon)
