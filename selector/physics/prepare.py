"""The site and its units as the compiled loop takes them.

Everything that does not change from design to design is computed here once: constants, hourly arrays, the
humidistat's set points, fitted unit rows, and for each model and arrangement the airflow that is left against
the static pressure between its taps.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, get_type_hints

import numpy as np

from selector.inputs.site import (
    ARRANGEMENTS,
    HOURS,
    AirHandler,
    Arrangement,
    FloatArray,
    Install,
    Installation,
    Site,
    Unit,
)
from selector.physics.air_handler import Now, Plant
from selector.physics.arrangements import CELL, COIL_BYPASS, Group, IntArray, needs_fan
from selector.physics.coil import rate_coil
from selector.physics.ducts import diameter_at_friction, duct_pressure_drop
from selector.physics.fit import FittedUnit, fit_catalog, specific_removal
from selector.physics.gains import HourlyGains, hourly_gains, wet_table
from selector.physics.moist_air import (
    dry_air_density,
    humidity_ratio_of_dew_point,
    volume,
)
from selector.physics.part_load import TABLE_POINTS, latent_ratio_table
from selector.physics.quiet import FOUND, with_quiet
from selector.physics.step import HOUR
from selector.physics.unit import flow_fraction
from selector.physics.unit_parameters import SIZE

NEVER = 9.0  # relative humidity of a limit that is not in force
TOLERANCE = 0.0005  # an hour is above a limit from 0.05 points of relative humidity, or 0.05 K of dew point
WARM = 1.0  # K above the cooling set point from which an hour counts as too warm


@dataclass(frozen=True, slots=True)
class Connection:
    """What one unit of a model meets in one arrangement."""

    static: float  # Pa on the unit, its own duct included
    duct: float  # Pa of that
    diameter: float  # m
    flow_fraction: float


@dataclass(frozen=True, slots=True, eq=False)
class Prepared:
    """A site ready to be simulated."""

    site: Site
    plant: Any  # a record of `Plant`
    hours: Any  # (8760,) records of `Now`
    wet: FloatArray  # (8760, N, WET)
    limit_rh: FloatArray  # (L, 8760) above which an hour counts; NEVER where the limit is not in force
    limit_w: FloatArray  # (L, 8760) kg/kg, infinite where the limit is not in force
    gains: HourlyGains
    fitted: tuple[FittedUnit, ...]
    units: FloatArray  # (U, SIZE)
    lead: tuple[int, ...]  # units in lead order, best kg/kWh first
    specific: tuple[float, ...]  # kg/kWh at the rating state, (U,)
    connections: dict[tuple[int, int], Connection]  # by unit and arrangement
    first_hour: int  # at which the year starts: the driest season's first

    def __post_init__(self) -> None:
        """Find what quiet hours take anew for every table of hours, so that none is kept from other weather."""
        nothing, _ = groups_of(prepared=self, install=())
        found = with_quiet(plant=self.plant, hours=self.hours, wet=self.wet, groups=nothing)
        object.__setattr__(self, "hours", found)


def table_of(kind: type, columns: Mapping[str, Any]) -> Any:
    """Turn columns, or constants, into a table of records that the compiled loop reads by name.

    Args: kind, the class that names the fields and their types; columns, arrays of one length or numbers; rows of a
        two-dimensional one become arrays in the records.
    Returns: structured array.
    """
    kinds = _kinds_of(kind)
    fields = [(name, number, np.shape(columns[name])[1:]) for name, number in kinds.items()]
    table = np.zeros(max(len(np.atleast_1d(column)) for column in columns.values()), fields)
    for name in kinds:
        table[name] = columns[name]
    return table


@cache
def _kinds_of(kind: type) -> dict[str, type]:
    """Kind of number of each field; kept, because reading annotations took a quarter of preparing a site."""
    return {name: np.int64 if mark is int else np.float64 for name, mark in get_type_hints(kind).items()}


def _plant(site: Site, pressure: float) -> dict[str, float]:
    space = site.space
    density = float(dry_air_density(20.0, pressure))
    handler = site.air_handler
    volume_ = space.floor_area * space.ceiling_height
    return {
        "air_capacity": space.thermal_mass,
        "vapour_capacity": space.moisture_buffer * volume_ * density,
        "heat_loss": space.heat_loss,
        "air_volume_rate": space.infiltration * volume_,
        "exhaust": space.exhaust_airflow * density,
        "density": density,
        "space_heating_capacity": _capacity(space.heating.source, space.heating.capacity),
        "space_heating_is_gas": int(space.heating.source == "gas"),
        "space_heating_efficiency": space.heating.efficiency,
        "space_cooling_capacity": _capacity(space.cooling.source, space.cooling.capacity),
        "space_cooling_cop": space.cooling.cop,
        **_air_handler(handler, density),
    }


def _capacity(source: str, capacity: float | None) -> float:
    if source == "none":
        return 0.0
    return float("inf") if capacity is None else capacity


def _air_handler(handler: AirHandler | None, density: float) -> dict[str, float]:
    if handler is None:
        names = [
            n
            for n in get_type_hints(Plant)
            if n.startswith(("coil_", "economizer", "heating_", "wheel", "reheat"))
        ]
        return {
            **dict.fromkeys(names, 0.0),
            "has_air_handler": 0, "supply": 0.0, "outdoor": 0.0, "leakage": 0.0, "unoccupied_fan": 0,
            "fan_power": 0.0, "fan_after_coil": 1, "economizer": 0, "coil_kind": 0, "coil_stages": 1,
        }  # fmt: skip
    coil = handler.cooling_coil
    rating = rate_coil(
        total_capacity=coil.total_capacity,
        airflow=handler.supply_airflow,
        sensible_heat_ratio=coil.sensible_heat_ratio,
        bypass_factor=coil.bypass_factor,
    )
    water = coil.kind == "modulating-chilled-water"
    wheel, reheat = handler.wheel, handler.reheat
    return {
        "has_air_handler": 1,
        "supply": handler.supply_airflow * density,
        "outdoor": handler.outdoor_airflow * density,
        "leakage": handler.damper_leakage,
        "unoccupied_fan": ("off", "cycles", "runs").index(handler.unoccupied_fan),
        "fan_power": handler.fan_power,
        "fan_after_coil": int(handler.fan_position == "after-coil"),
        "economizer": ("none", "dry-bulb", "enthalpy").index(handler.economizer),
        "economizer_dry_bulb": handler.economizer_dry_bulb,
        "economizer_enthalpy": handler.economizer_enthalpy,
        "heating_rise": handler.heating_temperature_rise,
        "coil_kind": int(water),
        "coil_capacity": coil.total_capacity,
        "coil_surface": rating.surface,
        "coil_bypass": rating.bypass_factor,
        "coil_flow": rating.flow,
        "coil_slope": 1.0 / (rating.surface - coil.water_temperature) if water else coil.capacity_per_surface,
        "coil_outdoor_slope": 0.0 if water else coil.capacity_per_outdoor,
        "coil_cop": coil.cop,
        "coil_cop_slope": 0.0 if water else coil.cop_per_surface,
        "coil_cop_outdoor_slope": coil.cop_per_outdoor,
        "coil_lowest_outdoor": coil.lowest_outdoor,
        "coil_cycling_loss": 0.0 if water else coil.cycling_loss,
        "coil_stages": 1 if water else coil.stages,
        "coil_minimum_flow": coil.minimum_airflow * handler.supply_airflow * density,
        "heating_is_gas": int(handler.heating.source == "gas"),
        "heating_efficiency": handler.heating.efficiency,
        "heating_capacity": _capacity(handler.heating.source, handler.heating.capacity),
        "wheel": int(wheel is not None),
        "wheel_sensible": wheel.sensible_effectiveness if wheel else 0.0,
        "wheel_latent": wheel.latent_effectiveness if wheel else 0.0,
        "wheel_exhaust": wheel.exhaust_airflow * density if wheel else 0.0,
        "wheel_supply_power": wheel.supply_fan_power if wheel else 0.0,
        "wheel_exhaust_power": wheel.exhaust_fan_power if wheel else 0.0,
        "wheel_bypass_above": wheel.bypass_above if wheel else 0.0,
        "wheel_frost_limit": wheel.frost_limit if wheel else 0.0,
        "reheat": int(reheat is not None),
        "reheat_is_gas": int(reheat is not None and reheat.source == "gas"),
        "reheat_efficiency": reheat.efficiency if reheat else 1.0,
        "reheat_capacity": _capacity(reheat.source, reheat.capacity) if reheat else 0.0,
    }


def _targets(site: Site) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    count = len(site.targets)
    set_rh = np.full(HOURS, NEVER)
    set_w = np.full(HOURS, np.inf)
    limit_rh = np.full((count, HOURS), NEVER)
    limit_w = np.full((count, HOURS), np.inf)
    for row, target in enumerate(site.targets):
        here = target.hours
        if target.kind == "relative-humidity":
            set_rh[here] = np.minimum(set_rh[here], target.limit - target.band)
            limit_rh[row, here] = target.limit + TOLERANCE
        else:
            pressure = site.weather.pressure[here]
            at = np.asarray(humidity_ratio_of_dew_point(target.limit - target.band, pressure))
            set_w[here] = np.minimum(set_w[here], at)
            limit_w[row, here] = humidity_ratio_of_dew_point(target.limit + 100.0 * TOLERANCE, pressure)
    return set_rh, set_w, limit_rh, limit_w


def external_static(site: Site, arrangement: int) -> float:
    """Static pressure between the two taps of a unit, without its own duct.

    Args: site; arrangement, a code.
    Returns: pressure [Pa] at the discharge tap above that at the intake tap: the air handler's whole external static
        around it, nothing where both taps are in one duct or in the space.
    """
    if arrangement == COIL_BYPASS and site.air_handler is not None:
        return site.air_handler.external_static_pressure
    return 0.0


def connect(*, site: Site, unit: Unit, arrangement: int) -> Connection:
    """Static pressure on a unit in an arrangement, and the airflow that is left.

    Args: site; unit; arrangement, a code.
    Returns: `Connection`.
    Source: static at the discharge tap less static at the intake tap plus the unit's own duct, as `duct_pressure_drop`.
    """
    terms: Installation = site.costs.installation[ARRANGEMENTS[arrangement]]
    velocity = terms.duct_velocity
    if terms.duct_friction is not None and unit.airflow > 0.0:
        diameter = diameter_at_friction(airflow=unit.airflow, friction=terms.duct_friction)
        velocity = unit.airflow / (0.25 * math.pi * diameter**2)
    duct = duct_pressure_drop(
        airflow=unit.airflow,
        length=terms.duct_length,
        velocity=velocity,
        fittings=terms.duct_fittings,
    )
    static = external_static(site, arrangement) + duct.pressure
    return Connection(static, duct.pressure, duct.diameter, flow_fraction(unit=unit, static=static))


def driest_season(humidity_ratio: FloatArray) -> int:
    """First hour of the 60 days with the lowest mean outdoor humidity ratio, at midnight.

    Args: humidity_ratio (8760,) [kg/kg].
    Returns: hour of the year, from which the year is simulated: designs hardly differ in dry months, so that costs
        which all of them share are known by the time the wet months tell them apart.
    """
    days = humidity_ratio.reshape(-1, 24).mean(axis=1)
    doubled = np.concatenate([days, days[:59]])
    means = np.convolve(doubled, np.ones(60) / 60.0, mode="valid")
    return int(np.argmin(np.round(means, 9))) * 24  # rounded, so that equal days stay equal on any processor


def prepare(
    *,
    site: Site,
    electricity: FloatArray,
    gas: FloatArray,
    fitted: tuple[FittedUnit, ...] | None = None,
) -> Prepared:
    """Turn a site into the tables of the compiled loop.

    Args: site; electricity and gas (8760,), what the loop adds up for each joule bought [currency/J]; fitted, the
        catalogue's units where they are fitted already.
    Returns: `Prepared`.
    Raises: InputFaults where a unit cannot be fitted; ImpossibleRatingError where the coil's rating cannot be.
    """
    weather = site.weather
    pressure = float(weather.pressure.mean())
    plant = _plant(site, pressure)
    gains = hourly_gains(site=site)
    handler = site.air_handler
    if handler is not None:
        coil = handler.cooling_coil
        ventilation = handler.ventilation
        part_load = latent_ratio_table(
            wetting_time=coil.wetting_time,
            evaporation_ratio=coil.evaporation_ratio,
            cycling_rate=HOUR * coil.cycling_rate,
            time_constant=coil.time_constant,
        )
    else:
        ventilation = np.zeros(HOURS)
        part_load = np.ones(TABLE_POINTS)
    set_rh, set_w, limit_rh, limit_w = _targets(site)
    outdoor_volume = np.asarray(volume(weather.dry_bulb, weather.humidity_ratio, weather.pressure))
    hours = table_of(
        Now,
        {
            "hour": np.arange(HOURS),
            "pressure": weather.pressure,
            "outdoor_t": weather.dry_bulb,
            "outdoor_w": weather.humidity_ratio,
            "infiltration": plant["air_volume_rate"] / outdoor_volume,
            "ventilation": ventilation,
            "cooling_setpoint": site.space.cooling_setpoint,
            "heating_setpoint": site.space.heating_setpoint,
            "sensible": gains.sensible + gains.sensible_from_air,
            "vapour": gains.vapour,
            "set_rh": set_rh,
            "set_w": set_w,
            "electricity": electricity,
            "gas": gas,
            **dict.fromkeys(FOUND, 0.0),
        },
    )
    if fitted is None:
        fitted = fit_catalog(catalog=site.catalog)
    specific = tuple(specific_removal(one) for one in fitted)
    units = np.array([one.parameters for one in fitted]) if fitted else np.zeros((0, SIZE))
    connections = {
        (row, arrangement): connect(site=site, unit=unit, arrangement=arrangement)
        for row, unit in enumerate(site.catalog.units)
        for arrangement, name in enumerate(ARRANGEMENTS)
        if name in site.costs.installation  # those that the site allows or has
    }
    return Prepared(
        site=site,
        plant=table_of(Plant, {**plant, "part_load": part_load[np.newaxis]})[0],
        hours=hours,
        wet=wet_table(gains=gains),
        limit_rh=limit_rh,
        limit_w=limit_w,
        gains=gains,
        fitted=fitted,
        units=units,
        lead=tuple(sorted(range(len(fitted)), key=lambda row: (-specific[row], row))),
        specific=specific,
        connections=connections,
        first_hour=driest_season(weather.humidity_ratio),
    )


def lead_order(*, prepared: Prepared, install: tuple[Install, ...]) -> tuple[Install, ...]:
    """Sort the parts of a design as the humidistat calls them, parts of the same kind joined.

    Args: prepared; install, in any order.
    Returns: best kg/kWh first, then catalogue order, then the order of the arrangements.
    Raises: ValueError where a model is not in the catalogue.
    """
    rows = {unit.model: row for row, unit in enumerate(prepared.site.catalog.units)}
    place = {row: at for at, row in enumerate(prepared.lead)}
    joined: dict[tuple[str, Arrangement], int] = {}
    for part in install:
        if part.model not in rows:
            raise ValueError(f"got model {part.model!r}; allowed: {', '.join(rows)}")
        joined[part.model, part.arrangement] = joined.get((part.model, part.arrangement), 0) + part.count
    parts = sorted(joined, key=lambda key: (place[rows[key[0]]], ARRANGEMENTS.index(key[1])))
    return tuple(Install(model, arrangement, joined[model, arrangement]) for model, arrangement in parts)


def groups_of(*, prepared: Prepared, install: tuple[Install, ...]) -> tuple[Any, IntArray]:
    """The compiled form of a design.

    Args: prepared; install, in lead order.
    Returns: records of `Group` (G,), and counts (G,).
    """
    catalog = prepared.site.catalog.units
    rows = {unit.model: row for row, unit in enumerate(catalog)}
    row = [rows[part.model] for part in install]
    codes = [ARRANGEMENTS.index(part.arrangement) for part in install]
    chosen = [catalog[r] for r in row]
    groups = table_of(
        Group,
        {
            "unit": row,
            "arrangement": codes,
            "flow_fraction": [
                prepared.connections[r, c].flow_fraction for r, c in zip(row, codes, strict=True)
            ],
            "airflow": [unit.airflow for unit in chosen],
            "cycling_loss": [unit.cycling_loss for unit in chosen],
            "desiccant": [int(unit.technology == "desiccant") for unit in chosen],
            "reactivation": [
                unit.reactivation_airflow if unit.reactivation_air == "space" else 0.0 for unit in chosen
            ],
            "fan": [int(needs_fan(code)) for code in codes],
            "parameters": prepared.units[row],
            "running": np.zeros(len(row)),
            "cell": np.zeros((len(row), CELL)),
        },
    )
    return groups, np.array([part.count for part in install], np.int64)
