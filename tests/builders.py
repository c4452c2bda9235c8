"""An invented site with nothing in it, for tests that need a site but not its file.

Weather is constant, prices and units are invented. Each function takes what a test wants otherwise.
"""

from __future__ import annotations

import numpy as np

from selector.inputs.site import (
    ARRANGEMENTS,
    HOURS,
    Catalog,
    Costs,
    Gain,
    Heating,
    HumidityTarget,
    Install,
    Installation,
    Limits,
    RatingRow,
    Site,
    Space,
    SpaceCooling,
    Unit,
    Weather,
)


def flat(value: float) -> np.ndarray:
    return np.full(HOURS, value)


def make_weather(*, dry_bulb: float = 25.0, ratio: float = 0.012, sun: float = 0.0) -> Weather:
    return Weather(
        source="invented, constant",
        kind="synthetic",
        pressure=flat(101325.0),
        dry_bulb=flat(dry_bulb),
        humidity_ratio=flat(ratio),
        global_horizontal=flat(sun),
        elevation=0.0,
        first_weekday=0,
        hours_filled=0,
        notes=(),
        design_days=(),
    )


def make_unit(
    model: str = "compressor-60",
    *,
    price: float = 4000.0,
    service_life: float = 10.0,
    maintenance: float = 200.0,
) -> Unit:
    return Unit(
        model=model,
        technology="refrigerant",
        airflow=0.3,
        fan_static=125.0,
        voltage=208.0,
        phases=1,
        current=8.0,
        price=price,
        service_life=service_life,
        maintenance=maintenance,
        sound=55.0,
        length=1.0,
        width=0.6,
        height=0.6,
        weight=80.0,
        minimum_dry_bulb=5.0,
        maximum_dry_bulb=38.0,
        reactivation_airflow=0.0,
        reactivation_air="none",
        reactivation_energy="none",
        cycling_loss=0.0,
        ratings=(RatingRow(26.7, 0.6, 60.0 / 86400.0, 1200.0, 0.0),),
    )


def make_costs(
    *,
    electricity: float = 4.0e-8,
    gas: float = 1.0e-8,
    discount_rate: float = 0.05,
    study_period: int = 15,
    electricity_escalation: float = 0.0,
    gas_escalation: float = 0.0,
) -> Costs:
    return Costs(
        currency="USD",
        electricity=electricity,
        gas=gas,
        discount_rate=discount_rate,
        study_period=study_period,
        electricity_escalation=electricity_escalation,
        gas_escalation=gas_escalation,
        installation={
            arrangement: Installation(1000.0 + 100.0 * place, 500.0 + 10.0 * place, 6.0, 5.0, 0.5)
            for place, arrangement in enumerate(ARRANGEMENTS)
        },
    )


def make_site(
    *,
    weather: Weather | None = None,
    gains: tuple[Gain, ...] = (),
    solar_aperture: float = 0.0,
    costs: Costs | None = None,
    units: tuple[Unit, ...] | None = None,
    existing_units: tuple[Install, ...] = (),
) -> Site:
    return Site(
        name="empty room",
        file="empty.toml",
        profile="hall",
        display_units="SI",
        weather=weather or make_weather(),
        space=Space(
            floor_area=100.0,
            ceiling_height=3.0,
            heat_loss=100.0,
            solar_aperture=solar_aperture,
            infiltration=0.25 / 3600.0,
            exhaust_airflow=0.0,
            moisture_buffer=10.0,
            thermal_mass=1.0e7,
            cooling_setpoint=flat(25.0),
            heating_setpoint=flat(20.0),
            occupied_heating_setpoint=20.0,
            heating=Heating("electric", 1.0, None),
            cooling=SpaceCooling("none", 3.0, None),
        ),
        occupied=np.ones(HOURS, bool),
        gains=gains,
        air_handler=None,
        targets=(HumidityTarget("limit", "relative-humidity", 0.6, 0.03, np.ones(HOURS, bool), 0.0),),
        costs=costs or make_costs(),
        limits=Limits(
            arrangements=ARRANGEMENTS,
            max_units=6,
            max_per_model=6,
            max_sizes=2,
            max_arrangements=1,
            spare_units=0,
            extra_hours_too_warm=None,
            first_cost=None,
            supply_voltage=None,
            phases=None,
            electrical_current=None,
            sound=None,
            work_years=200.0,
        ),
        existing_units=existing_units,
        catalog=Catalog("catalog", "USD", True, units or (make_unit(),)),
        assumptions=(),
        notes=(),
    )
