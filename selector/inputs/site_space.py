"""The space: envelope, air changes, storage and set points, with the helpers that stand in for them."""

from __future__ import annotations

import numpy as np

from selector.inputs.defaults import defaults_file
from selector.inputs.quantities import parse
from selector.inputs.resolve import PLACEHOLDER, Resolver, checked
from selector.inputs.schema import HeatingTable, SpaceTable
from selector.inputs.site import BoolArray, Heating, Space, SpaceCooling, Weather

AIR_HEAT = 1.2 * 1006.0  # J/(m³ K): standard air of 1.2 kg/m³, ASHRAE Handbook Fundamentals 2017, ch. 1
BLOWER_DOOR_RATIO = (
    20.0  # air changes at 50 Pa over those in use: Sherman, Energy and Buildings 10 (1987) 81-86
)
HOUR = 3600.0  # s


def build_space(
    *,
    table: SpaceTable,
    resolver: Resolver,
    occupied: BoolArray,
    weather: Weather | None,
    has_air_handler: bool,
    heating: Heating | None,
    mean_outdoor_airflow: float,
) -> Space | None:
    """Build the space.

    Args: table, as validated; resolver; occupied (8760,); weather, None where it was refused; has_air_handler;
    heating, the air handler's, by whose efficiency a gas bill is read; mean_outdoor_airflow [m³/s] over the year.
    Returns: the space in SI, or None where something it cannot do without is missing.
    """
    area = resolver.number("space.floor_area", table.floor_area)
    height = resolver.number("space.ceiling_height", table.ceiling_height)
    if table.floor_area is not None:
        resolver.scales["floor_area"] = area
    volume = area * height
    resolver.scales.setdefault("outdoor_airflow", 0.0)
    infiltration = _infiltration(table, resolver, volume)
    space_heating = Heating("none", 1.0, None)
    if not has_air_handler:
        space_heating = build_heating(table=table.heating, resolver=resolver, where="space.heating")
    heat_loss = _heat_loss(
        table,
        resolver,
        weather,
        efficiency=(heating or space_heating).efficiency,
        air_changes=infiltration * volume + mean_outdoor_airflow,
    )
    if has_air_handler:
        for name, given in (("heating", table.heating), ("cooling", table.cooling)):
            if given is not None:
                resolver.notes.append(f"[space.{name}] is not used: the air handler serves the space")
        if table.schedule is not None:
            resolver.fault("space.schedule", f'"{table.schedule}"', "air_handler.schedule, as there is one")
    cooling = _cooling(table, resolver, has_air_handler)
    cooling_setpoint = resolver.number("space.cooling_setpoint", table.cooling_setpoint)
    heating_setpoint = resolver.number("space.heating_setpoint", table.heating_setpoint)
    resolver.scales["cooling_setpoint"] = cooling_setpoint
    resolver.scales["heating_setpoint"] = heating_setpoint
    unoccupied_cooling = resolver.number(
        "space.unoccupied_cooling_setpoint", table.unoccupied_cooling_setpoint
    )
    unoccupied_heating = resolver.number(
        "space.unoccupied_heating_setpoint", table.unoccupied_heating_setpoint
    )
    for prefix, warm, cold in (
        ("", cooling_setpoint, heating_setpoint),
        ("unoccupied_", unoccupied_cooling, unoccupied_heating),
    ):
        keys = (f"space.{prefix}heating_setpoint", f"space.{prefix}cooling_setpoint")
        if prefix and (cold, warm) == (heating_setpoint, cooling_setpoint):
            continue  # no set-back: the fault is the occupied pair's
        if cold >= warm and not any(resolver.is_broken(key) for key in keys):
            resolver.fault(keys[0], f"{cold:.1f} degC", f"below {keys[1]}, {warm:.1f} degC")
    return Space(
        floor_area=area,
        ceiling_height=height,
        heat_loss=heat_loss,
        solar_aperture=resolver.number("space.solar_aperture", table.solar_aperture),
        infiltration=infiltration,
        exhaust_airflow=_exhaust(table, resolver, has_air_handler),
        moisture_buffer=_moisture_buffer(table, resolver),
        thermal_mass=_thermal_mass(table, resolver, area),
        cooling_setpoint=np.where(occupied, cooling_setpoint, unoccupied_cooling),
        heating_setpoint=np.where(occupied, heating_setpoint, unoccupied_heating),
        occupied_heating_setpoint=heating_setpoint,
        heating=space_heating,
        cooling=cooling,
    )


def _exhaust(table: SpaceTable, resolver: Resolver, has_air_handler: bool) -> float:
    """Exhaust while ventilation is open; without an air handler nothing is, and all that comes in is infiltration."""
    if has_air_handler:
        return resolver.number("space.exhaust_airflow", table.exhaust_airflow)
    if table.exhaust_airflow is not None:
        resolver.notes.append(
            "space.exhaust_airflow is not used: there is no air handler; count in space.infiltration what it draws in"
        )
    return 0.0


def build_heating(*, table: HeatingTable | None, resolver: Resolver, where: str) -> Heating:
    """Build a heating source.

    Args: table, or None where the file has none; resolver; where, its key.
    Returns: source, efficiency and capacity [W].
    """
    table = table or HeatingTable()
    source = resolver.word(f"{where}.source", table.source)
    if source == "none":
        for name in ("efficiency", "capacity"):
            if getattr(table, name) is not None:
                resolver.fault(f"{where}.{name}", "a value", f'nothing, as {where}.source is "none"')
        return Heating("none", 1.0, None)
    efficiency = resolver.number(
        f"{where}.efficiency", table.efficiency, default=f"heating.efficiency.{source or 'gas'}"
    )
    if source in ("gas", "electric") and table.efficiency is not None and efficiency > 1.1:
        resolver.fault(f"{where}.efficiency", f"{efficiency:g}", f"at most 1.1 for {source} heating")
    capacity = resolver.optional(f"{where}.capacity", table.capacity)
    return Heating(checked(source), efficiency, capacity)


def _cooling(table: SpaceTable, resolver: Resolver, has_air_handler: bool) -> SpaceCooling:
    if has_air_handler:
        return SpaceCooling("none", 1.0, None)
    given = table.cooling
    source = resolver.word("space.cooling.source", given.source if given else None)
    if source == "electric":
        return SpaceCooling(
            source="electric",
            cop=resolver.number("space.cooling.cop", given.cop if given else None),
            capacity=resolver.optional("space.cooling.capacity", given.capacity if given else None),
        )
    for name in ("cop", "capacity"):
        if given is not None and getattr(given, name) is not None:
            resolver.fault(f"space.cooling.{name}", "a value", 'nothing, as space.cooling.source is "none"')
    return SpaceCooling("none", 1.0, None)


def _infiltration(table: SpaceTable, resolver: Resolver, volume: float) -> float:
    given = {"infiltration": table.infiltration, "airtightness": table.airtightness}
    if resolver.only_one("space", given) == "airtightness" and table.airtightness is not None:
        dimension, tightness = table.airtightness
        resolver.given("space.airtightness", tightness, dimension)
        if dimension == "airflow":
            tightness /= volume
        return resolver.helped(
            "space.infiltration",
            tightness / BLOWER_DOOR_RATIO,
            low=tightness / 30.0,
            high=tightness / 10.0,
            source="air changes at 50 Pa over 20: Sherman, Energy and Buildings 10 (1987) 81-86",
        )
    return resolver.number("space.infiltration", table.infiltration)


def _heat_loss(
    table: SpaceTable, resolver: Resolver, weather: Weather | None, *, efficiency: float, air_changes: float
) -> float:
    given = {"heat_loss": table.heat_loss, "envelope": table.envelope, "gas_bills": table.gas_bills}
    chosen = resolver.only_one("space", given)
    if chosen == "envelope" and table.envelope is not None:
        return _from_envelope(table, resolver)
    if chosen == "gas_bills" and table.gas_bills is not None:
        return _from_gas_bills(table, resolver, weather, efficiency, air_changes)
    return resolver.number("space.heat_loss", table.heat_loss)


def _from_envelope(table: SpaceTable, resolver: Resolver) -> float:
    total = 0.0
    parts = table.envelope or []
    if not parts:
        resolver.fault("space.envelope", "an empty list", "at least one part with area and u_value")
    for number, part in enumerate(parts):
        where = f"space.envelope[{number}]"
        area = resolver.number(f"{where}.area", part.area, default="space.envelope.area")
        u_value = resolver.number(f"{where}.u_value", part.u_value, default="space.envelope.u_value")
        total += area * u_value
    return resolver.helped("space.heat_loss", total, low=None, high=None, source="sum of area times U-value")


def _from_gas_bills(
    table: SpaceTable, resolver: Resolver, weather: Weather | None, efficiency: float, air_changes: float
) -> float:
    """Work the heat loss back from a year's gas: variable-base degree hours, less what air changes take."""
    bills = table.gas_bills
    assert bills is not None
    where = "space.gas_bills"
    annual = resolver.number(f"{where}.annual", bills.annual)
    other = resolver.number(f"{where}.other_uses", bills.other_uses)
    balance = resolver.number(f"{where}.balance_temperature", bills.balance_temperature)
    if weather is None or bills.annual is None:
        return PLACEHOLDER

    def conductance(base: float) -> float:
        degree_hours = float(np.maximum(base - weather.dry_bulb, 0.0).sum())
        if degree_hours == 0.0:
            return 0.0
        return (annual - other) * efficiency / (degree_hours * HOUR) - AIR_HEAT * air_changes

    result = conductance(balance)
    if other >= annual:
        resolver.fault(f"{where}.other_uses", "as much as the whole bill or more", "less than annual")
    elif result <= 0.0:
        resolver.fault(
            f"{where}.annual",
            f"gas that leaves {result:.0f} W/K for the envelope",
            "more gas than ventilation and infiltration need by themselves; or heat_loss",
        )
    return resolver.helped(
        "space.heat_loss",
        max(result, 0.0),
        low=max(conductance(balance + 2.5), 0.0),
        high=max(conductance(balance - 2.5), 0.0),
        source="gas bills over degree hours, less air changes: ASHRAE Handbook Fundamentals 2017, ch. 19",
    )


def _moisture_buffer(table: SpaceTable, resolver: Resolver) -> float:
    given = {"moisture_buffer": table.moisture_buffer, "contents": table.contents}
    if resolver.only_one("space", given) == "contents" and table.contents is not None:
        entry = defaults_file()["contents"][table.contents]
        resolver.given("space.contents", table.contents, "count")
        return resolver.helped(
            "space.moisture_buffer",
            float(entry["value"]),
            low=float(entry["low"]),
            high=float(entry["high"]),
            source=f"contents {table.contents}: common practice, no source",
        )
    return resolver.number("space.moisture_buffer", table.moisture_buffer)


def _thermal_mass(table: SpaceTable, resolver: Resolver, area: float) -> float:
    given = {"thermal_mass": table.thermal_mass, "construction": table.construction}
    if resolver.only_one("space", given) == "construction" and table.construction is not None:
        entry = defaults_file()["construction"][table.construction]
        value, low, high = (
            area * parse(entry[name], "heat_capacity_per_area") for name in ("value", "low", "high")
        )
        resolver.given("space.construction", table.construction, "count")
        source = f"construction {table.construction}: EN ISO 13790:2008, table 12, value from memory"
        return resolver.helped("space.thermal_mass", value, low=low, high=high, source=source)
    return resolver.number("space.thermal_mass", table.thermal_mass)
