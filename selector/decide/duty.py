"""What one unit of a design meets and does: in the design hour, and on any air that it may be read at.

The design hour is the hour of the 0.4 % dew-point design week in which the new units together take out most moisture;
a unit that stands still then has its own, in that week or else in the year. Its states are those that the hourly loop
left, so schedule and commissioning sheet show what simulate and choose rest on.
Units: dry bulb °C, humidity ratio kg/kg, pressure Pa, airflow m³/s, flow kg dry air/s, removal kg/s, power W.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from selector.decide.evaluate import Evaluation
from selector.inputs.site import ARRANGEMENTS, HOURS, Arrangement, Install
from selector.physics import arrangements as cells
from selector.physics import response as out
from selector.physics.arrangements import OFF, SUPPLY_SIDE
from selector.physics.design_day import simulate_design_day
from selector.physics.fit import FittedUnit
from selector.physics.hourly import HourlyYear, UnitHours
from selector.physics.moist_air import dew_point, relative_humidity, volume
from selector.physics.prepare import Connection, Prepared, lead_order
from selector.physics.unit import performance
from selector.physics.unit_parameters import MACHINE, ROTOR

Basis = Literal["design week", "year", "not called"]


@dataclass(frozen=True, slots=True)
class Air:
    """One state of the air."""

    dry_bulb: float  # °C
    humidity_ratio: float  # kg/kg
    relative_humidity: float  # 0 to 1
    dew_point: float  # °C


@dataclass(frozen=True, slots=True)
class Duty:
    """One unit, running at full on one entering state."""

    runs: bool  # false: the air lies outside its range
    pressure: float  # Pa
    flow_fraction: float  # of its rated airflow
    airflow: float  # m³/s at the entering state
    flow: float  # kg dry air/s
    entering: Air
    leaving: Air
    surface: float  # °C, apparatus dew point; of a desiccant unit the process air off the rotor
    removal: float  # kg/s
    condensate: float  # kg/s of liquid water; 0 for a desiccant unit, whose moisture leaves with the exhaust
    power: float  # W, electric
    gas: float  # W
    specific_removal: float  # kg/J of electricity and gas


@dataclass(frozen=True, slots=True)
class Met:
    """What one unit met for part of an hour."""

    coil: (
        str  # "coil on", "coil off", "coil stage 2", for supply-side units, whose air depends on it; else ""
    )
    share: float  # of the unit's running time
    duty: Duty


@dataclass(frozen=True, slots=True)
class DesignHourOfUnit:
    """The design hour of the units of one model in one arrangement."""

    model: str
    arrangement: Arrangement
    hour: int  # of the year that it stands for
    basis: Basis
    running: float  # unit-hours of all units of this model and arrangement, existing ones too
    outdoor: Air
    space: Air
    pressure: float  # Pa
    met: tuple[Met, ...]  # one; two for supply-side units that see the coil on and off
    removal: float  # kg/s while running: the mean of `met`, by time


def air_of(*, dry_bulb: float, humidity_ratio: float, pressure: float) -> Air:
    """Name a state of the air.

    Args: dry_bulb [°C]; humidity_ratio [kg/kg]; pressure [Pa].
    Returns: `Air`.
    """
    ratio = max(humidity_ratio, 1e-6)
    return Air(
        float(dry_bulb),
        float(humidity_ratio),
        float(relative_humidity(dry_bulb, ratio, pressure)),
        float(dew_point(dry_bulb, ratio, pressure)),
    )


def duty_at(
    *,
    fitted: FittedUnit,
    flow_fraction: float,
    dry_bulb: float,
    humidity_ratio: float,
    pressure: float,
    outdoor: tuple[float, float] | None = None,
    space: tuple[float, float] | None = None,
) -> Duty:
    """One unit, running at full in a steady entering state.

    Args: fitted; flow_fraction [-] of its rated airflow; dry_bulb [°C] and humidity_ratio [kg/kg], entering; pressure
        [Pa]; outdoor and space, dry bulb [°C] and humidity ratio [kg/kg] each, for reactivation air, the entering state
        unless given.
    Returns: `Duty`, as `performance` finds it.
    """
    entering = (dry_bulb, humidity_ratio)
    found = performance(
        fitted.parameters, flow_fraction, *entering, pressure, *(outdoor or entering), *(space or entering)
    )
    return _duty(fitted, flow_fraction, pressure, entering, found)


def _duty(
    fitted: FittedUnit,
    fraction: float,
    pressure: float,
    entering: tuple[float, float],
    found: Sequence[float],
) -> Duty:
    """Name the eight results of `performance`."""
    runs, flow, removal, power, gas, leaving, leaving_ratio, surface = (float(value) for value in found)
    drawn = power + gas
    return Duty(
        runs=runs > 0.0,
        pressure=pressure,
        flow_fraction=fraction,
        airflow=flow * float(volume(entering[0], entering[1], pressure)),
        flow=flow,
        entering=air_of(dry_bulb=entering[0], humidity_ratio=entering[1], pressure=pressure),
        leaving=air_of(dry_bulb=leaving, humidity_ratio=leaving_ratio, pressure=pressure),
        surface=surface,
        removal=removal,
        condensate=0.0 if fitted.parameters[MACHINE] == ROTOR else removal,
        power=power,
        gas=gas,
        specific_removal=removal / drawn if drawn > 0.0 else 0.0,
    )


def connection_of(*, prepared: Prepared, model: str, arrangement: Arrangement) -> Connection:
    """What one unit meets between its taps.

    Args: prepared; model; arrangement.
    Returns: `Connection`: static pressure [Pa], airflow left.
    """
    row = _row(prepared, model)
    return prepared.connections[row, ARRANGEMENTS.index(arrangement)]


def fitted_of(*, prepared: Prepared, model: str) -> FittedUnit:
    """The fitted curve of a model.

    Args: prepared; model, of the catalogue.
    Returns: `FittedUnit`.
    """
    return prepared.fitted[_row(prepared, model)]


def _row(prepared: Prepared, model: str) -> int:
    return next(row for row, unit in enumerate(prepared.site.catalog.units) if unit.model == model)


def design_hours(*, prepared: Prepared, evaluation: Evaluation) -> tuple[DesignHourOfUnit, ...]:
    """Find what each part of a design meets in its design hour.

    Args: prepared; evaluation, of the design, whose year is looked at where the design week calls no unit.
    Returns: one for each part of `evaluation.install`, in its order.
    """
    new = evaluation.install
    if not new:
        return ()
    every = lead_order(prepared=prepared, install=(*new, *prepared.site.existing_units))
    looked: list[tuple[Basis, Prepared, HourlyYear, range, tuple[int, ...]]] = []
    days = sorted(prepared.site.weather.design_days, key=lambda day: day.percent)
    if days:
        found = simulate_design_day(prepared=prepared, install=every, day=days[0])
        looked.append(
            ("design week", found.prepared, found.year, range(*found.place.indices(HOURS)), found.hours)
        )
    looked.append(("year", prepared, evaluation.year, range(HOURS), tuple(range(HOURS))))
    return tuple(_design_hour(part, new, every, looked) for part in new)


def _design_hour(
    part: Install,
    new: tuple[Install, ...],
    every: tuple[Install, ...],
    looked: list[tuple[Basis, Prepared, HourlyYear, range, tuple[int, ...]]],
) -> DesignHourOfUnit:
    """The common hour where this part runs in it, its own otherwise, in the week before the year."""
    place = next(
        i for i, one in enumerate(every) if one.model == part.model and one.arrangement == part.arrangement
    )
    ours = [
        i
        for i, one in enumerate(every)
        if any(one.model == mine.model and one.arrangement == mine.arrangement for mine in new)
    ]
    for turn, (basis, prepared, year, rows, hours) in enumerate(looked):
        window = slice(rows.start, rows.stop)
        mine = year.groups[place].removal[window]
        if not mine.any():
            continue
        together = np.sum([year.groups[i].removal[window] for i in ours], axis=0)
        at = int(np.argmax(together))
        if turn > 0 or mine[at] <= 0.0:
            at = int(np.argmax(mine))
        return _read_hour(prepared, part, year, year.groups[place], rows[at], hours[at], basis)
    _, prepared, year, rows, hours = looked[0]
    window = slice(rows.start, rows.stop)
    at = int(np.argmax(year.relative_humidity[window]))
    return _not_called(prepared, part, year, rows[at], hours[at])


def _read_hour(
    prepared: Prepared,
    part: Install,
    year: HourlyYear,
    group: UnitHours,
    row: int,
    hour: int,
    basis: Basis,
) -> DesignHourOfUnit:
    """Read one hour of one group as the loop left it."""
    pressure = float(prepared.hours["pressure"][row])
    high, low = "", ""
    if part.arrangement == ARRANGEMENTS[SUPPLY_SIDE]:
        high, low = _coil_names(prepared, int(year.response[row, out.COIL_STAGE]))
    on = float(group.on_share[row])
    cell = group.cell[row]
    fitted = fitted_of(prepared=prepared, model=part.model)
    met: list[Met] = []
    for coil, share, offset in ((high, on, 0), (low, 1.0 - on, OFF)):
        if share <= 1e-9:
            continue
        entering = (float(cell[offset + cells.ENTERING_T]), float(cell[offset + cells.ENTERING_W]))
        found = tuple(float(value) for value in cell[offset + cells.RUNS : offset + cells.ENTERING_T])
        duty = _duty(fitted, float(cell[offset + cells.FRACTION]), pressure, entering, found)
        met.append(Met(coil, share, duty))
    return DesignHourOfUnit(
        model=part.model,
        arrangement=part.arrangement,
        hour=hour,
        basis=basis,
        running=float(group.running[row]),
        outdoor=_outdoor(prepared, row),
        space=_space(prepared, year, row),
        pressure=pressure,
        met=tuple(met),
        removal=sum(one.share * one.duty.removal for one in met),
    )


def _coil_names(prepared: Prepared, stage: int) -> tuple[str, str]:
    """What the cooling coil does in the two states that a supply-side unit sees."""
    if prepared.plant["coil_stages"] == 1:
        return "coil on", "coil off"
    return f"coil stage {stage}", f"coil stage {stage - 1}" if stage > 1 else "coil off"


def _not_called(prepared: Prepared, part: Install, year: HourlyYear, row: int, hour: int) -> DesignHourOfUnit:
    """A unit that no hour calls, on the air of the space in its most humid hour."""
    outdoor, space = _outdoor(prepared, row), _space(prepared, year, row)
    pressure = float(prepared.hours["pressure"][row])
    connection = connection_of(prepared=prepared, model=part.model, arrangement=part.arrangement)
    duty = duty_at(
        fitted=fitted_of(prepared=prepared, model=part.model),
        flow_fraction=connection.flow_fraction,
        dry_bulb=space.dry_bulb,
        humidity_ratio=space.humidity_ratio,
        pressure=pressure,
        outdoor=(outdoor.dry_bulb, outdoor.humidity_ratio),
    )
    return DesignHourOfUnit(
        model=part.model,
        arrangement=part.arrangement,
        hour=hour,
        basis="not called",
        running=0.0,
        outdoor=outdoor,
        space=space,
        pressure=pressure,
        met=(Met("", 1.0, duty),),
        removal=duty.removal,
    )


def _outdoor(prepared: Prepared, row: int) -> Air:
    now = prepared.hours[row]
    return air_of(
        dry_bulb=float(now["outdoor_t"]),
        humidity_ratio=float(now["outdoor_w"]),
        pressure=float(now["pressure"]),
    )


def _space(prepared: Prepared, year: HourlyYear, row: int) -> Air:
    return air_of(
        dry_bulb=float(year.mean_t[row]),
        humidity_ratio=float(year.mean_w[row]),
        pressure=float(prepared.hours["pressure"][row]),
    )
