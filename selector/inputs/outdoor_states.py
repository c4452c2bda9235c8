"""Outdoor air's humidity ratio and dew point, hour by hour, from whatever the weather file records.

Each function takes arrays of one shape (n,) and returns the same shape: temperatures °C, pressure Pa, humidity
ratio kg/kg dry air, relative humidity 0 to 1. psychrolib does the moist air, kept on disk compiled.
Source: ASHRAE Handbook Fundamentals 2017, ch. 1, through psychrolib.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from selector.inputs.si import psychrolib
from selector.inputs.site import FloatArray


@njit(cache=True)
def _of_dew_point(dew_point: Any, pressure: Any) -> Any:
    return psychrolib.GetHumRatioFromTDewPoint(dew_point, pressure)


@njit(cache=True)
def _of_wet_bulb(dry_bulb: Any, wet_bulb: Any, pressure: Any) -> Any:
    return psychrolib.GetHumRatioFromTWetBulb(dry_bulb, np.minimum(wet_bulb, dry_bulb), pressure)


@njit(cache=True)
def _of_relative_humidity(dry_bulb: Any, relative_humidity: Any, pressure: Any) -> Any:
    return psychrolib.GetHumRatioFromRelHum(dry_bulb, relative_humidity, pressure)


@njit(cache=True)
def _relative_humidity(dry_bulb: Any, dew_point: Any) -> Any:
    return psychrolib.GetRelHumFromTDewPoint(dry_bulb, dew_point)


@njit(cache=True)
def _volume(dry_bulb: Any, humidity_ratio: Any, pressure: Any) -> Any:
    return psychrolib.GetMoistAirVolume(dry_bulb, humidity_ratio, pressure)


@njit(cache=True)
def _dew_point(warmest: float, humidity_ratio: Any, pressure: Any) -> Any:
    return psychrolib.GetTDewPointFromHumRatio(warmest, humidity_ratio, pressure)


@njit(cache=True)
def _saturated(dry_bulb: Any, pressure: Any) -> Any:
    return psychrolib.GetSatHumRatio(dry_bulb, pressure)


@njit(cache=True)
def _standard_pressure(elevation: Any) -> Any:
    return psychrolib.GetStandardAtmPressure(elevation)


@njit(cache=True)
def _station_pressure(sea_level_pressure: Any, elevation: float, dry_bulb: Any) -> Any:
    return psychrolib.GetStationPressure(sea_level_pressure, elevation, dry_bulb)


def humidity_ratio_of_dew_point(*, dew_point: FloatArray, pressure: FloatArray) -> FloatArray:
    """Return the humidity ratio [kg/kg] of air of a dew point [°C] at a pressure [Pa]."""
    result: FloatArray = _of_dew_point(dew_point, pressure)
    return result


def humidity_ratio_of_wet_bulb(
    *, dry_bulb: FloatArray, wet_bulb: FloatArray, pressure: FloatArray
) -> FloatArray:
    """Return the humidity ratio [kg/kg] of dry and wet bulb [°C] and pressure [Pa]."""
    result: FloatArray = _of_wet_bulb(dry_bulb, wet_bulb, pressure)
    return result


def humidity_ratio_of_relative_humidity(
    *, dry_bulb: FloatArray, relative_humidity: FloatArray, pressure: FloatArray
) -> FloatArray:
    """Return the humidity ratio [kg/kg] of dry bulb [°C], relative humidity [0 to 1] and pressure [Pa]."""
    result: FloatArray = _of_relative_humidity(dry_bulb, relative_humidity, pressure)
    return result


def relative_humidity_of_dew_point(*, dry_bulb: FloatArray, dew_point: FloatArray) -> FloatArray:
    """Return the relative humidity [0 to 1] of dry bulb and dew point [°C]."""
    result: FloatArray = _relative_humidity(dry_bulb, dew_point)
    return result


def dew_point_of_humidity_ratio(*, humidity_ratio: FloatArray, pressure: FloatArray) -> FloatArray:
    """Return the dew point [°C] of a humidity ratio [kg/kg] at a pressure [Pa], not limited by a dry bulb."""
    result: FloatArray = _dew_point(60.0, humidity_ratio, pressure)
    return result


def moist_air_volume(*, dry_bulb: FloatArray, humidity_ratio: FloatArray, pressure: FloatArray) -> FloatArray:
    """Return the volume [m³/kg dry air] of air of dry bulb [°C], humidity ratio [kg/kg], pressure [Pa]."""
    result: FloatArray = _volume(dry_bulb, humidity_ratio, pressure)
    return result


def saturation_humidity_ratio(*, dry_bulb: FloatArray, pressure: FloatArray) -> FloatArray:
    """Return the humidity ratio [kg/kg] of saturated air at a dry bulb [°C] and pressure [Pa]."""
    result: FloatArray = _saturated(dry_bulb, pressure)
    return result


def standard_pressure(elevation: float) -> float:
    """Return the standard atmosphere's pressure [Pa] at an elevation [m]. Source: as above, eq. 3."""
    return float(_standard_pressure(elevation))


def elevation_of_pressure(pressure: float) -> float:
    """Return the elevation [m] at which the standard atmosphere has a pressure [Pa], within 1 m."""
    elevations = np.arange(6000.0, -501.0, -10.0)
    return float(np.interp(pressure, _standard_pressure(elevations), elevations))


def station_pressure(*, sea_level_pressure: FloatArray, elevation: float, dry_bulb: FloatArray) -> FloatArray:
    """Return the pressure [Pa] at the station from sea level pressure [Pa], elevation [m], dry bulb [°C]."""
    result: FloatArray = _station_pressure(sea_level_pressure, elevation, dry_bulb)
    return result
