"""Moisture and heat that arise inside the space, hour by hour.

What a gain is decides how the year takes it up:

- people, moisture and heat follow their schedules alone: `HourlyGains.sensible` and `HourlyGains.vapour`;
- water surfaces and plants evaporate into the hour's own space state. Both are straight lines in the air's
  vapour pressure, so the year's loop calls `evaporation_of` on the hour's rows of `wet_table`, which gives the
  vapour and the heat that it takes out of the air.

Where the heat of evaporation comes from is a key of each gain. "water": the vapour arrives with its own
heat and the space's dry bulb does not feel it. "air": `EVAPORATION_HEAT` for each kg leaves the air as
sensible heat (`sensible_from_air` for moisture gains, the second result of `evaporation_of` for surfaces
and plants). People give off their sensible and their latent heat beside each other. Sun through the space's
effective aperture and lamps over plants are sensible gains.

Units: W, kg/s, Pa, °C, m²; hourly arrays have shape (8760,), surfaces (N, 8760), plants (M, 8760).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numba import njit

from selector.inputs.site import (
    HOURS,
    BoolArray,
    FloatArray,
    HeatGain,
    MoistureGain,
    PeopleGain,
    PlantsGain,
    Site,
    WaterSurfaceGain,
)
from selector.physics.compiled import compiled
from selector.physics.moist_air import saturation_pressure, vapour_pressure

PEOPLE_VAPOUR_HEAT = 2.430e6  # J/kg, evaporation at skin temperature, 30 °C (IAPWS-97: 2429.8 kJ/kg)
EVAPORATION_HEAT = 2.45e6  # J/kg: FAO Irrigation and Drainage Paper 56, eq. 20, 1 / 0.408
POOL_COEFFICIENT = 4.0e-8  # kg/(s m² Pa): ASHRAE Handbook HVAC Applications, natatoriums; 0.1 lb/(h ft² inHg)
CROP_REFLECTION = 0.23  # of short-wave light: FAO-56, eq. 38
LAMP_RADIANT_SHARE = 0.5  # of lamp power that arrives as light; common practice, no source

_BTU_H_FT2_INHG = 1055.05585262 / 3600.0 / 0.09290304 / 3386.389  # W/(m² Pa)
_FEET_PER_MINUTE = 0.00508  # m/s


@compiled
def pool_coefficient(area: float, activity_factor: float) -> float:
    """Coefficient K of a pool: evaporation = K (water's vapour pressure - air's vapour pressure).

    Args: area [m²]; activity_factor [-], 0.5 at rest to 1.5 and more with waves and slides.
    Returns: K [kg/(s Pa)].
    Source: ASHRAE Handbook HVAC Applications, natatoriums (2019: ch. 6), w = 4e-5 A F_a (p_w - p_a), kPa; for
        air at 0.05 to 0.15 m/s over the water and about 2330 kJ/kg.
    """
    return POOL_COEFFICIENT * area * activity_factor


@compiled
def wet_surface_coefficient(area: float, air_speed: float, evaporation_heat: float) -> float:
    """Coefficient K of a wet surface in moving air, from the older form in which the speed stands.

    Args: area [m²]; air_speed [m/s] along the surface; evaporation_heat [J/kg] at the surface.
    Returns: K [kg/(s Pa)].
    Source: form of 1918, w = (95 + 0.425 v) (p_w - p_a) / Y, in C. C. Smith, G. Löf, R. Jones, "Rates of
        evaporation from swimming pools in active use", ASHRAE Transactions 104(1A), 1998, paper 4146; w
        lb/(h ft²), v ft/min, p inHg, Y Btu/lb. The same paper measured 0.74 of it over still water.
    """
    return area * (95.0 + 0.425 * air_speed / _FEET_PER_MINUTE) * _BTU_H_FT2_INHG / evaporation_heat


@compiled
def evaporation(coefficient: float, water_vapour_pressure: float, air_vapour_pressure: float) -> float:
    """Evaporation from a surface; none where the air's vapour pressure is the higher one.

    Args: coefficient [kg/(s Pa)]; water_vapour_pressure [Pa], saturated at the water's temperature;
        air_vapour_pressure [Pa].
    Returns: vapour [kg/s], never negative: condensation on the water is left out.
    """
    return coefficient * max(0.0, water_vapour_pressure - air_vapour_pressure)


@compiled
def pool_evaporation(
    area: float, activity_factor: float, water_vapour_pressure: float, air_vapour_pressure: float
) -> float:
    """Evaporation from a pool.

    Args: area [m²]; activity_factor [-]; water_vapour_pressure, air_vapour_pressure [Pa].
    Returns: vapour [kg/s], not negative.
    Source: ASHRAE Handbook HVAC Applications, natatoriums (2019: ch. 6).
    """
    return evaporation(pool_coefficient(area, activity_factor), water_vapour_pressure, air_vapour_pressure)


@compiled
def saturation_slope(dry_bulb: float) -> float:
    """Slope of the saturation pressure of water, as the evapotranspiration equation was fitted with it.

    Args: dry_bulb [°C].
    Returns: slope [Pa/K].
    Source: FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), eq. 13.
    """
    return 4098.0 * 610.8 * math.exp(17.27 * dry_bulb / (dry_bulb + 237.3)) / (dry_bulb + 237.3) ** 2


@compiled
def transpiration_terms(
    dry_bulb: float, available_radiation: float, air_speed: float, pressure: float
) -> tuple[float, float]:
    """Evapotranspiration of the reference crop as a straight line: first + second x vapour pressure deficit.

    Args: dry_bulb [°C]; available_radiation [W/m²], net radiation less heat into the soil; air_speed [m/s];
        pressure [Pa].
    Returns: part driven by radiation [kg/(s m²)]; coefficient of the deficit [kg/(s m² Pa)].
    Source: FAO-56, eq. 6, with its own slope (eq. 13) and psychrometric constant (eq. 8). The daily equation
        is used for the hour: its hourly form (eq. 53) has 37 for 900 / 24 = 37.5, otherwise the same.
    """
    slope = saturation_slope(dry_bulb) / 1000.0  # kPa/K
    psychrometric = 0.665e-6 * pressure  # kPa/K
    denominator = (slope + psychrometric * (1.0 + 0.34 * air_speed)) * 86400.0
    radiative = 0.408 * slope * available_radiation * 0.0864 / denominator
    aerodynamic = psychrometric * 900.0 / (dry_bulb + 273.0) * air_speed / denominator
    return radiative, aerodynamic / 1000.0


@compiled
def reference_evapotranspiration(
    dry_bulb: float,
    deficit: float,
    net_radiation: float,
    soil_heat_flux: float,
    air_speed: float,
    pressure: float,
) -> float:
    """Evapotranspiration of the reference crop.

    Args: dry_bulb [°C]; deficit [Pa], saturation less actual vapour pressure of the air; net_radiation and
        soil_heat_flux [W/m²]; air_speed [m/s] at 2 m; pressure [Pa].
    Returns: vapour [kg/(s m²)], not negative; times 86400 it is mm/d.
    Source: FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), eq. 6.
    """
    radiative, aerodynamic = transpiration_terms(
        dry_bulb, net_radiation - soil_heat_flux, air_speed, pressure
    )
    return max(0.0, radiative + aerodynamic * deficit)


@compiled
def plants_evaporation(
    area: float,
    net_radiation: float,
    air_speed: float,
    dry_bulb: float,
    air_vapour_pressure: float,
    pressure: float,
) -> tuple[float, float]:
    """Transpiration of a crop into the space's air, and how it falls as the air gets moister.

    Args: area [m²], times the crop coefficient; net_radiation [W/m²]; air_speed [m/s]; dry_bulb [°C];
        air_vapour_pressure [Pa]; pressure [Pa].
    Returns: vapour [kg/s], not negative; slope [kg/(s Pa)], not negative.
    Source: FAO-56, eq. 6, no heat into the soil; saturation pressure of the air from psychrolib.
    """
    radiative, aerodynamic = transpiration_terms(dry_bulb, net_radiation, air_speed, pressure)
    vapour = area * (radiative + aerodynamic * (saturation_pressure(dry_bulb) - air_vapour_pressure))
    if vapour <= 0.0:
        return 0.0, 0.0
    return vapour, area * aerodynamic


# columns of the table of wet surfaces and plants
IS_PLANT, SIZE_OF, DRIVE, AIR_SPEED, FROM_AIR = range(5)
WET = 5


@compiled
def evaporation_of(
    wet: FloatArray, dry_bulb: float, air_vapour_pressure: float, pressure: float
) -> tuple[float, float]:
    """Vapour from all water surfaces and plants at one state of the space.

    Args: wet (N, WET), a row each: whether it is a crop; coefficient [kg/(s Pa)] or area [m²]; water's vapour
        pressure [Pa] or net radiation [W/m²]; air speed [m/s] over a crop; whether the air pays the heat;
        dry_bulb [°C], air_vapour_pressure [Pa], pressure [Pa] of the space's air.
    Returns: vapour [kg/s]; heat that it takes out of the air [W], not negative.
    """
    vapour = 0.0
    from_air = 0.0
    for i in range(wet.shape[0]):
        if wet[i, IS_PLANT] > 0.0:
            part, _ = plants_evaporation(
                wet[i, SIZE_OF], wet[i, DRIVE], wet[i, AIR_SPEED], dry_bulb, air_vapour_pressure, pressure
            )
        else:
            part = evaporation(wet[i, SIZE_OF], wet[i, DRIVE], air_vapour_pressure)
        vapour += part
        from_air += wet[i, FROM_AIR] * part
    return vapour, EVAPORATION_HEAT * from_air


@dataclass(frozen=True, slots=True, eq=False)
class GainSeries:
    """One gain that follows its schedule alone, for the table of loads."""

    name: str
    kind: Literal["people", "moisture", "heat", "lamps", "sun"]
    sensible: FloatArray  # (8760,) W, negative where vapour takes its heat from the air
    vapour: FloatArray  # (8760,) kg/s


@dataclass(frozen=True, slots=True, eq=False)
class HourlyGains:
    """All gains of a site, as the year's loop takes them."""

    sensible: FloatArray  # (8760,) W: people, heat, lamps and sun; `sensible_from_air` is not in it
    vapour: FloatArray  # (8760,) kg/s: people and moisture
    sensible_from_air: FloatArray  # (8760,) W, 0 or negative: moisture that evaporates at the air's cost
    surface_coefficient: FloatArray  # (N, 8760) kg/(s Pa)
    surface_vapour_pressure: FloatArray  # (N,) Pa, at the water's temperature
    surface_from_air: BoolArray  # (N,) the air pays the heat of evaporation
    plants_area: FloatArray  # (M,) m², times the crop coefficient
    plants_net_radiation: FloatArray  # (M, 8760) W/m²
    plants_air_speed: FloatArray  # (M,) m/s
    plants_from_air: BoolArray  # (M,)
    surface_names: tuple[str, ...]  # N
    plants_names: tuple[str, ...]  # M
    series: tuple[GainSeries, ...]  # the parts of `sensible`, `sensible_from_air` and `vapour`


def _people(gain: PeopleGain) -> GainSeries:
    heads = gain.count * gain.schedule
    return GainSeries(gain.name, "people", heads * gain.sensible, heads * (gain.latent / PEOPLE_VAPOUR_HEAT))


def _moisture(gain: MoistureGain) -> GainSeries:
    vapour = gain.rate * gain.schedule
    heat = -EVAPORATION_HEAT * vapour if gain.heat_from == "air" else np.zeros(HOURS)
    return GainSeries(gain.name, "moisture", heat, vapour)


def hourly_gains(*, site: Site) -> HourlyGains:
    """Assemble the gains of a site for every hour.

    Args: site, with its schedules as hourly arrays.
    Returns: `HourlyGains`; arrays of shape (8760,), (N, 8760) for N water surfaces, (M, 8760) for M crops.
    Source: light on a crop: FAO-56, eq. 38 (reflection 0.23) for the share of the sun that reaches it and for
        the lamps' light; long-wave exchange indoors is taken as zero, surroundings being at air temperature.
    """
    sun = site.weather.global_horizontal
    nothing = np.zeros(HOURS)
    series: list[GainSeries] = []
    surfaces: list[WaterSurfaceGain] = []
    plants: list[PlantsGain] = []
    for gain in site.gains:
        match gain:
            case PeopleGain():
                series.append(_people(gain))
            case MoistureGain():
                series.append(_moisture(gain))
            case HeatGain():
                series.append(GainSeries(gain.name, "heat", gain.power * gain.schedule, nothing))
            case WaterSurfaceGain():
                surfaces.append(gain)
            case PlantsGain():
                plants.append(gain)
                if gain.lamp_power > 0.0:
                    lamps = gain.lamp_power * gain.area * gain.schedule
                    series.append(GainSeries(gain.name, "lamps", lamps, nothing))
    if site.space.solar_aperture > 0.0:
        series.append(GainSeries("sun", "sun", site.space.solar_aperture * sun, nothing))

    sensible = np.zeros(HOURS)
    sensible_from_air = np.zeros(HOURS)
    vapour = np.zeros(HOURS)
    for part in series:
        if part.kind == "moisture":
            sensible_from_air += part.sensible
        else:
            sensible += part.sensible
        vapour += part.vapour

    coefficients = np.zeros((len(surfaces), HOURS))
    for index, surface in enumerate(surfaces):
        factor = surface.idle_activity_factor + surface.schedule * (
            surface.activity_factor - surface.idle_activity_factor
        )
        coefficients[index] = pool_coefficient(surface.area, 1.0) * factor
    radiation = np.zeros((len(plants), HOURS))
    for index, crop in enumerate(plants):
        lamp_light = LAMP_RADIANT_SHARE * crop.lamp_power * crop.schedule
        radiation[index] = (1.0 - CROP_REFLECTION) * (crop.light_transmission * sun + lamp_light)
    return HourlyGains(
        sensible=sensible,
        vapour=vapour,
        sensible_from_air=sensible_from_air,
        surface_coefficient=coefficients,
        surface_vapour_pressure=np.array([saturation_pressure(s.water_temperature) for s in surfaces], float),
        surface_from_air=np.array([s.heat_from == "air" for s in surfaces], bool),
        plants_area=np.array([p.area * p.crop_coefficient for p in plants], float),
        plants_net_radiation=radiation,
        plants_air_speed=np.array([p.air_speed for p in plants], float),
        plants_from_air=np.array([p.heat_from == "air" for p in plants], bool),
        surface_names=tuple(s.name for s in surfaces),
        plants_names=tuple(p.name for p in plants),
        series=tuple(series),
    )


@njit(cache=True, error_model="numpy")  # allocates
def _evaporation_by_gain(
    dry_bulb: FloatArray,
    humidity_ratio: FloatArray,
    pressure: FloatArray,
    surface_coefficient: FloatArray,
    surface_vapour_pressure: FloatArray,
    plants_area: FloatArray,
    plants_net_radiation: FloatArray,
    plants_air_speed: FloatArray,
) -> FloatArray:
    surfaces = surface_vapour_pressure.size
    result = np.empty((surfaces + plants_area.size, dry_bulb.size))
    for hour in range(dry_bulb.size):
        air = vapour_pressure(humidity_ratio[hour], pressure[hour])
        for index in range(surfaces):
            result[index, hour] = evaporation(
                surface_coefficient[index, hour], surface_vapour_pressure[index], air
            )
        for index in range(plants_area.size):
            result[surfaces + index, hour] = plants_evaporation(
                plants_area[index],
                plants_net_radiation[index, hour],
                plants_air_speed[index],
                dry_bulb[hour],
                air,
                pressure[hour],
            )[0]
    return result


def evaporation_by_gain(
    *, gains: HourlyGains, dry_bulb: FloatArray, humidity_ratio: FloatArray, pressure: FloatArray
) -> FloatArray:
    """Evaporation of each water surface and crop at given states of the space, for the table of loads.

    Args: gains, of the site; dry_bulb [°C], humidity_ratio [kg/kg] and pressure [Pa] of the space's air, shape (8760,).
    Returns: vapour [kg/s], shape (N + M, 8760): the surfaces, then the crops, in the order of their names.
    """
    result: FloatArray = _evaporation_by_gain(
        dry_bulb,
        humidity_ratio,
        pressure,
        gains.surface_coefficient,
        gains.surface_vapour_pressure,
        gains.plants_area,
        gains.plants_net_radiation,
        gains.plants_air_speed,
    )
    return result


def wet_table(*, gains: HourlyGains) -> FloatArray:
    """Water surfaces and plants as the year's loop takes them.

    Args: gains.
    Returns: array (8760, N + M, WET), surfaces first.
    """
    surfaces, plants = gains.surface_vapour_pressure.size, gains.plants_area.size
    table = np.zeros((HOURS, surfaces + plants, WET))
    table[:, :surfaces, SIZE_OF] = gains.surface_coefficient.T
    table[:, :surfaces, DRIVE] = gains.surface_vapour_pressure
    table[:, :surfaces, FROM_AIR] = gains.surface_from_air
    table[:, surfaces:, IS_PLANT] = 1.0
    table[:, surfaces:, SIZE_OF] = gains.plants_area
    table[:, surfaces:, DRIVE] = gains.plants_net_radiation.T
    table[:, surfaces:, AIR_SPEED] = gains.plants_air_speed
    table[:, surfaces:, FROM_AIR] = gains.plants_from_air
    return table
