"""The solver layer: statuses, bounds, silence, repeatability, refusals."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from typing import Any

import pulp
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.decide.solver import SolverError, SolverName, silenced, solve

SOLVERS: tuple[SolverName, ...] = ("highs", "cbc")


def _problem(
    sense: int = pulp.LpMinimize, *, need: float = 7.0, most: float | None = 5.0
) -> tuple[pulp.LpProblem, pulp.LpVariable]:
    problem = pulp.LpProblem("counts", sense)
    count = problem.add_variable("n", 0, most, "Integer")
    problem += 2.0 * count + 1.0
    problem += 3.0 * count >= need
    return problem, count


@pytest.mark.parametrize("solver", SOLVERS)
def test_smallest_count_by_hand(solver: SolverName) -> None:
    # 3 n >= 7 takes n = 3: 2 x 3 + 1 = 7.
    problem, count = _problem()
    result = solve(problem=problem, solver=solver)
    assert (result.status, result.objective, result.bound, result.solver) == ("optimal", 7.0, 7.0, solver)
    assert count.varValue == 3.0
    assert result.seconds > 0.0


@pytest.mark.parametrize("solver", SOLVERS)
def test_largest_count_by_hand(solver: SolverName) -> None:
    problem, _ = _problem(pulp.LpMaximize)
    assert solve(problem=problem, solver=solver).objective == 11.0


@pytest.mark.parametrize("solver", SOLVERS)
def test_infeasible_has_no_objective(solver: SolverName) -> None:
    problem, _ = _problem(need=17.0)
    result = solve(problem=problem, solver=solver)
    assert (result.status, result.objective, result.bound) == ("infeasible", None, None)


@pytest.mark.parametrize("solver", SOLVERS)
def test_unbounded_is_not_called_infeasible(solver: SolverName) -> None:
    problem, _ = _problem(pulp.LpMaximize, most=None)
    result = solve(problem=problem, solver=solver)
    assert (result.status, result.objective) == ("unbounded", None)


def _hard_problem() -> pulp.LpProblem:
    """An invented market-split problem: small, and hard enough to be stopped before it is proved."""
    draw = random.Random(5)
    problem = pulp.LpProblem("split", pulp.LpMinimize)
    take = [problem.add_variable(f"x{place:02d}", 0, 1, "Integer") for place in range(40)]
    slack = []
    for row in range(5):
        weights = [draw.randrange(100) for _ in take]
        over, under = (problem.add_variable(f"{side}{row}", 0) for side in ("over", "under"))
        slack += [over, under]
        problem += (
            pulp.lpSum(w * x for w, x in zip(weights, take, strict=True)) + over - under == sum(weights) // 2
        )
    problem += pulp.lpSum(slack)
    return problem


@pytest.mark.parametrize("solver", SOLVERS)
def test_stopped_is_never_called_optimal(solver: SolverName) -> None:
    result = solve(problem=_hard_problem(), solver=solver, time_limit=0.5)
    assert result.status == "stopped"
    if result.objective is not None and result.bound is not None:
        assert result.bound < result.objective


@pytest.mark.parametrize("solver", SOLVERS)
def test_stopped_at_once_is_stopped(solver: SolverName) -> None:
    draw = random.Random(3)
    problem = pulp.LpProblem("many", pulp.LpMaximize)
    take = [problem.add_variable(f"x{place}", 0, 1, "Integer") for place in range(60)]
    problem += pulp.lpSum(draw.randint(100, 999) * x for x in take)
    for _ in range(8):
        problem += pulp.lpSum(draw.randint(100, 999) * x for x in take) <= 15000
    result = solve(problem=problem, solver=solver, time_limit=1e-4)
    assert result.status == "stopped"


@pytest.mark.parametrize("solver", SOLVERS)
def test_nothing_reaches_the_screen(solver: SolverName, capfd: pytest.CaptureFixture[str]) -> None:
    problem, _ = _problem()
    solve(problem=problem, solver=solver)
    problem, _ = _problem(need=17.0)
    solve(problem=problem, solver=solver)
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("solver", SOLVERS)
def test_nothing_reaches_a_pipe_in_a_process_of_its_own(solver: SolverName) -> None:
    # Compiled code keeps a buffer of its own, which a pipe would show late, at the end of the process.
    code = (
        "import pulp\n"
        "from selector.decide.solver import solve\n"
        "problem = pulp.LpProblem('counts', pulp.LpMinimize)\n"
        "n = problem.add_variable('n', 0, 5, 'Integer')\n"
        "problem += 2 * n\n"
        "problem += 3 * n >= 7\n"
        "print('before')\n"
        f"print(solve(problem=problem, solver={solver!r}).objective)\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout == "before\n6.0\n"
    assert run.stderr == ""


def test_what_is_printed_around_the_block_stays(capfd: pytest.CaptureFixture[str]) -> None:
    os.write(1, b"before\n")
    with silenced():
        os.write(1, b"hidden\n")
    os.write(1, b"after\n")
    assert capfd.readouterr().out == "before\nafter\n"


def test_output_comes_back_after_a_failure(capfd: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(RuntimeError, match="inside"), silenced():
        raise RuntimeError("inside")
    os.write(1, b"after\n")
    assert capfd.readouterr().out == "after\n"


def test_process_without_standard_output_is_left_alone() -> None:
    code = (
        "import os, sys\n"
        "os.close(1)\n"
        "from selector.decide.solver import silenced\n"
        "with silenced():\n"
        "    pass\n"
        "os.write(2, b'done')\n"
        "os._exit(0)\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stderr == "done"


def test_cbc_takes_over_where_highs_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pulp.HiGHS, "available", lambda self: False)
    problem, _ = _problem()
    result = solve(problem=problem)
    assert (result.status, result.objective, result.solver) == ("optimal", 7.0, "cbc")


def test_no_solver_at_all_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pulp.HiGHS, "available", lambda self: False)
    monkeypatch.setattr(pulp.COIN_CMD, "available", lambda self: False)
    problem, _ = _problem()
    with pytest.raises(SolverError, match="neither HiGHS nor CBC can be run"):
        solve(problem=problem)


def test_problem_without_objective_is_refused() -> None:
    problem = pulp.LpProblem("empty", pulp.LpMinimize)
    with pytest.raises(SolverError, match="'empty' has no objective"):
        solve(problem=problem)


def test_answer_that_breaks_a_constraint_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    problem, count = _problem()
    real = pulp.LpProblem.solve

    def wrong(self: pulp.LpProblem, *arguments: Any, **options: Any) -> int:
        status: int = real(self, *arguments, **options)
        count.varValue = 2.0
        return status

    monkeypatch.setattr(pulp.LpProblem, "solve", wrong)
    with pytest.raises(SolverError, match=r"the answer to 'counts' breaks 'constraint 1' by 1"):
        solve(problem=problem)


@pytest.mark.parametrize("solver", SOLVERS)
def test_same_problem_same_answer(solver: SolverName) -> None:
    # Ten items of equal price and weight, five to be taken: 252 answers of the same cost.
    answers = set()
    for _ in range(3):
        problem = pulp.LpProblem("ties", pulp.LpMinimize)
        take = [problem.add_variable(f"x{place}", 0, 1, "Integer") for place in range(10)]
        problem += pulp.lpSum(take)
        problem += pulp.lpSum(take) >= 5
        solve(problem=problem, solver=solver)
        answers.add(tuple(x.varValue for x in take))
    assert len(answers) == 1


@settings(max_examples=40)
@given(
    sizes=st.lists(st.integers(1, 12), min_size=1, max_size=4),
    prices=st.lists(st.integers(1, 50), min_size=4, max_size=4),
    need=st.integers(0, 30),
)
def test_solvers_agree_and_options_prices_and_limits_move_the_optimum_one_way(
    sizes: list[int], prices: list[int], need: int
) -> None:
    def optimum(
        used: int, prices: list[int], need: int, kind: str = "Integer", solver: SolverName = "highs"
    ) -> float:
        problem = pulp.LpProblem("covering", pulp.LpMinimize)
        count = [problem.add_variable(f"n{place}", 0, 30, kind) for place in range(used)]
        problem += pulp.lpSum(p * n for p, n in zip(prices, count, strict=False))
        problem += pulp.lpSum(s * n for s, n in zip(sizes, count, strict=False)) >= need
        found = solve(problem=problem, solver=solver).objective
        assert found is not None
        return found

    used = len(sizes)
    best = optimum(used, prices, need)
    assert optimum(used, prices, need, solver="cbc") == best
    assert optimum(used, prices, need, kind="Continuous") <= best + 1e-9
    assert optimum(used, [max(1, prices[0] - 5), *prices[1:]], need) <= best
    assert optimum(used, prices, max(0, need - 3)) <= best
    if used > 1:
        assert best <= optimum(used - 1, prices, need)
