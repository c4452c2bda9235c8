"""A refrigerant dehumidifier: evaporator and condenser in one airstream, with or without a pre-cooler.

The evaporator is the cooling coil of `coil`: apparatus dew point and bypass factor. Its surface settles where the
heat that it takes from the air is what the refrigeration gives at that surface temperature,

    flow (h(T_ei, w1) - h(T_eo, w_eo) - (w1 - w_eo) c_w T_s) = capacity(T_s, T1),

with T1, w1 entering the unit; T_ei, T_eo entering and leaving the evaporator; T_s the surface. The pre-cooler is a
sensible effectiveness e between the air that enters the unit and the air that leaves the evaporator, so that

    T_ei = T1 - e (T1 - T_eo),   T_eo = BF T_ei + (1 - BF) T_s
    T_eo (1 - e BF) = BF (1 - e) T1 + (1 - BF) T_s.

Air that the pre-cooler brings below its dew point carries its mist on: T_ei is then the temperature at which all its
water would be vapour, the evaporator condenses the mist of the air that touches it, and the mist in the bypassed share
evaporates again on the warm side. So w_eo = BF w1 + (1 - BF) w_s whether mist forms or not.

Capacity and power are linear in surface temperature and entering dry bulb, which stands for the condensing temperature.
The load falls and the capacity rises with the surface temperature, so there is one solution; their difference is
concave in it, so Newton's method reaches it from anywhere. Below 0 °C surface the unit loses the time that defrost
takes, and draws its power during it.
Units: dry bulb °C, humidity ratio kg/kg, pressure Pa, flow kg dry air/s, heat and power W.
Source: ASHRAE Handbook HVAC Systems and Equipment 2016, ch. 25 (mechanical dehumidifiers, description); the coil's
sources stand in `coil`.
"""

from __future__ import annotations

import math

from selector.inputs.site import FloatArray
from selector.physics.coil import COLDEST, likely_surface
from selector.physics.compiled import compiled
from selector.physics.moist_air import WATER_HEAT, enthalpy, saturation_humidity_ratio, saturation_rise
from selector.physics.unit_parameters import (
    CAPACITY,
    CAPACITY_PER_ENTERING,
    CAPACITY_PER_SURFACE,
    COIL_FLOW,
    FROST_LOSS,
    POWER,
    POWER_PER_ENTERING,
    POWER_PER_SURFACE,
    PRECOOL,
)

_STEP = 1e-5  # K; the error after a step this small is below 1e-11 K
_MOST_STEPS = 30
_HOTTEST = 100.0  # °C


@compiled
def evaporator(
    unit: FloatArray, flow: float, dry_bulb: float, humidity_ratio: float, pressure: float
) -> tuple[float, float, float, float]:
    """Surface and air of the evaporator while the unit runs.

    Args: unit, row of parameters; flow [kg/s]; dry_bulb [°C] and humidity_ratio [kg/kg], entering the unit;
        pressure [Pa].
    Returns: surface [°C]; dry bulb entering the evaporator [°C]; dry bulb [°C] and humidity ratio [kg/kg] leaving it.
    """
    surface, entering, leaving, ratio, _ = evaporator_from(
        unit, flow, dry_bulb, humidity_ratio, pressure, 0.0, 0.0
    )
    return surface, entering, leaving, ratio


@compiled
def evaporator_from(
    unit: FloatArray,
    flow: float,
    dry_bulb: float,
    humidity_ratio: float,
    pressure: float,
    guess: float,
    known: float,
) -> tuple[float, float, float, float, float]:
    """`evaporator`, started from what it gave before.

    Args: as `evaporator`; guess [°C] of the surface and known [kg/kg], its saturated humidity ratio; 0 where there are
        none.
    Returns: as `evaporator`; saturated humidity ratio at the surface [kg/kg], 0 where that is dry.
    """
    precool = unit[PRECOOL]
    bypass = math.exp(-unit[COIL_FLOW] / flow)
    contact = 1.0 - bypass
    share = 1.0 / (1.0 - precool * bypass)
    offset = bypass * (1.0 - precool) * share * dry_bulb  # T_eo = offset + slope x surface
    slope = contact * share
    dry_heat = enthalpy(1.0, humidity_ratio) - enthalpy(0.0, humidity_ratio)  # J/(kg K)
    sensible = dry_heat * (1.0 - precool) * slope  # J/(kg K), of entering dry bulb less surface
    # enthalpy is linear in humidity ratio, but psychrolib raises ratios below 1e-7, so slopes are taken from 1 to 2
    cold_vapour = enthalpy(0.0, 2.0) - enthalpy(0.0, 1.0)  # J/kg
    vapour_heat = enthalpy(1.0, 2.0) - enthalpy(1.0, 1.0) - cold_vapour  # J/(kg K)
    per_flow = 1.0 / flow
    given = (unit[CAPACITY] + unit[CAPACITY_PER_ENTERING] * dry_bulb) * per_flow - sensible * dry_bulb
    rise = unit[CAPACITY_PER_SURFACE] * per_flow + sensible

    # latent - given - rise x surface = 0, with latent = contact (w1 - w_s) (vapour - liquid)
    surface, saturated = guess, known
    if known <= 0.0:
        surface = min(max(likely_surface(contact, given, rise, humidity_ratio, pressure), COLDEST), _HOTTEST)
    for turn in range(_MOST_STEPS):
        if known <= 0.0 or turn > 0:
            saturated = saturation_humidity_ratio(surface, pressure)
        saturated_slope = saturation_rise(saturated, surface)
        condensing = cold_vapour + vapour_heat * (offset + slope * surface) - WATER_HEAT * surface
        condensing_slope = vapour_heat * slope - WATER_HEAT
        excess = contact * (humidity_ratio - saturated) * condensing - given - rise * surface
        falling = (
            contact * (saturated_slope * condensing - (humidity_ratio - saturated) * condensing_slope) + rise
        )
        step = excess / falling
        surface = min(max(surface + step, COLDEST), _HOTTEST)
        if abs(step) < _STEP:
            saturated += saturated_slope * step
            break
    if saturated >= humidity_ratio:  # dry: linear in the surface temperature
        surface = -given / rise
        leaving = offset + slope * surface
        return surface, dry_bulb - precool * (dry_bulb - leaving), leaving, humidity_ratio, 0.0
    leaving = offset + slope * surface
    return (
        surface,
        dry_bulb - precool * (dry_bulb - leaving),
        leaving,
        bypass * humidity_ratio + contact * saturated,
        saturated,
    )


@compiled
def running_share(unit: FloatArray, surface: float) -> float:
    """Share of the time that is left after defrost.

    Args: unit, row of parameters; surface [°C].
    Returns: share [-], 1 at and above 0 °C.
    """
    if surface >= 0.0:
        return 1.0
    return float(max(0.0, 1.0 + unit[FROST_LOSS] * surface))


@compiled
def electric_power(unit: FloatArray, surface: float, dry_bulb: float) -> float:
    """Power of compressor and fan.

    Args: unit, row of parameters; surface [°C]; dry_bulb [°C], entering the unit.
    Returns: power [W].
    """
    return float(unit[POWER] + unit[POWER_PER_SURFACE] * surface + unit[POWER_PER_ENTERING] * dry_bulb)
