"""What the humidistat makes of one hour: which units run, and where the space's moisture goes.

Units run in lead order. The humidistat modulates the unit-hours of one group at a time (`holding`) so that the space
ends the hour at its set point, and lets the moisture float (`floating`) where nothing is called or everything runs.
Units: °C, kg/kg, kg/s; running in unit-hours.
"""

from __future__ import annotations

import math

from selector.inputs.site import FloatArray
from selector.physics.air_handler import FAN_OFF, NO_ECONOMIZER, Now, Plant
from selector.physics.arrangements import (
    FRACTION,
    OFF,
    OUTDOOR_AIR,
    SURFACE_W,
    Groups,
    IntArray,
)
from selector.physics.compiled import compiled
from selector.physics.floating import float_moisture
from selector.physics.holding import ALL_LACK, HELD, NOT_CALLED, OUT_OF_RANGE, hold_moisture
from selector.physics.recovery import wheel_order
from selector.physics.response import (
    COIL_REMOVED,
    KEPT,
    ORDER_OVERRUN,
    ORDER_SPEED,
    ORDER_WHEEL,
    ORDERED,
    REMOVED,
    VAPOUR_LOSS,
    VAPOUR_SOURCE,
)
from selector.physics.step import HOUR, source_for, step

IDLE, HOLDING, SATURATED = range(3)  # nothing called, set point held, everything runs

# what an hour leaves besides the thermostat's response
END_W, MEAN_W, MODE, SETTLED, LOST, CALLED = range(6)
MOISTURE = 6


@compiled
def wettest_end(plant: Plant, now: Now, wet: FloatArray, start_w: float) -> float:
    """Upper bound of the humidity ratio at the end of the hour without any unit, cheaply.

    Args: plant; now, the hour; wet (N, WET); start_w [kg/kg].
    Returns: bound [kg/kg]: the coil takes nothing, and outdoor air comes at the rate that does most; infinite where
        something evaporates or the economizer may open further.
    """
    if wet.shape[0] > 0 or (plant.economizer != NO_ECONOMIZER and now.ventilation > 0.0):
        return math.inf
    most = now.infiltration + plant.exhaust + plant.outdoor * max(now.ventilation, plant.leakage)
    rate = now.vapour + most * max(0.0, now.outdoor_w - start_w)
    return start_w + rate * HOUR / plant.vapour_capacity


@compiled
def can_run(plant: Plant, now: Now, groups: Groups, group: int) -> bool:
    """Whether a group has the air it needs in this hour.

    Args: plant; now, the hour; groups; group, its number.
    Returns: false for duct units while the air handler is off, and for outdoor-air units without ventilation.
    """
    ventilating = plant.has_air_handler == 1 and now.ventilation > 0.0
    if groups[group].arrangement == OUTDOOR_AIR:
        return ventilating
    if groups[group].fan == 1:
        return plant.has_air_handler == 1 and (ventilating or plant.unoccupied_fan != FAN_OFF)
    return True


@compiled
def hour_step(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    counts: IntArray,
    start_t: float,
    start_w: float,
    set_w: float,
    out: FloatArray,
    moisture: FloatArray,
) -> None:
    """Run one hour: thermostat and humidistat together.

    Args: plant, now, wet, groups as `respond`; counts (G,) units installed; start_t [°C], start_w
        [kg/kg]; set_w [kg/kg], the humidistat's set point, infinite where it is off; groups, out
        (RESPONSE,) and moisture (MOISTURE,) are filled.
    """
    moisture[LOST] = 0.0
    moisture[CALLED] = 0.0
    moisture[MODE] = IDLE
    out[ORDERED:KEPT] = 0.0
    out[KEPT:] = math.nan  # nothing kept from another hour
    out[ORDER_WHEEL] = wheel_order(plant, now, start_t, start_w)
    out[ORDER_SPEED] = 1.0
    out[ORDER_OVERRUN] = 0.0
    for i in range(len(groups)):
        groups[i].running = 0.0
        groups[i].cell[FRACTION] = math.nan
        groups[i].cell[OFF + FRACTION] = math.nan
        groups[i].cell[SURFACE_W] = 0.0
        groups[i].cell[OFF + SURFACE_W] = 0.0
    for patient in (False, True):
        if _hour(plant, now, wet, groups, counts, start_t, start_w, set_w, patient, out, moisture):
            break


@compiled
def _hour(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    counts: IntArray,
    start_t: float,
    start_w: float,
    set_w: float,
    patient: bool,
    out: FloatArray,
    moisture: FloatArray,
) -> bool:
    """Call units in lead order, and let the moisture float where none or all run.

    Args: as `hour_step`; patient as `hold_moisture`.
    Returns: false where the hour ends above the set point although no unit seemed to be called: that has to be settled.
    """
    need = -1.0
    guess_t, guess_w, seen_w = start_t, start_w, math.nan
    doubtful = False
    if set_w < math.inf and wettest_end(plant, now, wet, start_w) > set_w:
        for i in range(len(groups)):
            if counts[i] == 0 or not can_run(plant, now, groups, i):
                continue
            count = float(counts[i])
            result, mean, good, guess_t, lacked = hold_moisture(
                plant, now, wet, groups, i, count, need, start_t, start_w, set_w, guess_t, patient, out,
            )  # fmt: skip
            seen_w = mean if (result == NOT_CALLED and good) or result == ALL_LACK else math.nan
            if result == NOT_CALLED:
                moisture[MODE] = IDLE
                guess_w = mean
                if not good:
                    doubtful = True
                    source = out[VAPOUR_SOURCE] - out[REMOVED]
                    _, guess_w = step(start_w, source, out[VAPOUR_LOSS], plant.vapour_capacity)
                break
            if result == HELD:
                moisture[MODE] = HOLDING
                moisture[CALLED] = max(groups[i].running, lacked)
                moisture[END_W] = set_w
                moisture[MEAN_W] = mean
                moisture[SETTLED] = 1.0 if good else 0.0
                return True
            moisture[MODE] = SATURATED
            here = 0.0 if result == OUT_OF_RANGE else count
            less = (out[REMOVED] - out[COIL_REMOVED]) * (1.0 - here / groups[i].running)
            source = out[VAPOUR_SOURCE] - out[REMOVED] + less
            _, guess_w = step(start_w, source, out[VAPOUR_LOSS], plant.vapour_capacity)
            wanted, _ = source_for(start_w, set_w, out[VAPOUR_LOSS], plant.vapour_capacity)
            need = max(0.0, source - wanted)
            groups[i].running = here
            if result == OUT_OF_RANGE:
                moisture[LOST] = 1.0
                guess_t, guess_w = start_t, start_w
    end, mean, good = float_moisture(plant, now, wet, groups, start_t, start_w, guess_t, guess_w, seen_w, out)
    moisture[END_W] = end
    moisture[MEAN_W] = mean
    moisture[SETTLED] = 1.0 if good else 0.0
    return not (doubtful and end > set_w)
