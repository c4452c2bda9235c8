"""What the thermostat makes of one hour at given running units.

`respond` takes the hour's mean state of the space and the unit-hours that each group of units runs, and finds how
long the fan, the coil and the heating run so that the space ends the hour at its set point, or where it ends when
they cannot. Everything that takes air from the space is evaluated at the hour's mean state; the caller iterates on
that mean. Units: °C, kg/kg, kg/s, W, Pa; shares of the hour 0 to 1.
"""

from __future__ import annotations

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
    fan_call,
    supply,
)
from selector.physics.arrangements import (
    OFF,
    STANDALONE,
    Groups,
    arrangements_in_use,
    standalone_units,
)
from selector.physics.compiled import compiled
from selector.physics.cooling import SETTLED_SHARE, cool_in_stages, cool_with_water
from selector.physics.gains import evaporation_of
from selector.physics.moist_air import enthalpy, sensible_heat, vapour_pressure
from selector.physics.recovery import MAY_SLOW, STANDS, behind_wheel
from selector.physics.response import (
    BROUGHT,
    COIL_AIR,
    COIL_FULL,
    COIL_HEAT,
    COIL_IN_T,
    COIL_IN_W,
    COIL_POWER,
    COIL_REMOVED,
    COIL_SHARE,
    END_T,
    FAN_FROM_UNITS,
    FAN_SHARE,
    GAIN_HEAT,
    GAIN_VAPOUR,
    HEAT_LOSS,
    HEATING,
    INFILTRATION,
    MEAN_T,
    ORDER_HOLD,
    ORDER_OVERRUN,
    ORDER_REHEAT,
    ORDER_SPEED,
    ORDER_WHEEL,
    ORDERED,
    REHEAT,
    REMOVED,
    SHARE_SETTLED,
    SHORT_HEATING,
    SUPPLY_REMOVED,
    SYSTEM_HEAT,
    UNIT_AIR_HEAT,
    UNIT_LOW,
    VAPOUR_LOSS,
    VAPOUR_SOURCE,
    VENTILATION,
    WHEEL_LATENT,
    WHEEL_POWER,
    WHEEL_SENSIBLE,
    WHEEL_SPEED,
    WHEEL_T,
    WHEEL_W,
)
from selector.physics.step import source_for, step

SETTLED_SPEED = (
    1e-9  # K of the hour's end, to which the wheel's speed is found where it holds the cooling set point
)
MET = 1e-10  # relative, to which the coil meets the load where it can
# turns after which the fan's share and the wheel's speed are sought by halving; width of the bracket that shows a jump
HALVE, JUMP = 20, 1e-9


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
    # speeds, and how far the hour ends from its set point; the wheel's fan makes a jump at speed 0
    slow, slow_miss, fast, fast_miss = -1.0, 0.0, speed, 0.0
    moved_last = 0  # which of them the last speed took the place of: 1 the fast one, -1 the slow one
    fresh = intake * per_kelvin * (outdoor[0] - mean_t)
    given = 0.0
    extra = 0.0
    infiltration = leak
    before = 0.0
    brought = 0.0
    lower, upper = call, 1.0
    tried, missed = -1.0, 0.0  # the share before, and how far from it the next one lay
    for turn in range(60):
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
            # units behind the wheel that come into range or out of it with its speed may leave none that meets it
            apart = 1e-12 if turn < HALVE else JUMP
            if not slowed and (miss < 0.0 or speed > 0.0) and fast - slow > apart:
                # false position; the miss of an end that stays counts half of what it did (Illinois)
                if miss > 0.0:
                    slow_miss *= 0.5 if moved_last == 1 else 1.0
                    fast, fast_miss, moved_last = speed, miss, 1
                else:
                    fast_miss *= 0.5 if moved_last == -1 else 1.0
                    slow, slow_miss, moved_last = speed, miss, -1
                speed = 0.0
                if slow >= 0.0 and turn >= HALVE:
                    speed = 0.5 * (slow + fast)
                elif slow >= 0.0:
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
                        plant, now, wet, groups, used, fixed, call, share, target, fresh, idle,
                        air, space, out,
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
                # no share of the coil meets the load where supply-side units come into range or out of it on the way
                if out[COIL_FULL] == 1.0 or abs(out[SYSTEM_HEAT] - target) > MET * (abs(target) + abs(idle)):
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
            delivered = min(asked, plant.heating_capacity)
            out[HEATING] = delivered
            out[SHORT_HEATING] = asked - delivered
            out[SYSTEM_HEAT] = quiet + delivered
            if asked > delivered:
                end, mean = step(start_t, source + quiet + delivered, loss, plant.air_capacity)
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
        if upper - lower <= JUMP:
            # no share asks for itself: less asks for more, this for less; the fan runs for this one
            fixed = True
            following = upper
        elif turn >= HALVE:
            following = 0.5 * (lower + upper)
        elif tried >= 0.0 and moved != missed:
            # what follows falls with the share where unit heat is spread over it: a secant, kept in its bracket
            following = share - moved * (share - tried) / (moved - missed)
            if following <= lower or following >= upper:
                following = 0.5 * (lower + upper)
        tried, missed = share, moved
        share = following
        out[COIL_FULL] = 0.0
        out[HEATING] = 0.0
        out[SHORT_HEATING] = 0.0
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
    if not ventilating and plant.unoccupied_fan != FAN_RUNS:
        needed = out[COIL_SHARE]
        if out[HEATING] > 0.0:
            needed = max(needed, min(1.0, out[HEATING] / (plant.supply * per_kelvin * plant.heating_rise)))
        out[FAN_FROM_UNITS] = max(0.0, share - needed)
