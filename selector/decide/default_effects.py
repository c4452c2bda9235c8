"""How much each default matters: one at a time at its low and its high, the existing system simulated again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.inputs.errors import InputFaults
from selector.inputs.site import Assumption, Site
from selector.inputs.site_file import read_site
from selector.physics.prepare import Prepared

# what a new unit costs, what is allowed and how money is discounted: nothing that the existing system's year shows
NOT_SIMULATED = (
    "costs.installation.",
    "costs.price_book",
    "costs.location_factor",
    "costs.inflation",
    "costs.discount_rate",
    "costs.study_period",
    "costs.electricity_escalation",
    "costs.gas_escalation",
    "humidity_target.allowed_hours_above",
    "limits.",
)


@dataclass(frozen=True, slots=True)
class Outcome:
    """The existing system with one value changed."""

    hours_above: int
    annual_operating: float  # currency a year


@dataclass(frozen=True, slots=True)
class DefaultEffect:
    """What one default does to the existing system's year; None where it was not, or could not be, simulated."""

    assumption: Assumption
    low: Outcome | None
    high: Outcome | None
    hours_spread: float  # h a year, between the least and the most of low, high and the value used
    cost_spread: float  # currency a year


@dataclass(frozen=True, slots=True, eq=False)
class DefaultEffects:
    """All defaults that stand, those that matter most first."""

    base: Evaluation  # the existing system with all defaults
    effects: tuple[DefaultEffect, ...]
    simulated: int  # years


def is_simulated(key: str) -> bool:
    """Whether a value shows in the existing system's year.

    Args: key, as in the site file. Returns: false for prices of new units, limits and discounting.
    """
    plain = key.replace("humidity_target[0]", "humidity_target")
    return not plain.startswith(NOT_SIMULATED)


def default_effects(
    *,
    prepared: Prepared,
    assumptions: tuple[Assumption, ...],
    progress: Callable[[str, float], None] | None = None,
) -> DefaultEffects:
    """Change defaults one at a time and see what the existing system's year becomes.

    Args: prepared; assumptions, those to change; progress, called with the key and the share done.
    Returns: `DefaultEffects`, sorted by hours above, then by yearly cost, then as given. A default without low and high
        is a word or a choice and is not changed.
    """
    site = prepared.site
    base = evaluate(prepared=prepared, install=())
    found: list[DefaultEffect] = []
    simulated = 1
    for place, one in enumerate(assumptions):
        if progress is not None:
            progress(one.key, place / len(assumptions))
        outcomes: list[Outcome | None] = []
        for value in (one.low, one.high):
            outcome = None
            if value is not None and value != one.value and is_simulated(one.key):
                outcome = _outcome(prepared, site, one.key, value)
                simulated += 1
            outcomes.append(outcome)
        known = [
            Outcome(base.hours_above, base.costs.annual_operating),
            *(o for o in outcomes if o is not None),
        ]
        hours = [outcome.hours_above for outcome in known]
        costs = [outcome.annual_operating for outcome in known]
        found.append(
            DefaultEffect(one, outcomes[0], outcomes[1], max(hours) - min(hours), max(costs) - min(costs))
        )
    found.sort(key=lambda effect: (-effect.hours_spread, -round(effect.cost_spread, 6)))
    return DefaultEffects(base=base, effects=tuple(found), simulated=simulated)


def _outcome(prepared: Prepared, site: Site, key: str, value: float) -> Outcome | None:
    """The existing system with one default changed; None where the site then contradicts itself."""
    try:
        changed = read_site(path=Path(site.file), instead={key: value}, like=site)
    except InputFaults:
        return None
    result = evaluate(prepared=prepare_site(site=changed, fitted=prepared.fitted), install=())
    return Outcome(result.hours_above, result.costs.annual_operating)
