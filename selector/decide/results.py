"""What the decision hands to the report."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from selector.decide.evaluate import Evaluation
from selector.inputs.site import Arrangement, Install, Site

Status = Literal["optimal", "best-found", "not possible"]
Answer = Literal["install", "install nothing", "not possible", "none found"]
Stop = Literal["work", "clock"]


@dataclass(frozen=True, slots=True)
class Proof:
    """What the answer rests on, and the work that went into it."""

    status: Status
    reason: str  # in one line: why this status
    lower_bound: float  # currency: no design within the limits has a lower life-cycle cost
    gap: float  # (life-cycle cost - lower bound) / life-cycle cost
    gap_money: float  # currency
    designs_possible: int  # all combinations within the counts, "install nothing" among them
    designs_simulated: int  # followed through their year to its end, or until they were stopped
    excluded_by: Mapping[str, int]  # rule: designs; simulated and stopped ones by what stopped them
    year_equivalents: (
        float  # work [h] / 8760, everything included; an hour in which nothing runs counts `QUIET_WORK`
    )
    seconds: float
    stopped_by: Stop | None = None  # the limit that ended the search before all designs were accounted for


@dataclass(frozen=True, slots=True, eq=False)
class ArrangementResult:
    """The best of one arrangement."""

    arrangement: Arrangement
    best: Evaluation | None  # None where no design of it keeps the limits
    closest: Evaluation | None  # where there is no best: the design that came nearest, as `nearest.py` says
    extra_cost: float | None  # currency, life-cycle cost above the chosen design's
    why: str  # it lost, or "chosen"

    @property
    def reason(self) -> str:
        """Return why it lost, and the first limit that the nearest design of it breaks."""
        if self.closest is None or not self.closest.broken:
            return self.why
        return f"{self.why}; the nearest breaks the limit on {self.closest.broken[0].limit}"


@dataclass(frozen=True, slots=True)
class Margin:
    """How much more the chosen design can take."""

    extra_vapour: float  # kg/s, in every hour of the year, with all limits still kept
    share: float  # of the year's mean moisture load (internal, ventilation and infiltration)
    at_least: bool  # the search ended at its upper end: it can take at least this much


@dataclass(frozen=True, slots=True)
class OneOut:
    """The chosen design with one unit out of service: the worst choice of that unit."""

    model: str
    hours_above: int
    maximum_relative_humidity: float
    feasible: bool
    limit: str  # name of the humidity limit that is then passed most
    kind: str
    worst: float  # its quantity at worst: fraction, or °C


@dataclass(frozen=True, slots=True)
class LimitMove:
    """How far one limit has to move, alone, for a design to become possible."""

    limit: str
    now: float
    needed: float | None  # None: moving this limit alone helps no design, or none of those tried
    unit: str
    status: Literal["proved", "within the designs tried", "does not help"]


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """The answer."""

    site: Site
    best: Evaluation | None  # None: not possible, or none found before a limit ended the search
    closest: Evaluation | None  # where there is no best: the nearest of these and the existing system
    existing: Evaluation  # the existing system alone
    runner_up: Evaluation | None
    by_arrangement: tuple[ArrangementResult, ...]
    margin: Margin | None
    one_out: OneOut | None
    moves: tuple[LimitMove, ...]
    proof: Proof
    contenders: tuple[tuple[Install, ...], ...] = ()  # designs that an estimate puts first, best guess first

    @property
    def answer(self) -> Answer:
        """Return the answer in words: "none found" where the search ended first, which proves nothing."""
        if self.best is None:
            return "not possible" if self.proof.status == "not possible" else "none found"
        return "install" if self.best.install else "install nothing"

    @property
    def warm_allowed(self) -> float | None:
        """Return how many hours a year may be too warm, None where the site sets no limit."""
        extra = self.site.limits.extra_hours_too_warm
        return None if extra is None else self.existing.hours_too_warm + extra
