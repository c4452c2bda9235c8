"""Where nothing is possible: the nearest design is the one that a plain simulation of all designs finds, and the
reason that stands beside it is the limit that it breaks first. Sites are invented and small.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import replace

import pytest

from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.decide.limits import BrokenLimit
from selector.decide.nearest import WITH_UNITS_OUT, hours_beyond, nearness, units_out, with_units_out
from selector.decide.results import ArrangementResult, Choice
from selector.inputs.site import Install, Site
from selector.physics.prepare import Prepared
from tests.builders import flat
from tests.decide.halls import hall, pick
from tests.decide.small_cases import DAY, designs_of, fitted_unit
from tests.physics.sites_for_tests import make_air_handler, make_coil

FROST = "hours with the coil below 0 °C while bypassed"


def too_wet() -> Site:
    return hall(max_units=1, allowed=5.0)


def too_warm() -> Site:
    """No air handler and nothing that cools: all that a unit gives off stays in the space."""
    models = ("precool-60", "compressor-90", "rotor-60")
    site = hall(models=models, extra_hours_too_warm=0.0, arrangements=("standalone",))
    return replace(site, air_handler=None)


def freezing() -> Site:
    """A cold space whose large coil freezes with little air through it."""
    site = hall(
        models=("precool-60", "compressor-90", "compressor-60"), arrangements=("coil-bypass",), limit=0.5
    )
    coil = make_coil(sensible_heat_ratio=0.66, total_capacity=30000.0)
    handler = make_air_handler(
        ventilation=DAY.astype(float), outdoor_airflow=0.08, supply_airflow=1.0, coil=coil
    )
    space = replace(site.space, cooling_setpoint=flat(19.0), heating_setpoint=flat(16.0))
    return replace(site, space=space, air_handler=handler)


def too_dear() -> Site:
    return hall(first_cost=3000.0)


def no_spare() -> Site:
    return hall(arrangements=("standalone",), spare_units=2, vapour=6e-4, allowed=0.0)


SITES: dict[str, Callable[[], Site]] = {
    'hours above "limit"': too_wet,
    "hours too warm": too_warm,
    FROST: freezing,
    "first cost": too_dear,
    WITH_UNITS_OUT: no_spare,
}


@functools.cache
def chosen(reason: str) -> Choice:
    return pick(SITES[reason]())


def prepared_of(site: Site) -> Prepared:
    return prepare_site(site=site, fitted=tuple(fitted_unit(unit.model) for unit in site.catalog.units))


@functools.cache
def simulated(reason: str) -> dict[tuple[Install, ...], Evaluation]:
    """Every design within the counts, simulated through the whole year."""
    site = SITES[reason]()
    prepared = prepared_of(site)
    extra = site.limits.extra_hours_too_warm
    existing = evaluate(prepared=prepared, install=())
    warm = None if extra is None else existing.hours_too_warm + extra
    found = {}
    for install in designs_of(site):
        one = evaluate(prepared=prepared, install=install, warm_allowed=warm)
        found[one.install] = with_units_out(prepared=prepared, design=one, warm_allowed=warm)[0]
    return found


@pytest.mark.parametrize("reason", SITES)
def test_nothing_is_possible_and_the_reason_is_what_the_nearest_breaks_first(reason: str) -> None:
    choice = chosen(reason)
    assert choice.best is None
    assert choice.proof.status == "not possible"
    assert not any(one.feasible for one in simulated(reason).values())
    for row in choice.by_arrangement:
        assert row.best is None
        assert row.closest is not None
        assert not row.closest.feasible
        assert row.closest.broken[0].limit == reason
        assert row.why == "none keeps the limits"
        assert row.reason == f"none keeps the limits; the nearest breaks the limit on {reason}"


def of(row: ArrangementResult, reason: str) -> list[Evaluation]:
    """Simulated designs of a row's arrangement that break no limit that needs no simulation."""
    return [
        one
        for install, one in simulated(reason).items()
        if install
        and {part.arrangement for part in install} == {row.arrangement}
        and all(broken.unit == "h" for broken in one.broken)
    ]


@pytest.mark.parametrize("reason", [reason for reason in SITES if reason != "first cost"])
def test_no_design_came_nearer_than_the_nearest(reason: str) -> None:
    """All of these sites have few enough designs that each one is followed (found: equal to the hour)."""
    for row in chosen(reason).by_arrangement:
        assert row.closest is not None
        best = min(of(row, reason), key=nearness)
        assert hours_beyond(row.closest) == hours_beyond(best), (row.closest.install, best.install)
        assert row.closest.costs.life_cycle == pytest.approx(best.costs.life_cycle, rel=1e-12)


def test_where_all_are_too_dear_the_nearest_is_the_cheapest() -> None:
    for row in chosen("first cost").by_arrangement:
        assert row.closest is not None
        firsts = [
            one.costs.first
            for install, one in simulated("first cost").items()
            if install and install[0].arrangement == row.arrangement
        ]
        assert row.closest.costs.first == pytest.approx(min(firsts), rel=1e-12)
        assert row.closest.broken[0].allowed == 3000.0


@pytest.mark.parametrize("reason", SITES)
def test_the_nearest_of_all_is_the_nearest_of_those_shown(reason: str) -> None:
    choice = chosen(reason)
    shown = [row.closest for row in choice.by_arrangement if row.closest is not None]
    nothing = simulated(reason)[()]
    assert choice.closest is not None
    assert nearness(choice.closest) == min(nearness(one) for one in [*shown, nothing])


def test_hours_too_warm_are_the_reason_although_a_smaller_design_is_too_wet() -> None:
    """The reason of most designs decides."""
    counted = chosen("hours too warm").proof.excluded_by
    assert counted["hours above the humidity limit"] > 0
    assert counted["hours too warm"] > counted["hours above the humidity limit"]


def test_units_out_are_taken_in_every_way() -> None:
    """Two units of one model and one of another, two out: three ways, and the worst of them counts."""
    site = no_spare()
    prepared = prepared_of(site)
    install = (Install("precool-60", "standalone", 2), Install("rotor-60", "standalone", 1))
    whole = evaluate(prepared=prepared, install=install)
    broken, _ = units_out(prepared=prepared, design=whole, warm_allowed=None)
    left = (
        (Install("rotor-60", "standalone", 1),),
        (Install("precool-60", "standalone", 1),),
    )
    worst = max(evaluate(prepared=prepared, install=one).hours_above for one in left)
    assert broken == BrokenLimit(WITH_UNITS_OUT, float(worst), 0.0, "h")


def test_with_all_its_units_out_a_design_is_nothing() -> None:
    site = hall(arrangements=("standalone",), spare_units=2)
    prepared = prepared_of(site)
    one = evaluate(prepared=prepared, install=(Install("rotor-60", "standalone", 1),))
    broken, _ = units_out(prepared=prepared, design=one, warm_allowed=None)
    assert broken is not None
    assert broken.got == evaluate(prepared=prepared, install=()).hours_above


def test_a_search_that_was_stopped_does_not_say_that_none_keeps_the_limits() -> None:
    for row in pick(hall(), seconds=0.0).by_arrangement:
        assert row.best is None
        assert row.closest is None
        assert row.reason == "not reached"
