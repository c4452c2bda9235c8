"""Sweeps of the invented site and of the small cases, for tests."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from selector.decide.evaluate import prepare_site
from selector.decide.sweep import sweep
from selector.decide.sweep_results import Sweep
from selector.inputs.site import Site
from selector.inputs.vary import Variation, changed_site
from selector.inputs.vary_words import Words, read_variations
from selector.physics.prepare import Prepared
from selector.report.sweep_json import record_of
from tests.sites import prepared_room


def varied(site: Site, *given: tuple[str, str, str, int]) -> tuple[Variation, ...]:
    return read_variations(site=site, words=[Words(*one, None) for one in given])


def at(prepared: Prepared, variations: tuple[Variation, ...], values: Sequence[float]) -> Prepared:
    """The site prepared from nothing with the values in it."""
    site = changed_site(site=prepared.site, settings=tuple(zip(variations, values, strict=True)))
    return prepare_site(
        site=site,
        fitted=tuple(
            replace(one, unit=unit) for one, unit in zip(prepared.fitted, site.catalog.units, strict=True)
        ),
    )


@functools.cache
def narrow_room() -> Prepared:
    """The invented site with two arrangements; its choice changes with the outdoor air all the same."""
    whole = prepared_room()
    limits = replace(whole.site.limits, arrangements=("coil-bypass", "standalone"))
    return prepare_site(site=replace(whole.site, limits=limits), fitted=whole.fitted)


@functools.cache
def swept_room() -> Sweep:
    variations = varied(narrow_room().site, ("outdoor-air-fraction", "10 %", "60 %", 3))
    return sweep(
        prepared=narrow_room(), variations=variations, resolution=0.05, record=record_of, processes=1
    )


def without_work(found: Sweep) -> Any:
    """A sweep without what its work took."""
    steps = [replace(step, year_equivalents=0.0, seconds=0.0, contenders=()) for step in found.steps]
    return steps, found.switches, found.existing_holds, found.staying_holds, found.short_cooling
