"""What a joule costs in each hour, and what a yearly cost is worth over the study.

The year's simulation multiplies its hourly energy with these prices; every hour has a price of its own, so
prices that change by time of day or season need no change there. A charge on the month's peak is not of this
kind and does not belong here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.inputs.site import HOURS, Costs, FloatArray, Site
from selector.money.factors import escalating_present_value, uniform_present_value


@dataclass(frozen=True, slots=True, eq=False)
class EnergyPrices:
    """Today's price of energy in every hour."""

    electricity: FloatArray  # (8760,) currency/J
    gas: FloatArray  # (8760,) currency/J


@dataclass(frozen=True, slots=True)
class PresentValueFactors:
    """Present value over the study of one unit of money a year, at today's prices."""

    electricity: float  # year
    gas: float  # year
    maintenance: float  # year


def prices(*, site: Site) -> EnergyPrices:
    """Prices of electricity and gas in every hour of the year.

    Args: site, with its costs.
    Returns: `EnergyPrices`, arrays of shape (8760,) [currency/J].
    Raises: ValueError where a price is negative: an hour that earns money would break the rule that costs so
        far are a lower bound of the year's.
    """
    for name, price in (("electricity", site.costs.electricity), ("gas", site.costs.gas)):
        if not price >= 0.0:
            raise ValueError(
                f"{site.file}: costs.{name}: got {price:g} {site.costs.currency}/J; allowed: 0 or more"
            )
    return EnergyPrices(
        electricity=np.full(HOURS, site.costs.electricity), gas=np.full(HOURS, site.costs.gas)
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
