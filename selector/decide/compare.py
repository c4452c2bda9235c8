"""Named options side by side: every alternate, the chosen design and the existing system, on the same physics.

Each is simulated in full by `evaluate`, levelled to one scope, judged against every limit of the site and ranked: those
that keep all limits first, each group by life-cycle cost. What breaks a limit is shown with what it breaks.
Money in the site's currency.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from selector.decide.choose import allowed_hours, warm_hours_allowed
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.levelling import (
    STANDARD,
    EnteringAir,
    LevelledPrice,
    LevelledRating,
    Misfit,
    bill_of,
    design_air,
    level_price,
    level_ratings,
    lines_of,
    misfits,
)
from selector.decide.limits import BrokenLimit
from selector.decide.margin import margin_of, one_out_of
from selector.decide.options import (
    CHOSEN,
    EXISTING,
    Option,
    option_of_alternate,
    options_of,
    prepare_options,
)
from selector.decide.reasons import Standing, reasons
from selector.decide.results import Choice, Margin, OneOut
from selector.decide.shared import NO_LIMIT
from selector.inputs.calendar import month_of_hour
from selector.inputs.site import Install, Site
from selector.money.economics import Measures, measures
from selector.money.first_cost import unit_of
from selector.money.life_cycle import LifeCycle, life_cycle_cost
from selector.physics.design_day import DesignDayResult, simulate_design_day
from selector.physics.fit import FittedUnit
from selector.physics.loads import loads
from selector.physics.prepare import Prepared, lead_order


@dataclass(frozen=True, slots=True, eq=False)
class OptionResult:
    """One option, simulated, levelled and ranked."""

    option: Option
    rank: int  # from 1
    reason: str  # in one line
    evaluation: Evaluation  # costs levelled; everything else as `evaluate` found it
    life_cycle: LifeCycle
    price: LevelledPrice
    ratings: tuple[LevelledRating, ...]
    misfits: tuple[Misfit, ...]
    months_above: tuple[int, ...]  # (12,) hours, of the limit with the least left
    margin: Margin | None  # None where it does not keep every limit
    one_out: OneOut | None  # None without new units
    measures: Measures | None  # against the base case; None for the base case itself
    fitted: tuple[FittedUnit, ...]  # units of the option's site
    days: tuple[DesignDayResult, ...]  # design days of the option


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """All options, and what they are measured against."""

    site: Site
    options: tuple[OptionResult, ...]  # ranked
    base: int  # place of the base case in `options`
    base_reason: str
    warm_allowed: float | None  # h a year
    air: tuple[EnteringAir, ...]  # that all units are rated at
    choice: Choice | None  # None where no search was asked for

    @property
    def best(self) -> OptionResult | None:
        """Return the option to take, None where none keeps every limit."""
        first = self.options[0]
        return first if first.evaluation.feasible else None

    @property
    def existing(self) -> OptionResult:
        """Return the existing system alone."""
        return next(one for one in self.options if one.option.kind == "existing")


@dataclass(frozen=True, slots=True, eq=False)
class _Judged:
    """One option before it is ranked."""

    option: Option
    prepared: Prepared
    evaluation: Evaluation
    life_cycle: LifeCycle
    price: LevelledPrice
    months: tuple[int, ...]

    def standing(self) -> Standing:
        """Return what its reason is made from."""
        new = self.option.kind == "change" or bool(self.option.install)
        return Standing(self.option.name, new, self.evaluation, self.life_cycle, self.months)


def compare(
    *,
    prepared: Prepared,
    choice: Choice | None,
    more: tuple[Option, ...] = (),
    progress: Callable[[str, float], None] | None = None,
) -> Comparison:
    """Compare the alternates of a site with the chosen design and with doing nothing.

    Args: prepared; choice, of the same site, None for a comparison without it; more, options beside those that the
        site names; progress, called with what is being done and the share done, 0 to 1.
    Returns: `Comparison`.
    Raises: InputFaults where units that a proposal brings cannot be fitted or priced.
    """
    site = prepared.site
    say = progress if progress is not None else (lambda _what, _share: None)
    options = (
        *(option_of_alternate(site=site, alternate=one) for one in site.alternates),
        *options_of(site=site),
        *more,
    )
    tables = prepare_options(prepared=prepared, options=options)
    existing = evaluate(prepared=prepared, install=()) if choice is None else choice.existing
    warm_allowed = warm_hours_allowed(prepared=prepared, existing=existing)
    pairs = [*zip(options, tables, strict=True)]
    chosen = None if choice is None else choice.best or choice.closest
    if chosen is not None and chosen.install:
        name = CHOSEN if choice is not None and choice.best is not None else "nearest design"
        pairs.append((Option(name, "chosen", site, chosen.install), prepared))
    pairs.append((Option(EXISTING, "existing", site, ()), prepared))
    air = _entering_air(prepared)
    judged = []
    for place, (option, own) in enumerate(pairs):
        say(option.name, place / (2 * len(pairs)))
        judged.append(_judge(option, own, warm_allowed))
    ranked = sorted(judged, key=lambda one: (not one.evaluation.feasible, one.life_cycle.total))
    base, why = base_of(
        existing=next(place for place, one in enumerate(ranked) if one.option.kind == "existing"),
        feasible=[one.evaluation.feasible for one in ranked],
        first=[one.price.total for one in ranked],
    )
    told = reasons(
        ranked=[one.standing() for one in ranked], currency=site.costs.currency, years=site.costs.study_period
    )
    found = []
    for place, one in enumerate(ranked):
        say(one.option.name, 0.5 + place / (2 * len(ranked)))
        spare, out = _spare(one, choice, warm_allowed)
        found.append(
            OptionResult(
                option=one.option,
                rank=place + 1,
                reason=told[place],
                evaluation=one.evaluation,
                life_cycle=one.life_cycle,
                price=one.price,
                ratings=level_ratings(option=one.option, fitted=one.prepared.fitted, air=air),
                misfits=misfits(option=one.option),
                months_above=one.months,
                margin=spare,
                one_out=out,
                measures=None
                if place == base
                else measures(
                    base=ranked[base].life_cycle,
                    option=one.life_cycle,
                    rate=site.costs.discount_rate,
                    inflation=site.costs.inflation,
                ),
                fitted=one.prepared.fitted,
                days=_design_days(one),
            )
        )
    say("done", 1.0)
    return Comparison(site, tuple(found), base, why, warm_allowed, air, choice)


def judge_option(*, option: Option, prepared: Prepared, warm_allowed: float | None) -> Evaluation:
    """Simulate one option in full and judge it against every limit.

    Args: option; prepared, its own site; warm_allowed [h a year], None for no such limit.
    Returns: `Evaluation`, costs levelled.
    """
    return _judge(option, prepared, warm_allowed).evaluation


def _judge(option: Option, prepared: Prepared, warm_allowed: float | None) -> _Judged:
    """Simulate one option, level its price and judge it against every limit."""
    site = option.site
    raw = evaluate(prepared=prepared, install=option.install, warm_allowed=warm_allowed)
    price = level_price(option=option, costs=raw.costs)
    maintenance = raw.costs.maintenance + option.extra_maintenance
    units = tuple((unit_of(site=site, model=part.model), part.count) for part in raw.install)
    life = life_cycle_cost(
        first=price.total,
        electricity=raw.costs.electricity,
        gas=raw.costs.gas,
        maintenance=maintenance,
        units=units,
        costs=site.costs,
        others=() if option.extra_life is None else ((option.extra_first, option.extra_life),),
    )
    levelled = price.total != raw.costs.first or option.extra_maintenance != 0.0
    costs = replace(
        raw.costs,
        first=price.total,
        maintenance=maintenance,
        annual_operating=raw.costs.electricity + raw.costs.gas + maintenance,
        life_cycle=life.total if levelled else raw.costs.life_cycle,
        lines=lines_of(price=price, ours=raw.costs.lines),
        quantities=bill_of(option=option, price=price, ours=raw.costs),
    )
    broken = [one for one in raw.broken if one.limit != "first cost"]
    most = site.limits.first_cost
    if most is not None and price.total > most:
        broken.append(BrokenLimit("first cost", price.total, most, site.costs.currency))
    broken += _with_units_out(prepared, raw, warm_allowed)
    evaluation = replace(raw, costs=costs, broken=tuple(broken), feasible=not broken)
    return _Judged(option, prepared, evaluation, life, price, _months_above(raw))


def _months_above(evaluation: Evaluation) -> tuple[int, ...]:
    """Hours above of each month, of the limit with the least left."""
    left = [limit.allowed - limit.hours_above for limit in evaluation.limits]
    above = evaluation.year.above[:, left.index(min(left))] > 0.0
    return tuple(int(hours) for hours in np.bincount(month_of_hour(), weights=above, minlength=12))


def _without(parts: tuple[Install, ...], out: tuple[int, ...]) -> tuple[Install, ...]:
    pairs = zip(parts, out, strict=True)
    return tuple(replace(part, count=part.count - less) for part, less in pairs if part.count > less)


def _ways_out(parts: tuple[Install, ...], spare: int) -> Iterator[tuple[int, ...]]:
    """Every way to take so many units out."""
    for out in itertools.product(*(range(min(part.count, spare) + 1) for part in parts)):
        if sum(out) == spare:
            yield out


def _with_units_out(
    prepared: Prepared, evaluation: Evaluation, warm_allowed: float | None
) -> tuple[BrokenLimit, ...]:
    """What a design breaks with as many units out of service as the site asks to have to spare, existing ones too.

    Of fewer units all are out; without any, nothing is.
    """
    site = prepared.site
    new, there = evaluation.install, site.existing_units
    spare = min(site.limits.spare_units, sum(part.count for part in (*new, *there)))
    if spare == 0:
        return ()
    worst: list[BrokenLimit] = []
    for out in _ways_out((*new, *there), spare):
        left = _without(there, out[len(new) :])
        reduced = replace(prepared, site=replace(site, existing_units=left))
        one = evaluate(prepared=reduced, install=_without(new, out[: len(new)]), warm_allowed=warm_allowed)
        worst += [limit for limit in one.broken if limit.unit == "h"]
    found: list[BrokenLimit] = []
    words = f"with {spare} unit{'' if spare == 1 else 's'} out"
    for name in dict.fromkeys(limit.limit for limit in worst):
        same = max((limit for limit in worst if limit.limit == name), key=lambda limit: limit.got)
        found.append(replace(same, limit=f"{name} {words}"))
    return tuple(found)


def _entering_air(prepared: Prepared) -> tuple[EnteringAir, ...]:
    """The standard condition, and the design hour of the rarer design day where the weather has one."""
    hours = loads(prepared=prepared).design_hours
    days = prepared.site.weather.design_days
    rarest = min(range(len(hours)), key=lambda place: hours[place].percent, default=None)
    if rarest is None:
        return (STANDARD,)
    return STANDARD, design_air(hour=hours[rarest], pressure=days[rarest].pressure)


def _design_days(one: _Judged) -> tuple[DesignDayResult, ...]:
    """Follow an option and the units that are there already through each design day."""
    site = one.prepared.site
    install = (*one.evaluation.install, *site.existing_units)
    every = lead_order(prepared=one.prepared, install=install)
    days = site.weather.design_days
    return tuple(simulate_design_day(prepared=one.prepared, install=every, day=day) for day in days)


def base_of(*, existing: int, feasible: Sequence[bool], first: Sequence[float]) -> tuple[int, str]:
    """The base case: the existing system where it is good enough, else the least first cost that is.

    Args: existing, place of the existing system; feasible and first (N,), of each option: whether it keeps every limit,
        and its first cost [currency].
    Returns: place of the base case, and why it is that one.
    Source: ASTM E917 asks for mutually exclusive options that all meet the requirement; the one of the least first
        cost is the base.
    """
    if feasible[existing]:
        return existing, "the existing system, which keeps every limit"
    good = [place for place, keeps in enumerate(feasible) if keeps]
    if not good:
        return existing, "the existing system; no option keeps every limit"
    least = min(good, key=lambda place: first[place])
    return least, "the least first cost that keeps every limit; the existing system does not"


def _spare(
    one: _Judged, choice: Choice | None, warm_allowed: float | None
) -> tuple[Margin | None, OneOut | None]:
    """How much more moisture an option can take, and what one unit out does."""
    if choice is not None and one.option.kind == "chosen" and choice.best is not None:
        return choice.margin, choice.one_out
    out, _ = one_out_of(prepared=one.prepared, best=one.evaluation, warm_allowed=warm_allowed)
    if not one.evaluation.feasible:
        return None, out
    margin, _ = margin_of(
        prepared=one.prepared,
        best=one.evaluation,
        allowed=allowed_hours(prepared=one.prepared),
        warm_limit=NO_LIMIT if warm_allowed is None else warm_allowed,
    )
    return margin, out
