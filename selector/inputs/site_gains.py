"""Gains of heat and moisture: those that the site lists, or else those of its profile."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from selector.inputs.defaults import defaults_file
from selector.inputs.quantities import parse
from selector.inputs.resolve import PLACEHOLDER, Resolver, checked, known_word
from selector.inputs.schema import (
    AnyGain,
    GainTable,
    HeatTable,
    MoistureTable,
    PeopleTable,
    PlantsTable,
    WaterSurfaceTable,
)
from selector.inputs.site import (
    FloatArray,
    Gain,
    HeatGain,
    MoistureGain,
    PeopleGain,
    PlantsGain,
    WaterSurfaceGain,
)
from selector.inputs.site_schedules import Schedules

_EMPTY: dict[str, Callable[[], AnyGain]] = {
    "people": lambda: PeopleTable(kind="people"),
    "water-surface": lambda: WaterSurfaceTable(kind="water-surface"),
    "plants": lambda: PlantsTable(kind="plants"),
    "moisture": lambda: MoistureTable(kind="moisture"),
    "heat": lambda: HeatTable(kind="heat"),
}

# uses whose people by floor area were not at hand in print
DENSITY_FROM_MEMORY = ("conference", "restaurant", "shop")

IN_PLACE = "[[gains]] stand in place of all that the profile brings: no gain of kind {} is counted"


def build_gains(
    *, tables: Sequence[AnyGain] | None, resolver: Resolver, schedules: Schedules
) -> tuple[Gain, ...]:
    """Build all gains.

    Args: tables, None where the file has none; an empty list means no gains; resolver; schedules.
    Returns: the gains in SI.
    """
    kinds = () if resolver.profile is None else defaults_file()["profiles"][resolver.profile]["gains"]
    if tables is not None:
        left = [kind for kind in kinds if kind not in {table.kind for table in tables}]
        if tables and left:
            resolver.notes.append(IN_PLACE.format(" or ".join(left)))
        return tuple(
            _build(table, f"gains[{place}]", resolver, schedules, _name(table, tables, place))
            for place, table in enumerate(tables)
            if not resolver.is_broken(f"gains[{place}]") or _is_whole(table)
        )
    if resolver.profile is None:
        if not resolver.is_broken("profile"):
            resolver.missing("gains", "[[gains]] tables, gains = [] for none, or a profile that has some")
        return ()
    return tuple(_build(_EMPTY[kind](), f"gains.{kind}", resolver, schedules, kind) for kind in kinds)


def _is_whole(table: AnyGain) -> bool:
    """Say whether anything of a gain is left; an empty one stands for a table that was refused."""
    return bool(table.model_fields_set - {"kind"})


def count_people(gains: Sequence[Gain]) -> float:
    """Count the people of all gains.

    Args: gains. Returns: their number.
    """
    return sum(gain.count for gain in gains if isinstance(gain, PeopleGain))


def _name(table: AnyGain, tables: Sequence[AnyGain], place: int) -> str:
    """Name a gain: its own name, or its kind with a number where there are several of that kind."""
    if table.name is not None:
        return table.name
    same = [number for number, other in enumerate(tables) if other.kind == table.kind]
    return table.kind if len(same) == 1 else f"{table.kind} {same.index(place) + 1}"


def _build(table: AnyGain, where: str, resolver: Resolver, schedules: Schedules, name: str) -> Gain:
    schedule = _schedule(table, where, resolver, schedules, table.kind)
    if isinstance(table, PeopleTable):
        return _people(table, where, resolver, name, schedule)
    if isinstance(table, WaterSurfaceTable):
        return _water_surface(table, where, resolver, name, schedule)
    if isinstance(table, PlantsTable):
        return _plants(table, where, resolver, name, schedule)
    if isinstance(table, MoistureTable):
        return MoistureGain(
            name=name,
            rate=resolver.number(f"{where}.rate", table.rate, default="gains.moisture.rate"),
            heat_from=_heat_from(table.heat_from, where, resolver, "moisture"),
            schedule=schedule,
        )
    power = resolver.number(f"{where}.power", table.power, default="gains.heat.power")
    return HeatGain(name=name, power=power, schedule=schedule)


def _schedule(
    table: GainTable, where: str, resolver: Resolver, schedules: Schedules, kind: str
) -> FloatArray:
    key = "gains.moisture.schedule" if kind == "moisture" else "gains.schedule"
    name = resolver.word(f"{where}.schedule", table.schedule, default=key)
    return schedules.get(name, where=f"{where}.schedule")


def _heat_from(given: str | None, where: str, resolver: Resolver, kind: str) -> Any:
    return checked(resolver.word(f"{where}.heat_from", given, default=f"gains.{kind}.heat_from"))


def _people(
    table: PeopleTable, where: str, resolver: Resolver, name: str, schedule: FloatArray
) -> PeopleGain:
    if resolver.only_one(where, {"count": table.count, "use": table.use}) == "use" and table.use is not None:
        count = _count_by_use(table.use, where, resolver)
    else:
        count = resolver.number(f"{where}.count", table.count, default="gains.people.count")
    sensible, latent = _heat_of_a_person(table, where, resolver)
    return PeopleGain(name=name, count=count, sensible=sensible, latent=latent, schedule=schedule)


def _count_by_use(use: str, where: str, resolver: Resolver) -> float:
    uses = defaults_file()["uses"]
    if not known_word(resolver, f"{where}.use", use, uses) or "floor_area" not in resolver.scales:
        return PLACEHOLDER
    resolver.given(f"{where}.use", use, "count")
    density = parse(uses[use]["density"], "density")
    return resolver.helped(
        f"{where}.count",
        density * resolver.scales["floor_area"],
        low=None,
        high=None,
        source=f"people by floor area, {use}: ASHRAE 62.1-2019, table 6-1"
        + (", value from memory" if use in DENSITY_FROM_MEMORY else ""),
    )


def _heat_of_a_person(table: PeopleTable, where: str, resolver: Resolver) -> tuple[float, float]:
    both = (table.sensible, table.latent)
    if both != (None, None):
        if table.activity is not None:
            resolver.fault(f"{where}.activity", "activity beside sensible or latent", "one of the two ways")
        for name, given in (("sensible", table.sensible), ("latent", table.latent)):
            if given is None:
                resolver.missing(
                    f"{where}.{name}", f"{resolver.allowed(f'gains.people.{name}')}, of one person"
                )
        return (
            resolver.number(f"{where}.sensible", table.sensible or 0.0, dimension="power"),
            resolver.number(f"{where}.latent", table.latent or 0.0, dimension="power"),
        )
    activities = defaults_file()["activities"]
    activity = resolver.word(f"{where}.activity", table.activity, default="gains.people.activity")
    if not activity or not known_word(resolver, f"{where}.activity", activity, activities):
        return PLACEHOLDER, PLACEHOLDER
    source = f"activity {activity}: ASHRAE Handbook Fundamentals 2013, ch. 18, table 1"
    sensible, latent = (
        resolver.helped(
            f"{where}.{name}",
            parse(activities[activity][name], "power"),
            low=None,
            high=None,
            source=source,
            dimension="power",
        )
        for name in ("sensible", "latent")
    )
    return sensible, latent


def _water_surface(
    table: WaterSurfaceTable, where: str, resolver: Resolver, name: str, schedule: FloatArray
) -> WaterSurfaceGain:
    def number(key: str, given: float | None) -> float:
        return resolver.number(f"{where}.{key}", given, default=f"gains.water-surface.{key}")

    pools = defaults_file()["pools"]
    given = {"activity_factor": table.activity_factor, "pool": table.pool}
    if resolver.only_one(where, given) == "pool" and table.pool is not None:
        factor = PLACEHOLDER
        if known_word(resolver, f"{where}.pool", table.pool, pools):
            resolver.given(f"{where}.pool", table.pool, "count")
            source = f"pool {table.pool}: ASHRAE Handbook HVAC Applications 2019, ch. 6, value from memory"
            factor = resolver.helped(
                f"{where}.activity_factor", float(pools[table.pool]), low=None, high=None, source=source
            )
    else:
        factor = number("activity_factor", table.activity_factor)
    idle = number("idle_activity_factor", table.idle_activity_factor)
    return WaterSurfaceGain(
        name=name,
        area=number("area", table.area),
        water_temperature=number("water_temperature", table.water_temperature),
        activity_factor=factor,
        idle_activity_factor=min(idle, factor) if table.idle_activity_factor is None else idle,
        heat_from=_heat_from(table.heat_from, where, resolver, "water-surface"),
        schedule=schedule,
    )


def _plants(
    table: PlantsTable, where: str, resolver: Resolver, name: str, schedule: FloatArray
) -> PlantsGain:
    def number(key: str, given: float | None) -> float:
        return resolver.number(f"{where}.{key}", given, default=f"gains.plants.{key}")

    return PlantsGain(
        name=name,
        area=number("area", table.area),
        crop_coefficient=number("crop_coefficient", table.crop_coefficient),
        air_speed=number("air_speed", table.air_speed),
        light_transmission=number("light_transmission", table.light_transmission),
        lamp_power=number("lamp_power", table.lamp_power),
        heat_from=_heat_from(table.heat_from, where, resolver, "plants"),
        schedule=schedule,
    )
