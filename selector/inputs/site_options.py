"""Options that are no units: what each changes in the air handler, in the space or in the outdoor air.

An option holds its changes as fields of `AirHandler` and `Space`, so that it also fits a site of which something else
was changed meanwhile.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from selector.inputs.defaults import defaults_file, outdoor_air_rates
from selector.inputs.resolve import PLACEHOLDER, Resolver, checked, known_word
from selector.inputs.schema_options import OptionTable
from selector.inputs.site import AirHandler, BoolArray, RecoveryWheel, Reheat, SiteOption, Space

_COMMON = ("name", "kind", "first_cost", "maintenance", "life")
KEYS: Mapping[str, tuple[str, ...]] = {
    "overcooling-reheat": ("source", "efficiency", "capacity"),
    "recovery-wheel": (
        "sensible_effectiveness",
        "latent_effectiveness",
        "exhaust_airflow",
        "supply_fan_power",
        "exhaust_fan_power",
        "bypass_above",
        "frost_limit",
    ),
    "unoccupied": ("unoccupied_fan", "unoccupied_cooling_setpoint", "unoccupied_heating_setpoint"),
    "outdoor-air": ("outdoor_airflow", "exhaust_airflow", "ventilation_use", "ventilation_effectiveness"),
    "economizer": ("economizer", "economizer_dry_bulb", "economizer_enthalpy"),
}
Changes = tuple[dict[str, Any], dict[str, Any]]  # fields of the air handler, and of the space
RELATIVE = 1e-9  # airflows that differ by less are the same


def build_options(
    *,
    tables: Sequence[OptionTable] | None,
    resolver: Resolver,
    air_handler: AirHandler | None,
    space: Space | None,
    occupied: BoolArray,
    people: float,
) -> tuple[SiteOption, ...]:
    """Build the options that are no units.

    Args: tables; resolver, of what does not bear on the site itself; air_handler and space, None where there is none
        or it was refused; occupied (8760,); people, the number that the gains count.
    Returns: the options, in SI; those with a fault are left out.
    """
    found: list[SiteOption] = []
    names: list[str] = []
    for place, table in enumerate(tables or ()):
        where = f"options[{place}]"
        if resolver.is_broken(where) and not table.model_fields_set:
            continue
        before = len(resolver.faults)
        if table.name is None:
            resolver.missing(f"{where}.name", "a name to call it by")
        elif table.name in names:
            resolver.fault(f"{where}.name", f'"{table.name}" a second time', "a name of its own for each")
        names.append(table.name or "")
        kind = table.kind
        if kind is None:
            resolver.missing(f"{where}.kind", resolver.allowed("options.kind"))
            continue
        for name in sorted(table.model_fields_set):
            if name not in (*_COMMON, *KEYS[kind]):
                allowed = f"a key of this kind: {', '.join((*_COMMON[2:], *KEYS[kind]))}"
                resolver.fault(f"{where}.{name}", f"a value, with kind {kind}", allowed)
        first = _number(table.first_cost, where, "first_cost", resolver)
        upkeep = _number(table.maintenance, where, "maintenance", resolver)
        life = resolver.number(f"{where}.life", table.life, default="options.life")
        changes: Changes = ({}, {})
        if air_handler is None or space is None:
            if not resolver.is_broken("air_handler") and space is not None:
                resolver.fault(f"{where}.kind", kind, "no such option at a site without air_handler")
        elif kind == "overcooling-reheat":
            changes = _reheat(table, where, resolver, air_handler)
        elif kind == "recovery-wheel":
            changes = _wheel(table, where, resolver, air_handler, space)
        elif kind == "unoccupied":
            changes = _unoccupied(table, where, resolver, space, occupied)
        elif kind == "outdoor-air":
            changes = _outdoor_air(table, where, resolver, air_handler, people, space)
        else:
            changes = _economizer(table, where, resolver)
        if len(resolver.faults) == before:
            found.append(
                SiteOption(
                    name=table.name or "",
                    kind=checked(kind),
                    first_cost=first,
                    maintenance=upkeep,
                    life=life,
                    air_handler=changes[0],
                    space=changes[1],
                    assumptions=tuple(
                        one for one in resolver.assumptions() if one.key.startswith(f"{where}.")
                    ),
                )
            )
    return tuple(found)


def _number(value: float | None, where: str, name: str, resolver: Resolver) -> float:
    """Hand on a figure that the option cannot do without."""
    if value is None:
        resolver.missing(f"{where}.{name}", resolver.allowed(f"options.{name}"))
        return PLACEHOLDER
    return value


def _reheat(table: OptionTable, where: str, resolver: Resolver, handler: AirHandler) -> Changes:
    """Reheat by the source given, else by what heats the air handler."""
    heating = handler.heating
    source, efficiency, capacity = table.source, table.efficiency, table.capacity
    if source is None:
        if heating.source == "none":
            resolver.missing(f"{where}.source", f"{resolver.allowed('options.source')}: nothing heats now")
            return {}, {}
        source = heating.source
        efficiency = heating.efficiency if efficiency is None else efficiency
        capacity = heating.capacity if capacity is None else capacity
    used = resolver.number(f"{where}.efficiency", efficiency, default=f"heating.efficiency.{source}")
    if source in ("gas", "electric") and used > 1.1:
        resolver.fault(f"{where}.efficiency", f"{used:g}", f"at most 1.1 for {source} reheat")
    return {"reheat": Reheat(checked(source), used, capacity)}, {}


def _wheel(table: OptionTable, where: str, resolver: Resolver, handler: AirHandler, space: Space) -> Changes:
    """A wheel on all outdoor air, and the exhaust that passes it."""
    exhaust = space.exhaust_airflow if table.exhaust_airflow is None else table.exhaust_airflow
    if exhaust <= 0.0:
        resolver.missing(
            f"{where}.exhaust_airflow", "an airflow above 0: this site has no exhaust of its own"
        )
    if exhaust > handler.outdoor_airflow * (1.0 + RELATIVE) and table.exhaust_airflow is not None:
        resolver.fault(
            f"{where}.exhaust_airflow",
            f"{exhaust:.4g} m3/s",
            f"at most the outdoor airflow, {handler.outdoor_airflow:.4g} m3/s",
        )
    bypass = resolver.number(f"{where}.bypass_above", table.bypass_above, default="options.bypass_above")
    frost = resolver.number(f"{where}.frost_limit", table.frost_limit, default="options.frost_limit")
    if frost >= bypass and not resolver.is_broken(f"{where}.frost_limit"):
        resolver.fault(f"{where}.frost_limit", f"{frost:.1f} degC", f"below bypass_above, {bypass:.1f} degC")
    wheel = RecoveryWheel(
        sensible_effectiveness=_number(
            table.sensible_effectiveness, where, "sensible_effectiveness", resolver
        ),
        latent_effectiveness=_number(table.latent_effectiveness, where, "latent_effectiveness", resolver),
        exhaust_airflow=exhaust,
        supply_fan_power=_number(table.supply_fan_power, where, "supply_fan_power", resolver),
        exhaust_fan_power=_number(table.exhaust_fan_power, where, "exhaust_fan_power", resolver),
        bypass_above=bypass,
        frost_limit=frost,
    )
    # exhaust that the wheel needs beyond what the building has leaves the building, too
    return {"wheel": wheel}, {"exhaust_airflow": max(space.exhaust_airflow, exhaust)}


def _unoccupied(
    table: OptionTable, where: str, resolver: Resolver, space: Space, occupied: BoolArray
) -> Changes:
    """Another fan or other set points while nobody is there."""
    given = [name for name in KEYS["unoccupied"] if getattr(table, name) is not None]
    if not given and not any(resolver.is_broken(f"{where}.{name}") for name in KEYS["unoccupied"]):
        resolver.missing(where, f"at least one of {', '.join(KEYS['unoccupied'])}")
    handler: dict[str, Any] = {}
    changed: dict[str, Any] = {}
    if table.unoccupied_fan is not None:
        handler["unoccupied_fan"] = table.unoccupied_fan
    for name in ("cooling_setpoint", "heating_setpoint"):
        value = getattr(table, f"unoccupied_{name}")
        if value is not None:
            changed[name] = np.where(occupied, getattr(space, name), value)
    warm = changed.get("cooling_setpoint", space.cooling_setpoint)
    cold = changed.get("heating_setpoint", space.heating_setpoint)
    here = ~occupied & (cold >= warm)
    if changed and here.any():
        at = int(np.argmax(here))
        resolver.fault(
            f"{where}.unoccupied_{next(iter(changed))}",
            f"heating to {cold[at]:.1f} degC and cooling to {warm[at]:.1f} degC",
            "a heating set point below the cooling set point",
        )
    return handler, changed


def _outdoor_air(
    table: OptionTable,
    where: str,
    resolver: Resolver,
    handler: AirHandler,
    people: float,
    space: Space,
) -> Changes:
    """Less outdoor air, never below the ventilation standard: ASHRAE 62.1-2019, eq. 6-1 and 6-2."""
    use, floor_area = table.ventilation_use, space.floor_area
    uses = defaults_file()["uses"]
    if use is None:
        allowed = ", ".join(f'"{name}"' for name in uses)
        resolver.missing(
            f"{where}.ventilation_use", f"{allowed}: the standard's outdoor airflow is the least"
        )
        return {}, {}
    if not known_word(resolver, f"{where}.ventilation_use", use, uses):
        return {}, {}
    effectiveness = resolver.number(
        f"{where}.ventilation_effectiveness",
        table.ventilation_effectiveness,
        default="air_handler.ventilation_effectiveness",
    )
    by_person, by_area = outdoor_air_rates(use=use)[0]
    least = (people * by_person + floor_area * by_area) / effectiveness
    wanted = least if table.outdoor_airflow is None else table.outdoor_airflow
    now = handler.outdoor_airflow
    if wanted < least * (1.0 - RELATIVE):
        resolver.fault(
            f"{where}.outdoor_airflow",
            f"{wanted:.4g} m3/s",
            f"at least the ventilation standard's {least:.4g} m3/s for {people:.0f} people and {floor_area:.4g} m2",
        )
    if wanted >= now:
        key = "ventilation_use" if table.outdoor_airflow is None else "outdoor_airflow"
        resolver.fault(f"{where}.{key}", f"{wanted:.4g} m3/s", f"less than now, {now:.4g} m3/s")
    exhaust = table.exhaust_airflow
    if wanted < (space.exhaust_airflow if exhaust is None else exhaust):
        resolver.notes.append(
            f"{where}: the exhaust is more than the outdoor airflow; what lacks comes in through the envelope"
        )
    return {"outdoor_airflow": wanted}, {} if exhaust is None else {"exhaust_airflow": exhaust}


def _economizer(table: OptionTable, where: str, resolver: Resolver) -> Changes:
    """Another economizer, or another limit of it."""
    kind = table.economizer
    if kind is None:
        resolver.missing(f"{where}.economizer", resolver.allowed("options.economizer"))
        return {}, {}
    changed: dict[str, Any] = {"economizer": kind}
    for of, name in (("dry-bulb", "economizer_dry_bulb"), ("enthalpy", "economizer_enthalpy")):
        value = getattr(table, name)
        if kind == of:
            changed[name] = resolver.number(f"{where}.{name}", value, default=f"air_handler.{name}")
        elif value is not None:
            resolver.fault(f"{where}.{name}", "a limit", f'nothing, as {where}.economizer is "{kind}"')
    return changed, {}
