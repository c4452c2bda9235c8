"""Units for the tests of machines: the shipped catalogue, fitted once, and simple machines with known parameters."""

from __future__ import annotations

import functools
from dataclasses import replace
from pathlib import Path

from selector.inputs.catalog import read_catalog
from selector.inputs.site import Catalog, FloatArray, RatingRow, ReactivationAir, ReactivationEnergy, Unit
from selector.physics import moist_air
from selector.physics import unit_parameters as place
from selector.physics.class_curves import RATING_PRESSURE, evaporator_row, rotor_row
from selector.physics.fit import FittedUnit, fit_catalog, rating_states
from selector.physics.moist_air import humidity_ratio_of_relative_humidity
from selector.physics.unit import performance
from tests.builders import make_unit

GENERAL = Path(__file__).parents[2] / "catalogs" / "general"
SEA_LEVEL = 101325.0
RATING = (26.7, 0.60)
# entering °C and relative humidity, from warm and moist to cool and dry
STATES = (
    (26.7, 0.60), (26.7, 0.40), (22.8, 0.60), (21.1, 0.40), (18.3, 0.60), (15.6, 0.42), (12.8, 0.95), (35.0, 0.60),
    (32.2, 0.75), (40.0, 0.30),
)  # fmt: skip

# A refrigerant machine in plain numbers; invented.
PLAIN_SHAPE = {
    "bypass_factor": 0.12,
    "precool": 0.0,
    "capacity_per_surface": 0.030,
    "capacity_per_entering": -0.008,
    "frost_loss": 0.05,
    "power_per_surface": 0.010,
    "power_per_entering": 0.014,
}
PLAIN_ROTOR = {"first_effectiveness": 0.05, "second_effectiveness": 0.35}


@functools.cache
def general() -> Catalog:
    return read_catalog(folder=GENERAL)


def model_names() -> tuple[str, ...]:
    """The general catalogue's, without fitting them."""
    return tuple(unit.model for unit in general().units)


@functools.cache
def fitted() -> dict[str, FittedUnit]:
    return {one.unit.model: one for one in fit_catalog(catalog=general())}


def ratio(dry_bulb: float, relative_humidity: float, pressure: float = SEA_LEVEL) -> float:
    return float(humidity_ratio_of_relative_humidity(dry_bulb, relative_humidity, pressure))


def run(
    row: FloatArray, dry_bulb: float, humidity: float, pressure: float = SEA_LEVEL, fraction: float = 1.0
) -> tuple[float, float, float, float, float, float, float, float]:
    """Run a unit with reactivation air at the entering state."""
    entering = (dry_bulb, ratio(dry_bulb, humidity, pressure))
    return performance(row, fraction, *entering, pressure, *entering, *entering)


def plain_coil(capacity: float = 8000.0, power: float = 2200.0, **shape: float) -> FloatArray:
    return evaporator_row(unit=make_unit(), capacity=capacity, power=power, shape=PLAIN_SHAPE | shape)


def rotor_unit(*, energy: ReactivationEnergy = "electric", air: ReactivationAir = "space") -> Unit:
    return replace(
        make_unit("rotor-60"),
        technology="desiccant",
        airflow=0.10,
        reactivation_airflow=0.034,
        reactivation_air=air,
        reactivation_energy=energy,
    )


def plain_rotor(
    unit: Unit | None = None, electricity: float = 3600.0, gas: float = 0.0, **shape: float
) -> FloatArray:
    return rotor_row(unit=unit or rotor_unit(), electricity=electricity, gas=gas, shape=PLAIN_ROTOR | shape)


def rated(unit: Unit, row: FloatArray, entering: tuple[tuple[float, float], ...] = STATES) -> Unit:
    """Give the unit rating rows without error, computed from known parameters."""
    blank = replace(unit, ratings=tuple(RatingRow(t, h, 0.0, 0.0, 0.0) for t, h in entering))
    rows = []
    for (dry_bulb, humidity), state in zip(entering, rating_states(unit=blank), strict=True):
        hot = (float(state[2]), float(state[3]))
        _, _, removal, power, gas, *_ = performance(
            row, 1.0, float(state[0]), float(state[1]), RATING_PRESSURE, *hot, *hot
        )
        rows.append(RatingRow(dry_bulb, humidity, removal, power, gas))
    return replace(unit, ratings=tuple(rows))


def box_state(row: FloatArray, across: float, up: float, pressure: float) -> tuple[float, float] | None:
    """State at two fractions of the unit's range, just inside; None where that air would be above saturation."""
    bounds = row[place.LOWEST_DRY_BULB : place.HIGHEST_VAPOUR_PRESSURE + 1].tolist()
    dry_bulb = bounds[0] + (bounds[1] - bounds[0]) * across
    vapour = bounds[2] + (bounds[3] - bounds[2]) * (1e-9 + up * (1.0 - 2e-9))
    if vapour > moist_air.saturation_pressure(dry_bulb):
        return None
    return dry_bulb, float(moist_air.humidity_ratio_of_vapour_pressure(vapour, pressure))
