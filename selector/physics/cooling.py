"""The cooling coil in one hour: stages that cycle, or a chilled-water valve, until the wanted heat is met.

`thermostat` says how much heat is wanted and how long the fan runs; what the coil does is left in the hour's response.
Units: °C, kg/kg, kg/s, W, Pa; shares of the hour 0 to 1.
"""

from __future__ import annotations

from selector.inputs.site import FloatArray
from selector.physics.air_handler import (
    Now,
    Plant,
    coil_at,
    coil_capacity,
    coil_from,
    cooling_power,
    given_back_air,
    most_given_back,
    supply,
    surely_taken_up,
)
from selector.physics.arrangements import (
    OFF,
    SUPPLY_SIDE,
    Groups,
)
from selector.physics.coil import COLDEST, bypass_factor_at, heat_taken, leaving_air
from selector.physics.compiled import compiled
from selector.physics.moist_air import sensible_heat
from selector.physics.part_load import interpolated_latent_ratio
from selector.physics.response import (
    COIL_FULL,
    COIL_HEAT,
    COIL_LOW_T,
    COIL_LOW_W,
    COIL_OUT_T,
    COIL_OUT_W,
    COIL_POWER,
    COIL_REMOVED,
    COIL_SHARE,
    COIL_STAGE,
    GIVEN_BACK,
    KEPT_COIL,
    KEPT_FLOW,
    KEPT_IN_T,
    KEPT_IN_W,
    KEPT_ON,
    KEPT_SATURATED,
    KEPT_SIZE,
    KEPT_STAGES,
    KEPT_SURFACE,
    KEPT_T,
    KEPT_VALVE,
    KEPT_W,
    SUPPLY_REMOVED,
    SURFACE_T,
    SYSTEM_HEAT,
    UNIT_LOW,
)

SETTLED_SHARE = 1e-6  # of the hour, to which the fan's share is found where it follows coil or heating


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
        return coil_at(plant, stage, flow, dry_bulb, ratio, outdoor, pressure, bypass)
    kept = out[KEPT_COIL + KEPT_SIZE * (stage - 1) : KEPT_COIL + KEPT_SIZE * stage]
    if kept[KEPT_IN_T] != dry_bulb or kept[KEPT_IN_W] != ratio or kept[KEPT_FLOW] != flow:
        kept[KEPT_SURFACE], kept[KEPT_T], kept[KEPT_W], kept[KEPT_SATURATED] = coil_from(
            plant, stage, flow, dry_bulb, ratio, outdoor, pressure, bypass, kept[KEPT_SURFACE],
            kept[KEPT_SATURATED],
        )  # fmt: skip
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
                if abs(miss) <= 1e-12 * (abs(required) + abs(high)) or right - left < 1e-15:
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
        load = heat_taken(flow, dry_bulb, ratio, leaving_t, leaving_w, surface)
        heat = on * load
        power = on * cooling_power(plant, load, surface, outdoor[0])
        if stage == 1:
            power *= 1.0 + plant.coil_cycling_loss * (1.0 - on)
        else:
            load = heat_taken(flow, dry_bulb, ratio, low_t, low_w, low_surface)
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
def valve_for(
    plant: Plant,
    groups: Groups,
    used: int,
    share: float,
    factor: float,
    required: float,
    cold: float,
    last: float,
    last_miss: float,
    guess: float,
    pressure: float,
    outdoor: tuple[float, float],
    air: tuple[float, float, float, float, float, float],
    space: tuple[float, float],
) -> tuple[float, float, float, float, float]:
    """Seek the surface temperature at which a chilled-water coil gives the wanted heat.

    Args: as `cool_in_stages`; share [-] of the fan; factor [-], bypass factor; required [W]; cold [°C], below which it
        does not lie; last [°C] and last_miss [W], a surface temperature and how much more than required it gives; guess
        [°C], where to start; pressure [Pa]; outdoor, dry bulb [°C] and humidity ratio [kg/kg].
    Returns: surface [°C], leaving dry bulb [°C] and humidity ratio [kg/kg], supply heat [W] and removal by supply-side
        units [kg/s] while the fan runs.
    """
    dry_bulb, ratio, flow, bypass, bypass_t, bypass_w = air
    warm = dry_bulb
    tried = guess if cold < guess < warm else 0.5 * (cold + warm)
    surface, leaving_t, leaving_w, high, removal = tried, dry_bulb, ratio, 0.0, 0.0
    for _ in range(80):
        leaving_t, leaving_w = leaving_air(factor, dry_bulb, ratio, tried, pressure)
        high, removal = supply(
            plant, 0, groups, used, share, flow, leaving_t, leaving_w, bypass, bypass_t, bypass_w,
            pressure, outdoor, space,
        )  # fmt: skip
        miss = share * high - required
        surface = tried
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
    return surface, leaving_t, leaving_w, high, removal


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
    idle: float,
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
    was = share  # what brought the outdoor air of this turn
    required = target + was * fresh
    surface, leaving_t, leaving_w, high, removal = dry_bulb, dry_bulb, ratio, idle, 0.0
    enough = False
    over = share * idle - required
    guess = dry_bulb - over / (sensible_heat(ratio, 1.0, 0.0) * share * flow * (1.0 - factor))
    if fixed and over > 0.0 and guess > COLDEST:
        # the valve that it takes, however far it opens: the coil has enough where that is less than it could take
        if out[KEPT_VALVE] < dry_bulb:
            guess = out[KEPT_VALVE]
        surface, leaving_t, leaving_w, high, removal = valve_for(
            plant, groups, used, share, factor, required, COLDEST, dry_bulb, over, guess, pressure, outdoor,
            air, space,
        )  # fmt: skip
        capacity, slope = coil_capacity(plant, 1, outdoor[0])
        most = capacity * (1.0 + slope * (surface - plant.coil_surface))
        enough = heat_taken(flow, dry_bulb, ratio, leaving_t, leaving_w, surface) <= most
    if not enough:
        surface, leaving_t, leaving_w = coil_again(
            plant, 1, flow, dry_bulb, ratio, outdoor[0], pressure, factor, out
        )
        high, removal = supply(
            plant, 0, groups, used, share if share > 0.0 else 1.0, flow, leaving_t, leaving_w, bypass, bypass_t,
            bypass_w, pressure, outdoor, space,
        )  # fmt: skip
        if not fixed:
            alone = target / (high - fresh) if high < fresh else 2.0
            following = min(1.0, max(call, alone))
            if following != share:
                settled = call == 0.0 and plant.leakage == 0.0
                if not settled and abs(following - share) > SETTLED_SHARE:
                    return following
                share = (target + was * fresh) / high if call < alone <= 1.0 else following
        short = share * high - required
        if short < -1e-12 * (abs(required) + abs(high)):
            surface, leaving_t, leaving_w, high, removal = valve_for(
                plant, groups, used, share, factor, required, surface, surface, short, out[KEPT_VALVE], pressure,
                outdoor, air, space,
            )  # fmt: skip
            enough = True
        elif short > 1e-9 * abs(required) and share == 1.0:
            out[COIL_FULL] = 1.0
    if enough:
        out[KEPT_VALVE] = surface
    load = heat_taken(flow, dry_bulb, ratio, leaving_t, leaving_w, surface)
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
