"""Ducts and fans: round trips, limits, refusals."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.physics.ducts import (
    DuctDrop,
    FanPoint,
    design_diameter,
    diameter_at_friction,
    diameter_for,
    duct_pressure_drop,
    fan_at,
    friction_per_metre,
)
from selector.physics.prepare import connect
from tests.money.price_books import priced_site

AIRFLOW = st.floats(0.01, 10.0)


def test_laminar_friction_by_hand() -> None:
    # 1e-4 m³/s in 0.1 m: V = 0.012732 m/s, Re = 84, f = 64 / Re; Hagen-Poiseuille 128 mu Q / (pi D^4) =
    # 128 x 1.825e-5 x 1e-4 / (pi 1e-4) = 7.4357e-4 Pa/m.
    by_hand = 128.0 * 1.825e-5 * 1e-4 / (math.pi * 1e-4)
    assert friction_per_metre(airflow=1e-4, diameter=0.1) == pytest.approx(by_hand, rel=1e-12)


@given(airflow=AIRFLOW, velocity=st.floats(1.0, 15.0))
def test_diameter_carries_the_airflow(airflow: float, velocity: float) -> None:
    diameter = diameter_for(airflow=airflow, velocity=velocity)
    assert velocity * math.pi * diameter**2 / 4.0 == pytest.approx(airflow, rel=1e-14)


@given(airflow=AIRFLOW, more=st.floats(1.01, 3.0), diameter=st.floats(0.1, 1.5))
def test_more_air_or_a_narrower_duct_takes_more_pressure(
    airflow: float, more: float, diameter: float
) -> None:
    one = friction_per_metre(airflow=airflow, diameter=diameter)
    assert friction_per_metre(airflow=airflow * more, diameter=diameter) > one
    assert friction_per_metre(airflow=airflow, diameter=diameter * more) < one


@given(speed=st.floats(0.2, 2.0), density=st.floats(0.6, 1.3))
def test_fan_there_and_back(speed: float, density: float) -> None:
    point = FanPoint(2.0, 300.0, 1000.0)
    there = fan_at(point=point, speed_ratio=speed, density_ratio=density)
    back = fan_at(point=there, speed_ratio=1.0 / speed, density_ratio=1.0 / density)
    assert (back.airflow, back.pressure, back.power) == pytest.approx((2.0, 300.0, 1000.0), rel=1e-13)
    # Air power, flow times pressure, goes with the power: the efficiency stays.
    assert there.airflow * there.pressure / there.power == pytest.approx(0.6, rel=1e-13)


def test_length_and_fittings_add_up() -> None:
    straight = duct_pressure_drop(airflow=0.3, length=6.0, velocity=5.0, fittings=0.0)
    longer = duct_pressure_drop(airflow=0.3, length=12.0, velocity=5.0, fittings=0.5)
    assert longer.pressure == pytest.approx(3.0 * straight.pressure, rel=1e-14)


def test_no_duct_no_drop() -> None:
    nothing = DuctDrop(0.0, 0.0, 0.0)
    assert duct_pressure_drop(airflow=0.3, length=0.0, velocity=5.0, fittings=0.5) == nothing
    assert duct_pressure_drop(airflow=0.0, length=6.0, velocity=5.0, fittings=0.5) == nothing
    assert friction_per_metre(airflow=0.0, diameter=0.3) == 0.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"airflow": -0.1}, r"airflow of a duct is -0\.1 m³/s; it may not be negative"),
        ({"length": -1.0}, r"length of a duct is -1 m; it may not be negative"),
        ({"fittings": -0.5}, r"fittings of a duct is -0\.5; it may not be negative"),
        ({"density": -1.0}, r"density of a duct is -1 kg/m³; it may not be negative"),
        ({"velocity": 0.0}, r"duct velocity is 0 m/s; it has to be above 0"),
    ],
)
def test_impossible_duct_is_refused(change: dict[str, float], message: str) -> None:
    given_inputs = {"airflow": 0.3, "length": 6.0, "velocity": 5.0, "fittings": 0.5, "density": 1.2}
    with pytest.raises(ValueError, match=message):
        duct_pressure_drop(**(given_inputs | change))


@pytest.mark.parametrize("airflow", [0.02, 0.3, 2.5])
@pytest.mark.parametrize("friction", [0.5, 1.0, 3.0])
def test_diameter_at_a_friction_rate_and_back(airflow: float, friction: float) -> None:
    """Found: 1e-11."""
    diameter = diameter_at_friction(airflow=airflow, friction=friction)
    assert friction_per_metre(airflow=airflow, diameter=diameter) == pytest.approx(friction, rel=1e-10)


def test_design_diameter_goes_by_friction_where_it_is_given() -> None:
    by_velocity = design_diameter(airflow=0.3, velocity=5.0, friction=None)
    assert by_velocity == diameter_for(airflow=0.3, velocity=5.0)
    by_friction = design_diameter(airflow=0.3, velocity=5.0, friction=1.0)
    assert by_friction == diameter_at_friction(airflow=0.3, friction=1.0) != by_velocity
    assert design_diameter(airflow=0.0, velocity=5.0, friction=1.0) == 0.0


@pytest.mark.parametrize(("airflow", "friction"), [(0.0, 1.0), (0.3, 0.0)])
def test_friction_rate_without_air_is_refused(airflow: float, friction: float) -> None:
    with pytest.raises(ValueError, match=r"duct of .* m³/s at .* Pa/m; both have to be above 0"):
        diameter_at_friction(airflow=airflow, friction=friction)


def test_a_friction_rate_is_the_static_on_a_unit() -> None:
    """6 m at 1.2 Pa/m, fittings as much again: 14.4 Pa. Found: 1e-12."""
    site = priced_site(duct_friction=1.2, duct_velocity=0.0)
    found = connect(site=site, unit=site.catalog.units[0], arrangement=0)
    assert found.static == pytest.approx(14.4, rel=1e-10)
