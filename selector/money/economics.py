"""Measures of one option against a base case: what it saves, and when it has paid for itself.

Savings are the base case's energy and maintenance less the option's; added investment is the option's first cost
and replacements, less what is left at the end, beyond the base case's. Yearly amounts fall at the end of their year.
Source: ASTM E917 (life-cycle cost), E964 (savings-to-investment ratio), E1057 (internal rate of return), E1074 (net
benefits) and E1121 (payback); NIST Handbook 135, Life-Cycle Costing Manual.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from selector.money.factors import nominal_rate
from selector.money.life_cycle import LifeCycle


@dataclass(frozen=True, slots=True)
class Measures:
    """An option against a base case, in today's money; None where a measure is not defined."""

    life_cycle_cost: float  # currency, of the option
    base_life_cycle_cost: float  # currency
    net_savings: float  # currency, present value
    savings: float  # currency, present value of energy and maintenance saved
    added_investment: float  # currency, present value of first cost, replacement and residual value added
    savings_to_investment: float | None  # None where no investment is added
    adjusted_rate_of_return: (
        float | None
    )  # real, a year; None where no investment is added or nothing is saved
    nominal_rate_of_return: float | None  # the same with inflation
    simple_payback: float | None  # years; None where it never pays back within the study
    discounted_payback: float | None  # years


def adjusted_rate_of_return(*, ratio: float, rate: float, years: int) -> float:
    """Yearly return of an investment whose savings are put aside at the discount rate until the study ends.

    Args: ratio [-], savings to investment, 0 or more; rate [1/year], discount rate; years [year], of the study.
    Returns: adjusted internal rate of return [1/year].
    Raises: ValueError where the ratio is negative or there is no year.
    Source: ASTM E1057; NIST Handbook 135: (1 + d) SIR^(1/n) - 1.
    """
    if ratio < 0.0 or years < 1:
        raise ValueError(f"return of a ratio of {ratio:g} over {years} years; both have to be positive")
    return float((1.0 + rate) * ratio ** (1.0 / years) - 1.0)


def payback(*, flows: Sequence[float], rate: float) -> float | None:
    """Years until savings have made up for what they cost, and stay ahead until the end.

    Args: flows [currency], option better than base case by, at the ends of years 0, 1, 2, ...; rate [1/year],
        discount rate, 0 for the simple payback.
    Returns: years; within a year savings count as spread evenly over it; 0 where the option is never behind; None
        where it ends behind.
    Source: ASTM E1121; NIST Handbook 135: the earliest year in which cumulative savings reach the added investment. A
        later replacement may put the option behind again: then the last such year counts.
    """
    ahead: list[float] = []
    total = 0.0
    for year, flow in enumerate(flows):
        total += flow * (1.0 + rate) ** -year
        ahead.append(total)
    tiny = 1e-12 * sum(abs(flow) for flow in flows)
    if not ahead or ahead[-1] < -tiny:
        return None
    behind = [year for year, value in enumerate(ahead) if value < -tiny]
    if not behind:
        return 0.0
    year = behind[-1]
    short = (
        -ahead[year] * (1.0 + rate) ** year / flows[year + 1]
    )  # share of next year's savings, at this year's end
    if rate == 0.0:
        return year + min(1.0, short)
    return year + min(1.0, -math.log1p(-short * rate) / math.log1p(rate))


def measures(*, base: LifeCycle, option: LifeCycle, rate: float, inflation: float = 0.0) -> Measures:
    """Measures of an option against a base case.

    Args: base and option, over the same years; rate [1/year], real discount rate; inflation [1/year].
    Returns: `Measures`, money in today's.
    Raises: ValueError where the two are over different studies.
    Source: ASTM E917, E964, E1057, E1074, E1121; NIST Handbook 135.
    """
    years = len(base.years) - 1
    if len(option.years) - 1 != years:
        raise ValueError(
            f"study of {len(option.years) - 1} years against one of {years}; they have to be the same"
        )
    saved = (base.electricity - option.electricity) + (base.gas - option.gas)
    saved += base.maintenance - option.maintenance
    added = (option.first - base.first) + (option.replacement - base.replacement)
    added += option.residual - base.residual
    ratio = saved / added if added > 0.0 else None
    gain = (
        None if ratio is None or ratio < 0.0 else adjusted_rate_of_return(ratio=ratio, rate=rate, years=years)
    )
    flows = [one.total - other.total for one, other in zip(base.years, option.years, strict=True)]
    return Measures(
        life_cycle_cost=option.total,
        base_life_cycle_cost=base.total,
        net_savings=base.total - option.total,
        savings=saved,
        added_investment=added,
        savings_to_investment=ratio,
        adjusted_rate_of_return=gain,
        nominal_rate_of_return=None if gain is None else nominal_rate(rate=gain, inflation=inflation),
        simple_payback=payback(flows=flows, rate=0.0),
        discounted_payback=payback(flows=flows, rate=rate),
    )
