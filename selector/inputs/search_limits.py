"""Takes the limits of a search from the command line into the site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from selector.inputs.errors import Faults
from selector.inputs.quantities import QuantityError, parse_number
from selector.inputs.site import Site


def judge_search(
    *, solver: str, solvers: Sequence[str], seconds: str | None, work_years: str | None, faults: Faults
) -> tuple[float | None, float | None]:
    """Check how a search is to be run.

    Args: solver, one of solvers; seconds [s], a clock limit as written, or None; work_years, simulated years at most as
        written, or None; faults, takes what is wrong.
    Returns: seconds [s] and work_years, None where one is absent or wrong.
    """
    if solver not in solvers:
        faults.add(file="--solver", where="option", got=f'"{solver}"', allowed=" or ".join(solvers))
    return _above_zero("--seconds", seconds, faults), _above_zero("--work-years", work_years, faults)


def _above_zero(option: str, text: str | None, faults: Faults) -> float | None:
    if text is None:
        return None
    try:
        value = parse_number(text)
    except QuantityError:
        value = 0.0
    if value > 0.0:
        return value
    faults.add(file=option, where="option", got=f'"{text}"', allowed="a number above 0")
    return None


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
