"""A comparison as JSON: each option in the shape of a simulated design, with its rank, reason and what was levelled.

SI and the site's currency, as `json_report` writes everything.
"""

from __future__ import annotations

from typing import Any

from selector.decide.compare import Comparison, OptionResult
from selector.decide.evaluate import prepare_site
from selector.decide.levelling import EnteringAir, LevelledRating
from selector.inputs.calendar import name_of_hour
from selector.inputs.site import Assumption, assumptions_of_options
from selector.money.economics import Measures
from selector.physics.prepare import Prepared
from selector.physics.rating import Rating
from selector.report.json_report import about_json, assumptions_json, evaluation_json
from selector.report.parts_json import cautions_json, derived_json, spare_json
from selector.report.working_json import working_json


def compare_json(*, comparison: Comparison, prepared: Prepared | None = None) -> dict[str, Any]:
    """Write a comparison.

    Args: comparison; prepared, its site, without which nothing is worked out.
    Returns: plain values for `to_text`; what is worked out is of the option that ranks first.
    """
    site = comparison.site
    best = comparison.best
    base = comparison.options[comparison.base]
    choice = comparison.choice
    shown = comparison.options[0]
    return {
        "site": site.name,
        "answer": "not possible" if best is None else best.option.name,
        "options": [_option(one, comparison, prepared) for one in comparison.options],
        "base": {"name": base.option.name, "reason": comparison.base_reason},
        "rated_at": [_air(air) for air in comparison.air],
        "choice": None
        if choice is None
        else {
            "status": choice.proof.status,
            "reason": choice.proof.reason,
            "designs_possible": choice.proof.designs_possible,
            "year_equivalents": choice.proof.year_equivalents,
        },
        **({} if prepared is None else _working(shown, prepared)),
        "cautions": cautions_json(site=shown.option.site, install=shown.evaluation.install),
        **about_json(site=site),
        "assumptions": [
            *assumptions_json(site),
            *(_assumption(one) for one in assumptions_of_options(site=site)),
        ],
    }


def _working(one: OptionResult, prepared: Prepared) -> dict[str, Any]:
    own = prepared_of(option=one, prepared=prepared)
    return working_json(prepared=own, evaluation=one.evaluation)


def prepared_of(*, option: OptionResult, prepared: Prepared) -> Prepared:
    """Prepare an option's own site, where it brings units or changes of its own.

    Args: option; prepared, the site that is compared on. Returns: `Prepared`.
    """
    if option.option.site is prepared.site:
        return prepared
    return prepare_site(site=option.option.site, fitted=option.fitted)


def _assumption(one: Assumption) -> dict[str, Any]:
    return {
        "key": one.key,
        "value": one.value,
        "unit": one.unit,
        "low": one.low,
        "high": one.high,
        "origin": one.origin,
        "source": one.source,
    }


def _option(one: OptionResult, comparison: Comparison, prepared: Prepared | None) -> dict[str, Any]:
    evaluation = one.evaluation
    own = None if prepared is None else prepared_of(option=one, prepared=prepared)
    return {
        "name": one.option.name,
        "by": one.option.by or None,
        "kind": one.option.kind,
        "rank": one.rank,
        "reason": one.reason,
        **evaluation_json(evaluation, days=one.days, warm_allowed=comparison.warm_allowed, prepared=own),
        "hours_above_by_month": list(one.months_above),
        "life_cycle": {
            "first": one.life_cycle.first,
            "electricity": one.life_cycle.electricity,
            "gas": one.life_cycle.gas,
            "maintenance": one.life_cycle.maintenance,
            "replacement": one.life_cycle.replacement,
            "residual": one.life_cycle.residual,
            "total": one.life_cycle.total,
            "annualised": one.life_cycle.annualised,
        },
        "levelled": {
            "basis": one.price.basis,
            "offered": one.price.offered,
            "added": [{"section": each.section, "amount": each.amount} for each in one.price.added],
            "total": one.price.total,
            "ratings": [_rating(each, comparison.air) for each in one.ratings],
        },
        "misfits": [
            {
                "model": each.model,
                "limits_broken": [
                    {"limit": limit.limit, "got": limit.got, "allowed": limit.allowed, "unit": limit.unit}
                    for limit in each.broken
                ],
            }
            for each in one.misfits
        ],
        **spare_json(margin=one.margin, out=one.one_out),
        "economics": None if one.measures is None else _measures(one.measures),
        "derived_units": derived_json(fitted=one.fitted, install=evaluation.install),
    }


def _measures(found: Measures) -> dict[str, Any]:
    return {
        "net_savings": found.net_savings,
        "savings": found.savings,
        "added_investment": found.added_investment,
        "savings_to_investment": found.savings_to_investment,
        "adjusted_rate_of_return": found.adjusted_rate_of_return,
        "nominal_rate_of_return": found.nominal_rate_of_return,
        "simple_payback_years": found.simple_payback,
        "discounted_payback_years": found.discounted_payback,
    }


def _air(air: EnteringAir) -> dict[str, Any]:
    return {
        "name": air.name,
        "dry_bulb": air.dry_bulb,
        "relative_humidity": air.relative_humidity,
        "pressure": air.pressure,
        "outdoor_dry_bulb": air.outdoor_dry_bulb,
        "outdoor_relative_humidity": air.outdoor_relative_humidity,
        "percent": air.percent,
        "hour": None if air.hour is None else name_of_hour(air.hour),
    }


def _rating(one: LevelledRating, states: tuple[EnteringAir, ...]) -> dict[str, Any]:
    return {
        "model": one.model,
        "count": one.count,
        "own_rating": one.own,
        "as_rated": {
            "dry_bulb": one.offered.dry_bulb,
            "relative_humidity": one.offered.relative_humidity,
            "removal": one.offered.removal,
            "power": one.offered.power,
            "gas": one.offered.gas,
        },
        "levelled": [{"at": air.name, **_on(rating)} for air, rating in zip(states, one.at, strict=True)],
    }


def _on(rating: Rating) -> dict[str, Any]:
    return {
        "runs": rating.runs,
        "removal": rating.removal,
        "removal_low": rating.removal_low,
        "removal_high": rating.removal_high,
        "power": rating.power,
        "gas": rating.gas,
        "specific_removal_kg_per_kwh": rating.specific_removal * 3.6e6,
    }
