"""Hours on far less air than a unit is rated at, counted from the year. Sites are invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.low_airflow import LOW_AIRFLOW, low_airflow
from selector.inputs.site import Install, Site, Unit
from selector.physics.arrangements import FRACTION, OFF, RUNS
from selector.physics.prepare import Prepared
from tests.decide.small_cases import fitted_unit
from tests.physics.sites_for_tests import make_air_handler, steady_site

MODEL = "compressor-60"


def unit() -> Unit:
    return fitted_unit(MODEL).unit


def prepared_of(site: Site) -> Prepared:
    return prepare_site(site=site, fitted=(fitted_unit(MODEL),))


def ventilated(outdoor: float) -> Prepared:
    """A steady site that is ventilated with so much outdoor air, m³/s of standard air."""
    handler = make_air_handler(outdoor_airflow=outdoor)
    return prepared_of(steady_site(units=(unit(),), air_handler=handler))


def test_a_stream_that_has_a_third_of_the_air_gives_a_third() -> None:
    """One unit on outdoor air of a third of its airflow, all year: every hour that it runs is low.

    Outdoor air flows as standard air of 1.2 kg/m³ and the unit's airflow is at the entering state, 28 °C, 14 g/kg, of
    which a kilogram takes 0.8725 m³ (found 0.347 to 0.349 of the rated airflow).
    """
    year = evaluate(
        prepared=ventilated(unit().airflow / 3.0), install=(Install(MODEL, "outdoor-air", 1),)
    ).year
    [found] = low_airflow(year=year)
    assert (found.model, found.arrangement) == (MODEL, "outdoor-air")
    assert found.hours == found.running_hours == int((year.groups[0].running > 0.0).sum()) > 8000
    assert found.least == pytest.approx(1.2 * 0.8725 / 3.0, rel=0.005)


def test_full_air_is_not_marked() -> None:
    prepared = ventilated(2.0 * unit().airflow)
    for name in ("outdoor-air", "standalone", "supply-side"):
        assert evaluate(prepared=prepared, install=(Install(MODEL, name, 1),)).low_airflow == (), name


def test_static_pressure_that_leaves_too_little_is_counted_in_every_hour() -> None:
    """Around the coil a unit works against the whole external static pressure, here 1.75 times its fan's."""
    weak = replace(unit(), fan_static=100.0)
    handler = make_air_handler(external_static_pressure=175.0)
    prepared = prepared_of(steady_site(units=(weak,), air_handler=handler))
    share = prepared.connections[0, 2].flow_fraction
    assert 0.0 < share < LOW_AIRFLOW
    [found] = evaluate(prepared=prepared, install=(Install(MODEL, "coil-bypass", 1),)).low_airflow
    assert found.hours == found.running_hours > 0
    assert found.least == pytest.approx(share, rel=1e-12)


def test_the_share_itself_is_not_low() -> None:
    prepared = ventilated(unit().airflow / 3.0)
    year = evaluate(prepared=prepared, install=(Install(MODEL, "outdoor-air", 1),)).year
    group = year.groups[0]
    at = group.cell.copy()
    at[:, 10] = LOW_AIRFLOW
    assert low_airflow(year=replace(year, groups=(replace(group, cell=at),))) == ()


def test_supply_side_units_are_looked_at_in_both_states_of_the_coil() -> None:
    """Only what a unit saw counts: the coil-off state where the coil ran part of the time, else not."""
    prepared = ventilated(0.3)
    year = evaluate(prepared=prepared, install=(Install(MODEL, "supply-side", 1),)).year
    group = year.groups[0]
    part = (group.on_share < 1.0) & (group.running > 0.0)
    low = group.cell.copy()
    low[:, OFF + FRACTION] = 0.3
    low[:, OFF + RUNS] = 1.0
    found = low_airflow(year=replace(year, groups=(replace(group, cell=low),)))
    assert part.any()
    assert [one.hours for one in found] == [int(part.sum())]
    always_on = replace(group, cell=low, on_share=np.ones(group.running.size))
    assert low_airflow(year=replace(year, groups=(always_on,))) == ()
