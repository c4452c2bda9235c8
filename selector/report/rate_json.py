"""What one unit does to one entering state, as JSON: SI."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

from selector.physics.fit import FittedUnit
from selector.physics.rating import Rating, State
from selector.report.json_report import PACKAGE

INVENTED = "invented, not for a bid"


def rate_json(*, fitted: FittedUnit, rating: Rating, invented: bool) -> dict[str, Any]:
    """Write what a unit does to one entering state.

    Args: fitted; rating of it; invented, whether its curve is an example. Returns: plain values, SI.
    """

    def state(one: State | None) -> dict[str, float] | None:
        if one is None:
            return None
        return {
            "dry_bulb": one.dry_bulb,
            "humidity_ratio": one.humidity_ratio,
            "relative_humidity": one.relative_humidity,
            "mist": one.mist,
        }

    return {
        "model": rating.model,
        "technology": fitted.unit.technology,
        "warning": INVENTED if invented else None,
        "runs": rating.runs,
        "pressure": rating.pressure,
        "flow": rating.flow,
        "entering": state(rating.entering),
        "entering_dew_point": rating.entering_dew_point,
        "precooled": state(rating.precooled),
        "apparatus_dew_point": rating.apparatus_dew_point,
        "evaporator_leaving": state(rating.evaporator_leaving),
        "defrost_share": rating.defrost_share,
        "reactivation": state(rating.reactivation),
        "exhaust": state(rating.exhaust),
        "leaving": state(rating.leaving),
        "removal": rating.removal,
        "removal_low": rating.removal_low,
        "removal_high": rating.removal_high,
        "power": rating.power,
        "gas": rating.gas,
        "specific_removal_kg_per_kwh": rating.specific_removal * 3.6e6,
        "derived": rating.derived,
        "rows": [
            {
                "dry_bulb": row.dry_bulb,
                "relative_humidity": row.relative_humidity,
                "removal": row.removal,
                "power": row.power,
                "gas": row.gas,
                "error_removal": error.removal,
                "error_power": error.power,
                "error_gas": error.gas,
            }
            for row, error in zip(fitted.unit.ratings, fitted.row_errors, strict=True)
        ],
        "warnings": list(rating.warnings),
        "version": version(PACKAGE),
    }
