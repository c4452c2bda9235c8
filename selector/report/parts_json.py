"""Parts of the JSON that several results share: derived units, cautions, what a design has to spare."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from selector.decide.results import Margin, OneOut
from selector.inputs.site import Install, Site
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
