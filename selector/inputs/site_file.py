"""Reads a site file: checks it, fills in what it leaves out, and builds the site in SI.

All faults of the file, its weather and its catalogue are reported together.
"""

from __future__ import annotations

import copy
import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from selector.inputs.calendar import WEEKDAY_NAMES
from selector.inputs.catalog import read_catalog
from selector.inputs.errors import Faults, InputFaults
from selector.inputs.fields import shown
from selector.inputs.normals import weather_from_normals
from selector.inputs.reading import read_bytes
from selector.inputs.resolve import Resolver
from selector.inputs.schema import (
    AirHandlerTable,
    CostsTable,
    LimitsTable,
    SiteFile,
    SpaceTable,
    WeatherTable,
)
from selector.inputs.schema_faults import check_schema, is_broken
from selector.inputs.site import (
    ARRANGEMENTS,
    AirHandler,
    Catalog,
    FloatArray,
    Gain,
    Heating,
    Site,
    WaterSurfaceGain,
    Weather,
)
from selector.inputs.site_air_handler import build_air_handler, supply_and_outdoor
from selector.inputs.site_alternates import build_alternates
from selector.inputs.site_gains import build_gains, count_people
from selector.inputs.site_limits import (
    WITHOUT_AIR_HANDLER,
    build_costs,
    build_existing,
    build_limits,
    build_targets,
)
from selector.inputs.site_options import build_options
from selector.inputs.site_schedules import Schedules
from selector.inputs.site_space import build_heating, build_space
from selector.inputs.units import CURRENCIES
from selector.inputs.weather import read_weather

DEFAULT_CURRENCY = "USD"
PARTLY_OPEN = (
    "air_handler.schedule below 1 lets in that share of the outdoor air; the exhaust stays while it is above 0, and "
    "what lacks comes in through the envelope"
)
WARM_WATER = "heat that keeps water surfaces warm is not counted: where more evaporates, that costs more"
ONE_SPACE = "one well-mixed space: several rooms on one system, or reheat boxes, are not represented"


def read_site(
    *,
    path: Path,
    no_defaults: bool = False,
    instead: Mapping[str, float] | None = None,
    like: Site | None = None,
) -> Site:
    """Read a site file with its weather and its catalogue.

    Args: path, of the TOML file; no_defaults, whether every value that the file leaves out is a fault; instead,
    values [SI] to take for defaults, by key, as to see what a default matters; like, the same site as read before,
    whose weather and catalogue are taken over unread.
    Returns: the site in SI, with the record of where each value came from.
    Raises: InputFaults, with all faults of the file, its weather and its catalogue.
    """
    faults = Faults()
    file = str(path)
    raw = _read_toml(path, faults)
    faults.raise_if_any()
    currency = _currency(raw, file, faults)
    single_target = isinstance(raw.get("humidity_target"), dict)
    weather = _weather(raw, path, currency) if like is None else _WeatherResult(like.weather, ())
    pressure = float(np.mean(weather.weather.pressure)) if weather.weather is not None else None
    context = {"currency": currency, "pressure": pressure}
    tables, broken = check_schema(raw=raw, context=context, file=file, faults=faults)
    resolver, apart = (
        Resolver(
            file=file,
            profile=tables.profile,
            currency=currency,
            broken=broken,
            faults=faults,
            no_defaults=no_defaults,
            instead=instead,
        )
        for _ in range(2)
    )
    faults.extend(weather.faults)
    catalog = _catalog(tables, path, resolver) if like is None else like.catalog
    reading = _Reading(file, tables, resolver, apart, weather.weather, catalog, single_target)
    site = _build(reading, path)
    faults.raise_if_any()
    assert site is not None  # without a fault there is a site
    return site


@dataclass(frozen=True, slots=True)
class _Reading:
    """What one run of the reader works on."""

    file: str
    tables: SiteFile
    resolver: Resolver
    apart: Resolver  # for what does not bear on the site itself
    weather: Weather | None
    catalog: Catalog | None
    single_target: bool


@dataclass(frozen=True, slots=True)
class _WeatherResult:
    weather: Weather | None
    faults: tuple[Any, ...]


def _read_toml(path: Path, faults: Faults) -> dict[str, Any]:
    file = str(path)
    contents = read_bytes(path=path, allowed="a site file that can be read", faults=faults)
    if contents is None:
        return {}
    try:
        return tomllib.loads(contents.decode("utf-8-sig"))
    except RecursionError:
        faults.add(
            file=file,
            where="brackets",
            got="hundreds inside each other",
            allowed="tables and lists as in the README",
        )
    except UnicodeDecodeError as error:
        faults.add(
            file=file, where=f"byte {error.start}", got="a byte that is not UTF-8", allowed="UTF-8 text"
        )
    except tomllib.TOMLDecodeError as error:
        message, _, place = str(error).partition(" (at ")
        where = place.rstrip(")") or "end of document"
        message = message[:1].lower() + message[1:]
        allowed = 'TOML: key = value, text in "quotes"'
        if message.startswith(("cannot overwrite", "cannot declare", "cannot mutate")):
            message = "a key or a table that is there already"
            allowed = "each key once; a table as [name] once, or as [[name]] for each of several"
        faults.add(file=file, where=where, got=message, allowed=allowed)
    except ValueError:
        faults.add(
            file=file,
            where="numbers",
            got="a number of thousands of digits",
            allowed="numbers that a site needs",
        )
    return {}


def _currency(raw: dict[str, Any], file: str, faults: Faults) -> str:
    value = raw.get("currency")
    if value is None:
        return DEFAULT_CURRENCY
    if isinstance(value, str) and value in CURRENCIES:
        return value
    allowed = "a code of ISO 4217, as USD or EUR"
    faults.add(file=file, where="currency", got=shown(value), allowed=allowed)
    raw.pop("currency")
    return DEFAULT_CURRENCY


def _weather(raw: dict[str, Any], path: Path, currency: str) -> _WeatherResult:
    """Read the weather before the rest, since a standard airflow needs the site's air pressure.

    Faults of the keys themselves are found again, and reported, when the whole file is checked.
    """
    given = raw.get("weather")
    table, broken = check_schema(
        raw={
            "weather": copy.deepcopy(given) if isinstance(given, dict) else {},
            "first_weekday": raw.get("first_weekday"),
        },
        context={"currency": currency},
        file="",
        faults=Faults(),
    )
    first = WEEKDAY_NAMES.index(table.first_weekday) if table.first_weekday else None
    weather = table.weather or WeatherTable()
    faults = Faults()
    result: Weather | None = None
    file = str(path)
    if weather.file is not None and weather.normals is not None:
        faults.add(file=file, where="weather.file", got="file and normals", allowed="one of file and normals")
    elif weather.file is not None:
        try:
            result = read_weather(
                path=path.parent / weather.file,
                elevation=math.nan if is_broken("weather.elevation", broken) else weather.elevation,
                first_weekday=first,
            )
        except InputFaults as error:
            faults.extend(error.faults)
    elif weather.normals is not None:
        result = _normals(weather, first, file, broken, faults)
    elif not is_broken("weather", broken) and (given is None or isinstance(given, dict)):
        faults.add(
            file=file, where="weather.file", got="nothing", allowed="the path of a weather file, or normals"
        )
    return _WeatherResult(result, faults.all())


def _normals(
    table: WeatherTable, first_weekday: int | None, file: str, broken: frozenset[str], faults: Faults
) -> Weather | None:
    normals = table.normals
    assert normals is not None
    at = "weather.normals"
    needed = {
        "weather.elevation": table.elevation,
        f"{at}.dry_bulb": normals.dry_bulb,
        f"{at}.daily_range": normals.daily_range,
        f"{at}.dew_point": normals.dew_point,
    }
    for key, value in needed.items():
        if value is None and not is_broken(key, broken):
            allowed = "a length in ft or m" if key == "weather.elevation" else "twelve values, January first"
            faults.add(file=file, where=key, got="nothing", allowed=allowed)
    if (
        table.elevation is None
        or normals.dry_bulb is None
        or normals.daily_range is None
        or normals.dew_point is None
    ):
        return None
    return weather_from_normals(
        dry_bulb=normals.dry_bulb,
        daily_range=normals.daily_range,
        dew_point=normals.dew_point,
        elevation=table.elevation,
        first_weekday=first_weekday or 0,
        latitude=normals.latitude,
        global_horizontal=normals.global_horizontal,
        clearness=normals.clearness,
        file=file,
        faults=faults,
    )


def _catalog(tables: SiteFile, path: Path, resolver: Resolver) -> Catalog | None:
    if tables.catalog is None:
        resolver.missing("catalog", "the folder of a catalogue, with units.csv and ratings.csv")
        return None
    try:
        catalog = read_catalog(folder=path.parent / tables.catalog)
    except InputFaults as error:
        resolver.faults.extend(error.faults)
        return None
    if catalog.currency != resolver.currency:
        resolver.fault(
            "catalog", f"prices in {catalog.currency}", f"prices in {resolver.currency}, as the site"
        )
    return catalog


def _build(reading: _Reading, path: Path) -> Site | None:
    """Build all parts, in the order in which one needs another."""
    tables, resolver, weather = reading.tables, reading.resolver, reading.weather
    space_table = tables.space or SpaceTable()
    if space_table.floor_area is not None:
        resolver.scales["floor_area"] = space_table.floor_area
    air = tables.air_handler
    first_weekday = weather.first_weekday if weather is not None else 0
    schedules = Schedules(
        tables=tables.schedules or {},
        resolver=resolver,
        first_weekday=first_weekday,
        holidays=tuple(tables.holidays or ()),
    )
    ventilation = schedules.occupied(
        where="air_handler.schedule" if air is not None else "space.schedule",
        given=air.schedule if air is not None else space_table.schedule,
    )
    occupied = ventilation > 0.0
    gains = build_gains(tables=tables.gains, resolver=resolver, schedules=schedules)
    display_units = resolver.word("display_units", tables.display_units)
    resolver.word("currency", tables.currency)
    air_handler, outdoor = _air_handler(air, resolver, gains, space_table, ventilation)
    space = build_space(
        table=space_table,
        resolver=resolver,
        occupied=occupied,
        weather=weather,
        has_air_handler=air is not None,
        heating=air_handler.heating if air_handler is not None else None,
        mean_outdoor_airflow=outdoor * float(ventilation.mean()),
    )
    partial = ventilation[(ventilation > 0.0) & (ventilation < 1.0)]
    if space is not None and partial.size and partial.min() * outdoor < space.exhaust_airflow:
        resolver.notes.append(PARTLY_OPEN)
    if any(isinstance(gain, WaterSurfaceGain) and gain.heat_from == "water" for gain in gains):
        resolver.notes.append(WARM_WATER)
    targets = build_targets(
        tables=tables.humidity_target,
        resolver=resolver,
        schedules=schedules,
        single=reading.single_target,
    )
    has_air_handler = air is not None or resolver.is_broken("air_handler")
    limits = build_limits(
        table=tables.limits or LimitsTable(), resolver=resolver, has_air_handler=has_air_handler
    )
    existing = build_existing(
        tables=tables.existing_units,
        resolver=resolver,
        catalog=reading.catalog,
        has_air_handler=has_air_handler,
    )
    alternates = build_alternates(
        tables=tables.alternates,
        resolver=reading.apart,
        catalog=reading.catalog,
        arrangements=ARRANGEMENTS if has_air_handler else WITHOUT_AIR_HANDLER,
    )
    options = build_options(
        tables=tables.options,
        resolver=reading.apart,
        air_handler=air_handler,
        space=space,
        occupied=occupied,
        people=count_people(gains),
    )
    proposed = (part.arrangement for one in alternates for part in one.install)
    there = (install.arrangement for install in existing)
    used = tuple(dict.fromkeys((*limits.arrangements, *there, *proposed)))
    costs = build_costs(
        table=tables.costs or CostsTable(),
        resolver=resolver,
        arrangements=used,
        has_air_handler=has_air_handler,
        schedules=schedules,
        folder=path.parent,
        catalog=tables.catalog,
    )
    if len(resolver.faults) or weather is None or reading.catalog is None or space is None:
        return None
    return Site(
        name=tables.name or path.stem,
        file=reading.file,
        profile=tables.profile or "",
        display_units="IP" if display_units == "IP" else "SI",
        weather=weather,
        space=space,
        occupied=occupied,
        gains=gains,
        air_handler=air_handler,
        targets=targets,
        costs=costs,
        limits=limits,
        existing_units=existing,
        catalog=reading.catalog,
        assumptions=resolver.assumptions(),
        notes=(*weather.notes, *resolver.notes, *reading.apart.notes, ONE_SPACE),
        alternates=alternates,
        options=options,
    )


def _air_handler(
    table: AirHandlerTable | None,
    resolver: Resolver,
    gains: tuple[Gain, ...],
    space: SpaceTable,
    ventilation: FloatArray,
) -> tuple[AirHandler | None, float]:
    """Build the air handler where there is one; return it with its outdoor airflow [m³/s]."""
    if table is None:
        return None, 0.0
    supply, outdoor = supply_and_outdoor(
        table=table, resolver=resolver, people=count_people(gains), floor_area=space.floor_area
    )
    heating: Heating = build_heating(table=table.heating, resolver=resolver, where="air_handler.heating")
    air_handler = build_air_handler(
        table=table,
        resolver=resolver,
        supply_airflow=supply,
        outdoor_airflow=outdoor,
        ventilation=ventilation,
        heating=heating,
    )
    return air_handler, outdoor
