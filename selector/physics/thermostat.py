"""What the thermostat makes of one hour at given running units.

`respond` takes the hour's mean state of the space and the unit-hours that each group of units runs, and finds how
long the fan, the coil and the heating run so that the space ends the hour at its set point, or where it ends when
they cannot. Everything that takes air from the space is evaluated at the hour's mean state; the caller iterates on
that mean. Units: °C, kg/kg, kg/s, W, Pa; shares of the hour 0 to 1.
"""

from __future__ import annotations

import math

from selector.inputs.site import FloatArray
from selector.physics.air_handler import (
    CHILLED_WATER,
    DRY_BULB_ECONOMIZER,
    ENTHALPY_ECONOMIZER,
    FAN_OFF,
    FAN_RUNS,
    Now,
    Plant,
    before_coil,
    coil_at,
    cooling_power,
    fan_call,
    given_back_air,
    most_given_back,
    supply,
    surely_taken_up,
)
from selector.physics.arrangements import (
    OFF,
    STANDALONE,
    SUPPLY_SIDE,
    Groups,
    arrangements_in_use,
    standalone_units,
)
from selector.physics.coil import bypass_factor_at, coil_load, leaving_air
from selector.physics.compiled import compiled
from selector.physics.gains import evaporation_of
from selector.physics.moist_air import enthalpy, sensible_heat, vapour_pressure
from selector.physics.part_load import interpolated_latent_ratio
from selector.physics.recovery import MAY_SLOW, STANDS, behind_wheel
from selector.physics.step import source_for, step

# what `respond` leaves behind, all as means over the hour unless said
(
    END_T,
    MEAN_T,
    REMOVED,  # kg/s by coil and units
    VAPOUR_SOURCE,  # kg/s: gains and outdoor air, A of the moisture step
    VAPOUR_LOSS,  # kg/s: B of the moisture step
    COIL_REMOVED,  # kg/s
    GAIN_VAPOUR,  # kg/s
    VENTILATION,  # kg/s of outdoor air through the air handler
    INFILTRATION,  # kg/s of outdoor air through the envelope
    FAN_SHARE,
    COIL_SHARE,  # of the hour at COIL_STAGE
    COIL_STAGE,  # the higher of the two stages; 1 for chilled water
    COIL_HEAT,  # W taken from the air
    COIL_POWER,  # W
    HEATING,  # W delivered
    SHORT_HEATING,  # W that heating lacked
    COIL_FULL,  # 1: the coil ran at all it has and the space ended above its set point
    SURFACE_T,  # °C apparatus dew point while on
    COIL_IN_T,
    COIL_IN_W,
    COIL_OUT_T,
    COIL_OUT_W,
    COIL_LOW_T,  # leaving the coil in the rest of the fan's time
    COIL_LOW_W,
    COIL_AIR,  # kg/s through the coil while the fan runs
    GIVEN_BACK,  # kg/s evaporated from the wet coil
    FAN_FROM_UNITS,  # share of the hour the fan runs for units alone
    GAIN_HEAT,  # W sensible, evaporation from the air taken off
    UNIT_AIR_HEAT,  # W sensible that standalone units give to the space
    SYSTEM_HEAT,  # W that the air handler gives to the space beyond its ventilation air
    SUPPLY_REMOVED,  # kg/s by supply-side units
    UNIT_LOW,  # kg/s by supply-side units while the coil is off and the fan runs
    SHARE_SETTLED,  # 1: the fan's share settled
    HEAT_LOSS,  # W/K: envelope and outdoor air, B of the heat step
    BROUGHT,  # kg/s of outdoor air without what the economizer adds; its heat is not in SYSTEM_HEAT
    WHEEL_SENSIBLE,  # share of BROUGHT's heat that the energy-recovery wheel keeps
    WHEEL_LATENT,  # share of BROUGHT's moisture that it keeps out, or in
    WHEEL_T,  # °C of the outdoor air behind wheel and its fan; as all of these 0 while it stands
    WHEEL_W,  # kg/kg
    WHEEL_POWER,  # W
    WHEEL_SPEED,  # share of its full speed
    REHEAT,  # W delivered, in SYSTEM_HEAT
    REHEAT_SHORT,  # why overcooling did not hold the set point, as `overcooling` numbers it
) = range(43)
RESPONSE = 43
ORDERED = WHEEL_SENSIBLE  # from here on `respond` fills only what wheel and over-run were told

# from here on, where searches ended last in this hour, to start from there: not a number at the hour's beginning
KEPT = RESPONSE
KEPT_ON = KEPT  # share of the hour that the first stage ran
KEPT_FALL = KEPT + 1  # change of what a mean dry bulb leads to, less that mean, for each kelvin of it
KEPT_COIL = KEPT + 2  # the coil's stages; those beyond the fourth start afresh
KEPT_SURFACE, KEPT_T, KEPT_W, KEPT_IN_T, KEPT_IN_W, KEPT_FLOW = range(6)
KEPT_STAGES = 4
KEPT_VALVE = KEPT_COIL + 6  # surface temperature that the chilled-water valve held
# what the thermostat is told for the hour: how the wheel turns, as `recovery` numbers it, and its highest speed;
# whether the coil is to over-run, with how much reheat [W] and at which dry bulb of the space [°C]
ORDER_WHEEL, ORDER_SPEED, ORDER_OVERRUN, ORDER_REHEAT, ORDER_HOLD = range(
    KEPT_COIL + 6 * KEPT_STAGES, KEPT_COIL + 6 * KEPT_STAGES + 5
)
WHOLE_RESPONSE = ORDER_HOLD + 1
SETTLED_SPEED = (
    1e-9  # K of the hour's end, to which the wheel's speed is found where it holds the cooling set point
)
SETTLED_SHARE = 1e-6  # of the hour, to which the fan's share is found where it follows coil or heating


@compiled
def without_air_handler(
    plant: Plant, source: float, loss: float, start: float, cooling: float, heating: float, out: FloatArray
) -> None:
    """Heat or cool the space by what stands in it, sensible heat only.

    Args: plant; source [W] and loss [W/K] of the heat step; start [°C] and the cooling and heating
        set points [°C]; out (RESPONSE,).
    """
    end, mean = step(start, source, loss, plant.air_capacity)
    if end > cooling and plant.space_cooling_capacity > 0.0:
        wanted, _ = source_for(start, cooling, loss, plant.air_capacity)
        heat = min(source - wanted, plant.space_cooling_capacity)
        end, mean = step(start, source - heat, loss, plant.air_capacity)
        if heat == source - wanted:
            end = cooling
        out[COIL_HEAT] = heat
        out[COIL_POWER] = heat / plant.space_cooling_cop
        out[COIL_FULL] = 1.0 if heat == plant.space_cooling_capacity else 0.0
        out[SYSTEM_HEAT] = -heat
    elif end < heating and plant.space_heating_capacity > 0.0:
        wanted, _ = source_for(start, heating, loss, plant.air_capacity)
        heat = min(wanted - source, plant.space_heating_capacity)
        end, mean = step(start, source + heat, loss, plant.air_capacity)
        if heat == wanted - source:
            end = heating
        out[HEATING] = heat
        out[SHORT_HEATING] = wanted - source - heat
        out[SYSTEM_HEAT] = heat
    out[END_T] = end
    out[MEAN_T] = mean


@compiled
def coil_again(
    plant: Plant,
    stage: int,
    flow: float,
    dry_bulb: float,
    ratio: float,
    outdoor: float,
    pressure: float,
    bypass: float,
    out: FloatArray,
) -> tuple[float, float, float]:
    """`coil_at`, or what it gave for the same air in this hour, or started from there.

    Args: as `coil_at`; out (WHOLE_RESPONSE,).
    Returns: as `coil_at`.
    """
    if stage > KEPT_STAGES:
        return coil_at(plant, stage, flow, dry_bulb, ratio, outdoor, pressure, bypass, math.nan)
    kept = out[KEPT_COIL + 6 * (stage - 1) : KEPT_COIL + 6 * stage]
    if kept[KEPT_IN_T] != dry_bulb or kept[KEPT_IN_W] != ratio or kept[KEPT_FLOW] != flow:
        kept[KEPT_SURFACE], kept[KEPT_T], kept[KEPT_W] = coil_at(
            plant, stage, flow, dry_bulb, ratio, outdoor, pressure, bypass, kept[KEPT_SURFACE]
        )
        kept[KEPT_IN_T], kept[KEPT_IN_W], kept[KEPT_FLOW] = dry_bulb, ratio, flow
    return kept[KEPT_SURFACE], kept[KEPT_T], kept[KEPT_W]


@compiled
def cool_in_stages(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    used: int,
    fixed: bool,
    call: float,
    share: float,
    target: float,
    fresh: float,
    idle: float,
    air: tuple[float, float, float, float, float, float],
    space: tuple[float, float],
    out: FloatArray,
) -> float:
    """Run the stages of a cycling coil until the air handler gives the wanted heat.

    Args: as `respond`; used, a bit for each arrangement with a running unit; fixed: the fan's share is not the
        coil's to set; call and share [-] of the fan; target [W],
        heat from the air handler beyond its ventilation air; fresh [W], heat of that ventilation air while the fan
        runs; idle [W], supply heat while the coil is off; air: coil entering dry bulb, humidity ratio, flow, bypass
        flow, its dry bulb and humidity ratio.
    Returns: the fan's share [-]; where it differs from `share` the caller repeats with it.
    Source: latent capacity at part load as in `part_load`, over the time the fan runs.
    """
    dry_bulb, ratio, flow, bypass, bypass_t, bypass_w = air
    pressure = now.pressure
    outdoor = (now.outdoor_t, now.outdoor_w)
    factor = bypass_factor_at(plant.coil_bypass, plant.coil_flow, flow)
    low: float = idle
    low_t, low_w, low_surface = dry_bulb, ratio, dry_bulb
    low_removal = float(out[UNIT_LOW])
    was = share
    for stage in range(1, plant.coil_stages + 1):
        surface, leaving_t, leaving_w = coil_again(
            plant, stage, flow, dry_bulb, ratio, outdoor[0], pressure, factor, out
        )
        high, removal = supply(
            plant, 0, groups, used, share if share > 0.0 else 1.0, flow, leaving_t, leaving_w, bypass,
            bypass_t, bypass_w, pressure, outdoor, space,
        )  # fmt: skip
        if stage == 1 and not fixed:
            alone = target / (high - fresh) if high < fresh else 2.0
            following = min(1.0, max(call, alone))
            if following != share:
                settled = call == 0.0 and plant.leakage == 0.0 and alone <= 1.0
                if not settled and abs(following - share) > SETTLED_SHARE:
                    return following
                was = share  # what brought the outdoor air of this turn
                share = (target + was * fresh) / high if call < alone <= 1.0 else following
        required = target + was * fresh
        on = (required - share * low) / (high - low) if high < low else 2.0
        top = stage == plant.coil_stages
        if on > share + SETTLED_SHARE and not top:
            low, low_t, low_w, low_surface, low_removal = high, leaving_t, leaving_w, surface, removal
            if used & (1 << SUPPLY_SIDE):
                for i in range(len(groups)):  # the rest of the fan's time is at this stage
                    for k in range(OFF):
                        groups[i].cell[OFF + k] = groups[i].cell[k]
            continue
        if on > share:
            on = share
            out[COIL_FULL] = (
                1.0 if share == 1.0 and (required - share * high) < -1e-9 * abs(required) else 0.0
            )
        condensing = flow * (ratio - leaving_w)
        if stage == 1 and share - on > 1e-9 and condensing > 0.0 and on > 0.0:
            # the wet coil gives back moisture, and cools, while the fan outlasts it
            enough = surely_taken_up(dry_bulb, ratio, surface, pressure)
            most = -1.0
            left, right = 0.0, on
            last, last_miss = 0.0, share * idle - required
            if out[KEPT_ON] > 0.0 and out[KEPT_ON] < on:
                on = out[KEPT_ON]
            for _ in range(60):
                back = on * condensing * (1.0 - interpolated_latent_ratio(plant.part_load, on / share))
                rise = back / ((share - on) * flow)
                if rise > enough:
                    if most < 0.0:
                        most = most_given_back(dry_bulb, ratio, surface, pressure)
                    rise = min(most, rise)
                low_t, low_w = given_back_air(dry_bulb, ratio, rise, surface)
                low, low_removal = supply(
                    plant, OFF, groups, used, share, flow, low_t, low_w, bypass, bypass_t, bypass_w,
                    pressure, outdoor, space,
                )  # fmt: skip
                miss = on * high + (share - on) * low - required
                if abs(miss) <= 1e-11 * (abs(required) + abs(high)) or right - left < 1e-15:
                    break
                if miss > 0.0:
                    left = on
                else:
                    right = on
                following = on - miss * (on - last) / (miss - last_miss) if miss != last_miss else -1.0
                if following <= left or following >= right:
                    following = 0.5 * (left + right)
                last, last_miss = on, miss
                on = following
            out[KEPT_ON] = on
            out[GIVEN_BACK] = (share - on) * flow * (low_w - ratio)
        load = coil_load(flow, factor, dry_bulb, ratio, surface, pressure)
        heat = on * load
        power = on * cooling_power(plant, load, surface, outdoor[0])
        if stage == 1:
            power *= 1.0 + plant.coil_cycling_loss * (1.0 - on)
        else:
            load = coil_load(flow, factor, dry_bulb, ratio, low_surface, pressure)
            heat += (share - on) * load
            power += (share - on) * cooling_power(plant, load, low_surface, outdoor[0])
        out[COIL_SHARE] = on
        out[COIL_STAGE] = stage
        out[COIL_HEAT] = heat
        out[COIL_POWER] = power
        out[COIL_REMOVED] = on * condensing + (share - on) * flow * (ratio - low_w)
        out[SURFACE_T] = surface
        out[COIL_OUT_T] = leaving_t
        out[COIL_OUT_W] = leaving_w
        out[COIL_LOW_T] = low_t
        out[COIL_LOW_W] = low_w
        out[SUPPLY_REMOVED] = on * removal + (share - on) * low_removal
        out[SYSTEM_HEAT] = on * high + (share - on) * low - was * fresh
        break
    return share


@compiled
def cool_with_water(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    used: int,
    fixed: bool,
    call: float,
    share: float,
    target: float,
    fresh: float,
    air: tuple[float, float, float, float, float, float],
    space: tuple[float, float],
    out: FloatArray,
) -> float:
    """Modulate a chilled-water coil: its apparatus dew point rises until the sensible load is met, no further.

    Args: as `cool_in_stages`.
    Returns: the fan's share [-]; where it differs from `share` the caller repeats with it.
    """
    dry_bulb, ratio, flow, bypass, bypass_t, bypass_w = air
    pressure = now.pressure
    outdoor = (now.outdoor_t, now.outdoor_w)
    factor = bypass_factor_at(plant.coil_bypass, plant.coil_flow, flow)
    surface, leaving_t, leaving_w = coil_again(
        plant, 1, flow, dry_bulb, ratio, outdoor[0], pressure, factor, out
    )
    spread = share if share > 0.0 else 1.0
    was = share  # what brought the outdoor air of this turn
    high, removal = supply(
        plant, 0, groups, used, spread, flow, leaving_t, leaving_w, bypass, bypass_t, bypass_w,
        pressure, outdoor, space,
    )  # fmt: skip
    if not fixed:
        alone = target / (high - fresh) if high < fresh else 2.0
        following = min(1.0, max(call, alone))
        if following != share:
            settled = call == 0.0 and plant.leakage == 0.0
            if not settled and abs(following - share) > SETTLED_SHARE:
                return following
            share = (target + was * fresh) / high if call < alone <= 1.0 else following
    required = target + was * fresh
    short = share * high - required
    if short < -1e-12 * (abs(required) + abs(high)):
        cold, warm = surface, dry_bulb
        last, last_miss = surface, short
        guess = out[KEPT_VALVE]  # where the valve stood last in this hour
        tried = guess if cold < guess < warm else 0.5 * (cold + warm)
        for _ in range(80):
            leaving_t, leaving_w = leaving_air(factor, dry_bulb, ratio, tried, pressure)
            high, removal = supply(
                plant, 0, groups, used, share, flow, leaving_t, leaving_w, bypass, bypass_t, bypass_w,
                pressure, outdoor, space,
            )  # fmt: skip
            miss = share * high - required
            surface = tried
            out[KEPT_VALVE] = tried
            if abs(miss) <= 1e-12 * (abs(required) + abs(high)) or warm - cold < 1e-12:
                break
            if miss < 0.0:
                cold = tried
            else:
                warm = tried
            following = tried - miss * (tried - last) / (miss - last_miss) if miss != last_miss else -99.0
            if following <= cold or following >= warm:
                following = 0.5 * (cold + warm)
            last, last_miss = tried, miss
            tried = following
    elif short > 1e-9 * abs(required) and share == 1.0:
        out[COIL_FULL] = 1.0
    load = coil_load(flow, factor, dry_bulb, ratio, surface, pressure)
    out[COIL_SHARE] = share
    out[COIL_STAGE] = 1.0
    out[COIL_HEAT] = share * load
    out[COIL_POWER] = share * cooling_power(plant, load, surface, outdoor[0])
    out[COIL_REMOVED] = share * flow * (ratio - leaving_w)
    out[SURFACE_T] = surface
    out[COIL_OUT_T] = leaving_t
    out[COIL_OUT_W] = leaving_w
    out[COIL_LOW_T] = dry_bulb
    out[COIL_LOW_W] = ratio
    out[SUPPLY_REMOVED] = share * removal
    out[SYSTEM_HEAT] = share * high - was * fresh
    return share


@compiled
def may_economize(plant: Plant, outdoor_t: float, outdoor_w: float) -> bool:
    """Whether the economizer may open the outdoor damper further.

    Args: plant; outdoor_t [°C]; outdoor_w [kg/kg].
    Returns: true below its dry-bulb limit, or below its enthalpy limit.
    """
    if plant.economizer == DRY_BULB_ECONOMIZER:
        return outdoor_t < plant.economizer_dry_bulb
    if plant.economizer == ENTHALPY_ECONOMIZER:
        return enthalpy(outdoor_t, outdoor_w) < plant.economizer_enthalpy
    return False


@compiled
def respond(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    start_t: float,
    mean_t: float,
    mean_w: float,
    out: FloatArray,
) -> None:
    """Find what the thermostat runs in one hour, for given running units and a given mean state of the space.

    Args: plant; now, the hour; wet (N, WET) surfaces and plants in it; groups; start_t [°C] at
        the start of the hour; mean_t [°C] and mean_w [kg/kg] at which machines and evaporation are evaluated;
        the cells of groups and out (WHOLE_RESPONSE,) are filled.
    """
    out[:ORDERED] = 0.0
    pressure = now.pressure
    outdoor = (now.outdoor_t, now.outdoor_w)
    space = (mean_t, mean_w)
    cooling, heating = now.cooling_setpoint, now.heating_setpoint
    reheat = 0.0
    overrun = out[ORDER_OVERRUN] > 0.0
    if overrun:
        reheat = out[ORDER_REHEAT]
        cooling = out[ORDER_HOLD]
        heating = min(heating, cooling)
    vapour = now.vapour
    heat = now.sensible
    if wet.shape[0] > 0:
        evaporated, from_air = evaporation_of(wet, mean_t, vapour_pressure(mean_w, pressure), pressure)
        vapour += evaporated
        heat -= from_air
    used = arrangements_in_use(groups)
    removed, unit_heat = 0.0, 0.0
    if used & (1 << STANDALONE):
        removed, unit_heat = standalone_units(groups, space, pressure, outdoor)
    exhaust = 0.0
    for i in range(len(groups)):
        exhaust += groups[i].running * groups[i].reactivation * plant.density
    out[GAIN_VAPOUR] = vapour
    out[GAIN_HEAT] = heat
    out[UNIT_AIR_HEAT] = unit_heat
    per_kelvin = sensible_heat(outdoor[1], 1.0, 0.0)
    leak = now.infiltration
    ventilating = now.ventilation > 0.0
    if plant.has_air_handler == 0 or (not ventilating and plant.unoccupied_fan == FAN_OFF):
        leak += exhaust
        loss = plant.heat_loss + leak * per_kelvin
        source = loss * outdoor[0] + heat + unit_heat
        without_air_handler(plant, source, loss, start_t, cooling, heating, out)
        out[HEAT_LOSS] = loss
        out[SHARE_SETTLED] = 1.0
        out[REMOVED] = removed
        out[VAPOUR_SOURCE] = vapour + leak * outdoor[1]
        out[VAPOUR_LOSS] = leak
        out[INFILTRATION] = leak
        return
    if ventilating:
        exhaust += plant.exhaust
        intake = plant.outdoor * now.ventilation
    else:
        intake = plant.outdoor * plant.leakage
    fixed = ventilating or plant.unoccupied_fan == FAN_RUNS
    call = fan_call(groups)
    share = 1.0 if fixed else call
    air_in = outdoor
    sensible, moist = 0.0, 0.0
    turns = out[ORDER_WHEEL] > STANDS
    may_slow = out[ORDER_WHEEL] == MAY_SLOW
    slowed = False
    speed = out[ORDER_SPEED]
    slow, slow_miss, fast, fast_miss = (
        -1.0,
        0.0,
        speed,
        0.0,
    )  # speeds, and how far the hour ends from its set point
    fresh = intake * per_kelvin * (outdoor[0] - mean_t)
    given = 0.0
    extra = 0.0
    infiltration = leak
    before = 0.0
    brought = 0.0
    lower, upper = call, 1.0
    tried, missed = -1.0, 0.0  # the share before, and how far from it the next one lay
    for _ in range(60):
        if turns:
            wheel_t, wheel_w, sensible, moist = behind_wheel(plant, speed, intake, outdoor, space, pressure)
            air_in = (wheel_t, wheel_w)
            fresh = intake * (1.0 - sensible) * per_kelvin * (outdoor[0] - mean_t)
        brought = share * intake
        infiltration = max(0.0, leak - max(0.0, brought - exhaust)) + max(0.0, exhaust - brought)
        loss = plant.heat_loss + (infiltration + brought * (1.0 - sensible)) * per_kelvin
        source = loss * outdoor[0] + (heat + reheat) + unit_heat
        given = reheat
        spread = share if share > 0.0 else 1.0
        entering_t, entering_w, flow, bypass, bypass_t, bypass_w, before = before_coil(
            plant, groups, used, spread, intake, ventilating, pressure, air_in, outdoor, space,
        )  # fmt: skip
        idle, out[UNIT_LOW] = supply(
            plant, OFF, groups, used, spread, flow, entering_t, entering_w, bypass, bypass_t, bypass_w,
            pressure, outdoor, space,
        )  # fmt: skip
        quiet = share * (idle - fresh)
        out[SYSTEM_HEAT] = quiet
        out[SUPPLY_REMOVED] = share * out[UNIT_LOW]
        following = share
        end, mean = step(start_t, source + quiet, loss, plant.air_capacity)
        if may_slow and (end > cooling or fast_miss > 0.0):
            miss = end - cooling
            slowed = abs(miss) < SETTLED_SPEED
            if not slowed and (miss < 0.0 or speed > 0.0) and fast - slow > 1e-12:
                if miss > 0.0:
                    fast, fast_miss = speed, miss
                else:
                    slow, slow_miss = speed, miss
                speed = 0.0
                if slow >= 0.0:
                    speed = slow + (fast - slow) * slow_miss / (slow_miss - fast_miss)
                continue
        if end > cooling and not slowed:
            wanted, mean = source_for(start_t, cooling, loss, plant.air_capacity)
            end = cooling
            target = wanted - source
            free = False
            shut = (turns and speed > 0.0) or overrun
            if ventilating and not shut and may_economize(plant, outdoor[0], outdoor[1]):
                low_flow, low_miss = intake, quiet - target
                high_flow, high_miss = plant.supply, 0.0
                wide = plant.supply
                opened, miss = wide, 0.0
                for _ in range(40):
                    entering_t, entering_w, flow, bypass, bypass_t, bypass_w, before = before_coil(
                        plant, groups, used, 1.0, wide, True, pressure, outdoor, outdoor, space
                    )  # fmt: skip
                    idle, out[UNIT_LOW] = supply(
                        plant, OFF, groups, used, 1.0, flow, entering_t, entering_w, bypass, bypass_t,
                        bypass_w, pressure, outdoor, space,
                    )  # fmt: skip
                    opened = wide
                    miss = idle - fresh - target
                    if wide == plant.supply and miss > 0.0:
                        break
                    if abs(miss) <= 1e-12 * (abs(target) + abs(idle)) or high_flow - low_flow < 1e-13:
                        free = True
                        break
                    if miss > 0.0:
                        low_flow, low_miss = wide, miss
                    else:
                        high_flow, high_miss = wide, miss
                    wide = low_flow + (high_flow - low_flow) * low_miss / (low_miss - high_miss)
                    if wide <= low_flow or wide >= high_flow:
                        wide = 0.5 * (low_flow + high_flow)
                    free = True
                extra = opened - intake
                out[SYSTEM_HEAT] = idle - fresh
                out[SUPPLY_REMOVED] = out[UNIT_LOW]
                if free and abs(miss) > 1e-12 * (abs(target) + abs(idle)):
                    # no opening meets the load where units in the return lose their air on the way
                    end, mean = step(start_t, source + out[SYSTEM_HEAT], loss, plant.air_capacity)
            if not free:
                air = (entering_t, entering_w, flow, bypass, bypass_t, bypass_w)
                if plant.coil_kind == CHILLED_WATER:
                    following = cool_with_water(
                        plant, now, wet, groups, used, fixed, call, share, target, fresh, air,
                        space, out,
                    )  # fmt: skip
                else:
                    following = cool_in_stages(
                        plant, now, wet, groups, used, fixed, call, share, target, fresh, idle,
                        air, space, out,
                    )  # fmt: skip
                if out[COIL_FULL] == 1.0 and overrun:
                    # no more reheat than the coil takes off again
                    given = min(reheat, max(0.0, wanted - (source - reheat) - out[SYSTEM_HEAT]))
                    if given > 0.0:
                        out[COIL_FULL] = 0.0
                if out[COIL_FULL] == 1.0:
                    end, mean = step(
                        start_t, source - reheat + given + out[SYSTEM_HEAT], loss, plant.air_capacity
                    )
        elif end < heating:
            wanted, mean = source_for(start_t, heating, loss, plant.air_capacity)
            end = heating
            carried = plant.supply * per_kelvin * plant.heating_rise
            if not fixed:
                following = (wanted - source) / max(1e-9, carried + idle - fresh)
                following = min(1.0, following, plant.heating_capacity / carried)
                following = max(call, following)
                quiet = following * idle - share * fresh
            asked = wanted - source - quiet
            given = min(asked, plant.heating_capacity)
            out[HEATING] = given
            out[SHORT_HEATING] = asked - given
            out[SYSTEM_HEAT] = quiet + given
            if asked > given:
                end, mean = step(start_t, source + quiet + given, loss, plant.air_capacity)
        elif not fixed:
            following = call
        out[END_T] = end
        out[MEAN_T] = mean
        out[HEAT_LOSS] = loss
        moved = following - share
        if fixed or moved == 0.0:
            out[SHARE_SETTLED] = 1.0
            break
        # a coil that the whole hour is too short for is evaluated again, with the fan running all of it
        simple = call == 0.0 and plant.leakage == 0.0 and exhaust == 0.0 and following < 1.0
        if simple or abs(moved) <= SETTLED_SHARE:
            share = following
            out[SHARE_SETTLED] = 1.0
            break
        if moved > 0.0:
            lower = share
        else:
            upper = share
        if tried >= 0.0 and moved != missed:
            # what follows falls with the share where unit heat is spread over it: a secant, kept in its bracket
            following = share - moved * (share - tried) / (moved - missed)
            if following <= lower or following >= upper:
                following = 0.5 * (lower + upper)
        tried, missed = share, moved
        share = following
        out[COIL_FULL] = 0.0
    if turns:
        out[WHEEL_T], out[WHEEL_W], out[WHEEL_SENSIBLE], out[WHEEL_LATENT] = (
            air_in[0],
            air_in[1],
            sensible,
            moist,
        )
        out[WHEEL_SPEED] = speed
        power = plant.wheel_supply_power + plant.wheel_exhaust_power
        out[WHEEL_POWER] = power if speed > 0.0 else 0.0
    if overrun:
        out[REHEAT] = given
        out[SYSTEM_HEAT] += given
    out[FAN_SHARE] = share
    out[BROUGHT] = brought
    out[VENTILATION] = brought + extra
    out[INFILTRATION] = infiltration
    out[COIL_IN_T] = entering_t
    out[COIL_IN_W] = entering_w
    out[COIL_AIR] = flow
    out[REMOVED] = removed + share * before + out[SUPPLY_REMOVED] + out[COIL_REMOVED]
    exchanged = infiltration + brought * (1.0 - moist) + extra
    out[VAPOUR_SOURCE] = vapour + exchanged * outdoor[1]
    out[VAPOUR_LOSS] = exchanged
    if not fixed:
        needed = out[COIL_SHARE]
        if out[HEATING] > 0.0:
            needed = max(needed, min(1.0, out[HEATING] / (plant.supply * per_kelvin * plant.heating_rise)))
        out[FAN_FROM_UNITS] = max(0.0, share - needed)
