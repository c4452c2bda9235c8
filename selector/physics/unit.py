"""One dehumidifier running at full on given entering air, whatever its technology: the compiled call.

A unit runs inside a box of entering dry bulb and vapour pressure (`fit` takes it from the rating rows and the entering
limits); outside it does not run. Its airflow is volumetric at the entering state, so at altitude the mass flow follows
the density. Water and energy are conserved by construction: for a refrigerant unit

    flow (h_out - h_in) = power - removal c_w surface,

and for a desiccant unit the process air gains its fan's power and what `desiccant.rotor` carries over, while vapour and
the remaining reactivation heat leave with the exhaust.
Units: dry bulb °C, humidity ratio kg/kg, pressure Pa, flow kg dry air/s, removal kg/s, power W.
"""

from __future__ import annotations

import math

from selector.inputs.site import FloatArray, Unit
from selector.physics.compiled import compiled
from selector.physics.desiccant import KELVIN, rotor
from selector.physics.moist_air import WATER_HEAT, dry_bulb_of_enthalpy, enthalpy, vapour_pressure, volume
from selector.physics.refrigerant import electric_power, evaporator, evaporator_from, running_share
from selector.physics.unit_parameters import (
    AIRFLOW,
    CAPACITY,
    CAPACITY_PER_ENTERING,
    CAPACITY_PER_SURFACE,
    ELECTRICITY,
    FAN_HEAT,
    GAS,
    HIGHEST_DRY_BULB,
    HIGHEST_VAPOUR_PRESSURE,
    LOWEST_DRY_BULB,
    LOWEST_VAPOUR_PRESSURE,
    MACHINE,
    REACTIVATION_OUTDOOR,
    ROTOR,
)

SHUT_OFF = 2.0  # times the static up to which the fan holds its airflow: no flow; common practice, no source


@compiled
def within_range(unit: FloatArray, dry_bulb: float, humidity_ratio: float, pressure: float) -> bool:
    """Whether the unit runs on this air.

    Args: unit, row of parameters; dry_bulb [°C]; humidity_ratio [kg/kg]; pressure [Pa].
    Returns: True inside the box of its rows and entering limits, edges included.
    """
    if dry_bulb < unit[LOWEST_DRY_BULB] or dry_bulb > unit[HIGHEST_DRY_BULB]:
        return False
    vapour = vapour_pressure(humidity_ratio, pressure)
    return bool(unit[LOWEST_VAPOUR_PRESSURE] <= vapour <= unit[HIGHEST_VAPOUR_PRESSURE])


@compiled
def performance(
    unit: FloatArray,
    flow_fraction: float,
    dry_bulb: float,
    humidity_ratio: float,
    pressure: float,
    outdoor_dry_bulb: float,
    outdoor_humidity_ratio: float,
    space_dry_bulb: float,
    space_humidity_ratio: float,
) -> tuple[float, float, float, float, float, float, float, float]:
    """One unit, running at full in a steady entering state.

    Args: unit, row of parameters (`unit_parameters`); flow_fraction [-], share of its airflow that passes;
        dry_bulb [°C] and humidity_ratio [kg/kg], entering; pressure [Pa]; outdoor_dry_bulb [°C],
        outdoor_humidity_ratio [kg/kg], space_dry_bulb [°C] and space_humidity_ratio [kg/kg], for reactivation air.
    Returns: runs, 1.0 or 0.0; flow [kg dry air/s]; removal [kg/s]; electric power [W], fan included; gas [W]; leaving
        dry bulb [°C]; leaving humidity ratio [kg/kg]; surface temperature [°C]: the apparatus dew point, or the
        process air off the rotor. Where it does not run: zeros, and leaving and surface equal entering.
    """
    runs, flow, removal, power, gas, leaving, leaving_ratio, surface, _ = performance_from(
        unit, flow_fraction, dry_bulb, humidity_ratio, pressure, outdoor_dry_bulb, outdoor_humidity_ratio,
        space_dry_bulb, space_humidity_ratio, 0.0, 0.0,
    )  # fmt: skip
    return runs, flow, removal, power, gas, leaving, leaving_ratio, surface


@compiled
def performance_from(
    unit: FloatArray,
    flow_fraction: float,
    dry_bulb: float,
    humidity_ratio: float,
    pressure: float,
    outdoor_dry_bulb: float,
    outdoor_humidity_ratio: float,
    space_dry_bulb: float,
    space_humidity_ratio: float,
    guess: float,
    known: float,
) -> tuple[float, float, float, float, float, float, float, float, float]:
    """`performance`, started from what it gave before.

    Args: as `performance`; guess [°C] of the surface and known [kg/kg], its saturated humidity ratio; 0 where there are
        none.
    Returns: as `performance`; saturated humidity ratio at the apparatus dew point [kg/kg], 0 where there is none.
    """
    if flow_fraction <= 0.0 or not within_range(unit, dry_bulb, humidity_ratio, pressure):
        return 0.0, 0.0, 0.0, 0.0, 0.0, dry_bulb, humidity_ratio, dry_bulb, 0.0
    flow = flow_fraction * unit[AIRFLOW] / volume(dry_bulb, humidity_ratio, pressure)
    if unit[MACHINE] == ROTOR:
        if unit[REACTIVATION_OUTDOOR] > 0.5:
            leaving, leaving_ratio, _, _, _ = rotor(
                unit, flow, dry_bulb, humidity_ratio, pressure, outdoor_dry_bulb, outdoor_humidity_ratio
            )
        else:
            leaving, leaving_ratio, _, _, _ = rotor(
                unit, flow, dry_bulb, humidity_ratio, pressure, space_dry_bulb, space_humidity_ratio
            )
        warmed = dry_bulb_of_enthalpy(enthalpy(leaving, leaving_ratio) + unit[FAN_HEAT] / flow, leaving_ratio)
        removal = flow * (humidity_ratio - leaving_ratio)
        return 1.0, flow, removal, unit[ELECTRICITY], unit[GAS], warmed, leaving_ratio, leaving, 0.0
    surface, _, _, evaporator_ratio, saturated = evaporator_from(
        unit, flow, dry_bulb, humidity_ratio, pressure, guess, known
    )
    taken = running_share(unit, surface) * (humidity_ratio - evaporator_ratio)  # kg/kg
    power = electric_power(unit, surface, dry_bulb)
    leaving_ratio = humidity_ratio - taken
    leaving = dry_bulb_of_enthalpy(
        enthalpy(dry_bulb, humidity_ratio) + power / flow - taken * WATER_HEAT * surface, leaving_ratio
    )
    return 1.0, flow, flow * taken, power, 0.0, leaving, leaving_ratio, surface, saturated


@compiled
def carnot_share(unit: FloatArray, dry_bulb: float, humidity_ratio: float, pressure: float) -> float:
    """How much of an ideal machine's capacity a refrigerant unit claims for the power it draws.

    Evaporating no warmer than the surface and condensing no cooler than the leaving air, no machine gives more than
    power x surface / (leaving - surface) in kelvin.

    Args: unit, row of parameters; dry_bulb [°C] and humidity_ratio [kg/kg], entering; pressure [Pa].
    Returns: capacity over the ideal one [-]; outside 0 to 1 no machine.
    Source: second law of thermodynamics.
    """
    flow = unit[AIRFLOW] / volume(dry_bulb, humidity_ratio, pressure)
    surface, _, _, ratio = evaporator(unit, flow, dry_bulb, humidity_ratio, pressure)
    power = electric_power(unit, surface, dry_bulb)
    taken = humidity_ratio - ratio
    leaving = dry_bulb_of_enthalpy(
        enthalpy(dry_bulb, humidity_ratio) + power / flow - taken * WATER_HEAT * surface, ratio
    )
    capacity = unit[CAPACITY] + unit[CAPACITY_PER_SURFACE] * surface + unit[CAPACITY_PER_ENTERING] * dry_bulb
    return float(capacity * (leaving - surface) / (power * (surface + KELVIN)))


def flow_fraction(*, unit: Unit, static: float) -> float:
    """Share of the unit's airflow that passes against an external static pressure.

    The fan holds its airflow up to `unit.fan_static`; beyond, it follows a fan's own curve, on which pressure
    falls with the square of flow, from there to no flow at `SHUT_OFF` times that pressure:
    fraction = sqrt((SHUT_OFF fan_static - static) / ((SHUT_OFF - 1) fan_static)).

    Args: unit; static [Pa], negative where the static helps.
    Returns: fraction [-], 0 to 1.
    """
    if static <= unit.fan_static:
        return 1.0
    shut_off = SHUT_OFF * unit.fan_static
    if static >= shut_off:
        return 0.0
    return math.sqrt((shut_off - static) / (shut_off - unit.fan_static))
