"""Sweep: what is chosen as one thing, or two, take one value after another.

Every step is a choice of its own with a proof of its own, by `choose`, and the same as a separate choice would find;
what won at neighbouring steps is only looked at first. Between steps the points are sought where the choice changes,
where today's design and the system alone stop keeping the limits, and where cooling and heating run out.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping, Sequence, Set
from itertools import product
from pathlib import Path

from selector.decide.contest import Contest, Design
from selector.decide.solver import SolverName
from selector.decide.sweep_results import DesignFigures, Span, StepResult, Sweep, Switch, Values
from selector.decide.sweep_run import Job, Result, Runner
from selector.decide.sweep_step import Base, Record, base_of, choose_at, design_at
from selector.decide.sweep_store import Store
from selector.decide.sweep_switch import RESOLUTION, find_switches, line_of, spans
from selector.inputs.vary import OUTDOOR, Variation, today
from selector.physics.prepare import Prepared

SHORT = 10.0  # contests take about this much less time than a choice
BETWEEN = 6.0  # choices that the work between steps is taken for before it is known
LATER = 2.0  # choices that the rounds after the one at hand are taken for
BELOW = 20  # points between 0 and the range at which the system alone is looked at

Progress = Callable[[str, float], None]


def sweep(
    *,
    prepared: Prepared,
    variations: tuple[Variation, ...],
    solver: SolverName = "highs",
    between: bool = True,
    resolution: float = RESOLUTION,
    record: Record | None = None,
    store: Path | None = None,
    processes: int | None = None,
    progress: Progress | None = None,
) -> Sweep:
    """Choose at every value of one variation, or of two against each other.

    Args: prepared, the site as it was read; variations, one or two; solver of the proposals; between, whether to seek
        what lies between steps; resolution [share of the range] of what is sought; record, makes plain values of each
        choice, to be kept with its step; store, file of finished steps, which is read and added to, None for none;
        processes, how many to spread the steps over, None for as many as pay; progress, called with what is being done
        and the share done, 0 to 1.
    Returns: `Sweep`; on an interrupt from the keyboard with the steps that are finished by then.
    """
    began = time.monotonic()
    base = base_of(prepared=prepared, variations=variations, solver=solver, record=record)
    work = _Work(base, Store(file=store), progress or (lambda _what, _share: None))
    wanted = [tuple(values) for values in product(*(one.values for one in variations))]
    interrupted = False
    switches: tuple[Switch, ...] = ()
    found: dict[str, tuple[Span, ...]] = {}
    apart = None
    first, last = variations[0].values[0], variations[0].values[-1]
    if len(variations) == 1 and variations[0].is_continuous:
        apart = resolution * (last - first)
    try:
        with Runner(base=base, processes=processes) as runner:
            work.now()
            between = between and apart is not None
            work.steps(runner, wanted, between=between)
            if between and apart is not None:
                found = work.holding(apart)
                switches = work.switches(runner, apart)
                beside = {side.value for one in switches for side in (one.low, one.high)}
                found = work.holding(apart, beside)
    except KeyboardInterrupt:
        interrupted = True
        if work.present is None:
            raise
    assert work.present is not None  # chosen before any step
    work.say("done", 1.0)
    return Sweep(
        site=prepared.site,
        variations=variations,
        today=tuple(today(site=prepared.site, variation=one) for one in variations),
        now=work.present,
        steps=tuple(work.done[values] for values in wanted if values in work.done),
        switches=switches,
        resolution=apart,
        existing_holds=found.get("existing", ()),
        staying_holds=found.get("staying", ()),
        short_cooling=found.get("cooling", ()),
        short_heating=found.get("heating", ()),
        existing_below=found.get("below"),
        existing_at_none=work.at_none,
        reused=work.reused,
        wanted=len(wanted),
        interrupted=interrupted,
        year_equivalents=work.years,
        seconds=time.monotonic() - began,
    )


class _Work:
    """The state of a sweep while it runs."""

    def __init__(self, base: Base, store: Store, say: Progress) -> None:
        self.base = base
        self.store = store
        self.say = say
        self.present: StepResult | None = None
        self.done: dict[Values, StepResult] = {}
        self.reused = 0
        self.years = 0.0
        self.seconds = 0.0  # of one choice
        self.at_none: DesignFigures | None = None
        self._worked = 0.0  # choices done in this run, what is shorter by its share of one
        self._ahead = 0.0  # choices that are still to do, as far as that is known
        self._figures: dict[tuple[float, Design], DesignFigures] = {}

    @property
    def staying(self) -> Design | None:
        assert self.present is not None
        return self.present.install

    def now(self) -> None:
        """Choose for the site as it was read."""
        self.say("today", 0.0)
        kept = self.store.get(values=(), staying=None)
        if kept is None:
            kept = choose_at(base=self.base, values=None, first=(), staying=None)
            self._keep(kept)
            self._worked += 1.0
        self.present = kept
        self.seconds = kept.seconds

    def _keep(self, step: StepResult) -> None:
        self.store.add(step=step)
        self.years += step.year_equivalents

    def steps(self, runner: Runner, wanted: Sequence[Values], *, between: bool) -> None:
        """Choose at every value that no earlier run has finished; whether work between them follows."""
        for values in wanted:
            kept = self.store.get(values=values, staying=self.staying)
            if kept is not None:
                self.done[values] = kept
                self.reused += 1
        open_ones = [values for values in wanted if values not in self.done]

        def make(values: Values) -> Callable[[], Job]:
            return lambda: Job("choose", values, self._promising(values), self.staying)

        jobs = [make(values) for values in open_ones]
        self._ahead = len(jobs) + (BETWEEN if between else 0.0)
        self._say_steps(wanted)
        for place, result in runner.run(jobs, seconds=self.seconds * len(jobs)):
            assert isinstance(result, StepResult)
            self._keep(result)
            self.done[open_ones[place]] = result
            self._did(1.0)
            self._say_steps(wanted)

    def _say_steps(self, wanted: Sequence[Values]) -> None:
        self._say(f"{len(self.done)} of {len(wanted)} steps")

    def _did(self, choices: float) -> None:
        self._worked += choices
        self._ahead = max(0.0, self._ahead - choices)

    def _say(self, what: str) -> None:
        """The share done is that of the work known by now; where more turns out to be wanted, it falls."""
        total = self._worked + self._ahead
        self.say(what, self._worked / total if total > 0.0 else 0.0)

    def _promising(self, values: Values) -> tuple[Design, ...]:
        """What won at the nearest steps that are finished: all told, second, and in each arrangement."""
        assert self.present is not None

        def distance(step: StepResult) -> float:
            parts = zip(step.values, values, self.base.variations, strict=True)
            return sum(
                abs(here - there) / (one.values[-1] - one.values[0] or 1.0) for here, there, one in parts
            )

        near = sorted(self.done.values(), key=distance)[:2] or [self.present]
        found: dict[Design, None] = {}
        for step in near:
            for design in (step.best, step.runner_up):
                if design is not None:
                    found[design.install] = None
            for each in step.by_arrangement:
                if each.design is not None and each.extra_cost is not None:
                    found[each.design.install] = None
        return tuple(found)

    def _at(self, value: float, install: Design) -> DesignFigures:
        """One design at one value, simulated once."""
        if (value, install) not in self._figures:
            self._figures[value, install] = design_at(base=self.base, values=(value,), install=install)
        return self._figures[value, install]

    def holding(self, resolution: float, beside: Set[float] = frozenset()) -> dict[str, tuple[Span, ...]]:
        """Where the system alone and today's design keep the limits, and where the system alone runs out.

        Looked at are the steps and the values beside switch-over points, and between two of which one holds.
        """
        steps = {step.values[0]: step for step in self.done.values()}
        values = sorted({*steps, *beside})
        alone = {at: step.existing for at, step in steps.items()}
        staying = {at: step.staying for at, step in steps.items()}
        tests: dict[
            str, tuple[Callable[[DesignFigures], bool], Design | None, Mapping[float, DesignFigures | None]]
        ] = {
            "existing": (lambda one: one.feasible, (), alone),
            "staying": (lambda one: one.feasible, self.staying, staying),
            "cooling": (lambda one: one.short_cooling_hours > 0, (), alone),
            "heating": (lambda one: one.short_heating_hours > 0, (), alone),
        }
        found: dict[str, tuple[Span, ...]] = {}
        self._say("what today's system can take")
        for name, (test, design, figures) in tests.items():
            if design is None or None in figures.values():
                continue
            known = [figures.get(value) or self._at(value, design) for value in values]

            def probe(
                value: float,
                test: Callable[[DesignFigures], bool] = test,
                design: Design = design,
            ) -> bool:
                return test(self._at(value, design))

            holds = [test(one) for one in known]
            found[name] = spans(values=values, holds=holds, probe=probe, resolution=resolution)
        if not found["existing"] and values[0] > 0.0 and self.base.variations[0].parameter.name in OUTDOOR:
            found["below"] = self._below(values[0], resolution)
        return found

    def _below(self, low: float, resolution: float) -> tuple[Span, ...]:
        """Where the system alone keeps the limits with less outdoor air than the range has, down to none."""
        self.at_none = self._at(0.0, ())

        def probe(value: float) -> bool:
            return self._at(value, ()).feasible

        less = [low * place / BELOW for place in range(BELOW)] + [low]
        return spans(values=less, holds=[probe(value) for value in less], probe=probe, resolution=resolution)

    def switches(self, runner: Runner, resolution: float) -> tuple[Switch, ...]:
        """Every change of the choice between the steps."""
        steps = [self.done[values] for values in sorted(self.done)]
        self._ahead = BETWEEN
        what = ""

        def name(said: str) -> None:
            nonlocal what
            what = said

        def do(jobs: Sequence[Callable[[], Job]]) -> Iterable[tuple[int, Result]]:
            made = [job() for job in jobs]
            open_ones: list[int] = []
            for place, job in enumerate(made):
                kept = None
                if job.kind == "choose" and job.values is not None:
                    kept = self.store.get(values=job.values, staying=self.staying)
                if kept is None:
                    open_ones.append(place)
                else:
                    yield place, kept
            whole = bool(made) and made[0].kind == "choose"
            each = 1.0 if whole else 1.0 / SHORT
            seconds = len(open_ones) * self.seconds * each
            self._ahead = len(open_ones) * each + (LATER if open_ones else 0.0)
            self._say(what)

            def again(job: Job) -> Callable[[], Job]:
                return lambda: job

            tasks_again = [again(made[place]) for place in open_ones]
            for count, (at, result) in enumerate(runner.run(tasks_again, seconds=seconds), 1):
                self._did(each)
                self._say(f"{what}, {count} of {len(open_ones)}")
                if isinstance(result, StepResult):
                    self._keep(result)
                assert isinstance(result, (StepResult, Contest))
                yield open_ones[at], result

        return find_switches(
            line=line_of(steps=steps, resolution=resolution),
            do=do,
            figures=self._at,
            staying=self.staying,
            progress=name,
        )
