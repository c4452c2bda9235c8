"""A sweep as JSON and as CSV: SI and the site's currency."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Mapping, Sequence
from typing import Any

from selector.decide.results import Choice
from selector.decide.sweep_results import DesignFigures, Side, Span, StepResult, Sweep, Switch
from selector.inputs.install_text import text_of
from selector.inputs.site import Install
from selector.physics.design_day import simulate_design_day
from selector.physics.prepare import Prepared, lead_order
from selector.report.choose_screen import answer_of
from selector.report.figures import MARKS
from selector.report.json_report import about_json, assumptions_json, choose_json, install_json, to_text
from selector.report.lines import marks
from selector.report.sweep_words import (
    held_texts,
    none_text,
    si_unit,
    step_for,
    step_site,
    table_unit,
    title_of,
)


def record_of(choice: Choice, prepared: Prepared) -> Mapping[str, Any]:
    """Make what `choose` writes of a step's choice; it runs where the step does.

    Args: choice; prepared, its site. Returns: plain values, as they are read back from JSON.
    """
    shown = answer_of(choice)
    every = lead_order(prepared=prepared, install=(*shown.install, *prepared.site.existing_units))
    days = tuple(
        simulate_design_day(prepared=prepared, install=every, day=day)
        for day in prepared.site.weather.design_days
    )
    result = choose_json(choice=choice, answer=shown, days=days, fitted=prepared.fitted, prepared=prepared)
    plain: dict[str, Any] = json.loads(to_text(result))
    return plain


def sweep_json(*, sweep: Sweep) -> dict[str, Any]:
    """Write a sweep.

    Args: sweep, whose steps have records of `record_of`.
    Returns: plain values for `to_text`: what is varied, `steps`, each as `choose` writes it with its `value`,
        `switch_over`, and what lies between.
    """
    single = len(sweep.variations) == 1
    return {
        "site": sweep.site.name,
        "vary": [
            {
                "name": one.parameter.name,
                "of": one.of or None,
                "what": title_of(one),
                "key": one.parameter.key or None,
                "unit": si_unit(site=sweep.site, variation=one),
                "today": now,
                "values": list(one.files) or list(one.values),
            }
            for one, now in zip(sweep.variations, sweep.today, strict=True)
        ],
        "held": list(held_texts(sweep)),
        "today": {
            **(sweep.now.record or {}),
            "install": None if sweep.now.install is None else install_json(sweep.now.install),
            "life_cycle": None if sweep.now.best is None else sweep.now.best.life_cycle,
        },
        "steps": [_step(sweep, place) for place in range(len(sweep.steps))],
        "switch_over": [_switch(one) for one in sweep.switches],
        "resolution": sweep.resolution,
        "existing_system_holds": _spans(sweep, sweep.existing_holds) if single else None,
        "existing_system_good_to": sweep.existing_good_to if single and not sweep.interrupted else None,
        "existing_system_holds_below": None
        if sweep.existing_below is None
        else _spans(sweep, sweep.existing_below),
        "today_design_holds": _spans(sweep, sweep.staying_holds) if single else None,
        "existing_system_short_of_cooling": _spans(sweep, sweep.short_cooling) if single else None,
        "existing_system_short_of_heating": _spans(sweep, sweep.short_heating) if single else None,
        "steps_wanted": sweep.wanted,
        "steps_reused": sweep.reused,
        "interrupted": sweep.interrupted,
        "year_equivalents": sweep.year_equivalents,
        "seconds": sweep.seconds,
        **about_json(site=sweep.site),
        "assumptions": assumptions_json(sweep.site),
    }


def _value(sweep: Sweep, step: StepResult) -> Any:
    """A number for one variation, a list for two, a name for a file."""
    values = [
        one.files[round(value)] if one.files else value
        for one, value in zip(sweep.variations, step.values, strict=True)
    ]
    return values[0] if len(values) == 1 else values


def _step(sweep: Sweep, place: int) -> dict[str, Any]:
    step = sweep.steps[place]
    staying = step.staying
    return {
        "value": _value(sweep, step),
        **(step.record or {}),
        "today_design": None
        if staying is None
        else {
            "install": install_json(staying.install),
            "feasible": staying.feasible,
            "first": staying.first,
            "annual_operating": staying.annual_operating,
            "life_cycle": staying.life_cycle,
            "hours_above": staying.hours_above,
            "extra_cost": step.regret,
            "limits_broken": list(staying.broken),
        },
        "marginal_cost": _marginal(sweep, place),
    }


def _marginal(sweep: Sweep, place: int) -> float | None:
    """Currency by SI unit, to the next step."""
    if len(sweep.variations) != 1 or not sweep.variations[0].is_continuous or place + 1 >= len(sweep.steps):
        return None
    return sweep.marginal(place)


def _side(one: Side) -> dict[str, Any]:
    return {
        "value": one.value,
        "install": None if one.install is None else install_json(one.install),
        "life_cycle": one.cost,
        "other_life_cycle": one.other_cost,
        "other": None
        if one.other is None
        else {
            "life_cycle": one.other.life_cycle,
            "hours_above": one.other.hours_above,
            "feasible": one.other.feasible,
            "limits_broken": list(one.other.broken),
        },
        "proved": one.proved,
    }


def _switch(one: Switch) -> dict[str, Any]:
    return {"value": one.value, "below": _side(one.low), "above": _side(one.high)}


def _spans(sweep: Sweep, spans: Sequence[Span]) -> list[dict[str, Any]] | None:
    if sweep.resolution is None or sweep.interrupted:
        return None
    return [{"from": one.low, "to": one.high} for one in spans]


def _design(install: Sequence[Install]) -> str:
    return " + ".join(text_of(part) for part in install) or "nothing"


def sweep_csv(*, sweep: Sweep) -> str:
    """Write a sweep as a table, a row a step.

    Args: sweep. Returns: CSV, SI and the site's currency, prices by the kWh and air changes by the hour, units in the
        headings.
    """
    site, code = sweep.site, sweep.site.costs.currency
    heads, parts = [], []
    for one in sweep.variations:
        unit, part = table_unit(site=site, variation=one)
        heads.append(f"{one.parameter.name} [{unit}]" if unit else one.parameter.name)
        parts.append(part)
    marginal = ""
    if len(sweep.variations) == 1:
        amount, words = step_for(site=site, variation=sweep.variations[0])
        marginal = f"further cost by {words} [{code}]" if sweep.variations[0].is_continuous else ""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(
        [
            *heads, "status", "design", f"first cost [{code}]", f"annual operating [{code}/year]",
            f"life-cycle cost [{code}]", "hours above [h/year]", "hours allowed above [h/year]",
            "maximum relative humidity", "maximum dew point [degC]", "hours too warm [h/year]",
            "runner-up", f"runner-up life-cycle cost [{code}]", "design of today", "design of today holds",
            f"design of today, life-cycle cost [{code}]", f"design of today, extra cost [{code}]",
            "existing system holds", "existing system, hours above [h/year]",
            f"existing system, annual operating [{code}/year]",
            "existing system, hours short of cooling [h/year]", "existing system, hours short of heating [h/year]",
            *([marginal] if marginal else []), MARKS,
        ]
    )  # fmt: skip
    for place, step in enumerate(sweep.steps):
        row: list[Any] = [
            one.files[round(value)] if one.files else repr(value) if part == 1.0 else f"{value / part:.12g}"
            for one, value, part in zip(sweep.variations, step.values, parts, strict=True)
        ]
        row += [step.status, none_text(sweep=sweep) if step.install is None else _design(step.install)]
        row += _columns(step.best or step.closest)
        row += (
            [_design(step.runner_up.install), repr(step.runner_up.life_cycle)] if step.runner_up else ["", ""]
        )
        staying = step.staying
        if staying is None:
            row += [""] * 4
        else:
            extra = "" if step.regret is None else repr(step.regret)
            row += [_design(staying.install), _yes(staying.feasible), repr(staying.life_cycle), extra]
        there = step.existing
        row += [_yes(there.feasible), there.hours_above, repr(there.annual_operating)]
        row += [there.short_cooling_hours, there.short_heating_hours]
        if marginal:
            more = _marginal(sweep, place)
            row.append("" if more is None else repr(more * amount))
        writer.writerow([*row, "; ".join(marks(step_site(sweep, step), money=True))])
    return text.getvalue()


def _yes(holds: bool) -> str:
    return "yes" if holds else "no"


def _columns(one: DesignFigures | None) -> list[Any]:
    if one is None:
        return [""] * 8
    return [
        repr(one.first), repr(one.annual_operating), repr(one.life_cycle), one.hours_above,
        f"{one.allowed_hours_above:g}", repr(one.maximum_relative_humidity), repr(one.maximum_dew_point),
        one.hours_too_warm,
    ]  # fmt: skip
