"""Expected readings of a unit on one entering state, and how far a right reading may lie from them.

Expected readings come from the same call that the hourly loop makes. A tolerance joins, as the root of the sum of
squares, everything that can part a right reading on a good unit from the figure expected: the instrument itself, the
instruments at the inlet (the figure is recomputed for air that much warmer and that much moister), the airflow, and the
unit against its rating.
Units: dry bulb and dew point °C, relative humidity 0 to 1, humidity ratio kg/kg, pressure Pa, airflow m³/s, removal
kg/s, power W, current A.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

from selector.decide.duty import Duty, air_of, duty_at
from selector.physics.ducts import FanPoint, fan_at
from selector.physics.fit import FittedUnit
from selector.physics.moist_air import (
    WATER_HEAT,
    dry_bulb_of_enthalpy,
    enthalpy,
    humidity_ratio_of_relative_humidity,
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


Reactivation = tuple[tuple[float, float], tuple[float, float]]  # outdoor and space: °C and kg/kg each


@dataclass(frozen=True, slots=True)
class Tolerance:
    """One thing that parts a reading from the figure expected."""

    name: str
    value: float  # K, share of relative humidity, Pa, or share of the reading
    unit: Literal["K", "points", "Pa", "share"]
    source: str


_PRACTICE = "common practice, no source"
DRY_BULB = Tolerance("dry-bulb probe", 0.5, "K", _PRACTICE)
HUMIDITY = Tolerance("relative-humidity probe", 0.03, "points", _PRACTICE)
GAUGE = Tolerance("pressure gauge", 5.0, "Pa", _PRACTICE)
DUCT = Tolerance("duct as built, against what is assumed", 0.25, "share", _PRACTICE)
AIRFLOW = Tolerance("airflow as balanced", 0.10, "share", _PRACTICE)
CUP = Tolerance("condensate by cup and watch", 0.05, "share", _PRACTICE)
METER = Tolerance("power meter", 0.02, "share", _PRACTICE)
GAS_METER = Tolerance("gas meter and heating value", 0.05, "share", _PRACTICE)
CLAMP = Tolerance("clamp ammeter", 0.03, "share", _PRACTICE)
POWER_FACTOR = Tolerance("power factor and voltage, for current", 0.15, "share", _PRACTICE)
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


def readings_at(
    *,
    fitted: FittedUnit,
    static: float,
    duct: float,
    condition: Condition,
    duty: Duty,
    coil: str = "",
    share: float = 1.0,
    reactivation: Reactivation | None = None,
) -> ReadingsAt:
    """What instruments should read on one duty.

    Args: fitted; static pressure [Pa] between the unit's taps, its own duct included; duct [Pa], what that duct takes
        of it; condition; duty; coil, what the cooling coil does; share [-] of the unit's running time; reactivation,
        outdoor and space state as `duty_at` takes them, the entering state unless given.
    Returns: `ReadingsAt`.
    """
    expected = _values(fitted, duty)
    moved = _moved(fitted, duty, reactivation, _unit_tolerance(fitted))
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
            readings.append(_static(static, duct, duty.airflow))
    return ReadingsAt(condition, coil, share, duty, tuple(readings), air_side)


def rating_error(*, fitted: FittedUnit) -> float:
    """How far a unit's curve lies from its own rating rows at most.

    Args: fitted.
    Returns: largest miss of removal or power, a share of the row.
    """
    return max(max(abs(one.removal), abs(one.power)) for one in fitted.row_errors)


def _unit_tolerance(fitted: FittedUnit) -> tuple[float, float]:
    """Shares by which removal and power of a good unit may differ from the curve."""
    error = rating_error(fitted=fitted)
    derived = max(1.0 - fitted.low, fitted.high - 1.0)
    return math.hypot(RATED.value, error, derived), math.hypot(RATED.value, error)


def _static(static: float, duct: float, airflow: float) -> Reading:
    """Static pressure between the unit's taps; what its own duct takes of it follows the airflow by the fan laws."""
    balanced = FanPoint(airflow, duct, airflow * duct)
    faster = fan_at(point=balanced, speed_ratio=1.0 + AIRFLOW.value)
    width = math.hypot(GAUGE.value, DUCT.value * static, faster.pressure - duct)
    return Reading(
        "static pressure", static, max(0.0, static - width), static + width, "gauge, duct as built, airflow"
    )


def _moved(
    fitted: FittedUnit,
    duty: Duty,
    reactivation: Reactivation | None,
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
