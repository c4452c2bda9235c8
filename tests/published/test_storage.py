"""Moisture storage and ventilation moisture against their closed forms.

The balance rho V C dW/dt = G - removal - rho V n (W - W_o), with C the storage in multiples of the air's own mass and n
the air changes, is textbook; its free decay is exp(-n t / C).
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from selector.inputs.defaults import defaults_file
from selector.inputs.site import HOURS, MoistureGain
from selector.physics.step import HOUR, step
from tests.physics.sites_for_tests import humidity_limit, make_air_handler, run, steady_site

# Free decay at 0.5 air changes an hour: C, time constant [h], share left after 6 h. exp(-0.5 x 6 / C) to five digits.
DECAY = ((1.0, 2.0, 0.04979), (10.0, 20.0, 0.74082), (20.0, 40.0, 0.86071))
CHANGES = 0.5  # 1/h
DRY = 1.0e-6  # kg/kg


@pytest.mark.parametrize(("storage", "constant", "left"), DECAY)
def test_free_decay_of_the_step(storage: float, constant: float, left: float) -> None:
    # agreement found: 3e-6, the rounding of the printed values; an explicit hourly step leaves 0.5^6 = 0.0156 for C = 1
    volume = 1000.0
    state = 1.0
    for _ in range(6):
        state, _ = step(state, 0.0, CHANGES / HOUR * volume, storage * volume)
    assert state == pytest.approx(left, abs=5e-6)
    assert state == pytest.approx(math.exp(-6.0 / constant), rel=1e-14)


@pytest.mark.parametrize(("storage", "constant", "left"), DECAY)
def test_free_decay_of_a_space(storage: float, constant: float, left: float) -> None:
    # outdoor air turns dry at hour 5000; 20 °C on both sides, so that outdoor air has standard density
    outdoor = np.where(np.arange(HOURS) < 5000, 0.009, DRY)
    site = steady_site(
        dry_bulb=20.0, outdoor_ratio=outdoor, gains=(), targets=(humidity_limit(0.9),),
        space={"infiltration": CHANGES / HOUR, "moisture_buffer": storage},
    )  # fmt: skip
    year = run(site).year
    found = (year.end_w[5005] - DRY) / (year.start_w[5000] - DRY)
    # agreement found: 4e-6, the moisture in the outdoor air's density and the rounding of the printed values
    assert found == pytest.approx(left, abs=5e-6)


def test_steady_state_does_not_depend_on_storage() -> None:
    # G = rho V n (W - W_o): W = W_o + G / (rho V n), whatever C is
    found = []
    for storage in (1.0, 10.0, 20.0):
        site = steady_site(
            dry_bulb=20.0, outdoor_ratio=0.006, gains=(MoistureGain("process", 2.0e-4, "water", np.ones(HOURS)),),
            targets=(humidity_limit(0.9),), space={"infiltration": CHANGES / HOUR, "moisture_buffer": storage},
        )  # fmt: skip
        result = run(site)
        found.append(float(result.year.mean_w[5000]))
        flow = result.prepared.hours["infiltration"][5000]
        assert found[-1] == pytest.approx(
            0.006 + 2.0e-4 / flow, abs=3e-10
        )  # found: 2.8e-10, where a slow store comes to rest within its rounding
    assert found == pytest.approx([found[0]] * 3, abs=3e-10)


def test_balance_of_a_space_in_motion() -> None:
    # C rho V dW/dt = G - removal - rho V n (W - W_o), hour by hour, with the mean of the hour on the right
    outdoor = 0.008 + 0.003 * np.sin(np.arange(HOURS) / 5.0)
    site = steady_site(
        dry_bulb=20.0, outdoor_ratio=outdoor, gains=(MoistureGain("process", 1.0e-4, "water", np.ones(HOURS)),),
        targets=(humidity_limit(0.9),), space={"infiltration": CHANGES / HOUR, "moisture_buffer": 3.0},
    )  # fmt: skip
    found = run(site)
    density, volume = found.prepared.plant["density"], 900.0
    left = 3.0 * density * volume * (found.year.end_w - found.year.start_w)
    moist = found.prepared.hours["infiltration"] * HOUR * (found.year.mean_w - outdoor)
    np.testing.assert_allclose(left, 1.0e-4 * HOUR - moist, atol=1e-10)


def test_storage_of_furnished_buildings() -> None:
    # about 10 to 30 times the air's own mass in furnished buildings, value from memory: common practice
    contents = defaults_file()["contents"]
    assert (
        contents["bare"]["value"]
        < 10.0
        <= contents["furnished"]["value"]
        <= contents["paper"]["value"]
        <= 30.0
    )


def test_moisture_that_ventilation_brings() -> None:
    # m = rho Q (W_o - W_i): 0.1 m³/s of air with 1.204 kg/m³, from 15.131 to 9.281 g/kg, is 2.536 kg/h
    by_hand = 1.204 * 0.1 * (15.131e-3 - 9.281e-3) * HOUR
    assert by_hand == pytest.approx(2.536, abs=5e-4)
    site = steady_site(
        air_handler=make_air_handler(outdoor_airflow=0.1), dry_bulb=22.0, outdoor_ratio=15.131e-3,
        targets=(humidity_limit(0.9),),
    )  # fmt: skip
    year = run(site).year
    brought = year.ventilation[5000] / (15.131e-3 - year.mean_w[5000]) * (15.131e-3 - 9.281e-3)
    # agreement found: 1.3e-4, as dry air at 20 °C and 101.325 kPa has 1.20415 kg/m³
    assert brought == pytest.approx(by_hand, rel=1.3e-4)
