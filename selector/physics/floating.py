"""The space's moisture where nothing holds it, and the mean state that an hour's response leads to.

While it floats, what coil, units and wet surfaces take or give is evaluated at the hour's mean state and taken as
linear in the space's humidity ratio about it, so that the step stays exact and stable for any amount of storage.
Units: °C, kg/kg, kg/s.
"""

from __future__ import annotations

from selector.inputs.site import FloatArray
from selector.physics.air_handler import Now, Plant
from selector.physics.arrangements import Groups
from selector.physics.compiled import compiled
from selector.physics.response import (
    COIL_FULL,
    COIL_REMOVED,
    COIL_SHARE,
    GAIN_VAPOUR,
    KEPT_FALL,
    MEAN_T,
    ORDER_WHEEL,
    REMOVED,
    SHARE_SETTLED,
    VAPOUR_LOSS,
    VAPOUR_SOURCE,
)
from selector.physics.step import step
from selector.physics.thermostat import respond

CLOSE_T = 1e-6  # K, between the mean dry bulb that machines are evaluated at and the one that they lead to
CLOSE_W = 1e-11  # kg/kg, likewise; the rest is linearised
SLOPE_W = 3e-7  # kg/kg, apart enough to take a slope from
LEAST_FALL = -0.3  # of that difference, for each kelvin of the mean dry bulb: less is a slope from far away
MOST_LEAP = 10.0  # K that a guess of the mean dry bulb may lie off, however steep the change that it follows
MOST_TURNS = 20  # of the mean dry bulb alone, after which it is taken as unsettled
JOINT = 10  # turns for which dry bulb and moisture are sought together; then one inside the other


@compiled
def does_not_depend(wet: FloatArray, groups: Groups, out: FloatArray) -> bool:
    """Whether the hour's response is the same for any mean state of the space.

    Args: wet (N, WET); groups; out (RESPONSE,), just filled.
    Returns: true where coil, wheel and units are idle and nothing evaporates: only outdoor air, gains, fan and heating
        are left, and their heat and moisture are linear in the space's state.
    """
    if wet.shape[0] > 0 or out[COIL_SHARE] > 0.0 or out[ORDER_WHEEL] > 0.0:
        return False
    for i in range(len(groups)):  # noqa: SIM110 - the compiler takes no generator
        if groups[i].running > 0.0:
            return False
    return True


@compiled
def led_to(dry_bulb: float, change: float) -> float:
    """Guess of the mean dry bulb from one before it.

    Args: dry_bulb [°C]; change [K], as a slope has it.
    Returns: dry bulb [°C], at most MOST_LEAP away.
    """
    return dry_bulb + max(-MOST_LEAP, min(MOST_LEAP, change))


@compiled
def respond_near(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    start_t: float,
    guess_t: float,
    mean_w: float,
    patient: bool,
    out: FloatArray,
) -> tuple[float, bool]:
    """Evaluate the hour once, near the mean dry bulb that the response itself leads to.

    Args: as `respond`; guess_t [°C] of the mean dry bulb.
    Returns: mean dry bulb that the response leads to [°C]; whether it is the one it was evaluated at, to CLOSE_T. Where
        a coil at its limit makes the response steep, or the caller is `patient`, the mean is settled here; otherwise
        the caller evaluates again at the mean returned, together with what else it is looking for.
    """
    tried = guess_t
    before = 0.0
    miss_before = 0.0
    for turn in range(MOST_TURNS):
        respond(plant, now, wet, groups, start_t, tried, mean_w, out)
        miss = out[MEAN_T] - tried
        if abs(miss) < CLOSE_T or does_not_depend(wet, groups, out):
            return out[MEAN_T], out[SHARE_SETTLED] > 0.0
        following = out[MEAN_T]
        if turn > 0 and miss != miss_before and abs(tried - before) > 1e-4:
            out[KEPT_FALL] = (miss - miss_before) / (tried - before)
        if out[COIL_FULL] > 0.0 and out[KEPT_FALL] < LEAST_FALL:
            following = led_to(tried, -miss / out[KEPT_FALL])
        if not patient and ((turn == 0 and out[COIL_FULL] == 0.0) or out[KEPT_FALL] < LEAST_FALL):
            return following, False
        before, miss_before = tried, miss
        tried = following
    return tried, False


@compiled
def float_moisture(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    start_t: float,
    start_w: float,
    guess_t: float,
    guess_w: float,
    seen_w: float,
    out: FloatArray,
) -> tuple[float, float, bool]:
    """Let the moisture float with given running units.

    Args: as `respond`; start_w [kg/kg] at the start of the hour; guess_t [°C] and guess_w [kg/kg] of the mean; seen_w
        [kg/kg], the mean at which `out` holds the response of these units already, settled where it is guess_w; not a
        number where it does not.
    Returns: humidity ratio at the end and mean [kg/kg]; whether the mean settled to CLOSE_W.
    """
    tried = guess_w
    mean_t = guess_t
    slope = 0.0
    before, net_before, t_before = seen_w, out[REMOVED] - out[GAIN_VAPOUR], out[MEAN_T]
    warming = 0.0  # K of the mean dry bulb for each kg/kg of the mean humidity ratio
    change, change_before = 0.0, 0.0  # of the mean, in the last turns
    for turn in range(60):
        if turn > 0:
            guess_t = led_to(mean_t, warming * (tried - before))
        good = True
        if tried != seen_w or turn > 0:
            mean_t, good = respond_near(plant, now, wet, groups, start_t, guess_t, tried, turn > JOINT, out)
        net = out[REMOVED] - out[GAIN_VAPOUR]
        if abs(tried - before) > SLOPE_W:  # a slope over less would be noise
            warming = (mean_t - t_before) / (tried - before)
            following = max(0.0, (net - net_before) / (tried - before))
            # at a kink, where the mean is missed to and fro, the steeper side settles
            slope = max(slope, following) if turn >= 6 and change * change_before < 0.0 else following
        straight = does_not_depend(wet, groups, out)
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
        if good and abs(mean - tried) < CLOSE_W:
            correct(wet, slope * (mean - tried), out)
            return end, mean, good
        before, net_before, t_before = tried, net, mean_t
        change_before, change = change, mean - tried
        tried = max(1e-6, mean)
    correct(wet, slope * (mean - before), out)
    return end, mean, False


@compiled
def correct(wet: FloatArray, change: float, out: FloatArray) -> None:
    """Add the linear part of the last correction to what was linearised, so that the hour's moisture balance closes.

    Args: wet (N, WET); change [kg/s], by which more is removed or less evaporates; out (RESPONSE,).
    """
    if out[COIL_SHARE] > 0.0:
        out[REMOVED] += change
        out[COIL_REMOVED] += change
    elif wet.shape[0] > 0:
        out[GAIN_VAPOUR] -= change
        out[VAPOUR_SOURCE] -= change
    else:
        out[REMOVED] += change
