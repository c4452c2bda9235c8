"""The year, hour by hour: a design followed from one hour to the next.

The year is periodic and starts at the driest season's first hour, after a warm-up over the hours before it. Units:
°C, kg/kg, W, currency; hours are counted along the sequence warm-up + year, `place` below.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numba import njit

from selector.inputs.site import HOURS, FloatArray
from selector.physics.air_handler import Now, Plant, before_coil
from selector.physics.arrangements import (
    COIL_BYPASS,
    GAS,
    OFF,
    POWER,
    SUPPLY_SIDE,
    Groups,
    IntArray,
    arrangements_in_use,
    cycling_extra,
)
from selector.physics.compiled import compiled
from selector.physics.humidistat import CALLED, END_W, HOLDING, IDLE, MEAN_W, MODE, MOISTURE, hour_step
from selector.physics.moist_air import humidity_ratio_of_relative_humidity, relative_humidity
from selector.physics.overcooling import may_overcool, overcool
from selector.physics.prepare import NEVER, WARM, Prepared, groups_of, lead_order
from selector.physics.quiet import quiet_hour
from selector.physics.recovery import behind_wheel
from selector.physics.response import (
    BROUGHT,
    COIL_IN_T,
    COIL_IN_W,
    COIL_POWER,
    COIL_SHARE,
    END_T,
    FAN_SHARE,
    HEATING,
    MEAN_T,
    ORDER_WHEEL,
    REHEAT,
    RESPONSE,
    SURFACE_T,
    VENTILATION,
    WHEEL_POWER,
    WHEEL_SPEED,
    WHOLE_RESPONSE,
)

WARM_UP = 336  # hours simulated ahead of the year, from set point

# An hour starts from the state that the hour before ended with: a set point where it was held, and else rounded to
# these parts of a kelvin and of a kg/kg (about 1e-8 K and 1e-11 kg/kg), so that years that meet go on alike to the bit.
PER_KELVIN = 2.0**26
PER_RATIO = 2.0**36

# how a run ended
FINISHED, ABOVE_LIMIT, TOO_WARM, TOO_DEAR, COIL_FROST = range(5)

# columns of a record beside the thermostat's response
HOUR_COST, IS_WARM, IS_FROST, WORK = range(4)
SUMS = 4
QUIET_WORK = 0.125  # of an hour's work, for which an hour in which nothing runs counts; it takes less


class Workspace(NamedTuple):
    """Arrays that an hour is worked out in."""

    out: FloatArray  # (RESPONSE,)
    moisture: FloatArray  # (MOISTURE,)
    above: FloatArray  # (K,) 1 where the hour is above the limit
    sums: FloatArray  # (SUMS,)


def workspace(*, limits: int) -> Workspace:
    """Room for one design's hours.

    Args: limits: how many humidity limits there are.
    Returns: zeroed arrays.
    """
    return Workspace(
        np.zeros(WHOLE_RESPONSE),
        np.zeros(MOISTURE),
        np.zeros(limits),
        np.zeros(SUMS),
    )


@compiled
def hour_of(place: int, first: int) -> int:
    """Hour of the year at a place in the sequence warm-up + year.

    Args: place; first, hour of the year at which the year starts.
    Returns: hour, 0 to 8759.
    """
    return (first - WARM_UP + place) % HOURS


@compiled
def rounded(value: float, parts: float) -> float:
    """A floating state, to the nearest whole part: what the next hour starts from.

    Args: value, dry bulb [°C] or humidity ratio [kg/kg]; parts, PER_KELVIN or PER_RATIO.
    Returns: rounded value.
    """
    return math.floor(value * parts + 0.5) / parts


@compiled
def unit_power(groups: Groups, out: FloatArray) -> tuple[float, float]:
    """Mean power of all units over the hour.

    Args: groups; out (RESPONSE,).
    Returns: electricity [W], gas [W]; supply-side units weighted between coil on and coil off by time.
    """
    electricity = 0.0
    gas = 0.0
    for i in range(len(groups)):
        if groups[i].running <= 0.0:
            continue
        full = groups[i].running + cycling_extra(groups[i].running, groups[i].cycling_loss)
        power = groups[i].cell[POWER]
        burnt = groups[i].cell[GAS]
        if groups[i].arrangement == SUPPLY_SIDE:
            on = min(1.0, out[COIL_SHARE] / out[FAN_SHARE]) if out[FAN_SHARE] > 0.0 else 0.0
            power = on * power + (1.0 - on) * groups[i].cell[OFF + POWER]
            burnt = on * burnt + (1.0 - on) * groups[i].cell[OFF + GAS]
        electricity += full * power
        gas += full * burnt
    return electricity, gas


@compiled
def set_point(now: Now, start_t: float) -> float:
    """Humidity ratio that the humidistat holds in an hour.

    Args: now, the hour; start_t [°C] of the space at its start.
    Returns: humidity ratio [kg/kg], infinite where the humidistat is off.
    """
    if now.set_rh < NEVER:
        return min(now.set_w, humidity_ratio_of_relative_humidity(start_t, now.set_rh, now.pressure))
    return now.set_w


@compiled
def _judge(
    now: Now,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    mean_t: float,
    mean_w: float,
    hour: int,
    space: Workspace,
) -> None:
    """Hold an hour's mean state against the limits."""
    moist = relative_humidity(mean_t, mean_w, now.pressure) if now.set_rh < NEVER else 0.0
    for k in range(space.above.size):
        wet = moist > limit_rh[k, hour] or mean_w > limit_w[k, hour]
        space.above[k] = 1.0 if wet else 0.0
    space.sums[IS_WARM] = 1.0 if mean_t > now.cooling_setpoint + WARM else 0.0


@compiled
def _heating(plant: Plant, now: Now, delivered: float) -> tuple[float, float]:
    """Electricity [W] and gas [W] bought for the heating delivered [W]."""
    if plant.has_air_handler == 1 and (now.ventilation > 0.0 or plant.unoccupied_fan != 0):
        bought = delivered / plant.heating_efficiency
        is_gas = plant.heating_is_gas
    else:
        bought = delivered / plant.space_heating_efficiency
        is_gas = plant.space_heating_is_gas
    return (0.0, bought) if is_gas == 1 else (bought, 0.0)


@compiled
def advance(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    groups: Groups,
    counts: IntArray,
    hour: int,
    start_t: float,
    start_w: float,
    space: Workspace,
) -> tuple[float, float]:
    """Follow a design through one hour and judge it, cheaply where nothing runs.

    Args: the site's tables as in `Prepared`: plant, hours (8760,), wet (8760, N, WET), limit_rh
        (L, 8760) [0 to 1], limit_w (L, 8760) [kg/kg]; the design: groups and counts (G,); hour of
        the year; start_t [°C], start_w [kg/kg]; space, filled, `out` where something runs only.
    Returns: dry bulb [°C] and humidity ratio [kg/kg] from which the next hour starts.
    """
    now = hours[hour]
    nothing, end_t, mean_t, end_w, mean_w, heat, fan = quiet_hour(
        plant, now, start_t, start_w, set_point(now, start_t)
    )
    if not nothing:
        return advance_in_full(
            plant, hours, wet, limit_rh, limit_w, groups, counts, hour, start_t, start_w, space
        )
    for i in range(len(groups)):
        groups[i].running = 0.0
    space.moisture[MODE] = IDLE
    space.moisture[CALLED] = 0.0
    electricity, gas = _heating(plant, now, heat)
    electricity += plant.fan_power * fan
    space.sums[HOUR_COST] = 3600.0 * (now.electricity * electricity + now.gas * gas)
    space.sums[IS_FROST] = 0.0
    space.sums[WORK] = QUIET_WORK
    _judge(now, limit_rh, limit_w, mean_t, mean_w, hour, space)
    if end_t not in (now.cooling_setpoint, now.heating_setpoint):
        end_t = rounded(end_t, PER_KELVIN)
    return end_t, rounded(end_w, PER_RATIO)


@compiled
def advance_in_full(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    groups: Groups,
    counts: IntArray,
    hour: int,
    start_t: float,
    start_w: float,
    space: Workspace,
) -> tuple[float, float]:
    """Follow a design through one hour and judge it, with all that the hour's record holds.

    Args: as `advance`; space, filled.
    Returns: as `advance`.
    """
    now = hours[hour]
    set_w = set_point(now, start_t)
    out = space.out
    hour_step(
        plant, now, wet[hour], groups, counts, start_t, start_w, set_w, out,
        space.moisture,
    )  # fmt: skip
    if may_overcool(plant, now, space.moisture[END_W], set_w):
        overcool(
            plant, now, wet[hour], groups, start_t, start_w, set_w, out,
            space.moisture,
        )  # fmt: skip
    _judge(now, limit_rh, limit_w, out[MEAN_T], space.moisture[MEAN_W], hour, space)
    electricity, gas = unit_power(groups, out)
    electricity += out[COIL_POWER] + plant.fan_power * out[FAN_SHARE]
    if out[HEATING] > 0.0:
        bought, burnt = _heating(plant, now, out[HEATING])
        electricity += bought
        gas += burnt
    if plant.wheel == 1:
        electricity += out[WHEEL_POWER]
    if plant.reheat == 1:
        bought = out[REHEAT] / plant.reheat_efficiency
        if plant.reheat_is_gas == 1:
            gas += bought
        else:
            electricity += bought
    space.sums[HOUR_COST] = 3600.0 * (now.electricity * electricity + now.gas * gas)
    space.sums[IS_FROST] = 0.0
    space.sums[WORK] = 1.0
    if out[COIL_SHARE] > 0.0 and out[SURFACE_T] < 0.0:
        for i in range(counts.size):
            if groups[i].arrangement == COIL_BYPASS and groups[i].running > 0.0:
                space.sums[IS_FROST] = 1.0
    end_t, end_w = out[END_T], space.moisture[END_W]
    if end_t not in (now.cooling_setpoint, now.heating_setpoint):
        end_t = rounded(end_t, PER_KELVIN)
    return end_t, end_w if space.moisture[MODE] == HOLDING else rounded(end_w, PER_RATIO)


@compiled
def _refresh(plant: Plant, now: Now, groups: Groups, space: Workspace) -> None:
    """State the air at an idle coil for the hour's mean state of the space, which no result depends on."""
    intake = plant.outdoor * (now.ventilation if now.ventilation > 0.0 else plant.leakage)
    extra = space.out[VENTILATION] - space.out[BROUGHT]
    mean = (space.out[MEAN_T], space.moisture[MEAN_W])
    outdoor = (now.outdoor_t, now.outdoor_w)
    fresh = outdoor
    if space.out[ORDER_WHEEL] > 0.0:
        behind_t, behind_w, _, _ = behind_wheel(
            plant, space.out[WHEEL_SPEED], intake, outdoor, mean, now.pressure
        )
        fresh = (behind_t, behind_w)
    space.out[COIL_IN_T], space.out[COIL_IN_W], _, _, _, _, _ = before_coil(
        plant, groups, arrangements_in_use(groups), space.out[FAN_SHARE],
        intake + extra, now.ventilation > 0.0, now.pressure, fresh, outdoor, mean,
    )  # fmt: skip


@njit(cache=True, nogil=True, error_model="numpy")  # copies rows, which may allocate
def record_year(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    groups: Groups,
    counts: IntArray,
    first: int,
    start_t: float,
    start_w: float,
    space: Workspace,
    responses: FloatArray,
    moistures: FloatArray,
    sums: FloatArray,
    above: FloatArray,
    starts: FloatArray,
    running: FloatArray,
    cells: FloatArray,
) -> None:
    """Follow a design through warm-up and year and keep everything.

    Args: as `advance`; first, hour of the year at which the year starts; start_t [°C], start_w [kg/kg] ahead of the
        warm-up; the rest is filled, a row for each hour of the calendar year: responses (8760, RESPONSE), moistures
        (8760, MOISTURE), sums (8760, SUMS), above (8760, K), starts (8760, 2), running (8760, G), cells
        (8760, G, CELL).
    """
    state_t, state_w = start_t, start_w
    for place in range(WARM_UP + HOURS):
        hour = hour_of(place, first)
        before_t, before_w = state_t, state_w
        for i in range(len(groups)):
            groups[i].cell[:] = 0.0
        state_t, state_w = advance_in_full(
            plant, hours, wet, limit_rh, limit_w, groups, counts, hour, state_t, state_w, space
        )
        if place >= WARM_UP:
            for i in range(len(groups)):
                running[hour, i] = groups[i].running
                cells[hour, i] = groups[i].cell
            if space.out[COIL_SHARE] == 0.0 and space.out[FAN_SHARE] > 0.0:
                _refresh(plant, hours[hour], groups, space)
            responses[hour] = space.out[:RESPONSE]
            moistures[hour] = space.moisture
            sums[hour] = space.sums
            above[hour] = space.above
            starts[hour, 0] = before_t
            starts[hour, 1] = before_w


@compiled
def year_later(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    groups: Groups,
    counts: IntArray,
    first: int,
    start_t: float,
    start_w: float,
    space: Workspace,
) -> tuple[float, float]:
    """Follow a design for one year from ahead of the warm-up.

    Args: as `record_year`.
    Returns: dry bulb [°C] and humidity ratio [kg/kg] a year later, ahead of the next warm-up.
    """
    state_t, state_w = start_t, start_w
    for place in range(HOURS):
        state_t, state_w = advance(
            plant, hours, wet, limit_rh, limit_w, groups, counts, hour_of(place, first), state_t,
            state_w, space,
        )  # fmt: skip
    return state_t, state_w


@lru_cache(maxsize=8)
def existing_later(*, prepared: Prepared) -> tuple[float, float]:
    """State of the existing system ahead of the warm-up, once it has come to repeat itself.

    Much storage forgets slowly: paper in a tight store remembers for longer than a warm-up lasts.

    Args: prepared.
    Returns: dry bulb [°C], humidity ratio [kg/kg].
    """
    now = prepared.hours[hour_of(0, prepared.first_hour)]
    groups, counts = groups_of(
        prepared=prepared, install=lead_order(prepared=prepared, install=prepared.site.existing_units)
    )
    dry_bulb, ratio = year_later(
        prepared.plant, prepared.hours, prepared.wet, prepared.limit_rh, prepared.limit_w,
        groups, counts, prepared.first_hour,
        float(0.5 * (now["cooling_setpoint"] + now["heating_setpoint"])), float(now["outdoor_w"]),
        workspace(limits=prepared.limit_rh.shape[0]),
    )  # fmt: skip
    return float(dry_bulb), float(ratio)


def start_state(*, prepared: Prepared, existing: bool = False) -> tuple[float, float]:
    """State ahead of the warm-up, the same for all designs: as the existing system leaves the space, but no moister
    than the humidistat's set point.

    Args: prepared; existing, whether it is the existing system itself that starts.
    Returns: dry bulb [°C], humidity ratio [kg/kg].
    """
    dry_bulb, ratio = existing_later(prepared=prepared)
    if existing:
        return dry_bulb, ratio
    now = prepared.hours[hour_of(0, prepared.first_hour)]
    ratio = min(ratio, float(now["set_w"]))
    if now["set_rh"] < NEVER:
        goal = humidity_ratio_of_relative_humidity(dry_bulb, now["set_rh"], now["pressure"])
        ratio = min(ratio, float(goal))
    return dry_bulb, float(rounded(ratio, PER_RATIO))
