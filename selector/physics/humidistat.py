"""What the humidistat makes of one hour: which units run, and where the space's moisture goes.

Units run in lead order. The humidistat modulates the unit-hours of one group at a time so that the space ends the
hour at its set point, and lets the moisture float where nothing is called or everything runs. While it floats, what
coil, units and wet surfaces take or give is evaluated at the hour's mean state and taken as linear in the space's
humidity ratio about it, so that the step stays exact and stable for any amount of storage.
Units: °C, kg/kg, kg/s; running in unit-hours.
"""

from __future__ import annotations

import math

from selector.inputs.site import FloatArray
from selector.physics.air_handler import FAN_OFF, NO_ECONOMIZER, Now, Plant
from selector.physics.arrangements import FRACTION, OFF, OUTDOOR_AIR, RUNS, SUPPLY_SIDE, Groups, IntArray
from selector.physics.compiled import compiled
from selector.physics.step import HOUR, source_for, step
from selector.physics.thermostat import (
    COIL_FULL,
    COIL_REMOVED,
    COIL_SHARE,
    GAIN_VAPOUR,
    KEPT,
    MEAN_T,
    REMOVED,
    SHARE_SETTLED,
    VAPOUR_LOSS,
    VAPOUR_SOURCE,
    respond,
)

MOST_UNITS = 1000.0  # unit-hours beyond which no root is looked for

JOINT = 10  # turns for which dry bulb and moisture are sought together; then one inside the other

IDLE, HOLDING, SATURATED = range(3)  # nothing called, set point held, everything runs

NOT_CALLED, HELD, LACKING, OUT_OF_RANGE = range(4)

# what an hour leaves besides the thermostat's response
END_W, MEAN_W, MODE, SETTLED, LOST = range(5)
MOISTURE = 5


@compiled
def does_not_depend(wet: FloatArray, running: FloatArray, out: FloatArray) -> bool:
    """Whether the hour's response is the same for any mean state of the space.

    Args: wet (N, WET); running (G,); out (RESPONSE,), just filled.
    Returns: true where coil and units are idle and nothing evaporates: only outdoor air, gains, fan and heating are
        left, and their heat and moisture are linear in the space's state.
    """
    if wet.shape[0] > 0 or out[COIL_SHARE] > 0.0:
        return False
    for i in range(running.size):  # noqa: SIM110 - the compiler takes no generator
        if running[i] > 0.0:
            return False
    return True


@compiled
def respond_near(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    latent: FloatArray,
    units: FloatArray,
    groups: Groups,
    running: FloatArray,
    start_t: float,
    guess_t: float,
    mean_w: float,
    patient: bool,
    cell: FloatArray,
    out: FloatArray,
) -> tuple[float, bool]:
    """Evaluate the hour once, near the mean dry bulb that the response itself leads to.

    Args: as `respond`; guess_t [°C] of the mean dry bulb.
    Returns: mean dry bulb that the response leads to [°C]; whether it is the one it was evaluated at, to 1e-6 K. Where
        a coil at its limit makes the response steep, or the caller is `patient`, the mean is settled here; otherwise
        the caller evaluates again at the mean returned, together with what else it is looking for.
    """
    tried = guess_t
    before = 0.0
    miss_before = 0.0
    for turn in range(60):
        respond(plant, now, wet, latent, units, groups, running, start_t, tried, mean_w, cell, out)
        miss = out[MEAN_T] - tried
        if abs(miss) < 1e-6 or does_not_depend(wet, running, out):
            return out[MEAN_T], out[SHARE_SETTLED] > 0.0
        if turn == 0 and out[COIL_FULL] == 0.0 and not patient:
            return out[MEAN_T], False
        following = out[MEAN_T]
        if turn > 0 and miss != miss_before:
            slope = (miss - miss_before) / (tried - before)
            if slope < -0.01:
                following = tried - miss / slope
        before, miss_before = tried, miss
        tried = following
    return tried, False


@compiled
def float_moisture(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    latent: FloatArray,
    units: FloatArray,
    groups: Groups,
    running: FloatArray,
    start_t: float,
    start_w: float,
    cell: FloatArray,
    out: FloatArray,
) -> tuple[float, float, bool]:
    """Let the moisture float with given running units.

    Args: as `respond`; start_w [kg/kg] at the start of the hour.
    Returns: humidity ratio at the end and mean [kg/kg]; whether the mean settled to 1e-8.
    """
    tried = start_w
    mean_t = start_t
    slope = 0.0
    before = 0.0
    net_before = 0.0
    for turn in range(60):
        mean_t, good = respond_near(
            plant, now, wet, latent, units, groups, running, start_t, mean_t, tried, turn > JOINT, cell, out
        )
        net = out[REMOVED] - out[GAIN_VAPOUR]
        if turn > 0 and abs(tried - before) > 1e-6:  # a slope over less would be noise
            following = max(0.0, (net - net_before) / (tried - before))
            slope = following if turn < 6 else max(slope, following)  # at a kink the steeper side settles
        straight = does_not_depend(wet, running, out)
        if straight:
            slope = 0.0
        end, mean = step(
            start_w,
            out[VAPOUR_SOURCE] - out[REMOVED] + slope * tried,
            out[VAPOUR_LOSS] + slope,
            plant.vapour_capacity,
        )
        if straight:
            return end, mean, good
        if abs(mean - tried) < 1e-8 and good:
            # the linear part of the last correction belongs to what was linearised
            change = slope * (mean - tried)
            if out[COIL_SHARE] > 0.0:
                out[REMOVED] += change
                out[COIL_REMOVED] += change
            else:
                out[GAIN_VAPOUR] -= change
                out[VAPOUR_SOURCE] -= change
            return end, mean, good
        before, net_before = tried, net
        tried = max(1e-6, mean)
    return end, mean, False


@compiled
def hold_moisture(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    latent: FloatArray,
    units: FloatArray,
    groups: Groups,
    running: FloatArray,
    free: int,
    count: float,
    ask: bool,
    start_t: float,
    start_w: float,
    set_w: float,
    cell: FloatArray,
    out: FloatArray,
) -> tuple[int, float, bool]:
    """Find the unit-hours of one group that bring the space to its set point at the end of the hour.

    Args: as `respond`; free, the group whose `running` is sought; count, units of it that there are; ask, whether to
        see first if the space stays under its set point without it; start_w, set_w [kg/kg].
    Returns: NOT_CALLED, HELD, LACKING with `count` units, or OUT_OF_RANGE; mean humidity ratio [kg/kg]; whether it
        settled. The search looks at `count` only to give up, so that a design of more units follows the same path.
    """
    mean_t = start_t
    mean_w = 0.5 * (start_w + set_w)
    low, low_miss = 0.0, 0.0
    high, high_miss = MOST_UNITS, 0.0
    tried = 0.0 if ask else 1.0
    last, last_miss = 0.0, 0.0
    ran = False  # the group has been seen to run on the air that it leads to
    fresh = True  # no evaluation with a running unit yet
    width, slow = MOST_UNITS, 0  # of the bracket, and for how many steps it has not halved
    for turn in range(80):
        running[free] = tried
        mean_t, good = respond_near(
            plant, now, wet, latent, units, groups, running, start_t, mean_t, mean_w, turn > JOINT, cell, out
        )
        wanted, following = source_for(start_w, set_w, out[VAPOUR_LOSS], plant.vapour_capacity)
        good = good and abs(following - mean_w) < 1e-9
        mean_w = following
        miss = wanted - (out[VAPOUR_SOURCE] - out[REMOVED])  # above 0: removes too much
        close = abs(miss) <= 1e-7 * abs(out[REMOVED] - out[COIL_REMOVED])
        if (tried == 0.0 or close) and not good:
            continue  # the same again at the mean state that it leads to
        if tried == 0.0:
            if miss >= 0.0:
                return NOT_CALLED, mean_w, good
        elif close:
            out[REMOVED] -= miss  # the units' removal takes up what is left
            return HELD if tried <= count else LACKING, mean_w, good
        elif not_in_range(groups, free, cell):
            # more than there are may heat the space out of their range where fewer only lacked
            return LACKING if ran and tried > count else OUT_OF_RANGE, mean_w, good
        else:
            ran = True
        if not good:
            pass  # not yet at the state that it leads to: no bound of the bracket
        elif miss < 0.0:
            low, low_miss = tried, miss
            if low > count:
                return LACKING, mean_w, good
        else:
            high, high_miss = tried, miss
        if tried == 0.0:
            following = 1.0
        elif fresh and not ask:
            removed = max(1e-12, out[REMOVED] - out[COIL_REMOVED])
            following = tried * max(0.02, min(50.0, (removed - miss) / removed))
        else:
            gain = (miss - last_miss) / (tried - last) if tried != last else 0.0
            if not good and tried != last and gain > 0.0:
                following = max(0.1 * tried, min(3.0 * tried, tried - miss / gain))
            elif high_miss == 0.0:  # only too little so far
                if tried >= MOST_UNITS:
                    return LACKING, mean_w, good
                # ahead of a running coil the first units may take little more than the coil then loses, or less
                following = tried - miss / gain if gain > 0.0 else MOST_UNITS
                following = min(MOST_UNITS, 3.0 * tried, max(following, tried * 1.0000001))
            elif low_miss == 0.0:  # only too much so far
                following = tried - miss / gain if gain > 0.0 else 0.5 * tried
                if following <= 0.0:
                    following = 0.1 * tried
            else:
                following = tried - miss / gain if gain != 0.0 else -1.0
                if following <= low or following >= high:
                    following = low + (high - low) * low_miss / (low_miss - high_miss)
                slow = slow + 1 if high - low > 0.5 * width else 0
                width = high - low
                if following <= low or following >= high or slow >= 4:
                    following = 0.5 * (low + high)
                    slow = 0
                if high - low < 1e-12 * high:
                    out[REMOVED] -= miss
                    return HELD if tried <= count else LACKING, mean_w, good
        fresh = fresh and tried == 0.0
        last, last_miss = tried, miss
        tried = following
    out[REMOVED] -= miss
    return HELD if tried <= count else LACKING, mean_w, False


@compiled
def not_in_range(groups: Groups, group: int, cell: FloatArray) -> bool:
    """Whether the air a group was last evaluated on lies outside its range.

    Args: groups; group, its number; cell (G, CELL).
    Returns: true where it does not run; for supply-side units neither while the coil is on nor while it is off.
    """
    if cell[group, RUNS] > 0.0:
        return False
    return groups[group].arrangement != SUPPLY_SIDE or cell[group, OFF + RUNS] == 0.0


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
    latent: FloatArray,
    units: FloatArray,
    groups: Groups,
    counts: IntArray,
    start_t: float,
    start_w: float,
    set_w: float,
    running: FloatArray,
    cell: FloatArray,
    out: FloatArray,
    moisture: FloatArray,
) -> None:
    """Run one hour: thermostat and humidistat together.

    Args: plant, now, wet, latent, units and groups as `respond`; counts (G,) units installed; start_t [°C], start_w
        [kg/kg]; set_w [kg/kg], the humidistat's set point, infinite where it is off; running (G,) [unit-hours], cell
        (G, CELL), out (RESPONSE,) and moisture (MOISTURE,) are filled.
    """
    running[:] = 0.0
    moisture[LOST] = 0.0
    moisture[MODE] = IDLE
    out[KEPT:] = math.nan  # nothing kept from another hour
    cell[:, FRACTION] = math.nan
    cell[:, OFF + FRACTION] = math.nan
    asked = False
    if set_w < math.inf and wettest_end(plant, now, wet, start_w) > set_w:
        for i in range(running.size):
            if counts[i] == 0 or not can_run(plant, now, groups, i):
                continue
            result, mean, good = hold_moisture(
                plant, now, wet, latent, units, groups, running, i, float(counts[i]), not asked, start_t, start_w,
                set_w, cell, out,
            )  # fmt: skip
            asked = True
            if result == NOT_CALLED:
                moisture[MODE] = IDLE
                break
            if result == HELD:
                moisture[MODE] = HOLDING
                moisture[END_W] = set_w
                moisture[MEAN_W] = mean
                moisture[SETTLED] = 1.0 if good else 0.0
                return
            moisture[MODE] = SATURATED
            running[i] = float(counts[i])
            if result == OUT_OF_RANGE:
                running[i] = 0.0
                moisture[LOST] = 1.0
    end, mean, good = float_moisture(
        plant, now, wet, latent, units, groups, running, start_t, start_w, cell, out
    )
    moisture[END_W] = end
    moisture[MEAN_W] = mean
    moisture[SETTLED] = 1.0 if good else 0.0
