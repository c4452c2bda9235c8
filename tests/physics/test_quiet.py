"""Hours in which nothing runs: the short way gives what the whole search for the hour gives.

Start states are drawn anew for every hour, far from what a year would bring, so that the short way is asked in hours
that it must leave to the whole search as well. Sites are invented.
"""

from __future__ import annotations

import functools
from dataclasses import replace

import numpy as np
import pytest

from selector.decide.evaluate import prepare_site
from selector.inputs.site import HOURS, Arrangement, Heating, Install
from selector.inputs.site_file import read_site
from selector.physics.design_day import simulate_design_day
from selector.physics.humidistat import END_W, HOLDING, IDLE, MEAN_W, MODE, SATURATED
from selector.physics.prepare import Prepared, groups_of
from selector.physics.quiet import FAN_FOLLOWS, FAN_RUNNING, IN_SPACE, NOT_HEATED, UNKNOWN
from selector.physics.response import COIL_POWER, COIL_SHARE
from selector.physics.year import HOUR_COST, IS_FROST, IS_WARM, WORK, advance, advance_in_full, workspace
from tests.physics.sites_for_tests import (
    general_units,
    make_air_handler,
    prepare_quickly,
    steady_gains,
    steady_site,
)
from tests.sites import SCENARIOS

UNITS = general_units("precool-120", "rotor-90")
STATES = 6000

# largest found over all cases: none of the states, 9.9e-15 of the cost
SAME_COST = 1e-14


@functools.lru_cache(maxsize=1)
def demo(name: str) -> Prepared:
    return prepare_site(site=read_site(path=SCENARIOS / f"{name}.toml"))


def compare(prepared: Prepared, install: tuple[Install, ...], near_set_point: bool = True) -> np.ndarray:
    """Hours told apart by how the site heats them in the short way and by what the whole search found."""
    groups, counts = groups_of(prepared=prepared, install=install)
    limits = prepared.limit_rh.shape[0]
    short, whole = workspace(limits=limits), workspace(limits=limits)
    tables = (prepared.plant, prepared.hours, prepared.wet, prepared.limit_rh, prepared.limit_w)
    random = np.random.default_rng(11)
    found = np.zeros((5, 3), np.int64)
    for hour in random.integers(0, HOURS, STATES):
        now = prepared.hours[hour]
        start_t = random.uniform(now["heating_setpoint"] - 4.0, now["cooling_setpoint"] + 4.0)
        if random.random() < 0.5:  # where most hours start
            start_t = now["heating_setpoint" if random.random() < 0.5 else "cooling_setpoint"]
        start_w = random.uniform(0.003, 0.015)
        if near_set_point and now["set_w"] < np.inf and random.random() < 0.5:
            start_w = now["set_w"] + random.uniform(-1e-5, 1e-5)
        mine = advance(*tables, groups, counts, hour, start_t, start_w, short)
        theirs = advance_in_full(*tables, groups, counts, hour, start_t, start_w, whole)
        assert mine == theirs
        assert short.sums[HOUR_COST] == pytest.approx(whole.sums[HOUR_COST], rel=SAME_COST, abs=0.0)
        assert short.sums[IS_WARM] == whole.sums[IS_WARM]
        assert short.sums[IS_FROST] == whole.sums[IS_FROST]
        assert list(short.above) == list(whole.above)
        assert short.moisture[MODE] == whole.moisture[MODE]
        if short.sums[WORK] < 1.0:
            assert whole.moisture[MODE] == IDLE
            assert whole.out[COIL_SHARE] == whole.out[COIL_POWER] == 0.0
            found[int(now["quiet"]), IDLE] += 1
        elif whole.moisture[MODE] == IDLE:
            found[int(now["quiet"]), HOLDING] += 1
        else:
            found[int(now["quiet"]), SATURATED] += 1
    return found


DEMO: tuple[tuple[str, str, Arrangement, tuple[int, ...]], ...] = (
    ("school", "precool-200", "supply-side", (FAN_RUNNING, FAN_FOLLOWS)),
    ("school", "rotor-140", "outdoor-air", (FAN_RUNNING, FAN_FOLLOWS)),
    ("hall", "compressor-120", "standalone", (FAN_RUNNING, FAN_FOLLOWS)),
    ("clinic", "compressor-300", "coil-bypass", (FAN_RUNNING,)),
    ("records", "precool-150", "standalone", (IN_SPACE,)),
    ("pool", "precool-340", "return-side", ()),
    ("growing", "compressor-120", "standalone", ()),
)


@pytest.mark.parametrize(("name", "model", "arrangement", "kinds"), DEMO)
def test_short_way_is_the_whole_search_at_every_demo_site(
    name: str, model: str, arrangement: Arrangement, kinds: tuple[int, ...]
) -> None:
    prepared = demo(name)
    found = compare(prepared, (Install(model, arrangement, 2),))
    for kind in range(5):
        taken, left, called = found[kind]
        if kind in kinds:
            assert taken > 50  # the short way is gone,
            assert left + called > 50  # and left where the coil runs or units are called
        else:
            assert taken == left + called == 0 or kind == UNKNOWN
    if not kinds:  # wet surfaces everywhere
        assert found[UNKNOWN].sum() == STATES
        assert found[UNKNOWN, IDLE] == 0


@pytest.mark.parametrize("leakage", [0.0, 0.1])
@pytest.mark.parametrize("unoccupied_fan", ["off", "cycles", "runs"])
def test_short_way_is_the_whole_search_with_every_fan_and_damper(unoccupied_fan: str, leakage: float) -> None:
    ventilation = np.where(np.arange(HOURS) % 24 < 12, 1.0, 0.0)
    site = steady_site(
        units=UNITS,
        dry_bulb=np.where(np.arange(HOURS) % 48 < 24, 2.0, 27.0),
        outdoor_ratio=0.004,
        gains=steady_gains(heat=500.0, vapour=3.0e-4),
        air_handler=make_air_handler(
            ventilation=ventilation, unoccupied_fan=unoccupied_fan, damper_leakage=leakage
        ),
    )
    prepared = prepare_quickly(site)
    found = compare(prepared, (Install("precool-120", "return-side", 2),))
    kind = {"off": IN_SPACE, "cycles": FAN_FOLLOWS, "runs": FAN_RUNNING}[unoccupied_fan]
    assert found[kind, IDLE] > 100
    assert found[FAN_RUNNING, IDLE] > 100


def test_space_that_nothing_heats_floats() -> None:
    site = steady_site(
        units=UNITS, dry_bulb=2.0, outdoor_ratio=0.004, space={"heating": Heating("none", 1.0, None)}
    )
    found = compare(prepare_quickly(site), (Install("precool-120", "standalone", 2),))
    assert found[NOT_HEATED, IDLE] > 100


def test_short_way_knows_the_weather_of_a_design_week() -> None:
    prepared = demo("school")
    day = prepared.site.weather.design_days[0]
    week = simulate_design_day(prepared=prepared, install=(), day=day).prepared
    found = compare(week, (Install("precool-200", "supply-side", 2),))
    assert found[FAN_FOLLOWS, IDLE] > 100


def test_moisture_added_to_every_hour_reaches_the_short_way() -> None:
    prepared = demo("records")
    hours = prepared.hours.copy()
    hours["vapour"] += 2.0e-4
    found = compare(replace(prepared, hours=hours), (Install("precool-150", "standalone", 1),))
    assert found[IN_SPACE, IDLE] > 100
    groups, counts = groups_of(prepared=prepared, install=())
    space = workspace(limits=prepared.limit_rh.shape[0])
    more = workspace(limits=prepared.limit_rh.shape[0])
    tables = (prepared.wet, prepared.limit_rh, prepared.limit_w, groups, counts, 12, 18.0, 0.005)
    _, plain = advance(prepared.plant, prepared.hours, *tables, space)
    _, moister = advance(prepared.plant, hours, *tables, more)
    assert moister > plain


def test_whole_search_alone_fills_the_record_of_an_hour() -> None:
    prepared = demo("records")
    groups, counts = groups_of(prepared=prepared, install=())
    space = workspace(limits=prepared.limit_rh.shape[0])
    tables = (prepared.plant, prepared.hours, prepared.wet, prepared.limit_rh, prepared.limit_w)
    advance(*tables, groups, counts, 12, 18.0, 0.005, space)
    assert space.sums[WORK] < 1.0
    assert space.moisture[END_W] == space.moisture[MEAN_W] == 0.0
    advance_in_full(*tables, groups, counts, 12, 18.0, 0.005, space)
    assert space.sums[WORK] == 1.0
    assert space.moisture[END_W] > 0.0
