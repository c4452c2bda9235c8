"""What would change the answer: each uncertain value at its low and its high, one at a time.

At each changed value the chosen design is simulated first. Where it breaks a limit, the answer changes. Where it does
what it did before, the value does not bear on the answer. Else a few rivals are held against it, not all designs: the
runner-up, the best of the next best arrangement (of every one, and what an estimate puts first, where it is looked at
more closely), the chosen design with a unit less, and "install nothing". So a value that is said to change the answer
does; one that is not might still, through a design that was not compared.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock

from selector.decide.common_years import on_all_cores
from selector.decide.contest import Contest, Design, contest
from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.decide.results import Choice
from selector.inputs.errors import InputFaults
from selector.inputs.site import Assumption, Install
from selector.inputs.site_file import read_site
from selector.physics.coil import ImpossibleRatingError
from selector.physics.prepare import Prepared

MOST_ESTIMATED = 4  # of the designs that an estimate puts first, where it is looked at closely
RIVALS = 2  # beside those that soon break a limit, where it is not
UNMOVED = 1e-4  # of it: less is taken for nothing
HALVINGS = 6  # of the way to a value that changes the answer
# decisions about what is searched, what is shown, and what only carbon's price turns into money
NOT_UNCERTAIN = (
    "limits.max_units",
    "limits.max_per_model",
    "limits.max_sizes",
    "limits.max_arrangements",
    "limits.spare_units",
    "limits.work_years",
)
CARBON = ("costs.carbon_electricity", "costs.carbon_gas")
# what no hour of the year depends on: the years that are simulated already are only priced again
MONEY = (
    "costs.electricity",
    "costs.gas",
    "costs.discount_rate",
    "costs.study_period",
    "costs.electricity_escalation",
    "costs.gas_escalation",
    "costs.inflation",
    "costs.location_factor",
    *CARBON,
)
INSTALLATION = "costs.installation."


@dataclass(frozen=True, slots=True)
class Tried:
    """One value tried."""

    value: float  # SI
    changes: bool
    winner: (
        Design | None
    )  # None: the chosen design breaks a limit; which design is chosen then was not sought
    cost: float | None  # currency, its life-cycle cost


@dataclass(frozen=True, slots=True)
class AssumptionEffect:
    """What one uncertain value does to the answer."""

    assumption: Assumption
    low: Tried | None  # None: the same as the value used, or the site would contradict itself
    high: Tried | None
    holds_down_to: (
        float | None
    )  # SI; the lowest value found at which the answer stays; None where it was not sought
    holds_up_to: float | None

    @property
    def changes(self) -> bool:
        """Return whether the answer changes at its low or its high."""
        return any(one is not None and one.changes for one in (self.low, self.high))


@dataclass(frozen=True, slots=True)
class WhatWouldChange:
    """All uncertain values, those that change the answer first."""

    chosen: Design | None
    compared: tuple[Design, ...]  # designs held against each other
    effects: tuple[AssumptionEffect, ...]
    not_tried: tuple[Assumption, ...]  # defaults without a low and a high: words and choices
    contests: int

    @property
    def could_change(self) -> tuple[Assumption, ...]:
        """Return the values that change the answer at their low or high."""
        return tuple(one.assumption for one in self.effects if one.changes)


def compared_designs(*, choice: Choice, closely: bool) -> tuple[Design, ...]:
    """Designs to hold against each other when something changes.

    Args: choice; closely, whether to compare more of them.
    Returns: new units of each, the chosen design first.
    """
    found: dict[Design, None] = {}
    bests = sorted(
        (one for one in choice.by_arrangement if one.best is not None), key=lambda one: one.extra_cost or 0.0
    )
    rivals = [choice.runner_up, *(one.best for one in bests)]
    if choice.best is None:
        rivals = [choice.closest, *(one.closest for one in choice.by_arrangement)]
    designs = dict.fromkeys(one.install for one in rivals if one is not None)
    if choice.best is not None:
        chosen = choice.best.install
        designs.pop(chosen, None)
        found[chosen] = None
        for place, part in enumerate(chosen):
            less = [*chosen]
            less[place] = Install(part.model, part.arrangement, part.count - 1)
            found[tuple(one for one in less if one.count > 0)] = None
    found.update(dict.fromkeys([*designs] if closely else [*designs][:RIVALS]))
    if closely:
        found.update(dict.fromkeys(choice.contenders[:MOST_ESTIMATED]))
    found[()] = None
    return tuple(found)


def is_uncertain(*, assumption: Assumption, carbon_price: float) -> bool:
    """Whether a value has a range and bears on the answer.

    Args: assumption; carbon_price [currency/kg].
    Returns: false for words, for decisions, and for what is only shown.
    """
    low, high, value = assumption.low, assumption.high, assumption.value
    if low is None or high is None or isinstance(value, str) or assumption.key in NOT_UNCERTAIN:
        return False
    if assumption.key in CARBON and carbon_price <= 0.0:
        return False
    return low != value or high != value


def what_would_change(
    *,
    prepared: Prepared,
    choice: Choice,
    closely: bool = False,
    progress: Callable[[str, float], None] | None = None,
) -> WhatWouldChange:
    """Try every uncertain value at its low and its high.

    Args: prepared, the site that was chosen for; choice; closely, whether to compare more designs and to seek how far
        each value can move before the answer changes; progress, called with a key and the share done, 0 to 1.
    Returns: `WhatWouldChange`: values that change the answer first, then as the site has them.
    """
    site = prepared.site
    designs = compared_designs(choice=choice, closely=closely)
    chosen = None if choice.best is None else choice.best.install
    uncertain = [
        one for one in site.assumptions if is_uncertain(assumption=one, carbon_price=site.costs.carbon_price)
    ]
    found: dict[int, AssumptionEffect] = {}
    lock = Lock()
    contests = 0

    def tried(one: Assumption, value: float) -> Tried | None:
        nonlocal contests
        result = _tried(prepared, choice, designs, one.key, value)
        with lock:
            contests += 1
        return result

    def farthest(one: Assumption, end: Tried | None) -> float | None:
        """The last value on the way to an end at which the answer stays."""
        if end is None or not end.changes:
            return None if end is None else end.value
        kept, lost = float(one.value), end.value
        for _ in range(HALVINGS):
            middle = 0.5 * (kept + lost)
            result = tried(one, middle)
            if result is not None and not result.changes:
                kept = middle
            else:
                lost = middle
        return kept

    def work(place: int) -> None:
        one = uncertain[place]
        ends = [None if end is None or end == one.value else tried(one, end) for end in (one.low, one.high)]
        reach = [farthest(one, end) if closely else None for end in ends]
        with lock:
            found[place] = AssumptionEffect(one, ends[0], ends[1], reach[0], reach[1])
            if progress is not None:
                progress(one.key, len(found) / len(uncertain))

    on_all_cores(work, list(range(len(uncertain))))
    effects = [found[place] for place in range(len(uncertain))]
    words = tuple(
        one
        for one in site.assumptions
        if one.origin in ("default", "profile")
        and one.low is None
        and one.key not in ("display_units", "currency")
    )
    return WhatWouldChange(
        chosen, designs, tuple(sorted(effects, key=lambda one: not one.changes)), words, contests
    )


def _tried(
    prepared: Prepared, choice: Choice, designs: Sequence[Design], key: str, value: float
) -> Tried | None:
    """The chosen design and its rivals with one value changed; None where the site then contradicts itself."""
    site = prepared.site
    try:
        changed = read_site(path=Path(site.file), instead={key: value}, like=site)
        limits = replace(changed.limits, work_years=site.limits.work_years)
        there = prepare_site(site=replace(changed, limits=limits), fitted=prepared.fitted)
    except (InputFaults, ImpossibleRatingError):
        return None
    if choice.best is None:
        first = contest(prepared=there, designs=designs)
        return Tried(value, first.winner is not None, first.winner, first.cost)
    if key in MONEY:
        return _priced(there, choice, designs, value)
    chosen, rivals = designs[0], designs[1:]
    cost = choice.best.costs.life_cycle
    if key.startswith(INSTALLATION):
        place = key.removeprefix(INSTALLATION).partition(".")[0]
        rivals = [one for one in rivals if any(part.arrangement == place for part in one)]
        touched = any(part.arrangement == place for part in chosen)
    else:
        touched = True
    if touched:
        own = contest(prepared=there, designs=(chosen,))
        if own.cost is None:
            return Tried(value, True, None, None)
        if _unmoved(choice.best, own):
            return Tried(value, False, chosen, own.cost)
        cost, rivals = own.cost, designs[1:]
    other = contest(prepared=there, designs=rivals, known=cost) if rivals else Contest(None, None)
    if other.winner is None:
        return Tried(value, False, chosen, cost)
    return Tried(value, True, other.winner, other.cost)


def _priced(there: Prepared, choice: Choice, designs: Sequence[Design], value: float) -> Tried | None:
    """The designs that keep every limit, at other prices; those that break one break it at any price."""
    known = {
        one.install: one
        for one in (choice.best, choice.runner_up, *(each.best for each in choice.by_arrangement))
        if one is not None
    }
    costs: dict[Design, float] = {}
    for install in designs:
        if install in known:
            one = evaluate(prepared=there, install=install, year=known[install].year)
            if not any(
                broken.unit == there.site.costs.currency for broken in one.broken
            ):  # a limit on first cost
                costs[install] = one.costs.life_cycle
    winner = min(costs, key=lambda install: costs[install], default=None)
    if winner is None:
        return Tried(value, True, None, None)
    return Tried(value, winner != designs[0], winner, costs[winner])


def _unmoved(best: Evaluation, now: Contest) -> bool:
    """Whether the chosen design does what it did before."""
    assert now.cost is not None
    hours = (*(limit.hours_above for limit in best.limits), best.hours_too_warm)
    return now.hours == hours and abs(now.cost - best.costs.life_cycle) <= UNMOVED * best.costs.life_cycle
