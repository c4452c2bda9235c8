"""Humidity targets, costs, limits and the units that stand there already."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from selector.inputs.fields import closest
from selector.inputs.resolve import PLACEHOLDER, Resolver, checked
from selector.inputs.schema import (
    CostsTable,
    ExistingUnitsTable,
    HumidityTargetTable,
    LimitsTable,
)
from selector.inputs.schema_faults import key_of
from selector.inputs.site import (
    ARRANGEMENTS,
    Arrangement,
    Catalog,
    Costs,
    HumidityTarget,
    Install,
    Limits,
)
from selector.inputs.site_installation import build_installation
from selector.inputs.site_schedules import Schedules
from selector.inputs.site_tariff import build_energy_prices

UNNAMED = "humidity target"  # what the one target is called where the file gives it no name
WITHOUT_AIR_HANDLER: tuple[Arrangement, ...] = ("standalone",)


def build_targets(
    *,
    tables: Sequence[HumidityTargetTable] | None,
    resolver: Resolver,
    schedules: Schedules,
    single: bool,
) -> tuple[HumidityTarget, ...]:
    """Build the humidity targets.

    Args: tables; resolver; schedules; single, whether the file has one [humidity_target] without a list.
    Returns: the targets, limits as a fraction or in °C.
    """
    if not tables:
        resolver.missing("humidity_target", "a table with relative_humidity or dew_point")
        return ()
    targets: list[HumidityTarget] = []
    for place, table in enumerate(tables):
        where = key_of(("humidity_target", place), single_target=single)
        if resolver.is_broken(where) and not table.model_fields_set:
            continue
        name = table.name or (UNNAMED if len(tables) == 1 else f"{UNNAMED} {place + 1}")
        if name in [target.name for target in targets]:
            resolver.fault(f"{where}.name", f'"{name}" a second time', "a name of its own for each target")
        targets.append(_target(table, where, name, resolver, schedules))
    return tuple(targets)


def _target(
    table: HumidityTargetTable, where: str, name: str, resolver: Resolver, schedules: Schedules
) -> HumidityTarget:
    given = {"relative_humidity": table.relative_humidity, "dew_point": table.dew_point}
    chosen = resolver.only_one(where, given)
    if chosen is None and not any(resolver.is_broken(f"{where}.{each}") for each in given):
        resolver.missing(where, "relative_humidity or dew_point")
    dew = chosen == "dew_point"
    limit = PLACEHOLDER
    if chosen is not None:
        limit = resolver.number(f"{where}.{chosen}", given[chosen], default=f"humidity_target.{chosen}")
    dimension = "temperature_difference" if dew else "percent"
    given_band: float | None = None
    if table.band is not None and chosen is not None:
        if table.band[0] != dimension:
            allowed = "a temperature difference, as the limit is a dew point" if dew else "a share, as 3 %"
            resolver.fault(f"{where}.band", "a band of the other kind", allowed)
        else:
            given_band = table.band[1]
    band = resolver.number(
        f"{where}.band", given_band, default=f"humidity_target.band.{chosen or 'dew_point'}"
    )
    if not dew and chosen is not None and band >= limit:
        resolver.fault(f"{where}.band", f"{band:.2f}", f"below the limit itself, {limit:.2f}")
    hours = resolver.word(f"{where}.hours", table.hours, default="humidity_target.hours")
    return HumidityTarget(
        name=name,
        kind="dew-point" if dew else "relative-humidity",
        limit=limit,
        band=band,
        hours=schedules.hours(hours, where=f"{where}.hours"),
        allowed_hours_above=resolver.number(
            f"{where}.allowed_hours_above",
            table.allowed_hours_above,
            default="humidity_target.allowed_hours_above",
        ),
    )


def build_costs(
    *,
    table: CostsTable,
    resolver: Resolver,
    arrangements: Sequence[Arrangement],
    has_air_handler: bool,
    schedules: Schedules,
    folder: Path,
    catalog: str | None,
) -> Costs:
    """Build prices and economics.

    Args: table; resolver; arrangements, those whose installation has to be known; has_air_handler; schedules, of the
        other load; folder of the site file; catalog, the catalogue's folder as the site names it.
    Returns: costs in the site's currency, energy by J, rates real.
    """
    given = table.installation or {}
    for name in given:
        if name not in ARRANGEMENTS:
            resolver.fault(
                f"costs.installation.{name}", "a key that is not known", closest(name, ARRANGEMENTS)
            )
    period = resolver.number("costs.study_period", table.study_period)
    if period != round(period):
        resolver.fault("costs.study_period", f"{period:g} year", "whole years")
    energy = build_energy_prices(table=table, resolver=resolver, schedules=schedules)
    nominal = resolver.word("costs.discount_rate_kind", table.discount_rate_kind) == "nominal"
    inflation = 0.0
    if nominal or table.inflation is not None:
        inflation = resolver.number("costs.inflation", table.inflation)

    def rate(name: str) -> float:
        """Real rate; what the file gives is nominal where it says so, a default is real."""
        value: float | None = getattr(table, name)
        used = resolver.number(f"costs.{name}", value)
        return real_rate(nominal=used, inflation=inflation) if nominal and value is not None else used

    work = build_installation(
        table=table,
        resolver=resolver,
        arrangements=arrangements,
        possible=ARRANGEMENTS if has_air_handler else WITHOUT_AIR_HANDLER,
        folder=folder,
        catalog=catalog,
    )
    return Costs(
        currency=resolver.currency,
        electricity=energy.electricity,
        gas=energy.gas,
        discount_rate=rate("discount_rate"),
        study_period=round(period),
        electricity_escalation=rate("electricity_escalation"),
        gas_escalation=rate("gas_escalation"),
        installation=work.installation,
        tariff=energy.tariff,
        other_load=energy.other_load,
        carbon_electricity=energy.carbon_electricity,
        carbon_gas=energy.carbon_gas,
        carbon_price=energy.carbon_price,
        price_book=work.price_book,
        location_factor=work.location_factor,
        inflation=inflation,
        discount_rate_kind="nominal" if nominal else "real",
    )


def real_rate(*, nominal: float, inflation: float) -> float:
    """Turn a rate of growth in each year's own money into one in today's money.

    Args: nominal [1/year], discount rate or escalation; inflation [1/year], general.
    Returns: real rate [1/year].
    Source: ASTM E917; NIST Handbook 135: (1 + D) / (1 + I) - 1.
    """
    return (1.0 + nominal) / (1.0 + inflation) - 1.0


def build_limits(*, table: LimitsTable, resolver: Resolver, has_air_handler: bool) -> Limits:
    """Build the limits of a design.

    Args: table; resolver; has_air_handler: without one, only arrangements that need none are left.
    Returns: limits in SI, None where the site sets none.
    """
    arrangements = _arrangements(table, resolver, has_air_handler)

    def whole(name: str) -> int:
        return int(resolver.number(f"limits.{name}", getattr(table, name)))

    max_units = whole("max_units")
    resolver.scales["max_units"] = max_units
    if table.phases == 2:
        resolver.fault("limits.phases", "2", "1 or 3")
    return Limits(
        arrangements=arrangements,
        max_units=max_units,
        max_per_model=whole("max_per_model"),
        max_sizes=whole("max_sizes"),
        max_arrangements=whole("max_arrangements"),
        spare_units=whole("spare_units"),
        extra_hours_too_warm=resolver.number("limits.extra_hours_too_warm", table.extra_hours_too_warm),
        first_cost=resolver.optional("limits.first_cost", table.first_cost),
        supply_voltage=resolver.optional("limits.supply_voltage", table.supply_voltage),
        phases=table.phases if resolver.optional("limits.phases", table.phases) is not None else None,
        electrical_current=resolver.optional("limits.electrical_current", table.electrical_current),
        sound=resolver.optional("limits.sound", table.sound),
        weight=resolver.optional("limits.weight", table.weight),
        length=resolver.optional("limits.length", table.length),
        width=resolver.optional("limits.width", table.width),
        height=resolver.optional("limits.height", table.height),
        work_years=resolver.number("limits.work_years", table.work_years),
        options=table.options == "yes",
    )


def _arrangements(table: LimitsTable, resolver: Resolver, has_air_handler: bool) -> tuple[Arrangement, ...]:
    where = "limits.arrangements"
    possible = ARRANGEMENTS if has_air_handler else WITHOUT_AIR_HANDLER
    if table.arrangements is None:
        if not resolver.is_broken(where):
            resolver.word(where, None)
        return possible
    given = tuple(table.arrangements)
    if not given:
        resolver.fault(where, "an empty list", f"at least one of {', '.join(possible)}")
    for place, name in enumerate(given):
        if name in given[:place]:
            resolver.fault(f"{where}[{place}]", f'"{name}" a second time', "each arrangement once")
        if name not in possible:
            resolver.fault(f"{where}[{place}]", f'"{name}" without an [air_handler]', ", ".join(possible))
    resolver.given(where, ", ".join(given), "count")
    return tuple(checked(name) for name in given)


def build_existing(
    *,
    tables: Sequence[ExistingUnitsTable] | None,
    resolver: Resolver,
    catalog: Catalog | None,
    has_air_handler: bool,
) -> tuple[Install, ...]:
    """Build the list of dehumidifiers that are there already.

    Args: tables; resolver; catalog, None where it was refused; has_air_handler.
    Returns: models of the catalogue with their arrangement and count.
    """
    found = []
    for place, table in enumerate(tables or ()):
        where = f"existing_units[{place}]"
        if resolver.is_broken(where) and not table.model_fields_set:
            continue
        model, arrangement, count = table.model, table.arrangement, table.count
        if model is None:
            resolver.missing(f"{where}.model", "a model of the catalogue")
        elif catalog is not None and model not in (names := [unit.model for unit in catalog.units]):
            resolver.fault(
                f"{where}.model", f'"{model}"', f"a model of the catalogue: {closest(model, names)}"
            )
        if arrangement is None:
            resolver.missing(f"{where}.arrangement", resolver.allowed("existing_units.arrangement"))
        elif arrangement not in WITHOUT_AIR_HANDLER and not has_air_handler:
            resolver.fault(
                f"{where}.arrangement",
                f'"{arrangement}" without an [air_handler]',
                ", ".join(WITHOUT_AIR_HANDLER),
            )
        if count is None:
            resolver.missing(f"{where}.count", resolver.allowed("existing_units.count"))
        if model is not None and arrangement is not None and count is not None:
            found.append(Install(model, checked(arrangement), count))
    return tuple(found)
