"""Random small sites and catalogues, few enough designs to simulate every one of them in full.

Invented. Number n gives the same case on every run. Units are those of the shipped catalogue with prices, currents and
lock-outs of their own.
"""

from __future__ import annotations

import functools
import itertools
import random
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from selector.decide.evaluate import prepare_site
from selector.inputs.site import (
    ARRANGEMENTS,
    HOURS,
    AirHandler,
    Arrangement,
    BoolArray,
    Catalog,
    FloatArray,
    Gain,
    HeatGain,
    Heating,
    HumidityTarget,
    Install,
    Installation,
    MoistureGain,
    PeopleGain,
    Site,
    SpaceCooling,
    WaterSurfaceGain,
    Weather,
)
from selector.physics.fit import FittedUnit, fit_unit
from selector.physics.prepare import Prepared
from selector.physics.unit_parameters import LOWEST_DRY_BULB
from tests.builders import flat, make_costs, make_site, make_weather
from tests.physics.sites_for_tests import make_air_handler, make_coil, make_water_coil, ratio
from tests.physics.units_for_tests import general

HOUR = np.arange(HOURS)
CLOCK = HOUR % 24
WEEKDAY = (HOUR // 24) % 7
ALWAYS = np.ones(HOURS, bool)
DAY = (CLOCK >= 8) & (CLOCK < 18) & (WEEKDAY < 5)
LATE = (CLOCK >= 17) & (CLOCK < 22) & ((WEEKDAY == 2) | (WEEKDAY == 5))
SUMMER = (HOUR // 24 >= 150) & (HOUR // 24 < 240)
MODELS = (
    "compressor-60", "compressor-90", "compressor-120", "precool-60", "precool-90", "precool-120", "rotor-40",
    "rotor-60", "rotor-90", "rotor-180",
)  # fmt: skip
MOST_DESIGNS = 22


@functools.cache
def weather_of(kind: str) -> Weather:
    """A year of a given climate: yearly and daily swings of dry bulb and of moisture."""
    mean, yearly, daily, moist, swing = {
        "gulf": (21.0, 7.0, 4.0, 0.70, 0.12),
        "lakes": (9.0, 14.0, 5.0, 0.70, 0.12),
        "coast": (12.0, 6.0, 3.0, 0.82, 0.08),
        "tropics": (26.0, 1.5, 3.5, 0.76, 0.08),
        "steppe": (11.0, 11.0, 6.0, 0.50, 0.15),
    }[kind]
    year = np.cos(2.0 * np.pi * (HOUR / HOURS - 0.56))
    day = np.cos(2.0 * np.pi * (CLOCK - 15) / 24.0)
    spell = np.sin(2.0 * np.pi * HOUR / 131.0) + 0.5 * np.sin(2.0 * np.pi * HOUR / 53.0)
    dry_bulb = mean + yearly * year + daily * day + 1.5 * spell
    relative = np.clip(moist - swing * day + 0.06 * np.sin(2.0 * np.pi * HOUR / 97.0), 0.2, 0.99)
    sun = np.maximum(0.0, (500.0 + 250.0 * year) * np.sin(np.pi * (CLOCK - 6.0) / 12.0))
    sun[(CLOCK < 6) | (CLOCK > 18)] = 0.0
    return replace(
        make_weather(),
        source=f"invented, {kind}",
        dry_bulb=dry_bulb,
        humidity_ratio=np.array([ratio(t, r) for t, r in zip(dry_bulb, relative, strict=True)]),
        global_horizontal=sun,
    )


@functools.cache
def fitted_unit(model: str) -> FittedUnit:
    return fit_unit(unit=next(unit for unit in general().units if unit.model == model))


def locked_out_below(one: FittedUnit, dry_bulb: float) -> FittedUnit:
    """The same unit, but off below an entering dry bulb [°C]."""
    row = one.parameters.copy()
    row[LOWEST_DRY_BULB] = dry_bulb
    return replace(one, unit=replace(one.unit, minimum_dry_bulb=dry_bulb), parameters=row)


@dataclass(frozen=True, eq=False)
class Case:
    """One site to choose for."""

    number: int
    prepared: Prepared
    marks: frozenset[str]  # what the case holds

    def __str__(self) -> str:
        site, limits = self.prepared.site, self.prepared.site.limits
        handler = site.air_handler
        fan = None if handler is None else handler.unoccupied_fan
        targets = [(t.name, t.kind, t.limit, int(t.hours.sum()), t.allowed_hours_above) for t in site.targets]
        return (
            f"case {self.number}: {sorted(self.marks)}\n"
            f"  units {[(u.model, u.price, u.minimum_dry_bulb) for u in site.catalog.units]}\n"
            f"  limits {limits}\n  existing {site.existing_units}\n  targets {targets}\n"
            f"  weather {site.weather.source}, unoccupied fan {fan}, electricity {site.costs.electricity}"
        )


def designs_of(site: Site) -> Iterator[tuple[Install, ...]]:
    """Every design within the counts, by plain counting through; the empty one first."""
    limits = site.limits
    choices = [(unit.model, name) for unit in site.catalog.units for name in limits.arrangements]
    most = min(limits.max_units, limits.max_per_model)
    for counts in itertools.product(range(most + 1), repeat=len(choices)):
        if sum(counts) > limits.max_units:
            continue
        used = [(model, name, count) for (model, name), count in zip(choices, counts, strict=True) if count]
        per_model: dict[str, int] = {}
        for model, _, count in used:
            per_model[model] = per_model.get(model, 0) + count
        if (
            len(per_model) <= limits.max_sizes
            and all(count <= limits.max_per_model for count in per_model.values())
            and len({name for _, name, _ in used}) <= limits.max_arrangements
        ):
            yield tuple(Install(model, name, count) for model, name, count in used)


def _handler(draw: random.Random, marks: set[str]) -> AirHandler:
    capacity, supply = draw.choice(((16000.0, 0.95), (24000.0, 1.3), (32000.0, 1.7)))
    coil = draw.choice((make_coil, make_coil, make_water_coil))(
        total_capacity=capacity,
        sensible_heat_ratio=draw.choice((0.70, 0.76)),
        stages=draw.choice((1, 2)),
        cycling_loss=draw.choice((0.0, 0.1)),
    )
    ventilation = draw.choice((ALWAYS, DAY, DAY, LATE))
    fan = draw.choice(("cycles", "cycles", "off", "runs"))
    marks.add(f"unoccupied fan {fan}")
    return make_air_handler(
        coil=coil,
        supply_airflow=supply,
        outdoor_airflow=supply * draw.choice((0.1, 0.2, 0.3)),
        ventilation=ventilation.astype(float),
        unoccupied_fan=fan,
        damper_leakage=draw.choice((0.0, 0.05)),
        economizer=draw.choice(("none", "none", "none", "enthalpy")),
        fan_position=draw.choice(("after-coil", "before-coil")),
        heating=Heating(*draw.choice((("gas", 0.8, None), ("electric", 1.0, None)))),
    )


def _targets(draw: random.Random, ventilated: BoolArray, marks: set[str]) -> tuple[HumidityTarget, ...]:
    def allowed() -> float:
        return float(draw.choice((0, 30, 150, 500, 1500)))

    def relative(name: str, limit: float, hours: BoolArray) -> HumidityTarget:
        return HumidityTarget(name, "relative-humidity", limit, draw.choice((0.03, 0.05)), hours, allowed())

    first = relative("all", draw.choice((0.55, 0.60, 0.65, 0.70)), ventilated)
    kind = draw.random()
    if kind < 0.5:
        return (first,)
    marks.add("several humidity limits")
    occupied = relative("occupied", draw.choice((0.50, 0.55, 0.60)), DAY)
    if kind < 0.75:
        return (first, occupied)
    dew = HumidityTarget("summer", "dew-point", draw.choice((14.0, 16.0)), 0.5, SUMMER, allowed())
    return (dew, first) if kind < 0.9 else (first, occupied, dew)


def _covered(handler: AirHandler | None) -> BoolArray:
    """Hours in which every arrangement but `outdoor-air` can run."""
    off = handler is not None and handler.unoccupied_fan == "off"
    return np.asarray(handler.ventilation > 0.0) if handler is not None and off else ALWAYS


def _gains(draw: random.Random, size: float) -> tuple[Gain, ...]:
    gains: list[Gain] = [HeatGain("lights", draw.choice((1500.0, 4000.0)), DAY.astype(float))]
    when: FloatArray = draw.choice((ALWAYS, DAY, LATE, NIGHT)).astype(float)
    gains.append(MoistureGain("process", size * draw.choice((1e-4, 3e-4, 6e-4)), "water", when))
    if draw.random() < 0.5:
        gains.append(PeopleGain("people", size * 30.0, 75.0, 55.0, draw.choice((DAY, LATE)).astype(float)))
    if draw.random() < 0.12:
        gains.append(WaterSurfaceGain("basin", 6.0 * size, 27.0, 0.6, 0.4, "water", DAY.astype(float)))
    return tuple(gains)


NIGHT = ~DAY


def _setpoints(draw: random.Random, marks: set[str]) -> tuple[FloatArray, FloatArray]:
    if draw.random() < 0.4:
        marks.add("set back")
        return np.where(DAY, 24.0, 28.0), np.where(DAY, 20.0, draw.choice((8.0, 12.0)))
    return flat(24.0), flat(20.0)


@functools.lru_cache(maxsize=8)
def make_case(number: int) -> Case:
    """Draw a case; what every few cases must hold goes by the number, the rest by chance."""
    draw = random.Random(7000 + number)
    marks: set[str] = set()
    with_handler = draw.random() < 0.85
    wanted: list[Arrangement] = [ARRANGEMENTS[number % 5]] if with_handler else ["standalone"]
    if with_handler:
        others = [name for name in ARRANGEMENTS if name not in wanted]
        wanted += draw.sample(others, draw.choice((0, 1, 1, 2)))
    names = tuple(name for name in ARRANGEMENTS if name in wanted)
    models = draw.sample(MODELS, draw.choice((1, 2, 2, 3)))
    if number % 4 == 1:
        models = [draw.choice(MODELS[:6]), draw.choice(MODELS[6:])]
    units = [fitted_unit(model) for model in models]
    if number % 6 == 2:
        marks.add("lock-out")
        units[0] = locked_out_below(units[0], draw.choice((17.0, 21.0, 23.0)))
    technologies = {one.unit.technology for one in units}
    if len(technologies) > 1:
        marks.add("mixed technologies")
    catalog = tuple(
        replace(one.unit, price=round(one.unit.price * draw.choice((0.3, 0.7, 1.0, 1.3)), 2)) for one in units
    )
    existing: tuple[Install, ...] = ()
    if number % 5 == 3:
        marks.add("existing units")
        place = draw.choice(ARRANGEMENTS) if with_handler else "standalone"
        if draw.random() < 0.4:
            place = draw.choice(names)
        existing = (Install(draw.choice(models), place, draw.choice((1, 1, 2))),)
    base = make_site()
    limits = replace(
        base.limits,
        arrangements=names,
        max_units=draw.choice((2, 3, 3, 4)),
        max_per_model=draw.choice((2, 3, 4)),
        max_sizes=draw.choice((1, 2)),
        max_arrangements=2 if number % 3 == 0 and len(names) > 1 else 1,
        spare_units=(0, 0, 1, 0, 0, 1, 2)[number % 7],
        extra_hours_too_warm=draw.choice((None, None, None, 50.0, 300.0)),
    )
    if limits.max_arrangements > 1:
        limits = replace(limits, max_units=max(2, limits.max_units))
        marks.add("several arrangements in one design")
    if limits.spare_units:
        limits = replace(
            limits, max_units=max(2, limits.max_units), max_per_model=max(2, limits.max_per_model)
        )
        marks.add("spare units")
    if limits.extra_hours_too_warm is not None:
        marks.add("hours too warm")
    bound = draw.choice(
        (None, None, None, "first_cost", "electrical_current", "sound", "supply_voltage", "phases")
    )
    if bound is not None:
        unit = draw.choice(catalog)
        value: dict[str, Any] = {
            "first_cost": round(1500.0 + draw.uniform(1.5, 3.0) * unit.price, 2),
            "electrical_current": round(unit.current * draw.uniform(1.0, 2.5), 1),
            "sound": unit.sound,
            "supply_voltage": unit.voltage,
            "phases": 1,
        }
        limits = replace(limits, **{bound: value[bound]})
        marks.add(bound)
    dry = number % 7 == 5
    size = 0.1 if dry else draw.choice((0.3, 0.7, 1.0, 1.5))
    cooling, heating = _setpoints(draw, marks)
    handler = _handler(draw, marks) if with_handler else None
    terms = {
        name: Installation(
            float(draw.choice((0, 300, 900))), draw.choice((150.0, 410.25)), draw.choice((0.0, 6.0)), 5.0, 1.0
        )
        for name in ARRANGEMENTS
    }
    site = replace(
        base,
        weather=weather_of(
            "steppe" if dry else draw.choice(("gulf", "gulf", "lakes", "lakes", "coast", "tropics"))
        ),
        space=replace(
            base.space,
            floor_area=300.0,
            heat_loss=draw.choice((150.0, 300.0)),
            solar_aperture=draw.choice((0.0, 8.0)),
            infiltration=draw.choice((0.1, 0.3)) / 3600.0,
            moisture_buffer=draw.choice((3.0, 10.0, 30.0)),
            thermal_mass=draw.choice((1.0e7, 6.0e7)),
            cooling_setpoint=cooling,
            heating_setpoint=heating,
            cooling=SpaceCooling("none", 3.0, None) if handler else SpaceCooling("electric", 3.0, 12000.0),
        ),
        gains=_gains(draw, size),
        occupied=DAY,
        air_handler=handler,
        targets=_targets(draw, _covered(handler), marks),
        costs=replace(make_costs(electricity=draw.choice((0.0, 2.0e-8, 4.0e-8, 8.0e-8))), installation=terms),
        existing_units=existing,
        catalog=Catalog("catalog", "USD", True, catalog),
        limits=limits,
    )
    site = _few_designs(site)
    marks |= {f"arrangement {name}" for name in site.limits.arrangements}
    return Case(number, prepare_site(site=site, fitted=tuple(units)), frozenset(marks))


def without_lock_out(case: Case) -> Case:
    """The same case with its units' own lowest dry bulbs."""
    site = case.prepared.site
    fitted = tuple(fitted_unit(unit.model) for unit in site.catalog.units)
    units = tuple(
        replace(unit, minimum_dry_bulb=one.unit.minimum_dry_bulb)
        for unit, one in zip(site.catalog.units, fitted, strict=True)
    )
    site = replace(site, catalog=replace(site.catalog, units=units))
    return Case(case.number, prepare_site(site=site, fitted=fitted), case.marks - {"lock-out"})


def _few_designs(site: Site) -> Site:
    """Lower the counts until there are few enough designs."""
    while sum(1 for _ in designs_of(site)) > MOST_DESIGNS:
        limits = site.limits
        most = max(2, limits.max_units - 1)
        if most < limits.max_units:
            limits = replace(limits, max_units=most)
        elif len(site.limits.arrangements) > 1 + (limits.max_arrangements > 1):
            limits = replace(limits, arrangements=limits.arrangements[:-1])
        elif limits.max_sizes > 1:
            limits = replace(limits, max_sizes=1)
        else:
            limits = replace(limits, max_units=1)
        site = replace(site, limits=limits)
    return site
