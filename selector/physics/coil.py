"""One coil for both machines: apparatus dew point and bypass factor.

Leaving air = bypass factor x entering air + (1 - bypass factor) x air at the surface. The surface is
saturated at the apparatus dew point where that lies below the entering dew point, and dry otherwise.
Source: ASHRAE Handbook Fundamentals 2017, ch. 1 (coil process line); W. P. Jones, Air Conditioning
Engineering, 5th ed., 3.4 (contact factor = 1 - bypass factor).
Units: dry bulb °C, humidity ratio kg/kg, pressure Pa, flow kg dry air/s, heat W.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq, minimize_scalar

from selector.physics.compiled import compiled
from selector.physics.moist_air import (
    WATER_HEAT,
    enthalpy,
    humidity_ratio_of_wet_bulb,
    saturation_humidity_ratio,
    saturation_rise,
)

CLOSE = 1e-5  # K; the error after a Newton step this small is below 1e-11 K
# Where a Newton iteration starts, and there only: saturation humidity ratio x pressure [Pa] as a parabola, -8 to 22 °C
START = (362.7, 28.38, 1.370)
START_LATENT = 2.47e6  # J/kg
COLDEST = -60.0  # °C; no coil's surface is colder


@compiled
def likely_surface(
    contact: float, given: float, rise: float, humidity_ratio: float, pressure: float
) -> float:
    """Where a wet surface settles, with saturation as a parabola: the start of a search, not its result.

    Args: contact [-], 1 - bypass factor; given [J/kg], refrigeration less sensible heat at a surface of 0 °C;
        rise [J/(kg K)], how much that grows with the surface's temperature; all by flow; humidity_ratio [kg/kg],
        entering; pressure [Pa].
    Returns: surface [°C], at which contact x START_LATENT x (humidity_ratio - saturation) = given + rise x surface.
    """
    weight = contact * START_LATENT / pressure
    a = weight * START[2]
    b = weight * START[1] + rise
    c = weight * (START[0] - humidity_ratio * pressure) + given
    return 2.0 * -c / (b + math.sqrt(max(b * b - 4.0 * a * c, 0.0)))


@compiled
def bypass_factor_at(rated: float, rated_flow: float, flow: float) -> float:
    """Bypass factor at another airflow.

    Args: rated [-]; rated_flow, flow [kg/s].
    Returns: bypass factor [-], 0 at no flow.
    Source: BF = exp(-A0 / flow), with A0 from the rating point.
    """
    if flow <= 0.0:
        return 0.0
    if flow == rated_flow:
        return rated
    return math.exp(math.log(rated) * rated_flow / flow)


@compiled
def surface_humidity_ratio(surface: float, humidity_ratio: float, pressure: float) -> float:
    """Humidity ratio of the air at the surface: saturated where that is drier than the entering air.

    Args: surface [°C], apparatus dew point; humidity_ratio [kg/kg], entering; pressure [Pa].
    Returns: humidity ratio [kg/kg], never above the entering air's.
    """
    return min(humidity_ratio, saturation_humidity_ratio(surface, pressure))


@compiled
def leaving_air(
    bypass_factor: float, dry_bulb: float, humidity_ratio: float, surface: float, pressure: float
) -> tuple[float, float]:
    """Leaving dry bulb and humidity ratio.

    Args: bypass_factor [-]; dry_bulb [°C] and humidity_ratio [kg/kg], entering; surface [°C]; pressure [Pa].
    Returns: dry bulb [°C], humidity ratio [kg/kg].
    """
    at_surface = surface_humidity_ratio(surface, humidity_ratio, pressure)
    return past_surface(bypass_factor, dry_bulb, humidity_ratio, surface, at_surface)


@compiled
def past_surface(
    bypass_factor: float, dry_bulb: float, humidity_ratio: float, surface: float, at_surface: float
) -> tuple[float, float]:
    """Leaving dry bulb and humidity ratio, where the humidity ratio of the air at the surface is known.

    Args: as `leaving_air`; at_surface [kg/kg].
    Returns: dry bulb [°C], humidity ratio [kg/kg].
    """
    contact = 1.0 - bypass_factor
    return (
        bypass_factor * dry_bulb + contact * surface,
        bypass_factor * humidity_ratio + contact * at_surface,
    )


@compiled
def coil_load(
    flow: float, bypass_factor: float, dry_bulb: float, humidity_ratio: float, surface: float, pressure: float
) -> float:
    """Heat that the surface takes from the air, condensate leaving at the surface temperature.

    Args: flow [kg/s]; bypass_factor [-]; dry_bulb [°C], humidity_ratio [kg/kg], entering; surface [°C];
        pressure [Pa].
    Returns: refrigerating load [W].
    Source: ASHRAE Handbook Fundamentals 2017, ch. 1, moist-air cooling and dehumidification.
    """
    leaving = leaving_air(bypass_factor, dry_bulb, humidity_ratio, surface, pressure)
    return heat_taken(flow, dry_bulb, humidity_ratio, leaving[0], leaving[1], surface)


@compiled
def heat_taken(
    flow: float,
    dry_bulb: float,
    humidity_ratio: float,
    leaving_dry_bulb: float,
    leaving_ratio: float,
    surface: float,
) -> float:
    """Heat that the surface takes from the air, where the leaving air is known.

    Args: as `coil_load`; leaving_dry_bulb [°C] and leaving_ratio [kg/kg].
    Returns: refrigerating load [W].
    Source: as `coil_load`.
    """
    drop = enthalpy(dry_bulb, humidity_ratio) - enthalpy(leaving_dry_bulb, leaving_ratio)
    return flow * (drop - (humidity_ratio - leaving_ratio) * WATER_HEAT * surface)


@compiled
def surface_temperature(
    capacity: float,
    slope: float,
    reference: float,
    flow: float,
    bypass_factor: float,
    dry_bulb: float,
    humidity_ratio: float,
    pressure: float,
    guess: float,
    saturated: float,
) -> tuple[float, float]:
    """Apparatus dew point at which the air-side load equals capacity x (1 + slope x (surface - reference)).

    Args: capacity [W] at the reference surface temperature; slope [1/K]; reference [°C]; flow [kg/s];
        bypass_factor [-]; dry_bulb [°C], humidity_ratio [kg/kg], entering; pressure [Pa];
        guess [°C] to start from and saturated [kg/kg], what this gave as its humidity ratio, not a number where there
        is none.
    Returns: surface temperature [°C]; load falls and capacity rises with it, so there is one; humidity ratio of
        saturated air at it [kg/kg].
    Source: the definition of the balance point; Newton's method inside a bracket, to 1e-11 K.
    """
    contact = 1.0 - bypass_factor
    entering = enthalpy(dry_bulb, humidity_ratio)
    low, high = COLDEST, dry_bulb
    surface = guess
    known = saturated > 0.0 and guess <= dry_bulb - 0.5
    if not known:
        dry_air = enthalpy(1.0, humidity_ratio) - enthalpy(0.0, humidity_ratio)
        most = capacity / (flow * contact)
        surface = likely_surface(
            1.0, most * (1.0 - slope * reference) - dry_air * dry_bulb, dry_air + most * slope, humidity_ratio,
            pressure,
        )  # fmt: skip
        if not surface > low:
            surface = reference
        surface = min(surface, dry_bulb - 0.5)
    for _ in range(60):
        if not known:
            saturated = saturation_humidity_ratio(surface, pressure)
        known = False
        steep = saturation_rise(saturated, surface)
        at_surface, wetter = saturated, steep
        if saturated >= humidity_ratio:
            at_surface, wetter = humidity_ratio, 0.0
        leaving_dry_bulb, leaving_ratio = past_surface(
            bypass_factor, dry_bulb, humidity_ratio, surface, at_surface
        )
        condensing = humidity_ratio - leaving_ratio
        load = flow * (
            entering - enthalpy(leaving_dry_bulb, leaving_ratio) - condensing * WATER_HEAT * surface
        )
        excess = load - capacity * (1.0 + slope * (surface - reference))
        if excess > 0.0:
            low = surface
        else:
            high = surface
        dry_heat = enthalpy(1.0, leaving_ratio) - enthalpy(0.0, leaving_ratio)
        vapour = enthalpy(leaving_dry_bulb, 2.0) - enthalpy(leaving_dry_bulb, 1.0) - WATER_HEAT * surface
        falling = flow * (contact * (dry_heat + wetter * vapour) + condensing * WATER_HEAT) + capacity * slope
        step = excess / falling
        following = surface + step
        if abs(step) < CLOSE:
            return following, saturated + steep * step
        if following <= low or following >= high:
            following = 0.5 * (low + high)
        surface = following
    return surface, saturation_humidity_ratio(surface, pressure)


@dataclass(frozen=True, slots=True)
class CoilRating:
    """A coil's apparatus dew point and bypass factor at its rating point."""

    surface: float  # °C
    bypass_factor: float
    sensible_heat_ratio: float
    flow: float  # kg/s


RATING_DRY_BULB = (80.0 - 32.0) / 1.8  # °C entering
RATING_WET_BULB = (67.0 - 32.0) / 1.8  # °C entering
STANDARD_PRESSURE = 101325.0  # Pa
STANDARD_DENSITY = 1.2  # kg/m³ dry air


class ImpossibleRatingError(ValueError):
    """No bypass factor between 0 and 1 gives the stated capacity and sensible heat ratio."""


def rate_coil(
    *, total_capacity: float, airflow: float, sensible_heat_ratio: float | None, bypass_factor: float | None
) -> CoilRating:
    """Apparatus dew point and bypass factor that reproduce a coil's rating at 26.7/19.4 °C entering.

    Args: total_capacity [W], gross; airflow [m³/s] of standard air; one of sensible_heat_ratio [-] and
        bypass_factor [-].
    Returns: surface [°C], bypass factor [-], sensible heat ratio [-], flow [kg/s].
    Raises: ImpossibleRatingError naming the sensible heat ratios that the capacity and airflow allow.
    Source: W. P. Jones, Air Conditioning Engineering, 5th ed., ch. 10 (contact factor).
    """
    flow = airflow * STANDARD_DENSITY
    entering = humidity_ratio_of_wet_bulb(RATING_DRY_BULB, RATING_WET_BULB, STANDARD_PRESSURE)

    def load(surface: float, bypass: float) -> float:
        return float(coil_load(flow, bypass, RATING_DRY_BULB, entering, surface, STANDARD_PRESSURE))

    def ratio(surface: float) -> float:
        at_surface = surface_humidity_ratio(surface, entering, STANDARD_PRESSURE)
        sensible = enthalpy(RATING_DRY_BULB, at_surface) - enthalpy(surface, at_surface)
        return float(flow * sensible / load(surface, 0.0))

    if bypass_factor is not None:
        coldest = -40.0
        if load(coldest, bypass_factor) < total_capacity:
            raise ImpossibleRatingError(
                "capacity is more than this airflow can give up at this bypass factor"
            )
        surface = brentq(
            lambda x: load(x, bypass_factor) - total_capacity, coldest, RATING_DRY_BULB, xtol=1e-12
        )
        return CoilRating(surface, bypass_factor, ratio(surface), flow)
    assert sensible_heat_ratio is not None
    if load(-20.0, 0.0) < total_capacity:
        raise ImpossibleRatingError(
            "capacity is more than this airflow can give up above a surface of -20 °C"
        )
    warmest = brentq(lambda x: load(x, 0.0) - total_capacity, -20.0, RATING_DRY_BULB, xtol=1e-12)
    largest = ratio(warmest)
    least = minimize_scalar(ratio, bounds=(-20.0, warmest), method="bounded")
    if sensible_heat_ratio > largest:
        raise ImpossibleRatingError(
            "leaving air would be above saturation; "
            f"the largest possible sensible heat ratio is {largest:.3f}"
        )
    if sensible_heat_ratio < least.fun:
        raise ImpossibleRatingError(f"the smallest possible sensible heat ratio is {least.fun:.3f}")
    surface = brentq(lambda x: ratio(x) - sensible_heat_ratio, least.x, warmest, xtol=1e-12)
    return CoilRating(surface, 1.0 - total_capacity / load(surface, 0.0), sensible_heat_ratio, flow)


def apparatus_dew_point(
    *, entering: tuple[float, float], leaving: tuple[float, float], pressure: float
) -> tuple[float, float]:
    """Apparatus dew point and bypass factor of a coil from the air on both sides of it.

    Args: entering and leaving, each dry bulb [°C] and humidity ratio [kg/kg]; pressure [Pa].
    Returns: apparatus dew point [°C], where the line through both states first meets saturation; bypass
        factor [-].
    Raises: ValueError where the air is not cooled and dried, leaves above saturation, or where the line misses
        saturation.
    Source: ASHRAE Handbook Fundamentals 2017, ch. 1; W. P. Jones, Air Conditioning Engineering, 5th ed., 3.4.
    """
    (warm, moist), (cool, dry) = entering, leaving
    if not (cool < warm and dry < moist):
        raise ValueError(
            f"air goes from {warm:g} °C, {moist:g} kg/kg to {cool:g} °C, {dry:g} kg/kg; a coil line "
            "that meets saturation cools and dries"
        )
    if dry > saturation_humidity_ratio(cool, pressure) * (1.0 + 1e-9):
        raise ValueError(f"leaving air of {cool:g} °C and {dry:g} kg/kg is above saturation")

    def above_saturation(steps: float) -> float:  # concave: a straight line less a convex curve
        surface = warm - steps * (warm - cool)
        return float(moist - steps * (moist - dry) - saturation_humidity_ratio(surface, pressure))

    coldest = (warm + 90.0) / (warm - cool)
    peak = minimize_scalar(lambda x: -above_saturation(x), bounds=(1.0, coldest), method="bounded").x
    if above_saturation(1.0) >= 0.0:
        return cool, 0.0
    if above_saturation(peak) < 0.0:
        raise ValueError("the line through entering and leaving air does not meet saturation")
    steps = brentq(above_saturation, 1.0, peak, xtol=1e-13)
    return warm - steps * (warm - cool), 1.0 - 1.0 / steps
