"""Why an option stands where it stands, in one plain line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from selector.decide.evaluate import Evaluation
from selector.decide.limits import target_of
from selector.money.life_cycle import LifeCycle

SAME = 0.5  # currency: what differs by less is the same when shown in whole units
MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
DRIVERS = ("first cost", "electricity", "gas", "maintenance", "replacement")


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """What a reason is made from."""

    name: str
    with_units: bool  # it installs or changes something
    evaluation: Evaluation  # levelled
    life_cycle: LifeCycle
    months_above: tuple[int, ...]  # (12,) hours above, of the limit with the least left


def most_in(*, months: Sequence[int]) -> str:
    """Name the month with most hours above.

    Args: months (12,), hours of each.
    Returns: as "in July" where all are in one month, else "most in July"; "" where there are none.
    """
    total, most = sum(months), max(months)
    if total == 0:
        return ""
    month = MONTH_NAMES[list(months).index(most)]
    return f"in {month}" if most == total else f"most in {month}"


def reasons(*, ranked: Sequence[Standing], currency: str, years: int) -> tuple[str, ...]:
    """Say of each option why it stands where it stands.

    Args: ranked, options in their order, those that keep every limit first; currency; years, of the study.
    Returns: a line for each, in that order.
    """
    rivals = [one.evaluation.costs for one in ranked if one.with_units]
    there = [one.evaluation.costs.annual_operating for one in ranked if not one.with_units]
    found = []
    for place, one in enumerate(ranked):
        words = ""
        if one.with_units and len(rivals) > 1:
            if _is_least(one.evaluation.costs.first, [costs.first for costs in rivals]):
                words = "cheapest first, "
            elif _is_least(
                one.evaluation.costs.annual_operating, [costs.annual_operating for costs in rivals]
            ):
                cheaper = any(cost < one.evaluation.costs.annual_operating for cost in there)
                words = f"cheapest to run{' after the existing system' if cheaper else ''}, "
        if not one.evaluation.feasible:
            words += "; ".join(_failing(one))
        elif place == 0:
            words += "lowest life-cycle cost of those that keep every limit"
        else:
            words += _dearer(one, ranked[0], currency, years)
        found.append(words)
    return tuple(found)


def _is_least(cost: float, costs: Sequence[float]) -> bool:
    """Whether it is less than every other of several."""
    return cost == min(costs) and sum(1 for other in costs if other - cost < SAME) == 1


def _dearer(one: Standing, best: Standing, currency: str, years: int) -> str:
    extra = one.life_cycle.total - best.life_cycle.total
    if abs(extra) < SAME:
        return f"costs the same as {best.name}"
    mine, other = one.life_cycle, best.life_cycle
    parts = {
        "first cost": mine.first - other.first,
        "electricity": mine.electricity - other.electricity,
        "gas": mine.gas - other.gas,
        "maintenance": mine.maintenance - other.maintenance,
        "replacement": mine.replacement + mine.residual - other.replacement - other.residual,
    }
    driver = max(DRIVERS, key=lambda name: parts[name])
    return f"{extra:,.0f} {currency} dearer than {best.name} over {years} years: more {driver}"


def _failing(one: Standing) -> list[str]:
    """What an option fails, humidity first."""
    evaluation = one.evaluation
    words = []
    worst = evaluation.worst_limit
    if worst.hours_above > worst.allowed:
        where = f' of "{worst.name}"' if len(evaluation.limits) > 1 else ""
        when = most_in(months=one.months_above)
        words.append(f"fails {worst.hours_above:,} hours{where}, {when} ({worst.allowed:,.0f} allowed)")
    for limit in evaluation.broken:
        if target_of(limit.limit) is not None:
            continue
        name = limit.limit
        if limit.unit == "h":
            words.append(f"{name}: {limit.got:,.0f} ({limit.allowed:,.0f} allowed)")
        elif name.startswith("arrangements: "):
            words.append(f"{name.split()[1]} is not an arrangement that the site allows")
        else:
            words.append(f"breaks the limit on {name}")
    return words
