"""What is certain of a year's bills before the year is over: lower bounds that hold for every design.

Two of them. `certain_prices` knows nothing of the design: each hour at the lowest price that it can have. For designs
that are like a known one, `supporting_prices` touches its bill: demand and blocks of rising price are convex in the
load, so the plane through the known load's bill lies below the bill of every other load. A charge on the month's
peak becomes a price of the hour in which the known load peaks, less an amount that is the same for all.
Units: energy J, power W, prices currency/J, money in the site's currency; months (12,), hours (8760,).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from selector.inputs.calendar import month_of_hour
from selector.inputs.site import HOURS, Costs, FloatArray
from selector.inputs.tariff import Block, DemandCharge, Tariff
from selector.money.tariff import HOUR, billed_demand, design_bill, month_sums


@dataclass(frozen=True, slots=True, eq=False)
class SupportingPrices:
    """A plane below the bills of all loads; a year costs at least its energy at these prices and the constant."""

    electricity: FloatArray  # (8760,) currency/J
    gas: FloatArray  # (8760,) currency/J
    electricity_constant: float  # currency a year, negative or 0
    gas_constant: float  # currency a year, negative or 0


def certain_prices(*, costs: Costs) -> tuple[FloatArray, FloatArray]:
    """What a joule more costs at the least in every hour, whatever the design does in all others.

    Args: costs, with a tariff.
    Returns: electricity and gas (8760,) [currency/J]: the lowest price of the hour's period among the blocks that
        the month's other load leaves open, with tax and carbon, without demand. Each hour's energy times this price,
        added up, never exceeds what the energy adds to the bill.
    Raises: ValueError where the costs have no tariff.
    """
    tariff = _tariff(costs)
    terms = tariff.electricity
    months = month_of_hour()
    electricity = np.zeros(HOURS)
    load = _other(costs)
    for period in terms.energy:
        taken = month_sums(np.where(period.hours, load, 0.0))
        open_to = np.array([block.up_to for block in period.blocks])
        price = np.array([block.price for block in period.blocks])
        # a block is closed once the other load alone has filled it; the last never is
        least = np.where(open_to[None, :] > taken[:, None], price[None, :], np.inf).min(axis=1)
        electricity[period.hours] = least[months[period.hours]]
    electricity = electricity * (1.0 + terms.tax) + costs.carbon_electricity * costs.carbon_price
    gas = min(block.price for block in tariff.gas.blocks) * (1.0 + tariff.gas.tax)
    return electricity, np.full(HOURS, gas + costs.carbon_gas * costs.carbon_price)


def certain_beyond_prices(*, costs: Costs, at_least: FloatArray) -> float:
    """What the bill of any design holds beyond its energy at `certain_prices`, if it buys no less than this.

    Args: costs, with a tariff; at_least (8760,) [J], electricity that every design buys.
    Returns: currency a year, of demand and dearer blocks. Neither falls when a load grows in any hour, so what the
        least load pays beyond the certain prices every greater load pays too.
    Raises: ValueError where the costs have no tariff.
    """
    price, _ = certain_prices(costs=costs)
    added = design_bill(costs=costs, electricity=at_least, gas=np.zeros(at_least.size)).electricity
    return max(0.0, added - float((price * at_least).sum()))


def supporting_prices(*, costs: Costs, electricity: FloatArray, gas: FloatArray) -> SupportingPrices:
    """Find the plane below all bills that touches those of a known load.

    Args: costs, with a tariff; electricity and gas (8760,) [J] of the known load.
    Returns: `SupportingPrices`: any load adds at least its energy at these prices and the constant to the bills, and
        the known load exactly that, but for blocks whose price falls.
    Raises: ValueError where the costs have no tariff.
    """
    tariff = _tariff(costs)
    terms = tariff.electricity
    other = _other(costs)
    whole = electricity + other
    price, constant = np.zeros(HOURS), 0.0
    for period in terms.energy:
        start, known = (month_sums(np.where(period.hours, one, 0.0)) for one in (other, whole))
        lines = [_below(period.blocks, low, at) for low, at in zip(start, known, strict=True)]
        slope = np.array([line[0] for line in lines])
        price[period.hours] = slope[month_of_hour()[period.hours]]
        constant += sum(line[1] for line in lines)
    for charge in terms.demand:
        share = _peak_hours(charge, whole / HOUR) * charge.price
        before, after = (
            charge.price * float(billed_demand(charge=charge, power=one / HOUR).sum())
            for one in (other, whole)
        )
        price += share / HOUR
        constant += after - before - float((share / HOUR * electricity).sum())
        constant -= 1e-9 * after  # so that the order in which sums are added up cannot matter
    rate = 1.0 + terms.tax
    gas_lines = [_below(tariff.gas.blocks, 0.0, at) for at in month_sums(gas)]
    gas_price = np.array([line[0] for line in gas_lines])[month_of_hour()] * (1.0 + tariff.gas.tax)
    return SupportingPrices(
        electricity=price * rate + costs.carbon_electricity * costs.carbon_price,
        gas=gas_price + costs.carbon_gas * costs.carbon_price,
        electricity_constant=min(0.0, constant * rate),
        gas_constant=min(0.0, sum(line[1] for line in gas_lines) * (1.0 + tariff.gas.tax)),
    )


def _below(blocks: tuple[Block, ...], start: float, known: float) -> tuple[float, float]:
    """Line below what a month's energy beyond `start` costs, as close as can be at `known`: slope and constant.

    Where prices rise the cost is convex and the line touches it. Where they fall, it runs from corner to corner of the
    greatest convex cost below it.
    """
    corners = [(start, 0.0)]
    for block in blocks[:-1]:
        if block.up_to > start:
            at, cost = corners[-1]
            corners.append((block.up_to, cost + block.price * (block.up_to - at)))
    hull: list[tuple[float, float]] = []
    for corner in corners:
        while len(hull) > 1 and _slope(hull[-2], hull[-1]) >= _slope(hull[-1], corner):
            hull.pop()
        hull.append(corner)
    last = blocks[-1].price
    while len(hull) > 1 and _slope(hull[-2], hull[-1]) >= last:
        hull.pop()
    for here, there in zip(hull, [*hull[1:], (math.inf, math.inf)], strict=True):
        if known <= there[0]:
            slope = last if there[0] == math.inf else _slope(here, there)
            return slope, here[1] - slope * (here[0] - start)
    raise AssertionError("the last corner of the hull has no end")


def _slope(one: tuple[float, float], two: tuple[float, float]) -> float:
    return (two[1] - one[1]) / (two[0] - one[0])


def _peak_hours(charge: DemandCharge, power: FloatArray) -> FloatArray:
    """How many months' demand rises with each hour's power, at this load: (8760,), of W by W.

    A month's billed demand is the highest of several: its own highest hour, the ratchet's share of another month's, or
    the minimum. Any one of them is a lower bound for every load; at this load the highest is taken.
    """
    months = month_of_hour()
    rises = np.zeros(HOURS)
    within = np.where(charge.hours, power, -1.0)
    hour = np.array([int(np.argmax(np.where(months == month, within, -2.0))) for month in range(12)])
    peak = np.where(charge.months, np.maximum(within[hour], 0.0), 0.0)
    for month in np.flatnonzero(charge.months):
        rows = [(float(peak[month]), 1.0, month)]
        rows += [
            (charge.ratchet * float(peak[back]), charge.ratchet, back)
            for back in np.flatnonzero(charge.ratchet_months)
            if back != month
        ]
        highest, share, where = max(rows, key=lambda row: row[0])
        if highest > charge.minimum and within[hour[where]] > 0.0:
            rises[hour[where]] += share
    return rises


def _tariff(costs: Costs) -> Tariff:
    if costs.tariff is None:
        raise ValueError("prices of a tariff take a tariff; these costs have flat prices")
    return costs.tariff


def _other(costs: Costs) -> FloatArray:
    """Energy of the building's other load in each hour [J]."""
    return np.zeros(HOURS) if costs.other_load is None else costs.other_load * HOUR
