"""The commissioning sheet of a design: what to read on site at three entering conditions, and how it is controlled.

Units: dry bulb and dew point °C, humidity ratio kg/kg, pressure Pa.
"""

from __future__ import annotations

from dataclasses import dataclass

from selector.decide.duty import air_of, duty_at, fitted_of
from selector.decide.readings import (
    CUP,
    GAS_METER,
    TOLERANCES,
    Condition,
    Quantity,
    ReadingsAt,
    Tolerance,
    rating_error,
    readings_at,
)
from selector.decide.schedule import Schedule, ScheduleRow, equipment_schedule, kinds_of
from selector.inputs.site import Install
from selector.physics.class_curves import RATING_DRY_BULB, RATING_RELATIVE_HUMIDITY
from selector.physics.fit import FittedUnit
from selector.physics.moist_air import (
    humidity_ratio_of_relative_humidity,
    humidity_ratio_of_vapour_pressure,
    vapour_pressure,
)
from selector.physics.prepare import Prepared, lead_order
from selector.physics.unit_parameters import (
    HIGHEST_DRY_BULB,
    HIGHEST_VAPOUR_PRESSURE,
    LOWEST_DRY_BULB,
    LOWEST_VAPOUR_PRESSURE,
)

COOL_DRY_BULB = 18.3  # °C, 65 °F: a cool day's return air
COOL_RELATIVE_HUMIDITY = 0.45
INSIDE = (
    0.02  # of the range of vapour pressure that the cool condition keeps from its edge; 0.5 K of dry bulb
)


@dataclass(frozen=True, slots=True, eq=False)
class UnitSheet:
    """The readings of units that are alike."""

    tags: tuple[str, ...]
    row: ScheduleRow
    rating_error: float  # largest miss of the fitted curve on the unit's rating rows, share
    entering_dry_bulb: tuple[float, float]  # °C, outside which the unit does not run
    entering_dew_point: tuple[float, float]  # °C, likewise
    conditions: tuple[ReadingsAt, ...]


@dataclass(frozen=True, slots=True)
class Stage:
    """Units that the humidistat calls together or one after the other."""

    place: int  # from 1
    tags: tuple[str, ...]  # empty for units that are there already
    model: str
    arrangement: str
    count: int
    specific: float  # kg/kWh at the standard rating condition, which sets the order


@dataclass(frozen=True, slots=True, eq=False)
class CommissioningSheet:
    """What to read, how far it may be off, and how the units are to be controlled."""

    schedule: Schedule
    sheets: tuple[UnitSheet, ...]
    stages: tuple[Stage, ...]  # in the order in which they are called
    tolerances: tuple[Tolerance, ...]  # those that take part


def commissioning_sheet(*, prepared: Prepared, install: tuple[Install, ...]) -> CommissioningSheet:
    """Write the commissioning sheet of a design.

    Args: prepared; install, the new units, in any order.
    Returns: `CommissioningSheet`, empty for an empty design.
    Raises: ValueError where a model is not in the catalogue.
    """
    schedule = equipment_schedule(prepared=prepared, install=install)
    sheets = tuple(_sheet(prepared, tags, row) for tags, row in kinds_of(rows=schedule.rows))
    return CommissioningSheet(
        schedule=schedule,
        sheets=sheets,
        stages=_stages(prepared, schedule),
        tolerances=_taking_part(sheets),
    )


def _sheet(prepared: Prepared, tags: tuple[str, ...], row: ScheduleRow) -> UnitSheet:
    """Readings of one kind of unit at its three conditions."""
    fitted = fitted_of(prepared=prepared, model=row.unit.model)
    static, duct, pressure = row.connection.static, row.connection.duct, row.design.pressure
    outdoor, space = row.design.outdoor, row.design.space
    conditions = [
        readings_at(
            fitted=fitted,
            static=static,
            duct=duct,
            condition="design hour",
            duty=met.duty,
            coil=met.coil,
            share=met.share,
            reactivation=(
                (outdoor.dry_bulb, outdoor.humidity_ratio),
                (space.dry_bulb, space.humidity_ratio),
            ),
        )
        for met in row.design.met
        if met.duty.runs
    ]
    standard = humidity_ratio_of_relative_humidity(RATING_DRY_BULB, RATING_RELATIVE_HUMIDITY, pressure)
    states: tuple[tuple[Condition, float, float], ...] = (
        ("standard condition", RATING_DRY_BULB, float(standard)),
        ("cool and dry", *cool_and_dry(fitted=fitted, pressure=pressure)),
    )
    for name, dry_bulb, ratio in states:
        duty = duty_at(
            fitted=fitted,
            flow_fraction=row.connection.flow_fraction,
            dry_bulb=dry_bulb,
            humidity_ratio=ratio,
            pressure=pressure,
        )
        if duty.runs:
            conditions.append(readings_at(fitted=fitted, static=static, duct=duct, condition=name, duty=duty))
    return UnitSheet(
        tags,
        row,
        rating_error(fitted=fitted),
        *entering_range(fitted=fitted, pressure=pressure),
        tuple(conditions),
    )


def entering_range(*, fitted: FittedUnit, pressure: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """The air outside which a unit does not run.

    Args: fitted; pressure [Pa].
    Returns: lowest and highest dry bulb [°C], lowest and highest dew point [°C].
    """
    row = fitted.parameters
    low, high = float(row[LOWEST_DRY_BULB]), float(row[HIGHEST_DRY_BULB])
    dew = [
        air_of(
            dry_bulb=high,
            humidity_ratio=float(humidity_ratio_of_vapour_pressure(float(row[place]), pressure)),
            pressure=pressure,
        ).dew_point
        for place in (LOWEST_VAPOUR_PRESSURE, HIGHEST_VAPOUR_PRESSURE)
    ]
    return (low, high), (dew[0], dew[1])


def cool_and_dry(*, fitted: FittedUnit, pressure: float) -> tuple[float, float]:
    """A cool, dry entering state within a unit's range.

    Args: fitted; pressure [Pa].
    Returns: dry bulb [°C] and humidity ratio [kg/kg]: 18.3 °C and 45 %, or what of the unit's range lies nearest.
    """
    row = fitted.parameters
    low, high = float(row[LOWEST_DRY_BULB]), float(row[HIGHEST_DRY_BULB])
    dry_bulb = min(max(COOL_DRY_BULB, low + 0.5), max(high - 0.5, low))
    least, most = float(row[LOWEST_VAPOUR_PRESSURE]), float(row[HIGHEST_VAPOUR_PRESSURE])
    ratio = humidity_ratio_of_relative_humidity(dry_bulb, COOL_RELATIVE_HUMIDITY, pressure)
    margin = INSIDE * (most - least)
    vapour = min(max(float(vapour_pressure(ratio, pressure)), least + margin), most - margin)
    return dry_bulb, float(humidity_ratio_of_vapour_pressure(vapour, pressure))


def _stages(prepared: Prepared, schedule: Schedule) -> tuple[Stage, ...]:
    """The order in which the humidistat calls new and existing units."""
    site = prepared.site
    tags = {(row.unit.model, row.arrangement): names for names, row in kinds_of(rows=schedule.rows)}
    every = lead_order(prepared=prepared, install=(*schedule.evaluation.install, *site.existing_units))
    models = [unit.model for unit in site.catalog.units]
    return tuple(
        Stage(
            place=place,
            tags=tags.get((part.model, part.arrangement), ()),
            model=part.model,
            arrangement=part.arrangement,
            count=part.count,
            specific=prepared.specific[models.index(part.model)],
        )
        for place, part in enumerate(every, start=1)
    )


def _taking_part(sheets: tuple[UnitSheet, ...]) -> tuple[Tolerance, ...]:
    """Tolerances that some reading of the sheets rests on."""
    used = {reading.quantity for sheet in sheets for at in sheet.conditions for reading in at.readings}
    if not used:
        return ()
    needs: dict[Tolerance, Quantity] = {CUP: "condensate flow", GAS_METER: "gas"}
    return tuple(one for one in TOLERANCES if one not in needs or needs[one] in used)
