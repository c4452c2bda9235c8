"""Latent capacity at part load at three sets of constants, and its hard limits.

H. I. Henderson and K. Rengarajan, ASHRAE Transactions 102(1), 1996, paper 3958. The abstract names the
parameters. Equations, constants and curves are values from memory: the numbers were computed from the remembered
equations once, by fixed-point iteration, to four digits, so they hold the code to the equations, not the equations to
the paper. Found: within 5e-5, the rounding. The hand-worked cases and hard limits below need no source.
"""

from __future__ import annotations

import pytest

from selector.physics.part_load import (
    first_drop_time,
    interpolated_latent_ratio,
    latent_ratio,
    latent_ratio_table,
    off_cycle_evaporation,
)

Constants = tuple[float, float, float, float]
RUNTIMES = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)

# wetting time s, evaporation ratio, cycles an hour, time constant s: values from memory
CURVES: dict[Constants, tuple[float, ...]] = {
    (1000.0, 1.5, 3.0, 45.0): (0.0, 0.0, 0.0, 0.1356, 0.4350, 0.6678, 0.8519, 0.9299, 1.0),
    (720.0, 1.0, 3.0, 60.0): (0.0, 0.0, 0.1204, 0.4012, 0.6120, 0.7736, 0.8998, 0.9527, 1.0),
    (600.0, 0.5, 2.0, 30.0): (0.1587, 0.4019, 0.5797, 0.7110, 0.8106, 0.8882, 0.9499, 0.9762, 1.0),
}


@pytest.mark.parametrize("constants", CURVES)
def test_curve_at_remembered_constants(constants: Constants) -> None:
    found = [latent_ratio(runtime, *constants) for runtime in RUNTIMES]
    assert found == pytest.approx(CURVES[constants], abs=5e-5)


@pytest.mark.parametrize("constants", CURVES)
def test_table_is_as_good_as_the_curve(constants: Constants) -> None:
    # Found: within 0.00045 of the curve at its kink, and within 0.00025 once multiplied with the runtime.
    table = latent_ratio_table(*constants)
    for step in range(20001):
        runtime = step / 20000.0
        off = abs(interpolated_latent_ratio(table, runtime) - latent_ratio(runtime, *constants))
        assert off <= 4.5e-4, runtime
        assert off * runtime <= 2.5e-4, runtime


def test_half_runtime_at_three_cycles_an_hour_by_hand() -> None:
    # At X = 0.5, 3 cycles an hour: t_on = 3600 / (4 x 3 x 0.5) = 600 s = t_off, so 1200 s a cycle, 3 an hour.
    # t_wet 1200 s and gamma 0.5: t_e = min(600, 4800) = 600; M = 300 - 0.25 x 360000 / 4800 = 281.25 s. Without a
    # slow start t_o = M and the ratio is (600 - 281.25) / 600 = 0.53125 exactly.
    assert off_cycle_evaporation(600.0, 1200.0, 0.5) == pytest.approx(281.25, rel=1e-15)
    assert latent_ratio(0.5, 1200.0, 0.5, 3.0, 0.0) == pytest.approx(0.53125, rel=1e-15)


def test_first_drop_falls_when_what_evaporated_is_made_good() -> None:
    # With tau 60 s and t_o = 60 s: M = t_o - tau (1 - exp(-1)) = 60 exp(-1) s.
    assert first_drop_time(60.0 * 0.36787944117144233, 60.0) == pytest.approx(60.0, rel=1e-12)


@pytest.mark.parametrize("constants", CURVES)
def test_hard_limits(constants: Constants) -> None:
    wetting_time, evaporation_ratio, cycling_rate, time_constant = constants
    assert latent_ratio(1.0, *constants) == 1.0
    # No evaporation: nothing is given back.
    assert latent_ratio(0.5, wetting_time, 0.0, cycling_rate, time_constant) == 1.0
    assert latent_ratio(0.5, wetting_time, 1e-9, cycling_rate, time_constant) == 1.0
    # No more evaporates than the coil holds, however long it is off.
    for off_time in (10.0, 600.0, 1e4, 1e9):
        assert off_cycle_evaporation(off_time, wetting_time, evaporation_ratio) <= wetting_time * (
            1.0 + 1e-15
        )
    assert off_cycle_evaporation(1e9, wetting_time, evaporation_ratio) == pytest.approx(
        wetting_time, rel=1e-15
    )
