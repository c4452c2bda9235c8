"""Parts of the JSON that several results share: derived units, cautions, what a design has to spare."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from selector.decide.evaluate import Evaluation, life_cycle_of
from selector.decide.results import Margin, OneOut
from selector.inputs.site import Install, Site
from selector.money.first_cost import unit_of
from selector.money.installation import owner_price
from selector.money.life_cycle import replacements
from selector.physics.fit import FittedUnit
from selector.report.cautions import cautions


def derived_json(*, fitted: Iterable[FittedUnit], install: Iterable[Install]) -> list[dict[str, Any]]:
    """Write which units of a design are known by the curve of their class only.

    Args: fitted, of the catalogue; install. Returns: a list of model, rating rows, and low and high, factors on
        removal.
    """
    chosen = {part.model for part in install}
    return [
        {"model": one.unit.model, "rating_rows": len(one.unit.ratings), "low": one.low, "high": one.high}
        for one in fitted
        if one.derived and one.unit.model in chosen
    ]


def cautions_json(*, site: Site, install: Iterable[Install]) -> list[dict[str, str]]:
    """Write what to look out for with a design.

    Args: site; install. Returns: a list of topic and text.
    """
    return [asdict(one) for one in cautions(site=site, install=install)]


def spare_json(*, margin: Margin | None, out: OneOut | None) -> dict[str, Any]:
    """Write what a design has to spare.

    Args: margin; out, with one unit out of service. Returns: margin and one_unit_out, None where there is none.
    """
    return {
        "margin": None
        if margin is None
        else {"extra_moisture": margin.extra_vapour, "share": margin.share, "at_least": margin.at_least},
        "one_unit_out": None if out is None else asdict(out),
    }


def life_cycle_json(*, site: Site, evaluation: Evaluation) -> dict[str, Any]:
    """Write what a life-cycle cost is the sum of.

    Args: site; evaluation, of units. Returns: present values [currency] that add up to the total, and for each model
        bought its count, service life [year], price of one, years in which it is bought again, and the share of the
        last one's life that is left at the end.
    """
    life = life_cycle_of(site=site, evaluation=evaluation)
    units = []
    for part in evaluation.install:
        unit = unit_of(site=site, model=part.model)
        years, left = replacements(service_life=unit.service_life, study_period=site.costs.study_period)
        units.append(
            {
                "model": unit.model,
                "count": part.count,
                "service_life": unit.service_life,
                "price": owner_price(costs=site.costs, unit=unit),
                "bought_again": list(years),
                "life_left": left,
            }
        )
    return {
        "first": life.first,
        "electricity": life.electricity,
        "gas": life.gas,
        "maintenance": life.maintenance,
        "replacement": life.replacement,
        "residual": life.residual,
        "total": life.total,
        "units": units,
    }
