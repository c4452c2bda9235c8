"""The rotor: potentials and their inverse, limits of the effectivenesses, both airstreams, the wettest exhaust."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs.site import ReactivationAir
from selector.physics import moist_air
from selector.physics import unit_parameters as place
from selector.physics.desiccant import potentials, reactivation_air, rotor, state_of_potentials
from selector.physics.unit import performance
from tests.physics.units_for_tests import SEA_LEVEL, STATES, plain_rotor, ratio, rotor_unit, run

WARM = (26.7, ratio(26.7, 0.6))


def test_potentials_by_hand() -> None:
    # 25 °C: 298.15^1.490 = exp(1.490 x 5.697597) = 4863.04; w = 0.01: ln w = -4.605170
    # F1 = -2865 / 4863.04 + 4.344 exp(0.8624 x -4.605170) = -0.589138 + 0.081863
    # F2 = 4863.04 / 6360 - 1.127 exp(0.07969 x -4.605170) = 0.764629 - 0.780807
    assert potentials(25.0, 0.01) == pytest.approx((-0.507275, -0.016178), abs=1e-6)


@given(dry_bulb=st.floats(-10.0, 150.0), humidity_ratio=st.floats(1e-5, 0.04), away=st.floats(-40.0, 40.0))
def test_state_of_potentials_is_the_inverse(dry_bulb: float, humidity_ratio: float, away: float) -> None:
    found = state_of_potentials(*potentials(dry_bulb, humidity_ratio), dry_bulb + away)
    assert found[0] == pytest.approx(dry_bulb, abs=2e-7)
    assert found[1] == pytest.approx(humidity_ratio, rel=1e-9, abs=1e-10)  # agreement found: 2e-11 kg/kg


def test_rotor_that_exchanges_nothing_changes_nothing() -> None:
    row = plain_rotor(first_effectiveness=0.0, second_effectiveness=0.0)
    leaving, leaving_ratio, _, _, _ = rotor(row, 0.115, *WARM, SEA_LEVEL, *WARM)
    assert leaving == pytest.approx(WARM[0], abs=1e-9)
    assert leaving_ratio == pytest.approx(WARM[1], rel=1e-9)


def test_ideal_rotor_keeps_the_first_potential_and_takes_the_second() -> None:
    row = plain_rotor(first_effectiveness=0.0, second_effectiveness=1.0)
    row[place.REACTIVATION_AIRFLOW] = 10.0 * row[place.AIRFLOW]  # so that the exhaust sets no limit
    row[place.REACTIVATION_HEAT] *= 30.0
    leaving, leaving_ratio, heated, _, _ = rotor(row, 0.115, *WARM, SEA_LEVEL, *WARM)
    first, second = potentials(leaving, leaving_ratio)
    assert first == pytest.approx(potentials(*WARM)[0], rel=1e-9)
    assert second == pytest.approx(potentials(heated, WARM[1])[1], rel=1e-9)


@pytest.mark.parametrize(("dry_bulb", "humidity"), STATES)
def test_both_airstreams_close(dry_bulb: float, humidity: float) -> None:
    row = plain_rotor()
    entering = (dry_bulb, ratio(dry_bulb, humidity))
    flow = row[place.AIRFLOW] / moist_air.volume(*entering, SEA_LEVEL)
    hot_flow, _, heated = reactivation_air(row, *WARM, SEA_LEVEL)
    leaving, leaving_ratio, heated_again, exhaust, exhaust_ratio = rotor(
        row, flow, *entering, SEA_LEVEL, *WARM
    )
    assert heated_again == heated
    water = hot_flow * (exhaust_ratio - WARM[1])
    assert water == pytest.approx(flow * (entering[1] - leaving_ratio), rel=1e-11)  # agreement found: 1e-14
    gained = flow * (moist_air.enthalpy(leaving, leaving_ratio) - moist_air.enthalpy(*entering))
    carried = hot_flow * (moist_air.enthalpy(exhaust, exhaust_ratio) - moist_air.enthalpy(*WARM))
    assert gained + carried == pytest.approx(
        row[place.REACTIVATION_HEAT], rel=1e-11
    )  # agreement found: 1e-14


def test_process_air_gains_its_fan_and_what_the_rotor_carries() -> None:
    row = plain_rotor()
    runs, flow, removal, power, gas, leaving, leaving_ratio, off_rotor = run(row, *(26.7, 0.6))
    carried = moist_air.enthalpy(off_rotor, leaving_ratio) - moist_air.enthalpy(*WARM)
    gained = moist_air.enthalpy(leaving, leaving_ratio) - moist_air.enthalpy(*WARM)
    assert flow * gained == pytest.approx(flow * carried + row[place.FAN_HEAT], rel=1e-11)
    assert removal == pytest.approx(flow * (WARM[1] - leaving_ratio), rel=1e-12)
    assert (runs, power, gas) == (1.0, 3600.0, 0.0)


def test_exhaust_is_never_wetter_than_saturated() -> None:
    row = plain_rotor(second_effectiveness=0.9)
    flow = row[place.AIRFLOW] / moist_air.volume(*WARM, SEA_LEVEL)
    _, cut_ratio, _, exhaust, exhaust_ratio = rotor(row, flow, *WARM, SEA_LEVEL, *WARM)
    assert moist_air.relative_humidity(exhaust, exhaust_ratio, SEA_LEVEL) == pytest.approx(1.0, abs=1e-12)
    # the uncut process air would be drier
    first, second = potentials(*WARM)
    hot = potentials(reactivation_air(row, *WARM, SEA_LEVEL)[2], WARM[1])
    _, uncut_ratio = state_of_potentials(
        first + 0.05 * (hot[0] - first), second + 0.9 * (hot[1] - second), 40.0
    )
    assert uncut_ratio < cut_ratio < WARM[1]


def test_exhaust_limit_holds_with_very_little_reactivation_air() -> None:
    row = plain_rotor(second_effectiveness=0.6)
    row[place.REACTIVATION_AIRFLOW] *= 0.1
    row[place.REACTIVATION_HEAT] *= 0.1
    flow = row[place.AIRFLOW] / moist_air.volume(*WARM, SEA_LEVEL)
    _, _, _, exhaust, exhaust_ratio = rotor(row, flow, *WARM, SEA_LEVEL, *WARM)
    assert moist_air.relative_humidity(exhaust, exhaust_ratio, SEA_LEVEL) == pytest.approx(1.0, abs=1e-12)


def test_unheated_moist_reactivation_air_dries_nothing() -> None:
    row = plain_rotor()
    row[place.REACTIVATION_HEAT] = 0.0
    dry, moist = (26.7, ratio(26.7, 0.3)), (26.7, ratio(26.7, 0.8))
    result = performance(row, 1.0, *dry, SEA_LEVEL, *moist, *moist)
    assert (result[2], result[6]) == (0.0, dry[1])
    assert result[7] == pytest.approx(dry[0])  # no heat to pass on; the fan is behind the rotor


@pytest.mark.parametrize(("air", "outdoor_matters"), [("outdoor", True), ("space", False)])
def test_reactivation_air_comes_from_where_the_key_says(air: ReactivationAir, outdoor_matters: bool) -> None:
    row = plain_rotor(rotor_unit(air=air))
    one = performance(row, 1.0, *WARM, SEA_LEVEL, 5.0, 0.004, 24.0, 0.010)
    other_outdoor = performance(row, 1.0, *WARM, SEA_LEVEL, 35.0, 0.018, 24.0, 0.010)
    other_space = performance(row, 1.0, *WARM, SEA_LEVEL, 5.0, 0.004, 20.0, 0.006)
    assert (one[2] != other_outdoor[2]) is outdoor_matters
    assert (one[2] != other_space[2]) is not outdoor_matters


def test_gas_is_its_own_stream() -> None:
    # 4000 W of gas at 80 % is 3200 W in the air; all electricity is fans, 0.1 of 0.134 m³/s of it in the process air
    unit = rotor_unit(energy="gas")
    row = plain_rotor(unit, electricity=134.0, gas=4000.0)
    result = run(row, 26.7, 0.6)
    assert result[3:5] == (134.0, 4000.0)
    assert row[place.FAN_HEAT] == pytest.approx(100.0)
    assert row[place.REACTIVATION_HEAT] == pytest.approx(3234.0)


def test_process_airflow_sets_removal_but_not_the_reactivation() -> None:
    row = plain_rotor()
    full, half = run(row, 26.7, 0.6), run(row, 26.7, 0.6, fraction=0.5)
    assert half[2] == pytest.approx(0.5 * full[2], rel=1e-12)
    assert half[3:5] == full[3:5]
