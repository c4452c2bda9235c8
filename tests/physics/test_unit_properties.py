"""What must hold for every unit of the shipped catalogue on any air within its range, at any altitude."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, reject
from hypothesis import strategies as st
from scipy.optimize import brentq

from selector.inputs.site import FloatArray
from selector.physics import coil, moist_air
from selector.physics import unit_parameters as place
from selector.physics.refrigerant import evaporator
from selector.physics.unit import carnot_share, performance
from tests.physics.units_for_tests import box_state, fitted, model_names

share = st.floats(0.0, 1.0)
pressures = st.floats(75000.0, 103000.0)
models = st.sampled_from(model_names())
refrigerant_models = st.sampled_from([model for model in model_names() if not model.startswith("rotor")])


def drawn(model: str, across: float, up: float, pressure: float) -> tuple[FloatArray, tuple[float, float]]:
    row = fitted()[model].parameters
    state = box_state(row, across, up, pressure)
    if state is None:
        reject()
    return row, state


@given(
    model=models,
    across=share,
    up=share,
    pressure=pressures,
    fraction=st.floats(0.2, 1.0),
    outdoor=st.floats(-20, 40),
)
def test_finite_and_conserving_over_the_whole_range(
    model: str, across: float, up: float, pressure: float, fraction: float, outdoor: float
) -> None:
    row, (dry_bulb, ratio) = drawn(model, across, up, pressure)
    outdoor_ratio = 0.6 * moist_air.saturation_humidity_ratio(outdoor, pressure)
    result = performance(row, fraction, dry_bulb, ratio, pressure, outdoor, outdoor_ratio, dry_bulb, ratio)
    runs, flow, removal, power, gas, leaving, leaving_ratio, surface = result
    assert all(map(math.isfinite, result))
    assert runs == 1.0
    assert flow > 0.0
    assert 0.0 <= removal < flow * ratio
    assert power > 0.0
    assert gas >= 0.0
    assert moist_air.vapour_pressure(leaving_ratio, pressure) < moist_air.saturation_pressure(leaving)
    assert flow * (ratio - leaving_ratio) == pytest.approx(removal, rel=1e-9, abs=1e-15)
    gained = flow * (moist_air.enthalpy(leaving, leaving_ratio) - moist_air.enthalpy(dry_bulb, ratio))
    if row[place.MACHINE] == place.EVAPORATOR:
        kept = power - removal * moist_air.WATER_HEAT * surface
    else:
        carried = moist_air.enthalpy(surface, leaving_ratio) - moist_air.enthalpy(dry_bulb, ratio)
        kept = flow * carried + row[place.FAN_HEAT]
    assert abs(gained - kept) <= 1e-9 * power


@given(model=models, across=share, up=share, pressure=pressures, drier=st.floats(0.0, 0.5))
def test_drier_air_of_the_same_temperature_gives_no_more(
    model: str, across: float, up: float, pressure: float, drier: float
) -> None:
    row, (dry_bulb, ratio) = drawn(model, across, up, pressure)
    lowest = moist_air.humidity_ratio_of_vapour_pressure(row[place.LOWEST_VAPOUR_PRESSURE], pressure)
    less = max(ratio * (1.0 - drier), lowest * (1.0 + 1e-9))
    assume(less < ratio)
    hot = (26.7, 0.0132)  # the same reactivation air for both
    moist = performance(row, 1.0, dry_bulb, ratio, pressure, *hot, *hot)
    dry = performance(row, 1.0, dry_bulb, less, pressure, *hot, *hot)
    assert dry[2] <= moist[2] * (1.0 + 1e-12)


@given(model=models, across=share, up=share, count=st.integers(0, 8))
def test_one_unit_more_at_a_fixed_entering_state_never_removes_less(
    model: str, across: float, up: float, count: int
) -> None:
    row, (dry_bulb, ratio) = drawn(model, across, up, 101325.0)
    removal = performance(row, 1.0, dry_bulb, ratio, 101325.0, dry_bulb, ratio, dry_bulb, ratio)[2]
    assert (count + 1) * removal >= count * removal


@given(model=refrigerant_models, across=share, up=share, pressure=pressures, fraction=st.floats(0.3, 1.0))
def test_surface_agrees_with_a_bracketing_root_finder(
    model: str, across: float, up: float, pressure: float, fraction: float
) -> None:
    row, (dry_bulb, ratio) = drawn(model, across, up, pressure)
    flow = fraction * row[place.AIRFLOW] / moist_air.volume(dry_bulb, ratio, pressure)
    bypass = math.exp(-row[place.COIL_FLOW] / flow)
    precool = row[place.PRECOOL]

    def excess(surface: float) -> float:
        after = (bypass * (1.0 - precool) * dry_bulb + (1.0 - bypass) * surface) / (1.0 - precool * bypass)
        before = dry_bulb - precool * (dry_bulb - after)
        _, after_ratio = coil.leaving_air(bypass, before, ratio, surface, pressure)
        load: float = flow * (
            moist_air.enthalpy(before, ratio)
            - moist_air.enthalpy(after, after_ratio)
            - (ratio - after_ratio) * moist_air.WATER_HEAT * surface
        )
        capacity: float = (
            row[place.CAPACITY]
            + row[place.CAPACITY_PER_SURFACE] * surface
            + row[place.CAPACITY_PER_ENTERING] * dry_bulb
        )
        return load - capacity

    found = evaporator(row, flow, dry_bulb, ratio, pressure)[0]
    # agreement found: 3e-11 K
    assert found == pytest.approx(brentq(excess, -60.0, 60.0, xtol=1e-12, rtol=1e-14), abs=1e-9)


@given(model=refrigerant_models, across=share, up=share, pressure=pressures)
def test_no_unit_beats_an_ideal_machine(model: str, across: float, up: float, pressure: float) -> None:
    row, (dry_bulb, ratio) = drawn(model, across, up, pressure)
    assert 0.0 < carnot_share(row, dry_bulb, ratio, pressure) < 1.0  # found: up to 0.76, hot, moist and high
