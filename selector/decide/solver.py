"""The integer programme's solver: HiGHS through PuLP, CBC as the fallback, silent and repeatable.

Both run on one thread to a gap of zero, so the same problem gives the same answer on every run. Where
several answers cost the same, the two may return different ones: a caller that needs one answer breaks ties
itself.
Only a proved optimum is called "optimal"; a run that a time limit ended is "stopped", with the best answer and
bound so far where there are any.
"""

from __future__ import annotations

import math
import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import pulp

SolverName = Literal["highs", "cbc"]
SolverStatus = Literal["optimal", "infeasible", "unbounded", "stopped"]

VIOLATION_ALLOWED = 1e-6  # of a constraint's largest term, after integers are rounded


class SolverError(RuntimeError):
    """No solver could be run, or its answer breaks a constraint of the problem."""


@dataclass(frozen=True, slots=True)
class SolverResult:
    """What a solver said about one problem; the answer itself is in the problem's variables."""

    status: SolverStatus
    objective: float | None  # in the problem's own terms; None without an answer
    bound: float | None  # no answer can be better than this; None where the solver does not tell
    solver: SolverName  # that ran
    seconds: float  # wall clock


@contextmanager
def silenced() -> Iterator[None]:
    """Send what compiled libraries write to standard output nowhere, for as long as the block runs.

    The file descriptor itself is redirected, as such writing does not pass through `sys.stdout`. Where the
    process has no standard output there is nothing to hide, and nothing is done.

    Returns: a context, for `with`.
    """
    try:
        saved = os.dup(1)
    except OSError:
        yield
        return
    if sys.stdout is not None:
        sys.stdout.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(saved, 1)
        os.close(saved)
        os.close(nowhere)


@dataclass(frozen=True, slots=True)
class _Run:
    status: SolverStatus | Literal["undecided"]
    answered: bool  # the variables hold an answer
    bound: float | None  # of the objective without its constant, as a minimum


def _run_highs(problem: pulp.LpProblem, time_limit: float | None, presolve: str) -> _Run:
    import highspy
    import pulp

    options = {
        "random_seed": 0,
        "parallel": "off",
        "presolve": presolve,
        "mip_feasibility_tolerance": 1e-9,
        "primal_feasibility_tolerance": 1e-9,
        "dual_feasibility_tolerance": 1e-9,
    }
    command = pulp.HiGHS(msg=False, threads=1, gapRel=0.0, gapAbs=0.0, timeLimit=time_limit, **options)
    with silenced():
        problem.solve(command)
    highs = problem.solverModel
    names: dict[object, SolverStatus | Literal["undecided"]] = {
        highspy.HighsModelStatus.kOptimal: "optimal",
        highspy.HighsModelStatus.kModelEmpty: "optimal",
        highspy.HighsModelStatus.kInfeasible: "infeasible",
        highspy.HighsModelStatus.kUnbounded: "unbounded",
        highspy.HighsModelStatus.kUnboundedOrInfeasible: "undecided",
        highspy.HighsModelStatus.kTimeLimit: "stopped",
        highspy.HighsModelStatus.kInterrupt: "stopped",
        highspy.HighsModelStatus.kIterationLimit: "stopped",
    }
    found = highs.getModelStatus()
    if found not in names:
        raise SolverError(f"HiGHS ended with {highs.modelStatusToString(found)!r} on {problem.name!r}")
    info = highs.getInfo()
    feasible = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    bound = float(info.mip_dual_bound) if problem.isMIP() else math.inf
    status = names[found]
    answered = status == "optimal" or (status == "stopped" and feasible)
    return _Run(status, answered, bound if math.isfinite(bound) else None)


def _run_cbc(problem: pulp.LpProblem, time_limit: float | None) -> _Run:
    import pulp

    problem.solve(_cbc(time_limit))
    names: dict[int, SolverStatus] = {
        pulp.LpSolutionOptimal: "optimal",
        pulp.LpSolutionInfeasible: "infeasible",
        pulp.LpSolutionUnbounded: "unbounded",
        pulp.LpSolutionIntegerFeasible: "stopped",
        pulp.LpSolutionNoSolutionFound: "stopped",
    }
    answered = problem.sol_status in (pulp.LpSolutionOptimal, pulp.LpSolutionIntegerFeasible)
    return _Run(names[problem.sol_status], answered, None)


def _cbc(time_limit: float | None) -> pulp.LpSolver:
    import pulp

    bundled = getattr(pulp.PULP_CBC_CMD, "pulp_cbc_path", None)
    bundled_there = bundled is not None and os.access(bundled, os.X_OK)
    return pulp.COIN_CMD(
        path=bundled if bundled_there else None, msg=False, gapRel=0.0, gapAbs=0.0, timeLimit=time_limit
    )


def _round_and_check(problem: pulp.LpProblem) -> float:
    """Round the integer variables, check every constraint, and work out the objective again."""
    import pulp

    for variable in problem.variables():
        if variable.cat == pulp.LpInteger:
            variable.varValue = float(round(variable.varValue))
    for place, constraint in enumerate(problem.constraints(), start=1):
        terms = [abs(factor * variable.varValue) for variable, factor in constraint.items()]
        size = max([abs(constraint.constant), 1.0, *terms])
        if not constraint.valid(VIOLATION_ALLOWED * size):
            name = constraint.name or f"constraint {place}"
            raise SolverError(
                f"the answer to {problem.name!r} breaks {name!r} by {abs(constraint.value()):g}"
            )
    return float(pulp.value(problem.objective))


def solve(
    *, problem: pulp.LpProblem, solver: SolverName = "highs", time_limit: float | None = None
) -> SolverResult:
    """Solve a linear or integer programme; the answer is left in the variables of the problem.

    Args: problem, with an objective; solver, "highs" or "cbc"; "highs" falls back to CBC where HiGHS is not
        installed; time_limit [s], None for none.
    Returns: `SolverResult`; integer variables are whole numbers, and the objective, in the problem's unit, is
        worked out again from them.
    Raises: SolverError where no solver can be run, it fails, or an answer breaks a constraint.
    """
    import pulp

    if problem.objective is None:
        raise SolverError(f"{problem.name!r} has no objective")
    began = time.perf_counter()
    ran: SolverName = solver
    if solver == "highs" and not pulp.HiGHS().available():
        ran = "cbc"
    if ran == "highs":
        run = _run_highs(problem, time_limit, "choose")
        if run.status == "undecided":
            run = _run_highs(problem, time_limit, "off")
    else:
        if not _cbc(time_limit).available():
            raise SolverError("neither HiGHS nor CBC can be run: install the package highspy")
        run = _run_cbc(problem, time_limit)
    if run.status == "undecided":
        raise SolverError(f"HiGHS cannot tell whether {problem.name!r} is infeasible or unbounded")

    objective = _round_and_check(problem) if run.answered else None
    bound = None
    if run.status == "optimal":
        bound = objective
    elif run.bound is not None:
        bound = float(problem.objective.constant + problem.sense * run.bound)
    return SolverResult(run.status, objective, bound, ran, time.perf_counter() - began)
