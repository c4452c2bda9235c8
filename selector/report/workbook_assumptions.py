"""The workbook's record of every value that the run used, with its origin, in the reader's units.

Units: as the unit column says.
"""

from __future__ import annotations

from collections.abc import Sequence

from selector.inputs.quantities import display_unit, display_value
from selector.inputs.site import Assumption, Site
from selector.report.assumption_units import dimension_by, is_share
from selector.report.key_names import name_of
from selector.report.lines import standing_defaults
from selector.report.workbook_cells import Column, Page
from selector.report.workbook_content import Content
from selector.report.workbook_rates import JOULES_PER_KWH, KILOGRAMS_PER_TON, Rates
from selector.report.workbook_styles import ONE, PRICE, SHARE, SIGNIFICANT, THREE, TWO, WHOLE, YEAR

NAME = "Assumptions"
WIDTHS = (35, 13, 11, 11, 14, 9, 31, 32, 34)


# values that stand among the rates: the record shows what stands there
_LIVE = {
    "costs.discount_rate": ("Discount_rate", SHARE),
    "costs.inflation": ("Inflation", SHARE),
    "costs.study_period": ("Study_period", YEAR),
    "costs.electricity_escalation": ("Electricity_escalation", SHARE),
    "costs.gas_escalation": ("Gas_escalation", SHARE),
    "costs.electricity": ("Electricity_price", PRICE),
    "costs.gas": ("Gas_price", PRICE),
    "costs.carbon_price": ("Carbon_price", TWO),
    "costs.carbon_electricity": ("Carbon_electricity", PRICE),
    "costs.carbon_gas": ("Carbon_gas", PRICE),
}


def write_record(*, page: Page, content: Content, rates: Rates) -> None:
    """Write every value that the run used, below the rates.

    Args: page, after `write_rates` and whatever else stands at its head; content; rates.
    """
    site = content.site
    page.page_breaks((page.row,))
    page.part("Every value of the run")
    standing = len(standing_defaults(site))
    counted = f"{standing} of {len(site.assumptions)} values are defaults"
    if not standing:
        page.line("All values were given.")
    elif content.estimate is None:
        page.line(f"{counted}: a first estimate as long as one of them stands.")
    elif content.estimate:
        page.line(f"{counted}: a first estimate as long as one of them may change the answer.")
    else:
        page.line(f"{counted}; none that was tried changes the answer.")
    page.repeat(page.row, page.row)
    page.headings(
        (
            Column("Value of the run"),
            Column("Value [see unit]", SIGNIFICANT),
            Column("Low [same unit]", SIGNIFICANT),
            Column("High [same unit]", SIGNIFICANT),
            Column("Unit"),
            Column("Origin"),
            Column("Source"),
            Column("How to find yours"),
            Column("Key of the site file"),
        )
    )
    live = {key: (rates.named[name], form) for key, (name, form) in _LIVE.items() if name in rates.named}
    for one in content.assumptions:
        page.text(0, name_of(one.key))
        unit = ""
        if isinstance(one.value, str):
            page.text(1, one.value, "word")
        else:
            values, unit = _shown(one, site, rates)
            form = _form([value for value in values if value is not None], unit)
            for column, value in enumerate(values, start=1):
                if column == 1 and one.key in live:
                    cell, form = live[one.key]
                    page.formula(1, cell.here, cell.value, form)
                elif value is not None:
                    page.number(column, value, form)
        page.text(4, unit, "unit")
        for column, text in enumerate((one.origin, one.source, one.find, one.key), start=5):
            page.text(column, text)
        page.row += 1


def _form(values: Sequence[float], unit: str) -> str:
    """Number format that shows about four figures of the largest, and whole numbers as such."""
    if unit == "%":
        return SHARE
    size = max(abs(value) for value in values)
    if size >= 1000.0 or all(abs(value - round(value)) < 1e-9 * max(1.0, size) for value in values):
        return WHOLE
    return ONE if size >= 100.0 else TWO if size >= 10.0 else THREE if size >= 0.1 else "0.000000"


def _shown(one: Assumption, site: Site, rates: Rates) -> tuple[tuple[float | None, ...], str]:
    """Value, low and high in the reader's units, and the unit."""
    assert not isinstance(one.value, str)
    ends = (one.value, one.low, one.high)
    code = site.costs.currency
    size, unit = 0.0, ""
    if one.unit in (f"{code}/J", "kg/J") and one.key.startswith("costs."):
        gas = ".gas" in one.key or "_gas" in one.key
        size, unit = (rates.joules_per_gas_unit, rates.gas_unit) if gas else (JOULES_PER_KWH, "kWh")
    elif one.unit == f"{code}/kg":
        size, unit = KILOGRAMS_PER_TON, "t"
    if unit:
        first = one.unit.partition("/")[0]
        return tuple(None if end is None else end * size for end in ends), f"{first}/{unit}"
    dimension = dimension_by(key=one.key, unit=one.unit)
    if dimension is None:
        return ends, "%" if one.unit == "" and is_share(one.key) else one.unit
    unit = display_unit(dimension, site.display_units, currency=code)
    return tuple(
        None if end is None else display_value(end, dimension, site.display_units) for end in ends
    ), unit
