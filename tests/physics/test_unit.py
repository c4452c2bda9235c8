"""One unit on given air: conservation, the coil inside it, frost, range, altitude and static pressure."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from selector.inputs.site import FloatArray
from selector.physics import coil, moist_air
from selector.physics import unit_parameters as place
from selector.physics.refrigerant import electric_power, evaporator, running_share
from selector.physics.unit import carnot_share, flow_fraction, performance
from tests.builders import make_unit
from tests.physics.units_for_tests import (
    SEA_LEVEL,
    STATES,
    fitted,
    model_names,
    plain_coil,
    plain_rotor,
    ratio,
    run,
)

MODELS = model_names()


@pytest.mark.parametrize("model", [model for model in MODELS if not model.startswith("rotor")])
def test_refrigerant_unit_conserves_energy(model: str) -> None:
    row = fitted()[model].parameters
    for dry_bulb, humidity in STATES:
        runs, flow, removal, power, gas, leaving, leaving_ratio, surface = run(row, dry_bulb, humidity)
        if not runs:
            continue
        entering_ratio = ratio(dry_bulb, humidity)
        gained = flow * (
            moist_air.enthalpy(leaving, leaving_ratio) - moist_air.enthalpy(dry_bulb, entering_ratio)
        )
        # agreement found: 7e-13 of the power
        assert gained == pytest.approx(power - removal * moist_air.WATER_HEAT * surface, rel=5e-12)
        assert removal == pytest.approx(flow * (entering_ratio - leaving_ratio), rel=1e-12)
        assert gas == 0.0


def test_heat_to_the_space_is_power_and_condensing_heat() -> None:
    # h_out - h_in = cp dT - dw h_g, so the sensible heat is the power, and what the vapour gave up as it condensed.
    runs, flow, removal, power, _, leaving, leaving_ratio, surface = run(plain_coil(), 26.7, 0.60)
    sensible = flow * moist_air.sensible_heat(leaving_ratio, leaving, 26.7)
    vapour = moist_air.enthalpy(26.7, 2.0) - moist_air.enthalpy(26.7, 1.0)
    assert runs == 1.0
    assert sensible == pytest.approx(power + removal * (vapour - moist_air.WATER_HEAT * surface), rel=1e-12)


@pytest.mark.parametrize("precool", [0.0, 0.3, 0.6])
@pytest.mark.parametrize(("dry_bulb", "humidity"), STATES)
def test_surface_settles_where_load_is_capacity(precool: float, dry_bulb: float, humidity: float) -> None:
    row = plain_coil(precool=precool)
    flow, entering_ratio = 0.33, ratio(dry_bulb, humidity)
    surface, before, after, after_ratio = evaporator(row, flow, dry_bulb, entering_ratio, SEA_LEVEL)
    load = flow * (
        moist_air.enthalpy(before, entering_ratio)
        - moist_air.enthalpy(after, after_ratio)
        - (entering_ratio - after_ratio) * moist_air.WATER_HEAT * surface
    )
    capacity = (
        row[place.CAPACITY]
        + row[place.CAPACITY_PER_SURFACE] * surface
        + row[place.CAPACITY_PER_ENTERING] * dry_bulb
    )
    assert load == pytest.approx(capacity, rel=1e-11)  # agreement found: 2e-13


@pytest.mark.parametrize(("dry_bulb", "humidity"), STATES)
def test_evaporator_is_the_same_coil_as_the_air_handlers(dry_bulb: float, humidity: float) -> None:
    row = plain_coil()
    rated_flow = 0.3 / moist_air.volume(26.7, ratio(26.7, 0.6), SEA_LEVEL)
    flow, entering_ratio = 0.8 * rated_flow, ratio(dry_bulb, humidity)
    surface, _, after, after_ratio = evaporator(row, flow, dry_bulb, entering_ratio, SEA_LEVEL)
    bypass = coil.bypass_factor_at(0.12, rated_flow, flow)
    assert (after, after_ratio) == pytest.approx(
        coil.leaving_air(bypass, dry_bulb, entering_ratio, surface, SEA_LEVEL), rel=1e-10
    )


def test_dry_surface_by_hand() -> None:
    # No moisture to speak of: m cp (1 - BF) (T1 - Ts) = Q0 (1 + a (Ts - 10) + b (T1 - 26.7)), BF = exp(-A0 / m).
    # T1 = 26.7 leaves m cp (1 - BF) (26.7 - Ts) = 8000 (1 + 0.03 (Ts - 10)), linear in Ts.
    row = plain_coil()
    flow, dry_ratio = 0.35, 1e-4
    bypass = math.exp(-row[place.COIL_FLOW] / flow)
    heat = flow * (1006.0 + 1860.0 * dry_ratio) * (1.0 - bypass)
    by_hand = (heat * 26.7 - 8000.0 * (1.0 - 0.3)) / (heat + 8000.0 * 0.03)
    surface, before, _, leaving_ratio = evaporator(row, flow, 26.7, dry_ratio, SEA_LEVEL)
    assert surface == pytest.approx(by_hand, rel=1e-12)
    assert (before, leaving_ratio) == (26.7, dry_ratio)


def test_precooler_is_a_sensible_effectiveness() -> None:
    row = plain_coil(precool=0.45)
    _, before, after, _ = evaporator(row, 0.33, 26.7, ratio(26.7, 0.6), SEA_LEVEL)
    assert (26.7 - before) / (26.7 - after) == pytest.approx(0.45, rel=1e-12)


def test_precooling_takes_more_moisture_with_the_same_capacity() -> None:
    plain, precooled = run(plain_coil(), 26.7, 0.6), run(plain_coil(precool=0.45), 26.7, 0.6)
    assert precooled[2] > 1.15 * plain[2]
    assert precooled[7] < plain[7]  # less sensible load, colder surface


def test_frost_takes_time_but_no_power() -> None:
    row = plain_coil(capacity=9500.0)
    unfrosted = plain_coil(capacity=9500.0, frost_loss=1e-12)
    with_frost, without = run(row, 15.6, 0.5), run(unfrosted, 15.6, 0.5)
    surface = with_frost[7]
    assert -4.0 < surface < -1.0
    assert with_frost[2] == pytest.approx(without[2] * (1.0 + 0.05 * surface), rel=1e-9)
    assert with_frost[3] == without[3]
    assert running_share(row, 0.0) == 1.0
    assert running_share(row, -10.0) == pytest.approx(0.5)
    assert running_share(row, -25.0) == 0.0


def test_power_law_by_hand() -> None:
    # 2200 (1 + 0.010 (6 - 10) + 0.014 (20.7 - 26.7)) = 2200 (1 - 0.04 - 0.084)
    assert electric_power(plain_coil(), 6.0, 20.7) == pytest.approx(2200.0 * 0.876, rel=1e-12)


def test_outside_its_range_a_unit_does_not_run() -> None:
    row = plain_coil()
    row[place.LOWEST_DRY_BULB], row[place.HIGHEST_DRY_BULB] = 10.0, 35.0
    row[place.LOWEST_VAPOUR_PRESSURE], row[place.HIGHEST_VAPOUR_PRESSURE] = 800.0, 3000.0
    low, high = (moist_air.humidity_ratio_of_vapour_pressure(p, SEA_LEVEL) for p in (800.0, 3000.0))
    middle = 0.010

    def runs(dry_bulb: float, entering_ratio: float) -> tuple[float, ...]:
        return performance(
            row, 1.0, dry_bulb, entering_ratio, SEA_LEVEL, dry_bulb, entering_ratio, dry_bulb, entering_ratio
        )

    for inside in ((10.0, 0.006), (35.0, middle), (25.0, low * (1 + 1e-12)), (25.0, high * (1 - 1e-12))):
        assert runs(*inside)[0] == 1.0
    for outside in ((9.999, 0.006), (35.001, middle), (25.0, low * 0.9999), (25.0, high * 1.0001)):
        assert runs(*outside) == (0.0, 0.0, 0.0, 0.0, 0.0, outside[0], outside[1], outside[0])
    assert performance(row, 0.0, 25.0, middle, SEA_LEVEL, 25.0, middle, 25.0, middle)[0] == 0.0


@pytest.mark.parametrize("machine", [plain_coil, plain_rotor])
def test_at_altitude_the_volume_stays_and_the_mass_follows_density(machine: Callable[[], FloatArray]) -> None:
    row = machine()
    high = 84556.0  # Pa, 1,500 m
    at_sea, aloft = run(row, 26.7, 0.6), run(row, 26.7, 0.6, high)
    assert at_sea[1] * moist_air.volume(26.7, ratio(26.7, 0.6), SEA_LEVEL) == pytest.approx(
        row[place.AIRFLOW]
    )
    assert aloft[1] * moist_air.volume(26.7, ratio(26.7, 0.6, high), high) == pytest.approx(
        row[place.AIRFLOW]
    )
    assert aloft[1] < 0.84 * at_sea[1]


def test_less_airflow_gives_a_colder_surface_and_less_removal() -> None:
    row = plain_coil()
    results = [run(row, 26.7, 0.6, fraction=fraction) for fraction in (1.0, 0.8, 0.6, 0.4)]
    assert np.all(np.diff([result[2] for result in results]) < 0.0)
    assert np.all(np.diff([result[7] for result in results]) < 0.0)
    assert results[1][1] == pytest.approx(0.8 * results[0][1], rel=1e-12)


def test_flow_against_static_pressure() -> None:
    unit = make_unit()  # holds its airflow up to 125 Pa
    assert [flow_fraction(unit=unit, static=static) for static in (-50.0, 0.0, 125.0)] == [1.0, 1.0, 1.0]
    # halfway from 125 Pa to shut-off at 250 Pa: sqrt(1 / 2)
    assert flow_fraction(unit=unit, static=187.5) == pytest.approx(math.sqrt(0.5))
    assert [flow_fraction(unit=unit, static=static) for static in (250.0, 400.0)] == [0.0, 0.0]
    no_duct = replace(unit, fan_static=0.0)
    assert flow_fraction(unit=no_duct, static=0.0) == 1.0
    assert flow_fraction(unit=no_duct, static=1.0) == 0.0


def test_ideal_machine_by_hand() -> None:
    # Q / P over the Carnot ratio of surface and leaving air, from what `performance` returns for the same air
    row = plain_coil()
    _, _, _, power, _, leaving, _, surface = run(row, 26.7, 0.6)
    capacity = 8000.0 * (1.0 + 0.03 * (surface - 10.0))
    carnot = (surface + 273.15) / (leaving - surface)
    found = carnot_share(row, 26.7, ratio(26.7, 0.6), SEA_LEVEL)
    assert found == pytest.approx(capacity / power / carnot, rel=1e-9)


@pytest.mark.parametrize("row", [plain_coil(precool=0.4), plain_rotor()], ids=["evaporator", "rotor"])
def test_compiled_equals_interpreted(row: FloatArray) -> None:
    dispatcher: Any = performance  # the compiled function is typed as the one it was made of
    for dry_bulb, humidity in STATES:
        entering = (dry_bulb, ratio(dry_bulb, humidity))
        arguments = (row, 0.9, *entering, SEA_LEVEL, *entering, *entering)
        assert performance(*arguments) == pytest.approx(dispatcher.py_func(*arguments), rel=1e-12)
