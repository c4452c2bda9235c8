"""Takes the limits of a search from the command line into the site."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from selector.inputs.errors import Faults
from selector.inputs.site import Site


def judge_search(
    *, solver: str, solvers: Sequence[str], seconds: float | None, work_years: float | None, faults: Faults
) -> None:
    """Check how a search is to be run.

    Args: solver, one of solvers; seconds [s], a clock limit, or None; work_years, simulated years at most, or None;
        faults, takes what is wrong.
    """
    if solver not in solvers:
        faults.add(file="--solver", where="option", got=f'"{solver}"', allowed=" or ".join(solvers))
    for option, value in (("--seconds", seconds), ("--work-years", work_years)):
        if value is not None and not (value > 0.0 and math.isfinite(value)):
            faults.add(file=option, where="option", got=f"{value:g}", allowed="a number above 0")


def limit_search(*, site: Site, work_years: float | None) -> Site:
    """Put the work limit of a search into the site.

    Args: site; work_years, simulated years at most, None for the site's own.
    Returns: the site with the work limit, recorded as given.
    """
    if work_years is None:
        return site
    assumptions = tuple(
        replace(one, value=work_years, low=None, high=None, origin="given", source="--work-years")
        if one.key == "limits.work_years"
        else one
        for one in site.assumptions
    )
    return replace(site, limits=replace(site.limits, work_years=work_years), assumptions=assumptions)
