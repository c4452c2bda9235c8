"""Limits that a design breaks before any hour is simulated, in the search and for a reader alike."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from selector.decide.designs import CURRENT, highest_current, judge_designs
from selector.decide.limits import BrokenLimit, broken_before_simulation, currents_of
from selector.inputs.site import ARRANGEMENTS, Install
from selector.physics.arrangements import STANDALONE
from tests.sites import prepared_room


def test_a_limit_on_current_holds_at_each_voltage() -> None:
    """Two of 10.1 A at 208 V and one of 13.4 A at 120 V are 20.2 A of one supply and 13.4 A of another."""
    prepared = prepared_room()
    install = (Install("precool-120", "standalone", 2), Install("compressor-60", "standalone", 1))
    assert currents_of(site=prepared.site, install=install) == ((120.0, 13.4), (208.0, 20.2))
    rows = {unit.model: row for row, unit in enumerate(prepared.site.catalog.units)}
    parts = np.array([[rows[part.model] * len(ARRANGEMENTS) + STANDALONE for part in install]])
    counts = np.array([[part.count for part in install]])
    found = highest_current(units=prepared.site.catalog.units, parts=parts, counts=counts)
    assert found.tolist() == [20.2]
    for most, broken in ((20.0, (BrokenLimit("electrical current", 20.2, 20.0, "A"),)), (20.2, ())):
        limits = replace(prepared.site.limits, electrical_current=most, max_sizes=2)
        limited = replace(prepared, site=replace(prepared.site, limits=limits))
        assert broken_before_simulation(prepared=limited, install=install) == broken
        designs = judge_designs(prepared=limited, parts=parts, counts=counts, limits=limits)
        assert designs.excluded.tolist() == [CURRENT if broken else 0]


def test_limits_on_numbers_are_named_in_words() -> None:
    """One more than allowed of each, in a design of two models and two arrangements."""
    prepared = prepared_room()
    install = (Install("precool-120", "standalone", 2), Install("compressor-60", "return-side", 1))
    limits = replace(
        prepared.site.limits,
        max_units=2,
        max_per_model=1,
        max_sizes=1,
        max_arrangements=1,
        supply_voltage=None,
    )
    limited = replace(prepared, site=replace(prepared.site, limits=limits))
    assert broken_before_simulation(prepared=limited, install=install) == (
        BrokenLimit("number of units", 3, 2, ""),
        BrokenLimit("units of one model", 2, 1, ""),
        BrokenLimit("models in one design", 2, 1, ""),
        BrokenLimit("arrangements in one design", 2, 1, ""),
    )
