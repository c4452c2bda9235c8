"""What a fitted unit does to given air: the states through the machine, for one condition.

Units: dry bulb °C, humidity ratio kg/kg, pressure Pa, flow kg dry air/s, removal kg/s, power W.
"""

from __future__ import annotations

from dataclasses import dataclass

from scipy.optimize import brentq

from selector.inputs.site import FloatArray, Unit
from selector.physics.class_curves import RATING_DRY_BULB, RATING_PRESSURE, RATING_RELATIVE_HUMIDITY
from selector.physics.desiccant import rotor
from selector.physics.moist_air import (
    WATER_HEAT,
    dew_point,
    enthalpy,
    humidity_ratio_of_relative_humidity,
    saturation_humidity_ratio,
    saturation_pressure,
    vapour_pressure,
)
from selector.physics.moist_air import relative_humidity as relative_humidity_of
from selector.physics.refrigerant import evaporator, running_share
from selector.physics.unit import performance
from selector.physics.unit_parameters import (
    HIGHEST_DRY_BULB,
    HIGHEST_VAPOUR_PRESSURE,
    LOWEST_DRY_BULB,
    LOWEST_VAPOUR_PRESSURE,
    MACHINE,
    REACTIVATION_OUTDOOR,
    ROTOR,
)

JOULES_PER_KWH = 3.6e6


@dataclass(frozen=True, slots=True)
class RowError:
    """How far the fitted curve lies from one rating row: relative, positive where the curve gives more."""

    removal: float
    power: float
    gas: float  # 0 without gas


@dataclass(frozen=True, slots=True, eq=False)
class FittedUnit:
    """A unit with the parameters of its curve."""

    unit: Unit
    parameters: FloatArray  # (unit_parameters.SIZE,)
    row_errors: tuple[RowError, ...]  # one for each rating row
    derived: bool  # the class curve of its technology, scaled to too few rows
    low: float  # factors on removal away from the rating row that a derived unit may turn out to have; else 1, 1
    high: float


@dataclass(frozen=True, slots=True)
class State:
    """One state of the air in a machine."""

    dry_bulb: float  # °C
    humidity_ratio: float  # kg/kg, of the vapour
    relative_humidity: float  # 0 to 1
    mist: float = 0.0  # kg/kg, droplets that the air carries on to the next part


@dataclass(frozen=True, slots=True)
class Rating:
    """A unit running at full on one entering state."""

    model: str
    runs: bool
    pressure: float  # Pa
    flow: float  # kg dry air/s
    entering: State
    entering_dew_point: float  # °C
    precooled: State | None  # entering the evaporator of a refrigerant-precool unit
    apparatus_dew_point: float | None  # °C, of a refrigerant unit
    evaporator_leaving: State | None
    defrost_share: float  # of the time
    reactivation: State | None  # heated, entering the rotor
    exhaust: State | None  # reactivation air off the rotor
    leaving: State
    removal: float  # kg/s
    removal_low: float  # kg/s; both equal removal unless the unit is derived
    removal_high: float  # kg/s
    power: float  # W
    gas: float  # W
    specific_removal: float  # kg/J of electricity and gas, 0 where it does not run
    derived: bool
    warnings: tuple[str, ...]


def parameters(fitted: FittedUnit) -> FloatArray:
    """Row of parameters for `unit.performance`.

    Args: fitted.
    Returns: (unit_parameters.SIZE,).
    """
    return fitted.parameters


def specific_removal(fitted: FittedUnit) -> float:
    """Specific moisture removal at the traditional rating state, which sets lead and lag.

    Args: fitted.
    Returns: removal over electricity and gas [kg/kWh] at 26.7 °C, 60 %, 101.325 kPa, also where the unit's limits leave
        that state out.
    """
    row = fitted.parameters.copy()
    row[LOWEST_DRY_BULB] = row[LOWEST_VAPOUR_PRESSURE] = -1e9
    row[HIGHEST_DRY_BULB] = row[HIGHEST_VAPOUR_PRESSURE] = 1e9
    state = (
        RATING_DRY_BULB,
        humidity_ratio_of_relative_humidity(RATING_DRY_BULB, RATING_RELATIVE_HUMIDITY, RATING_PRESSURE),
    )
    _, _, removal, power, gas, *_ = performance(row, 1.0, *state, RATING_PRESSURE, *state, *state)
    return float(removal / (power + gas) * JOULES_PER_KWH)


def rate(
    *,
    fitted: FittedUnit,
    dry_bulb: float,
    relative_humidity: float,
    pressure: float,
    outdoor_dry_bulb: float = RATING_DRY_BULB,
    outdoor_relative_humidity: float = RATING_RELATIVE_HUMIDITY,
) -> Rating:
    """What a unit does to one entering state, step by step.

    Args: fitted; dry_bulb [°C] and relative_humidity [0 to 1], entering; pressure [Pa]; outdoor_dry_bulb [°C] and
        outdoor_relative_humidity [0 to 1], for reactivation air from outdoors. Reactivation air from the space is taken
        at the entering state.
    Returns: the rating; outside the unit's range it does not run, and `warnings` says which bound was passed.
    """
    row = fitted.parameters
    ratio = float(humidity_ratio_of_relative_humidity(dry_bulb, relative_humidity, pressure))
    outdoor = (
        outdoor_dry_bulb,
        float(humidity_ratio_of_relative_humidity(outdoor_dry_bulb, outdoor_relative_humidity, pressure)),
    )
    runs, flow, removal, power, gas, leaving, leaving_ratio, _ = performance(
        row, 1.0, dry_bulb, ratio, pressure, *outdoor, dry_bulb, ratio
    )
    precooled = evaporator_leaving = reactivation = exhaust = None
    surface = None
    defrost = 0.0
    if runs and row[MACHINE] == ROTOR:
        reacting = outdoor if row[REACTIVATION_OUTDOOR] > 0.5 else (dry_bulb, ratio)
        _, _, heated, exhaust_dry_bulb, exhaust_ratio = rotor(row, flow, dry_bulb, ratio, pressure, *reacting)
        reactivation = _state(heated, reacting[1], pressure)
        exhaust = _state(exhaust_dry_bulb, exhaust_ratio, pressure)
    elif runs:
        surface, before, after, after_ratio = evaporator(row, flow, dry_bulb, ratio, pressure)
        evaporator_leaving = _state(after, after_ratio, pressure)
        defrost = 1.0 - float(running_share(row, surface))
        if fitted.unit.technology == "refrigerant-precool":
            precooled = _state(before, ratio, pressure)
    return Rating(
        model=fitted.unit.model,
        runs=bool(runs),
        pressure=pressure,
        flow=flow,
        entering=State(dry_bulb, ratio, relative_humidity),
        entering_dew_point=float(dew_point(dry_bulb, ratio, pressure)),
        precooled=precooled,
        apparatus_dew_point=surface,
        evaporator_leaving=evaporator_leaving,
        defrost_share=defrost,
        reactivation=reactivation,
        exhaust=exhaust,
        leaving=_state(leaving, leaving_ratio, pressure),
        removal=removal,
        removal_low=removal * fitted.low,
        removal_high=removal * fitted.high,
        power=power,
        gas=gas,
        specific_removal=removal / (power + gas) if runs else 0.0,
        derived=fitted.derived,
        warnings=_warnings(fitted, dry_bulb, float(vapour_pressure(ratio, pressure)), defrost),
    )


def _state(dry_bulb: float, ratio: float, pressure: float) -> State:
    """Air as a person sees it: where the water is more than saturation, saturated air of that enthalpy, and mist.

    From the boiling point on no air is saturated; the saturation humidity ratio has no meaning there.
    """
    boils = saturation_pressure(dry_bulb) >= pressure
    if boils or ratio <= saturation_humidity_ratio(dry_bulb, pressure):
        return State(float(dry_bulb), float(ratio), float(relative_humidity_of(dry_bulb, ratio, pressure)))
    wanted = enthalpy(dry_bulb, ratio)

    def excess(warmer: float) -> float:
        vapour = saturation_humidity_ratio(warmer, pressure)
        return float(enthalpy(warmer, vapour) + (ratio - vapour) * WATER_HEAT * warmer - wanted)

    warmer = float(brentq(excess, dry_bulb, dry_bulb + 60.0, xtol=1e-10))
    vapour = float(saturation_humidity_ratio(warmer, pressure))
    return State(warmer, vapour, 1.0, float(ratio) - vapour)


def _warnings(fitted: FittedUnit, dry_bulb: float, vapour: float, defrost: float) -> tuple[str, ...]:
    row = fitted.parameters
    found = []
    for value, low, high, name, unit, digits in (
        (dry_bulb, row[LOWEST_DRY_BULB], row[HIGHEST_DRY_BULB], "dry bulb", "°C", 1),
        (vapour, row[LOWEST_VAPOUR_PRESSURE], row[HIGHEST_VAPOUR_PRESSURE], "vapour pressure", "Pa", 0),
    ):
        if not low <= value <= high:
            found.append(
                f"{fitted.unit.model} does not run: entering {name} {value:.{digits}f} {unit} is outside "
                f"{low:.{digits}f} to {high:.{digits}f} {unit}, the range of its rating rows and entering limits"
            )
    if not found and defrost > 0.0:
        found.append(f"{fitted.unit.model} frosts: {100.0 * defrost:.0f} % of the time is lost to defrost")
    if fitted.derived:
        found.append(
            f"{fitted.unit.model} is derived: class curve scaled to its rating; removal away from it may be "
            f"{fitted.low:.2f} to {fitted.high:.2f} of what is shown"
        )
    return tuple(found)
