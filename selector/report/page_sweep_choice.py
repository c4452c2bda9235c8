"""Today's choice of a sweep put together again: the same designs, with their hours."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from selector.decide.choose import warm_hours_allowed
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.nearest import with_units_out
from selector.decide.results import ArrangementResult, Choice, LimitMove, Margin, OneOut, Proof
from selector.decide.sweep_results import DesignFigures, StepResult
from selector.physics.prepare import Prepared


def choice_of(*, step: StepResult, prepared: Prepared) -> Choice:
    """Put a step's choice together again, with its hours.

    Args: step, with its record; prepared, its site. Returns: `Choice`.
    Raises: ValueError where the step has no record.
    """
    record = step.record
    if record is None:
        raise ValueError("got a step without a record; allowed: one whose sweep was given `record`")
    existing = evaluate(prepared=prepared, install=())
    warm = warm_hours_allowed(prepared=prepared, existing=existing)

    def again(one: DesignFigures | None) -> Evaluation | None:
        if one is None:
            return None
        found = evaluate(prepared=prepared, install=one.install, warm_allowed=warm)
        return with_units_out(prepared=prepared, design=found, warm_allowed=warm)[0]

    alone = again(step.existing)
    assert alone is not None  # a step always has it
    rows = []
    for one in step.by_arrangement:
        design = again(one.design)
        best = design if one.extra_cost is not None else None
        rows.append(
            ArrangementResult(
                one.arrangement, best, design if best is None else None, one.extra_cost, one.why
            )
        )
    margin, out, moves = record["margin"], record["one_unit_out"], record["limit_moves"]
    return Choice(
        site=prepared.site,
        best=again(step.best),
        closest=again(step.closest),
        existing=alone,
        runner_up=again(step.runner_up),
        by_arrangement=tuple(rows),
        margin=None
        if margin is None
        else Margin(margin["extra_moisture"], margin["share"], margin["at_least"]),
        one_out=None if out is None else OneOut(**out),
        moves=tuple(
            LimitMove(one["limit"], one["now"], one["needed"], one["unit"], one["status"]) for one in moves
        ),
        proof=_proof_of(record["proof"]),
    )


def _proof_of(record: Mapping[str, Any]) -> Proof:
    values: dict[str, Any] = {key: math.nan if value is None else value for key, value in record.items()}
    return Proof(**values)
