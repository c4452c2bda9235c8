"""An invented hall, what is chosen for it, and what its choice costs."""

from __future__ import annotations

import functools
from dataclasses import replace
from typing import Any

import numpy as np

from selector.decide.choose import choose
from selector.decide.evaluate import prepare_site
from selector.decide.results import Choice
from selector.inputs.site import HOURS, Arrangement, HeatGain, MoistureGain, Site, Unit
from selector.physics.fit import FittedUnit
from tests.decide.small_cases import DAY, fitted_unit, weather_of
from tests.physics.sites_for_tests import humidity_limit, make_air_handler, steady_site

MODELS = ("precool-60", "compressor-60", "rotor-60")
EVERY: tuple[Arrangement, ...] = ("return-side", "supply-side", "standalone")


def hall(
    *,
    models: tuple[str, ...] = MODELS,
    allowed: float = 40.0,
    limit: float = 0.60,
    vapour: float = 4e-4,
    outdoor: float = 0.08,
    **limits: Any,
) -> Site:
    """An invented space with seasons, its air handler on by day."""
    site = steady_site(
        units=tuple(fitted_unit(model).unit for model in models),
        gains=(
            HeatGain("lights", 2500.0, DAY.astype(float)),
            MoistureGain("process", vapour, "water", np.ones(HOURS)),
        ),
        air_handler=make_air_handler(ventilation=DAY.astype(float), outdoor_airflow=outdoor),
        targets=(replace(humidity_limit(limit), allowed_hours_above=allowed),),
    )
    chosen: dict[str, Any] = {"arrangements": EVERY, "max_units": 3, "max_sizes": 2} | limits
    return replace(site, weather=weather_of("gulf"), limits=replace(site.limits, **chosen))


def pick(site: Site, fitted: tuple[FittedUnit, ...] | None = None, **options: Any) -> Choice:
    known = fitted or tuple(fitted_unit(unit.model) for unit in site.catalog.units)
    return choose(prepared=prepare_site(site=site, fitted=known), **options)


@functools.cache
def usual() -> Choice:
    return pick(hall())


def cost(choice: Choice) -> float:
    return float("inf") if choice.best is None else choice.best.costs.life_cycle


def with_units(site: Site, *units: Unit) -> Site:
    return replace(site, catalog=replace(site.catalog, units=units))
