"""Loads by source: they close, they add up, and a steady case is the one worked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from selector.decide.evaluate import prepare_site
from selector.inputs.site import HeatGain, Install, MoistureGain, WaterSurfaceGain
from selector.physics.hourly import simulate_hours
from selector.physics.loads import Source, loads, moisture_sources, sensible_sources
from selector.physics.prepare import Prepared
from tests.builders import flat, make_site, make_weather
from tests.sites import prepared_room


def residual(sources: tuple[Source, ...]) -> tuple[float, float]:
    """Largest remainder of an hour, and the largest term of all."""
    total = np.sum([source.values for source in sources], axis=0)
    return float(np.abs(total).max()), float(max(np.abs(source.values).max() for source in sources))


@pytest.mark.parametrize(
    "install", [(), (Install("precool-120", "supply-side", 1), Install("rotor-60", "standalone", 1))]
)
def test_sources_close_in_every_hour(install: tuple[Install, ...]) -> None:
    prepared = prepared_room()
    year = simulate_hours(prepared=prepared, install=install)
    left, largest = residual(moisture_sources(prepared=prepared, year=year))
    assert left <= 4e-7 * largest  # agreement found: 3e-7; unit-hours are found to 1e-7
    left, largest = residual(sensible_sources(prepared=prepared, year=year))
    assert left <= 1e-9 * largest  # agreement found: 1e-11


def test_wet_surfaces_are_named_and_close() -> None:
    pool = WaterSurfaceGain("pool", 40.0, 28.0, 1.0, 0.5, "water", flat(1.0))
    pond = WaterSurfaceGain("pond", 10.0, 31.0, 1.0, 0.5, "air", flat(1.0))
    prepared = prepare_site(site=make_site(gains=(pool, pond)))
    year = simulate_hours(prepared=prepared, install=())
    sources = moisture_sources(prepared=prepared, year=year)
    assert {"pool", "pond"} <= {source.name for source in sources}
    left, largest = residual(sources)
    assert left <= 1e-9 * largest  # agreement found: 1e-11
    heat = {source.name: source.values for source in sensible_sources(prepared=prepared, year=year)}
    vapour = {source.name: source.values for source in sources}
    # only the pond takes its heat, 2.45 MJ/kg, from the air; the pool pays for its own (agreement found: 1e-6, the
    # step's linear part is given to the last surface)
    assert heat["evaporation from the air"] == pytest.approx(-2.45e6 * vapour["pond"], rel=1e-5)


def steady() -> Prepared:
    gains = (MoistureGain("wet floor", 2e-4, "water", flat(1.0)), HeatGain("lights", 500.0, flat(1.0)))
    return prepare_site(site=make_site(gains=gains, weather=make_weather(dry_bulb=20.0, ratio=0.010)))


def test_a_steady_room_worked_by_hand() -> None:
    found = loads(prepared=steady())
    year = {source.name: source.year for source in found.moisture}
    # 2e-4 kg/s for 8760 h = 6307.2 kg come in and, the room being steady, leave with the air that infiltrates, but for
    # 8 g that are stored on the way to the steady state
    assert year["wet floor"] == pytest.approx(6307.2, rel=1e-12)
    assert year["infiltration"] == pytest.approx(-6307.2, rel=1e-5)
    # the room stays between its set points, so the 500 W leave through the envelope, 100 W/K, and with the air:
    # 300 m3 x 0.25/h at 20 °C, 10 g/kg: v = 0.8435 m3/kg (ASHRAE Fundamentals 2017, ch. 1, eq. 26), 0.0247 kg/s x
    # (1006 + 1860 x 0.010) J/(kg K) = 25.3 W/K; so 500 x 100 / 125.3 = 399 W through the envelope
    sensible = {source.name: source.year / (8760 * 3600) for source in found.sensible}
    assert sensible["lights"] == pytest.approx(500.0, rel=1e-12)
    assert sensible["envelope"] == pytest.approx(-399.0, abs=0.3)
    assert sensible["infiltration"] == pytest.approx(-101.0, abs=0.3)
    # 20 + 500 / 125.3 = 23.99 °C; at 60 % its humidity ratio is 11.2 g/kg (psychrometric chart), so infiltration at
    # the limit takes out 0.0247 x (0.0112 - 0.010) = 3.0e-5 kg/s and 1.7e-4 kg/s are left to take out
    assert found.held_hours == 8760
    assert found.held_peak == pytest.approx(1.7e-4, abs=0.02e-4)
    assert found.held_total == pytest.approx(found.held_peak * 8760 * 3600, rel=1e-6)


def test_months_add_up_to_the_year() -> None:
    found = loads(prepared=prepared_room())
    for source in (*found.moisture, *found.sensible, *found.held):
        assert len(source.months) == 12
        assert sum(source.months) == pytest.approx(source.year, rel=1e-12, abs=1e-6)
    assert sum(source.year for source in found.held) == pytest.approx(found.held_total, rel=1e-12)


def test_the_design_hour_is_the_hour_of_most_moisture() -> None:
    found = loads(prepared=prepared_room())
    assert [hour.percent for hour in found.design_hours] == [0.4, 1.0]
    for hour in found.design_hours:
        assert hour.moisture_held_total == pytest.approx(
            sum(value for _, value in hour.moisture_held), rel=1e-12
        )
        assert sum(value for _, value in hour.moisture) == pytest.approx(0.0, abs=1e-12)
        assert sum(value for _, value in hour.sensible) == pytest.approx(0.0, abs=1e-6)
        # the hall is full on Sundays from 8 to 13, when outdoor air comes in as well; 1 January is a Monday
        assert (hour.hour // 24) % 7 == 6
        assert 8 <= hour.hour % 24 < 13
    assert found.design_hours[0].moisture_held_total > found.design_hours[1].moisture_held_total


def test_without_a_limit_in_force_nothing_has_to_be_taken_out() -> None:
    prepared = steady()
    target = prepared.site.targets[0]
    off = replace(target, hours=np.zeros_like(target.hours))
    found = loads(prepared=prepare_site(site=replace(prepared.site, targets=(off,))))
    assert (found.held_hours, found.held_total, found.held_peak) == (0, 0.0, 0.0)


def test_the_strictest_limit_counts() -> None:
    prepared = steady()
    target = prepared.site.targets[0]
    dry = replace(target, name="dry", kind="dew-point", limit=10.0, band=1.0)
    both = loads(prepared=prepare_site(site=replace(prepared.site, targets=(target, dry))))
    # 10 °C dew point is 7.66 g/kg (ASHRAE Fundamentals 2017, ch. 1, table 2): 2e-4 + 0.0247 x (0.010 - 0.00766)
    assert both.held_peak == pytest.approx(2.58e-4, abs=0.01e-4)
