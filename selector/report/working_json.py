"""What another engineer checks an answer by, as JSON: moisture and humidity by month, air in the design hour, one hour
worked out.

Each is written from the same values as the page writes. SI; quantities of the worked hour in the unit beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from selector.decide.evaluate import Evaluation
from selector.inputs.calendar import name_of_hour
from selector.physics.moist_air import enthalpy
from selector.physics.prepare import Prepared
from selector.report.charts_states import DesignAir, design_air, state_name
from selector.report.humidity_months import limit_months
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


def months_json(*, prepared: Prepared, evaluation: Evaluation, place: int) -> dict[str, Any]:
    """Write one limit month by month.

    Args: prepared; evaluation, of the design; place of the limit among the site's.
    Returns: highest_by_month, null where the limit is not in force, and hours_above_by_month.
    """
    months = limit_months(prepared=prepared, evaluation=evaluation, place=place)
    return {
        "highest_by_month": [one.highest for one in months],
        "hours_above_by_month": [one.hours_above for one in months],
    }


def design_hour_json(*, prepared: Prepared, evaluation: Evaluation) -> dict[str, Any]:
    """Write the air of a design in its design hour, as its psychrometric chart draws it.

    Args: prepared; evaluation, of the design.
    Returns: time, percent (null for an hour of the year), pressure, what fan and coil do, states, and the processes
        that lead from one of them to another, by their places from 1.
    """
    air = design_air(prepared=prepared, evaluation=evaluation)
    return {
        "time": name_of_hour(air.hour),
        "percent": air.percent,
        "pressure": air.pressure,
        "fan_share": air.fan_share,
        "coil_share": air.coil_share,
        "coil_stage": air.coil_stage,
        "rest_of_the_time": air.rest or None,
        "states": _states(air),
        "processes": [
            {"kind": one.kind, "from": one.start + 1, "to": one.end + 1, "in_the_rest": one.rest}
            for one in air.processes
        ],
    }


def _states(air: DesignAir) -> list[dict[str, Any]]:
    return [
        {
            "state": state_name(one, air),
            "dry_bulb": one.air.dry_bulb,
            "dew_point": one.air.dew_point,
            "relative_humidity": one.air.relative_humidity,
            "humidity_ratio": one.air.humidity_ratio,
            "enthalpy": float(enthalpy(one.air.dry_bulb, one.air.humidity_ratio)),
        }
        for one in air.states
    ]


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
        "states": _states(hour.air),
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
