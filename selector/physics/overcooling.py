"""Overcooling with reheat: the humidistat runs the cooling coil beyond the thermostat's call.

Called where the hour would end above the humidistat's set point after all units, or without any. Reheat stands behind
everything else in the supply air. It gives what keeps the space at the dry bulb that the hour would have ended with
anyway, so that the coil's over-run is felt as dryness alone; in an hour in which the space is heated, reheat gives the
heating, too. The economizer stays shut. Neither the coil nor reheat gives more than it has, and the coil's surface
stays at or above 0 °C: what then lacks is counted.
Units: °C, kg/kg, kg/s, W.
"""

from __future__ import annotations

import math

from selector.inputs.site import FloatArray
from selector.physics.air_handler import FAN_OFF, Now, Plant
from selector.physics.arrangements import Groups
from selector.physics.compiled import compiled
from selector.physics.floating import CLOSE_W, JOINT, float_moisture, respond_near
from selector.physics.holding import CLOSE
from selector.physics.humidistat import END_W, MEAN_W, SETTLED
from selector.physics.recovery import STANDS, TURNS
from selector.physics.response import (
    COIL_REMOVED,
    COIL_SHARE,
    END_T,
    HEATING,
    MEAN_T,
    ORDER_HOLD,
    ORDER_OVERRUN,
    ORDER_REHEAT,
    ORDER_SPEED,
    ORDER_WHEEL,
    REHEAT,
    REHEAT_SHORT,
    REMOVED,
    SURFACE_T,
    VAPOUR_LOSS,
    VAPOUR_SOURCE,
    WHEEL_SPEED,
)
from selector.physics.step import source_for

ENOUGH, COIL_RAN_OUT, REHEAT_RAN_OUT, COIL_TOO_COLD = range(4)  # why the set point was not held: REHEAT_SHORT
WORTH = 1e-6  # kg/kg that the space ends drier by, or a coil that comes to its limit does not over-run
AMPLE = 3.0  # of the coil's rated capacity: more reheat than any coil takes off again


@compiled
def may_overcool(plant: Plant, now: Now, end_w: float, set_w: float) -> bool:
    """Whether the humidistat calls the coil.

    Args: plant; now, the hour; end_w, set_w [kg/kg], humidity ratio at the hour's end without over-run and set point.
    Returns: true where the site has reheat, its fan may run and the hour ends too moist.
    """
    if plant.reheat == 0 or end_w <= set_w + CLOSE_W:
        return False
    return plant.has_air_handler == 1 and (now.ventilation > 0.0 or plant.unoccupied_fan != FAN_OFF)


@compiled
def _hold(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    start_t: float,
    start_w: float,
    set_w: float,
    reheat: float,
    guess_t: float,
    guess_w: float,
    out: FloatArray,
) -> tuple[float, float, float, bool]:
    """Miss of removal [kg/s], above 0 where it is too much, at some reheat; mean state; whether that settled."""
    out[ORDER_REHEAT] = reheat
    mean_t, mean_w, miss, good = guess_t, guess_w, 0.0, False
    for turn in range(60):
        mean_t, good = respond_near(plant, now, wet, groups, start_t, mean_t, mean_w, turn > JOINT, out)
        wanted, following = source_for(start_w, set_w, out[VAPOUR_LOSS], plant.vapour_capacity)
        good = good and abs(following - mean_w) < 1e-9
        mean_w = following
        miss = wanted - (out[VAPOUR_SOURCE] - out[REMOVED])
        if good:
            break
    return miss, mean_t, mean_w, good


@compiled
def overcool(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    start_t: float,
    start_w: float,
    set_w: float,
    out: FloatArray,
    moisture: FloatArray,
) -> None:
    """Run the coil for the humidistat and bring the supply air back with reheat.

    Args: as `hour_step`, which has filled out and moisture without over-run; out and moisture are
        filled again.
    """
    before, plain_t, plain_w = moisture[END_W], out[MEAN_T], moisture[MEAN_W]
    order = out[ORDER_WHEEL]
    if order > STANDS:  # a wheel keeps its speed: what it would do against reheat is not asked for
        out[ORDER_WHEEL] = TURNS
        out[ORDER_SPEED] = out[WHEEL_SPEED]
    out[ORDER_OVERRUN] = 1.0
    out[ORDER_HOLD] = out[END_T]
    most = min(plant.reheat_capacity, AMPLE * plant.coil_capacity + out[HEATING])
    miss, mean_t, mean_w, good = _hold(
        plant, now, wet, groups, start_t, start_w, set_w, most, plain_t, plain_w, out
    )  # fmt: skip
    short = ENOUGH
    if miss < 0.0:
        end, mean, good = float_moisture(
            plant, now, wet, groups, start_t, start_w, mean_t, mean_w, math.nan, out
        )
        short = REHEAT_RAN_OUT if out[REHEAT] >= most else COIL_RAN_OUT
    else:
        high, high_miss = out[REHEAT], miss
        miss, mean_t, mean_w, good = _hold(
            plant, now, wet, groups, start_t, start_w, set_w, 0.0, mean_t, mean_w, out
        )  # fmt: skip
        if miss >= 0.0:  # the coil in the economizer's place takes enough
            end, mean, good = float_moisture(
                plant, now, wet, groups, start_t, start_w, mean_t, mean_w, math.nan, out
            )
        else:
            low, low_miss = 0.0, miss
            side = 0
            for turn in range(80):
                tried = low + (high - low) * low_miss / (low_miss - high_miss)
                if turn % 4 == 3 or tried <= low or tried >= high:
                    tried = 0.5 * (low + high)
                miss, mean_t, mean_w, good = _hold(
                    plant, now, wet, groups, start_t, start_w, set_w, tried, mean_t, mean_w, out,
                )  # fmt: skip
                if (good and abs(miss) <= CLOSE * out[REMOVED]) or high - low < 1e-12 * high:
                    break
                if miss < 0.0:
                    low, low_miss = tried, miss
                    if side == -1:
                        high_miss *= 0.5
                    side = -1
                else:
                    high, high_miss = tried, miss
                    if side == 1:
                        low_miss *= 0.5
                    side = 1
            good = good and abs(miss) <= 10.0 * CLOSE * out[REMOVED]
            out[REMOVED] -= miss  # the coil's removal takes up what is left
            out[COIL_REMOVED] -= miss
            end, mean = set_w, mean_w
    too_cold = out[COIL_SHARE] > 0.0 and out[SURFACE_T] < 0.0
    if too_cold or (short != ENOUGH and end >= before - WORTH):
        out[ORDER_OVERRUN] = 0.0
        out[REHEAT] = 0.0
        out[ORDER_WHEEL] = order
        out[ORDER_SPEED] = 1.0
        end, mean, good = float_moisture(
            plant, now, wet, groups, start_t, start_w, plain_t, plain_w, math.nan, out
        )
        short = COIL_TOO_COLD if too_cold else COIL_RAN_OUT
    out[REHEAT_SHORT] = short
    moisture[END_W] = end
    moisture[MEAN_W] = mean
    moisture[SETTLED] = 1.0 if good else 0.0
