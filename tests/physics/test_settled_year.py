"""Questions about the year that two careful teams would settle differently: limits, set-back, storage, heating.

Each test names its question and fails if it were settled the other way. Sites are invented.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal

import numpy as np
import pytest

from selector.decide.evaluate import evaluate, prepare_site
from selector.inputs.site import HOURS, Heating, HumidityTarget, Install, Site, SpaceCooling
from selector.inputs.site_file import read_site
from selector.physics import moist_air
from selector.physics import response as out
from selector.physics.arrangements import STANDALONE
from selector.physics.hourly import energy_residual, moisture_residual, simulate_hours
from selector.physics.prepare import TOLERANCE, WARM, driest_season
from selector.physics.step import HOUR
from selector.physics.unit import performance
from tests.builders import flat
from tests.physics.sites_for_tests import (
    ALWAYS,
    CLOCK,
    DAY,
    LATE,
    NIGHT,
    SEA_LEVEL,
    at,
    general_units,
    humidity_limit,
    make_air_handler,
    make_coil,
    make_water_coil,
    prepare_quickly,
    ratio,
    run,
    steady_gains,
    steady_site,
)
from tests.physics.units_for_tests import fitted
from tests.sites import SCENARIOS

PRECOOL, ROTOR = "precool-120", "rotor-90"
UNITS = general_units(PRECOOL, ROTOR)


def held_site(**changes: Any) -> Site:
    """A space without an air handler that one unit can hold at its set point."""
    defaults: dict[str, Any] = {
        "units": UNITS,
        "dry_bulb": 22.0,
        "outdoor_ratio": 0.009,
        "gains": steady_gains(heat=0.0, vapour=5.0e-4),
        "space": {"heat_loss": 3000.0},
    }
    return steady_site(**(defaults | changes))


# ------------------------------------------------------------------------------------------------ set points, limits


def test_the_set_point_lies_below_the_limit_by_its_band() -> None:
    """Humidistat: its set point is the limit less the band, for a relative humidity and for a dew point."""
    humid = run(held_site(targets=(humidity_limit(0.5, band=0.04),)), Install(PRECOOL, "standalone", 1))
    start = humid.year.start_t[LATE]
    assert humid.year.end_w[LATE] == pytest.approx(ratio(start, 0.46), rel=1e-12)
    limit = HumidityTarget("dew", "dew-point", 11.0, 1.5, ALWAYS, 0.0)
    dew = run(held_site(targets=(limit,)), Install(PRECOOL, "standalone", 1))
    assert moist_air.dew_point(22.0, dew.year.end_w[LATE], SEA_LEVEL) == pytest.approx(9.5, abs=1e-5)


def test_a_relative_humidity_is_held_at_the_dry_bulb_of_the_hours_start() -> None:
    """Humidistat: a relative-humidity set point is the humidity ratio at the dry bulb at the start of the hour."""
    outdoor = 22.0 + 5.0 * np.cos(2.0 * np.pi * CLOCK / 24.0)
    site = held_site(
        dry_bulb=outdoor,
        targets=(humidity_limit(0.5),),
        gains=steady_gains(heat=0.0, vapour=3.0e-4),
        space={
            "heat_loss": 3000.0,
            "thermal_mass": 2.0e6,
            "cooling_setpoint": flat(40.0),
            "heating_setpoint": flat(5.0),
        },
    )
    found = run(site, Install(PRECOOL, "standalone", 1))
    running = found.group().running
    held = (running > 0.0) & (running < 1.0)
    assert held.sum() > 1000
    goal = np.array([ratio(dry_bulb, 0.47) for dry_bulb in found.year.start_t[held]])
    np.testing.assert_allclose(found.year.end_w[held], goal, rtol=1e-9)
    other = np.array([ratio(dry_bulb, 0.47) for dry_bulb in found.year.mean_t[held]])
    assert np.abs(other / goal - 1.0).max() > 0.02


@pytest.mark.parametrize("kind", ["relative-humidity", "dew-point"])
def test_an_hour_is_above_when_its_mean_exceeds_the_limit_by_five_hundredths(
    kind: Literal["relative-humidity", "dew-point"],
) -> None:
    """Hours above: by the hour's mean state, and only beyond 0.05 points, so that rounding breaks no limit."""
    calm = {"gains": steady_gains(heat=0.0, vapour=1.0e-4)}
    year = run(held_site(targets=(humidity_limit(0.95),), **calm)).year
    mean_w = year.mean_w[LATE]
    if kind == "relative-humidity":
        state = float(moist_air.relative_humidity(year.mean_t[LATE], mean_w, SEA_LEVEL))
        step = TOLERANCE
    else:
        state = float(moist_air.dew_point(year.mean_t[LATE], mean_w, SEA_LEVEL))
        step = 100.0 * TOLERANCE
    assert step in (0.0005, 0.05)
    for share, above in ((0.9, 0), (1.1, 1)):
        limit = HumidityTarget("limit", kind, state - share * step, 0.01, ALWAYS, 0.0)
        found = run(held_site(targets=(limit,), **calm))
        assert found.year.above[LATE, 0] == above


def test_a_limit_counts_in_its_own_hours_alone() -> None:
    """Several limits: each counts in its own hours, and the humidistat follows the lowest set point of the hour."""
    day, night = humidity_limit(0.45, hours=DAY), humidity_limit(0.55, hours=NIGHT)
    limits = (day, replace(night, name="night"), replace(humidity_limit(0.6), name="always"))
    site = held_site(
        targets=limits,
        gains=steady_gains(heat=0.0, vapour=2.0e-4),
        space={"heat_loss": 3000.0, "moisture_buffer": 1.0},
    )
    found = run(site, Install(PRECOOL, "standalone", 2))
    assert not found.year.above[NIGHT, 0].any()
    assert not found.year.above[DAY, 1].any()
    late = found.year.end_w[LATE - LATE % 24 :]
    clock = CLOCK[LATE - LATE % 24 :]
    dry = found.year.start_t[LATE - LATE % 24 :]
    np.testing.assert_allclose(late[clock == 15], [ratio(t, 0.42) for t in dry[clock == 15]], rtol=1e-9)
    np.testing.assert_allclose(late[clock == 5], [ratio(t, 0.52) for t in dry[clock == 5]], rtol=1e-9)


def test_overheating_is_a_limit_of_its_own() -> None:
    """Overheating: a unit that lowers relative humidity by heating the space breaks a limit of its own, hours more than
    1 K above the cooling set point."""
    site = held_site(
        targets=(humidity_limit(0.6),),
        space={"heat_loss": 150.0, "cooling_setpoint": flat(25.0), "thermal_mass": 1.0e7},
        gains=steady_gains(heat=300.0, vapour=1.0e-3),
        dry_bulb=22.0,
    )
    prepared = prepare_site(site=site)
    alone = evaluate(prepared=prepared, install=())
    dried = evaluate(prepared=prepared, install=(Install(PRECOOL, "standalone", 1),), warm_allowed=50.0)
    assert alone.hours_too_warm == 0
    assert dried.hours_too_warm == HOURS
    assert dried.hours_above == 0
    assert float(dried.year.mean_t.min()) > 25.0 + WARM
    assert [one.limit for one in dried.broken] == ["hours too warm"]
    assert dried.maximum_dew_point < alone.maximum_dew_point  # shown beside the relative humidity
    edge = run(held_site(dry_bulb=27.0, space={"heat_loss": 1.0e5, "cooling_setpoint": flat(25.95)}))
    assert edge.year.warm.sum() == HOURS
    inside = run(held_site(dry_bulb=27.0, space={"heat_loss": 1.0e5, "cooling_setpoint": flat(26.05)}))
    assert inside.year.warm.sum() == 0


def test_hours_above_that_only_a_cold_set_back_makes_are_named() -> None:
    """Set-back: hours above a relative-humidity limit that would not be above at the occupied heating set point are
    counted and named."""
    site = steady_site(
        air_handler=make_air_handler(ventilation=DAY.astype(float)),
        dry_bulb=2.0,
        outdoor_ratio=0.004,
        gains=steady_gains(heat=0.0, vapour=3.0e-4),
        targets=(humidity_limit(0.45),),
        space={
            "heating_setpoint": np.where(DAY, 20.0, 12.0),
            "occupied_heating_setpoint": 20.0,
            "thermal_mass": 1.0e6,
            "heat_loss": 400.0,
        },
    )
    found = evaluate(prepared=prepare_site(site=site), install=())
    (limit,) = found.limits
    assert limit.hours_above > 1000
    assert limit.only_set_back == limit.hours_above
    warm = replace(
        site, space=replace(site.space, heating_setpoint=flat(12.0), occupied_heating_setpoint=12.0)
    )
    (again,) = evaluate(prepared=prepare_site(site=warm), install=()).limits
    assert again.hours_above > 1000
    assert again.only_set_back == 0


# ------------------------------------------------------------------------------------------------ altitude


def test_at_altitude_volumetric_flow_stays_and_mass_flow_follows_density() -> None:
    """Altitude: rating rows are at 101.325 kPa; a unit keeps its volumetric airflow and its mass flow follows the
    site's density, and so does the air handler."""
    low_pressure = 83000.0
    high, sea = (
        run(
            steady_site(
                air_handler=make_air_handler(), units=UNITS, targets=(humidity_limit(0.2),), pressure=pressure
            ),
            Install(PRECOOL, "return-side", 1),
        )
        for pressure in (low_pressure, SEA_LEVEL)
    )
    density = high.prepared.plant["density"] / sea.prepared.plant["density"]
    assert density == pytest.approx(low_pressure / SEA_LEVEL, rel=1e-12)
    assert high.prepared.plant["supply"] / sea.prepared.plant["supply"] == pytest.approx(density, rel=1e-12)
    row = fitted()[PRECOOL].parameters
    group = high.group()
    state = (group.entering_dry_bulb[LATE], group.entering_humidity_ratio[LATE])
    result = performance(row, 1.0, *state, low_pressure, 28.0, 0.014, *state)
    assert result[1] * moist_air.volume(*state, low_pressure) == pytest.approx(UNITS[0].airflow, rel=1e-12)
    assert group.removal[LATE] == pytest.approx(result[2] * HOUR, rel=1e-6)
    # the rows are at sea level: there the fitted unit gives back its standard rating
    rating = fitted()[PRECOOL].unit.ratings[0]
    standard = ratio(rating.dry_bulb, rating.relative_humidity)
    state = (rating.dry_bulb, standard)
    rated = performance(row, 1.0, *state, SEA_LEVEL, *state, *state)
    assert rated[2] == pytest.approx(rating.removal, rel=0.03)


# ------------------------------------------------------------------------------------------------ storage and start


def test_moisture_and_heat_are_stepped_exactly() -> None:
    """Storage: stepped exactly; an explicit hourly step of so little storage would swing or run away."""
    # air changes of 3 an hour with the air's own mass only: z = 3, and an explicit step would multiply by 1 - 3 = -2
    swing = 0.008 + 0.004 * (CLOCK >= 12)
    site = held_site(
        outdoor_ratio=swing,
        gains=(),
        dry_bulb=22.0 + 4.0 * (CLOCK >= 12),
        targets=(humidity_limit(0.95),),
        space={
            "moisture_buffer": 1.0,
            "infiltration": 3.0 / 3600.0,
            "thermal_mass": 4.0e5,
            "heat_loss": 300.0,
            "cooling_setpoint": flat(40.0),
            "heating_setpoint": flat(0.0),
        },
    )
    found = run(site)
    year, hour = found.year, LATE - LATE % 24 + 12
    plant = found.prepared.plant
    for column, target in ((year.start_w, 0.012), (year.start_t, 26.0)):
        moist = column is year.start_w
        leak = found.prepared.hours["infiltration"][hour]
        loss = leak if moist else 300.0 + leak * (1006.0 + 1860.0 * 0.012)
        storage = plant["vapour_capacity"] if moist else plant["air_capacity"]
        z = loss * HOUR / storage
        assert z > 2.0
        expected = target + (column[hour] - target) * np.exp(-z)
        assert (year.end_w if moist else year.end_t)[hour] == pytest.approx(expected, rel=1e-9)


def test_the_year_starts_after_a_warm_up_and_at_the_driest_season() -> None:
    """Start: the year is periodic and begins after a warm-up, at the first hour of the driest 60 days."""
    season = 0.008 + 0.006 * np.cos(2.0 * np.pi * (np.arange(HOURS) / 24.0 - 200.0) / 365.0)
    site = held_site(outdoor_ratio=season, targets=(humidity_limit(0.95),))
    found = run(site)
    first = found.prepared.first_hour
    assert first == driest_season(season)
    assert first == pytest.approx(24 * 353, abs=24)  # 60 days about day 17, half a year from day 200
    # much storage, that forgets over longer than any warm-up: the year still ends where it began
    slow = replace(site, space=replace(site.space, moisture_buffer=60.0, infiltration=0.1 / 3600.0))
    for each in (site, slow):
        year = run(each).year
        # agreement found: 5.2e-9 kg/kg where the space forgets over 600 h
        assert year.start_mismatch == pytest.approx((0.0, 0.0), abs=1e-8)
        assert year.start_w[first] == pytest.approx(year.end_w[first - 1], abs=1e-8)


# ------------------------------------------------------------------------------------------------ heating


@pytest.mark.parametrize(
    ("source", "efficiency"),
    [("gas", 0.8), ("electric", 1.0), ("heat-pump", 2.5)],
    ids=["gas", "electric", "heat pump"],
)
@pytest.mark.parametrize("ducted", [True, False], ids=["air handler", "in the space"])
def test_heat_that_replaces_heating_is_credited_at_its_source(
    source: Literal["gas", "electric", "heat-pump"], efficiency: float, ducted: bool
) -> None:
    """Heating credit: unit heat that the space needed anyway saves heating at the source's efficiency and price."""
    heating = Heating(source, efficiency, None)
    handler = make_air_handler(heating=heating) if ducted else None
    space = {"heating_setpoint": flat(21.0), "heat_loss": 600.0}
    site = steady_site(
        air_handler=handler, units=UNITS, dry_bulb=2.0, outdoor_ratio=0.004,
        gains=steady_gains(heat=0.0, vapour=1.6e-3),
        targets=(humidity_limit(0.5),), space=space | ({} if ducted else {"heating": heating}),
    )  # fmt: skip
    alone, dried = run(site), run(site, Install(PRECOOL, "standalone", 1))
    assert dried.group().running[LATE] > 0.1
    saved = alone.year.heating[LATE] - dried.year.heating[LATE]
    given = at(dried.year, out.UNIT_AIR_HEAT) * HOUR
    assert given > dried.group().electricity[LATE]  # power, and the heat of condensing
    assert saved == pytest.approx(given / efficiency, rel=1e-6)
    by_gas = alone.year.gas[LATE] - dried.year.gas[LATE]
    assert by_gas == pytest.approx(saved if source == "gas" else 0.0, rel=1e-6)
    by_power = alone.year.electricity[LATE] - dried.year.electricity[LATE] + dried.group().electricity[LATE]
    assert by_power == pytest.approx(0.0 if source == "gas" else saved, rel=1e-6, abs=1e-3)


def test_heating_can_run_out_and_that_is_counted() -> None:
    """Heating: a capacity that is given can run out; the space then cools and the hours are counted."""
    cold = np.where(np.arange(HOURS) % 240 < 120, -20.0, 5.0)
    handler = make_air_handler(heating=Heating("gas", 0.8, 9000.0))
    site = steady_site(air_handler=handler, dry_bulb=cold, outdoor_ratio=0.001, gains=steady_gains(heat=0.0))
    found = evaluate(prepared=prepare_site(site=site), install=())
    short = found.year.response[:, out.SHORT_HEATING] > 0.0
    assert found.short_heating_hours == int((found.year.response[:, out.SHORT_HEATING] > 1e-6).sum())
    assert 2000 < found.short_heating_hours < 7000
    assert np.all(found.year.end_t[short] < 20.0)
    np.testing.assert_allclose(found.year.heating_delivered[short], 9000.0 * HOUR, rtol=1e-12)
    endless = replace(site, air_handler=make_air_handler())
    assert evaluate(prepared=prepare_site(site=endless), install=()).short_heating_hours == 0


def test_cooling_in_a_space_without_an_air_handler_takes_no_moisture() -> None:
    """Spaces without an air handler: what cools them takes sensible heat alone."""
    cooling = SpaceCooling("electric", 3.0, None)
    space = {"cooling_setpoint": flat(21.0), "cooling": cooling}
    found = run(held_site(space=space, dry_bulb=27.0, targets=(humidity_limit(0.95),)))
    assert found.year.mean_t[LATE] == pytest.approx(21.0, abs=1e-9)
    assert found.year.coil[LATE] == 0.0
    assert found.year.cooling[LATE] == pytest.approx(at(found.year, out.COIL_HEAT) * HOUR / 3.0, rel=1e-12)


# ------------------------------------------------------------------------------------------------ balances


@pytest.mark.parametrize("kind", ["cycling-dx", "modulating-chilled-water"])
@pytest.mark.parametrize("economizer", ["none", "dry-bulb", "enthalpy"])
def test_every_hour_balances_with_the_stored_term_from_the_states(
    kind: Literal["cycling-dx", "modulating-chilled-water"],
    economizer: Literal["none", "dry-bulb", "enthalpy"],
) -> None:
    """Balances: moisture and heat of every hour close to 1e-9 of the largest term, storage taken from the states."""
    dry_bulb = 17.0 + 9.0 * np.cos(2.0 * np.pi * (CLOCK - 15) / 24.0) + 6.0 * np.sin(np.arange(HOURS) / 777.0)
    humid = np.minimum(0.011 + 0.003 * np.sin(np.arange(HOURS) / 333.0), [ratio(t, 0.98) for t in dry_bulb])
    coil = make_coil(stages=2) if kind == "cycling-dx" else make_water_coil()
    handler = make_air_handler(
        coil=coil, economizer=economizer, ventilation=DAY.astype(float), damper_leakage=0.05
    )
    site = steady_site(air_handler=handler, units=UNITS, dry_bulb=dry_bulb, outdoor_ratio=humid, sun=50.0)
    prepared = prepare_quickly(site)
    for arrangement in ("return-side", "supply-side", "coil-bypass", "standalone", "outdoor-air"):
        year = simulate_hours(prepared=prepared, install=(Install(PRECOOL, arrangement, 1),))
        assert year.unsettled_hours == 0, arrangement
        assert moisture_residual(prepared=prepared, year=year) <= 1e-9, arrangement
        assert energy_residual(prepared=prepared, year=year) <= 1e-9, arrangement
        moved = prepared.plant["vapour_capacity"] * (year.end_w - year.start_w)
        np.testing.assert_array_equal(year.stored, moved)


def test_an_hour_that_does_not_settle_balances_all_the_same() -> None:
    """Balances: where coil and units keep changing each other's hour, it counts as unsettled, and closes."""
    prepared = prepare_site(site=read_site(path=SCENARIOS / "clinic.toml"))
    install = (Install("compressor-220", "coil-bypass", 6),)
    year = simulate_hours(prepared=prepared, install=install)
    assert year.unsettled_hours > 0  # else this test holds nothing
    assert moisture_residual(prepared=prepared, year=year) <= 1e-9  # found: 2.0e-14
    assert energy_residual(prepared=prepared, year=year) <= 1e-9


def test_what_one_well_mixed_space_cannot_represent_is_said() -> None:
    """One space: every site's notes say that several rooms on one system and reheat are not represented."""
    for name in ("school", "records"):
        notes = read_site(path=SCENARIOS / f"{name}.toml").notes
        assert any("one well-mixed space" in note and "reheat" in note for note in notes)


def test_standalone_units_have_no_fan_of_the_air_handler_to_wait_for() -> None:
    """Standalone: a site without an air handler can have them, with their own static pressure only."""
    prepared = prepare_quickly(held_site())
    assert prepared.connections[0, STANDALONE].static == 0.0
    assert (
        run(held_site(targets=(humidity_limit(0.5),)), Install(PRECOOL, "standalone", 1))
        .group()
        .running[LATE]
        > 0.0
    )
