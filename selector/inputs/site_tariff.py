"""What energy and carbon cost: a flat price for each fuel, or its tariff, and the building's other electric load."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.inputs.calendar import DAYS, month_of_hour, name_of_hour
from selector.inputs.resolve import PLACEHOLDER, Resolver
from selector.inputs.schema import CostsTable
from selector.inputs.schema_tariff import (
    BlockTable,
    DemandTable,
    ElectricityTariffTable,
    EnergyPeriodTable,
    GasTariffTable,
    OtherLoadTable,
    TariffTable,
    WindowTable,
)
from selector.inputs.site import HOURS, BoolArray, FloatArray
from selector.inputs.site_schedules import Schedules
from selector.inputs.tariff import Block, DemandCharge, ElectricityTariff, EnergyPeriod, GasTariff, Tariff

ELECTRICITY, GAS = "costs.tariff.electricity", "costs.tariff.gas"
WINDOW = ("months", "weekday", "saturday", "sunday")
DAY_WORDS = ("a weekday", "a Saturday", "a Sunday or holiday")
HOURLY_DEMAND = (
    "demand is the mean of an hour: a meter that takes the mean of 15 or 30 minutes reads as much or more"
)
NO_OTHER_LOAD = "no costs.other_load is given: demand and blocks of the tariff are those of this system alone"


@dataclass(frozen=True, slots=True)
class EnergyCosts:
    """What `Costs` takes over."""

    electricity: float  # currency/J
    gas: float  # currency/J
    tariff: Tariff | None
    other_load: FloatArray | None  # (8760,) W
    carbon_electricity: float  # kg/J
    carbon_gas: float  # kg/J
    carbon_price: float  # currency/kg


def build_energy_prices(*, table: CostsTable, resolver: Resolver, schedules: Schedules) -> EnergyCosts:
    """Build the prices of energy and carbon.

    Args: table, [costs]; resolver; schedules, for holidays and the other load.
    Returns: `EnergyCosts`, SI; no tariff where the file has none.
    """
    tariff = table.tariff or TariffTable()
    resolver.only_one("costs", {"electricity": table.electricity, "tariff.electricity": tariff.electricity})
    resolver.only_one("costs", {"gas": table.gas, "tariff.gas": tariff.gas})
    if tariff.electricity is None and not resolver.is_broken(ELECTRICITY):
        price = resolver.number("costs.electricity", table.electricity)
        electricity = _flat_electricity(price)
    else:
        electricity = _electricity(tariff.electricity or ElectricityTariffTable(), resolver, schedules)
    if tariff.gas is None and not resolver.is_broken(GAS):
        gas = GasTariff((Block(math.inf, resolver.number("costs.gas", table.gas)),), 0.0, 0.0)
    else:
        gas = _gas(tariff.gas or GasTariffTable(), resolver)
    load = _other_load(table.other_load, resolver, schedules)
    if table.tariff is not None and not tariff.model_fields_set and not resolver.is_broken("costs.tariff"):
        resolver.fault("costs.tariff", "an empty table", "a table electricity, a table gas, or both")
    blocks = any(len(period.blocks) > 1 for period in electricity.energy)
    if electricity.demand:
        resolver.notes.append(HOURLY_DEMAND)
    if load is None and (electricity.demand or blocks):
        resolver.notes.append(NO_OTHER_LOAD)
    least = np.zeros(HOURS)
    for period in electricity.energy:
        least[period.hours] = min(block.price for block in period.blocks)
    return EnergyCosts(
        electricity=_flat_price(electricity) or float(least.mean()) * (1.0 + electricity.tax),
        gas=min(block.price for block in gas.blocks) * (1.0 + gas.tax),
        tariff=Tariff(electricity, gas) if table.tariff is not None else None,
        other_load=load,
        carbon_electricity=resolver.number("costs.carbon_electricity", table.carbon_electricity),
        carbon_gas=resolver.number("costs.carbon_gas", table.carbon_gas),
        carbon_price=resolver.optional("costs.carbon_price", table.carbon_price) or 0.0,
    )


def _flat_electricity(price: float) -> ElectricityTariff:
    period = EnergyPeriod("all hours", np.ones(HOURS, np.bool_), (Block(math.inf, price),))
    return ElectricityTariff((period,), (), 0.0, 0.0)


def _flat_price(electricity: ElectricityTariff) -> float | None:
    """The one price of all hours, to the bit, where there is only one."""
    prices = {block.price for period in electricity.energy for block in period.blocks}
    return prices.pop() if len(prices) == 1 and electricity.tax == 0.0 else None


def _electricity(
    table: ElectricityTariffTable, resolver: Resolver, schedules: Schedules
) -> ElectricityTariff:
    kinds = schedules.day_kinds()
    at = f"{ELECTRICITY}.energy"
    periods: list[EnergyPeriod] = []
    if not table.energy:
        resolver.missing(at, f"at least one period, as [[{at}]]")
    for place, entry in enumerate(table.energy or ()):
        where = f"{at}[{place}]"
        periods.append(
            EnergyPeriod(
                name=_name(entry, where, f"period {place + 1}", [one.name for one in periods], resolver),
                hours=_window(entry, where, kinds, resolver),
                blocks=_blocks(entry, where, at, resolver),
            )
        )
    _cover(table.energy or (), periods, kinds, resolver)
    charges: list[DemandCharge] = []
    for place, demand in enumerate(table.demand or ()):
        where = f"{ELECTRICITY}.demand[{place}]"
        name = _name(demand, where, f"demand {place + 1}", [one.name for one in charges], resolver)
        charges.append(_demand(demand, where, name, kinds, resolver))
    return ElectricityTariff(
        energy=tuple(periods) or _flat_electricity(PLACEHOLDER).energy,
        demand=tuple(charges),
        fixed=resolver.optional(f"{ELECTRICITY}.fixed", table.fixed) or 0.0,
        tax=resolver.optional(f"{ELECTRICITY}.tax", table.tax) or 0.0,
    )


def _gas(table: GasTariffTable, resolver: Resolver) -> GasTariff:
    return GasTariff(
        blocks=_blocks(table, GAS, GAS, resolver),
        fixed=resolver.optional(f"{GAS}.fixed", table.fixed) or 0.0,
        tax=resolver.optional(f"{GAS}.tax", table.tax) or 0.0,
    )


def _name(table: WindowTable, where: str, default: str, taken: list[str], resolver: Resolver) -> str:
    name = table.name or default
    if name in taken:
        resolver.fault(f"{where}.name", f'"{name}" a second time', "a name of its own")
    return name


def _window(table: WindowTable, where: str, kinds: np.ndarray, resolver: Resolver) -> BoolArray:
    """Hours of the year in which a period or a charge holds; a day that is not named among others has none."""
    given = (table.weekday, table.saturday, table.sunday)
    broken = any(resolver.is_broken(f"{where}.{name}") for name in WINDOW)
    always = all(day is None for day in given)
    days = np.array([[always] * 24 if day is None else day for day in given], np.bool_)
    hours = days[kinds].ravel()
    if table.months is not None:
        hours = hours & np.array(table.months)[month_of_hour()]
    if not hours.any() and not broken:
        resolver.fault(where, "no hour of the year", "hours on weekday, saturday or sunday; without them all")
    return np.asarray(hours, np.bool_)


def _cover(
    tables: Sequence[EnergyPeriodTable], periods: list[EnergyPeriod], kinds: np.ndarray, resolver: Resolver
) -> None:
    """Refuse hours that two periods claim, and hours that none does, unless a period's hours are not known."""
    at = f"{ELECTRICITY}.energy"
    spoiled = [
        any(resolver.is_broken(f"{at}[{place}].{name}") for name in WINDOW) or not table.model_fields_set
        for place, table in enumerate(tables)
    ]
    for place, period in enumerate(periods):
        for other in range(place):
            both = period.hours & periods[other].hours
            if both.any() and not (spoiled[place] or spoiled[other]):
                got = f'{_hours(both, kinds)} that [{other}] "{periods[other].name}" has too'
                resolver.fault(f"{at}[{place}]", got, "periods that have no hour in common")
    left = ~np.logical_or.reduce([period.hours for period in periods]) if periods else np.zeros(HOURS, bool)
    if left.any() and not any(spoiled):
        got = f"{_hours(left, kinds)} that no period has"
        resolver.fault(at, got, "periods that have every hour of the year between them")


def _hours(hours: BoolArray, kinds: np.ndarray) -> str:
    """Say how many hours there are and which is the first."""
    first = int(np.flatnonzero(hours)[0])
    count = int(hours.sum())
    day = DAY_WORDS[kinds[first // 24 % DAYS]]
    return f"{count:,} hour{'' if count == 1 else 's'} a year (first {name_of_hour(first)}, {day})"


def _blocks(
    table: EnergyPeriodTable | GasTariffTable, where: str, key: str, resolver: Resolver
) -> tuple[Block, ...]:
    """One price, or blocks of a month's energy, each from where the last one ends."""
    chosen = resolver.only_one(where, {"price": table.price, "blocks": table.blocks})
    if chosen is None:
        if not (resolver.is_broken(f"{where}.price") or resolver.is_broken(f"{where}.blocks")):
            resolver.missing(where, "price or blocks")
        return (Block(math.inf, PLACEHOLDER),)
    if chosen == "price":
        return (Block(math.inf, resolver.number(f"{where}.price", table.price, default=f"{key}.price")),)
    entries: Sequence[BlockTable] = table.blocks or []
    if not entries:
        resolver.fault(f"{where}.blocks", "an empty list", "blocks, as [{ up_to = ..., price = ... }, ...]")
    return tuple(
        _block(entry, f"{where}.blocks", place, entries, key, resolver) for place, entry in enumerate(entries)
    ) or (Block(math.inf, PLACEHOLDER),)


def _block(
    entry: BlockTable, where: str, place: int, entries: Sequence[BlockTable], key: str, resolver: Resolver
) -> Block:
    here = f"{where}[{place}]"
    last = place + 1 == len(entries)
    price = resolver.number(f"{here}.price", entry.price, default=f"{key}.blocks.price")
    if last:
        if entry.up_to is not None:
            resolver.fault(f"{here}.up_to", "a limit of the last block", "a last block without up_to")
        return Block(math.inf, price)
    up_to = resolver.number(f"{here}.up_to", entry.up_to, default=f"{key}.blocks.up_to")
    before = entries[place - 1].up_to if place else None
    if before is not None and entry.up_to is not None and up_to <= before:
        resolver.fault(f"{here}.up_to", "no more than the block before it", "limits that rise")
    return Block(up_to, price)


def _demand(table: DemandTable, where: str, name: str, kinds: np.ndarray, resolver: Resolver) -> DemandCharge:
    key = f"{ELECTRICITY}.demand"
    months = np.array(table.months if table.months is not None else (True,) * 12)
    back = months if table.ratchet_months is None else np.array(table.ratchet_months)
    if table.ratchet_months is not None and not resolver.is_broken(f"{where}.months"):
        if (back & ~months).any():
            resolver.fault(f"{where}.ratchet_months", "a month without this charge", "months of the charge")
        if table.ratchet is None and not resolver.is_broken(f"{where}.ratchet"):
            resolver.missing(f"{where}.ratchet", "the share that the ratchet_months are for, as 80 %")
    given = {"ratchet": table.ratchet, "minimum": table.minimum}
    values = {
        each: 0.0 if value is None else resolver.number(f"{where}.{each}", value, default=f"{key}.{each}")
        for each, value in given.items()
    }
    return DemandCharge(
        name=name,
        hours=_window(table, where, kinds, resolver),
        months=months,
        price=resolver.number(f"{where}.price", table.price, default=f"{key}.price"),
        ratchet=values["ratchet"],
        ratchet_months=back,
        minimum=values["minimum"],
    )


def _other_load(
    tables: list[OtherLoadTable] | None, resolver: Resolver, schedules: Schedules
) -> FloatArray | None:
    """Add up the building's other electric load [W]."""
    if not tables:
        return None
    total = np.zeros(HOURS)
    for place, table in enumerate(tables):
        where, key = f"costs.other_load[{place}]", "costs.other_load"
        power = resolver.number(f"{where}.power", table.power, default=f"{key}.power")
        name = resolver.word(f"{where}.schedule", table.schedule, default=f"{key}.schedule")
        if name:
            total += power * schedules.get(name, where=f"{where}.schedule")
    return total
