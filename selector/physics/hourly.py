"""The simulated year as arrays in calendar order, and the audit of its balances.

Units: °C, kg/kg, and each hour's total in kg and J.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.inputs.errors import Faults
from selector.inputs.site import HOURS, FloatArray, Install
from selector.physics import arrangements as cells
from selector.physics import humidistat
from selector.physics import response as out
from selector.physics.arrangements import CELL, OFF, SUPPLY_SIDE
from selector.physics.humidistat import MOISTURE
from selector.physics.moist_air import relative_humidity
from selector.physics.prepare import Prepared, groups_of, lead_order
from selector.physics.response import RESPONSE
from selector.physics.step import HOUR
from selector.physics.year import IS_FROST, IS_WARM, SUMS, hour_of, record_year, start_state, workspace

HOTTEST = 100.0  # °C of the space; hotter is a slip of the pen


@dataclass(frozen=True, slots=True, eq=False)
class UnitHours:
    """One group of units through the year."""

    model: str
    arrangement: str
    running: FloatArray  # (8760,) unit-hours
    entering_dry_bulb: FloatArray  # (8760,) °C; for supply-side while the coil is on
    entering_humidity_ratio: FloatArray  # (8760,) kg/kg
    removal: FloatArray  # (8760,) kg
    electricity: FloatArray  # (8760,) J
    gas: FloatArray  # (8760,) J
    off_entering_dry_bulb: FloatArray  # (8760,) °C, supply-side while the coil is off
    off_entering_humidity_ratio: FloatArray  # (8760,) kg/kg
    on_share: FloatArray  # (8760,) share of its running that supply-side units see the coil on; 1 elsewhere
    cell: FloatArray  # (8760, CELL) one unit at both states, as `arrangements` names its columns


@dataclass(frozen=True, slots=True, eq=False)
class HourlyYear:
    """Every hour of the year, in calendar order; (8760,) each."""

    response: FloatArray  # (8760, RESPONSE) as `response` names its columns
    mean_t: FloatArray  # °C
    mean_w: FloatArray  # kg/kg
    start_t: FloatArray
    start_w: FloatArray
    end_t: FloatArray
    end_w: FloatArray
    relative_humidity: FloatArray  # of the mean state
    above: FloatArray  # (8760, L) 1 where above the limit
    warm: FloatArray
    unit_electricity: FloatArray  # J
    unit_gas: FloatArray  # J
    cooling: FloatArray  # J
    fan: FloatArray  # J
    heating: FloatArray  # J bought
    heating_delivered: FloatArray  # J
    stored: FloatArray  # kg
    ventilation: FloatArray  # kg
    infiltration: FloatArray  # kg
    internal: FloatArray  # kg
    coil: FloatArray  # kg
    units: FloatArray  # kg
    electricity: FloatArray  # J bought, all uses
    gas: FloatArray  # J bought, all uses
    reheat: FloatArray  # J bought, in `heating`; 0 without overcooling
    wheel: FloatArray  # J of the energy-recovery wheel's fans and motor, in `fan`; 0 without one
    groups: tuple[UnitHours, ...]
    lost_hours: int  # in which units were called on air outside their range
    frost_hours: int  # with a bypass open and the coil's surface below 0 °C
    unsettled_hours: int  # in which the state did not settle to its tolerance
    start_mismatch: tuple[float, float]  # K and kg/kg, the year's end against its start


def simulate_hours(
    *, prepared: Prepared, install: tuple[Install, ...], extra_vapour: float = 0.0
) -> HourlyYear:
    """Follow a design through the year and keep every hour.

    Args: prepared; install, all units there are, in lead order; extra_vapour [kg/s] added to every hour's gains.
    Returns: `HourlyYear`.
    Raises: InputFaults where the space would boil, for which there are no moist-air states.
    """
    plant, limits = prepared.plant, prepared.limit_rh.shape[0]
    groups, counts = groups_of(prepared=prepared, install=install)
    hours = prepared.hours
    if extra_vapour != 0.0:
        hours = hours.copy()
        hours["vapour"] += extra_vapour
    responses = np.zeros((HOURS, RESPONSE))
    moistures = np.zeros((HOURS, MOISTURE))
    sums = np.zeros((HOURS, SUMS))
    above = np.zeros((HOURS, limits))
    starts = np.zeros((HOURS, 2))
    running = np.zeros((HOURS, counts.size))
    found = np.zeros((HOURS, counts.size, CELL))
    there = lead_order(prepared=prepared, install=prepared.site.existing_units)
    first_t, first_w = start_state(prepared=prepared, existing=install == there)
    record_year(
        plant, hours, prepared.wet, prepared.limit_rh, prepared.limit_w, groups,
        counts, prepared.first_hour, first_t, first_w, workspace(limits=limits), responses,
        moistures, sums, above, starts, running, found,
    )  # fmt: skip
    pressure = hours["pressure"]
    mean_t = responses[:, out.MEAN_T]
    mean_w = moistures[:, humidistat.MEAN_W]
    _refuse_boiling(prepared, mean_t)
    end_t, end_w = responses[:, out.END_T], moistures[:, humidistat.END_W]
    parts = tuple(
        _unit_hours(part, groups[i], running[:, i], found[:, i], responses) for i, part in enumerate(install)
    )
    nothing = np.zeros(HOURS)
    delivered = responses[:, out.HEATING] * HOUR
    reheat_delivered = responses[:, out.REHEAT] * HOUR
    reheat = reheat_delivered / plant["reheat_efficiency"] if plant["reheat"] == 1 else nothing
    reheat_by_gas = plant["reheat"] == 1 and plant["reheat_is_gas"] == 1
    wheel = responses[:, out.WHEEL_POWER] * HOUR
    through = (plant["has_air_handler"] == 1) & (
        (hours["ventilation"] > 0.0) | (plant["unoccupied_fan"] != 0)
    )
    bought = delivered / np.where(through, plant["heating_efficiency"], plant["space_heating_efficiency"])
    by_gas = np.where(through, plant["heating_is_gas"], plant["space_heating_is_gas"]) == 1
    electricity = sum((part.electricity for part in parts), nothing)
    gas = sum((part.gas for part in parts), nothing)
    cooling = responses[:, out.COIL_POWER] * HOUR
    fan = responses[:, out.FAN_SHARE] * plant["fan_power"] * HOUR + wheel
    brought = responses[:, out.BROUGHT] * responses[:, out.WHEEL_LATENT]  # whose moisture the wheel exchanges
    outdoor_w = hours["outdoor_w"]
    first, last = prepared.first_hour, hour_of(-1 + 336 + HOURS, prepared.first_hour)
    return HourlyYear(
        response=responses,
        mean_t=mean_t,
        mean_w=mean_w,
        start_t=starts[:, 0],
        start_w=starts[:, 1],
        end_t=end_t,
        end_w=end_w,
        relative_humidity=np.asarray(relative_humidity(mean_t, np.maximum(mean_w, 1e-6), pressure)),
        above=above,
        warm=sums[:, IS_WARM],
        unit_electricity=electricity,
        unit_gas=gas,
        cooling=cooling,
        fan=fan,
        heating=bought + reheat,
        heating_delivered=delivered + reheat_delivered,
        stored=plant["vapour_capacity"] * (end_w - starts[:, 1]),
        ventilation=(responses[:, out.VENTILATION] - brought) * (outdoor_w - mean_w) * HOUR,
        infiltration=responses[:, out.INFILTRATION] * (outdoor_w - mean_w) * HOUR,
        internal=responses[:, out.GAIN_VAPOUR] * HOUR,
        coil=responses[:, out.COIL_REMOVED] * HOUR,
        units=(responses[:, out.REMOVED] - responses[:, out.COIL_REMOVED]) * HOUR,
        electricity=electricity
        + cooling
        + fan
        + np.where(by_gas, 0.0, bought)
        + (nothing if reheat_by_gas else reheat),
        gas=gas + np.where(by_gas, bought, 0.0) + (reheat if reheat_by_gas else nothing),
        reheat=reheat,
        wheel=wheel,
        groups=parts,
        lost_hours=int((moistures[:, humidistat.LOST] > 0.0).sum()),
        frost_hours=int(sums[:, IS_FROST].sum()),
        unsettled_hours=int((moistures[:, humidistat.SETTLED] == 0.0).sum()),
        start_mismatch=(float(end_t[last] - starts[first, 0]), float(end_w[last] - starts[first, 1])),
    )


def _refuse_boiling(prepared: Prepared, mean_t: FloatArray) -> None:
    hottest = int(np.argmax(np.where(np.isfinite(mean_t), mean_t, np.inf)))
    if mean_t[hottest] < HOTTEST:
        return
    faults = Faults()
    faults.add(
        file=prepared.site.file,
        where="space, gains",
        got=f"a space of {mean_t[hottest]:,.0f} °C in hour {hottest + 1} of the year",
        allowed=f"below {HOTTEST:.0f} °C: check units and amounts of gains, solar_aperture, heat_loss and cooling",
    )
    faults.raise_if_any()


def _unit_hours(
    part: Install, group: np.void, running: FloatArray, found: FloatArray, response: FloatArray
) -> UnitHours:
    """One group's year from the cells that the loop left."""
    share = response[:, out.FAN_SHARE]
    on = np.ones(HOURS)
    if group["arrangement"] == SUPPLY_SIDE:
        on = np.clip(
            np.divide(response[:, out.COIL_SHARE], share, out=np.zeros(HOURS), where=share > 0.0), 0.0, 1.0
        )
    part_time = running - np.floor(running)
    full = running + group["cycling_loss"] * part_time * (1.0 - part_time)
    full = np.where(running > 0.0, full, 0.0)

    def weighted(column: int) -> FloatArray:
        return np.asarray(on * found[:, column] + (1.0 - on) * found[:, OFF + column])

    return UnitHours(
        model=part.model,
        arrangement=part.arrangement,
        running=running,
        entering_dry_bulb=found[:, cells.ENTERING_T],
        entering_humidity_ratio=found[:, cells.ENTERING_W],
        removal=running * weighted(cells.REMOVAL) * HOUR,
        electricity=full * weighted(cells.POWER) * HOUR,
        gas=full * weighted(cells.GAS) * HOUR,
        off_entering_dry_bulb=found[:, OFF + cells.ENTERING_T],
        off_entering_humidity_ratio=found[:, OFF + cells.ENTERING_W],
        on_share=on,
        cell=found,
    )


def moisture_residual(*, prepared: Prepared, year: HourlyYear) -> float:
    """Worst hour of the moisture balance.

    Args: prepared; year.
    Returns: internal + ventilation + infiltration - coil - units - stored, as a share of the hour's largest term.
    """
    terms = (year.internal, year.ventilation, year.infiltration, year.coil, year.units, year.stored)
    residual = year.internal + year.ventilation + year.infiltration - year.coil - year.units - year.stored
    return _worst(residual, terms, 1e-3)


def energy_residual(*, prepared: Prepared, year: HourlyYear) -> float:
    """Worst hour of the space's sensible heat balance.

    Args: prepared; year.
    Returns: gains + envelope + outdoor air + what air handler and units give - stored, as a share of the largest.
    """
    plant, hours, response = prepared.plant, prepared.hours, year.response
    per_kelvin = 1006.0 + 1860.0 * hours["outdoor_w"]
    difference = hours["outdoor_t"] - year.mean_t
    envelope = plant["heat_loss"] * difference
    infiltration = response[:, out.INFILTRATION] * per_kelvin * difference
    ventilation = response[:, out.BROUGHT] * (1.0 - response[:, out.WHEEL_SENSIBLE]) * per_kelvin * difference
    stored = plant["air_capacity"] * (year.end_t - year.start_t) / HOUR
    given = response[:, out.GAIN_HEAT], response[:, out.UNIT_AIR_HEAT], response[:, out.SYSTEM_HEAT]
    # what the air handler gives is the difference of these
    within = (
        response[:, out.COIL_HEAT],
        response[:, out.HEATING],
        response[:, out.REHEAT],
        year.fan / HOUR,
        year.unit_electricity / HOUR,
    )
    terms = (envelope, infiltration, ventilation, stored, *given, *within)
    return _worst(envelope + infiltration + ventilation + sum(given) - stored, terms, 1.0)


def _worst(residual: FloatArray, terms: tuple[FloatArray, ...], least: float) -> float:
    """Worst share; an hour in which every term is under `least` (1 g, or 1 W) is taken against that, as it holds the
    rounding of much larger streams, and that of the states: 1e-16 of 25 °C in a store of 1e8 J/K is 1e-10 W.
    """
    largest = np.maximum.reduce([np.abs(term) for term in terms])
    return float(np.max(np.abs(residual) / np.maximum(largest, least)))
