"""The site and the catalogue as the engine sees them: checked, complete and in SI.

Units: temperatures °C, humidity ratios kg/kg dry air, pressures Pa, airflows m³/s, powers W, masses kg,
money in the site's currency, prices of energy in currency/J, relative humidities and fractions 0 to 1.
Hourly arrays hold 8,760 values from 1 January 00:00; value ``i`` belongs to the hour that starts at ``i``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

import numpy as np
import numpy.typing as npt

from selector.inputs.tariff import Tariff

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

HOURS = 8760

Arrangement = Literal["return-side", "supply-side", "coil-bypass", "standalone", "outdoor-air"]
ARRANGEMENTS: tuple[Arrangement, ...] = get_args(Arrangement)
Technology = Literal["refrigerant", "refrigerant-precool", "desiccant"]
TECHNOLOGIES: tuple[Technology, ...] = get_args(Technology)
ReactivationAir = Literal["outdoor", "space", "none"]
REACTIVATION_AIR: tuple[ReactivationAir, ...] = get_args(ReactivationAir)
ReactivationEnergy = Literal["electric", "gas", "none"]
REACTIVATION_ENERGY: tuple[ReactivationEnergy, ...] = get_args(ReactivationEnergy)
Origin = Literal["given", "helper", "profile", "default", "fitted"]


@dataclass(frozen=True, slots=True)
class Assumption:
    """One input as used, where it came from and how far it may be off."""

    key: str  # as in the site file, "space.moisture_buffer"
    value: float | str  # SI
    unit: str  # SI unit, "" for counts, fractions and words
    low: float | None
    high: float | None
    origin: Origin
    source: str
    find: str  # how to find yours


@dataclass(frozen=True, slots=True, eq=False)
class DesignDay:
    """A day built around the dew point that is exceeded in `percent` of the hours of the year."""

    percent: float  # 0.4 or 1.0
    dew_point: float  # °C
    hour_of_year: int  # the hour of the year that the day's noon stands in, for schedules and the sun
    dry_bulb: FloatArray  # (24,) °C
    humidity_ratio: FloatArray  # (24,) kg/kg
    global_horizontal: FloatArray  # (24,) W/m²
    pressure: float  # Pa


@dataclass(frozen=True, slots=True, eq=False)
class Weather:
    """One year of outdoor air."""

    source: str  # file, or "monthly normals"
    kind: Literal["typical year", "measured year", "synthetic"]
    pressure: FloatArray  # (8760,) Pa
    dry_bulb: FloatArray  # (8760,) °C
    humidity_ratio: FloatArray  # (8760,) kg/kg
    global_horizontal: FloatArray  # (8760,) W/m²
    elevation: float  # m
    first_weekday: int  # of 1 January, Monday = 0
    hours_filled: int  # gaps that were filled
    notes: tuple[str, ...]
    design_days: tuple[DesignDay, ...]


@dataclass(frozen=True, slots=True, eq=False)
class PeopleGain:
    """People, with sensible and latent heat each."""

    name: str
    count: float
    sensible: float  # W a person
    latent: float  # W a person
    schedule: FloatArray  # (8760,) 0 to 1


@dataclass(frozen=True, slots=True, eq=False)
class WaterSurfaceGain:
    """A pool or wet surface that evaporates into the space's own air."""

    name: str
    area: float  # m²
    water_temperature: float  # °C
    activity_factor: float  # while the schedule is 1
    idle_activity_factor: float  # while the schedule is 0
    heat_from: Literal["water", "air"]
    schedule: FloatArray  # (8760,) 0 to 1


@dataclass(frozen=True, slots=True, eq=False)
class PlantsGain:
    """Plants that transpire into the space's own air."""

    name: str
    area: float  # m²
    crop_coefficient: float
    air_speed: float  # m/s
    light_transmission: float  # share of global horizontal irradiance that reaches the crop
    lamp_power: float  # W/m² of crop; heat of the space as well
    heat_from: Literal["water", "air"]
    schedule: FloatArray  # (8760,) 0 to 1, of the lamps


@dataclass(frozen=True, slots=True, eq=False)
class MoistureGain:
    """A given rate of vapour."""

    name: str
    rate: float  # kg/s
    heat_from: Literal["water", "air"]  # "water": arrives as vapour; "air": evaporates at the air's cost
    schedule: FloatArray  # (8760,)


@dataclass(frozen=True, slots=True, eq=False)
class HeatGain:
    """Lights and plug loads."""

    name: str
    power: float  # W
    schedule: FloatArray  # (8760,)


Gain = PeopleGain | WaterSurfaceGain | PlantsGain | MoistureGain | HeatGain


@dataclass(frozen=True, slots=True)
class Heating:
    """What heats the space: through the air handler, or in the space where there is none."""

    source: Literal["gas", "electric", "heat-pump", "none"]
    efficiency: float  # heat delivered / energy bought
    capacity: float | None  # W; None: never runs out


@dataclass(frozen=True, slots=True)
class SpaceCooling:
    """What cools a space that has no air handler: sensible heat only."""

    source: Literal["electric", "none"]
    cop: float
    capacity: float | None  # W


@dataclass(frozen=True, slots=True, eq=False)
class Space:
    """The conditioned space: one well-mixed volume."""

    floor_area: float  # m²
    ceiling_height: float  # m
    heat_loss: float  # W/K
    solar_aperture: float  # m²
    infiltration: float  # 1/s, air changes
    exhaust_airflow: float  # m³/s, while ventilation is open
    moisture_buffer: float  # multiples of the air's own mass
    thermal_mass: float  # J/K
    cooling_setpoint: FloatArray  # (8760,) °C
    heating_setpoint: FloatArray  # (8760,) °C
    occupied_heating_setpoint: float  # °C, names hours that are wet only because the space is set back
    heating: Heating  # where there is no air handler
    cooling: SpaceCooling


@dataclass(frozen=True, slots=True)
class CoolingCoil:
    """The air handler's cooling coil at its rating: 26.7/19.4 °C entering, 35 °C outdoors, standard air."""

    kind: Literal["cycling-dx", "modulating-chilled-water"]
    total_capacity: float  # W, gross
    sensible_heat_ratio: float | None  # one of these two
    bypass_factor: float | None
    cop: float  # without the fan
    stages: int
    airside_pressure_drop: float  # Pa
    water_temperature: float  # °C, chilled water entering
    capacity_per_surface: float  # 1/K, rise of capacity with apparatus dew point
    capacity_per_outdoor: float  # 1/K, fall of capacity with outdoor dry bulb
    cop_per_surface: float  # 1/K, rise of COP with apparatus dew point
    cop_per_outdoor: float  # 1/K, fall of COP with outdoor dry bulb
    lowest_outdoor: float  # °C, head pressure is held below it: the laws stay at this value
    cycling_loss: float  # share of full power lost at half runtime is a quarter of this
    wetting_time: float  # s, twet of Henderson and Rengarajan
    evaporation_ratio: float  # gamma
    cycling_rate: float  # 1/s, Nmax
    time_constant: float  # s, tau
    minimum_airflow: float  # share of design airflow that has to pass the coil


@dataclass(frozen=True, slots=True)
class RecoveryWheel:
    """An energy-recovery wheel between outdoor air and exhaust, while ventilation is open."""

    sensible_effectiveness: float  # at balanced flow
    latent_effectiveness: float
    exhaust_airflow: float  # m³/s of exhaust that pass it, at standard air and site pressure
    supply_fan_power: float  # W while it turns; heats the outdoor air
    exhaust_fan_power: float  # W while it turns, its motor's too; leaves with the exhaust
    bypass_above: (
        float  # °C outdoors, from which it turns only where the outdoor air's enthalpy is above the space's
    )
    frost_limit: float  # °C outdoors, below which it stands


@dataclass(frozen=True, slots=True)
class Reheat:
    """What brings the supply air back while the humidistat runs the coil beyond the thermostat's call."""

    source: Literal["gas", "electric", "heat-pump"]
    efficiency: float  # heat delivered / energy bought
    capacity: float | None  # W; None: never runs out


@dataclass(frozen=True, slots=True, eq=False)
class AirHandler:
    """The existing air handler."""

    supply_airflow: float  # m³/s at standard air (20 °C dry) and site pressure; constant
    outdoor_airflow: float  # m³/s, with the ventilation schedule at 1
    ventilation: FloatArray  # (8760,) 0 to 1; above 0 is "occupied": damper open, fan on
    unoccupied_fan: Literal["cycles", "off", "runs"]
    damper_leakage: float  # share of the outdoor airflow while the damper is shut and the fan runs
    economizer: Literal["none", "dry-bulb", "enthalpy"]
    economizer_dry_bulb: float  # °C
    economizer_enthalpy: float  # J/kg dry air
    fan_power: float  # W
    fan_position: Literal["after-coil", "before-coil"]
    external_static_pressure: float  # Pa
    heating_temperature_rise: float  # K, sets the fan's share of the hour while it heats
    cooling_coil: CoolingCoil
    heating: Heating
    wheel: RecoveryWheel | None = None
    reheat: Reheat | None = None


@dataclass(frozen=True, slots=True, eq=False)
class HumidityTarget:
    """One limit: hours above it are counted in `hours` only."""

    name: str
    kind: Literal["relative-humidity", "dew-point"]
    limit: float  # fraction, or °C
    band: float  # the humidistat's set point lies this far below: fraction, or K
    hours: BoolArray  # (8760,)
    allowed_hours_above: float


@dataclass(frozen=True, slots=True)
class Installation:
    """What it takes to connect units in one arrangement."""

    fixed: float | None  # currency, once; None: by the bill of quantities
    per_unit: float | None  # currency a unit; None: by the bill of quantities
    duct_length: float  # m a unit, both ways together
    duct_velocity: float  # m/s, sets the diameter, but where a friction rate does
    duct_fittings: float  # fittings as a multiple of the straight duct's friction
    reactivation_duct_length: float = 4.5  # m, each reactivation duct of a desiccant unit
    drain: Literal["gravity", "pump"] = "gravity"  # of condensate
    duct_friction: float | None = None  # Pa/m, sets the diameter


Trade = Literal["mechanical", "electrical", "commissioning"]
Markup = Literal["overhead", "margin", "contingency", "tax"]
TRADES: tuple[Trade, ...] = ("mechanical", "electrical", "commissioning")
MARKUPS: tuple[Markup, ...] = ("overhead", "margin", "contingency", "tax")  # each on top of those before it


@dataclass(frozen=True, slots=True)
class PriceRow:
    """One line of a price book: an item up to a size, by the piece or by the metre."""

    item: str
    up_to: float | None  # largest size that it serves, by item: m, m³/s, kg or A; None: it has no size
    size: str  # the same as written in the book, "10 in"
    material: float  # currency a piece, or a metre of duct
    hours: float  # h of labour a piece, or a metre of duct


@dataclass(frozen=True, slots=True)
class Shares:
    """What one markup adds to each kind of cost."""

    units: float  # share
    materials: float
    labour: float


@dataclass(frozen=True, slots=True)
class PriceBook:
    """Prices and labour times of installation work."""

    file: str
    currency: str
    invented: bool  # prices are examples, not for a bid
    rows: Mapping[str, tuple[PriceRow, ...]]  # by item, the smallest size first
    labour: Mapping[Trade, float]  # currency/h
    markups: Mapping[Markup, Shares]


@dataclass(frozen=True, slots=True)
class Costs:
    """Prices and the economics of the study."""

    currency: str
    electricity: float  # currency/J; under a tariff the mean over all hours of the lowest price, for show
    gas: float  # currency/J; under a tariff the lowest block's price, for show
    discount_rate: float  # real, a year
    study_period: int  # years
    electricity_escalation: float  # real, a year
    gas_escalation: float
    installation: Mapping[Arrangement, Installation]
    tariff: Tariff | None = None  # None: the two flat prices are all there is
    other_load: FloatArray | None = field(
        default=None, compare=False
    )  # (8760,) W of the building's other uses
    carbon_electricity: float = 0.0  # kg of carbon dioxide/J bought
    carbon_gas: float = 0.0  # kg/J
    carbon_price: float = 0.0  # currency/kg
    price_book: PriceBook | None = None  # None where every arrangement has its lump sums
    location_factor: float = 1.0  # multiplies the price book's materials and labour
    inflation: float = 0.0  # a year, general; what nominal rates were turned into real ones with
    discount_rate_kind: Literal["real", "nominal"] = "real"  # how the site file gives its rates


@dataclass(frozen=True, slots=True)
class Limits:
    """What a design may not exceed; None where the site sets no limit."""

    arrangements: tuple[Arrangement, ...]
    max_units: int
    max_per_model: int
    max_sizes: int
    max_arrangements: int
    spare_units: int
    extra_hours_too_warm: float | None
    first_cost: float | None
    supply_voltage: float | None  # V
    phases: int | None
    electrical_current: float | None  # A, all units of one voltage together
    sound: float | None  # dBA, of the loudest unit
    work_years: float  # simulation work in year-equivalents after which the answer is best-found
    weight: float | None = None  # kg, of the heaviest unit
    length: float | None = None  # m, of any unit; width and height likewise
    width: float | None = None
    height: float | None = None
    options: bool = False  # whether options that are no units take part in `choose`


@dataclass(frozen=True, slots=True)
class RatingRow:
    """One rating point of a unit, at 101.325 kPa and no external static pressure beyond the unit's own."""

    dry_bulb: float  # °C entering
    relative_humidity: float  # 0 to 1
    removal: float  # kg/s
    power: float  # W, electric, fan included
    gas: float  # W, reactivation gas


@dataclass(frozen=True, slots=True)
class Unit:
    """One model of the catalogue."""

    model: str
    technology: Technology
    airflow: float  # m³/s at the entering state
    fan_static: float  # Pa, external static up to which the fan holds the airflow
    voltage: float  # V
    phases: int
    current: float  # A
    price: float  # currency
    service_life: float  # years
    maintenance: float  # currency a year
    sound: float  # dBA
    length: float  # m
    width: float  # m
    height: float  # m
    weight: float  # kg
    minimum_dry_bulb: float  # °C entering
    maximum_dry_bulb: float  # °C entering
    reactivation_airflow: float  # m³/s; 0 but for desiccant
    reactivation_air: ReactivationAir
    reactivation_energy: ReactivationEnergy
    cycling_loss: float
    ratings: tuple[RatingRow, ...]
    highest_leaving_dry_bulb: float | None = (
        None  # °C, of a refrigerant unit; None: the catalogue does not say
    )


@dataclass(frozen=True, slots=True)
class Catalog:
    """The units on offer, in the order of the file, which settles ties."""

    folder: str
    currency: str
    invented: bool  # prices and curves are examples, not for a bid
    units: tuple[Unit, ...]


@dataclass(frozen=True, slots=True)
class Install:
    """`count` units of one model in one arrangement."""

    model: str
    arrangement: Arrangement
    count: int


@dataclass(frozen=True, slots=True)
class Alternate:
    """A named option for a bid: ours, or a proposal of another's with what it brings of its own."""

    name: str
    by: str  # who proposes it, "" for our own
    install: tuple[Install, ...]  # models of the catalogue, or of `units`
    lump_sum: float | None  # currency, for all that is offered; None: priced by parts
    unit_price: float | None  # currency a unit, in place of the catalogue's
    installation: float | None  # currency, for all that is not units, in place of our own bill
    exclusions: tuple[str, ...]  # sections of the bill of quantities that its price leaves out
    units: tuple[Unit, ...]  # that the catalogue does not have, one rating row each
    assumptions: tuple[Assumption, ...]  # what its units are taken to have where it does not say


OptionKind = Literal["overcooling-reheat", "recovery-wheel", "unoccupied", "outdoor-air", "economizer"]


@dataclass(frozen=True, slots=True, eq=False)
class SiteOption:
    """An option that is no units: what it changes, and what that costs."""

    name: str
    kind: OptionKind
    first_cost: float  # currency
    maintenance: float  # currency a year
    life: float  # years, after which it is bought again
    air_handler: Mapping[str, Any]  # fields of `AirHandler` that it changes, SI
    space: Mapping[str, Any]  # fields of `Space` that it changes, SI
    assumptions: tuple[Assumption, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """Everything that a run needs."""

    name: str
    file: str
    profile: str
    display_units: Literal["IP", "SI"]
    weather: Weather
    space: Space
    occupied: BoolArray  # (8760,)
    gains: tuple[Gain, ...]
    air_handler: AirHandler | None
    targets: tuple[HumidityTarget, ...]
    costs: Costs
    limits: Limits
    existing_units: tuple[Install, ...]
    catalog: Catalog
    assumptions: tuple[Assumption, ...]
    notes: tuple[str, ...]  # what the reader should know: gaps filled, synthetic weather, several rooms
    alternates: tuple[Alternate, ...] = ()
    options: tuple[SiteOption, ...] = ()


def assumptions_of_options(*, site: Site) -> tuple[Assumption, ...]:
    """What named options are taken to have where the site file does not say.

    Args: site. Returns: assumptions of all alternates, then of options that are no units.
    """
    return (
        *(one for alternate in site.alternates for one in alternate.assumptions),
        *(one for option in site.options for one in option.assumptions),
    )
