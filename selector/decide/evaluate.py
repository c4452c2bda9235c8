"""One design simulated in full: what it costs, how humid the space gets, where the moisture goes.

This is the only place where hourly results become yearly ones; `simulate`, `choose` and their reports all read the
`Evaluation` that it returns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selector.decide.hot_air import HotAir, hot_air
from selector.decide.limits import BrokenLimit, broken_before_simulation, currents_of, hours_limit
from selector.decide.low_airflow import LowAirflow, low_airflow
from selector.inputs.site import Install, Site
from selector.money.design_costs import existing_present_value, install_maintenance
from selector.money.energy_prices import present_value_factors, prices, year_cost
from selector.money.first_cost import FirstCost, first_cost, unit_of
from selector.money.installation import refuse_missing_prices
from selector.money.life_cycle import LifeCycle, life_cycle_cost, per_unit_present_value
from selector.money.quantities import BillOfQuantities, bill_of_quantities
from selector.money.tariff import DesignBill
from selector.physics import response as out
from selector.physics.fit import FittedUnit
from selector.physics.hourly import HourlyYear, energy_residual, moisture_residual, simulate_hours
from selector.physics.moist_air import dew_point, relative_humidity, saturation_pressure, vapour_pressure
from selector.physics.prepare import TOLERANCE, Prepared, lead_order, prepare

JOULES_PER_KWH = 3.6e6
CLOSE = 0.01  # K, between dew points of which either may be the higher


@dataclass(frozen=True, slots=True)
class LimitResult:
    """How one humidity limit fared."""

    name: str
    kind: str
    limit: float
    hours_above: int
    allowed: float
    only_set_back: int  # of these, hours that are above only because the space is set back cold
    worst_hour: int  # of the year
    worst: float  # the limited quantity then: fraction, or °C


def worst_of(limits: Sequence[LimitResult]) -> LimitResult:
    """Find the limit with the least left of its allowed hours.

    Args: limits, at least one. Returns: the first such.
    """
    return max(limits, key=lambda one: one.hours_above - one.allowed)


@dataclass(frozen=True, slots=True)
class CostResult:
    """Money."""

    first: float
    electricity: float  # a year
    gas: float  # a year
    maintenance: float  # a year
    annual_operating: float
    present_value_energy: float
    life_cycle: float
    lines: FirstCost
    quantities: BillOfQuantities  # the first cost, line by line
    bill: DesignBill | None  # what the design adds to the utility bills; None under flat prices
    carbon_electricity: float  # kg of carbon dioxide a year
    carbon_gas: float  # kg a year
    peak: (
        float  # W, highest hour of the building: the design, the system that it works with and the other load
    )


@dataclass(frozen=True, slots=True, eq=False)
class Evaluation:
    """A design, simulated and costed."""

    install: tuple[Install, ...]  # new units, in lead order
    costs: CostResult
    limits: tuple[LimitResult, ...]
    hours_above: int  # of the limit with the least left
    maximum_relative_humidity: float
    maximum_dew_point: float  # °C
    hours_too_warm: int
    lost_hours: int  # hours in which called units had air outside their range
    low_airflow: tuple[LowAirflow, ...]  # units that ran on far less air than they are rated at
    hot_air: tuple[HotAir, ...]  # refrigerant units whose leaving air was hotter than their circuit may bear
    coil_frost_hours: int  # coil-bypass with the coil's surface below 0 °C
    short_heating_hours: int
    short_cooling_hours: int
    unsettled_hours: int
    fan_hours_for_units: float
    moisture_kg: dict[str, float]
    energy_kwh: dict[str, float]
    specific_removal: float | None  # kg/kWh, electricity and gas
    balance_moisture: float  # worst relative residual of an hour
    balance_energy: float
    start_mismatch: tuple[float, float]  # K and kg/kg between the year's end and its start
    currents: tuple[tuple[float, float], ...]  # V, and A of the new units at it, lowest voltage first
    sound: float | None  # dBA, loudest new unit
    weight: float  # kg, new units together
    feasible: bool
    broken: tuple[BrokenLimit, ...]
    year: HourlyYear

    @property
    def current(self) -> float | None:
        """Return the current [A] of the new units together, None where they run at several voltages."""
        return None if len(self.currents) > 1 else sum(current for _, current in self.currents)

    @property
    def worst_limit(self) -> LimitResult:
        """Return the humidity limit with the least left of its allowed hours, of which `hours_above` is."""
        return worst_of(self.limits)


def prepare_site(*, site: Site, fitted: tuple[FittedUnit, ...] | None = None) -> Prepared:
    """Prepare a site with the prices that the search adds up: present value of each joule.

    Args: site; fitted, the catalogue's units where they are fitted already.
    Returns: `Prepared`.
    Raises: as `prepare` and `refuse_missing_prices`.
    """
    refuse_missing_prices(site=site)
    price = prices(site=site)
    factor = present_value_factors(costs=site.costs)
    return prepare(
        site=site,
        electricity=price.electricity * factor.electricity,
        gas=price.gas * factor.gas,
        fitted=fitted,
    )


def fixed_present_value(*, site: Site, install: tuple[Install, ...]) -> float:
    """What a design costs over the study apart from energy.

    Args: site; install, the new units.
    Returns: first cost and present value of maintenance, replacement and residual value, existing units' too
        [currency].
    """
    later = sum(
        part.count * per_unit_present_value(site=site, unit=unit_of(site=site, model=part.model))
        for part in install
    )
    return first_cost(site=site, install=install).total + later + existing_present_value(site=site)


def life_cycle_of(*, site: Site, evaluation: Evaluation) -> LifeCycle:
    """What the life-cycle cost of a design is the sum of.

    Args: site; evaluation, of a design.
    Returns: `LifeCycle`.
    """
    costs = evaluation.costs
    return life_cycle_cost(
        first=costs.first,
        electricity=costs.electricity,
        gas=costs.gas,
        maintenance=costs.maintenance,
        units=tuple((unit_of(site=site, model=part.model), part.count) for part in evaluation.install),
        costs=site.costs,
    )


def evaluate(
    *,
    prepared: Prepared,
    install: tuple[Install, ...],
    warm_allowed: float | None = None,
    year: HourlyYear | None = None,
) -> Evaluation:
    """Simulate a design through the whole year.

    Args: prepared; install, the new units; warm_allowed [h a year] above which the space counts as too warm, None for
        no such limit; year, this very design's, where it is simulated already.
    Returns: `Evaluation`.
    Raises: ValueError where a model is not in the catalogue.
    """
    site = prepared.site
    new = lead_order(prepared=prepared, install=tuple(part for part in install if part.count > 0))
    every = lead_order(prepared=prepared, install=(*new, *site.existing_units))
    if year is None:
        year = simulate_hours(prepared=prepared, install=every)
    response = year.response
    factor = present_value_factors(costs=site.costs)
    energy = year_cost(site=site, electricity=year.electricity, gas=year.gas)
    electricity, gas = energy.electricity, energy.gas
    energy_value = electricity * factor.electricity + gas * factor.gas
    maintenance = install_maintenance(site=site, install=(*new, *site.existing_units))
    lines = first_cost(site=site, install=new)
    costs = CostResult(
        first=lines.total,
        electricity=electricity,
        gas=gas,
        maintenance=maintenance,
        annual_operating=electricity + gas + maintenance,
        present_value_energy=energy_value,
        life_cycle=fixed_present_value(site=site, install=new) + energy_value,
        lines=lines,
        quantities=bill_of_quantities(site=site, install=new),
        bill=energy.bill,
        carbon_electricity=energy.carbon_electricity,
        carbon_gas=energy.carbon_gas,
        peak=energy.peak,
    )
    limits = _limits(prepared, year)
    warm = int(year.warm.sum())
    frost = int(year.frost_hours)
    broken = list(broken_before_simulation(prepared=prepared, install=new))
    for limit in limits:
        if limit.hours_above > limit.allowed:
            broken.append(BrokenLimit(hours_limit(limit.name), limit.hours_above, limit.allowed, "h"))
    if warm_allowed is not None and warm > warm_allowed:
        broken.append(BrokenLimit("hours too warm", warm, warm_allowed, "h"))
    if frost:
        broken.append(BrokenLimit("hours with the coil below 0 °C while bypassed", frost, 0.0, "h"))
    units = [(unit_of(site=site, model=part.model), part.count) for part in new]
    bought = float((year.unit_electricity + year.unit_gas).sum()) / JOULES_PER_KWH
    removed = float(year.units.sum())
    worst = worst_of(limits)
    return Evaluation(
        install=new,
        costs=costs,
        limits=limits,
        hours_above=worst.hours_above,
        maximum_relative_humidity=float(year.relative_humidity.max()),
        maximum_dew_point=_highest_dew_point(prepared, year),
        hours_too_warm=warm,
        lost_hours=year.lost_hours,
        low_airflow=low_airflow(year=year),
        hot_air=hot_air(site=site, year=year),
        coil_frost_hours=frost,
        short_heating_hours=int((response[:, out.SHORT_HEATING] > 1e-6).sum()),
        short_cooling_hours=int((response[:, out.COIL_FULL] > 0.0).sum()),
        unsettled_hours=year.unsettled_hours,
        fan_hours_for_units=float(response[:, out.FAN_FROM_UNITS].sum()),
        moisture_kg={
            "ventilation": float(year.ventilation.sum()),
            "infiltration": float(year.infiltration.sum()),
            "internal": float(year.internal.sum()),
            "coil": float(year.coil.sum()),
            "units": removed,
            "stored": float(year.stored.sum()),
        },
        energy_kwh={
            "units": float(year.unit_electricity.sum()) / JOULES_PER_KWH,
            "cooling": float(year.cooling.sum()) / JOULES_PER_KWH,
            "fan": float(year.fan.sum()) / JOULES_PER_KWH,
            "heating": float(year.heating.sum()) / JOULES_PER_KWH,
            "unit_gas": float(year.unit_gas.sum()) / JOULES_PER_KWH,
        },
        specific_removal=removed / bought if bought > 0.0 else None,
        balance_moisture=moisture_residual(prepared=prepared, year=year),
        balance_energy=energy_residual(prepared=prepared, year=year),
        start_mismatch=year.start_mismatch,
        currents=currents_of(site=site, install=new),
        sound=max((unit.sound for unit, _ in units), default=None),
        weight=sum(count * unit.weight for unit, count in units),
        feasible=not broken,
        broken=tuple(broken),
        year=year,
    )


def _highest_dew_point(prepared: Prepared, year: HourlyYear) -> float:
    """Highest dew point of the year [°C], sought among the hours with nearly the highest vapour pressure.

    Dew point rises with vapour pressure, but ends at the dry bulb; it is found by iteration, to far less than `CLOSE`.
    """
    ratio, pressure = np.maximum(year.mean_w, 1e-6), prepared.hours["pressure"]
    vapour = vapour_pressure(ratio, pressure)
    at = int(np.argmax(vapour))
    least = saturation_pressure(dew_point(year.mean_t[at], ratio[at], pressure[at]) - CLOSE)
    near = vapour >= least
    return float(dew_point(year.mean_t[near], ratio[near], pressure[near]).max())


def _limits(prepared: Prepared, year: HourlyYear) -> tuple[LimitResult, ...]:
    """Judge every humidity limit of the site."""
    results: list[LimitResult] = []
    pressure = prepared.hours["pressure"]
    comfort = prepared.site.space.occupied_heating_setpoint
    for k, target in enumerate(prepared.site.targets):
        above = year.above[:, k] > 0.0
        if target.kind == "relative-humidity":
            limited = year.relative_humidity
            warmed = np.asarray(relative_humidity(comfort, np.maximum(year.mean_w, 1e-6), pressure))
            cold = (year.mean_t < comfort - 0.05) & (warmed <= target.limit + TOLERANCE)
        else:
            limited = np.asarray(dew_point(year.mean_t, np.maximum(year.mean_w, 1e-6), pressure))
            cold = np.zeros(limited.size, bool)
        judged = np.where(target.hours, limited, -np.inf)
        worst = int(np.argmax(judged))
        results.append(
            LimitResult(
                name=target.name,
                kind=target.kind,
                limit=target.limit,
                hours_above=int(above.sum()),
                allowed=target.allowed_hours_above,
                only_set_back=int((above & cold).sum()),
                worst_hour=worst,
                worst=float(limited[worst]),
            )
        )
    return tuple(results)
