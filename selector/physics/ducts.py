"""Duct friction, velocity pressure and the fan laws.

Friction is Darcy's with Colebrook's factor, from the library fluids; the duct is round, of galvanised steel.
Units: m³/s, m, m/s, Pa, kg/m³.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

ROUGHNESS = 9.0e-5  # m, galvanised steel: ASHRAE Handbook Fundamentals, duct design, medium smooth
VISCOSITY = 1.825e-5  # Pa s, air at 20 °C: ASHRAE Handbook Fundamentals, thermophysical properties
STANDARD_DENSITY = 1.204  # kg/m³, dry air at 20 °C and 101.325 kPa


@dataclass(frozen=True, slots=True)
class DuctDrop:
    """A round duct and the pressure it takes."""

    diameter: float  # m
    velocity: float  # m/s
    pressure: float  # Pa, straight duct and fittings


def velocity_pressure(*, velocity: float, density: float = STANDARD_DENSITY) -> float:
    """Pressure of moving air.

    Args: velocity [m/s]; density [kg/m³].
    Returns: velocity pressure [Pa].
    Source: ASHRAE Handbook Fundamentals, duct design: p = density v^2 / 2.
    """
    return 0.5 * density * velocity**2


def diameter_for(*, airflow: float, velocity: float) -> float:
    """Diameter of the round duct that carries an airflow at a velocity.

    Args: airflow [m³/s]; velocity [m/s].
    Returns: diameter [m].
    Raises: ValueError where the velocity is not positive.
    Source: continuity, airflow = velocity x pi d^2 / 4.
    """
    if velocity <= 0.0:
        raise ValueError(f"duct velocity is {velocity:g} m/s; it has to be above 0")
    return math.sqrt(4.0 * airflow / (math.pi * velocity))


def friction_per_metre(*, airflow: float, diameter: float, density: float = STANDARD_DENSITY) -> float:
    """Friction of a straight round duct.

    Args: airflow [m³/s]; diameter [m]; density [kg/m³].
    Returns: pressure drop [Pa/m], 0 at no airflow.
    Source: Darcy-Weisbach with Colebrook 1939, through the library fluids.
    """
    if airflow <= 0.0:
        return 0.0
    import fluids

    velocity = 4.0 * airflow / (math.pi * diameter**2)
    reynolds = fluids.Reynolds(V=velocity, D=diameter, rho=density, mu=VISCOSITY)
    factor = fluids.friction_factor(Re=reynolds, eD=ROUGHNESS / diameter, Method="Colebrook")
    return float(factor) / diameter * velocity_pressure(velocity=velocity, density=density)


def diameter_at_friction(*, airflow: float, friction: float, density: float = STANDARD_DENSITY) -> float:
    """Diameter of the round duct that carries an airflow at a friction rate.

    Args: airflow [m³/s], above 0; friction [Pa/m]; density [kg/m³].
    Returns: diameter [m].
    Raises: ValueError where airflow or friction are not positive.
    Source: equal-friction method, ASHRAE Handbook Fundamentals, duct design; friction as `friction_per_metre`.
    """
    if airflow <= 0.0 or friction <= 0.0:
        raise ValueError(f"duct of {airflow:g} m³/s at {friction:g} Pa/m; both have to be above 0")
    from scipy.optimize import brentq

    def excess(log_diameter: float) -> float:
        diameter = math.exp(log_diameter)
        return math.log(friction_per_metre(airflow=airflow, diameter=diameter, density=density) / friction)

    # friction falls with about the fifth power of the diameter: wide bounds cost a few steps
    around = math.log(airflow) * 0.4
    return math.exp(float(brentq(excess, around - 4.0, around + 4.0, xtol=1e-12)))


def design_diameter(*, airflow: float, velocity: float, friction: float | None) -> float:
    """Diameter of a round duct by a design velocity, or by a friction rate where one is given.

    Args: airflow [m³/s]; velocity [m/s]; friction [Pa/m], None: by velocity.
    Returns: diameter [m], 0 without airflow.
    """
    if airflow == 0.0:
        return 0.0
    if friction is None:
        return diameter_for(airflow=airflow, velocity=velocity)
    return diameter_at_friction(airflow=airflow, friction=friction)


def duct_pressure_drop(
    *,
    airflow: float,
    length: float,
    velocity: float,
    fittings: float,
    density: float = STANDARD_DENSITY,
) -> DuctDrop:
    """Pressure that a duct of chosen velocity takes, with its fittings.

    Args: airflow [m³/s]; length [m], there and back together; velocity [m/s], sets the diameter; fittings [-],
        as a multiple of the straight duct's friction; density [kg/m³].
    Returns: `DuctDrop`: diameter [m], velocity [m/s], pressure [Pa]; nothing of each without airflow or length.
    Raises: ValueError where an input is negative or the velocity is not positive.
    Source: Darcy-Weisbach with Colebrook 1939, through the library fluids; fittings as a share of friction is
        common practice, no source.
    """
    for name, value, unit in (
        ("airflow", airflow, "m³/s"),
        ("length", length, "m"),
        ("fittings", fittings, ""),
        ("density", density, "kg/m³"),
    ):
        if value < 0.0:
            raise ValueError(f"{name} of a duct is {value:g} {unit}".rstrip() + "; it may not be negative")
    diameter = diameter_for(airflow=airflow, velocity=velocity)
    if airflow == 0.0 or length == 0.0:
        return DuctDrop(0.0, 0.0, 0.0)
    straight = length * friction_per_metre(airflow=airflow, diameter=diameter, density=density)
    return DuctDrop(diameter, velocity, straight * (1.0 + fittings))


@dataclass(frozen=True, slots=True)
class FanPoint:
    """Where a fan works."""

    airflow: float  # m³/s
    pressure: float  # Pa
    power: float  # W


def fan_at(*, point: FanPoint, speed_ratio: float, density_ratio: float = 1.0) -> FanPoint:
    """The same fan in the same system at another speed and air density.

    Args: point, airflow [m³/s], pressure [Pa] and power [W] as known; speed_ratio [-] and density_ratio [-], new
        over known.
    Returns: `FanPoint` [m³/s, Pa, W].
    Source: fan laws, ASHRAE Handbook HVAC Systems and Equipment, fans: flow ~ n, pressure ~ n^2 density,
        power ~ n^3 density.
    """
    return FanPoint(
        point.airflow * speed_ratio,
        point.pressure * speed_ratio**2 * density_ratio,
        point.power * speed_ratio**3 * density_ratio,
    )
