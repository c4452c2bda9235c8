"""What a joule costs in each hour, and what a yearly cost is worth over the study.

The year's simulation multiplies its hourly energy with these prices; every hour has a price of its own. Under a
tariff they are a lower bound of what a joule more costs in that hour, since blocks, demand and ratchet depend on other
hours too; what a whole year then costs is worked out by `tariff`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.inputs.site import HOURS, Costs, FloatArray, Site
from selector.money.factors import escalating_present_value, uniform_present_value
from selector.money.tariff import DesignBill, design_bill
from selector.money.tariff_bounds import certain_prices

SECONDS = 3600.0  # of an hour


@dataclass(frozen=True, slots=True, eq=False)
class EnergyPrices:
    """Today's price of energy in every hour, or under a tariff the least that it can be."""

    electricity: FloatArray  # (8760,) currency/J
    gas: FloatArray  # (8760,) currency/J


@dataclass(frozen=True, slots=True)
class YearCost:
    """A year's energy, in money, carbon and peak."""

    electricity: float  # currency a year
    gas: float  # currency a year
    bill: DesignBill | None  # None where both fuels have one flat price
    carbon_electricity: float  # kg of carbon dioxide a year
    carbon_gas: float  # kg a year
    peak: float  # W, highest hour of the whole building


@dataclass(frozen=True, slots=True)
class PresentValueFactors:
    """Present value over the study of one unit of money a year, at today's prices."""

    electricity: float  # year
    gas: float  # year
    maintenance: float  # year


def prices(*, site: Site) -> EnergyPrices:
    """Prices of electricity and gas in every hour of the year, a price of carbon included.

    Args: site, with its costs.
    Returns: `EnergyPrices`, arrays of shape (8760,) [currency/J]; under a tariff the least that a joule more costs.
    Raises: ValueError where a price is negative: an hour that earns money would break the rule that costs so
        far are a lower bound of the year's.
    """
    costs = site.costs
    if costs.tariff is not None:
        electricity, gas = certain_prices(costs=costs)
        return EnergyPrices(electricity=electricity, gas=gas)
    for name, price in (("electricity", costs.electricity), ("gas", costs.gas)):
        if not price >= 0.0:
            raise ValueError(
                f"{site.file}: costs.{name}: got {price:g} {costs.currency}/J; allowed: 0 or more"
            )
    return EnergyPrices(
        electricity=np.full(HOURS, costs.electricity + costs.carbon_electricity * costs.carbon_price),
        gas=np.full(HOURS, costs.gas + costs.carbon_gas * costs.carbon_price),
    )


def year_cost(*, site: Site, electricity: FloatArray, gas: FloatArray) -> YearCost:
    """What the energy of a whole year costs.

    Args: site; electricity and gas (8760,) [J] that the design and the system that it works with buy in each hour.
    Returns: `YearCost`; under a tariff what they add to the bills of the building's other load.
    """
    costs = site.costs
    other = np.zeros(HOURS) if costs.other_load is None else costs.other_load
    peak = float((electricity / SECONDS + other).max())
    carbon = costs.carbon_electricity * float(electricity.sum()), costs.carbon_gas * float(gas.sum())
    if costs.tariff is not None:
        added = design_bill(costs=costs, electricity=electricity, gas=gas)
        return YearCost(added.electricity, added.gas, added, *carbon, peak)
    price = prices(site=site)
    return YearCost(
        float((price.electricity * electricity).sum()), float((price.gas * gas).sum()), None, *carbon, peak
    )


def present_value_factors(*, costs: Costs) -> PresentValueFactors:
    """Factors that turn a yearly cost at today's prices into its present value over the study.

    Args: costs, with discount rate [1/year], escalations [1/year] and study period [year].
    Returns: `PresentValueFactors` [year]. Linear, so an hour's cost times the factor is that hour's share.
    Source: ASTM E917; NIST Handbook 135: UPV* for energy, UPV for maintenance.
    """
    rate, years = costs.discount_rate, costs.study_period
    return PresentValueFactors(
        electricity=escalating_present_value(rate=rate, escalation=costs.electricity_escalation, years=years),
        gas=escalating_present_value(rate=rate, escalation=costs.gas_escalation, years=years),
        maintenance=uniform_present_value(rate=rate, years=years),
    )
