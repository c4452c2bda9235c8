"""Questions about the energy-recovery wheel and about overcooling that two careful teams would settle differently.

Each test names its question and fails if it were settled the other way. Sites are invented and steady.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from selector.inputs.site import HOURS, AirHandler, Install, RecoveryWheel, Reheat, Site
from selector.physics import response as out
from selector.physics.hourly import energy_residual, moisture_residual
from selector.physics.overcooling import COIL_RAN_OUT, ENOUGH, REHEAT_RAN_OUT
from tests.builders import flat
from tests.physics.sites_for_tests import (
    DAY,
    LATE,
    NIGHT,
    Run,
    general_units,
    humidity_limit,
    make_air_handler,
    make_coil,
    run,
    steady_gains,
    steady_site,
)

WHEEL = RecoveryWheel(0.75, 0.65, 0.3, 100.0, 150.0, 13.0, -12.0)
REHEAT = Reheat("electric", 1.0, None)
DRY_ENOUGH = (humidity_limit(0.95),)
PRECOOL = "precool-120"


def site_with(
    *,
    wheel: RecoveryWheel | None = None,
    reheat: Reheat | None = None,
    handler: AirHandler | None = None,
    **changes: Any,
) -> Site:
    handler = replace(handler or make_air_handler(), wheel=wheel, reheat=reheat)
    return steady_site(air_handler=handler, **changes)


def closes(found: Run) -> None:
    assert moisture_residual(prepared=found.prepared, year=found.year) <= 1e-9
    assert energy_residual(prepared=found.prepared, year=found.year) <= 1e-9
    assert found.year.unsettled_hours == 0


# ---------------------------------------------------------------------------------------------------------- the wheel


@pytest.mark.parametrize(
    ("dry_bulb", "ratio", "turns"),
    [
        (-12.5, 0.001, False),  # below the frost limit it stands
        (-11.5, 0.001, True),
        (20.0, 0.006, False),  # cooling weather, outdoor air of less enthalpy: it would bring the heat back
        (20.0, 0.022, True),  # cooler than the space, but so moist that its enthalpy is above
        (33.0, 0.016, True),
    ],
)
def test_when_the_wheel_turns(dry_bulb: float, ratio: float, turns: bool) -> None:
    found = run(site_with(wheel=WHEEL, dry_bulb=dry_bulb, outdoor_ratio=ratio, targets=DRY_ENOUGH))
    assert bool(found.column(out.WHEEL_SPEED)[LATE] > 0.0) is turns
    assert bool(found.year.wheel[LATE] > 0.0) is turns
    closes(found)


def test_in_cold_weather_it_slows_rather_than_calling_for_cooling() -> None:
    """A wheel on or off would heat a space full of lights beyond its set point at 5 °C, and the coil would cool it."""
    lit = steady_gains(heat=7000.0)
    found = run(site_with(wheel=WHEEL, dry_bulb=5.0, outdoor_ratio=0.004, gains=lit, targets=DRY_ENOUGH))
    speed = found.column(out.WHEEL_SPEED)[LATE]
    assert 0.05 < speed < 0.95
    assert found.year.mean_t[LATE] == pytest.approx(24.0, abs=1e-7)
    assert found.year.cooling[LATE] == 0.0
    closes(found)


def test_it_turns_only_while_ventilation_is_open() -> None:
    handler = make_air_handler(ventilation=DAY.astype(float), damper_leakage=0.1, unoccupied_fan="runs")
    found = run(site_with(wheel=WHEEL, handler=handler, dry_bulb=32.0, outdoor_ratio=0.016))
    assert np.all(found.column(out.WHEEL_SPEED)[DAY] == 1.0)
    assert np.all(found.column(out.WHEEL_SPEED)[NIGHT] == 0.0)
    closes(found)


def test_the_economizer_stays_shut_while_it_turns() -> None:
    handler = make_air_handler(economizer="dry-bulb")
    cold: dict[str, Any] = {
        "handler": handler,
        "dry_bulb": 8.0,
        "outdoor_ratio": 0.005,
        "targets": DRY_ENOUGH,
    }
    lit = steady_gains(heat=5500.0)
    found = run(site_with(wheel=WHEEL, gains=lit, **cold))
    assert found.column(out.WHEEL_SPEED)[LATE] > 0.0
    assert found.column(out.VENTILATION)[LATE] == found.column(out.BROUGHT)[LATE]
    # with more heat than its standing still lets go, it stands, and the economizer opens
    found = run(site_with(wheel=WHEEL, gains=steady_gains(heat=20000.0), **cold))
    assert found.column(out.WHEEL_SPEED)[LATE] == 0.0
    assert found.column(out.VENTILATION)[LATE] > found.column(out.BROUGHT)[LATE]
    closes(found)


def test_outdoor_air_units_take_what_leaves_it() -> None:
    units = general_units(PRECOOL)
    site = site_with(wheel=WHEEL, dry_bulb=30.0, outdoor_ratio=0.018, units=units)
    found = run(site, Install(PRECOOL, "outdoor-air", 2))
    assert found.group().running[LATE] > 0.0
    assert found.group().entering_dry_bulb[LATE] == pytest.approx(found.column(out.WHEEL_T)[LATE], abs=1e-5)
    assert found.group().entering_humidity_ratio[LATE] == pytest.approx(
        found.column(out.WHEEL_W)[LATE], abs=1e-7
    )
    closes(found)


# ---------------------------------------------------------------------------------------------------------- overcooling


@pytest.mark.parametrize(("dry_bulb", "ratio"), [(30.0, 0.012), (22.0, 0.012), (8.0, 0.006)])
def test_reheat_keeps_the_dry_bulb_that_the_hour_would_have_had(dry_bulb: float, ratio: float) -> None:
    """Cooled, floating or heated: over-run is felt as dryness alone; where heating ran, reheat gives its heat, too."""
    weather: dict[str, Any] = {"dry_bulb": dry_bulb, "outdoor_ratio": ratio}
    plain, found = run(site_with(**weather)), run(site_with(reheat=REHEAT, **weather))
    assert found.year.relative_humidity[LATE] == pytest.approx(0.52, abs=1e-7)
    assert found.year.mean_t[LATE] == pytest.approx(plain.year.mean_t[LATE], abs=2e-3)
    assert found.column(out.REHEAT)[LATE] > plain.column(out.HEATING)[LATE]
    assert found.column(out.HEATING)[LATE] == 0.0
    assert found.column(out.REHEAT_SHORT)[LATE] == ENOUGH
    closes(found)


def test_reheat_that_runs_out_is_counted_and_so_is_the_coil() -> None:
    wet: dict[str, Any] = {"dry_bulb": 28.0, "outdoor_ratio": 0.014}
    asked = run(site_with(reheat=REHEAT, **wet)).column(out.REHEAT)[LATE]
    few = run(site_with(reheat=replace(REHEAT, capacity=0.5 * asked), **wet))
    assert few.column(out.REHEAT)[LATE] == pytest.approx(0.5 * asked, rel=1e-9)
    assert few.column(out.REHEAT_SHORT)[LATE] == REHEAT_RAN_OUT
    small = run(
        site_with(reheat=REHEAT, handler=make_air_handler(coil=make_coil(total_capacity=12000.0)), **wet)
    )
    assert small.column(out.REHEAT_SHORT)[LATE] == COIL_RAN_OUT
    assert small.column(out.COIL_SHARE)[LATE] == 1.0
    for found in (few, small):
        assert found.year.relative_humidity[LATE] > 0.53
        assert found.year.mean_t[LATE] == pytest.approx(24.0, abs=1e-6)
        closes(found)


def test_units_run_first() -> None:
    units = general_units(PRECOOL)
    site = site_with(reheat=REHEAT, dry_bulb=26.0, outdoor_ratio=0.014, units=units)
    alone, some, many = (
        run(site, *([Install(PRECOOL, "standalone", count)] if count else ())) for count in (0, 1, 6)
    )
    assert some.group().running[LATE] == 1.0
    assert 0.0 < some.column(out.REHEAT)[LATE] < alone.column(out.REHEAT)[LATE]
    assert many.column(out.REHEAT)[LATE] == 0.0
    closes(some)


def test_no_over_run_without_the_fan() -> None:
    handler = make_air_handler(ventilation=np.zeros(HOURS), unoccupied_fan="off")
    off = run(site_with(reheat=REHEAT, handler=handler))
    assert not off.year.reheat.any()
    cycling = run(site_with(reheat=REHEAT, handler=replace(handler, unoccupied_fan="cycles")))
    assert cycling.year.reheat[LATE] > 0.0
    assert 0.0 < cycling.column(out.FAN_SHARE)[LATE] < 1.0
    closes(cycling)


def test_the_economizer_gives_way_to_the_coil() -> None:
    handler = make_air_handler(economizer="dry-bulb", economizer_dry_bulb=22.0)
    wet: dict[str, Any] = {
        "handler": handler,
        "dry_bulb": 20.0,
        "outdoor_ratio": 0.0135,
        "gains": steady_gains(heat=9000.0),
    }
    plain, found = run(site_with(**wet)), run(site_with(reheat=REHEAT, **wet))
    assert plain.column(out.VENTILATION)[LATE] > plain.column(out.BROUGHT)[LATE]
    assert found.column(out.VENTILATION)[LATE] == found.column(out.BROUGHT)[LATE]
    assert found.year.relative_humidity[LATE] < plain.year.relative_humidity[LATE]
    closes(found)


def test_wheel_and_reheat_through_a_changing_year() -> None:
    clock = np.arange(HOURS)
    warm = 12.0 + 14.0 * np.sin(clock / HOURS * 2.0 * np.pi) + 5.0 * np.sin(clock / 24.0 * 2.0 * np.pi)
    moist = 0.004 + 0.007 * (1.0 + np.sin(clock / HOURS * 2.0 * np.pi)) * 0.9
    handler = make_air_handler(ventilation=DAY.astype(float), economizer="enthalpy", coil=make_coil(stages=2))
    site = site_with(
        wheel=WHEEL, reheat=REHEAT, handler=handler, dry_bulb=warm, outdoor_ratio=moist,
        space={"exhaust_airflow": 0.25, "heating_setpoint": np.where(DAY, 20.0, 15.0), "cooling_setpoint": flat(24.0)},
    )  # fmt: skip
    found = run(site)
    assert (found.year.reheat > 0.0).any()
    assert (found.year.wheel > 0.0).any()
    closes(found)
