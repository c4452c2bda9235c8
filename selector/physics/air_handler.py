"""The air handler, part by part: mixed air, the bypass, the coil and the supply air.

`Plant` and `Now` are the site as the compiled loop takes it: records, read like the tuples that name their
fields. Units: °C, kg/kg, kg/s, W, Pa.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from selector.inputs.site import FloatArray
from selector.physics.arrangements import (
    COIL_BYPASS,
    FLOW,
    OUTDOOR_AIR,
    RETURN_SIDE,
    SUPPLY_SIDE,
    Groups,
    heat_air,
    mix,
    treat_stream,
)
from selector.physics.coil import past_surface, surface_temperature
from selector.physics.compiled import compiled
from selector.physics.moist_air import (
    WATER_HEAT,
    dry_bulb_of_enthalpy,
    enthalpy,
    saturation_humidity_ratio,
    saturation_rise,
    sensible_heat,
)

FAN_OFF, FAN_CYCLES, FAN_RUNS = range(3)
NO_ECONOMIZER, DRY_BULB_ECONOMIZER, ENTHALPY_ECONOMIZER = range(3)
CYCLING_DX, CHILLED_WATER = range(2)


class Plant:
    """The site's constants, SI."""

    air_capacity: float  # J/K, thermal mass of the space
    vapour_capacity: float  # kg dry air equivalent: moisture storage
    heat_loss: float  # W/K
    air_volume_rate: float  # m³/s of outdoor air that infiltrates
    exhaust: float  # kg/s while ventilation is open
    density: float  # kg dry air/m³ of standard air at site pressure
    has_air_handler: int
    supply: float  # kg/s
    outdoor: float  # kg/s with the ventilation schedule at 1
    leakage: float  # share of it while the damper is shut
    unoccupied_fan: int
    fan_power: float  # W
    fan_after_coil: int
    economizer: int
    economizer_dry_bulb: float  # °C
    economizer_enthalpy: float  # J/kg
    heating_rise: float  # K
    coil_kind: int
    coil_capacity: float  # W
    coil_surface: float  # °C at rating
    coil_bypass: float  # bypass factor at rating
    coil_flow: float  # kg/s at rating
    coil_slope: float  # 1/K
    coil_outdoor_slope: float  # 1/K
    coil_cop: float
    coil_cop_slope: float  # 1/K
    coil_cop_outdoor_slope: float  # 1/K
    coil_lowest_outdoor: float  # °C
    coil_cycling_loss: float
    coil_stages: int
    coil_minimum_flow: float  # kg/s
    heating_is_gas: int
    heating_efficiency: float
    heating_capacity: float  # W
    space_heating_capacity: float  # W, without the air handler
    space_heating_is_gas: int
    space_heating_efficiency: float
    space_cooling_capacity: float  # W
    space_cooling_cop: float
    wheel: int  # 1: an energy-recovery wheel on the outdoor air
    wheel_sensible: float  # effectiveness at balanced flow
    wheel_latent: float
    wheel_exhaust: float  # kg/s that pass it while ventilation is open
    wheel_supply_power: float  # W, its fan in the outdoor air
    wheel_exhaust_power: float  # W, its fan in the exhaust and its motor
    wheel_bypass_above: float  # °C
    wheel_frost_limit: float  # °C
    reheat: int  # 1: the humidistat may run the coil beyond the thermostat's call
    reheat_is_gas: int
    reheat_efficiency: float
    reheat_capacity: float  # W
    part_load: FloatArray  # (TABLE_POINTS,) latent capacity at part load, over runtime 0 to 1


class Now(NamedTuple):
    """One hour of the site: a row of the table of hours."""

    hour: int  # of the year
    pressure: float  # Pa
    outdoor_t: float  # °C
    outdoor_w: float  # kg/kg
    infiltration: float  # kg/s at the outdoor air's density
    ventilation: float  # 0 to 1
    cooling_setpoint: float  # °C
    heating_setpoint: float  # °C
    sensible: float  # W
    vapour: float  # kg/s
    set_rh: float  # the humidistat's relative humidity, NEVER where no such limit is in force
    set_w: float  # its humidity ratio from dew-point limits, kg/kg, infinite where none is in force
    electricity: float  # currency/J
    gas: float  # currency/J
    # what `quiet` finds beforehand for the hour with nothing running
    quiet: int  # UNKNOWN, or how the hour is heated
    quiet_source: float  # W, A of the heat step
    quiet_loss: float  # W/K, B of the heat step
    quiet_first: float  # of the heat step
    quiet_second: float
    vapour_loss: float  # kg/s, B of the moisture step
    vapour_first: float  # of the moisture step
    vapour_second: float
    # the same where the fan follows the heating and the hour starts at the heating set point
    heated_power: float  # W delivered; 0 where the hour is not heated, or not known
    heated_fan: float  # share of the hour
    heated_loss: float  # kg/s, B of the moisture step
    heated_first: float  # of the moisture step
    heated_second: float


@compiled
def fan_call(groups: Groups) -> float:
    """Share of the hour for which units call the fan: the longest of their shares.

    Args: groups.
    Returns: share [-].
    """
    share = 0.0
    for i in range(len(groups)):
        if groups[i].fan == 1:
            share = max(share, min(1.0, groups[i].running))
    return share


@compiled
def coil_capacity(plant: Plant, stage: int, outdoor: float) -> tuple[float, float]:
    """Refrigerating capacity of the coil's machine at its rated surface temperature, and how it rises with that.

    Args: plant; stage 1..stages; outdoor [°C].
    Returns: capacity [W]; rise [1/K] for each kelvin of the surface, as a share of it.
    Source: capacity = rated x (1 + a (surface - rated surface) - b (outdoor - 35 °C)); the entering wet bulb acts
        through the surface temperature at which air side and machine balance.
    """
    climate = 1.0 - plant.coil_outdoor_slope * (max(outdoor, plant.coil_lowest_outdoor) - 35.0)
    return plant.coil_capacity * stage / plant.coil_stages * climate, plant.coil_slope / climate


@compiled
def coil_at(
    plant: Plant,
    stage: int,
    flow: float,
    dry_bulb: float,
    ratio: float,
    outdoor: float,
    pressure: float,
    bypass: float,
) -> tuple[float, float, float]:
    """Surface and leaving state of the coil running steadily at one stage, or at a fully open valve.

    Args: plant; stage 1..stages; flow [kg/s]; dry_bulb [°C], ratio [kg/kg], entering; outdoor [°C]; pressure [Pa];
        bypass [-], bypass factor at this flow.
    Returns: apparatus dew point [°C], leaving dry bulb [°C], leaving humidity ratio [kg/kg].
    """
    surface, leaving_t, leaving_w, _ = coil_from(
        plant, stage, flow, dry_bulb, ratio, outdoor, pressure, bypass, math.nan, math.nan
    )
    return surface, leaving_t, leaving_w


@compiled
def coil_from(
    plant: Plant,
    stage: int,
    flow: float,
    dry_bulb: float,
    ratio: float,
    outdoor: float,
    pressure: float,
    bypass: float,
    guess: float,
    saturated: float,
) -> tuple[float, float, float, float]:
    """`coil_at`, started from what it gave before.

    Args: as `coil_at`; guess [°C] and saturated [kg/kg], apparatus dew point and its humidity ratio, not a number where
        there are none.
    Returns: as `coil_at`; humidity ratio of saturated air at the apparatus dew point [kg/kg].
    """
    capacity, slope = coil_capacity(plant, stage, outdoor)
    surface, saturated = surface_temperature(
        capacity, slope, plant.coil_surface, flow, bypass, dry_bulb, ratio, pressure, guess, saturated
    )
    leaving_t, leaving_w = past_surface(bypass, dry_bulb, ratio, surface, min(ratio, saturated))
    return surface, leaving_t, leaving_w, saturated


@compiled
def cooling_power(plant: Plant, heat: float, surface: float, outdoor: float) -> float:
    """Electric power of the cooling plant for a heat flow.

    Args: plant; heat [W]; surface [°C]; outdoor [°C].
    Returns: power [W].
    Source: COP = rated x (1 + c (surface - rated surface) - d (outdoor - 35 °C)), not below a tenth of rated.
    """
    change = plant.coil_cop_slope * (surface - plant.coil_surface)
    change -= plant.coil_cop_outdoor_slope * (max(outdoor, plant.coil_lowest_outdoor) - 35.0)
    return heat / (plant.coil_cop * max(0.1, 1.0 + change))


@compiled
def most_given_back(dry_bulb: float, ratio: float, surface: float, pressure: float) -> float:
    """Water that air over a wet coil can take up until it is saturated.

    Args: dry_bulb [°C], ratio [kg/kg], entering; surface [°C], the water's temperature; pressure [Pa].
    Returns: rise [kg/kg], 0 where the air is saturated already.
    Source: adiabatic saturation, ASHRAE Handbook Fundamentals 2017, ch. 1; secant method to 1e-13 kg/kg.
    """
    before = enthalpy(dry_bulb, ratio)
    last, last_room = 0.0, saturation_humidity_ratio(dry_bulb, pressure) - ratio
    if last_room <= 0.0:
        return 0.0
    rise = 0.3 * last_room
    for _ in range(40):
        leaving_t = dry_bulb_of_enthalpy(before + rise * WATER_HEAT * surface, ratio + rise)
        room = saturation_humidity_ratio(leaving_t, pressure) - ratio - rise
        if room == last_room:
            return rise
        following = rise - room * (rise - last) / (room - last_room)
        last, last_room = rise, room
        rise = following
        if abs(rise - last) < 1e-13:
            return max(0.0, rise)
    return max(0.0, rise)


@compiled
def surely_taken_up(dry_bulb: float, ratio: float, surface: float, pressure: float) -> float:
    """Water that air over a wet coil can take up in any case: a lower bound of `most_given_back`, cheaply.

    Args: as `most_given_back`.
    Returns: rise [kg/kg]. The room left up to saturation falls with the water taken up, ever more slowly, so that the
        tangent at the entering air reaches zero first.
    """
    saturated = saturation_humidity_ratio(dry_bulb, pressure)
    if saturated <= ratio:
        return 0.0
    heat = enthalpy(dry_bulb + 1.0, ratio) - enthalpy(dry_bulb, ratio)
    vapour = enthalpy(dry_bulb, 2.0) - enthalpy(dry_bulb, 1.0) - WATER_HEAT * surface
    steep = saturation_rise(saturated, dry_bulb)
    return (saturated - ratio) / (1.0 + steep * vapour / heat)


@compiled
def given_back_air(dry_bulb: float, ratio: float, rise: float, surface: float) -> tuple[float, float]:
    """Air over a wet coil that is off, after it has taken up water at the surface's temperature.

    Args: dry_bulb [°C], ratio [kg/kg], entering; rise [kg/kg]; surface [°C].
    Returns: dry bulb [°C], humidity ratio [kg/kg].
    Source: adiabatic humidification, ASHRAE Handbook Fundamentals 2017, ch. 1.
    """
    heat = enthalpy(dry_bulb, ratio) + rise * WATER_HEAT * surface
    return dry_bulb_of_enthalpy(heat, ratio + rise), ratio + rise


@compiled
def before_coil(
    plant: Plant,
    groups: Groups,
    used: int,
    share: float,
    outdoor_flow: float,
    ventilating: bool,
    pressure: float,
    fresh: tuple[float, float],
    outdoor: tuple[float, float],
    space: tuple[float, float],
) -> tuple[float, float, float, float, float, float, float]:
    """Air from the space and from outdoors on its way to the coil, and the bypass around it.

    Args: as `treat_stream`; plant; used, a bit for each arrangement with a running unit; outdoor_flow [kg/s];
        ventilating: the outdoor damper is open; fresh: dry bulb [°C] and humidity ratio [kg/kg] of the outdoor air as
        it comes in, behind an energy-recovery wheel where there is one.
    Returns: coil entering dry bulb [°C] and humidity ratio [kg/kg], coil flow [kg/s], bypass flow [kg/s], its dry
        bulb [°C] and humidity ratio [kg/kg], removal so far [kg/s while the fan runs].
    """
    outdoor_t, outdoor_w = fresh
    removal = 0.0
    if ventilating and used & (1 << OUTDOOR_AIR):
        outdoor_t, outdoor_w, removal = treat_stream(
            OUTDOOR_AIR, 0, groups, share, outdoor_flow, outdoor_t, outdoor_w, pressure, outdoor,
            space,
        )  # fmt: skip
    back = plant.supply - outdoor_flow
    back_t, back_w = space
    if used & (1 << RETURN_SIDE):
        back_t, back_w, taken = treat_stream(
            RETURN_SIDE, 0, groups, share, back, space[0], space[1], pressure, outdoor, space
        )  # fmt: skip
        removal += taken
    bypass_t, bypass_w = space
    bypass = 0.0
    if used & (1 << COIL_BYPASS):
        room = min(back, plant.supply - plant.coil_minimum_flow)
        mixed_t, mixed_w, taken = treat_stream(
            COIL_BYPASS, 0, groups, share, room, space[0], space[1], pressure, outdoor, space
        )  # fmt: skip
        for i in range(len(groups)):
            if groups[i].arrangement == COIL_BYPASS and groups[i].running > 0.0:
                bypass += groups[i].running / share * groups[i].cell[FLOW]
        if bypass > 0.0:
            # treat_stream mixed the units' air into all of `room`; the bypass carries the units' own air only
            bypass = min(bypass, room)
            before = enthalpy(space[0], space[1])
            bypass_w = space[1] - taken / bypass
            gained = room * (enthalpy(mixed_t, mixed_w) - before)
            bypass_t = dry_bulb_of_enthalpy(before + gained / bypass, bypass_w)
            removal += taken
    mixed_t, mixed_w = outdoor_t, outdoor_w
    if back - bypass > 0.0:
        mixed_t, mixed_w = mix(back - bypass, back_t, back_w, outdoor_flow, outdoor_t, outdoor_w)
    flow = plant.supply - bypass
    if plant.fan_after_coil == 0:
        mixed_t = heat_air(mixed_t, mixed_w, plant.fan_power, flow)
    return mixed_t, mixed_w, flow, bypass, bypass_t, bypass_w, removal


@compiled
def supply(
    plant: Plant,
    offset: int,
    groups: Groups,
    used: int,
    share: float,
    flow: float,
    dry_bulb: float,
    ratio: float,
    bypass: float,
    bypass_t: float,
    bypass_w: float,
    pressure: float,
    outdoor: tuple[float, float],
    space: tuple[float, float],
) -> tuple[float, float]:
    """Air from the coil to the space.

    Args: as `before_coil`; flow [kg/s], dry_bulb [°C], ratio [kg/kg] leaving the coil; bypass [kg/s], bypass_t [°C]
        and bypass_w [kg/kg] around it; offset 0 for the coil's higher state, OFF for its lower one.
    Returns: sensible heat that the supply air gives the space [W] and removal by supply-side units [kg/s], both while
        the fan runs.
    """
    supply_t, supply_w = mix(flow, dry_bulb, ratio, bypass, bypass_t, bypass_w)
    if plant.fan_after_coil == 1:
        supply_t = heat_air(supply_t, supply_w, plant.fan_power, plant.supply)
    removal = 0.0
    if used & (1 << SUPPLY_SIDE):
        supply_t, supply_w, removal = treat_stream(
            SUPPLY_SIDE, offset, groups, share, plant.supply, supply_t, supply_w, pressure, outdoor,
            space,
        )  # fmt: skip
    return plant.supply * sensible_heat(supply_w, supply_t, space[0]), removal
