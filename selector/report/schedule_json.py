"""The equipment schedule and the commissioning sheet as JSON: SI, and the keys that every simulated design has."""

from __future__ import annotations

from typing import Any

from selector.decide.commissioning import CommissioningSheet
from selector.decide.duty import Air, DesignHourOfUnit, Duty
from selector.decide.schedule import Schedule, ScheduleRow, SetPoint
from selector.inputs.calendar import name_of_hour
from selector.report.commissioning_text import procedure, sheet_cautions
from selector.report.json_report import about_json, assumptions_json, evaluation_json
from selector.report.parts_json import cautions_json
from selector.report.schedule_text import INTERLOCKS
from selector.report.sequence_text import control_sequence

JOULES_PER_KWH = 3.6e6


def schedule_json(*, schedule: Schedule, answer: str) -> dict[str, Any]:
    """Write a schedule.

    Args: schedule; answer, how the design came about.
    Returns: plain values for `to_text`: the keys of a simulated design, and `schedule`, a list with a unit each.
    """
    site = schedule.site
    return {
        "site": site.name,
        "answer": answer,
        **evaluation_json(schedule.evaluation),
        "set_points": [_set_point(point) for point in schedule.set_points],
        "schedule": [_row(row) for row in schedule.rows],
        "cautions": cautions_json(site=site, install=schedule.evaluation.install),
        **about_json(site=site, shown=schedule.evaluation),
        "assumptions": assumptions_json(site),
    }


def commissioning_json(*, sheet: CommissioningSheet, answer: str) -> dict[str, Any]:
    """Write a commissioning sheet.

    Args: sheet; answer, how the design came about.
    Returns: plain values for `to_text`: those of the schedule, and `commissioning`.
    """
    return {
        **schedule_json(schedule=sheet.schedule, answer=answer),
        "commissioning": {
            "procedure": list(procedure(sheet)) if sheet.sheets else [],
            "units": [
                {
                    "tags": list(one.tags),
                    "model": one.row.unit.model,
                    "arrangement": one.row.arrangement,
                    "curve_against_rating_rows": one.rating_error,
                    "entering_dry_bulb": list(one.entering_dry_bulb),
                    "entering_dew_point": list(one.entering_dew_point),
                    "conditions": [
                        {
                            "condition": at.condition,
                            "coil": at.coil,
                            "share": at.share,
                            **_duty(at.duty),
                            "readings": [
                                {
                                    "reading": reading.quantity,
                                    "expected": reading.expected,
                                    "lowest": reading.low,
                                    "highest": reading.high,
                                    "rests_on": reading.basis,
                                }
                                for reading in at.readings
                            ],
                            "removal_from_air_states_within": at.air_side,
                        }
                        for at in one.conditions
                    ],
                }
                for one in sheet.sheets
            ],
            "tolerances": [
                {"what": one.name, "by": one.value, "unit": one.unit, "source": one.source}
                for one in sheet.tolerances
            ],
            "stages": [
                {
                    "stage": stage.place,
                    "tags": list(stage.tags),
                    "model": stage.model,
                    "arrangement": stage.arrangement,
                    "count": stage.count,
                    "specific_removal_kg_per_kwh": stage.specific,
                }
                for stage in sheet.stages
            ],
            "control_sequence": [
                {"topic": step.topic, "text": step.text} for step in control_sequence(sheet)
            ],
            "cautions": [{"topic": topic, "text": text} for topic, text in sheet_cautions(sheet)],
        },
    }


def _set_point(point: SetPoint) -> dict[str, Any]:
    return {
        "name": point.name,
        "kind": point.kind,
        "limit": point.limit,
        "set_point": point.set_point,
        "hours": point.hours,
    }


def _row(row: ScheduleRow) -> dict[str, Any]:
    unit, circuit = row.unit, row.circuit
    return {
        "tag": row.tag,
        "model": unit.model,
        "technology": unit.technology,
        "arrangement": row.arrangement,
        "control_stage": row.stage,
        "interlock": INTERLOCKS[row.arrangement] or None,
        "airflow": row.airflow,
        "rated_airflow": unit.airflow,
        "external_static_pressure": row.connection.static,
        "duct_pressure": row.connection.duct,
        "duct_diameter": row.connection.diameter,
        "fan_static_pressure": unit.fan_static,
        "design_hour": _hour(row.design),
        "standard": _duty(row.standard),
        "voltage": unit.voltage,
        "phases": unit.phases,
        "current": unit.current,
        "circuit": {
            "ampacity": circuit.ampacity,
            "breaker": circuit.breaker,
            "poles": circuit.poles,
            "series": circuit.series,
            "note": "to be verified by a licensed electrician",
        },
        "weight": unit.weight,
        "size": [unit.length, unit.width, unit.height],
        "drain": row.drain,
        "sound": unit.sound,
        "derived": {"low": row.low, "high": row.high} if row.derived else None,
    }


def _hour(hour: DesignHourOfUnit) -> dict[str, Any]:
    return {
        "hour": name_of_hour(hour.hour),
        "basis": hour.basis,
        "units_running": hour.running,
        "outdoor": _air(hour.outdoor),
        "space": _air(hour.space),
        "removal": hour.removal,
        "states": [{"coil": met.coil, "share": met.share, **_duty(met.duty)} for met in hour.met],
    }


def _duty(duty: Duty) -> dict[str, Any]:
    return {
        "runs": duty.runs,
        "pressure": duty.pressure,
        "airflow": duty.airflow,
        "flow": duty.flow,
        "entering": _air(duty.entering),
        "leaving": _air(duty.leaving),
        "surface": duty.surface,
        "removal": duty.removal,
        "condensate": duty.condensate,
        "power": duty.power,
        "gas": duty.gas,
        "specific_removal_kg_per_kwh": duty.specific_removal * JOULES_PER_KWH,
    }


def _air(air: Air) -> dict[str, float]:
    return {
        "dry_bulb": air.dry_bulb,
        "humidity_ratio": air.humidity_ratio,
        "relative_humidity": air.relative_humidity,
        "dew_point": air.dew_point,
    }
