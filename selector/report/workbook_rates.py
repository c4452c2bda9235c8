"""The rates that the workbook's formulas calculate with, at the head of the sheet of assumptions.

Cells with a border may be changed; everything that is money follows. Units: as the headings and the unit column say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from selector.inputs.quantities import conversion_of
from selector.inputs.site import Site
from selector.money.tariff import BillLine
from selector.report.workbook_cells import Book, Cell, Column, Page
from selector.report.workbook_content import Content, unit_key, units_of
from selector.report.workbook_styles import FACTOR, MONEY, PRICE, SHARE, SIGNIFICANT, TWO, YEAR

LONGEST_STUDY = 30  # years that the life-cycle tables have room for, or the site's own where that is longer
JOULES_PER_KWH = 3.6e6
WATTS_PER_KW = 1000.0
KILOGRAMS_PER_TON = 1000.0

LineKey = tuple[str, str, str, int]  # fuel, kind, name, block
UnitKey = tuple[str, float, float, float]  # as `unit_key`


@dataclass(frozen=True, slots=True)
class UnitRates:
    """The cells of one unit."""

    price: Cell  # currency
    life: Cell  # year
    maintenance: Cell  # currency/year


@dataclass(frozen=True, slots=True)
class Rates:
    """The cells that formulas on other sheets calculate with."""

    named: Mapping[str, Cell]  # by the name that formulas use
    gas_unit: str  # of gas quantities and prices
    joules_per_gas_unit: float
    tariff: Mapping[LineKey, Cell]  # rates of the utility bill's lines, empty under flat prices
    units: Mapping[UnitKey, UnitRates]


def years_of(site: Site) -> int:
    """Years that the life-cycle tables have.

    Args: site. Returns: number of years.
    """
    return max(LONGEST_STUDY, site.costs.study_period)


def key_of(line: BillLine) -> LineKey:
    """What tells one line of a utility bill from another.

    Args: line. Returns: fuel, kind, name and block.
    """
    return line.fuel, line.kind, line.name, line.block


def words_of(line: BillLine) -> str:
    """Name a line of a utility bill.

    Args: line. Returns: text.
    """
    block = f", block {line.block}" if line.block else ""
    return f"{line.kind}: {line.name}{block}" if line.name != line.kind else f"{line.kind}{block}"


def shown_unit(line: BillLine, *, gas_unit: str) -> tuple[str, float]:
    """Unit in which a line's quantity is shown.

    Args: line; gas_unit, in which gas is counted.
    Returns: the unit, and how many of the line's own (J, W, kg, month) it holds.
    """
    if line.unit == "J":
        if line.fuel == "gas" and gas_unit != "kWh":
            return gas_unit, 1.0 / conversion_of(f"USD/{gas_unit}", "energy_price").scale
        return "kWh", JOULES_PER_KWH
    return {"W": ("kW", WATTS_PER_KW)}.get(line.unit, (line.unit, 1.0))


def write_rates(*, book: Book, page: Page, content: Content) -> Rates:
    """Write the rates.

    Args: book; page, the sheet of assumptions, empty; content.
    Returns: their cells.
    """
    site = content.site
    page.title("Assumptions")
    page.paragraph(
        "Cells with a border may be changed: first cost, yearly cost and life-cycle cost of every option follow. "
        "What the simulation used (loads, weather, equipment) stands below as a record: changing it needs a new run."
    )
    gas_unit = "therm" if site.display_units == "IP" else "kWh"
    gas_scale = conversion_of(f"{site.costs.currency}/{gas_unit}", "energy_price").scale
    page.part("Economics and energy prices")
    page.headings((Column("Rate"), Column("Value [see unit]", SHARE), Column("Unit")))
    named = _economics(book, page, site)
    named.update(_energy(book, page, site, gas_unit, gas_scale))
    tariff = _tariff(page, content, gas_unit) if site.costs.tariff is not None else {}
    return Rates(named, gas_unit, 1.0 / gas_scale, tariff, _units(page, content))


def _rate(
    book: Book,
    page: Page,
    name: str,
    words: str,
    value: float,
    form: str,
    unit: str,
    ends: tuple[float, float],
) -> Cell:
    """One named rate."""
    page.text(0, words)
    cell = page.number(1, value, form, "input")
    page.text(2, unit, "unit")
    page.allow(cell, low=ends[0], high=ends[1], whole=form == YEAR)
    book.name(name, cell)
    page.row += 1
    return cell


def _economics(book: Book, page: Page, site: Site) -> dict[str, Cell]:
    """Discounting and escalation; nominal rates, where the site gives them, become real ones by formula."""
    costs = site.costs
    period = (1.0, float(years_of(site)))
    found = {
        "Study_period": _rate(
            book, page, "Study_period", "Study period, whole years", costs.study_period, YEAR, "year", period
        )
    }
    if costs.inflation != 0.0:
        found["Inflation"] = _rate(
            book, page, "Inflation", "Inflation, general", costs.inflation, SHARE, "a year", (-0.1, 0.5)
        )
    given = {one.key for one in site.assumptions if one.origin in ("given", "helper")}
    for name, words, value, ends in (
        ("Discount_rate", "Discount rate", costs.discount_rate, (0.0, 0.5)),
        (
            "Electricity_escalation",
            "Electricity price, escalation",
            costs.electricity_escalation,
            (-0.2, 0.2),
        ),
        ("Gas_escalation", "Gas price, escalation", costs.gas_escalation, (-0.2, 0.2)),
    ):
        nominal = costs.discount_rate_kind == "nominal" and f"costs.{name.lower()}" in given
        if not nominal or "Inflation" not in found:
            found[name] = _rate(book, page, name, f"{words}, real", value, SHARE, "a year", ends)
            continue
        own = f"{name}_nominal"
        stated = (1.0 + value) * (1.0 + costs.inflation) - 1.0
        found[own] = _rate(book, page, own, f"{words}, nominal", stated, SHARE, "a year", (-0.2, 0.9))
        page.text(0, f"{words}, real")
        found[name] = page.formula(1, f"(1+{own})/(1+Inflation)-1", value, SHARE)
        page.text(2, "a year", "unit")
        book.name(name, found[name])
        page.row += 1
    return found


def _energy(book: Book, page: Page, site: Site, gas_unit: str, gas_scale: float) -> dict[str, Cell]:
    """Flat prices, where there is no tariff, and carbon."""
    costs, code = site.costs, site.costs.currency
    found: dict[str, Cell] = {}
    some = (0.0, 1e6)
    if costs.tariff is None:
        for name, words, value, unit in (
            ("Electricity_price", "Electricity, today", costs.electricity * JOULES_PER_KWH, "kWh"),
            ("Gas_price", "Gas, today", costs.gas / gas_scale, gas_unit),
        ):
            found[name] = _rate(book, page, name, words, value, PRICE, f"{code}/{unit}", some)
    for name, words, value, form, unit in (
        ("Carbon_price", "Carbon dioxide, on top of the prices", costs.carbon_price * KILOGRAMS_PER_TON, TWO,
         f"{code}/t"),
        ("Carbon_electricity", "Carbon dioxide of electricity", costs.carbon_electricity * JOULES_PER_KWH, PRICE,
         "kg/kWh"),
        ("Carbon_gas", "Carbon dioxide of gas", costs.carbon_gas / gas_scale, PRICE, f"kg/{gas_unit}"),
    ):  # fmt: skip
        found[name] = _rate(book, page, name, words, value, form, unit, some)
    return found


def _tariff(page: Page, content: Content, gas_unit: str) -> dict[LineKey, Cell]:
    """Rates of the tariff, as the lines of its bills have them."""
    code = content.site.costs.currency
    bill = content.shown.evaluation.costs.bill
    assert bill is not None  # there is a tariff
    page.part("Tariff")
    page.headings(
        (Column("Line"), Column("Rate [see unit]", PRICE), Column("Unit"), Column(""), Column("Fuel"))
    )
    found: dict[LineKey, Cell] = {}
    for line in bill.whole.lines:
        if line.kind == "carbon":
            continue
        unit, size = shown_unit(line, gas_unit=gas_unit)
        page.text(0, words_of(line))
        share = line.kind == "tax"
        form = SHARE if share else MONEY if line.kind in ("fixed", "demand") else FACTOR
        cell = page.number(1, line.rate * size, form, "input")
        page.allow(cell, low=0.0, high=1.0 if share else 1e6)
        per = {"tax": "of the lines above", "demand": f"{code}/{unit} and month", "fixed": f"{code}/month"}
        page.wide(2, 3, per.get(line.kind, f"{code}/{unit}"), "unit")
        page.text(4, line.fuel)
        found[key_of(line)] = cell
        page.row += 1
    return found


def _units(page: Page, content: Content) -> dict[UnitKey, UnitRates]:
    """Prices, service lives and maintenance of the units."""
    code = content.site.costs.currency
    found: dict[UnitKey, UnitRates] = {}
    page.part("Units" + (": invented prices, not for a bid" if content.site.catalog.invented else ""))
    page.headings(
        (
            Column("Model"),
            Column(f"Price [{code}]", MONEY),
            Column("Service life [year]", YEAR),
            Column(f"Upkeep [{code}/year]", MONEY),
            Column("Whose price"),
        )
    )
    ours = {unit_key(unit) for unit in content.site.catalog.units}
    for unit in units_of(content):
        page.text(0, unit.model)
        one = UnitRates(
            price=page.number(1, unit.price, MONEY, "input"),
            life=page.number(2, unit.service_life, SIGNIFICANT, "input"),
            maintenance=page.number(3, unit.maintenance, MONEY, "input"),
        )
        page.text(4, "catalogue" if unit_key(unit) in ours else "proposal", "unit")
        page.allow(one.price, low=0.0, high=1e9)
        page.allow(one.life, low=0.5, high=200.0)
        page.allow(one.maintenance, low=0.0, high=1e9)
        found[unit_key(unit)] = one
        page.row += 1
    return found
