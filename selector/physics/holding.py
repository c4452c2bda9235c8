"""The unit-hours of one group of units that bring the space to the humidistat's set point at the end of the hour.

Sought by false position between unit-hours that take too little and too much, each evaluated at the mean state of the
hour that it leads to. Units: °C, kg/kg, kg/s; running in unit-hours.
"""

from __future__ import annotations

from selector.inputs.site import FloatArray
from selector.physics.air_handler import CHILLED_WATER, Now, Plant
from selector.physics.arrangements import (
    ENTERING_T,
    FLOW,
    LEAVING_T,
    LEAVING_W,
    OFF,
    OUTDOOR_AIR,
    RUNS,
    SUPPLY_SIDE,
    Groups,
    heat_air,
    run_group,
)
from selector.physics.coil import START_LATENT
from selector.physics.compiled import compiled
from selector.physics.floating import JOINT, led_to, respond_near
from selector.physics.moist_air import saturation_humidity_ratio, saturation_rise, sensible_heat
from selector.physics.response import (
    BESIDE,
    COIL_FULL,
    COIL_HEAT,
    COIL_IN_T,
    COIL_IN_W,
    COIL_OUT_T,
    COIL_OUT_W,
    COIL_REMOVED,
    COIL_SHARE,
    FAN_SHARE,
    HEAT_LOSS,
    HEATING,
    KEPT,
    MEAN_T,
    ORDER_WHEEL,
    REMOVED,
    SURFACE_T,
    VAPOUR_LOSS,
    VAPOUR_SOURCE,
)
from selector.physics.step import HOUR, first, second, source_for

MOST_UNITS = 1000.0  # unit-hours beyond which no root is looked for

CLOSE = 1e-7  # of what the units take, to which their unit-hours are found; their removal takes up the rest
MOST_WARMING = 3.0  # K of the mean dry bulb that the first guess may lead to
SHORT = 0.9  # of the first guess of unit-hours: what is less than that may be seen to lack at once
LEAST_TAKEN = 0.1  # of a unit's removal, that a first guess has it take beside a running coil
CLEAR = 0.1  # unit-hours: a first guess above it is called for, even where the hour without units is not settled yet

# a mean state this near the one that it leads to tells whether units lack that lack by more than this share
NEAR_T, NEAR_W, CLEARLY = 0.3, 1e-4, 0.1  # K, kg/kg, of what the units take

NOT_CALLED, HELD, LACKING, ALL_LACK, OUT_OF_RANGE = range(5)


@compiled
def likely_outdoor_air(plant: Plant, now: Now) -> float:
    """Outdoor air that the hour brings if units send none outdoors and the economizer stays shut.

    Args: plant; now, the hour.
    Returns: flow [kg/s], through the air handler and the envelope; without what a shut damper leaks.
    """
    if plant.has_air_handler == 0 or now.ventilation <= 0.0:
        return now.infiltration
    brought = plant.outdoor * now.ventilation
    infiltration = max(0.0, now.infiltration - max(0.0, brought - plant.exhaust))
    return brought + infiltration + max(0.0, plant.exhaust - brought)


@compiled
def first_guess(
    plant: Plant,
    now: Now,
    groups: Groups,
    free: int,
    need: float,
    mean_t: float,
    mean_w: float,
    out: FloatArray,
) -> tuple[float, float]:
    """Guess the unit-hours that a need takes, from one unit on the air that it would meet with none running.

    Args: as `hold_moisture`; need [kg/s]; mean_t [°C], mean_w [kg/kg] and out (RESPONSE,) with none of it running.
    Returns: unit-hours; rise of the mean dry bulb [K] for each of them, where nothing holds it.
    """
    dry_bulb, ratio = mean_t, mean_w
    place = 0
    if groups[free].arrangement == OUTDOOR_AIR:
        dry_bulb, ratio = now.outdoor_t, now.outdoor_w
    elif groups[free].arrangement == SUPPLY_SIDE:
        dry_bulb, ratio = out[COIL_IN_T], out[COIL_IN_W]
        place = OFF
        if out[COIL_SHARE] > 0.5 * out[FAN_SHARE]:
            dry_bulb, ratio = out[COIL_OUT_T], out[COIL_OUT_W]
            place = 0
        if plant.fan_after_coil == 1:
            dry_bulb = heat_air(dry_bulb, ratio, plant.fan_power, plant.supply)
    run_group(
        free, place, groups[free].flow_fraction, groups, dry_bulb, ratio, now.pressure,
        (now.outdoor_t, now.outdoor_w), (mean_t, mean_w),
    )  # fmt: skip
    row = groups[free].cell
    removal = row[place + FLOW] * (ratio - row[place + LEAVING_W])
    if removal <= 0.0:
        return 1.0, 0.0
    heat = row[place + FLOW] * sensible_heat(
        row[place + LEAVING_W], row[place + LEAVING_T], row[place + ENTERING_T]
    )
    taken = removal
    if out[COIL_SHARE] > 0.0 and out[COIL_FULL] == 0.0:
        taken = max(LEAST_TAKEN * removal, removal + heat * dried_by_cooling(plant, now, out))
    guess = min(MOST_UNITS, max(1e-3, need / taken))
    if out[COIL_SHARE] > 0.0 or out[HEATING] > 0.0 or out[COIL_HEAT] > 0.0:
        return guess, 0.0
    if groups[free].fan == 1:
        heat += plant.fan_power * max(0.0, min(1.0, guess) - out[FAN_SHARE]) / guess
    z = out[HEAT_LOSS] * HOUR / plant.air_capacity
    warming = heat * HOUR / plant.air_capacity * second(z, first(z))
    if warming * guess > MOST_WARMING:
        guess = max(min(1.0, guess), MOST_WARMING / warming)
    return guess, warming


@compiled
def dried_by_cooling(plant: Plant, now: Now, out: FloatArray) -> float:
    """Moisture that the coil takes beside each further joule of sensible heat, for a first guess.

    Args: plant; now, the hour; out (RESPONSE,) with the coil running.
    Returns: moisture [kg/J], 0 where the coil is dry.
    """
    if out[COIL_REMOVED] <= 0.0:
        return 0.0
    if plant.coil_kind == CHILLED_WATER:  # the valve opens further, and the surface gets colder
        surface = out[SURFACE_T]
        saturated = saturation_humidity_ratio(surface, now.pressure)
        steep = saturation_rise(saturated, surface)
        return float(steep / sensible_heat(saturated, 1.0, 0.0))
    sensible = out[COIL_HEAT] - START_LATENT * out[COIL_REMOVED]
    return float(out[COIL_REMOVED] / sensible) if sensible > 0.0 else 0.0


@compiled
def all_lack(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    free: int,
    count: float,
    start_t: float,
    start_w: float,
    set_w: float,
    guess_t: float,
    mean_w: float,
    out: FloatArray,
) -> bool:
    """See at once whether all units of a group clearly lack, and leave no trace where they may not.

    Args: as `hold_moisture`; guess_t [°C] of the mean dry bulb with `count` units; mean_w [kg/kg].
    Returns: true where they run and lack by more than a tenth of what the units take; out then holds their response.
    """
    kept = ORDER_WHEEL - KEPT
    for k in range(kept):
        out[BESIDE + k] = out[KEPT + k]
    groups[free].running = count
    mean_t, _ = respond_near(plant, now, wet, groups, start_t, guess_t, mean_w, False, out)
    wanted, following = source_for(start_w, set_w, out[VAPOUR_LOSS], plant.vapour_capacity)
    if abs(mean_t - guess_t) < NEAR_T and abs(following - mean_w) < NEAR_W and not not_in_range(groups, free):
        miss = wanted - (out[VAPOUR_SOURCE] - out[REMOVED])
        if miss < -CLEARLY * abs(out[REMOVED] - out[COIL_REMOVED]):
            return True
    for k in range(kept):
        out[KEPT + k] = out[BESIDE + k]
    return False


@compiled
def hold_moisture(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    free: int,
    count: float,
    need: float,
    start_t: float,
    start_w: float,
    set_w: float,
    guess_t: float,
    patient: bool,
    out: FloatArray,
) -> tuple[int, float, bool, float, float]:
    """Find the unit-hours of one group that bring the space to its set point at the end of the hour.

    Args: as `respond`; free, the group whose `running` is sought; count, units of it that there are; need [kg/s], about
        what it has to remove, below 0 where the space may stay under its set point without it, which is then seen
        first; start_w, set_w [kg/kg]; guess_t [°C] of the mean dry bulb without it; patient, whether that is settled in
        any case before it tells.
    Returns: NOT_CALLED, HELD, LACKING with `count` units, ALL_LACK where `out` holds the response of these, or
        OUT_OF_RANGE; mean humidity ratio [kg/kg], of NOT_CALLED and ALL_LACK the one that `out` was evaluated at;
        whether it settled; a guess of the mean dry bulb with `count` units [°C]; the fewest units that are not seen to
        lack on the way. The search looks at `count` only to give up, so that a design of more units follows the same
        path.
    """
    ask = need < 0.0
    mean_t = guess_t
    _, mean_w = source_for(start_w, set_w, likely_outdoor_air(plant, now), plant.vapour_capacity)
    low, low_miss, lacked = 0.0, 0.0, 0.0
    high, high_miss = MOST_UNITS, 0.0
    tried, warming = 0.0, 0.0  # K of the mean dry bulb for each unit-hour
    last, last_miss, last_t = 0.0, -need, guess_t
    sure = True  # that some are called
    if not ask:
        tried, warming = first_guess(plant, now, groups, free, need, mean_t, mean_w, out)
        if SHORT * tried > count and all_lack(
            plant, now, wet, groups, free, count, start_t, start_w, set_w, mean_t, mean_w, out
        ):
            return ALL_LACK, mean_w, False, out[MEAN_T], 0.0
    ran = False  # the group has been seen to run on the air that it leads to
    width, slow = MOST_UNITS, 0  # of the bracket, and for how many steps it has not halved
    for turn in range(80):
        groups[free].running = tried
        guess_t = led_to(mean_t, warming * (tried - last))
        mean_t, good = respond_near(plant, now, wet, groups, start_t, guess_t, mean_w, turn > JOINT, out)
        wanted, following = source_for(start_w, set_w, out[VAPOUR_LOSS], plant.vapour_capacity)
        near = abs(mean_t - guess_t) < NEAR_T and abs(following - mean_w) < NEAR_W
        good = good and abs(following - mean_w) < 1e-9
        at_w = mean_w
        mean_w = following
        miss = wanted - (out[VAPOUR_SOURCE] - out[REMOVED])  # above 0: removes too much
        taken = out[REMOVED] - out[COIL_REMOVED]
        close = abs(miss) <= CLOSE * abs(taken)
        at_count = led_to(mean_t, warming * (count - tried))
        clear = False
        if tried == 0.0 and not good and turn == 0 and near and not patient:
            if miss >= 0.0:
                return NOT_CALLED, at_w, good, mean_t, lacked
            following, warming = first_guess(plant, now, groups, free, -miss, mean_t, mean_w, out)
            clear = following > CLEAR
            sure = not clear
        if (tried == 0.0 or close) and not good and not clear:
            last, last_t = tried, mean_t
            continue  # the same again at the mean state that it leads to
        if tried == 0.0:
            if miss >= 0.0:
                return NOT_CALLED, at_w, good, mean_t, lacked
        elif close:
            out[REMOVED] -= miss  # the units' removal takes up what is left
            return HELD if tried <= count else LACKING, mean_w, good, at_count, lacked
        elif tried > 1.0 and not ran and not_in_range(groups, free):
            # a guess too high may heat the space out of the group's range where one unit would not
            last, last_miss, last_t = 0.0, 0.0, mean_t
            tried = 1.0
            continue
        elif not_in_range(groups, free):
            # more than there are may heat the space out of their range where fewer only lacked
            return LACKING if ran and tried > count else OUT_OF_RANGE, mean_w, good, mean_t, lacked
        else:
            ran = True
        if clear or (not good and not (near and abs(miss) > CLEARLY * abs(taken))):
            pass  # not yet at the state that it leads to: no bound of the bracket
        elif miss < 0.0:
            low, low_miss = tried, miss
            lacked = max(lacked, tried)
            if low > count:
                return LACKING, mean_w, good, at_count, lacked
        else:
            high, high_miss = tried, miss
        if tried == 0.0 and high_miss > 0.0:
            following = high * low_miss / (low_miss - high_miss)
        elif tried == 0.0:
            if not clear:
                following, warming = first_guess(plant, now, groups, free, -miss, mean_t, mean_w, out)
            guess_t = led_to(mean_t, warming * count)
            if SHORT * following > count and all_lack(
                plant, now, wet, groups, free, count, start_t, start_w, set_w, guess_t, mean_w, out
            ):
                return ALL_LACK, mean_w, False, out[MEAN_T], 0.0
        else:
            gain = (miss - last_miss) / (tried - last) if tried != last else 0.0
            if not good and tried != last and gain > 0.0:
                following = max(0.1 * tried, min(3.0 * tried, tried - miss / gain))
            elif high_miss == 0.0:  # only too little so far
                if tried >= MOST_UNITS:
                    return LACKING, mean_w, good, at_count, lacked
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
                    return HELD if tried <= count else LACKING, mean_w, good, at_count, lacked
            if abs(tried - last) > 1e-6 * tried:
                warming = (mean_t - last_t) / (tried - last)
            if not sure and low_miss == 0.0 and following < 0.5 * tried:
                following, sure = 0.0, True  # whether any are called at all has to be settled first
        last, last_miss, last_t = tried, miss, mean_t
        tried = following
    out[REMOVED] -= miss
    return HELD if tried <= count else LACKING, mean_w, False, mean_t, lacked


@compiled
def not_in_range(groups: Groups, group: int) -> bool:
    """Whether the air a group was last evaluated on lies outside its range.

    Args: groups; group, its number.
    Returns: true where it does not run; for supply-side units neither while the coil is on nor while it is off.
    """
    if groups[group].cell[RUNS] > 0.0:
        return False
    return groups[group].arrangement != SUPPLY_SIDE or groups[group].cell[OFF + RUNS] == 0.0
