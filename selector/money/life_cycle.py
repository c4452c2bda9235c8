"""Life-cycle cost: everything that a design costs over the study, in today's money.

First cost today; energy, maintenance, replacements and what is left at the end fall at the ends of their years.
Energy rises from today's price by its escalation, everything else keeps today's price. A unit is bought again
whenever its service life ends before the study does; its installation stays. At the end of the study the last
unit is worth its price times the share of its service life that is left; installation is worth nothing then.
Source: ASTM E917, Standard Practice for Measuring Life-Cycle Costs of Buildings and Building Systems; NIST
Handbook 135, Life-Cycle Costing Manual.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from selector.inputs.site import Costs, Site, Unit
from selector.money.energy_prices import present_value_factors
from selector.money.factors import capital_recovery, single_present_value
from selector.money.installation import owner_price


@dataclass(frozen=True, slots=True)
class YearOfCosts:
    """What falls in one year, in today's prices; year 0 is today."""

    year: int
    first: float  # currency
    electricity: float
    gas: float
    maintenance: float
    replacement: float
    residual: float  # 0 or negative, in the last year
    total: float
    discount_factor: float
    present_value: float


@dataclass(frozen=True, slots=True)
class LifeCycle:
    """Present values over the study, and the years that they are made of."""

    first: float  # currency, as all of them
    electricity: float
    gas: float
    maintenance: float
    replacement: float
    residual: float  # 0 or negative
    total: float  # the life-cycle cost
    annualised: float  # currency/year, the total as equal yearly amounts
    years: tuple[YearOfCosts, ...]


def replacements(*, service_life: float, study_period: int) -> tuple[tuple[int, ...], float]:
    """When a unit is bought again, and how much of the last one's life is left at the end.

    Args: service_life [year]; study_period [year].
    Returns: years in which units are bought again, each the year in which a service life ends; share [-] of
        the last unit's service life left at the end of the study, 0 to 1.
    Raises: ValueError where the service life is not positive.
    """
    if not service_life > 0.0:
        raise ValueError(f"service life is {service_life:g} years; it has to be above 0")
    lives = max(1, math.ceil(study_period / service_life - 1e-9))
    years = tuple(math.ceil(number * service_life - 1e-9) for number in range(1, lives))
    left = (lives * service_life - study_period) / service_life
    return years, min(1.0, max(0.0, left))


def per_unit_present_value(*, site: Site, unit: Unit) -> float:
    """Present value of what one unit costs beside its first cost and its energy.

    Args: site, with its costs; unit.
    Returns: maintenance and replacements, less what is left at the end [currency]; can be negative.
    Source: ASTM E917; NIST Handbook 135.
    """
    costs = site.costs
    years, left = replacements(service_life=unit.service_life, study_period=costs.study_period)
    again = sum(single_present_value(rate=costs.discount_rate, year=year) for year in years)
    end = left * single_present_value(rate=costs.discount_rate, year=costs.study_period)
    upkeep = unit.maintenance * present_value_factors(costs=costs).maintenance
    return upkeep + owner_price(costs=costs, unit=unit) * (again - end)


def life_cycle_of_amounts(
    *,
    first: float,
    electricity: float,
    gas: float,
    maintenance: float,
    bought_again: tuple[tuple[int, float], ...],
    residual: float,
    costs: Costs,
) -> LifeCycle:
    """Life-cycle cost of given amounts, with its years.

    Args: first [currency]; electricity, gas and maintenance [currency/year] at today's prices; bought_again,
        pairs of year and amount [currency]; residual [currency], positive, worth left at the end; costs.
    Returns: `LifeCycle` [currency]; its years add up to its total.
    Source: ASTM E917; NIST Handbook 135.
    """
    rate, period = costs.discount_rate, costs.study_period
    again: dict[int, float] = {}
    for year, amount in bought_again:
        if not 1 <= year <= period:
            raise ValueError(f"replacement in year {year}; allowed: 1 to {period}")
        again[year] = again.get(year, 0.0) + amount
    rows = [YearOfCosts(0, first, 0.0, 0.0, 0.0, 0.0, 0.0, first, 1.0, first)]
    for year in range(1, period + 1):
        power = electricity * (1.0 + costs.electricity_escalation) ** year
        fuel = gas * (1.0 + costs.gas_escalation) ** year
        replaced = again.get(year, 0.0)
        left = -residual if year == period else 0.0
        total = power + fuel + maintenance + replaced + left
        factor = single_present_value(rate=rate, year=year)
        rows.append(
            YearOfCosts(year, 0.0, power, fuel, maintenance, replaced, left, total, factor, total * factor)
        )
    factors = present_value_factors(costs=costs)
    parts = (
        first,
        electricity * factors.electricity,
        gas * factors.gas,
        maintenance * factors.maintenance,
        sum(row.replacement * row.discount_factor for row in rows),
        rows[-1].residual * rows[-1].discount_factor,
    )
    total = sum(parts)
    return LifeCycle(*parts, total, total * capital_recovery(rate=rate, years=period), tuple(rows))


def life_cycle_cost(
    *,
    first: float,
    electricity: float,
    gas: float,
    maintenance: float,
    units: tuple[tuple[Unit, int], ...],
    costs: Costs,
    others: tuple[tuple[float, float], ...] = (),
) -> LifeCycle:
    """Life-cycle cost of a design.

    Args: first [currency]; electricity and gas [currency/year] at today's prices, of the whole site;
        maintenance [currency/year], of bought and existing units together; units, bought ones with their
        counts; costs; others, price [currency] and service life [year] of what is bought and is no unit.
    Returns: `LifeCycle` [currency].
    Source: ASTM E917; NIST Handbook 135.
    """
    bought_again: list[tuple[int, float]] = []
    residual = 0.0
    for unit, count in units:
        years, left = replacements(service_life=unit.service_life, study_period=costs.study_period)
        price = owner_price(costs=costs, unit=unit)
        bought_again.extend((year, count * price) for year in years)
        residual += count * price * left
    for price, life in others:
        years, left = replacements(service_life=life, study_period=costs.study_period)
        bought_again.extend((year, price) for year in years)
        residual += price * left
    return life_cycle_of_amounts(
        first=first,
        electricity=electricity,
        gas=gas,
        maintenance=maintenance,
        bought_again=tuple(bought_again),
        residual=residual,
        costs=costs,
    )
