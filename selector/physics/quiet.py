"""Hours in which nothing runs: no unit is called, the coil and the wheel stand still and no surface is wet.

Then heat and moisture of the space are linear in its own state. What the two exact steps take is found once for every
hour of the site, from the response with both set points out of reach, so that such an hour costs the two steps in place
of a search for what thermostat and humidistat run. Hours that are heated belong to them where heating does not
change how long the fan runs.
Units: °C, kg/kg, kg/s, W.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from selector.inputs.site import FloatArray
from selector.physics.air_handler import FAN_OFF, FAN_RUNS, Now, Plant
from selector.physics.arrangements import Groups
from selector.physics.compiled import compiled
from selector.physics.response import (
    COIL_SHARE,
    END_T,
    FAN_SHARE,
    GAIN_HEAT,
    HEAT_LOSS,
    HEATING,
    SHORT_HEATING,
    SYSTEM_HEAT,
    VAPOUR_LOSS,
    WHOLE_RESPONSE,
)
from selector.physics.step import HOUR, first, second
from selector.physics.thermostat import respond

UNKNOWN, NOT_HEATED, FAN_RUNNING, FAN_FOLLOWS, IN_SPACE = range(5)  # how such an hour is heated
FOUND = (  # the fields of `Now` that are found here
    "quiet",
    "quiet_source",
    "quiet_loss",
    "quiet_first",
    "quiet_second",
    "vapour_loss",
    "vapour_first",
    "vapour_second",
    "heated_power",
    "heated_fan",
    "heated_loss",
    "heated_first",
    "heated_second",
)
OUT_OF_REACH = 1e9  # °C
CLEARLY = 1e-12  # kg/kg that an hour must end below the set point, so that no rounding decides whether units are called


def with_quiet(*, plant: Any, hours: Any, wet: FloatArray, groups: Any) -> Any:
    """Find what each hour takes with nothing running.

    Args: plant, a record of `Plant`; hours (8760,) records of `Now`, of which the fields `FOUND` are not looked at; wet
        (8760, N, WET); groups, a table of no groups.
    Returns: the hours, with `FOUND` filled.
    """
    found = hours.copy()
    _find_quiet(plant, wet, groups, np.zeros(WHOLE_RESPONSE), found)
    return found


@njit(cache=True, nogil=True, error_model="numpy")
def _find_quiet(plant: Plant, wet: FloatArray, groups: Groups, out: FloatArray, hours: Any) -> None:
    """Ask each hour's response for the two steps' terms, the first with the set points out of reach."""
    for hour in range(hours.size):
        now = hours[hour]
        alone = plant.has_air_handler == 0 or (now.ventilation <= 0.0 and plant.unoccupied_fan == FAN_OFF)
        if wet.shape[1] > 0 or (plant.wheel == 1 and now.ventilation > 0.0):
            now.quiet = UNKNOWN
            continue
        if alone:
            now.quiet = IN_SPACE if plant.space_heating_capacity > 0.0 else NOT_HEATED
        elif now.ventilation > 0.0 or plant.unoccupied_fan == FAN_RUNS:
            now.quiet = FAN_RUNNING
        else:
            now.quiet = FAN_FOLLOWS
        out[:] = 0.0
        cooling, heating = now.cooling_setpoint, now.heating_setpoint
        start = 0.5 * (cooling + heating)
        now.cooling_setpoint, now.heating_setpoint = OUT_OF_REACH, -OUT_OF_REACH
        respond(plant, now, wet[hour], groups, start, start, now.outdoor_w, out)
        now.cooling_setpoint, now.heating_setpoint = cooling, heating
        now.quiet_loss = out[HEAT_LOSS]
        now.quiet_source = out[HEAT_LOSS] * now.outdoor_t + out[GAIN_HEAT] + out[SYSTEM_HEAT]
        z = out[HEAT_LOSS] * HOUR / plant.air_capacity
        now.quiet_first = first(z)
        now.quiet_second = second(z, now.quiet_first)
        now.vapour_loss = out[VAPOUR_LOSS]
        z = out[VAPOUR_LOSS] * HOUR / plant.vapour_capacity
        now.vapour_first = first(z)
        now.vapour_second = second(z, now.vapour_first)
        if now.quiet != FAN_FOLLOWS:
            continue
        start = now.heating_setpoint
        out[:] = 0.0
        respond(plant, now, wet[hour], groups, start, start, now.outdoor_w, out)
        if out[COIL_SHARE] == 0.0 and out[SHORT_HEATING] == 0.0 and out[END_T] == start:
            now.heated_power = out[HEATING]
            now.heated_fan = out[FAN_SHARE]
            now.heated_loss = out[VAPOUR_LOSS]
            z = out[VAPOUR_LOSS] * HOUR / plant.vapour_capacity
            now.heated_first = first(z)
            now.heated_second = second(z, now.heated_first)


@compiled
def quiet_hour(
    plant: Plant, now: Now, start_t: float, start_w: float, set_w: float
) -> tuple[bool, float, float, float, float, float, float]:
    """Follow the space through an hour in which nothing runs.

    Args: plant; now, the hour; start_t [°C] and start_w [kg/kg] at its start; set_w [kg/kg], the humidistat's set
        point, infinite where it is off.
    Returns: whether nothing runs in it; dry bulb at the end and mean [°C]; humidity ratio at the end and mean [kg/kg];
        heating delivered [W]; share of the hour that the fan runs. They are those of `respond`.
    """
    no = (False, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    if now.quiet == UNKNOWN:
        return no
    slope = (now.quiet_source - now.quiet_loss * start_t) * HOUR / plant.air_capacity
    end_t = start_t + slope * now.quiet_first
    with_air = now.quiet == FAN_RUNNING or now.quiet == FAN_FOLLOWS
    if end_t > now.cooling_setpoint and (with_air or plant.space_cooling_capacity > 0.0):
        return no
    fan = 1.0 if now.quiet == FAN_RUNNING else 0.0
    heat = 0.0
    loss, one, two = now.vapour_loss, now.vapour_first, now.vapour_second
    if end_t < now.heating_setpoint and now.quiet != NOT_HEATED:
        slope = (now.heating_setpoint - start_t) / now.quiet_first
        end_t = now.heating_setpoint
        if now.quiet == FAN_FOLLOWS:
            if start_t != now.heating_setpoint or now.heated_power == 0.0:
                return no
            heat, fan = now.heated_power, now.heated_fan
            loss, one, two = now.heated_loss, now.heated_first, now.heated_second
        else:
            heat = now.quiet_loss * start_t + slope * plant.air_capacity / HOUR - now.quiet_source
            if heat > (plant.heating_capacity if with_air else plant.space_heating_capacity):
                return no
    mean_t = start_t + slope * now.quiet_second
    slope = (now.vapour + loss * now.outdoor_w - loss * start_w) * HOUR / plant.vapour_capacity
    end_w = start_w + slope * one
    if end_w > set_w - CLEARLY:
        return no
    return True, end_t, mean_t, end_w, start_w + slope * two, heat, fan
