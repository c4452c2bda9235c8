"""What a sweep hands to the report: figures without hours, so that many steps fit into memory and into a file.

Values that were varied in SI, money in the site's currency.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from selector.decide.evaluate import Evaluation
from selector.decide.results import Choice, Status
from selector.inputs.site import Arrangement, Install, Site
from selector.inputs.vary import Variation

Values = tuple[float, ...]  # SI, one for each thing that is varied


@dataclass(frozen=True, slots=True)
class DesignFigures:
    """One design at one step."""

    install: tuple[Install, ...]
    first: float  # currency
    annual_operating: float  # currency a year
    life_cycle: float  # currency
    hours_above: int  # of the limit with the least left
    allowed_hours_above: float
    maximum_relative_humidity: float
    maximum_dew_point: float  # °C
    hours_too_warm: int
    short_cooling_hours: int
    short_heating_hours: int
    feasible: bool
    broken: tuple[str, ...]  # limits that are broken


@dataclass(frozen=True, slots=True)
class ArrangementFigures:
    """The best of one arrangement at one step, or the nearest."""

    arrangement: Arrangement
    design: DesignFigures | None
    extra_cost: float | None  # currency above the chosen design; None where none keeps the limits
    why: str  # it lost, or "chosen"


@dataclass(frozen=True, slots=True)
class StepResult:
    """One step: what is chosen there, proved as by `choose`, and what staying with today's design means."""

    values: Values
    best: DesignFigures | None  # None: not possible
    closest: DesignFigures | None
    existing: DesignFigures
    runner_up: DesignFigures | None
    by_arrangement: tuple[ArrangementFigures, ...]
    staying: DesignFigures | None  # today's design here; None where there is none today
    status: Status
    year_equivalents: float
    seconds: float
    contenders: tuple[tuple[Install, ...], ...]  # designs that an estimate puts first here
    record: Mapping[str, Any] | None  # plain values that the caller's `record` made of the whole choice

    @property
    def install(self) -> tuple[Install, ...] | None:
        """Return the chosen design, None where none is possible."""
        return None if self.best is None else self.best.install

    @property
    def regret(self) -> float | None:
        """Return what staying with today's design costs more [currency]; None where it breaks a limit."""
        if self.best is None or self.staying is None or not self.staying.feasible:
            return None
        return self.staying.life_cycle - self.best.life_cycle


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a switch-over point: what is chosen there, and what the other side's design costs there."""

    value: float  # SI
    install: tuple[Install, ...] | None  # None: no design is possible
    cost: float | None  # currency, life-cycle cost
    other: (
        DesignFigures | None
    )  # the other side's design here, whether it keeps the limits or not; None for none
    proved: bool  # whether the choice here is proved; it stopped at its limit of work if not

    @property
    def other_cost(self) -> float | None:
        """Return what the other side's design costs here [currency], None where it does not keep the limits."""
        return self.other.life_cycle if self.other is not None and self.other.feasible else None


@dataclass(frozen=True, slots=True)
class Switch:
    """Between two values closer than the resolution, both of which were chosen for in full, the choice changes."""

    low: Side
    high: Side

    @property
    def value(self) -> float:
        """Return the point between both sides [SI]."""
        return 0.5 * (self.low.value + self.high.value)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of the range over which something holds, its ends known to the resolution."""

    low: float  # SI; the first value found at which it holds
    high: float
    from_end: bool  # it holds at the low end of the range
    to_end: bool


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """All steps, and what lies between them."""

    site: Site  # as read
    variations: tuple[Variation, ...]
    today: tuple[float | None, ...]  # SI; None for weather files
    now: StepResult  # the site as it was read
    steps: tuple[StepResult, ...]  # by rising values; of two variations the second changes faster
    switches: tuple[Switch, ...]  # rising; none between steps of a list of files or of two variations
    resolution: float | None  # SI, the farthest that the two sides of a switch lie apart
    existing_holds: tuple[Span, ...]  # where the system alone keeps every limit
    staying_holds: tuple[Span, ...]  # where today's design does
    short_cooling: tuple[
        Span, ...
    ]  # where the existing system alone has hours in which its cooling coil runs out
    short_heating: tuple[Span, ...]
    reused: int  # steps taken from an earlier run
    wanted: int  # steps asked for
    interrupted: bool
    year_equivalents: float  # of the choices of this run; what is looked at between steps comes on top
    seconds: float
    existing_below: tuple[Span, ...] | None = None  # as existing_holds, from 0 to the range; None: not sought
    existing_at_none: DesignFigures | None = None  # the system alone at 0, where that was sought

    @property
    def existing_good_to(self) -> float | None:
        """Return how far today's system alone is good [SI]: the value from which it no longer keeps every limit.

        Counted from the low end of the range, or from 0 where that was sought; where it keeps them only towards the
        high end, the value from which it does. None where it does so nowhere, or where it was not sought.
        """
        for one in (*(self.existing_below or ()), *self.existing_holds):
            if one.from_end:
                return one.high
        last = self.existing_holds[-1] if self.existing_holds else None
        return last.low if last is not None and last.to_end else None

    @property
    def complete(self) -> bool:
        """Whether every step that was asked for is there, and all between them was looked at."""
        return not self.interrupted and len(self.steps) == self.wanted

    def marginal(self, place: int) -> float | None:
        """Cost of one SI unit more of what is varied, from one step to the next.

        Args: place, of the lower step. Returns: currency by SI unit; None where a design is not possible at either.
        """
        here, there = self.steps[place], self.steps[place + 1]
        if here.best is None or there.best is None:
            return None
        return (there.best.life_cycle - here.best.life_cycle) / (there.values[0] - here.values[0])


def figures_of(evaluation: Evaluation) -> DesignFigures:
    """Figures of a design without its hours.

    Args: evaluation. Returns: `DesignFigures`.
    """
    worst = evaluation.worst_limit
    costs = evaluation.costs
    return DesignFigures(
        install=evaluation.install,
        first=costs.first,
        annual_operating=costs.annual_operating,
        life_cycle=costs.life_cycle,
        hours_above=evaluation.hours_above,
        allowed_hours_above=worst.allowed,
        maximum_relative_humidity=evaluation.maximum_relative_humidity,
        maximum_dew_point=evaluation.maximum_dew_point,
        hours_too_warm=evaluation.hours_too_warm,
        short_cooling_hours=evaluation.short_cooling_hours,
        short_heating_hours=evaluation.short_heating_hours,
        feasible=evaluation.feasible,
        broken=tuple(one.limit for one in evaluation.broken),
    )


def step_of(
    *,
    values: Values,
    choice: Choice,
    staying: DesignFigures | None,
    record: Mapping[str, Any] | None,
) -> StepResult:
    """Figures of a choice without its hours.

    Args: values [SI]; choice; staying, today's design at these values; record, of plain values.
    Returns: `StepResult`.
    """

    def maybe(one: Evaluation | None) -> DesignFigures | None:
        return None if one is None else figures_of(one)

    return StepResult(
        values=values,
        best=maybe(choice.best),
        closest=maybe(choice.closest),
        existing=figures_of(choice.existing),
        runner_up=maybe(choice.runner_up),
        by_arrangement=tuple(
            ArrangementFigures(one.arrangement, maybe(one.best or one.closest), one.extra_cost, one.why)
            for one in choice.by_arrangement
        ),
        staying=staying,
        status=choice.proof.status,
        year_equivalents=choice.proof.year_equivalents,
        seconds=choice.proof.seconds,
        contenders=choice.contenders,
        record=record,
    )
