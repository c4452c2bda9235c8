"""The exact hourly step: by hand, there and back, and against an integration of the same equations in time.

The integrations use scipy.integrate.solve_ivp at tolerances of 1e-10, so what differs is the hour, not the integrator.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from selector.inputs.site import FloatArray, HeatGain, Install, MoistureGain
from selector.physics import moist_air
from selector.physics import response as out
from selector.physics.air_handler import coil_at
from selector.physics.coil import bypass_factor_at
from selector.physics.step import HOUR, first, second, source_for, step
from selector.physics.unit import performance
from tests.builders import flat
from tests.physics.sites_for_tests import (
    CLOCK,
    SEA_LEVEL,
    Run,
    general_units,
    humidity_limit,
    make_air_handler,
    make_coil,
    ratio,
    run,
    steady_gains,
    steady_site,
)
from tests.physics.units_for_tests import fitted

PRECOOL = "precool-120"
WEEK = range(5000, 5168)


# ------------------------------------------------------------------------------------------------ by hand


def test_an_hour_that_halves_the_distance() -> None:
    # C dx/dt = A - B x, B t / C = ln 2, A / B = 10, x0 = 4: x1 = 10 - 6 / 2 = 7. The mean over the hour is
    # 10 - 6 (1 - 1/2) / ln 2 = 10 - 3 / 0.693147... = 5.671915...
    loss = math.log(2.0) * 500.0 / HOUR
    end, mean = step(4.0, 10.0 * loss, loss, 500.0)
    assert end == pytest.approx(7.0, rel=1e-14)
    assert mean == pytest.approx(10.0 - 3.0 / math.log(2.0), rel=1e-14)


def test_without_loss_the_state_runs_straight() -> None:
    # B = 0: x1 = x0 + A t / C = 4 + 0.1 x 3600 / 720 = 4.5, and the mean lies half way.
    assert step(4.0, 0.1, 0.0, 720.0) == pytest.approx((4.5, 4.25), rel=1e-15)


def test_at_rest_nothing_moves() -> None:
    assert step(10.0, 50.0, 5.0, 123.0) == (10.0, 10.0)


def test_an_hour_of_any_length_of_memory_ends_at_its_target_at_most() -> None:
    # a store that forgets within seconds ends at A / B, where an explicit step would be 3600 times beyond it
    end, mean = step(0.0, 8.0, 1.0, 1.0)
    assert end == pytest.approx(8.0, rel=1e-15)
    assert mean == pytest.approx(8.0 * (1.0 - 1.0 / 3600.0), rel=1e-12)


# ------------------------------------------------------------------------------------------------ properties

states = st.floats(-50.0, 50.0)
losses = st.floats(0.0, 20.0)
capacities = st.floats(1.0, 1e6)


@given(start=states, source=st.floats(-100.0, 100.0), loss=losses, capacity=capacities)
def test_what_is_stored_is_what_came_in(start: float, source: float, loss: float, capacity: float) -> None:
    """C (x1 - x0) / t = A - B mean: the identity that every balance of the year rests on."""
    end, mean = step(start, source, loss, capacity)
    stored = capacity * (end - start) / HOUR
    scale = abs(source) + loss * (abs(mean) + abs(start)) + capacity * (abs(end) + abs(start)) / HOUR
    assert abs(stored - (source - loss * mean)) <= 1e-12 * scale + 1e-15


@given(start=states, end=states, loss=losses, capacity=st.floats(10.0, 1e6))
def test_there_and_back(start: float, end: float, loss: float, capacity: float) -> None:
    """`source_for` finds the source with which `step` ends where it should, on the same way."""
    source, mean = source_for(start, end, loss, capacity)
    found = step(start, source, loss, capacity)
    scale = abs(start) + abs(end) + abs(source) * HOUR / capacity + 1e-3
    assert found[0] == pytest.approx(end, abs=1e-12 * scale)
    assert found[1] == pytest.approx(mean, abs=1e-12 * scale)


@given(z=st.floats(1e-9, 2e-2))
def test_series_for_slow_stores_join_the_exact_form(z: float) -> None:
    """Both functions of z against their series to the sixth power, across the places where their form changes."""
    one = sum((-z) ** k / math.factorial(k + 1) for k in range(7))
    two = sum((-z) ** k / math.factorial(k + 2) for k in range(7))
    assert first(z) == pytest.approx(one, rel=2e-11)
    assert second(z, first(z)) == pytest.approx(two, rel=2e-11)


# ------------------------------------------------------------------------------------------------ open loop


def test_open_loop_against_integration_in_time() -> None:
    """With removal and heat of each hour given, a week of hours ends where an integration in time does: 1e-6 asked,
    1.1e-9 found: hours start from rounded states."""
    outdoor = 22.0 + 4.0 * np.cos(2.0 * np.pi * (CLOCK - 15) / 24.0)
    gains = (
        MoistureGain("process", 8.0e-4, "water", 0.5 + 0.5 * (CLOCK > 11).astype(float)),
        HeatGain("lights", 900.0, (CLOCK > 7).astype(float)),
    )
    site = steady_site(
        dry_bulb=outdoor, outdoor_ratio=0.009, gains=gains, units=general_units(PRECOOL),
        targets=(humidity_limit(0.5),),
        space={
            "heat_loss": 900.0, "moisture_buffer": 4.0, "thermal_mass": 1.0e7, "cooling_setpoint": flat(40.0),
            "heating_setpoint": flat(5.0),
        },
    )  # fmt: skip
    found = run(site, Install(PRECOOL, "standalone", 3))
    year, plant = found.year, found.prepared.plant
    running = found.group().running[WEEK.start : WEEK.stop]
    assert ((running > 0.0) & (running < 3.0)).sum() > 100
    assert running.max() < 3.0  # at its set point or idle: removal does not change within an hour
    moved = np.abs(year.end_w / year.start_w - 1.0)[WEEK.start : WEEK.stop]
    assert np.median(moved) > 0.01
    state = np.array([year.start_t[WEEK.start], year.start_w[WEEK.start]])
    worst = 0.0
    for hour in WEEK:
        response = year.response[hour]
        loss = response[out.HEAT_LOSS]
        heat = loss * outdoor[hour] + sum(
            response[k] for k in (out.GAIN_HEAT, out.UNIT_AIR_HEAT, out.SYSTEM_HEAT)
        )

        def flow(
            _: float, x: FloatArray, response: FloatArray = response, loss: float = loss, heat: float = heat
        ) -> list[float]:
            moist = response[out.VAPOUR_SOURCE] - response[out.REMOVED] - response[out.VAPOUR_LOSS] * x[1]
            return [(heat - loss * x[0]) / plant["air_capacity"], moist / plant["vapour_capacity"]]

        state = solve_ivp(flow, (0.0, HOUR), state, method="DOP853", rtol=1e-10, atol=1e-13).y[:, -1]
        worst = max(worst, abs(state[0] / year.end_t[hour] - 1.0), abs(state[1] / year.end_w[hour] - 1.0))
    assert worst < 2e-9


# ------------------------------------------------------------------------------------------------ closed loop


def follow(
    found: Run, flow: Callable[[FloatArray, int], list[float]], hours: range = WEEK
) -> tuple[float, float]:
    """Integrate in time from the start of the first hour; return the worst distance in dry bulb [K] and humidity
    ratio [share of itself] at the hours' ends."""
    year = found.year
    state = np.array([year.start_t[hours.start], year.start_w[hours.start]])
    worst_t = worst_w = 0.0
    for hour in hours:

        def instant(_: float, x: FloatArray, hour: int = hour) -> list[float]:
            return flow(x, hour)

        state = solve_ivp(instant, (0.0, HOUR), state, rtol=1e-9, atol=1e-11).y[:, -1]
        worst_t = max(worst_t, abs(state[0] - year.end_t[hour]))
        worst_w = max(worst_w, abs(state[1] / year.end_w[hour] - 1.0))
    return worst_t, worst_w


@pytest.mark.parametrize(
    ("buffer", "allowed_t", "allowed_w"),
    [(10.0, 0.0013, 4.8e-5), (2.0, 0.0030, 3.2e-4)],
    ids=["furnished", "hardly any"],
)
def test_closed_loop_of_a_unit_at_full(buffer: float, allowed_t: float, allowed_w: float) -> None:
    """A unit that runs all week on air that changes: the hour takes it at the mean state, the integration at every
    instant.

    Differences found at the hours' ends, with outdoor air that swings by 6 K and 4 g/kg: 0.0012 K and 0.005 % of the
    humidity ratio with furnished rooms' storage; 0.0028 K and 0.031 % with twice the air's own.
    """
    outdoor = 22.0 + 3.0 * np.cos(2.0 * np.pi * (CLOCK - 15) / 24.0)
    humid = 0.011 + 0.002 * np.cos(2.0 * np.pi * (CLOCK - 9) / 24.0)
    site = steady_site(
        dry_bulb=outdoor, outdoor_ratio=humid, gains=steady_gains(heat=0.0, vapour=6.0e-4),
        units=general_units(PRECOOL), targets=(humidity_limit(0.2),),
        space={
            "heat_loss": 900.0, "moisture_buffer": buffer, "infiltration": 1.0 / 3600.0, "cooling_setpoint": flat(40.0),
            "heating_setpoint": flat(5.0), "thermal_mass": 1.0e7,
        },
    )  # fmt: skip
    found = run(site, Install(PRECOOL, "standalone", 1))
    assert np.all(found.group().running[WEEK.start : WEEK.stop] == 1.0)
    plant, hours = found.prepared.plant, found.prepared.hours
    row = fitted()[PRECOOL].parameters

    def flow(x: FloatArray, hour: int) -> list[float]:
        outside = (outdoor[hour], humid[hour])
        _, mass, removal, _, _, leaving, leaving_w, _ = performance(
            row, 1.0, x[0], x[1], SEA_LEVEL, *outside, *x
        )
        leak = hours["infiltration"][hour]
        heat = 900.0 + leak * moist_air.sensible_heat(outside[1], 1.0, 0.0)
        given = mass * moist_air.sensible_heat(leaving_w, leaving, x[0])
        return [
            (heat * (outside[0] - x[0]) + given) / plant["air_capacity"],
            (6.0e-4 + leak * (outside[1] - x[1]) - removal) / plant["vapour_capacity"],
        ]

    worst_t, worst_w = follow(found, flow)
    assert worst_t <= allowed_t
    assert worst_w <= allowed_w


@pytest.mark.parametrize(
    ("buffer", "allowed_t", "allowed_w"),
    [(10.0, 1.9e-4, 7.8e-5), (2.0, 1.7e-4, 4.2e-4)],
    ids=["furnished", "hardly any"],
)
def test_closed_loop_of_a_coil_at_its_limit(buffer: float, allowed_t: float, allowed_w: float) -> None:
    """A cooling coil that runs all week and does not reach the set point: the hour takes it at the mean state of the
    space, the integration at every instant.

    Differences found at the hours' ends, with outdoor air that swings by 6 K: 0.00019 K, and of the humidity ratio
    0.008 % with furnished rooms' storage, 0.04 % with twice the air's own, which the coil turns over in minutes.
    """
    outdoor = 31.0 + 3.0 * np.cos(2.0 * np.pi * (CLOCK - 15) / 24.0)
    humid = 0.014
    handler = make_air_handler(
        coil=make_coil(total_capacity=24000.0), supply_airflow=1.1, outdoor_airflow=0.3
    )
    site = steady_site(
        air_handler=handler, dry_bulb=outdoor, outdoor_ratio=humid, gains=steady_gains(heat=9000.0),
        space={
            "heat_loss": 300.0, "moisture_buffer": buffer, "cooling_setpoint": flat(20.0),
            "heating_setpoint": flat(15.0),
        },
    )  # fmt: skip
    found = run(site)
    week = slice(WEEK.start, WEEK.stop)
    assert np.all(found.column(out.COIL_FULL)[week] == 1.0)
    assert np.all(found.column(out.COIL_SHARE)[week] == 1.0)
    plant, hours = found.prepared.plant, found.prepared.hours
    supply, fresh = plant["supply"], plant["outdoor"]
    factor = bypass_factor_at(plant["coil_bypass"], plant["coil_flow"], supply)

    def flow(x: FloatArray, hour: int) -> list[float]:
        mixed_w = ((supply - fresh) * x[1] + fresh * humid) / supply
        mixed_h = (
            (supply - fresh) * moist_air.enthalpy(x[0], x[1])
            + fresh * moist_air.enthalpy(outdoor[hour], humid)
        ) / supply
        mixed_t = moist_air.dry_bulb_of_enthalpy(mixed_h, mixed_w)
        _, cold, dry = coil_at(plant, 1, supply, mixed_t, mixed_w, outdoor[hour], SEA_LEVEL, factor)
        warmed = moist_air.dry_bulb_of_enthalpy(
            moist_air.enthalpy(cold, dry) + plant["fan_power"] / supply, dry
        )
        leak = max(0.0, hours["infiltration"][hour] - fresh)
        cooled = supply * moist_air.sensible_heat(dry, warmed, x[0])
        # the ventilation air's own heat is in the supply air; what leaks in comes beside it
        heat = (300.0 + leak * moist_air.sensible_heat(humid, 1.0, 0.0)) * (outdoor[hour] - x[0])
        return [
            (heat + 9000.0 + cooled) / plant["air_capacity"],
            (1.0e-3 + leak * (humid - x[1]) + supply * (dry - x[1])) / plant["vapour_capacity"],
        ]

    worst_t, worst_w = follow(found, flow)
    assert worst_t <= allowed_t
    assert worst_w <= allowed_w
    assert ratio(20.0, 1.0) > found.year.mean_w[WEEK.start]
