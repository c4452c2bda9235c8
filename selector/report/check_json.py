"""What `check` finds, as plain values for `json_report.to_text`."""

from __future__ import annotations

from typing import Any

from selector.decide.default_effects import DefaultEffects, Outcome
from selector.decide.limits import stream_airflow
from selector.inputs.site import ARRANGEMENTS, Catalog
from selector.physics.coil import CoilRating
from selector.physics.fit import FittedUnit
from selector.physics.prepare import Prepared
from selector.report.check_screen import units_that_fit
from selector.report.json_report import about_json, assumptions_json


def site_json(*, prepared: Prepared, coil: CoilRating | None) -> dict[str, Any]:
    """What was read from a site.

    Args: prepared; coil, its rating, None without an air handler.
    Returns: plain values, SI.
    """
    site = prepared.site
    units = site.catalog.units
    return {
        "site": site.name,
        "faults": [],
        "coil": None
        if coil is None
        else {
            "apparatus_dew_point": coil.surface,
            "bypass_factor": coil.bypass_factor,
            "sensible_heat_ratio": coil.sensible_heat_ratio,
        },
        "design_days": [
            {
                "percent": day.percent,
                "dew_point": day.dew_point,
                "maximum_dry_bulb": float(day.dry_bulb.max()),
            }
            for day in site.weather.design_days
        ],
        "arrangements": {
            name: {
                "airflow": stream_airflow(site=site, arrangement=code),
                "models": {
                    unit.model: {
                        "static": prepared.connections[row, code].static,
                        "airflow_fraction": prepared.connections[row, code].flow_fraction,
                        "units_that_fit": units_that_fit(prepared=prepared, row=row, arrangement=code),
                    }
                    for row, unit in enumerate(units)
                    if (row, code) in prepared.connections
                },
            }
            for code, name in enumerate(ARRANGEMENTS)
            if name in site.limits.arrangements
        },
        **about_json(site=site),
        "assumptions": assumptions_json(site),
    }


def defaults_json(*, prepared: Prepared, effects: DefaultEffects) -> dict[str, Any]:
    """The defaults in use and what they do.

    Args: prepared; effects.
    Returns: plain values, SI and the site's currency.
    """

    def outcome(one: Outcome | None) -> dict[str, Any] | None:
        return (
            None
            if one is None
            else {"hours_above": one.hours_above, "annual_operating": one.annual_operating}
        )

    return {
        "site": prepared.site.name,
        "existing_system": {
            "hours_above": effects.base.hours_above,
            "annual_operating": effects.base.costs.annual_operating,
        },
        "defaults": [
            {
                "key": one.assumption.key,
                "value": one.assumption.value,
                "unit": one.assumption.unit,
                "low": one.assumption.low,
                "high": one.assumption.high,
                "at_low": outcome(one.low),
                "at_high": outcome(one.high),
                "origin": one.assumption.origin,
                "source": one.assumption.source,
                "find": one.assumption.find,
            }
            for one in effects.effects
        ],
        **about_json(site=prepared.site),
    }


def catalog_json(*, catalog: Catalog, fitted: tuple[FittedUnit, ...]) -> dict[str, Any]:
    """What was read from a catalogue.

    Args: catalog; fitted, its units.
    Returns: plain values, SI and the catalogue's currency.
    """
    return {
        "catalog": catalog.folder,
        "currency": catalog.currency,
        "invented": catalog.invented,
        "faults": [],
        "units": [
            {
                "model": one.unit.model,
                "technology": one.unit.technology,
                "rating_rows": len(one.unit.ratings),
                "largest_error": max(
                    abs(value) for row in one.row_errors for value in (row.removal, row.power, row.gas)
                ),
                "derived": one.derived,
                "low": one.low,
                "high": one.high,
                "price": one.unit.price,
            }
            for one in fitted
        ],
    }
