"""The shape that units of one technology share, and how a few plain numbers become a row of parameters.

The shapes are invented, plausible for the trade and checked against its common facts; they are what a fit starts from
and what a unit with too few rating points is given. Shares are per kelvin and refer to 10 °C surface and 26.7 °C
entering, where a refrigerant unit stands at the traditional rating state of 26.7 °C and 60 %.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from selector.inputs.site import FloatArray, Technology, Unit
from selector.physics.moist_air import humidity_ratio_of_relative_humidity, volume
from selector.physics.unit_parameters import (
    AIRFLOW,
    CAPACITY,
    CAPACITY_PER_ENTERING,
    CAPACITY_PER_SURFACE,
    COIL_FLOW,
    ELECTRICITY,
    EVAPORATOR,
    FAN_HEAT,
    FIRST_EFFECTIVENESS,
    FROST_LOSS,
    GAS,
    HIGHEST_DRY_BULB,
    HIGHEST_VAPOUR_PRESSURE,
    LOWEST_DRY_BULB,
    LOWEST_VAPOUR_PRESSURE,
    MACHINE,
    POWER,
    POWER_PER_ENTERING,
    POWER_PER_SURFACE,
    PRECOOL,
    REACTIVATION_AIRFLOW,
    REACTIVATION_HEAT,
    REACTIVATION_OUTDOOR,
    ROTOR,
    SECOND_EFFECTIVENESS,
    SIZE,
)

RATING_PRESSURE = 101325.0  # Pa
RATING_DRY_BULB = 26.7  # °C
RATING_RELATIVE_HUMIDITY = 0.60
REFERENCE_SURFACE = 10.0  # °C
FAN_WORK = 900.0  # J/m³ of air moved by a desiccant unit's fans; assumed where electricity heats as well
BURNER_EFFICIENCY = (
    0.80  # heat into the reactivation air / gas, indirect burner, flue outdoors; common practice
)


@dataclass(frozen=True, slots=True)
class ClassCurve:
    """The common shape of a technology: value of each number, where it may lie, and its spread in the trade."""

    central: Mapping[str, float]
    lowest: Mapping[str, float]
    highest: Mapping[str, float]
    weak: Mapping[str, float]  # replaces central values: loses most away from the rating state
    strong: Mapping[str, float]  # loses least
    dry_bulb: tuple[float, float]  # °C, range of the class curve
    vapour_pressure: tuple[float, float]  # Pa


def _curve(
    rows: Mapping[str, tuple[float, float, float, float, float]],
    dry_bulb: tuple[float, float],
    vapour_pressure: tuple[float, float],
) -> ClassCurve:
    central, lowest, highest, weak, strong = (
        MappingProxyType({name: row[i] for name, row in rows.items()}) for i in range(5)
    )
    return ClassCurve(central, lowest, highest, weak, strong, dry_bulb, vapour_pressure)


# name: central, lowest, highest, weak, strong. All invented; see the module's text.
_EVAPORATOR_ROWS = {
    "bypass_factor": (0.15, 0.02, 0.50, 0.18, 0.12),
    "capacity_per_surface": (0.036, 0.015, 0.070, 0.044, 0.028),  # 1/K
    "capacity_per_entering": (-0.006, -0.025, 0.012, -0.003, -0.009),  # 1/K
    "frost_loss": (0.06, 0.0, 0.20, 0.10, 0.03),  # 1/K
    "power_per_surface": (0.008, -0.010, 0.040, 0.006, 0.010),  # 1/K
    "power_per_entering": (0.012, -0.005, 0.040, 0.010, 0.014),  # 1/K
}

CLASS_CURVES: Mapping[Technology, ClassCurve] = MappingProxyType(
    {
        "refrigerant": _curve(_EVAPORATOR_ROWS, (10.0, 40.0), (700.0, 3400.0)),
        "refrigerant-precool": _curve(
            {**_EVAPORATOR_ROWS, "precool": (0.45, 0.05, 0.85, 0.40, 0.50)}, (10.0, 40.0), (700.0, 3400.0)
        ),
        "desiccant": _curve(
            {
                "first_effectiveness": (0.06, 0.0, 0.30, 0.10, 0.04),
                "second_effectiveness": (0.38, 0.05, 0.98, 0.38, 0.38),
            },
            (5.0, 40.0),
            (600.0, 3400.0),
        ),
    }
)


def rating_flow(*, unit: Unit) -> float:
    """Mass flow of a unit at the traditional rating state.

    Args: unit.
    Returns: flow [kg dry air/s] at 26.7 °C, 60 %, 101.325 kPa.
    """
    ratio = humidity_ratio_of_relative_humidity(RATING_DRY_BULB, RATING_RELATIVE_HUMIDITY, RATING_PRESSURE)
    return float(unit.airflow / volume(RATING_DRY_BULB, ratio, RATING_PRESSURE))


def open_row(*, unit: Unit) -> FloatArray:
    """A row of parameters with the unit's airflow and no bounds on entering air.

    Args: unit.
    Returns: row (SIZE,).
    """
    row = np.zeros(SIZE)
    row[AIRFLOW] = unit.airflow
    row[LOWEST_DRY_BULB] = row[LOWEST_VAPOUR_PRESSURE] = -math.inf
    row[HIGHEST_DRY_BULB] = row[HIGHEST_VAPOUR_PRESSURE] = math.inf
    return row


def evaporator_row(*, unit: Unit, capacity: float, power: float, shape: Mapping[str, float]) -> FloatArray:
    """Row of a refrigerant unit from its capacity, its power and the shape of both.

    Args: unit; capacity [W] and power [W] at 10 °C surface and 26.7 °C entering; shape, by the names of its
        class curve.
    Returns: row (SIZE,), without bounds on entering air.
    """
    row = open_row(unit=unit)
    row[MACHINE] = EVAPORATOR
    row[COIL_FLOW] = -math.log(shape["bypass_factor"]) * rating_flow(unit=unit)
    row[PRECOOL] = shape.get("precool", 0.0)
    row[CAPACITY_PER_SURFACE] = capacity * shape["capacity_per_surface"]
    row[CAPACITY_PER_ENTERING] = capacity * shape["capacity_per_entering"]
    row[CAPACITY] = (
        capacity
        - row[CAPACITY_PER_SURFACE] * REFERENCE_SURFACE
        - row[CAPACITY_PER_ENTERING] * RATING_DRY_BULB
    )
    row[POWER_PER_SURFACE] = power * shape["power_per_surface"]
    row[POWER_PER_ENTERING] = power * shape["power_per_entering"]
    row[POWER] = (
        power - row[POWER_PER_SURFACE] * REFERENCE_SURFACE - row[POWER_PER_ENTERING] * RATING_DRY_BULB
    )
    row[FROST_LOSS] = shape["frost_loss"]
    return row


def rotor_row(*, unit: Unit, electricity: float, gas: float, shape: Mapping[str, float]) -> FloatArray:
    """Row of a desiccant unit from what it draws and the shape of its rotor.

    With gas reactivation all electricity drives fans, in proportion to their airflows; with electric reactivation the
    fans take `FAN_WORK`, at most half, and the heater takes the rest. The reactivation fan's heat joins the heater's.

    Args: unit; electricity [W]; gas [W]; shape, by the names of its class curve.
    Returns: row (SIZE,), without bounds on entering air.
    """
    row = open_row(unit=unit)
    row[MACHINE] = ROTOR
    moved = unit.airflow + unit.reactivation_airflow
    fans = electricity if unit.reactivation_energy == "gas" else min(FAN_WORK * moved, 0.5 * electricity)
    row[FAN_HEAT] = fans * unit.airflow / moved
    row[REACTIVATION_HEAT] = electricity - row[FAN_HEAT] + BURNER_EFFICIENCY * gas
    row[REACTIVATION_AIRFLOW] = unit.reactivation_airflow
    row[REACTIVATION_OUTDOOR] = 1.0 if unit.reactivation_air == "outdoor" else 0.0
    row[ELECTRICITY] = electricity
    row[GAS] = gas
    row[FIRST_EFFECTIVENESS] = shape["first_effectiveness"]
    row[SECOND_EFFECTIVENESS] = shape["second_effectiveness"]
    return row
