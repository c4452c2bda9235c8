"""A desiccant dehumidifier: a silica-gel rotor between a process and a reactivation airstream.

Combined potentials turn heat and moisture transfer in the rotor into two heat exchangers without mass transfer,

    F1 = -2865 / T^1.490 + 4.344 w^0.8624,   F2 = T^1.490 / 6360 - 1.127 w^0.07969   (T in K),

each with an effectiveness of its own between the two entering states. F1 runs nearly along enthalpy, F2 nearly along
relative humidity; a good rotor has the first effectiveness near 0 and the second near 1. With process air in the
surplus the second is lower, since it is referred to the process air.
Source: P. J. Banks, "Coupled equilibrium heat and single adsorbate transfer in fluid flow through a porous medium",
Chem. Eng. Sci. 27 (1972) 1143-1155 (potentials); J. J. Jurinak, "Open cycle solid desiccant cooling: component models
and system simulations", PhD thesis, University of Wisconsin-Madison, 1982 (the two formulas for silica gel).

What the process air loses in vapour and gains in heat the reactivation air gains and loses, so water and energy close:
the exhaust is the remainder. It cannot be wetter than saturated; where the formulas ask for more, the process air's
change is cut until the exhaust is just saturated. The heater gives constant power, so the reactivation
temperature follows the temperature of the air that it heats.
Units: dry bulb °C, humidity ratio kg/kg, pressure Pa, flow kg dry air/s, heat W.
"""

from __future__ import annotations

import math

import psychrolib

from selector.inputs.site import FloatArray
from selector.physics.compiled import compiled
from selector.physics.moist_air import (
    dry_bulb_of_enthalpy,
    enthalpy,
    saturation_pressure,
    vapour_pressure,
    volume,
)
from selector.physics.unit_parameters import (
    FIRST_EFFECTIVENESS,
    REACTIVATION_AIRFLOW,
    REACTIVATION_HEAT,
    SECOND_EFFECTIVENESS,
)

_slope_of_log_pressure = psychrolib.dLnPws_

KELVIN = 273.15
TEMPERATURE_POWER = 1.490
_HEAT = 2865.0
_MOISTURE = 4.344
_MOISTURE_POWER = 0.8624
_DRYNESS = 6360.0
_WETNESS = 1.127
_WETNESS_POWER = 0.07969
_DRIEST = 1e-7  # kg/kg, psychrolib's own lower limit
_MOST_STEPS = 40
_BELOW_HOTTEST = 0.99
_COLDEST_EXHAUST = -20.0  # °C; colder exhaust would be far above saturation
_SHARE_CLOSE = 1e-7  # the error after a step this small is below 1e-13
_CLOSE = 1e-6  # of the unknown; the error after a step this small is below 1e-12 of it


@compiled
def potentials(dry_bulb: float, humidity_ratio: float) -> tuple[float, float]:
    """Combined potentials of moist air in equilibrium with silica gel.

    Args: dry_bulb [°C]; humidity_ratio [kg/kg].
    Returns: F1 [-], F2 [-].
    """
    heat = (dry_bulb + KELVIN) ** TEMPERATURE_POWER
    moisture = math.log(max(humidity_ratio, _DRIEST))
    return (
        -_HEAT / heat + _MOISTURE * math.exp(_MOISTURE_POWER * moisture),
        heat / _DRYNESS - _WETNESS * math.exp(_WETNESS_POWER * moisture),
    )


@compiled
def state_of_potentials(first: float, second: float, start: float) -> tuple[float, float]:
    """Moist air with two given potentials: inverse of `potentials`.

    F1 gives w for a given T^1.490, which leaves F2 as one increasing equation in it, solved by Newton's method.

    Args: first, F1 [-]; second, F2 [-]; start, a dry bulb [°C] to begin at.
    Returns: dry bulb [°C], humidity ratio [kg/kg].
    """
    power = _WETNESS_POWER / _MOISTURE_POWER
    driest = _MOISTURE * math.exp(_MOISTURE_POWER * math.log(_DRIEST))
    hottest = (
        _HEAT / (driest - first) if first < driest else math.inf
    )  # T^1.490 of the driest air with this F1
    heat = min((start + KELVIN) ** TEMPERATURE_POWER, _BELOW_HOTTEST * hottest)
    for _ in range(_MOST_STEPS):
        moisture = first + _HEAT / heat
        wetness = _WETNESS * math.exp(power * math.log(moisture / _MOISTURE))
        excess = heat / _DRYNESS - wetness - second
        rising = 1.0 / _DRYNESS + power * wetness / moisture * _HEAT / (heat * heat)
        step = excess / rising
        if heat - step >= hottest:
            heat = 0.5 * (heat + hottest)
            continue
        heat -= step
        if abs(step) < _CLOSE * heat:
            break
    moisture = max(first + _HEAT / heat, driest)
    return (
        heat ** (1.0 / TEMPERATURE_POWER) - KELVIN,
        math.exp(math.log(moisture / _MOISTURE) / _MOISTURE_POWER),
    )


@compiled
def _dry_heat(humidity_ratio: float) -> float:
    """Heat capacity of moist air [J/(kg K)], the slope of psychrolib's enthalpy in dry bulb."""
    return float(enthalpy(1.0, humidity_ratio) - enthalpy(0.0, humidity_ratio))


@compiled
def _vapour_enthalpy(dry_bulb: float) -> float:
    """Enthalpy of vapour [J/kg], the slope of psychrolib's enthalpy in humidity ratio."""
    return float(enthalpy(dry_bulb, 2.0) - enthalpy(dry_bulb, 1.0))


@compiled
def reactivation_air(
    unit: FloatArray, dry_bulb: float, humidity_ratio: float, pressure: float
) -> tuple[float, float, float]:
    """Reactivation air behind the heater.

    Args: unit, row of parameters; dry_bulb [°C] and humidity_ratio [kg/kg] ahead of the heater; pressure [Pa].
    Returns: flow [kg dry air/s]; enthalpy [J/kg]; dry bulb [°C].
    """
    flow = unit[REACTIVATION_AIRFLOW] / volume(dry_bulb, humidity_ratio, pressure)
    heated = enthalpy(dry_bulb, humidity_ratio) + unit[REACTIVATION_HEAT] / flow
    return flow, heated, dry_bulb_of_enthalpy(heated, humidity_ratio)


@compiled
def rotor(
    unit: FloatArray,
    flow: float,
    dry_bulb: float,
    humidity_ratio: float,
    pressure: float,
    reactivation_dry_bulb: float,
    reactivation_humidity_ratio: float,
) -> tuple[float, float, float, float, float]:
    """Both airstreams of the rotor while the unit runs, without the process fan.

    Args: unit, row of parameters; flow [kg/s] of process air; dry_bulb [°C] and humidity_ratio [kg/kg] of process
        air entering; pressure [Pa]; reactivation_dry_bulb [°C] and reactivation_humidity_ratio [kg/kg] ahead of
        the heater.
    Returns: dry bulb [°C] and humidity ratio [kg/kg] of the process air leaving the rotor; dry bulb [°C] of the
        heated reactivation air; dry bulb [°C] and humidity ratio [kg/kg] of the exhaust.
    """
    exhaust_flow, heated_enthalpy, heated = reactivation_air(
        unit, reactivation_dry_bulb, reactivation_humidity_ratio, pressure
    )
    first, second = potentials(dry_bulb, humidity_ratio)
    hot_first, hot_second = potentials(heated, reactivation_humidity_ratio)
    leaving, leaving_ratio = state_of_potentials(
        first + unit[FIRST_EFFECTIVENESS] * (hot_first - first),
        second + unit[SECOND_EFFECTIVENESS] * (hot_second - second),
        dry_bulb + 10.0,
    )
    if leaving_ratio >= humidity_ratio:  # the rotor would wet the process air: it passes on heat alone
        leaving = dry_bulb + unit[FIRST_EFFECTIVENESS] * (heated - dry_bulb)
        leaving_ratio = humidity_ratio
    ratio = flow / exhaust_flow
    full = leaving - dry_bulb
    full_ratio = leaving_ratio - humidity_ratio
    before = enthalpy(dry_bulb, humidity_ratio)
    exhaust_ratio = reactivation_humidity_ratio - ratio * full_ratio
    exhaust = dry_bulb_of_enthalpy(
        heated_enthalpy - ratio * (enthalpy(leaving, leaving_ratio) - before), exhaust_ratio
    )
    if full_ratio < 0.0 and (
        exhaust < _COLDEST_EXHAUST or vapour_pressure(exhaust_ratio, pressure) > saturation_pressure(exhaust)
    ):
        # the share of the change at which ln(vapour pressure) = ln(saturation pressure), close to linear in the share
        share = 1.0
        halve = exhaust < _COLDEST_EXHAUST
        step = 1.0
        for _ in range(_MOST_STEPS):
            if halve:
                share *= 0.5
            else:
                vapour = vapour_pressure(exhaust_ratio, pressure)
                gained = full * _dry_heat(leaving_ratio) + full_ratio * _vapour_enthalpy(leaving)
                cooling = ratio * (gained - full_ratio * _vapour_enthalpy(exhaust)) / _dry_heat(exhaust_ratio)
                wetting = -ratio * full_ratio * (1.0 - vapour / pressure) / exhaust_ratio
                step = math.log(vapour / saturation_pressure(exhaust)) / (
                    wetting + _slope_of_log_pressure(exhaust) * cooling
                )
                share = min(max(share - step, 0.0), 1.0)
            leaving = dry_bulb + share * full
            leaving_ratio = humidity_ratio + share * full_ratio
            exhaust_ratio = reactivation_humidity_ratio - ratio * share * full_ratio
            exhaust = dry_bulb_of_enthalpy(
                heated_enthalpy - ratio * (enthalpy(leaving, leaving_ratio) - before), exhaust_ratio
            )
            halve = exhaust < _COLDEST_EXHAUST
            if abs(step) < _SHARE_CLOSE and not halve:
                break
    return leaving, leaving_ratio, heated, exhaust, exhaust_ratio
