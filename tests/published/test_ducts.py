"""Duct friction and fan laws against textbook values."""

from __future__ import annotations

import math

import fluids
import pytest

from selector.physics.ducts import (
    ROUGHNESS,
    STANDARD_DENSITY,
    VISCOSITY,
    FanPoint,
    duct_pressure_drop,
    fan_at,
    friction_per_metre,
    velocity_pressure,
)

CFM = 0.3048**3 / 60.0  # m³/s
INCH_OF_WATER = 249.08891  # Pa

# Colebrook 1939, Darcy's factor by Reynolds number and relative roughness, solved with the library fluids and kept to
# 1e-6.
COLEBROOK = [
    (1e5, 1e-4, 0.018514),
    (1e5, 1e-3, 0.022175),
    (1e5, 0.0, 0.017990),
    (4e3, 1e-3, 0.040910),
    (1e6, 1e-4, 0.013441),
    (1e7, 0.01, 0.037910),
    (5e4, 3e-4, 0.021926),
]


@pytest.mark.parametrize(("reynolds", "roughness", "factor"), COLEBROOK)
def test_friction_factor(reynolds: float, roughness: float, factor: float) -> None:
    # Our steel in the duct that is as rough for its size; for none, so wide that roughness does not count.
    diameter = ROUGHNESS / max(roughness, 1e-10)
    velocity = reynolds * VISCOSITY / (STANDARD_DENSITY * diameter)
    friction = friction_per_metre(airflow=velocity * math.pi * diameter**2 / 4.0, diameter=diameter)
    found = friction * diameter / velocity_pressure(velocity=velocity)
    assert found == pytest.approx(factor, abs=1e-6)
    # Colebrook's own equation holds at it: 1/sqrt(f) = -2 log10(e/3.7D + 2.51/(Re sqrt(f))). Found: 6e-16.
    right = -2.0 * math.log10(ROUGHNESS / diameter / 3.7 + 2.51 / (reynolds * math.sqrt(found)))
    assert 1.0 / math.sqrt(found) == pytest.approx(right, rel=1e-12)
    # P. K. Swamee and A. K. Jain, 1976, an explicit form. Found: within 1.92 %.
    explicit = 0.25 / math.log10(roughness / 3.7 + 5.74 / reynolds**0.9) ** 2
    assert explicit == pytest.approx(found, rel=0.0193)


# Air of 1.204 kg/m³ and 1.825e-5 Pa s, roughness 0.09 mm (ASHRAE Handbook Fundamentals, duct design: values from
# memory), by Darcy and Colebrook. Found: within 5e-5 Pa/m, the rounding.
@pytest.mark.parametrize(
    ("airflow", "diameter", "pascal"), [(0.5, 0.3, 1.8615), (1.0, 0.4, 1.6346), (0.2, 0.2, 2.5156)]
)
def test_duct_friction(airflow: float, diameter: float, pascal: float) -> None:
    assert friction_per_metre(airflow=airflow, diameter=diameter) == pytest.approx(pascal, abs=6e-5)
    # The library's own pressure drop of a pipe, from end to end.
    other = fluids.one_phase_dP(
        m=airflow * STANDARD_DENSITY,
        rho=STANDARD_DENSITY,
        mu=VISCOSITY,
        D=diameter,
        roughness=ROUGHNESS,
        L=1.0,
    )
    assert friction_per_metre(airflow=airflow, diameter=diameter) == pytest.approx(other, rel=1e-12)


# The same in inches of water for 100 ft, as on a friction chart. Found: within 5e-5, the rounding.
# Beside them their velocities, printed to the foot a minute: the duct sized by one is within what that rounding makes,
# half as much as of the velocity. Found: 0.004 to 0.024 %, where 0.016 to 0.028 % are allowed.
@pytest.mark.parametrize(
    ("cfm", "inches", "per_100_ft", "fpm"),
    [(1000, 14, 0.0885, 935), (1200, 12, 0.2657, 1528), (400, 9, 0.1433, 905), (2000, 18, 0.0928, 1132)],
)
def test_duct_friction_in_inch_pound_units(cfm: float, inches: float, per_100_ft: float, fpm: float) -> None:
    found = friction_per_metre(airflow=cfm * CFM, diameter=inches * 0.0254) * 30.48 / INCH_OF_WATER
    assert found == pytest.approx(per_100_ft, abs=5e-5)
    sized = duct_pressure_drop(airflow=cfm * CFM, length=1.0, velocity=fpm * 0.3048 / 60.0, fittings=0.0)
    assert sized.diameter == pytest.approx(inches * 0.0254, rel=0.5 * 0.5 / fpm)


def test_duct_by_its_velocity() -> None:
    # 0.5 m³/s in 0.3 m is 7.0736 m/s; 10 m of it with fittings worth half of it: 15 x 1.8615 Pa.
    velocity = 0.5 / (math.pi * 0.3**2 / 4.0)
    assert velocity == pytest.approx(7.0736, abs=5e-5)
    drop = duct_pressure_drop(airflow=0.5, length=10.0, velocity=velocity, fittings=0.5)
    assert drop.diameter == pytest.approx(0.3, rel=1e-14)
    assert drop.pressure == pytest.approx(27.922, abs=5e-4)


def test_velocity_pressure() -> None:
    # p_v = (V/4005)^2 in. w.g. at standard air, 0.075 lb/ft³; formula from memory. Found: 0.18 % lower; the exact
    # constant is 4008.5.
    found = velocity_pressure(velocity=4005.0 * 0.00508, density=1.2014) / INCH_OF_WATER
    assert found == pytest.approx(1.0, rel=0.0018)
    exact = velocity_pressure(velocity=4008.5 * 0.00508, density=1.2014) / INCH_OF_WATER
    assert exact == pytest.approx(1.0, rel=2e-5)


def test_fan_laws() -> None:
    # Textbook: at 0.8 of the speed flow 0.8, pressure 0.64, power 0.512.
    slow = fan_at(point=FanPoint(2.0, 300.0, 1000.0), speed_ratio=0.8)
    assert (slow.airflow, slow.pressure, slow.power) == pytest.approx((1.6, 192.0, 512.0), rel=1e-15)


def test_fan_laws_at_altitude() -> None:
    # Textbook: at equal speed flow stays, pressure and power go with the density; 1500 m to sea level 0.8345.
    ratio = 84555.9 / 101325.0  # Pa, the standard atmosphere
    high = fan_at(point=FanPoint(2.0, 300.0, 1000.0), speed_ratio=1.0, density_ratio=ratio)
    assert (high.airflow, high.pressure / 300.0, high.power / 1000.0) == pytest.approx(
        (2.0, 0.8345, 0.8345), abs=2e-5
    )
