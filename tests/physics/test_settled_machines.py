"""Questions about machines that two careful teams would settle differently: coils, evaporation, who runs when.

Each test names its question and fails if it were settled the other way. Sites are invented and steady.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from selector.inputs.site import HOURS, Arrangement, Install, MoistureGain, PlantsGain, WaterSurfaceGain
from selector.physics import moist_air
from selector.physics import response as out
from selector.physics.air_handler import coil_at, cooling_power
from selector.physics.coil import RATING_DRY_BULB, RATING_WET_BULB, bypass_factor_at
from selector.physics.gains import EVAPORATION_HEAT, plants_evaporation, pool_evaporation
from selector.physics.prepare import lead_order
from selector.physics.step import HOUR
from selector.physics.unit import performance
from tests.builders import flat
from tests.physics.sites_for_tests import (
    DAY,
    LATE,
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

PRECOOL, COMPRESSOR, ROTOR = "precool-120", "compressor-120", "rotor-90"
UNITS = general_units(PRECOOL, COMPRESSOR, ROTOR)


def plant_of(**changes: Any) -> Any:
    return prepare_quickly(steady_site(air_handler=make_air_handler(coil=make_coil(**changes)))).plant


def capacity(
    plant: Any,
    *,
    stage: int = 1,
    dry_bulb: float = RATING_DRY_BULB,
    humidity: float | None = None,
    outdoor: float = 35.0,
    flow: float | None = None,
) -> tuple[float, float, float]:
    """Heat [W] that the coil takes, its power [W] and its surface [°C], running steadily; rated where none is given."""
    flow = plant["coil_flow"] if flow is None else flow
    if humidity is None:
        humidity = float(moist_air.humidity_ratio_of_wet_bulb(RATING_DRY_BULB, RATING_WET_BULB, SEA_LEVEL))
    factor = bypass_factor_at(plant["coil_bypass"], plant["coil_flow"], flow)
    surface, leaving, leaving_w = coil_at(plant, stage, flow, dry_bulb, humidity, outdoor, SEA_LEVEL, factor)
    heat = flow * (
        moist_air.enthalpy(dry_bulb, humidity)
        - moist_air.enthalpy(leaving, leaving_w)
        - (humidity - leaving_w) * moist_air.WATER_HEAT * surface
    )
    return float(heat), float(cooling_power(plant, heat, surface, outdoor)), float(surface)


# ------------------------------------------------------------------------------------------------ cooling coils


def test_a_direct_expansion_coil_follows_outdoor_temperature_by_its_stated_laws() -> None:
    """Direct expansion: capacity falls and power rises with outdoor dry bulb by the laws of the site, held below a
    stated outdoor temperature."""
    plant = plant_of()
    rated, power, _ = capacity(plant)
    # agreement found: 5.1e-5, as the rating takes the load to be linear in the bypass factor
    assert rated == pytest.approx(30000.0, rel=6e-5)
    assert power == pytest.approx(30000.0 / 3.5, rel=6e-5)
    surface = float(plant["coil_surface"])
    for outdoor in (25.0, 40.0):
        heat, used, here = capacity(plant, outdoor=outdoor)
        law = 1.0 + 0.03 * (here - surface) - 0.008 * (outdoor - 35.0)
        assert heat == pytest.approx(30000.0 * law, rel=1e-9)
        cop = 3.5 * (1.0 + 0.02 * (here - surface) - 0.022 * (outdoor - 35.0))
        assert used == pytest.approx(heat / cop, rel=1e-9)
        assert (heat > rated) == (outdoor < 35.0)
    assert capacity(plant, outdoor=5.0) == capacity(plant, outdoor=15.0)


def test_a_direct_expansion_coil_follows_the_entering_wet_bulb() -> None:
    """Direct expansion: capacity rises with entering wet bulb and hardly with dry bulb at one wet bulb."""
    plant = plant_of()

    def at_wet_bulb(dry_bulb: float, wet_bulb: float) -> float:
        humidity = moist_air.humidity_ratio_of_wet_bulb(dry_bulb, wet_bulb, SEA_LEVEL)
        return capacity(plant, dry_bulb=dry_bulb, humidity=float(humidity))[0]

    rated = at_wet_bulb(RATING_DRY_BULB, RATING_WET_BULB)
    assert at_wet_bulb(RATING_DRY_BULB, 17.0) < 0.98 * rated
    assert at_wet_bulb(RATING_DRY_BULB, 22.0) > 1.02 * rated
    # 2 K of dry bulb at one wet bulb: 0.4 % found, while the coil is wet
    assert at_wet_bulb(RATING_DRY_BULB + 2.0, RATING_WET_BULB) == pytest.approx(rated, rel=5e-3)


def test_stages_come_one_after_the_other() -> None:
    """Stages: the next one runs only while the one before it runs all the time, and cycles against it."""
    coil = make_coil(stages=3, cycling_loss=0.2)
    stages = []
    for heat in (2000.0, 9000.0, 16000.0):
        found = run(steady_site(air_handler=make_air_handler(coil=coil), gains=steady_gains(heat=heat)))
        stages.append(at(found.year, out.COIL_STAGE))
        on, share = at(found.year, out.COIL_SHARE), at(found.year, out.FAN_SHARE)
        assert 0.0 < on < share == 1.0
        plant, year = found.prepared.plant, found.year
        stage = int(at(year, out.COIL_STAGE))
        entering = {"dry_bulb": at(year, out.COIL_IN_T), "humidity": at(year, out.COIL_IN_W), "outdoor": 28.0}
        entering["flow"] = at(year, out.COIL_AIR)
        high, high_power, _ = capacity(plant, stage=stage, **entering)
        low, low_power, _ = capacity(plant, stage=stage - 1, **entering) if stage > 1 else (0.0, 0.0, 0.0)
        loss = 1.0 + 0.2 * (1.0 - on) if stage == 1 else 1.0
        assert at(year, out.COIL_HEAT) == pytest.approx(on * high + (1.0 - on) * low, rel=1e-6)
        assert year.cooling[LATE] == pytest.approx(
            (on * high_power * loss + (1.0 - on) * low_power) * HOUR, rel=1e-6
        )
    assert stages == [1.0, 2.0, 3.0]


def test_chilled_water_rises_to_meet_the_sensible_load_and_no_further() -> None:
    """Chilled water: the apparatus dew point rises until the sensible load is met, the water flowing all the time."""
    surfaces, removed = [], []
    for heat in (2000.0, 6000.0, 10000.0):
        site = steady_site(
            air_handler=make_air_handler(coil=make_water_coil()), gains=steady_gains(heat=heat)
        )
        found = run(site)
        assert found.year.mean_t[LATE] == pytest.approx(24.0, abs=1e-9)
        assert at(found.year, out.COIL_SHARE) == 1.0
        assert at(found.year, out.GIVEN_BACK) == 0.0
        surfaces.append(at(found.year, out.SURFACE_T))
        removed.append(found.year.coil[LATE])
    assert surfaces[0] > surfaces[1] > surfaces[2]
    assert removed[0] < removed[1] < removed[2]


def test_chilled_water_takes_no_moisture_at_or_above_the_entering_dew_point() -> None:
    """Chilled water: latent is zero at or above the entering dew point, though it still cools."""
    gains = steady_gains(heat=1500.0, vapour=2.0e-4)
    site = steady_site(
        air_handler=make_air_handler(coil=make_water_coil()), gains=gains, dry_bulb=26.0, outdoor_ratio=0.010
    )
    found = run(site)
    dew = moist_air.dew_point(at(found.year, out.COIL_IN_T), at(found.year, out.COIL_IN_W), SEA_LEVEL)
    assert at(found.year, out.SURFACE_T) >= dew
    assert at(found.year, out.COIL_REMOVED) == 0.0
    assert at(found.year, out.COIL_HEAT) > 1000.0


# ------------------------------------------------------------------------------------------------ evaporation


def test_pools_and_plants_evaporate_into_the_hours_own_state() -> None:
    """Evaporation: at the hour's own space state, so that drying the space makes a pool and a crop give off more."""
    pool = WaterSurfaceGain("pool", 60.0, 28.0, 1.0, 0.5, "water", DAY.astype(float))
    crop = PlantsGain("crop", 50.0, 1.0, 0.3, 0.0, 100.0, "water", DAY.astype(float))
    site = steady_site(
        gains=(pool, crop), units=UNITS, targets=(humidity_limit(0.4),), space={"heat_loss": 2000.0}
    )
    wet, dried = run(site), run(site, Install(PRECOOL, "standalone", 2))
    for found in (wet, dried):
        for hour, factor, light in ((LATE + 4, 1.0, 100.0), (LATE + 16, 0.5, 0.0)):
            assert DAY[hour] == (factor == 1.0)
            mean_t, mean_w = found.year.mean_t[hour], found.year.mean_w[hour]
            vapour = moist_air.vapour_pressure(mean_w, SEA_LEVEL)
            given = pool_evaporation(60.0, factor, moist_air.saturation_pressure(28.0), vapour)
            given += plants_evaporation(50.0, 0.77 * 0.5 * light, 0.3, mean_t, vapour, SEA_LEVEL)[0]
            assert found.year.internal[hour] == pytest.approx(given * HOUR, rel=1e-6)
    assert dried.year.internal.sum() > 1.05 * wet.year.internal.sum()


@pytest.mark.parametrize("kind", ["pool", "crop", "process"])
def test_heat_of_evaporation_comes_from_the_water_or_from_the_air(kind: str) -> None:
    """Evaporation: a gain's key says who pays its heat; what the air pays is missing in the space's sensible heat."""
    gains: dict[str, WaterSurfaceGain | PlantsGain | MoistureGain] = {
        "pool": WaterSurfaceGain("pool", 40.0, 26.0, 1.0, 1.0, "water", np.ones(HOURS)),
        "crop": PlantsGain("crop", 50.0, 1.0, 0.3, 0.0, 0.0, "water", np.ones(HOURS)),
        "process": MoistureGain("process", 1.0e-3, "water", np.ones(HOURS)),
    }
    found = {}
    for source in ("water", "air"):
        gain = replace(gains[kind], heat_from=source)
        found[source] = run(steady_site(gains=(gain,), space={"infiltration": 1.0 / 3600.0}))
    heat = {source: at(one.year, out.GAIN_HEAT) for source, one in found.items()}
    assert heat["water"] == 0.0
    assert heat["air"] == pytest.approx(-EVAPORATION_HEAT * found["air"].year.internal[LATE] / HOUR, rel=1e-6)
    assert found["air"].year.mean_t[LATE] < found["water"].year.mean_t[LATE] - 0.5


# ------------------------------------------------------------------------------------------------ who runs when


def test_the_best_units_lead_and_the_others_follow_when_all_of_them_run() -> None:
    """Lead and lag: all units of the model with the best kg/kWh first, the next model only when they all run."""
    loads = np.repeat(np.linspace(0.0, 1.0, HOURS // 24), 24)
    gains = (MoistureGain("process", 6.0e-3, "water", loads),)
    site = steady_site(
        gains=gains, units=UNITS, targets=(humidity_limit(0.5),), dry_bulb=22.0, outdoor_ratio=0.007,
        space={"heat_loss": 4000.0},
    )  # fmt: skip
    found = run(site, Install(COMPRESSOR, "standalone", 2), Install(PRECOOL, "standalone", 2))
    assert [part.model for part in found.install] == [PRECOOL, COMPRESSOR]
    lead, lag = (found.group(place).running for place in (0, 1))
    assert np.all(lead[lag > 0.0] == 2.0)
    assert ((lag > 0.0) & (lag < 2.0)).sum() > 100
    assert ((lead > 0.0) & (lead < 2.0)).sum() > 100
    assert lag.max() == 2.0


def test_lead_goes_to_more_water_for_the_energy_not_to_the_catalogues_first() -> None:
    """Lead and lag: sorted by kg/kWh; catalogue order only breaks ties."""
    prepared = prepare_quickly(steady_site(units=general_units(ROTOR, COMPRESSOR, PRECOOL)))
    install = tuple(Install(model, "standalone", 1) for model in (ROTOR, COMPRESSOR, PRECOOL))
    ordered = lead_order(prepared=prepared, install=install)
    assert [part.model for part in ordered] == [PRECOOL, COMPRESSOR, ROTOR]
    best = [prepared.specific[row] for row in prepared.lead]
    assert best == sorted(best, reverse=True)


@pytest.mark.parametrize(
    "arrangement", ["return-side", "supply-side", "coil-bypass", "standalone", "outdoor-air"]
)
def test_the_humidistat_holds_its_set_point_without_overshoot(arrangement: Arrangement) -> None:
    """Humidistat: it modulates the running units so that the space ends the hour at its set point, neither above while
    units are left nor below."""
    loads = 0.5 + 0.5 * np.cos(2.0 * np.pi * np.arange(HOURS) / 24.0)
    gains = (*steady_gains(heat=5000.0, vapour=5.0e-4), MoistureGain("process", 2.5e-3, "water", loads))
    coil = make_coil(total_capacity=25000.0)
    site = steady_site(
        air_handler=make_air_handler(coil=coil), gains=gains, units=UNITS, targets=(humidity_limit(0.5, band=0.03),),
        outdoor_ratio=0.010, dry_bulb=26.0,
    )  # fmt: skip
    found = run(site, Install(PRECOOL, arrangement, 2))
    running, year = found.group().running, found.year
    goal = ratio(24.0, 0.47)
    part = (running > 0.0) & (running < 2.0)
    assert part.sum() > 500
    np.testing.assert_allclose(year.end_w[part], goal, rtol=1e-9)
    # agreement found: 0.03 % where the last unit just reaches the set point
    assert np.all(year.end_w[running == 2.0] > goal * (1.0 - 5e-4))
    assert np.all(year.end_w[running == 0.0] < goal * (1.0 + 1e-6))
    assert year.unsettled_hours == 0


@pytest.mark.parametrize("loss", [0.0, 0.1])
def test_cycling_loss_is_a_stated_coefficient(loss: float) -> None:
    """Cycling: one unit's part-time share costs loss x f x (1 - f) unit-hours of power more, nothing at a loss of 0."""
    units = general_units(PRECOOL, cycling_loss=loss)
    site = steady_site(
        units=units, targets=(humidity_limit(0.55),), dry_bulb=22.0, outdoor_ratio=0.009,
        gains=steady_gains(heat=0.0, vapour=1.6e-3), space={"heat_loss": 3000.0},
    )  # fmt: skip
    found = run(site, Install(PRECOOL, "standalone", 2))
    group = found.group()
    running = group.running[LATE]
    part = running - np.floor(running)
    assert 0.1 < part < 0.9
    row = found.prepared.fitted[0].parameters
    state = (group.entering_dry_bulb[LATE], group.entering_humidity_ratio[LATE])
    power = performance(row, 1.0, *state, SEA_LEVEL, 22.0, 0.009, *state)[3]
    assert group.electricity[LATE] == pytest.approx(
        (running + loss * part * (1.0 - part)) * power * HOUR, rel=1e-6
    )


def test_a_unit_outside_its_range_does_not_run_and_its_hours_are_counted() -> None:
    """Range: outside its rows and entering limits a unit does not run, and the hours lost are counted."""
    cold = np.where(np.arange(HOURS) < 4000, 22.0, 2.0)
    site = steady_site(
        dry_bulb=cold, units=UNITS, targets=(humidity_limit(0.4),), gains=steady_gains(heat=0.0),
        outdoor_ratio=0.004, space={"heat_loss": 3000.0, "heating_setpoint": flat(2.0)},
    )  # fmt: skip
    found = run(site, Install(PRECOOL, "standalone", 1))
    assert found.group().running[3000] > 0.0
    assert found.group().running[6000:8000].max() == 0.0
    assert found.year.relative_humidity[7000] > 0.4
    assert found.year.lost_hours == pytest.approx(4760, abs=60)
