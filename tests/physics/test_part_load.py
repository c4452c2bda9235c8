"""Latent capacity at part load: shape, root and table."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.physics.part_load import (
    TABLE_POINTS,
    first_drop_time,
    interpolated_latent_ratio,
    latent_ratio,
    latent_ratio_table,
)

CONSTANTS = {
    "wetting_time": st.floats(10.0, 4000.0),
    "evaporation_ratio": st.floats(0.01, 4.0),
    "cycling_rate": st.floats(0.5, 10.0),
    "time_constant": st.floats(0.0, 300.0),
}


@given(low=st.floats(0.0, 1.0), high=st.floats(0.0, 1.0), **CONSTANTS)
def test_longer_runtime_never_gives_back_a_larger_share(
    low: float,
    high: float,
    wetting_time: float,
    evaporation_ratio: float,
    cycling_rate: float,
    time_constant: float,
) -> None:
    constants = (wetting_time, evaporation_ratio, cycling_rate, time_constant)
    low, high = min(low, high), max(low, high)
    assert 0.0 <= latent_ratio(low, *constants) <= latent_ratio(high, *constants) + 1e-12 <= 1.0 + 1e-12


@given(evaporated=st.floats(0.0, 4000.0), time_constant=st.floats(1.0, 300.0))
def test_first_drop_time_solves_its_equation(evaporated: float, time_constant: float) -> None:
    found = first_drop_time(evaporated, time_constant)
    # Found: 1e-12 of evaporated + time_constant.
    made_good = found + time_constant * math.expm1(-found / time_constant)
    assert made_good == pytest.approx(evaporated, abs=1e-12 * (evaporated + time_constant))
    assert evaporated <= found <= (evaporated + time_constant) * (1.0 + 1e-15)


@given(runtime=st.floats(-0.5, 1.5), **CONSTANTS)
def test_runtime_outside_0_to_1_is_held(
    runtime: float, wetting_time: float, evaporation_ratio: float, cycling_rate: float, time_constant: float
) -> None:
    constants = (wetting_time, evaporation_ratio, cycling_rate, time_constant)
    held = min(1.0, max(0.0, runtime))
    assert latent_ratio(runtime, *constants) == latent_ratio(held, *constants)


def test_without_cycling_or_holding_nothing_is_lost() -> None:
    assert latent_ratio(0.3, 1000.0, 1.5, 0.0, 45.0) == 1.0
    assert latent_ratio(0.3, 0.0, 1.5, 3.0, 45.0) == 1.0


def test_coil_that_dries_in_every_off_time_keeps_what_is_over() -> None:
    # Runtime to 0: t_on = 3600 / (4 N) = 300 s at N = 3, the coil dries and holds 120 s; without a slow start
    # (300 - 120) / 300 = 0.6.
    assert latent_ratio(0.0, 120.0, 1.0, 3.0, 0.0) == pytest.approx(0.6, rel=1e-15)
    assert latent_ratio(1e-9, 120.0, 1.0, 3.0, 0.0) == pytest.approx(0.6, abs=1e-8)


def test_table_holds_the_function_at_its_points() -> None:
    constants = (1000.0, 1.5, 3.0, 45.0)
    table = latent_ratio_table(*constants)
    assert table.shape == (TABLE_POINTS,)
    at = np.linspace(0.0, 1.0, TABLE_POINTS)
    assert np.array_equal(table, [latent_ratio(runtime, *constants) for runtime in at])
    assert [interpolated_latent_ratio(table, runtime) for runtime in at] == pytest.approx(table, abs=1e-15)
    assert interpolated_latent_ratio(table, 1.7) == 1.0
    assert interpolated_latent_ratio(table, -0.2) == table[0]


def test_compiled_equals_plain() -> None:
    constants = (720.0, 1.0, 3.0, 60.0)
    dispatcher: Any = latent_ratio  # the compiled function is typed as the one it was made of
    for runtime in (0.0, 0.31, 0.5, 0.77, 0.999, 1.0):
        assert latent_ratio(runtime, *constants) == pytest.approx(
            dispatcher.py_func(runtime, *constants), abs=1e-14
        )
