"""Fits the curve of each unit to its rating rows.

A refrigerant unit has capacity and power at a reference, and a shape: bypass factor, pre-cooler, slopes of both laws,
loss by frost. A desiccant unit has two effectivenesses; what it draws is the mean of its rows. The shape is held
weakly to the class curve of the technology (a ridge of 0.1 in the scale of the fit, against 1 for an error at the edge
of what is accepted), so that few rows or rows that say nothing about frost still give a machine. Units with fewer than
`FEWEST_ROWS` rows get the class curve itself, scaled to the rows, and are marked derived.

Rating rows are at 101.325 kPa. Reactivation air enters at the row's own entering state where it comes from the space,
and at 26.7 °C and 60 % where it comes from outdoors. The unit runs inside the smallest box of entering dry bulb and
vapour pressure that holds its rows (a derived unit: the class curve's box), narrowed by its entering limits.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numba import njit
from scipy.optimize import least_squares
from scipy.special import expit, logit

from selector.inputs.errors import Faults
from selector.inputs.site import Catalog, FloatArray, RatingRow, Unit
from selector.physics.class_curves import (
    CLASS_CURVES,
    RATING_DRY_BULB,
    RATING_PRESSURE,
    RATING_RELATIVE_HUMIDITY,
    ClassCurve,
    evaporator_row,
    rotor_row,
)
from selector.physics.desiccant import reactivation_air
from selector.physics.moist_air import (
    humidity_ratio_of_relative_humidity,
    humidity_ratio_of_vapour_pressure,
    saturation_humidity_ratio,
    vapour_pressure,
)
from selector.physics.rating import FittedUnit, Rating, RowError, parameters, rate, specific_removal
from selector.physics.unit import carnot_share, performance
from selector.physics.unit_parameters import (
    HIGHEST_DRY_BULB,
    HIGHEST_VAPOUR_PRESSURE,
    LOWEST_DRY_BULB,
    LOWEST_VAPOUR_PRESSURE,
    MACHINE,
    REACTIVATION_HEAT,
    ROTOR,
)

__all__ = [
    "FittedUnit", "Rating", "RowError", "fit_catalog", "fit_unit", "parameters", "rate", "specific_removal",
]  # fmt: skip

FEWEST_ROWS = 4  # fewer do not show a curve
ROW_TOLERANCE = 0.05  # of the row
NOMINAL_TOLERANCE = 0.02  # of the row nearest to the traditional rating state; of the largest where that is 0
_RIDGE = 0.1
# So that a unit is the same on every processor, whatever the last bits of its arithmetic: the solver takes differences
# over a step at which rounding hardly shows (found: one bit of the exponential moves a parameter by 1e-7 of itself),
# and five digits of what it finds are kept.
_DIFFERENCE = 1e-4
_DIGITS = 5
_DIGITS_OF_SCALE = 10  # where the shape is given and the scale alone is found, which hardly feels rounding
_LARGEST = 30.0  # ln of W, far above any unit; keeps a fit that runs away finite
_CLASS_TOLERANCE = 0.05  # a derived unit's own class is no better known than an accepted fit
_HOTTEST_REACTIVATION = 180.0  # °C; saturation pressure is defined to 200 °C
_REMOVES_LITTLE = 0.1  # of the removal at the first state below: a share of next to nothing says nothing
# entering °C and relative humidity at which a derived unit's spread is taken
_SPREAD_STATES = (
    (26.7, 0.60), (26.7, 0.40), (22.8, 0.60), (18.3, 0.60), (15.6, 0.40), (12.8, 0.95), (35.0, 0.60),
)  # fmt: skip


@njit(cache=True, error_model="numpy")
def _run_rows(row: FloatArray, states: FloatArray) -> FloatArray:
    """Removal [kg/s], electric power [W] and gas [W] on each state: entering and reactivation air (n, 4)."""
    found = np.empty((states.shape[0], 3))
    for i in range(states.shape[0]):
        dry_bulb, ratio, hot, hot_ratio = states[i, 0], states[i, 1], states[i, 2], states[i, 3]
        result = performance(row, 1.0, dry_bulb, ratio, RATING_PRESSURE, hot, hot_ratio, hot, hot_ratio)
        found[i, 0] = result[2]
        found[i, 1] = result[3]
        found[i, 2] = result[4]
    return found


def fit_unit(*, unit: Unit, file: str = "ratings.csv") -> FittedUnit:
    """Fit one unit to its rating rows.

    Args: unit; file, the name that faults carry.
    Returns: the fitted unit, each row's error kept.
    Raises: InputFaults, where the curve misses a row by more than max(5 % of the row, 2 % of nominal), where no
        machine can be like the fitted one, or where the entering limits leave it no range.
    """
    faults = Faults()
    fitted = _fit(unit, file, faults)
    faults.raise_if_any()
    assert fitted is not None  # a fit without faults has a result
    return fitted


def fit_catalog(*, catalog: Catalog) -> tuple[FittedUnit, ...]:
    """Fit all units of a catalogue.

    Args: catalog.
    Returns: fitted units in the catalogue's order.
    Raises: InputFaults, with the faults of all units.
    """
    faults = Faults()
    fitted = [_fit(unit, f"{catalog.folder}/ratings.csv", faults) for unit in catalog.units]
    faults.raise_if_any()
    return tuple(one for one in fitted if one is not None)


def rating_states(*, unit: Unit) -> FloatArray:
    """Entering and reactivation air of each rating row.

    Args: unit.
    Returns: (n, 4): dry bulb [°C], humidity ratio [kg/kg], reactivation dry bulb [°C] and humidity ratio [kg/kg].
    """
    return _states(unit, tuple((row.dry_bulb, row.relative_humidity) for row in unit.ratings))


def _states(unit: Unit, entering: tuple[tuple[float, float], ...]) -> FloatArray:
    rating = (RATING_DRY_BULB, _ratio(RATING_DRY_BULB, RATING_RELATIVE_HUMIDITY))
    states = [(dry_bulb, _ratio(dry_bulb, humidity)) for dry_bulb, humidity in entering]
    outdoor = unit.reactivation_air == "outdoor"
    return np.array([(*state, *(rating if outdoor else state)) for state in states])


def _ratio(dry_bulb: float, relative_humidity: float) -> float:
    return float(humidity_ratio_of_relative_humidity(dry_bulb, relative_humidity, RATING_PRESSURE))


def _fit(unit: Unit, file: str, faults: Faults) -> FittedUnit | None:
    before = len(faults)
    states = rating_states(unit=unit)
    rated = np.array([(row.removal, row.power, row.gas) for row in unit.ratings])
    for name, column in (("removal", 0), ("power", 1)):
        if not rated[:, column].max() > 0.0:
            faults.add(
                file=file, where=f"{unit.model}, {name}", got="0 in every rating row", allowed="one above 0"
            )
    if len(faults) > before:
        return None
    if unit.technology == "desiccant":
        _check_reactivation(unit, file, states, rated, faults)
        if len(faults) > before:
            return None
    tolerance = _tolerance(unit, rated)
    curve = CLASS_CURVES[unit.technology]
    derived = len(unit.ratings) < FEWEST_ROWS
    row = _solve(unit, curve, curve.central, states, rated, tolerance, free=not derived)
    found = _run_rows(row, states)
    if np.any(np.abs(found - rated) > tolerance):
        found = _without_the_worst(unit, curve, states, rated, tolerance, found)
    _check_errors(unit, file, found, rated, tolerance, faults)
    ranged = _ranged(unit, curve, row, states, derived)
    _check_machine(unit, file, ranged, faults)
    if len(faults) > before:
        return None
    low, high = _spread(unit, curve, row, states, rated, tolerance) if derived else (1.0, 1.0)
    errors = [
        RowError(*(float(f / r - 1.0) if r else 0.0 for f, r in zip(one, given, strict=True)))
        for one, given in zip(found, rated, strict=True)
    ]
    return FittedUnit(
        unit=unit, parameters=ranged, row_errors=tuple(errors), derived=derived, low=low, high=high
    )


def _tolerance(unit: Unit, rated: FloatArray) -> FloatArray:
    """Accepted error of each row's removal, power and gas, as (n, 3); nowhere zero.

    Where the row nearest to the traditional rating state has none of a quantity, the largest of all rows is nominal. A
    quantity that no row has (gas of an electric unit) is none on the curve too; its 1 only divides.
    """
    distances = [
        ((row.dry_bulb - RATING_DRY_BULB) / 10.0) ** 2
        + ((row.relative_humidity - RATING_RELATIVE_HUMIDITY) / 0.2) ** 2
        for row in unit.ratings
    ]
    nearest = rated[int(np.argmin(distances))]
    nominal = np.where(nearest > 0.0, nearest, rated.max(axis=0))
    accepted = np.maximum(ROW_TOLERANCE * rated, NOMINAL_TOLERANCE * nominal)
    return np.where(accepted > 0.0, accepted, 1.0)


def _solve(
    unit: Unit,
    curve: ClassCurve,
    shape: Mapping[str, float],
    states: FloatArray,
    rated: FloatArray,
    tolerance: FloatArray,
    *,
    free: bool,
) -> FloatArray:
    """Row of parameters nearest to the rating rows; with the shape given unless it is free."""
    rotor = unit.technology == "desiccant"
    only_scale = ["second_effectiveness"] if rotor else []
    names = list(shape) if free else only_scale
    lowest = np.array([curve.lowest[name] for name in names])
    width = np.array([curve.highest[name] for name in names]) - lowest
    centre = np.array([shape[name] for name in names])
    start = logit((centre - lowest) / width)
    electricity, gas = float(rated[:, 1].mean()), float(rated[:, 2].mean())

    def meant(free_numbers: FloatArray) -> list[float]:
        values: list[float] = (lowest + width * expit(free_numbers[: len(names)])).tolist()
        # math's exp, not numpy's, whose last bit differs between processors
        scales = [] if rotor else [math.exp(min(number, _LARGEST)) for number in free_numbers[-2:].tolist()]
        return [*values, *scales]

    def row_of(found: list[float]) -> FloatArray:
        numbers = {**shape, **dict(zip(names, found[: len(names)], strict=True))}
        if rotor:
            return rotor_row(unit=unit, electricity=electricity, gas=gas, shape=numbers)
        capacity, power = found[-2:]
        return evaporator_row(unit=unit, capacity=capacity, power=power, shape=numbers)

    columns = 1 if rotor else 2
    weight = 1.0 / tolerance[:, :columns]
    target = rated[:, :columns]

    def residuals(free_numbers: FloatArray) -> FloatArray:
        misses = ((_run_rows(row_of(meant(free_numbers)), states)[:, :columns] - target) * weight).ravel()
        if not free:
            return misses
        return np.concatenate((misses, _RIDGE * (free_numbers[: len(names)] - start)))

    if not rotor:
        best = int(np.argmax(rated[:, 0]))
        scale = (math.log(4.5e6 * rated[best, 0]), math.log(float(rated[best, 1])))
        start_numbers = np.concatenate((start, scale))
    else:
        start_numbers = start
    solution = least_squares(
        residuals,
        start_numbers,
        method="lm",
        ftol=1e-12,
        xtol=1e-12,
        diff_step=np.full(start_numbers.size, _DIFFERENCE),
    )
    digits = _DIGITS if free else _DIGITS_OF_SCALE
    return row_of([float(f"{number:.{digits}g}") for number in meant(solution.x)])


def _without_the_worst(
    unit: Unit,
    curve: ClassCurve,
    states: FloatArray,
    rated: FloatArray,
    tolerance: FloatArray,
    found: FloatArray,
) -> FloatArray:
    """What the curve gives when the worst row is left out, where that alone mends the others; else as found.

    One mistyped row bends the curve, so that rows beside it miss theirs; then only the mistyped one is named.
    """
    worst = int(np.argmax(np.max(np.abs(found - rated) / tolerance, axis=1)))
    others = np.arange(len(rated)) != worst
    if others.sum() < FEWEST_ROWS:
        return found
    row = _solve(unit, curve, curve.central, states[others], rated[others], tolerance[others], free=True)
    mended = _run_rows(row, states)
    missed = np.any(np.abs(mended - rated) > tolerance, axis=1)
    return mended if missed[worst] and not np.any(missed[others]) else found


def _spread(
    unit: Unit,
    curve: ClassCurve,
    row: FloatArray,
    states: FloatArray,
    rated: FloatArray,
    tolerance: FloatArray,
) -> tuple[float, float]:
    """Least and most of a derived unit's removal, as factors: the class's weak and strong shape through its rows.

    They are taken where the unit removes a tenth or more of what it does at the first state.
    """
    anywhere = _states(unit, _SPREAD_STATES)
    central = _run_rows(row, anywhere)[:, 0]
    enough = central > _REMOVES_LITTLE * central[0]
    factors = [1.0]
    for shape in (curve.weak, curve.strong):
        other = _solve(unit, curve, {**curve.central, **shape}, states, rated, tolerance, free=False)
        removal = _run_rows(other, anywhere)[:, 0]
        factors += (removal[enough] / central[enough]).tolist()
    return min(factors) * (1.0 - _CLASS_TOLERANCE), max(factors) * (1.0 + _CLASS_TOLERANCE)


def _ranged(unit: Unit, curve: ClassCurve, row: FloatArray, states: FloatArray, derived: bool) -> FloatArray:
    """Return the row with the box of entering air inside which the unit runs."""
    row = row.copy()
    if derived:
        dry_bulb, vapour = curve.dry_bulb, curve.vapour_pressure
    else:
        pressures = [float(vapour_pressure(ratio, RATING_PRESSURE)) for ratio in states[:, 1]]
        dry_bulb = (float(states[:, 0].min()), float(states[:, 0].max()))
        vapour = (min(pressures) * (1.0 - 1e-9), max(pressures) * (1.0 + 1e-9))
    row[LOWEST_DRY_BULB] = max(dry_bulb[0], unit.minimum_dry_bulb)
    row[HIGHEST_DRY_BULB] = min(dry_bulb[1], unit.maximum_dry_bulb)
    row[LOWEST_VAPOUR_PRESSURE], row[HIGHEST_VAPOUR_PRESSURE] = vapour
    return row


def _name(unit: Unit, index: int, row: RatingRow) -> str:
    return f"{unit.model}, row {index + 1} ({row.dry_bulb:.1f} °C, {100.0 * row.relative_humidity:.0f} %)"


def _check_reactivation(unit: Unit, file: str, states: FloatArray, rated: FloatArray, faults: Faults) -> None:
    """Refuse reactivation air hotter than rotors and saturation pressures are meant for."""
    curve = CLASS_CURVES[unit.technology]
    row = rotor_row(
        unit=unit,
        electricity=float(rated[:, 1].mean()),
        gas=float(rated[:, 2].mean()),
        shape=curve.central,
    )
    hottest = max(reactivation_air(row, state[2], state[3], RATING_PRESSURE)[2] for state in states)
    if hottest > _HOTTEST_REACTIVATION:
        faults.add(
            file=file,
            where=f"{unit.model}, reactivation",
            got=f"{row[REACTIVATION_HEAT] * 1e-3:.2f} kW into {unit.reactivation_airflow:.4f} m³/s, "
            f"which heats it to {hottest:.0f} °C",
            allowed=f"at most {_HOTTEST_REACTIVATION:.0f} °C",
        )


def _check_errors(
    unit: Unit, file: str, found: FloatArray, rated: FloatArray, tolerance: FloatArray, faults: Faults
) -> None:
    for index, row in enumerate(unit.ratings):
        for column, (name, factor, word, digits) in enumerate(
            (("removal", 3600.0, "kg/h", 2), ("power", 1e-3, "kW", 3), ("gas", 1e-3, "kW", 3))
        ):
            given, gives = rated[index, column], found[index, column]
            if abs(gives - given) > tolerance[index, column] and given + gives > 0.0:
                faults.add(
                    file=file,
                    where=f"{_name(unit, index, row)}, {name}",
                    got=f"{given * factor:.{digits}f} {word}, where the fitted curve gives "
                    f"{gives * factor:.{digits}f} {word}",
                    allowed=f"{tolerance[index, column] * factor:.{digits}f} {word} off the curve, "
                    "5 % of the row or 2 % of nominal",
                )


def _check_machine(unit: Unit, file: str, row: FloatArray, faults: Faults) -> None:
    """Refuse a fitted machine that no machine can be, or that has no air to run on."""
    if row[LOWEST_DRY_BULB] > row[HIGHEST_DRY_BULB]:
        faults.add(
            file=file,
            where=f"{unit.model}, entering limits",
            got=f"{unit.minimum_dry_bulb:.1f} to {unit.maximum_dry_bulb:.1f} °C",
            allowed="limits that leave some of the range of its rating rows",
        )
        return
    if row[MACHINE] == ROTOR:
        return
    for dry_bulb in np.linspace(row[LOWEST_DRY_BULB], row[HIGHEST_DRY_BULB], 5):
        for vapour in np.linspace(row[LOWEST_VAPOUR_PRESSURE], row[HIGHEST_VAPOUR_PRESSURE], 5):
            ratio = humidity_ratio_of_vapour_pressure(vapour, RATING_PRESSURE)
            if ratio > saturation_humidity_ratio(dry_bulb, RATING_PRESSURE):
                continue
            reached = carnot_share(row, float(dry_bulb), float(ratio), RATING_PRESSURE)
            if not 0.0 < reached < 1.0:
                faults.add(
                    file=file,
                    where=f"{unit.model}, curve at {dry_bulb:.1f} °C and {vapour:.0f} Pa",
                    got=f"{reached:.2f} of the capacity of an ideal machine between surface and leaving air",
                    allowed="more than 0 and less than 1",
                )
                return
