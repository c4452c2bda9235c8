"""Options that are no units beside a choice: each simulated in full, counted apart from the designs of units.

An option stands alone here, without new units; options together with units are not searched.
Money in the site's currency.
"""

from __future__ import annotations

from dataclasses import dataclass

from selector.decide.choose import warm_hours_allowed
from selector.decide.compare import judge_option
from selector.decide.options import Option, options_of, prepare_options
from selector.decide.results import Choice
from selector.physics.prepare import Prepared


@dataclass(frozen=True, slots=True, eq=False)
class OptionBeside:
    """One option against the best design of units."""

    option: Option
    feasible: bool
    broken: tuple[str, ...]  # limits that it breaks
    first: float  # currency
    annual_operating: float  # currency a year
    life_cycle: float  # currency
    hours_above: int
    beats: (
        bool  # it keeps every limit at a lower life-cycle cost than the best design, or where there is none
    )


def options_beside(*, prepared: Prepared, choice: Choice) -> tuple[OptionBeside, ...]:
    """Simulate the options that the site lets take part in its choice.

    Args: prepared; choice, of the same site.
    Returns: one `OptionBeside` each, those that keep every limit first, by life-cycle cost; none where the site does
        not ask for it.
    """
    if not prepared.site.limits.options:
        return ()
    options = options_of(site=prepared.site)
    warm = warm_hours_allowed(prepared=prepared, existing=choice.existing)
    best = None if choice.best is None else choice.best.costs.life_cycle
    found = []
    for option, own in zip(options, prepare_options(prepared=prepared, options=options), strict=True):
        one = judge_option(option=option, prepared=own, warm_allowed=warm)
        costs = one.costs
        found.append(
            OptionBeside(
                option=option,
                feasible=one.feasible,
                broken=tuple(limit.limit for limit in one.broken),
                first=costs.first,
                annual_operating=costs.annual_operating,
                life_cycle=costs.life_cycle,
                hours_above=one.hours_above,
                beats=one.feasible and (best is None or costs.life_cycle < best),
            )
        )
    return tuple(sorted(found, key=lambda one: (not one.feasible, one.life_cycle)))
