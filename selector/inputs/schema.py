"""Every key that a site file may hold, and what each holds: nothing is defaulted or computed here.

All keys are optional to this schema; `resolve.py` says which of them a site cannot do without.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from selector.inputs.fields import Day, Either, Number, Quantity, Reserved, Table, Text, Twelve, Whole, Word
from selector.inputs.schema_alternates import AlternateTable
from selector.inputs.schema_options import OptionTable
from selector.inputs.schema_tariff import ElectricityPrice, GasPrice, OtherLoadTable, TariffTable
from selector.inputs.site import ARRANGEMENTS

PROFILES = ("school", "hall", "office", "pool", "store", "growing")
HEATING_SOURCES = ("gas", "electric", "heat-pump", "none")

Setpoint = Annotated[float, Quantity("temperature", at_least="-10 degC", at_most="50 degC")]
Share = Annotated[float, Quantity("fraction")]
Airflow = Annotated[float, Quantity("airflow", at_least=0.0)]
Money = Annotated[float, Quantity("money", at_least=0.0)]
Power = Annotated[float, Quantity("power", at_least=0.0)]
Growth = Annotated[float, Quantity("percent", at_least=-0.2, at_most=0.5)]
Coefficient = Annotated[float, Quantity("per_temperature", at_least=0.0, at_most=0.2)]
Name = Annotated[str, Text()]


Temperatures = Annotated[
    tuple[float, ...], Twelve(Quantity("temperature", at_least="-60 degC", at_most="60 degC"))
]


class NormalsTable(Table):
    """[weather.normals]: monthly means, for a place without an hourly file."""

    dry_bulb: Temperatures | None = None
    dew_point: Temperatures | None = None
    daily_range: (
        Annotated[
            tuple[float, ...], Twelve(Quantity("temperature_difference", at_least="0 K", at_most="40 K"))
        ]
        | None
    ) = None
    latitude: Annotated[float, Quantity("angle", at_least="-90 deg", at_most="90 deg")] | None = None
    global_horizontal: Annotated[tuple[float, ...], Twelve(Quantity("irradiance", at_least=0.0))] | None = (
        None
    )
    clearness: Annotated[tuple[float, ...], Twelve(Quantity("fraction"))] | None = None


class WeatherTable(Table):
    """[weather]: a file, or monthly normals."""

    file: Annotated[str, Text("the path of a weather file")] | None = None
    normals: NormalsTable | None = None
    elevation: Annotated[float, Quantity("length", at_least="-500 m", at_most="5000 m")] | None = None


class EnvelopePart(Table):
    """[[space.envelope]]: one surface of the building."""

    name: Name | None = None
    area: Annotated[float, Quantity("area", above=0.0)] | None = None
    u_value: Annotated[float, Quantity("u_value", above=0.0, at_most="10 W/(m2*K)")] | None = None


class GasBills(Table):
    """[space.gas_bills]: a year's gas, from which the heat loss is worked back."""

    annual: Annotated[float, Quantity("energy", above=0.0)] | None = None
    other_uses: Annotated[float, Quantity("energy", at_least=0.0)] | None = None
    balance_temperature: (
        Annotated[float, Quantity("temperature", at_least="0 degC", at_most="25 degC")] | None
    ) = None


class HeatingTable(Table):
    """[air_handler.heating] or [space.heating]."""

    source: Annotated[str, Word(HEATING_SOURCES)] | None = None
    efficiency: Annotated[float, Quantity("percent", above=0.0, at_most=10.0)] | None = None
    capacity: Annotated[float, Quantity("power", above=0.0)] | None = None


class SpaceCoolingTable(Table):
    """[space.cooling]: where there is no air handler."""

    source: Annotated[str, Word(("electric", "none"))] | None = None
    cop: Annotated[float, Number(above=0.0, at_most=20.0)] | None = None
    capacity: Annotated[float, Quantity("cooling_capacity", above=0.0)] | None = None


class SpaceTable(Table):
    """[space]."""

    floor_area: Annotated[float, Quantity("area", above=0.0, at_most="1,000,000 m2")] | None = None
    ceiling_height: Annotated[float, Quantity("length", at_least="1 m", at_most="60 m")] | None = None
    heat_loss: Annotated[float, Quantity("conductance", at_least=0.0, at_most="1,000,000 kW/K")] | None = None
    envelope: list[EnvelopePart] | None = None
    gas_bills: GasBills | None = None
    solar_aperture: Annotated[float, Quantity("area", at_least=0.0, at_most="100,000 m2")] | None = None
    infiltration: Annotated[float, Quantity("rate", at_least=0.0, at_most="20 1/h")] | None = None
    airtightness: (
        Annotated[
            tuple[str, float],
            Either(Quantity("rate", at_least=0.0, at_most="100 1/h"), Quantity("airflow", at_least=0.0)),
        ]
        | None
    ) = None
    exhaust_airflow: Airflow | None = None
    moisture_buffer: Annotated[float, Number(at_least=1.0, at_most=1000.0)] | None = None
    contents: Annotated[str, Word(("bare", "furnished", "paper"))] | None = None
    thermal_mass: Annotated[float, Quantity("heat_capacity", above=0.0, at_most="1e9 kJ/K")] | None = None
    construction: Annotated[str, Word(("light", "medium", "heavy"))] | None = None
    cooling_setpoint: Setpoint | None = None
    heating_setpoint: Setpoint | None = None
    unoccupied_cooling_setpoint: Setpoint | None = None
    unoccupied_heating_setpoint: Setpoint | None = None
    schedule: Name | None = None
    heating: HeatingTable | None = None
    cooling: SpaceCoolingTable | None = None


class HumidityTargetTable(Table):
    """[humidity_target], or one of several [[humidity_target]]."""

    name: Name | None = None
    relative_humidity: (
        Annotated[float, Quantity("relative_humidity", at_least="10 %", at_most="95 %")] | None
    ) = None
    dew_point: Annotated[float, Quantity("temperature", at_least="-10 degC", at_most="30 degC")] | None = None
    band: (
        Annotated[
            tuple[str, float],
            Either(
                Quantity("percent", at_least="0 %", at_most="20 %"),
                Quantity("temperature_difference", at_least="0 K", at_most="10 K"),
            ),
        ]
        | None
    ) = None
    hours: Name | None = None
    allowed_hours_above: Annotated[float, Number(at_least=0.0, at_most=8760.0)] | None = None


class GainTable(Table):
    """[[gains]]: the keys that every kind has."""

    name: Name | None = None
    schedule: Name | None = None


class PeopleTable(GainTable):
    """People: a count or a use of the ventilation standard; an activity or both heats."""

    kind: Literal["people"]
    count: Annotated[float, Number(at_least=0.0, at_most=100000)] | None = None
    use: Name | None = None
    activity: Name | None = None
    sensible: Power | None = None
    latent: Power | None = None


class WaterSurfaceTable(GainTable):
    """A pool or wet surface: a kind of pool, or the activity factor itself."""

    kind: Literal["water-surface"]
    area: Annotated[float, Quantity("area", at_least=0.0, at_most="1,000,000 m2")] | None = None
    water_temperature: (
        Annotated[float, Quantity("temperature", at_least="0 degC", at_most="45 degC")] | None
    ) = None
    pool: Name | None = None
    activity_factor: Annotated[float, Number(at_least=0.0, at_most=5.0)] | None = None
    idle_activity_factor: Annotated[float, Number(at_least=0.0, at_most=5.0)] | None = None
    heat_from: Annotated[str, Word(("water", "air"))] | None = None


class PlantsTable(GainTable):
    """A crop; its schedule is that of the lamps."""

    kind: Literal["plants"]
    area: Annotated[float, Quantity("area", at_least=0.0, at_most="1,000,000 m2")] | None = None
    crop_coefficient: Annotated[float, Number(at_least=0.0, at_most=3.0)] | None = None
    air_speed: Annotated[float, Quantity("velocity", at_least="0 m/s", at_most="5 m/s")] | None = None
    light_transmission: Share | None = None
    lamp_power: Annotated[float, Quantity("irradiance", at_least=0.0)] | None = None
    heat_from: Annotated[str, Word(("water", "air"))] | None = None


class MoistureTable(GainTable):
    """A given rate of moisture."""

    kind: Literal["moisture"]
    rate: Annotated[float, Quantity("moisture_rate", at_least=0.0, at_most="100,000 kg/h")] | None = None
    heat_from: Annotated[str, Word(("water", "air"))] | None = None


class HeatTable(GainTable):
    """Lights, machines and plug loads."""

    kind: Literal["heat"]
    power: Annotated[float, Quantity("power", at_least=0.0, at_most="1,000,000 kW")] | None = None


AnyGain = Annotated[
    PeopleTable | WaterSurfaceTable | PlantsTable | MoistureTable | HeatTable, Field(discriminator="kind")
]


class CoolingCoilTable(Table):
    """[air_handler.cooling_coil]."""

    kind: Annotated[str, Word(("cycling-dx", "modulating-chilled-water"))] | None = None
    total_capacity: Annotated[float, Quantity("cooling_capacity", above=0.0, at_most="10,000 ton")] | None = (
        None
    )
    sensible_heat_ratio: Annotated[float, Quantity("fraction", above=0.0)] | None = None
    bypass_factor: Annotated[float, Quantity("fraction", above=0.0, below=1.0)] | None = None
    cop: Annotated[float, Number(above=0.0, at_most=20.0)] | None = None
    eer: Annotated[float, Quantity("energy_efficiency_ratio", above=0.0, at_most=20.0)] | None = None
    kw_per_ton: Annotated[float, Quantity("power_per_cooling", above=0.0)] | None = None
    stages: Annotated[int, Whole(1, 20)] | None = None
    airside_pressure_drop: Annotated[float, Quantity("pressure", at_least=0.0, at_most="2000 Pa")] | None = (
        None
    )
    water_temperature: Annotated[float, Quantity("temperature", above="0 degC", at_most="20 degC")] | None = (
        None
    )
    capacity_per_surface: Coefficient | None = None
    capacity_per_outdoor: Coefficient | None = None
    cop_per_surface: Coefficient | None = None
    cop_per_outdoor: Coefficient | None = None
    lowest_outdoor: (
        Annotated[float, Quantity("temperature", at_least="-30 degC", at_most="35 degC")] | None
    ) = None
    cycling_loss: Share | None = None
    wetting_time: Annotated[float, Quantity("time", at_least=0.0, at_most="2 h")] | None = None
    evaporation_ratio: Annotated[float, Number(at_least=0.0, at_most=5.0)] | None = None
    cycling_rate: Annotated[float, Quantity("rate", above=0.0, at_most="12 1/h")] | None = None
    time_constant: Annotated[float, Quantity("time", at_least=0.0, at_most="10 min")] | None = None
    minimum_airflow: Share | None = None


class MeasuredTemperatures(Table):
    """[air_handler.measured_temperatures]: three dry bulbs at the same moment, the economizer shut."""

    outdoor: Annotated[float, Quantity("temperature", at_least="-50 degC", at_most="60 degC")] | None = None
    return_air: Annotated[float, Quantity("temperature", at_least="-10 degC", at_most="60 degC")] | None = (
        None
    )
    mixed: Annotated[float, Quantity("temperature", at_least="-50 degC", at_most="60 degC")] | None = None


class AirHandlerTable(Table):
    """[air_handler]."""

    supply_airflow: Annotated[float, Quantity("airflow", above=0.0, at_most="1,000 m3/s")] | None = None
    outdoor_air_fraction: Share | None = None
    outdoor_airflow: Airflow | None = None
    measured_temperatures: MeasuredTemperatures | None = None
    ventilation_use: Name | None = None
    ventilation_effectiveness: Annotated[float, Number(at_least=0.5, at_most=1.5)] | None = None
    schedule: Name | None = None
    unoccupied_fan: Annotated[str, Word(("cycles", "off", "runs"))] | None = None
    damper_leakage: Share | None = None
    economizer: Annotated[str, Word(("none", "dry-bulb", "enthalpy"))] | None = None
    economizer_dry_bulb: (
        Annotated[float, Quantity("temperature", at_least="5 degC", at_most="30 degC")] | None
    ) = None
    economizer_enthalpy: (
        Annotated[float, Quantity("enthalpy", at_least="20 kJ/kg", at_most="80 kJ/kg")] | None
    ) = None
    fan_power: Annotated[float, Quantity("electric_power", at_least=0.0, at_most="10,000 kW")] | None = None
    fan_position: Annotated[str, Word(("after-coil", "before-coil"))] | None = None
    external_static_pressure: (
        Annotated[float, Quantity("pressure", at_least=0.0, at_most="2000 Pa")] | None
    ) = None
    heating_temperature_rise: (
        Annotated[float, Quantity("temperature_difference", above="0 K", at_most="60 K")] | None
    ) = None
    cooling_coil: CoolingCoilTable | None = None
    heating: HeatingTable | None = None


class InstallationTable(Table):
    """[costs.installation.<arrangement>]."""

    fixed: Money | None = None
    per_unit: Money | None = None
    duct_length: Annotated[float, Quantity("length", at_least=0.0, at_most="300 m")] | None = None
    duct_velocity: Annotated[float, Quantity("velocity", above="0 m/s", at_most="20 m/s")] | None = None
    duct_friction: Annotated[float, Quantity("friction_rate", above=0.0, at_most="20 Pa/m")] | None = None
    duct_fittings: Annotated[float, Number(at_least=0.0, at_most=20.0)] | None = None
    reactivation_duct_length: Annotated[float, Quantity("length", at_least=0.0, at_most="100 m")] | None = (
        None
    )
    drain: Annotated[str, Word(("gravity", "pump"))] | None = None


class CostsTable(Table):
    """[costs]."""

    electricity: ElectricityPrice | None = None
    gas: GasPrice | None = None
    discount_rate: Annotated[float, Quantity("percent", at_least="0 %", at_most="50 %")] | None = None
    discount_rate_kind: Annotated[str, Word(("real", "nominal"))] | None = None
    inflation: Annotated[float, Quantity("percent", at_least="-5 %", at_most="30 %")] | None = None
    study_period: Annotated[float, Quantity("years", at_least="1 year", at_most="60 year")] | None = None
    electricity_escalation: Growth | None = None
    gas_escalation: Growth | None = None
    installation: dict[str, InstallationTable] | None = None
    price_book: Annotated[str, Text("the path of a price book")] | None = None
    location_factor: Annotated[float, Number(above=0.0, at_most=10.0)] | None = None
    tariff: TariffTable | None = None
    other_load: list[OtherLoadTable] | None = None
    carbon_electricity: Annotated[float, Quantity("carbon_factor", at_least=0.0)] | None = None
    carbon_gas: Annotated[float, Quantity("carbon_factor", at_least=0.0)] | None = None
    carbon_price: Annotated[float, Quantity("carbon_price", at_least=0.0)] | None = None


class LimitsTable(Table):
    """[limits]."""

    arrangements: list[Annotated[str, Word(ARRANGEMENTS)]] | None = None
    max_units: Annotated[int, Whole(0, 100)] | None = None
    max_per_model: Annotated[int, Whole(0, 100)] | None = None
    max_sizes: Annotated[int, Whole(1, 10)] | None = None
    max_arrangements: Annotated[int, Whole(1, 5)] | None = None
    spare_units: Annotated[int, Whole(0, 10)] | None = None
    extra_hours_too_warm: Annotated[float, Number(at_least=0.0, at_most=8760.0)] | None = None
    first_cost: Money | None = None
    supply_voltage: Annotated[float, Quantity("voltage", above=0.0)] | None = None
    phases: Annotated[int, Whole(1, 3)] | None = None
    electrical_current: Annotated[float, Quantity("current", at_least=0.0)] | None = None
    sound: Annotated[float, Quantity("sound", at_least=0.0)] | None = None
    weight: Annotated[float, Quantity("mass", above=0.0)] | None = None
    length: Annotated[float, Quantity("length", above=0.0)] | None = None
    width: Annotated[float, Quantity("length", above=0.0)] | None = None
    height: Annotated[float, Quantity("length", above=0.0)] | None = None
    work_years: Annotated[float, Number(above=0.0)] | None = None
    options: Annotated[str, Word(("yes", "no"))] | None = None
    seconds: Annotated[None, Reserved()] = None


class ExistingUnitsTable(Table):
    """[[existing_units]]."""

    model: Name | None = None
    arrangement: Annotated[str, Word(ARRANGEMENTS)] | None = None
    count: Annotated[int, Whole(1, 100)] | None = None


class SiteFile(Table):
    """The whole file."""

    name: Name | None = None
    profile: Annotated[str, Word(PROFILES)] | None = None
    display_units: Annotated[str, Word(("IP", "SI"))] | None = None
    currency: Name | None = None
    catalog: Annotated[str, Text("the folder of a catalogue")] | None = None
    first_weekday: (
        Annotated[
            str,
            Word(("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")),
        ]
        | None
    ) = None
    holidays: list[Annotated[int, Day()]] | None = None
    weather: WeatherTable | None = None
    space: SpaceTable | None = None
    humidity_target: list[HumidityTargetTable] | None = None
    schedules: dict[str, dict[str, Any]] | None = None
    gains: list[AnyGain] | None = None
    air_handler: AirHandlerTable | None = None
    costs: CostsTable | None = None
    limits: LimitsTable | None = None
    existing_units: list[ExistingUnitsTable] | None = None
    alternates: list[AlternateTable] | None = None
    options: list[OptionTable] | None = None
