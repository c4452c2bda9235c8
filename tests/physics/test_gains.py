"""Gains: schedules, who pays for evaporation, and the straight lines that the year's loop uses."""

from __future__ import annotations

from typing import Literal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs.site import (
    HOURS,
    FloatArray,
    HeatGain,
    MoistureGain,
    PeopleGain,
    PlantsGain,
    WaterSurfaceGain,
)
from selector.physics import moist_air
from selector.physics.gains import (
    EVAPORATION_HEAT,
    PEOPLE_VAPOUR_HEAT,
    HourlyGains,
    evaporation,
    evaporation_by_gain,
    evaporation_of,
    hourly_gains,
    plants_evaporation,
    pool_coefficient,
    reference_evapotranspiration,
    wet_table,
)
from tests.builders import flat, make_site, make_weather

HeatFrom = Literal["water", "air"]
P0 = 101325.0
HALF = np.where(np.arange(HOURS) % 2 == 0, 1.0, 0.0)  # on in even hours


def _pool(heat_from: HeatFrom = "water", schedule: FloatArray = HALF) -> WaterSurfaceGain:
    return WaterSurfaceGain("pool", 100.0, 28.0, 1.0, 0.5, heat_from, schedule)


def _plants(heat_from: HeatFrom = "air") -> PlantsGain:
    return PlantsGain("lettuce", 50.0, 0.9, 0.3, 0.6, 80.0, heat_from, HALF)


def _evaporated(gains: HourlyGains, hour: int, dry_bulb: float, vapour: float) -> tuple[float, float]:
    return evaporation_of(wet_table(gains=gains)[hour], dry_bulb, vapour, P0)


def test_empty_site_has_no_gains() -> None:
    gains = hourly_gains(site=make_site())
    assert not gains.sensible.any()
    assert not gains.vapour.any()
    assert gains.surface_coefficient.shape == gains.plants_net_radiation.shape == (0, HOURS)
    assert _evaporated(gains, 0, 25.0, 1500.0) == (0.0, 0.0)


def test_people_heat_and_sun_add_up() -> None:
    # Even hours: 10 people x 70 W + 500 W + 2 m² x 300 W/m² = 1800 W; odd hours: 500 + 600 = 1100 W.
    gains = hourly_gains(
        site=make_site(
            weather=make_weather(sun=300.0),
            solar_aperture=2.0,
            gains=(
                PeopleGain("people", 10.0, 70.0, 45.0, HALF),
                HeatGain("lights", 500.0, flat(1.0)),
            ),
        )
    )
    assert gains.sensible[:2] == pytest.approx([1800.0, 1100.0], rel=1e-15)
    assert gains.vapour[:2] == pytest.approx([450.0 / PEOPLE_VAPOUR_HEAT, 0.0], rel=1e-15)
    assert not gains.sensible_from_air.any()
    assert [part.kind for part in gains.series] == ["people", "heat", "sun"]


def test_moisture_from_air_cools_the_air_and_from_water_does_not() -> None:
    # 1 g/s at 2450 kJ/kg takes 2450 W.
    sources: tuple[tuple[HeatFrom, float], ...] = (("water", 0.0), ("air", -2450.0))
    for source, heat in sources:
        gains = hourly_gains(site=make_site(gains=(MoistureGain("wash", 0.001, source, HALF),)))
        assert gains.vapour[:2] == pytest.approx([0.001, 0.0])
        assert gains.sensible_from_air[:2] == pytest.approx([heat, 0.0])
        assert not gains.sensible.any()


def test_pool_at_rest_evaporates_by_its_idle_activity() -> None:
    gains = hourly_gains(site=make_site(gains=(_pool(),)))
    busy, none = _evaporated(gains, 0, 25.0, 1500.0)
    still, _ = _evaporated(gains, 1, 25.0, 1500.0)
    # 4e-8 x 100 m² x (3782 - 1500) Pa, and half of it.
    water = moist_air.saturation_pressure(28.0)
    assert busy == pytest.approx(4.0e-6 * (water - 1500.0), rel=1e-14)
    assert still == pytest.approx(0.5 * busy, rel=1e-14)
    assert none == 0.0


def test_pool_that_takes_heat_from_the_air_says_how_much() -> None:
    gains = hourly_gains(site=make_site(gains=(_pool("air"), _pool("water"))))
    vapour, heat = _evaporated(gains, 0, 25.0, 1500.0)
    assert heat == pytest.approx(EVAPORATION_HEAT * vapour / 2.0, rel=1e-14)


def test_no_condensation_on_the_water() -> None:
    assert evaporation(pool_coefficient(10.0, 1.0), 2000.0, 2000.0) == 0.0
    assert evaporation(pool_coefficient(10.0, 1.0), 2000.0, 2500.0) == 0.0
    gains = hourly_gains(site=make_site(gains=(_pool(),)))
    assert _evaporated(gains, 0, 40.0, 6000.0) == (0.0, 0.0)


def test_lamps_heat_the_space_and_light_the_crop() -> None:
    gains = hourly_gains(site=make_site(weather=make_weather(sun=200.0), gains=(_plants(),)))
    assert gains.sensible[:2] == pytest.approx([4000.0, 0.0])  # 80 W/m² x 50 m²
    # 0.77 of (0.6 x 200 + 0.5 x 80) = 0.77 x 160 with lamps, 0.77 x 120 without.
    assert gains.plants_net_radiation[0, :2] == pytest.approx([123.2, 92.4], rel=1e-14)
    assert gains.plants_area == pytest.approx([45.0], rel=1e-15)


def test_plants_follow_the_reference_crop() -> None:
    gains = hourly_gains(site=make_site(weather=make_weather(sun=200.0), gains=(_plants(),)))
    vapour, heat = _evaporated(gains, 0, 25.0, 1800.0)
    deficit = moist_air.saturation_pressure(25.0) - 1800.0
    reference = reference_evapotranspiration(25.0, deficit, 123.2, 0.0, 0.3, P0)
    assert vapour == pytest.approx(45.0 * reference, rel=1e-13)
    assert heat == pytest.approx(EVAPORATION_HEAT * vapour, rel=1e-14)


@given(
    dry_bulb=st.floats(10.0, 40.0),
    share=st.floats(0.05, 1.2),
    radiation=st.floats(0.0, 500.0),
    speed=st.floats(0.0, 3.0),
    pressure=st.floats(70000.0, 103000.0),
)
def test_transpiration_is_never_negative_and_falls_with_moister_air(
    dry_bulb: float, share: float, radiation: float, speed: float, pressure: float
) -> None:
    saturated = moist_air.saturation_pressure(dry_bulb)
    drier = reference_evapotranspiration(
        dry_bulb, (1.0 - 0.9 * share) * saturated, radiation, 0.0, speed, pressure
    )
    moister = reference_evapotranspiration(
        dry_bulb, (1.0 - share) * saturated, radiation, 0.0, speed, pressure
    )
    assert 0.0 <= moister <= drier


@given(
    dry_bulb=st.floats(5.0, 40.0),
    vapour=st.floats(100.0, 5000.0),
    more=st.floats(0.1, 50.0),
    radiation=st.floats(0.0, 500.0),
)
def test_slope_is_the_fall_while_plants_transpire(
    dry_bulb: float, vapour: float, more: float, radiation: float
) -> None:
    one, slope = plants_evaporation(50.0, radiation, 0.3, dry_bulb, vapour, P0)
    two, after = plants_evaporation(50.0, radiation, 0.3, dry_bulb, vapour + more, P0)
    if after > 0.0:
        assert slope == after
        assert one - two == pytest.approx(slope * more, rel=1e-9)
    else:
        assert (two, after) == (0.0, 0.0)


def test_table_of_loads_equals_the_loop() -> None:
    gains = hourly_gains(
        site=make_site(weather=make_weather(sun=200.0), gains=(_pool(), _plants(), _pool("air")))
    )
    dry_bulb, ratio = np.linspace(15.0, 32.0, HOURS), np.linspace(0.005, 0.018, HOURS)
    found = evaporation_by_gain(gains=gains, dry_bulb=dry_bulb, humidity_ratio=ratio, pressure=flat(P0))
    assert found.shape == (3, HOURS)
    assert gains.surface_names == ("pool", "pool")
    assert gains.plants_names == ("lettuce",)
    for hour in (0, 1, 4000, 8759):
        vapour = moist_air.vapour_pressure(ratio[hour], P0)
        total, _ = _evaporated(gains, hour, dry_bulb[hour], vapour)
        assert found[:, hour].sum() == pytest.approx(total, rel=1e-13)


def test_parts_add_up_to_the_whole() -> None:
    gains = hourly_gains(
        site=make_site(
            weather=make_weather(sun=100.0),
            solar_aperture=3.0,
            gains=(
                PeopleGain("people", 10.0, 70.0, 45.0, HALF),
                MoistureGain("wash", 0.001, "air", HALF),
                HeatGain("lights", 500.0, flat(1.0)),
                _plants(),
            ),
        )
    )
    heat = sum(part.sensible for part in gains.series)
    assert heat == pytest.approx(gains.sensible + gains.sensible_from_air, rel=1e-14)
    assert sum(part.vapour for part in gains.series) == pytest.approx(gains.vapour, rel=1e-14)
