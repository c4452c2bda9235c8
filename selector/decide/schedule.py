"""The equipment schedule of a design: one row for each unit, as it stands on a drawing.

Every figure is the one that the other commands show: the design hour's states come from the simulated design week,
the standard rating is that of `rate`, totals are those of the design's evaluation.
Units: airflow m³/s, pressure Pa, removal kg/s, power W, mass kg, length m, current A, sound dBA.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from selector.decide.duty import (
    DesignHourOfUnit,
    Duty,
    connection_of,
    design_hours,
    duty_at,
    fitted_of,
)
from selector.decide.evaluate import Evaluation, evaluate
from selector.inputs.site import Arrangement, HumidityTarget, Install, Site, Unit
from selector.money.circuits import Circuit, circuit_for
from selector.money.first_cost import unit_of
from selector.physics.class_curves import RATING_DRY_BULB, RATING_PRESSURE, RATING_RELATIVE_HUMIDITY
from selector.physics.moist_air import humidity_ratio_of_relative_humidity
from selector.physics.prepare import Connection, Prepared, lead_order

TAG = "DH"  # a habit of the trade
Drain = Literal["gravity", "pump", "none"]


@dataclass(frozen=True, slots=True)
class SetPoint:
    """What the humidistat holds, for one limit."""

    name: str
    kind: Literal["relative-humidity", "dew-point"]
    limit: float  # fraction, or °C
    band: float  # fraction, or K
    set_point: float  # limit - band
    hours: int  # of the year in which it is in force
    when: Literal["all hours", "occupied hours", "scheduled hours"]


@dataclass(frozen=True, slots=True, eq=False)
class ScheduleRow:
    """One unit."""

    tag: str  # "DH-1"
    stage: int  # its place in the order in which the humidistat calls parts of the design, from 1
    stages: int  # how many there are, existing units too
    unit: Unit
    arrangement: Arrangement
    derived: bool  # its curve is that of its class, scaled to too few rows
    low: float  # factors on removal that a derived unit may turn out to have; else 1, 1
    high: float
    airflow: float  # m³/s at the entering state, that passes against the static pressure
    connection: Connection  # static pressure [Pa] of taps and duct
    design: DesignHourOfUnit
    standard: Duty  # at 26.7 °C, 60 %, 101.325 kPa, no static pressure to overcome beyond its fan's
    circuit: Circuit
    drain: Drain


@dataclass(frozen=True, slots=True, eq=False)
class Schedule:
    """All new units of a design."""

    site: Site
    evaluation: Evaluation  # of the design: what it costs, which limits it breaks, current, weight and sound
    rows: tuple[ScheduleRow, ...]
    percent: float | None  # of the design day; None where the weather has none
    set_points: tuple[SetPoint, ...]


def equipment_schedule(*, prepared: Prepared, install: tuple[Install, ...]) -> Schedule:
    """Write the schedule of a design.

    Args: prepared; install, the new units, in any order.
    Returns: `Schedule`, its rows in lead order, one for each unit; none for an empty design.
    Raises: ValueError where a model is not in the catalogue.
    """
    site = prepared.site
    evaluation = evaluate(
        prepared=prepared, install=install, warm_allowed=_warm_allowed(prepared, bool(install))
    )
    days = site.weather.design_days
    rows: list[ScheduleRow] = []
    every = lead_order(prepared=prepared, install=(*evaluation.install, *site.existing_units))
    for part, design in zip(
        evaluation.install, design_hours(prepared=prepared, evaluation=evaluation), strict=True
    ):
        fitted = fitted_of(prepared=prepared, model=part.model)
        unit = unit_of(site=site, model=part.model)
        connection = connection_of(prepared=prepared, model=part.model, arrangement=part.arrangement)
        stage = next(
            place
            for place, one in enumerate(every, start=1)
            if (one.model, one.arrangement) == (part.model, part.arrangement)
        )
        ratio = float(
            humidity_ratio_of_relative_humidity(RATING_DRY_BULB, RATING_RELATIVE_HUMIDITY, RATING_PRESSURE)
        )
        rows += [
            ScheduleRow(
                tag=f"{TAG}-{len(rows) + number}",
                stage=stage,
                stages=len(every),
                unit=unit,
                arrangement=part.arrangement,
                derived=fitted.derived,
                low=fitted.low,
                high=fitted.high,
                airflow=unit.airflow * connection.flow_fraction,
                connection=connection,
                design=design,
                standard=duty_at(
                    fitted=fitted,
                    flow_fraction=1.0,
                    dry_bulb=RATING_DRY_BULB,
                    humidity_ratio=ratio,
                    pressure=RATING_PRESSURE,
                ),
                circuit=circuit_for(voltage=unit.voltage, phases=unit.phases, current=unit.current),
                drain="none"
                if unit.technology == "desiccant"
                else site.costs.installation[part.arrangement].drain,
            )
            for number in range(1, part.count + 1)
        ]
    return Schedule(
        site=site,
        evaluation=evaluation,
        rows=tuple(rows),
        percent=min((day.percent for day in days), default=None),
        set_points=set_points(site=site),
    )


def _warm_allowed(prepared: Prepared, any_unit: bool) -> float | None:
    """Hours too warm that the design may have, as `choose` counts them."""
    extra = prepared.site.limits.extra_hours_too_warm
    if extra is None or not any_unit:
        return None
    return evaluate(prepared=prepared, install=()).hours_too_warm + extra


def set_points(*, site: Site) -> tuple[SetPoint, ...]:
    """What the humidistat holds.

    Args: site.
    Returns: one for each humidity limit, in the site's order: its band below the limit.
    """
    return tuple(
        SetPoint(
            name=target.name,
            kind=target.kind,
            limit=target.limit,
            band=target.band,
            set_point=target.limit - target.band,
            hours=int(target.hours.sum()),
            when=_when(target, site),
        )
        for target in site.targets
    )


def _when(target: HumidityTarget, site: Site) -> Literal["all hours", "occupied hours", "scheduled hours"]:
    if target.hours.all():
        return "all hours"
    return "occupied hours" if (target.hours == site.occupied).all() else "scheduled hours"


def tags_of(*, rows: tuple[ScheduleRow, ...], model: str, arrangement: str) -> tuple[str, ...]:
    """Tags of the units of one model in one arrangement.

    Args: rows, of a schedule; model; arrangement.
    Returns: tags, in order.
    """
    return tuple(row.tag for row in rows if (row.unit.model, row.arrangement) == (model, arrangement))


def kinds_of(*, rows: tuple[ScheduleRow, ...]) -> tuple[tuple[tuple[str, ...], ScheduleRow], ...]:
    """Rows that differ in nothing but their tag, together.

    Args: rows, of a schedule.
    Returns: tags, and the first row of them, in order.
    """
    found: dict[tuple[str, str], ScheduleRow] = {}
    for row in rows:
        found.setdefault((row.unit.model, row.arrangement), row)
    return tuple(
        (tags_of(rows=rows, model=model, arrangement=arrangement), row)
        for (model, arrangement), row in found.items()
    )
