"""What another engineer checks an answer by, as JSON: moisture by source and month, and one hour worked out.

Each is written from the same values as the page writes. SI; quantities of the worked hour in the unit beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from selector.decide.evaluate import Evaluation
from selector.inputs.calendar import name_of_hour
from selector.physics.moist_air import enthalpy
from selector.physics.prepare import Prepared
from selector.report.charts_states import state_name
from selector.report.moisture_months import moisture_rows
from selector.report.page_hour import WorkedHour, worked_hour
from selector.report.page_parts import Step, Term


def working_json(*, prepared: Prepared, evaluation: Evaluation) -> dict[str, Any]:
    """Write what a design's answer is checked by.

    Args: prepared; evaluation, of the design.
    Returns: moisture_by_source_kg, a list of source, year and months, positive into the space; worked_hour, the worst
        hour by the limit with the least left: time, limit, states and steps.
    """
    return {
        "moisture_by_source_kg": [
            {"source": row.name, "year": row.year, "months": list(row.months)}
            for row in moisture_rows(prepared=prepared, evaluation=evaluation)
        ],
        "worked_hour": _hour(worked_hour(prepared=prepared, evaluation=evaluation)),
    }


def _hour(worked: WorkedHour) -> dict[str, Any]:
    hour = worked.hour
    return {
        "time": name_of_hour(hour.row),
        "limit": {
            "name": hour.limit.name,
            "kind": hour.limit.kind,
            "limit": hour.limit.limit,
            "above_from": worked.above_from,
        },
        "states": [
            {
                "state": state_name(one, hour.air),
                "dry_bulb": one.air.dry_bulb,
                "dew_point": one.air.dew_point,
                "relative_humidity": one.air.relative_humidity,
                "humidity_ratio": one.air.humidity_ratio,
                "enthalpy": float(enthalpy(one.air.dry_bulb, one.air.humidity_ratio)),
            }
            for one in hour.air.states
        ],
        "steps": [_step(one) for one in worked.steps],
    }


def _step(one: Step) -> dict[str, Any]:
    return {
        "name": one.name,
        "title": one.title,
        "given": _terms(one.given),
        "equations": [equation for equation, _ in one.equations],
        "result": _terms(one.result),
        "source": one.source,
    }


def _terms(terms: Sequence[Term]) -> list[dict[str, Any]]:
    return [
        {
            "symbol": one.symbol,
            "what": one.what,
            "value": one.value,
            "unit": "" if one.unit == "-" else one.unit,
        }
        for one in terms
    ]
