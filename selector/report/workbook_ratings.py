"""The workbook's ratings: each unit's rating rows beside its fitted curve, and the parameters of the curve.

Units: as the headings say; parameters in SI, as the curve uses them.
"""

from __future__ import annotations

from selector.inputs.quantities import display_unit, display_value
from selector.physics import unit_parameters as place
from selector.physics.fit import FittedUnit
from selector.report.text import plural
from selector.report.workbook_cells import Column, Page, relative
from selector.report.workbook_content import Content
from selector.report.workbook_styles import ONE, PERCENT, TWO, WHOLE

NAME = "Ratings"
WIDTHS = (37, 13, 13, 13, 13, 13, 13, 13, 13, 13)

_COMMON = (
    (place.AIRFLOW, "airflow at the entering state", "m³/s"),
    (place.LOWEST_DRY_BULB, "lowest entering dry bulb", "°C"),
    (place.HIGHEST_DRY_BULB, "highest entering dry bulb", "°C"),
    (place.LOWEST_VAPOUR_PRESSURE, "lowest entering vapour pressure", "Pa"),
    (place.HIGHEST_VAPOUR_PRESSURE, "highest entering vapour pressure", "Pa"),
)
_EVAPORATOR = (
    (place.COIL_FLOW, "A0 of bypass factor = exp(-A0 / flow)", "kg/s"),
    (place.PRECOOL, "effectiveness of the pre-cooler", "-"),
    (place.CAPACITY, "capacity at 0 °C surface, 0 °C entering", "W"),
    (place.CAPACITY_PER_SURFACE, "capacity by surface temperature", "W/K"),
    (place.CAPACITY_PER_ENTERING, "capacity by entering temperature", "W/K"),
    (place.POWER, "power at 0 °C surface, 0 °C entering", "W"),
    (place.POWER_PER_SURFACE, "power by surface temperature", "W/K"),
    (place.POWER_PER_ENTERING, "power by entering temperature", "W/K"),
    (place.FROST_LOSS, "time lost to defrost below 0 °C", "1/K"),
)
_ROTOR = (
    (place.FIRST_EFFECTIVENESS, "effectiveness, first potential", "-"),
    (place.SECOND_EFFECTIVENESS, "effectiveness, second potential", "-"),
    (place.REACTIVATION_AIRFLOW, "reactivation airflow", "m³/s"),
    (place.REACTIVATION_HEAT, "heat into the reactivation air", "W"),
    (place.FAN_HEAT, "heat of the process fan", "W"),
    (place.ELECTRICITY, "electric power", "W"),
    (place.GAS, "gas", "W"),
)


def write_ratings(*, page: Page, content: Content) -> None:
    """Write the rating rows and fits of every model that an option has.

    Args: page, the sheet, empty; content.
    """
    page.title("Ratings")
    page.paragraph(
        "Rating rows of the catalogue at 101.325 kPa, and what the fitted curve gives on the same air. The error is "
        "curve over row less 1; a curve that misses a row by more than 5 % of the row and 2 % of nominal is refused."
    )
    breaks = []
    for fitted in content.fitted:
        if fitted is not content.fitted[0]:
            breaks.append(page.row)
        _unit(page, content, fitted)
    page.page_breaks(breaks)
    if content.air:
        _levelled(page, content)


def _levelled(page: Page, content: Content) -> None:
    """Every option's units on the same entering air."""
    units = content.site.display_units
    water, warmth = display_unit("moisture_rate", units), display_unit("temperature", units)
    page.part("All options' units on the same entering air")
    for air in content.air:
        page.paragraph(
            f"{air.name}: {display_value(air.dry_bulb, 'temperature', units):.1f} {warmth}, "
            f"{100.0 * air.relative_humidity:.1f} % RH, {air.pressure / 1000.0:.1f} kPa"
        )
    heads = [Column("Model, and option"), Column("Count [units]", WHOLE)]
    for air in content.air:
        heads += [Column(f"Removal, {air.name} [{water}]", TWO), Column(f"Power, {air.name} [kW]", TWO)]
    page.headings(heads)
    for option in content.options:
        for rating in option.ratings:
            own = ", as the proposal rates it" if rating.own else ""
            page.text(0, f"{option.mark}: {rating.model}{own}")
            page.number(1, rating.count, WHOLE)
            for column, at in zip(range(2, 2 + 2 * len(rating.at), 2), rating.at, strict=True):
                page.figure(
                    column, display_value(at.removal, "moisture_rate", units) if at.runs else None, TWO
                )
                page.figure(column + 1, at.power / 1000.0 if at.runs else None, TWO)
            page.row += 1


def _unit(page: Page, content: Content, fitted: FittedUnit) -> None:
    units = content.site.display_units
    water = display_unit("moisture_rate", units)
    warmth = display_unit("temperature", units)
    unit = fitted.unit
    page.part(f"{unit.model}: {unit.technology}, {plural(len(unit.ratings), 'rating row')}")
    if fitted.derived:
        page.paragraph(
            "Derived: too few rows for a curve of its own, so the class curve of its technology, scaled to them; its "
            f"removal on other air may be {fitted.low:.2f} to {fitted.high:.2f} of what is calculated."
        )
    heads = [
        Column("Rating row [-]"),
        Column(f"Entering dry bulb [{warmth}]", ONE),
        Column("Entering humidity [% RH]", ONE),
        Column(f"Removal, row [{water}]", TWO),
        Column(f"Removal, curve [{water}]", TWO),
        Column("Error of removal [%]", PERCENT),
        Column("Power, row [W]", WHOLE),
        Column("Power, curve [W]", WHOLE),
        Column("Error of power [%]", PERCENT),
    ]
    burns = any(row.gas > 0.0 for row in unit.ratings)
    if burns:
        heads.append(Column("Gas, row [W]", WHOLE))
    page.headings(heads)
    for number, (row, error) in enumerate(zip(unit.ratings, fitted.row_errors, strict=True), start=1):
        page.text(0, f"{number}")
        page.number(1, display_value(row.dry_bulb, "temperature", units), ONE)
        page.number(2, 100.0 * row.relative_humidity, ONE)
        removal = display_value(row.removal, "moisture_rate", units)
        pairs = ((3, removal, error.removal, TWO), (6, row.power, error.power, WHOLE))
        for column, value, share, form in pairs:
            given = page.number(column, value, form)
            curve = page.number(column + 1, value * (1.0 + share), form)
            if value > 0.0:
                page.formula(column + 2, f"{relative(curve)}/{relative(given)}-1", share, PERCENT)
        if burns:
            page.number(9, row.gas, WHOLE)
        page.row += 1
    page.row += 1
    page.headings((Column("Parameter of the curve"), Column("Value [see unit]", TWO), Column("Unit")))
    rotor = fitted.parameters[place.MACHINE] == place.ROTOR
    for index, words, symbol in (*_COMMON, *(_ROTOR if rotor else _EVAPORATOR)):
        page.text(0, words)
        value = float(fitted.parameters[index])
        page.number(1, value, WHOLE if abs(value) >= 1000.0 else "0.0000")
        page.text(2, symbol, "unit")
        page.row += 1
