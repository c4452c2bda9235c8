"""Results as JSON: SI and the site's currency, keys in a fixed order, finite numbers only.

The same input gives the same bytes, but for `proof.seconds`.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from importlib.metadata import version
from pathlib import Path
from typing import Any

from selector.decide.evaluate import Evaluation
from selector.decide.low_airflow import LOW_AIRFLOW
from selector.decide.results import ArrangementResult, Choice
from selector.inputs.calendar import name_of_hour
from selector.inputs.fingerprint import fingerprint
from selector.inputs.site import Install, Site
from selector.money.installation import uses_price_book
from selector.physics.design_day import DesignDayResult
from selector.physics.fit import FittedUnit
from selector.physics.loads import Loads, SourceTotals
from selector.physics.prepare import Prepared
from selector.report.bill_report import bill_json
from selector.report.bill_text import quantities_json
from selector.report.lines import run_notes, standing_defaults
from selector.report.parts_json import cautions_json, derived_json, life_cycle_json, spare_json
from selector.report.text import show_for
from selector.report.working_json import design_hour_json, months_json, working_json

PACKAGE = "dehumidifier-selector"


def to_text(result: Mapping[str, Any]) -> str:
    """Write a result.

    Args: result, of plain values. Returns: JSON, ended by a line feed; what is not finite is null.
    """
    return json.dumps(_finite(result), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _finite(value: Any) -> Any:
    """The same value in JSON's own types, null for what is not finite, and 0 for -0."""
    if isinstance(value, Mapping):
        return {str(key): _finite(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [_finite(one) for one in value]
    if isinstance(value, bool) or value is None or isinstance(value, (str, int)):
        return value
    number = float(value)
    return number + 0.0 if math.isfinite(number) else None


def install_json(install: Sequence[Install]) -> list[dict[str, Any]]:
    """Write a design.

    Args: install. Returns: a list of model, arrangement and count.
    """
    return [{"model": part.model, "arrangement": part.arrangement, "count": part.count} for part in install]


def evaluation_json(
    evaluation: Evaluation,
    *,
    days: Sequence[DesignDayResult] = (),
    warm_allowed: float | None = None,
    prepared: Prepared | None = None,
) -> dict[str, Any]:
    """Write one design: the keys that every simulated design has.

    Args: evaluation; days, its design days; warm_allowed [h a year]; prepared, the design's site, with which limits are
        written by month and the air of the design hour is.
    Returns: install, costs, humidity, comfort, feasible, limits_broken, moisture_kg, energy_kwh, balance, ...
    """
    costs = evaluation.costs
    worst = evaluation.worst_limit
    return {
        "install": install_json(evaluation.install),
        "costs": {
            "first": costs.first,
            "annual_operating": costs.annual_operating,
            "life_cycle": costs.life_cycle,
            "units": costs.lines.units,
            "installation": costs.lines.installation,
            "bill_of_quantities": quantities_json(costs.quantities),
            "electricity": costs.electricity,
            "gas": costs.gas,
            "maintenance": costs.maintenance,
            "present_value_energy": costs.present_value_energy,
            "peak_kw": costs.peak / 1000.0,
            "carbon_kg": {"electricity": costs.carbon_electricity, "gas": costs.carbon_gas},
            "bill": bill_json(costs.bill),
            "lines": [
                {
                    "kind": line.kind,
                    "model": line.model,
                    "arrangement": line.arrangement,
                    "count": line.count,
                    "each": line.each,
                    "total": line.total,
                }
                for line in costs.lines.lines
            ],
        },
        "humidity": {
            "hours_above": evaluation.hours_above,
            "allowed_hours_above": worst.allowed,
            "maximum_relative_humidity": evaluation.maximum_relative_humidity,
            "maximum_dew_point": evaluation.maximum_dew_point,
            "limits": [
                {
                    "name": one.name,
                    "kind": one.kind,
                    "limit": one.limit,
                    "hours_above": one.hours_above,
                    "allowed_hours_above": one.allowed,
                    "hours_above_only_set_back": one.only_set_back,
                    "worst": one.worst,
                    "worst_hour": name_of_hour(one.worst_hour),
                    **(months_json(prepared=prepared, evaluation=evaluation, place=at) if prepared else {}),
                }
                for at, one in enumerate(evaluation.limits)
            ],
            "design_days": [_day(day) for day in days],
        },
        "comfort": {
            "hours_too_warm": evaluation.hours_too_warm,
            "allowed_hours_too_warm": warm_allowed,
            "hours_short_of_heating": evaluation.short_heating_hours,
            "hours_short_of_cooling": evaluation.short_cooling_hours,
        },
        "feasible": evaluation.feasible,
        "limits_broken": [
            {
                "limit": one.limit,
                "got": one.got,
                "allowed": one.allowed,
                "by": one.got - one.allowed,
                "unit": one.unit,
            }
            for one in evaluation.broken
        ],
        "moisture_kg": evaluation.moisture_kg,
        "energy_kwh": evaluation.energy_kwh,
        "balance": {"moisture": evaluation.balance_moisture, "energy": evaluation.balance_energy},
        "units": {
            "specific_removal": evaluation.specific_removal,
            "current": evaluation.current,
            "currents": [
                {"voltage": voltage, "current": current} for voltage, current in evaluation.currents
            ],
            "sound": evaluation.sound,
            "weight": evaluation.weight,
            "hours_outside_range": evaluation.lost_hours,
            "low_airflow_below": LOW_AIRFLOW,
            "low_airflow": [asdict(one) for one in evaluation.low_airflow],
            "hot_leaving_air": [asdict(one) for one in evaluation.hot_air],
            "hours_coil_below_freezing": evaluation.coil_frost_hours,
            "fan_hours": evaluation.fan_hours_for_units,
        },
        "unsettled_hours": evaluation.unsettled_hours,
        **({"design_hour": design_hour_json(prepared=prepared, evaluation=evaluation)} if prepared else {}),
    }


def _day(day: DesignDayResult) -> dict[str, Any]:
    return {
        "percent": day.percent,
        "outdoor_dew_point": day.dew_point,
        "site_week_from": name_of_hour(day.hours[0]),
        "worst_hour": name_of_hour(day.worst_hour),
        "relative_humidity": day.relative_humidity,
        "dew_point": day.space_dew_point,
        "dry_bulb": day.dry_bulb,
        "units_running": day.units_running,
        "holds": day.holds,
        "limits": [
            {
                "name": one.name,
                "kind": one.kind,
                "limit": one.limit,
                "worst": one.worst,
                "worst_hour": name_of_hour(one.worst_hour),
                "hours_above_in_week": one.hours_above,
            }
            for one in day.limits
        ],
    }


def about_json(*, site: Site, shown: Evaluation | None = None) -> dict[str, Any]:
    """What a result rests on: program, inputs, weather, catalogue.

    Args: site; shown, the design that the result is about, if it is about one. Returns: version, input_sha256,
        currency, weather, catalog, price_book, first_estimate, notes.
    """
    weather, catalog = site.weather, site.catalog
    return {
        "version": version(PACKAGE),
        "input_sha256": fingerprint(site=site),
        "currency": site.costs.currency,
        "profile": site.profile,
        "weather": {
            "kind": weather.kind,
            "elevation": weather.elevation,
            "hours_filled": weather.hours_filled,
        },
        "catalog": {
            "units": len(catalog.units),
            "invented": catalog.invented,
            "warning": "invented prices, not for a bid" if catalog.invented else None,
        },
        "price_book": price_book_json(site),
        "first_estimate": bool(standing_defaults(site)),
        "notes": [*site.notes, *(() if shown is None else run_notes(shown, show_for(site)))],
    }


def price_book_json(site: Site) -> dict[str, Any] | None:
    """Write which price book installation was priced with.

    Args: site. Returns: name, currency, location factor and whether it is invented; None where none was needed.
    """
    book = site.costs.price_book
    if book is None or not uses_price_book(site=site):
        return None
    return {
        "name": Path(book.file).name,
        "currency": book.currency,
        "location_factor": site.costs.location_factor,
        "invented": book.invented,
        "warning": "invented prices, not for a bid" if book.invented else None,
    }


def assumptions_json(site: Site) -> list[dict[str, Any]]:
    """Every value that a run used and where it came from.

    Args: site. Returns: a list, SI.
    """
    return [
        {
            "key": one.key,
            "value": one.value,
            "unit": one.unit,
            "low": one.low,
            "high": one.high,
            "origin": one.origin,
            "source": one.source,
        }
        for one in site.assumptions
    ]


def simulate_json(
    *,
    site: Site,
    evaluation: Evaluation,
    existing: Evaluation,
    days: Sequence[DesignDayResult],
    fitted: Sequence[FittedUnit],
    warm_allowed: float | None,
    prepared: Prepared | None = None,
) -> dict[str, Any]:
    """Write a simulated design.

    Args: site; evaluation; existing, the existing system alone; days of the design; fitted, of the catalogue;
        warm_allowed [h a year]; prepared, the site, as `evaluation_json`.
    Returns: plain values for `to_text`.
    """
    return {
        "site": site.name,
        **evaluation_json(evaluation, days=days, warm_allowed=warm_allowed, prepared=prepared),
        "existing_system": evaluation_json(existing, prepared=prepared),
        "derived_units": derived_json(fitted=fitted, install=evaluation.install),
        "cautions": cautions_json(site=site, install=evaluation.install),
        **about_json(site=site, shown=evaluation),
        "assumptions": assumptions_json(site),
    }


def choose_json(
    *,
    choice: Choice,
    answer: Evaluation,
    days: Sequence[DesignDayResult],
    fitted: Sequence[FittedUnit],
    prepared: Prepared | None = None,
) -> dict[str, Any]:
    """Write a choice.

    Args: choice; answer, the design that is shown; days of it; fitted, of the catalogue; prepared, the site, without
        which nothing is worked out.
    Returns: plain values for `to_text`; where nothing is possible, `answer` says so and the design is the nearest.
    """
    site, proof, allowed = choice.site, choice.proof, choice.warm_allowed
    return {
        "site": site.name,
        "answer": choice.answer,
        **evaluation_json(answer, days=days, warm_allowed=allowed, prepared=prepared),
        "life_cycle_parts": life_cycle_json(site=site, evaluation=answer),
        "proof": {
            "status": proof.status,
            "reason": proof.reason,
            "lower_bound": proof.lower_bound,
            "gap": proof.gap,
            "gap_money": proof.gap_money,
            "designs_possible": proof.designs_possible,
            "designs_simulated": proof.designs_simulated,
            "excluded_by": dict(proof.excluded_by),
            "year_equivalents": proof.year_equivalents,
            "seconds": proof.seconds,
        },
        "best_by_arrangement": {
            one.arrangement: _arrangement(one, prepared) for one in choice.by_arrangement
        },
        "existing_system": evaluation_json(choice.existing, warm_allowed=allowed, prepared=prepared),
        "runner_up": None if choice.runner_up is None else evaluation_json(choice.runner_up),
        **spare_json(margin=choice.margin, out=choice.one_out),
        "limit_moves": [
            {"limit": one.limit, "now": one.now, "needed": one.needed, "unit": one.unit, "status": one.status}
            for one in choice.moves
        ],
        **({} if prepared is None else working_json(prepared=prepared, evaluation=answer)),
        "derived_units": derived_json(fitted=fitted, install=answer.install),
        "cautions": cautions_json(site=site, install=answer.install),
        **about_json(site=site, shown=answer),
        "assumptions": assumptions_json(site),
    }


def _arrangement(one: ArrangementResult, prepared: Prepared | None) -> dict[str, Any]:
    design = one.best or one.closest
    return {
        **(
            {"install": None, "feasible": False}
            if design is None
            else evaluation_json(design, prepared=prepared)
        ),
        "extra_cost": one.extra_cost,
        "reason": one.reason,
    }


def loads_json(*, site: Site, loads: Loads) -> dict[str, Any]:
    """Write the loads of a site.

    Args: site; loads.
    Returns: plain values: moisture in kg, sensible heat in kWh, rates in kg/s and W.
    """

    def totals(sources: Sequence[SourceTotals], scale: float) -> list[dict[str, Any]]:
        return [
            {"source": one.name, "year": one.year * scale, "months": [month * scale for month in one.months]}
            for one in sources
        ]

    def rates(pairs: Sequence[tuple[str, float]]) -> list[dict[str, Any]]:
        return [{"source": name, "rate": value} for name, value in pairs]

    return {
        "site": site.name,
        "moisture_kg": totals(loads.moisture, 1.0),
        "sensible_kwh": totals(loads.sensible, 1.0 / 3.6e6),
        "held_at_limit": {
            "hours": loads.held_hours,
            "moisture_kg": totals(loads.held, 1.0),
            "total_kg": loads.held_total,
            "peak": loads.held_peak,
            "peak_hour": name_of_hour(loads.held_peak_hour),
        },
        "design_hours": [
            {
                "percent": one.percent,
                "outdoor_dew_point": one.outdoor_dew_point,
                "outdoor_dry_bulb": one.outdoor_dry_bulb,
                "hour": name_of_hour(one.hour),
                "space_dry_bulb": one.space_dry_bulb,
                "space_relative_humidity": one.space_relative_humidity,
                "limit_humidity_ratio": one.held_humidity_ratio,
                "moisture_at_limit": rates(one.moisture_held),
                "moisture_at_limit_total": one.moisture_held_total,
                "moisture": rates(one.moisture),
                "sensible": rates(one.sensible),
            }
            for one in loads.design_hours
        ],
        **about_json(site=site),
        "assumptions": assumptions_json(site),
    }
