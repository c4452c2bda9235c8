"""The utility bills of a year under a tariff, line by line and month by month.

What a design costs is the bill with it less the bill of the building's other load alone: the fixed charge is paid
either way and cancels, a block that the other load has used up is not the design's, and a peak of the other load that
the design does not raise costs it nothing.

The year is periodic: the ratchet of January looks back on the December of the same year, so the eleven months before
any month are all the others. Demand is the mean power of an hour; a meter that takes the mean of 15 or 30 minutes
reads as much or more. Months are those of the calendar.
Units: energy J, power W, money in the site's currency; months (12,), hours (8760,).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from selector.inputs.calendar import DAYS_IN_MONTH
from selector.inputs.site import Costs, FloatArray
from selector.inputs.tariff import Block, DemandCharge, ElectricityTariff, GasTariff, Tariff

HOUR = 3600.0  # s
FIRST_HOURS = np.concatenate([[0], np.cumsum(DAYS_IN_MONTH)[:-1]]) * 24  # of each month

Fuel = Literal["electricity", "gas"]
Kind = Literal["energy", "demand", "fixed", "tax", "carbon"]


@dataclass(frozen=True, slots=True)
class BillLine:
    """One line of a bill: what was counted, at what rate; amount = quantity x rate in every month."""

    fuel: Fuel
    kind: Kind
    name: str  # of the period, charge or block
    block: int  # of the period's or fuel's blocks, from 1; 0 where there is only one
    unit: str  # of the quantity: J, W, month, kg, or the currency that is taxed
    rate: float  # currency by unit
    quantities: tuple[float, ...]  # (12,)
    amounts: tuple[float, ...]  # (12,) currency
    total: float  # currency, of the year


@dataclass(frozen=True, slots=True)
class Bill:
    """A year's bills for both fuels."""

    lines: tuple[BillLine, ...]
    electricity: float  # currency a year, carbon included
    gas: float  # currency a year, carbon included
    peaks: tuple[float, ...]  # (12,) W, highest hour of each month, whatever is billed


@dataclass(frozen=True, slots=True)
class DesignBill:
    """What a design adds to the bills."""

    whole: Bill  # with the design
    other: Bill  # of the building's other load alone
    electricity: float  # currency a year: the difference
    gas: float  # currency a year: the difference


def month_sums(values: FloatArray) -> FloatArray:
    """Add hours up by month.

    Args: values (8760,), of any unit.
    Returns: sums (12,), of the same unit.
    """
    return np.add.reduceat(values, FIRST_HOURS)


def month_peaks(values: FloatArray) -> FloatArray:
    """Find the highest hour of each month.

    Args: values (8760,), of any unit.
    Returns: maxima (12,), of the same unit.
    """
    return np.maximum.reduceat(values, FIRST_HOURS)


def in_blocks(*, blocks: tuple[Block, ...], energy: FloatArray) -> tuple[FloatArray, ...]:
    """Share energy out over blocks, each from where the one before it ends.

    Args: blocks, limits rising; energy (12,) [J] of each month.
    Returns: for each block its energy (12,) [J].
    """
    parts = []
    start = 0.0
    for block in blocks:
        parts.append(np.clip(energy, start, block.up_to) - start)
        start = block.up_to
    return tuple(parts)


def billed_demand(*, charge: DemandCharge, power: FloatArray) -> FloatArray:
    """Demand that a charge bills, with its ratchet and minimum.

    Args: charge; power (8760,) [W], mean of each hour.
    Returns: billed demand (12,) [W]; 0 in months without the charge. A month is billed at least the ratchet's share
        of the highest demand billed in the other eleven, so far as the ratchet looks back on them.
    """
    measured = month_peaks(np.where(charge.hours, power, 0.0))
    billed = np.where(charge.months, np.maximum(measured, charge.minimum), 0.0)
    # the highest month that the ratchet sees bills itself, and no share of it exceeds it: one pass settles all
    seen = np.where(charge.ratchet_months, billed, 0.0)
    others = np.array([np.delete(seen, month).max() for month in range(12)])
    return np.where(charge.months, np.maximum(billed, charge.ratchet * others), 0.0)


def _line(
    fuel: Fuel, kind: Kind, name: str, block: int, unit: str, rate: float, quantities: FloatArray
) -> BillLine:
    amounts = quantities * rate
    return BillLine(
        fuel,
        kind,
        name,
        block,
        unit,
        rate,
        tuple(quantities.tolist()),
        tuple(amounts.tolist()),
        amounts.sum(),
    )


def _energy_lines(fuel: Fuel, name: str, blocks: tuple[Block, ...], energy: FloatArray) -> list[BillLine]:
    parts = in_blocks(blocks=blocks, energy=energy)
    return [
        _line(fuel, "energy", name, place if len(blocks) > 1 else 0, "J", block.price, part)
        for place, (block, part) in enumerate(zip(blocks, parts, strict=True), start=1)
    ]


def _closing_lines(
    fuel: Fuel, lines: list[BillLine], terms: ElectricityTariff | GasTariff, carbon: FloatArray, price: float
) -> list[BillLine]:
    """Fixed charge, tax on all before it, and carbon, which is not taxed."""
    lines.append(_line(fuel, "fixed", "fixed charge", 0, "month", terms.fixed, np.ones(12)))
    taxed = np.sum([line.amounts for line in lines], axis=0)
    lines.append(_line(fuel, "tax", "tax", 0, "currency", terms.tax, taxed))
    lines.append(_line(fuel, "carbon", "carbon", 0, "kg", price, carbon))
    return lines


def bill(
    *,
    tariff: Tariff,
    electricity: FloatArray,
    other: FloatArray,
    gas: FloatArray,
    carbon_electricity: float = 0.0,
    carbon_gas: float = 0.0,
    carbon_price: float = 0.0,
) -> Bill:
    """Work out a year's bills.

    Args: tariff; electricity (8760,) [J] of what is looked at; other (8760,) [J], electricity of the building's other
        uses; gas (8760,) [J]; carbon_electricity and carbon_gas [kg/J]; carbon_price [currency/kg], not taxed.
    Returns: `Bill`; lines of a charge or block that is there but counts nothing are kept.
    """
    total = electricity + other
    terms = tariff.electricity
    lines: list[BillLine] = []
    for period in terms.energy:
        within = month_sums(np.where(period.hours, total, 0.0))
        lines += _energy_lines("electricity", period.name, period.blocks, within)
    for charge in terms.demand:
        billed = billed_demand(charge=charge, power=total / HOUR)
        lines.append(_line("electricity", "demand", charge.name, 0, "W", charge.price, billed))
    carbon = month_sums(total) * carbon_electricity
    lines = _closing_lines("electricity", lines, terms, carbon, carbon_price)
    burnt = month_sums(gas)
    of_gas = _energy_lines("gas", "gas", tariff.gas.blocks, burnt)
    of_gas = _closing_lines("gas", of_gas, tariff.gas, burnt * carbon_gas, carbon_price)
    return Bill(
        lines=(*lines, *of_gas),
        electricity=_sum(lines),
        gas=_sum(of_gas),
        peaks=tuple((month_peaks(total) / HOUR).tolist()),
    )


def _sum(lines: Iterable[BillLine]) -> float:
    return float(sum(line.total for line in lines))


def design_bill(*, costs: Costs, electricity: FloatArray, gas: FloatArray) -> DesignBill:
    """What a design adds to the bills: those with it, less those of the other load alone.

    Args: costs, with a tariff; electricity and gas (8760,) [J] that the design and the system that it works with buy.
    Returns: `DesignBill`.
    Raises: ValueError where the costs have no tariff.
    """
    if costs.tariff is None:
        raise ValueError("a bill takes a tariff; these costs have flat prices")
    nothing = np.zeros(electricity.size)
    other = nothing if costs.other_load is None else costs.other_load * HOUR

    def priced(bought: FloatArray, burnt: FloatArray) -> Bill:
        assert costs.tariff is not None
        return bill(
            tariff=costs.tariff,
            electricity=bought,
            other=other,
            gas=burnt,
            carbon_electricity=costs.carbon_electricity,
            carbon_gas=costs.carbon_gas,
            carbon_price=costs.carbon_price,
        )

    whole, alone = priced(electricity, gas), priced(nothing, nothing)
    return DesignBill(
        whole=whole,
        other=alone,
        electricity=whole.electricity - alone.electricity,
        gas=whole.gas - alone.gas,
    )
