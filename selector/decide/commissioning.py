"""What a technician should read on site once the units run, how far readings may be off, and how they are controlled.

Expected readings come from the same call that the hourly loop makes. A tolerance joins, as the root of the sum of
squares, everything that can part a right reading on a good unit from the figure expected: the instrument itself, the
instruments at the inlet (the figure is recomputed for air that much warmer and that much moister), the airflow, and the
unit against its rating.
Units: dry bulb and dew point °C, relative humidity 0 to 1, pressure Pa, airflow m³/s, removal kg/s, power W, current A.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from selector.decide.duty import Duty, air_of, duty_at, fitted_of
from selector.decide.schedule import Schedule, ScheduleRow, equipment_schedule, kinds_of
from selector.inputs.site import Install
from selector.physics.class_curves import RATING_DRY_BULB, RATING_RELATIVE_HUMIDITY
from selector.physics.fit import FittedUnit
from selector.physics.moist_air import (
    WATER_HEAT,
    dry_bulb_of_enthalpy,
    enthalpy,
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

Condition = Literal["design hour", "standard condition", "cool and dry"]
Quantity = Literal[
    "entering dry bulb",
    "entering relative humidity",
    "entering dew point",
    "leaving dry bulb",
    "leaving relative humidity",
    "leaving dew point",
    "airflow",
    "static pressure",
    "removal",
    "condensate flow",
    "power",
    "gas",
    "current",
]

COOL_DRY_BULB = 18.3  # °C, 65 °F: a cool day's return air
COOL_RELATIVE_HUMIDITY = 0.45
INSIDE = (
    0.02  # of the range of vapour pressure that the cool condition keeps from its edge; 0.5 K of dry bulb
)


@dataclass(frozen=True, slots=True)
class Tolerance:
    """One thing that parts a reading from the figure expected."""

    name: str
    value: float  # K, share of relative humidity, Pa, or share of the reading
    unit: Literal["K", "points of relative humidity", "Pa", "share"]
    source: str


_PRACTICE = "common practice, no source"
DRY_BULB = Tolerance("dry-bulb probe", 0.5, "K", _PRACTICE)
HUMIDITY = Tolerance("relative-humidity probe", 0.03, "points of relative humidity", _PRACTICE)
GAUGE = Tolerance("pressure gauge", 5.0, "Pa", _PRACTICE)
DUCT = Tolerance("duct as built against the duct assumed", 0.25, "share", _PRACTICE)
AIRFLOW = Tolerance("airflow as balanced", 0.10, "share", _PRACTICE)
CUP = Tolerance("condensate by cup and watch, over 15 min", 0.05, "share", _PRACTICE)
METER = Tolerance("power meter", 0.02, "share", _PRACTICE)
GAS_METER = Tolerance("gas meter and heating value", 0.05, "share", _PRACTICE)
CLAMP = Tolerance("clamp ammeter", 0.03, "share", _PRACTICE)
POWER_FACTOR = Tolerance(
    "current from power: power factor and supply voltage", 0.15, "share", f"{_PRACTICE}; nameplate governs"
)
RATED = Tolerance("a unit against its rating", 0.05, "share", _PRACTICE)
TOLERANCES = (
    DRY_BULB,
    HUMIDITY,
    AIRFLOW,
    GAUGE,
    DUCT,
    CUP,
    METER,
    GAS_METER,
    CLAMP,
    POWER_FACTOR,
    RATED,
)


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: what is expected, and the range in which it is right."""

    quantity: Quantity
    expected: float
    low: float
    high: float
    basis: str  # where the range comes from


@dataclass(frozen=True, slots=True, eq=False)
class ReadingsAt:
    """All readings of one unit at one entering condition."""

    condition: Condition
    coil: str  # what the cooling coil does meanwhile, where it matters
    share: float  # of the unit's running time in the design hour; 1 elsewhere
    duty: Duty
    readings: tuple[Reading, ...]
    air_side: (
        float | None
    )  # how far removal taken from air states and airflow may be off, a share; None: no removal


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
    fraction = row.connection.flow_fraction
    pressure = row.design.pressure
    error = max(max(abs(one.removal), abs(one.power)) for one in fitted.row_errors)
    conditions = [
        _readings(fitted, row, error, "design hour", met.coil, met.share, met.duty, _reactivation(row))
        for met in row.design.met
    ]
    standard = humidity_ratio_of_relative_humidity(RATING_DRY_BULB, RATING_RELATIVE_HUMIDITY, pressure)
    states: tuple[tuple[Condition, float, float], ...] = (
        ("standard condition", RATING_DRY_BULB, float(standard)),
        ("cool and dry", *cool_and_dry(fitted=fitted, pressure=pressure)),
    )
    for name, dry_bulb, ratio in states:
        duty = duty_at(
            fitted=fitted, flow_fraction=fraction, dry_bulb=dry_bulb, humidity_ratio=ratio, pressure=pressure
        )
        if duty.runs:
            conditions.append(_readings(fitted, row, error, name, "", 1.0, duty, None))
    return UnitSheet(tags, row, error, *entering_range(fitted=fitted, pressure=pressure), tuple(conditions))


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


def _reactivation(row: ScheduleRow) -> tuple[tuple[float, float], tuple[float, float]]:
    outdoor, space = row.design.outdoor, row.design.space
    return (outdoor.dry_bulb, outdoor.humidity_ratio), (space.dry_bulb, space.humidity_ratio)


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


def current_of(*, fitted: FittedUnit, power: float) -> float:
    """Estimate the current at a power.

    Args: fitted; power [W], electric.
    Returns: current [A]: the nameplate's in proportion to power, taken as that of the rating row with most power.
    """
    most = max(row.power for row in fitted.unit.ratings)
    return fitted.unit.current * power / most if most > 0.0 else fitted.unit.current


def _values(fitted: FittedUnit, duty: Duty) -> dict[Quantity, float]:
    """What instruments would read on a duty."""
    return {
        "entering dry bulb": duty.entering.dry_bulb,
        "entering relative humidity": duty.entering.relative_humidity,
        "entering dew point": duty.entering.dew_point,
        "leaving dry bulb": duty.leaving.dry_bulb,
        "leaving relative humidity": duty.leaving.relative_humidity,
        "leaving dew point": duty.leaving.dew_point,
        "airflow": duty.airflow,
        "removal": duty.removal,
        "condensate flow": duty.condensate,
        "power": duty.power,
        "gas": duty.gas,
        "current": current_of(fitted=fitted, power=duty.power),
    }


def _readings(
    fitted: FittedUnit,
    row: ScheduleRow,
    error: float,
    condition: Condition,
    coil: str,
    share: float,
    duty: Duty,
    reactivation: tuple[tuple[float, float], tuple[float, float]] | None,
) -> ReadingsAt:
    """Expected readings and their ranges on one duty."""
    expected = _values(fitted, duty)
    moved = _moved(fitted, duty, reactivation, _unit_tolerance(fitted, error))
    spread: dict[Quantity, list[float]] = {
        name: [other[name] - value for other in moved] for name, value in expected.items()
    }
    entering = _probe(duty.entering.dry_bulb, duty.entering.relative_humidity, duty.pressure)
    leaving = _probe(duty.leaving.dry_bulb, duty.leaving.relative_humidity, duty.pressure)
    air_side = _air_side(duty, entering[1], leaving[1])
    gathered = duty.condensate > 0.0
    instruments: dict[Quantity, tuple[float, str]] = {
        "entering dry bulb": (DRY_BULB.value, "dry-bulb probe"),
        "entering relative humidity": (HUMIDITY.value, "humidity probe"),
        "entering dew point": (entering[0], "both probes"),
        "leaving dry bulb": (DRY_BULB.value, "probes, airflow, rating"),
        "leaving relative humidity": (HUMIDITY.value, "probes, airflow, rating"),
        "leaving dew point": (leaving[0], "probes, airflow, rating"),
        "airflow": (AIRFLOW.value * duty.airflow, "balancing"),
        "removal": (
            (CUP.value if gathered else air_side or 0.0) * duty.removal,
            "cup, probes at inlet, rating" if gathered else "air states and airflow, rating",
        ),
        "condensate flow": (CUP.value * duty.condensate, "cup, probes at inlet, rating"),
        "power": (METER.value * duty.power, "meter, probes at inlet, rating"),
        "gas": (GAS_METER.value * duty.gas, "meter, rating"),
        "current": (
            math.hypot(CLAMP.value, POWER_FACTOR.value) * expected["current"],
            "clamp, power factor, rating",
        ),
    }
    inlet = ("entering dry bulb", "entering relative humidity", "entering dew point", "airflow")
    readings: list[Reading] = []
    for name, value in expected.items():
        if name in ("condensate flow", "gas") and value == 0.0:
            continue
        own, basis = instruments[name]
        width = own if name in inlet else math.hypot(own, *spread[name])
        top = 1.0 if name.endswith("relative humidity") else math.inf
        bottom = -math.inf if name.endswith(("dry bulb", "dew point")) else 0.0
        readings.append(Reading(name, value, max(bottom, value - width), min(top, value + width), basis))
        if name == "airflow":
            readings.append(_static(row))
    return ReadingsAt(condition, coil, share, duty, tuple(readings), air_side)


def _unit_tolerance(fitted: FittedUnit, error: float) -> tuple[float, float]:
    """Shares by which removal and power of a good unit may differ from the curve."""
    derived = max(1.0 - fitted.low, fitted.high - 1.0)
    return math.hypot(RATED.value, error, derived), math.hypot(RATED.value, error)


def _static(row: ScheduleRow) -> Reading:
    """Static pressure between the unit's taps, its own duct included."""
    static = row.connection.static
    width = math.hypot(GAUGE.value, DUCT.value * static)
    return Reading(
        "static pressure", static, max(0.0, static - width), static + width, "gauge, duct as built"
    )


def _moved(
    fitted: FittedUnit,
    duty: Duty,
    reactivation: tuple[tuple[float, float], tuple[float, float]] | None,
    unit: tuple[float, float],
) -> list[dict[Quantity, float]]:
    """The same readings with one thing moved at a time; a move out of the unit's range is made the other way."""
    dry_bulb, moist = duty.entering.dry_bulb, duty.entering.relative_humidity

    def at(warmer: float, moister: float, more_air: float) -> Duty:
        ratio = humidity_ratio_of_relative_humidity(
            dry_bulb + warmer, min(1.0, max(0.0, moist + moister)), duty.pressure
        )
        outdoor, space = reactivation or (None, None)
        return duty_at(
            fitted=fitted,
            flow_fraction=duty.flow_fraction * (1.0 + more_air),
            dry_bulb=dry_bulb + warmer,
            humidity_ratio=float(ratio),
            pressure=duty.pressure,
            outdoor=outdoor,
            space=space,
        )

    steps = ((DRY_BULB.value, 0.0, 0.0), (0.0, HUMIDITY.value, 0.0), (0.0, 0.0, AIRFLOW.value))
    found: list[dict[Quantity, float]] = []
    for step in steps:
        other = _either_way(at, step)
        if other is not None:
            found.append(_values(fitted, other))
    found.append(_values(fitted, _off_rating(duty, 1.0 + unit[0], 1.0)))
    found.append(_values(fitted, _off_rating(duty, 1.0, 1.0 + unit[1])))
    return found


def _either_way(at: Callable[[float, float, float], Duty], step: tuple[float, float, float]) -> Duty | None:
    for sign in (1.0, -1.0):
        duty = at(*(sign * one for one in step))
        if duty.runs:
            return duty
    return None


def _off_rating(duty: Duty, removal: float, power: float) -> Duty:
    """The same unit on the same air, with removal and power off by a factor each; its balances stay closed."""
    taken = removal * duty.removal
    drawn = power * duty.power
    ratio = duty.entering.humidity_ratio - taken / duty.flow
    gained = duty.flow * (
        float(enthalpy(duty.leaving.dry_bulb, duty.leaving.humidity_ratio))
        - float(enthalpy(duty.entering.dry_bulb, duty.entering.humidity_ratio))
    )
    if (
        duty.condensate > 0.0
    ):  # condensate takes its heat along; a rotor's moisture leaves with its heat of sorption
        heat = gained + drawn - duty.power - (taken - duty.removal) * WATER_HEAT * duty.surface
    else:
        vapour = float(enthalpy(duty.entering.dry_bulb, 2.0) - enthalpy(duty.entering.dry_bulb, 1.0))
        carried = gained + duty.removal * vapour
        heat = power * removal * carried - taken * vapour
    before = float(enthalpy(duty.entering.dry_bulb, duty.entering.humidity_ratio))
    leaving = float(dry_bulb_of_enthalpy(before + heat / duty.flow, ratio))
    return replace(
        duty,
        leaving=air_of(dry_bulb=leaving, humidity_ratio=ratio, pressure=duty.pressure),
        removal=taken,
        condensate=removal * duty.condensate,
        power=drawn,
        gas=power * duty.gas,
    )


def _probe(dry_bulb: float, moist: float, pressure: float) -> tuple[float, float]:
    """What both probes' errors make of dew point [K] and humidity ratio [kg/kg]."""

    def state(warmer: float, moister: float) -> tuple[float, float]:
        ratio = float(
            humidity_ratio_of_relative_humidity(
                dry_bulb + warmer, min(1.0, max(0.001, moist + moister)), pressure
            )
        )
        air = air_of(dry_bulb=dry_bulb + warmer, humidity_ratio=ratio, pressure=pressure)
        return air.dew_point, ratio

    here = state(0.0, 0.0)
    moister = HUMIDITY.value if moist + HUMIDITY.value <= 1.0 else -HUMIDITY.value
    others = (state(DRY_BULB.value, 0.0), state(0.0, moister))
    return (
        math.hypot(*(other[0] - here[0] for other in others)),
        math.hypot(*(other[1] - here[1] for other in others)),
    )


def _air_side(duty: Duty, entering: float, leaving: float) -> float | None:
    """How far removal from two air states and an airflow may be off."""
    taken = duty.entering.humidity_ratio - duty.leaving.humidity_ratio
    if taken <= 0.0:
        return None
    return math.hypot(entering / taken, leaving / taken, AIRFLOW.value)


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
