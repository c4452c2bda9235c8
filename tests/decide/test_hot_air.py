"""Hours of leaving air hotter than a refrigerant unit is likely to bear, counted from the year. Sites are invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.hot_air import highest_leaving, hot_air
from selector.inputs.site import Install, Unit
from selector.physics.arrangements import LEAVING_T, OFF
from selector.physics.hourly import UnitHours
from selector.physics.prepare import Prepared
from tests.decide.small_cases import fitted_unit
from tests.physics.sites_for_tests import make_air_handler, steady_site

MODEL = "compressor-60"


def unit(highest: float | None = None) -> Unit:
    return replace(fitted_unit(MODEL).unit, highest_leaving_dry_bulb=highest)


def prepared_with(highest: float | None = None, model: str = MODEL) -> Prepared:
    one = replace(fitted_unit(model).unit, highest_leaving_dry_bulb=highest)
    site = steady_site(units=(one,), air_handler=make_air_handler(outdoor_airflow=0.3))
    return prepare_site(site=site, fitted=(replace(fitted_unit(model), unit=one),))


def test_the_highest_is_the_catalogues_or_common_practice() -> None:
    """140 °F where nothing is stated; a rotor has no refrigerant to trip on."""
    assert highest_leaving(unit=unit(52.0)) == 52.0
    assert highest_leaving(unit=unit()) == pytest.approx(60.0, abs=1e-9)
    assert highest_leaving(unit=replace(unit(45.0), technology="desiccant")) == np.inf


def test_hours_above_the_highest_are_counted() -> None:
    """Warm, moist and steady: the unit leaves at one temperature all year, above 40 °C and below 60."""
    found = evaluate(prepared=prepared_with(40.0), install=(Install(MODEL, "standalone", 1),))
    group = found.year.groups[0]
    ran = group.running > 0.0
    [one] = found.hot_air
    assert (one.model, one.arrangement, one.highest, one.stated) == (MODEL, "standalone", 40.0, True)
    assert one.hours == one.running_hours == int(ran.sum()) > 8000
    assert one.hottest == group.cell[ran, LEAVING_T].max() < 60.0
    assert evaluate(prepared=prepared_with(), install=(Install(MODEL, "standalone", 1),)).hot_air == ()


def test_the_highest_itself_is_not_too_hot() -> None:
    prepared = prepared_with(55.0)
    year = evaluate(prepared=prepared, install=(Install(MODEL, "standalone", 1),)).year

    def counted(leaving: float) -> int:
        group = year.groups[0]
        cell = group.cell.copy()
        cell[:100, LEAVING_T] = leaving
        changed = replace(year, groups=(replace(group, cell=cell),))
        return sum(one.hours for one in hot_air(site=prepared.site, year=changed))

    assert counted(55.0) == 0
    assert counted(55.01) == 100


def test_supply_side_units_are_looked_at_in_both_states_of_the_coil() -> None:
    prepared = prepared_with(55.0)
    year = evaluate(prepared=prepared, install=(Install(MODEL, "supply-side", 1),)).year
    group = year.groups[0]
    part = (group.on_share < 1.0) & (group.running > 0.0)
    cell = group.cell.copy()
    cell[:, OFF + LEAVING_T] = 70.0

    def found(changed: UnitHours) -> tuple[int, ...]:
        return tuple(one.hours for one in hot_air(site=prepared.site, year=replace(year, groups=(changed,))))

    assert part.any()
    assert found(replace(group, cell=cell)) == (int(part.sum()),)
    assert found(replace(group, cell=cell, on_share=np.ones(group.running.size))) == ()


def test_a_rotor_may_leave_hot() -> None:
    prepared = prepared_with(None, "rotor-60")
    assert evaluate(prepared=prepared, install=(Install("rotor-60", "standalone", 1),)).hot_air == ()
