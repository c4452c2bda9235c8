"""The energy-recovery wheel between outdoor air and exhaust air: when it turns and what leaves it.

It stands first in the air's order: outdoor-air units and the mixing box get what leaves it. The exhaust enters it in
the space's mean state, and what it gives up or takes on goes outdoors with it. Effectiveness is that at balanced flow,
kept where the flows differ. Air that a wheel carries over or leaks, and purge air, are left out.
Units: °C, kg/kg, kg/s, Pa.
"""

from __future__ import annotations

from selector.physics.air_handler import Now, Plant
from selector.physics.arrangements import heat_air
from selector.physics.compiled import compiled
from selector.physics.moist_air import enthalpy, saturation_humidity_ratio

STANDS, TURNS, MAY_SLOW = range(3)


@compiled
def wheel_order(plant: Plant, now: Now, start_t: float, start_w: float) -> int:
    """Whether the wheel turns in an hour; the outdoor air goes around it otherwise.

    Args: plant; now, the hour; start_t [°C] and start_w [kg/kg] of the space at the start of the hour.
    Returns: STANDS while ventilation is shut or it is colder outdoors than the frost limit; below the bypass
        temperature MAY_SLOW, no faster than the cooling set point allows; from there on TURNS where the outdoor air's
        enthalpy is above the space's, else STANDS. The economizer opens only while the wheel stands.
    """
    if plant.wheel == 0 or now.ventilation <= 0.0 or now.outdoor_t < plant.wheel_frost_limit:
        return STANDS
    if now.outdoor_t < plant.wheel_bypass_above:
        return MAY_SLOW
    return TURNS if enthalpy(now.outdoor_t, now.outdoor_w) > enthalpy(start_t, start_w) else STANDS


@compiled
def behind_wheel(
    plant: Plant,
    speed: float,
    flow: float,
    outdoor: tuple[float, float],
    space: tuple[float, float],
    pressure: float,
) -> tuple[float, float, float, float]:
    """Outdoor air behind the turning wheel and its fan.

    Args: plant; speed, 0 to 1, to which both effectivenesses are taken as proportional; flow [kg/s] of outdoor air;
        outdoor and space: dry bulb [°C] and humidity ratio [kg/kg]; pressure [Pa].
    Returns: dry bulb [°C], humidity ratio [kg/kg], shares [-] of the differences of dry bulb, without the fan, and of
        humidity ratio that are recovered. Where the air would leave above saturation it leaves saturated, and the rest
        of the water stays with the exhaust.
    Source: ASHRAE Handbook HVAC Systems and Equipment, air-to-air energy recovery: X2 = X1 - eps (m_min / m_s)
        (X1 - X3), X the dry bulb or the humidity ratio, 1 and 2 the supply air entering and leaving, 3 the exhaust air
        entering (from memory); effectiveness as AHRI 1060 defines it.
    """
    if flow <= 0.0 or speed <= 0.0:
        return outdoor[0], outdoor[1], 0.0, 0.0
    balance = speed * min(1.0, plant.wheel_exhaust / flow)
    sensible, latent = plant.wheel_sensible * balance, plant.wheel_latent * balance
    dry_bulb = outdoor[0] - sensible * (outdoor[0] - space[0])
    ratio = outdoor[1] - latent * (outdoor[1] - space[1])
    most = saturation_humidity_ratio(dry_bulb, pressure)
    if ratio > most and outdoor[1] != space[1]:
        latent = min(1.0, max(0.0, (outdoor[1] - most) / (outdoor[1] - space[1])))
        ratio = outdoor[1] - latent * (outdoor[1] - space[1])
    if plant.wheel_supply_power > 0.0:
        dry_bulb = heat_air(dry_bulb, ratio, plant.wheel_supply_power, flow)
    return dry_bulb, ratio, sensible, latent
