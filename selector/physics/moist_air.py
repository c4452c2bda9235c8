"""Moist-air states: psychrolib, set to SI once (selector/inputs/si.py) and compiled.

Every state in the product comes from psychrolib; this module only names its functions and adds the two differences of
enthalpy that the balances are written in.
Dry bulb °C, humidity ratio kg/kg dry air, pressure Pa, enthalpy J/kg dry air.
"""

from __future__ import annotations

from selector.inputs.si import psychrolib
from selector.physics.compiled import compiled

enthalpy = psychrolib.GetMoistAirEnthalpy
saturation_humidity_ratio = psychrolib.GetSatHumRatio
saturation_pressure = psychrolib.GetSatVapPres
vapour_pressure = psychrolib.GetVapPresFromHumRatio
humidity_ratio_of_vapour_pressure = psychrolib.GetHumRatioFromVapPres
humidity_ratio_of_relative_humidity = psychrolib.GetHumRatioFromRelHum
relative_humidity = psychrolib.GetRelHumFromHumRatio
dew_point = psychrolib.GetTDewPointFromHumRatio
humidity_ratio_of_dew_point = psychrolib.GetHumRatioFromTDewPoint
volume = psychrolib.GetMoistAirVolume
dry_air_density = psychrolib.GetDryAirDensity
dry_bulb_of_enthalpy = psychrolib.GetTDryBulbFromEnthalpyAndHumRatio

WATER_HEAT = (
    4186.0  # J/(kg K), liquid water: ASHRAE Handbook Fundamentals 2017, ch. 1, enthalpy of condensate
)


@compiled
def sensible_heat(humidity_ratio: float, warmer: float, cooler: float) -> float:
    """Heat that air of one humidity ratio gives off between two dry bulbs.

    Args: humidity_ratio [kg/kg]; warmer, cooler [°C].
    Returns: enthalpy difference [J/kg dry air], negative where "warmer" is the cooler one.
    Source: ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 30, through psychrolib.
    """
    return enthalpy(warmer, humidity_ratio) - enthalpy(cooler, humidity_ratio)
