"""Runs the pieces of a sweep, in this process or spread over as many as there are cores.

A process of its own takes some seconds to start and to load what is compiled; it is started only for work that takes
longer. Processes are started afresh, not copied from this one, whose threads would be lost. An interrupt from the
keyboard reaches this process only, which then keeps what is finished.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from types import TracebackType
from typing import Any

from selector.decide.contest import Contest, Design
from selector.decide.sweep_results import DesignFigures, StepResult, Values
from selector.decide.sweep_step import Base, choose_at, contest_at, design_at

LONG_ENOUGH = 8.0  # s of work from which more processes pay

_base: Base | None = None  # of a process of its own


@dataclass(frozen=True, slots=True)
class Job:
    """One piece of work: a whole choice, a contest of a few designs, or one design in full."""

    kind: str  # "choose", "contest" or "design"
    values: Values | None
    designs: tuple[Design, ...]
    staying: Design | None = None


Result = StepResult | Contest | DesignFigures


def perform(*, base: Base, job: Job) -> Result:
    """Do one piece of work.

    Args: base; job. Returns: what `choose_at`, `contest_at` or `design_at` returns.
    """
    if job.kind == "choose":
        return choose_at(base=base, values=job.values, first=job.designs, staying=job.staying)
    assert job.values is not None
    if job.kind == "contest":
        return contest_at(base=base, values=job.values, designs=job.designs)
    return design_at(base=base, values=job.values, install=job.designs[0])


def cores() -> int:
    """Cores that this process may use.

    Returns: their number.
    """
    affinity: Callable[[int], set[int]] | None = getattr(os, "sched_getaffinity", None)
    return max(1, len(affinity(0)) if affinity is not None else os.cpu_count() or 1)


def _begin(base: Base) -> None:
    global _base
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_leave_with_parent, daemon=True).start()
    _base = base


def _leave_with_parent() -> None:
    """End this process when the one that wanted its work is gone, however that ended."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _perform(job: Job) -> Result:
    assert _base is not None  # set when the process began
    return perform(base=_base, job=job)


class Runner:
    """Does jobs and hands back each as it is finished; a context, which ends its processes."""

    def __init__(self, *, base: Base, processes: int | None) -> None:
        self._base = base
        self._processes = processes
        self._pool: ProcessPoolExecutor | None = None

    def __enter__(self) -> Runner:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._pool is None:
            return
        running = list((getattr(self._pool, "_processes", None) or {}).values())
        self._pool.shutdown(wait=kind is None, cancel_futures=True)
        if kind is not None:
            for process in running:  # what they are at is of no use any more
                process.terminate()

    def run(self, jobs: Iterable[Callable[[], Job]], *, seconds: float) -> Iterator[tuple[int, Result]]:
        """Do jobs, as many at a time as there are processes.

        Args: jobs, each made when its turn comes, so that it can use what is finished by then; seconds [s], the work
            that they are expected to be.
        Returns: place of a job and its result, as they are finished.
        """
        waiting = list(enumerate(jobs))
        if not self._wants_processes(len(waiting), seconds):
            for place, make in waiting:
                yield place, perform(base=self._base, job=make())
            return
        pool = self._start()
        pending: dict[Future[Result], int] = {}
        while waiting or pending:
            while waiting and len(pending) < self._count():
                place, make = waiting.pop(0)
                pending[pool.submit(_perform, make())] = place
            done, _ = wait(pending, return_when=FIRST_COMPLETED)
            for future in done:
                yield pending.pop(future), future.result()

    def _count(self) -> int:
        return cores() if self._processes is None else self._processes

    def _wants_processes(self, jobs: int, seconds: float) -> bool:
        if self._processes is not None:
            return self._processes > 1
        if self._pool is not None:
            return jobs > 1
        return cores() > 1 and jobs > 1 and seconds > LONG_ENOUGH

    def _start(self) -> ProcessPoolExecutor:
        if self._pool is None:
            methods = multiprocessing.get_all_start_methods()
            context: Any = multiprocessing.get_context("forkserver" if "forkserver" in methods else "spawn")
            if hasattr(context, "set_forkserver_preload"):
                context.set_forkserver_preload([__name__])
            self._pool = ProcessPoolExecutor(
                max_workers=self._count(), mp_context=context, initializer=_begin, initargs=(self._base,)
            )
        return self._pool
