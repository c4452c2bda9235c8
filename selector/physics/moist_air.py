"""Moist-air states: psychrolib, set to SI once (selector/inputs/si.py) and kept on disk compiled.

Every state in the product comes from psychrolib; this module names its functions and adds the difference of enthalpy
that the balances are written in. psychrolib's own are compiled anew in every process that calls them from outside
compiled code (2 to 3 s for one choice), so each has a compiled form here, which compiled code calls as well.
Arguments are numbers or arrays of shapes that broadcast, and what is returned has their common shape.
Dry bulb °C, humidity ratio kg/kg dry air, pressure Pa, enthalpy J/kg dry air.
Source of all: ASHRAE Handbook Fundamentals 2017, ch. 1, through psychrolib; the equation is given at each.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numba

from selector.inputs.si import psychrolib
from selector.physics.compiled import compiled

WATER_HEAT = (
    4186.0  # J/(kg K), liquid water: ASHRAE Handbook Fundamentals 2017, ch. 1, enthalpy of condensate
)

MASS_RATIO = 0.621945  # of water to dry air, eq. 20, as in psychrolib

# as `compiled`, but arrays are answered by new arrays
_kept: Callable[[Callable[..., Any]], Any] = numba.njit(cache=True, nogil=True, error_model="numpy")


@_kept
def enthalpy(dry_bulb: Any, humidity_ratio: Any) -> Any:
    """Specific enthalpy of moist air.

    Args: dry_bulb [°C]; humidity_ratio [kg/kg].
    Returns: enthalpy [J/kg dry air].
    Source: eq. 30.
    """
    return psychrolib.GetMoistAirEnthalpy(dry_bulb, humidity_ratio)


@_kept
def saturation_enthalpy(dry_bulb: Any, pressure: Any) -> Any:
    """Specific enthalpy of saturated air.

    Args: dry_bulb [°C]; pressure [Pa].
    Returns: enthalpy [J/kg dry air].
    Source: eq. 30 at saturation.
    """
    return psychrolib.GetSatAirEnthalpy(dry_bulb, pressure)


@_kept
def dry_bulb_of_enthalpy(enthalpy: Any, humidity_ratio: Any) -> Any:
    """Dry bulb at which air of a humidity ratio has an enthalpy.

    Args: enthalpy [J/kg dry air]; humidity_ratio [kg/kg].
    Returns: dry bulb [°C].
    Source: eq. 30 solved for dry bulb.
    """
    return psychrolib.GetTDryBulbFromEnthalpyAndHumRatio(enthalpy, humidity_ratio)


@_kept
def humidity_ratio_of_enthalpy(enthalpy: Any, dry_bulb: Any) -> Any:
    """Humidity ratio at which air of a dry bulb has an enthalpy.

    Args: enthalpy [J/kg dry air]; dry_bulb [°C].
    Returns: humidity ratio [kg/kg].
    Source: eq. 30 solved for humidity ratio.
    """
    return psychrolib.GetHumRatioFromEnthalpyAndTDryBulb(enthalpy, dry_bulb)


@_kept
def saturation_pressure(dry_bulb: Any) -> Any:
    """Saturation pressure of water vapour, over ice below its triple point.

    Args: dry_bulb [°C].
    Returns: pressure [Pa].
    Source: eq. 5 and 6.
    """
    return psychrolib.GetSatVapPres(dry_bulb)


@_kept
def saturation_humidity_ratio(dry_bulb: Any, pressure: Any) -> Any:
    """Humidity ratio of saturated air.

    Args: dry_bulb [°C]; pressure [Pa].
    Returns: humidity ratio [kg/kg].
    Source: eq. 36 solved for humidity ratio.
    """
    return psychrolib.GetSatHumRatio(dry_bulb, pressure)


@_kept
def vapour_pressure(humidity_ratio: Any, pressure: Any) -> Any:
    """Partial pressure of water vapour.

    Args: humidity_ratio [kg/kg]; pressure [Pa].
    Returns: pressure [Pa].
    Source: eq. 20 solved for vapour pressure.
    """
    return psychrolib.GetVapPresFromHumRatio(humidity_ratio, pressure)


@_kept
def humidity_ratio_of_vapour_pressure(vapour_pressure: Any, pressure: Any) -> Any:
    """Humidity ratio at which air has a vapour pressure.

    Args: vapour_pressure [Pa]; pressure [Pa].
    Returns: humidity ratio [kg/kg].
    Source: eq. 20.
    """
    return psychrolib.GetHumRatioFromVapPres(vapour_pressure, pressure)


@_kept
def relative_humidity(dry_bulb: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Relative humidity.

    Args: dry_bulb [°C]; humidity_ratio [kg/kg]; pressure [Pa].
    Returns: relative humidity, 0 to 1.
    Source: relative humidity by vapour pressures.
    """
    return psychrolib.GetRelHumFromHumRatio(dry_bulb, humidity_ratio, pressure)


@_kept
def humidity_ratio_of_relative_humidity(dry_bulb: Any, relative_humidity: Any, pressure: Any) -> Any:
    """Humidity ratio at which air of a dry bulb has a relative humidity.

    Args: dry_bulb [°C]; relative_humidity [0 to 1]; pressure [Pa].
    Returns: humidity ratio [kg/kg].
    Source: relative humidity by vapour pressures.
    """
    return psychrolib.GetHumRatioFromRelHum(dry_bulb, relative_humidity, pressure)


@_kept
def dew_point(dry_bulb: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Dew point.

    Args: dry_bulb [°C]; humidity_ratio [kg/kg]; pressure [Pa].
    Returns: dew point [°C], at most the dry bulb.
    Source: eq. 5 and 6 solved for temperature.
    """
    return psychrolib.GetTDewPointFromHumRatio(dry_bulb, humidity_ratio, pressure)


@_kept
def humidity_ratio_of_dew_point(dew_point: Any, pressure: Any) -> Any:
    """Humidity ratio at which air has a dew point.

    Args: dew_point [°C]; pressure [Pa].
    Returns: humidity ratio [kg/kg].
    Source: eq. 13.
    """
    return psychrolib.GetHumRatioFromTDewPoint(dew_point, pressure)


@_kept
def humidity_ratio_of_wet_bulb(dry_bulb: Any, wet_bulb: Any, pressure: Any) -> Any:
    """Humidity ratio at which air of a dry bulb has a wet bulb.

    Args: dry_bulb [°C]; wet_bulb [°C]; pressure [Pa].
    Returns: humidity ratio [kg/kg].
    Source: eq. 33 and 35.
    """
    return psychrolib.GetHumRatioFromTWetBulb(dry_bulb, wet_bulb, pressure)


@_kept
def volume(dry_bulb: Any, humidity_ratio: Any, pressure: Any) -> Any:
    """Specific volume of moist air.

    Args: dry_bulb [°C]; humidity_ratio [kg/kg]; pressure [Pa].
    Returns: volume [m³/kg dry air].
    Source: eq. 26.
    """
    return psychrolib.GetMoistAirVolume(dry_bulb, humidity_ratio, pressure)


@_kept
def dry_air_density(dry_bulb: Any, pressure: Any) -> Any:
    """Density of dry air.

    Args: dry_bulb [°C]; pressure [Pa].
    Returns: density [kg/m³].
    Source: eq. 26 without vapour.
    """
    return psychrolib.GetDryAirDensity(dry_bulb, pressure)


@compiled
def saturation_rise(saturated: float, dry_bulb: float) -> float:
    """How much the humidity ratio of saturated air rises for each kelvin, at constant pressure.

    Args: saturated [kg/kg], humidity ratio of saturated air at the dry bulb; dry_bulb [°C].
    Returns: rise [kg/kg for each kelvin].
    Source: eq. 20 at saturation, differentiated; the slope of eq. 5 and 6 is psychrolib's.
    """
    rise: float = saturated * (1.0 + saturated / MASS_RATIO) * psychrolib.dLnPws_(dry_bulb)
    return rise


@compiled
def sensible_heat(humidity_ratio: float, warmer: float, cooler: float) -> float:
    """Heat that air of one humidity ratio gives off between two dry bulbs.

    Args: humidity_ratio [kg/kg]; warmer, cooler [°C].
    Returns: enthalpy difference [J/kg dry air], negative where "warmer" is the cooler one.
    Source: eq. 30.
    """
    difference: float = enthalpy(warmer, humidity_ratio) - enthalpy(cooler, humidity_ratio)
    return difference
