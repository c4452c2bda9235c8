"""Present-value factors: what an amount in a later year is worth today.

Yearly amounts fall at the end of their year. Rates are real, as all prices are today's prices.
Source of all formulas: ASTM E917, Standard Practice for Measuring Life-Cycle Costs of Buildings and Building
Systems; NIST Handbook 135, Life-Cycle Costing Manual.
"""

from __future__ import annotations


def single_present_value(*, rate: float, year: float) -> float:
    """Present value of 1 at the end of a year (SPV).

    Args: rate [1/year], discount rate; year [year].
    Returns: factor [-], (1 + d)^-n.
    """
    return float((1.0 + rate) ** -year)


def escalating_present_value(*, rate: float, escalation: float, years: int) -> float:
    """Present value of a yearly amount that rises at a steady rate from today's price (UPV*).

    Args: rate [1/year], discount rate; escalation [1/year], of the price; years [year].
    Returns: factor [year], the sum of ((1 + e) / (1 + d))^t over t = 1 to n; n where both rates are equal.
    Today's price is that of year 0: the amount in year 1 has risen once.
    """
    growth = (1.0 + escalation) / (1.0 + rate)
    return sum(growth**year for year in range(1, years + 1))


def uniform_present_value(*, rate: float, years: int) -> float:
    """Present value of 1 at the end of every year (UPV).

    Args: rate [1/year], discount rate; years [year].
    Returns: factor [year], (1 - (1 + d)^-n) / d; n at no discount.
    """
    return escalating_present_value(rate=rate, escalation=0.0, years=years)


def capital_recovery(*, rate: float, years: int) -> float:
    """Yearly amount that repays 1 over the years (UCR).

    Args: rate [1/year], discount rate; years [year], at least 1.
    Returns: factor [1/year], 1 / UPV.
    Raises: ValueError where there is no year to repay in.
    """
    if years < 1:
        raise ValueError(f"capital recovery over {years} years; it takes at least 1")
    return 1.0 / uniform_present_value(rate=rate, years=years)


def nominal_rate(*, rate: float, inflation: float) -> float:
    """Turn a real rate into one in each year's own money.

    Args: rate [1/year], real; inflation [1/year], general.
    Returns: nominal rate [1/year], (1 + d) (1 + I) - 1.
    """
    return (1.0 + rate) * (1.0 + inflation) - 1.0
