"""Sites for the tests of the hour and the year: one invented space, air handler and coil, changed key by key.

Weather, gains and set points are constant unless a test makes them otherwise; units are those of the shipped, invented
catalogue, fitted once.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from selector.inputs.site import (
    ARRANGEMENTS,
    HOURS,
    AirHandler,
    Catalog,
    CoolingCoil,
    FloatArray,
    Gain,
    HeatGain,
    Heating,
    HumidityTarget,
    Install,
    Installation,
    MoistureGain,
    Site,
    SpaceCooling,
    Unit,
)
from selector.physics.hourly import HourlyYear, UnitHours, simulate_hours
from selector.physics.moist_air import humidity_ratio_of_relative_humidity
from selector.physics.prepare import Prepared, lead_order, prepare
from tests.builders import flat, make_site, make_weather
from tests.physics.units_for_tests import fitted, general

SEA_LEVEL = 101325.0
ALWAYS = np.ones(HOURS, bool)
CLOCK = np.arange(HOURS) % 24
DAY = (CLOCK >= 8) & (CLOCK < 18)
NIGHT = ~DAY
LATE = 5000  # an hour long after the start


def ratio(dry_bulb: float, relative_humidity: float, pressure: float = SEA_LEVEL) -> float:
    return float(humidity_ratio_of_relative_humidity(dry_bulb, relative_humidity, pressure))


def make_coil(**changes: Any) -> CoolingCoil:
    coil = CoolingCoil(
        kind="cycling-dx",
        total_capacity=30000.0,
        sensible_heat_ratio=0.75,
        bypass_factor=None,
        cop=3.5,
        stages=1,
        airside_pressure_drop=100.0,
        water_temperature=7.0,
        capacity_per_surface=0.03,
        capacity_per_outdoor=0.008,
        cop_per_surface=0.02,
        cop_per_outdoor=0.022,
        lowest_outdoor=15.0,
        cycling_loss=0.0,
        wetting_time=1000.0,
        evaporation_ratio=1.5,
        cycling_rate=3.0 / 3600.0,
        time_constant=45.0,
        minimum_airflow=0.6,
    )
    return replace(coil, **changes)


def make_water_coil(**changes: Any) -> CoolingCoil:
    return make_coil(**({"kind": "modulating-chilled-water", "cop_per_outdoor": 0.0} | changes))


def make_air_handler(*, coil: CoolingCoil | None = None, **changes: Any) -> AirHandler:
    handler = AirHandler(
        supply_airflow=1.5,
        outdoor_airflow=0.3,
        ventilation=np.ones(HOURS),
        unoccupied_fan="cycles",
        damper_leakage=0.0,
        economizer="none",
        economizer_dry_bulb=18.0,
        economizer_enthalpy=47000.0,
        fan_power=1200.0,
        fan_position="after-coil",
        external_static_pressure=100.0,
        heating_temperature_rise=25.0,
        cooling_coil=coil or make_coil(),
        heating=Heating("gas", 0.8, None),
    )
    return replace(handler, **changes)


def steady_gains(*, heat: float = 4000.0, vapour: float = 1.0e-3) -> tuple[Gain, ...]:
    return (
        HeatGain("lights", heat, np.ones(HOURS)),
        MoistureGain("process", vapour, "water", np.ones(HOURS)),
    )


def humidity_limit(limit: float = 0.55, *, band: float = 0.03, hours: Any = ALWAYS) -> HumidityTarget:
    return HumidityTarget("limit", "relative-humidity", limit, band, hours, 0.0)


def dry_limit(**changes: Any) -> tuple[HumidityTarget, ...]:
    """A limit that no unit here reaches, so that all run at full."""
    return (humidity_limit(0.25, **changes),)


def general_units(*models: str, **changes: Any) -> tuple[Unit, ...]:
    units = {unit.model: unit for unit in general().units}
    return tuple(replace(units[model], **changes) for model in models)


def steady_site(
    *,
    dry_bulb: float | FloatArray = 28.0,
    outdoor_ratio: float | FloatArray = 0.014,
    pressure: float = SEA_LEVEL,
    sun: float = 0.0,
    air_handler: AirHandler | None = None,
    gains: tuple[Gain, ...] | None = None,
    units: tuple[Unit, ...] = (),
    targets: tuple[HumidityTarget, ...] | None = None,
    space: dict[str, Any] | None = None,
    no_ducts: bool = True,
    **changes: Any,
) -> Site:
    """Site of 300 m² and 3 m height; `space` and `changes` replace fields of the space and of the site."""
    base = make_site(gains=steady_gains() if gains is None else gains)
    weather = replace(
        make_weather(sun=sun),
        dry_bulb=np.broadcast_to(np.asarray(dry_bulb, float), HOURS).copy(),
        humidity_ratio=np.broadcast_to(np.asarray(outdoor_ratio, float), HOURS).copy(),
        pressure=flat(pressure),
    )
    shape: dict[str, Any] = {
        "floor_area": 300.0,
        "heat_loss": 200.0,
        "infiltration": 0.2 / 3600.0,
        "thermal_mass": 4.0e7,
        "cooling_setpoint": flat(24.0),
        "heating_setpoint": flat(20.0),
        "cooling": SpaceCooling("none", 3.0, None),
    }
    length = 0.0 if no_ducts else 6.0
    terms = {name: Installation(1000.0, 500.0, length, 5.0, 1.0) for name in ARRANGEMENTS}
    return replace(
        base,
        weather=weather,
        space=replace(base.space, **(shape | (space or {}))),
        air_handler=air_handler,
        targets=(humidity_limit(),) if targets is None else targets,
        costs=replace(base.costs, installation=terms),
        catalog=Catalog("catalog", "USD", True, units),
        **changes,
    )


@dataclass(frozen=True, eq=False)
class Run:
    """A prepared site and one design's year."""

    prepared: Prepared
    install: tuple[Install, ...]
    year: HourlyYear

    def column(self, place: int) -> FloatArray:
        return self.year.response[:, place]

    def group(self, place: int = 0) -> UnitHours:
        return self.year.groups[place]


def prepare_quickly(site: Site) -> Prepared:
    """Prepare with the site's bare prices; units whose rows are the shipped ones are not fitted again."""
    costs = site.costs
    known = fitted()
    units = site.catalog.units
    ready = tuple(known[unit.model] for unit in units if unit.model in known)
    whole = None
    if [one.unit.ratings for one in ready] == [unit.ratings for unit in units]:
        whole = ready
    return prepare(site=site, electricity=flat(costs.electricity), gas=flat(costs.gas), fitted=whole)


def run(site: Site, *install: Install) -> Run:
    prepared = prepare_quickly(site)
    ordered = lead_order(prepared=prepared, install=install)
    return Run(prepared, ordered, simulate_hours(prepared=prepared, install=ordered))


def at(year: HourlyYear, place: int, hour: int = LATE) -> float:
    """One column of the response in one hour."""
    return float(year.response[hour, place])
