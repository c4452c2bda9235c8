"""Moisture and sensible load by source: where the water and the heat of a space come from, and where they go.

Two questions are kept apart. What flows while the space floats as its system leaves it closes to zero, hour by hour.
What would have to be taken out to keep the space at its limit is the load that equipment is chosen by: the same
outdoor air and the same gains, met by a space at its limit.
Units: kg and J as totals, kg/s and W as rates.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.inputs.calendar import month_of_hour
from selector.inputs.site import HOURS, FloatArray
from selector.physics import response as out
from selector.physics.design_day import DesignDayResult, simulate_design_day
from selector.physics.gains import evaporation_by_gain
from selector.physics.hourly import HourlyYear, simulate_hours
from selector.physics.moist_air import (
    humidity_ratio_of_dew_point,
    humidity_ratio_of_relative_humidity,
)
from selector.physics.prepare import NEVER, Prepared, lead_order
from selector.physics.step import HOUR

ROUNDING = 1e-12  # of the gains' heat: what a difference of two sums of them leaves where nothing evaporates


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """One source of moisture or heat, hour by hour; positive into the space."""

    name: str
    values: FloatArray  # (8760,) kg, or J


@dataclass(frozen=True, slots=True)
class SourceTotals:
    """One source over the year and the months."""

    name: str
    year: float  # kg, or J
    months: tuple[float, ...]  # (12,)


@dataclass(frozen=True, slots=True)
class DesignHour:
    """The hour of a design week with the largest moisture load at the limit."""

    percent: float
    outdoor_dew_point: float  # °C
    outdoor_dry_bulb: float  # °C
    hour: int  # of the year that the hour stands for
    space_dry_bulb: float  # °C
    space_relative_humidity: float  # as the existing system leaves it
    held_dry_bulb: float  # °C
    held_humidity_ratio: float  # kg/kg at the limit
    moisture_held: tuple[tuple[str, float], ...]  # kg/s by source, space at its limit
    moisture_held_total: float  # kg/s
    moisture: tuple[tuple[str, float], ...]  # kg/s by source, as the space floats
    sensible: tuple[tuple[str, float], ...]  # W by source, as the space floats


@dataclass(frozen=True, slots=True)
class Loads:
    """Loads of a site with its existing system."""

    moisture: tuple[SourceTotals, ...]  # kg, sums to zero
    sensible: tuple[SourceTotals, ...]  # J, sums to zero
    held: tuple[
        SourceTotals, ...
    ]  # kg by source in the hours in which moisture has to be taken out to hold the limit
    held_hours: int
    held_total: float  # kg a year to be taken out by coil and units together
    held_peak: float  # kg/s
    held_peak_hour: int
    design_hours: tuple[DesignHour, ...]


def loads(*, prepared: Prepared) -> Loads:
    """Loads of a site as its existing system meets them, and as they would be at the limit.

    Args: prepared.
    Returns: `Loads`.
    """
    existing = lead_order(prepared=prepared, install=prepared.site.existing_units)
    year = simulate_hours(prepared=prepared, install=existing)
    held = _held(prepared, year)
    needed = np.sum([source.values for source in held], axis=0)
    wet = (needed > 0.0) & (_limit_ratio(prepared, year) < np.inf)
    peak = int(np.argmax(np.where(wet, needed, -np.inf))) if wet.any() else 0
    counted = tuple(Source(source.name, np.where(wet, source.values, 0.0)) for source in held)
    return Loads(
        moisture=tuple(_totals(source) for source in moisture_sources(prepared=prepared, year=year)),
        sensible=tuple(_totals(source) for source in sensible_sources(prepared=prepared, year=year)),
        held=tuple(_totals(source) for source in counted),
        held_hours=int(wet.sum()),
        held_total=float(needed[wet].sum()),
        held_peak=float(needed[peak] / HOUR) if wet.any() else 0.0,
        held_peak_hour=peak,
        design_hours=tuple(
            _design_hour(simulate_design_day(prepared=prepared, install=existing, day=day))
            for day in prepared.site.weather.design_days
        ),
    )


def _totals(source: Source) -> SourceTotals:
    months = np.bincount(month_of_hour(), weights=source.values, minlength=12)
    return SourceTotals(source.name, float(source.values.sum()), tuple(float(value) for value in months))


def moisture_sources(*, prepared: Prepared, year: HourlyYear) -> tuple[Source, ...]:
    """Moisture by source as the space floats.

    Args: prepared; year, of any design.
    Returns: sources [kg], gains by name first; coil, units and storage are negative where they take moisture out.
    """
    inside = _evaporation(prepared, year.mean_t, year.mean_w)
    found = [
        *inside,
        Source("ventilation", year.ventilation),
        Source("infiltration", year.infiltration),
        Source("cooling coil", -year.coil),
        Source("dehumidifiers", -year.units),
        Source("stored", -year.stored),
    ]
    # wet surfaces are linear in the hour's humidity ratio where the step is taken; what is left of that goes to them
    left = year.internal - np.sum([source.values for source in inside], axis=0) if inside else year.internal
    if prepared.gains.surface_names or prepared.gains.plants_names:
        last = len(inside) - 1
        found[last] = Source(inside[last].name, inside[last].values + left)
    return tuple(source for source in found if _matters(source))


def _evaporation(prepared: Prepared, dry_bulb: FloatArray, ratio: FloatArray) -> list[Source]:
    """Moisture of the gains by name at given states of the space."""
    gains = prepared.gains
    found = [Source(part.name, part.vapour * HOUR) for part in gains.series if part.vapour.any()]
    names = (*gains.surface_names, *gains.plants_names)
    if names:
        table = evaporation_by_gain(
            gains=gains, dry_bulb=dry_bulb, humidity_ratio=ratio, pressure=prepared.hours["pressure"]
        )
        found += [Source(name, row * HOUR) for name, row in zip(names, table, strict=True)]
    return found


def sensible_sources(*, prepared: Prepared, year: HourlyYear) -> tuple[Source, ...]:
    """Sensible heat by source as the space floats.

    Args: prepared; year, of any design.
    Returns: sources [J], gains by name first; the cooling is what the air handler gives less fan and heating, with
        what units in its ducts add.
    """
    plant, hours, response = prepared.plant, prepared.hours, year.response
    per_kelvin = 1006.0 + 1860.0 * hours["outdoor_w"]
    difference = hours["outdoor_t"] - year.mean_t
    series = [
        Source(part.name, part.sensible * HOUR) for part in prepared.gains.series if part.sensible.any()
    ]
    dry = np.sum([source.values for source in series], axis=0) if series else np.zeros(HOURS)
    heating = year.heating_delivered
    fan = year.fan - year.wheel
    system = response[:, out.SYSTEM_HEAT] * HOUR
    evaporation = response[:, out.GAIN_HEAT] * HOUR - dry
    if np.abs(evaporation).max() <= ROUNDING * np.abs(dry).max():
        evaporation = np.zeros(HOURS)
    found = [
        *series,
        Source("evaporation from the air", evaporation),
        Source("envelope", plant["heat_loss"] * difference * HOUR),
        Source(
            "ventilation",
            response[:, out.BROUGHT]
            * (1.0 - response[:, out.WHEEL_SENSIBLE])
            * per_kelvin
            * difference
            * HOUR,
        ),
        Source("infiltration", response[:, out.INFILTRATION] * per_kelvin * difference * HOUR),
        Source("dehumidifiers in the space", response[:, out.UNIT_AIR_HEAT] * HOUR),
        Source("air handler's fan", fan),
        Source("heating", heating),
        Source("cooling", system - fan - heating),
        Source("stored", -plant["air_capacity"] * (year.end_t - year.start_t)),
    ]
    return tuple(source for source in found if _matters(source))


def _matters(source: Source) -> bool:
    """Whether a source is more than rounding: 1 g, or 1 kJ, in some hour stands far above it."""
    return bool(np.abs(source.values).max() > 1e-9) and bool(np.abs(source.values).sum() > 1e-6)


def _limit_ratio(prepared: Prepared, year: HourlyYear) -> FloatArray:
    """Humidity ratio at the strictest limit in force, at the hour's dry bulb; infinite where none is."""
    pressure = prepared.hours["pressure"]
    lowest = np.full(HOURS, np.inf)
    for row, target in enumerate(prepared.site.targets):
        in_force = (prepared.limit_rh[row] < NEVER) | (prepared.limit_w[row] < np.inf)
        if target.kind == "relative-humidity":
            at = np.asarray(humidity_ratio_of_relative_humidity(year.mean_t, target.limit, pressure))
        else:
            at = np.asarray(humidity_ratio_of_dew_point(np.full(HOURS, target.limit), pressure))
        lowest = np.where(in_force, np.minimum(lowest, at), lowest)
    return lowest


def _held(prepared: Prepared, year: HourlyYear) -> tuple[Source, ...]:
    """Moisture by source [kg] with the space at its limit; at its own state where no limit is in force."""
    limit = _limit_ratio(prepared, year)
    ratio = np.where(limit < np.inf, limit, year.mean_w)
    difference = (prepared.hours["outdoor_w"] - ratio) * HOUR
    return (
        *_evaporation(prepared, year.mean_t, ratio),
        Source(
            "ventilation",
            (
                year.response[:, out.VENTILATION]
                - year.response[:, out.BROUGHT] * year.response[:, out.WHEEL_LATENT]
            )
            * difference,
        ),
        Source("infiltration", year.response[:, out.INFILTRATION] * difference),
    )


def _design_hour(day: DesignDayResult) -> DesignHour:
    prepared, year, place = day.prepared, day.year, day.place
    held = _held(prepared, year)
    needed = np.sum([source.values for source in held], axis=0)
    limit = _limit_ratio(prepared, year)
    judged = np.where(limit < np.inf, needed, -np.inf)[place]
    at = int(np.argmax(judged if np.isfinite(judged).any() else needed[place]))
    row = range(*place.indices(HOURS))[at]

    def rates(sources: tuple[Source, ...]) -> tuple[tuple[str, float], ...]:
        return tuple((source.name, float(source.values[row] / HOUR)) for source in sources)

    return DesignHour(
        percent=day.percent,
        outdoor_dew_point=day.dew_point,
        outdoor_dry_bulb=float(prepared.hours["outdoor_t"][row]),
        hour=day.hours[at],
        space_dry_bulb=float(year.mean_t[row]),
        space_relative_humidity=float(year.relative_humidity[row]),
        held_dry_bulb=float(year.mean_t[row]),
        held_humidity_ratio=float(limit[row]) if np.isfinite(limit[row]) else float(year.mean_w[row]),
        moisture_held=rates(held),
        moisture_held_total=float(needed[row] / HOUR),
        moisture=rates(moisture_sources(prepared=prepared, year=year)),
        sensible=rates(sensible_sources(prepared=prepared, year=year)),
    )
