"""The existing air handler and its cooling coil, with the helpers that stand in for single values."""

from __future__ import annotations

from selector.inputs.defaults import defaults_file, outdoor_air_rates
from selector.inputs.resolve import PLACEHOLDER, Resolver, checked, known_word
from selector.inputs.schema import AirHandlerTable, CoolingCoilTable
from selector.inputs.site import AirHandler, CoolingCoil, FloatArray, Heating

_SMALLEST_DIFFERENCE = 5.0  # K between outdoor and return air, below which a mixed temperature tells nothing
_READING_ERROR = (
    0.5  # K, of a mixed-air temperature that is read in several places: common practice, no source
)


def supply_and_outdoor(
    *, table: AirHandlerTable, resolver: Resolver, people: float, floor_area: float | None
) -> tuple[float, float]:
    """Find the supply airflow and the outdoor airflow, which other values are measured by.

    Args: table; resolver; people, the number that the gains count; floor_area [m²].
    Returns: supply and outdoor airflow [m³/s].
    """
    supply = resolver.number("air_handler.supply_airflow", table.supply_airflow)
    if table.supply_airflow is not None:
        resolver.scales["supply_airflow"] = supply
    given = {
        "outdoor_air_fraction": table.outdoor_air_fraction,
        "outdoor_airflow": table.outdoor_airflow,
        "measured_temperatures": table.measured_temperatures,
        "ventilation_use": table.ventilation_use,
    }
    chosen = resolver.only_one("air_handler", given)
    where = "air_handler.outdoor_air_fraction"
    if chosen == "outdoor_airflow" and table.outdoor_airflow is not None:
        outdoor = resolver.number("air_handler.outdoor_airflow", table.outdoor_airflow)
    elif chosen == "measured_temperatures":
        outdoor = supply * _measured_fraction(table, resolver)
    elif chosen == "ventilation_use" and table.ventilation_use is not None:
        outdoor = _standard_airflow(table, resolver, people, floor_area)
    elif chosen is None:
        if not any(resolver.is_broken(f"air_handler.{name}") for name in given):
            resolver.missing(where, f"{resolver.allowed(where)}; or {', '.join(list(given)[1:])}")
        outdoor = PLACEHOLDER
    else:
        outdoor = supply * resolver.number(where, table.outdoor_air_fraction)
    if table.supply_airflow is not None and chosen is not None:
        if outdoor > supply * (1.0 + 1e-9):
            resolver.fault(
                f"air_handler.{chosen}",
                f"{outdoor:.4g} m3/s of outdoor air",
                f"at most the supply airflow, {supply:.4g} m3/s",
            )
        resolver.scales["outdoor_airflow"] = outdoor
    return supply, outdoor


def build_air_handler(
    *,
    table: AirHandlerTable,
    resolver: Resolver,
    supply_airflow: float,
    outdoor_airflow: float,
    ventilation: FloatArray,
    heating: Heating,
) -> AirHandler:
    """Build the air handler.

    Args: table; resolver; supply_airflow, outdoor_airflow [m³/s]; ventilation (8760,) 0 to 1; heating.
    Returns: the air handler in SI.
    """
    at = "air_handler"
    economizer = resolver.word(f"{at}.economizer", table.economizer)
    for kind, name in (("dry-bulb", "economizer_dry_bulb"), ("enthalpy", "economizer_enthalpy")):
        if getattr(table, name) is not None and economizer not in (kind, ""):
            resolver.fault(f"{at}.{name}", "a limit", f'nothing, as {at}.economizer is "{economizer}"')
    fan_power = resolver.number(f"{at}.fan_power", table.fan_power)
    return AirHandler(
        supply_airflow=supply_airflow,
        outdoor_airflow=outdoor_airflow,
        ventilation=ventilation,
        unoccupied_fan=checked(resolver.word(f"{at}.unoccupied_fan", table.unoccupied_fan)),
        damper_leakage=resolver.number(f"{at}.damper_leakage", table.damper_leakage),
        economizer=checked(economizer),
        economizer_dry_bulb=(
            resolver.number(f"{at}.economizer_dry_bulb", table.economizer_dry_bulb)
            if economizer == "dry-bulb"
            else 0.0
        ),
        economizer_enthalpy=(
            resolver.number(f"{at}.economizer_enthalpy", table.economizer_enthalpy)
            if economizer == "enthalpy"
            else 0.0
        ),
        fan_power=fan_power,
        fan_position=checked(resolver.word(f"{at}.fan_position", table.fan_position)),
        external_static_pressure=resolver.number(
            f"{at}.external_static_pressure", table.external_static_pressure
        ),
        heating_temperature_rise=resolver.number(
            f"{at}.heating_temperature_rise", table.heating_temperature_rise
        ),
        cooling_coil=_coil(table.cooling_coil or CoolingCoilTable(), resolver, fan_power),
        heating=heating,
    )


def _measured_fraction(table: AirHandlerTable, resolver: Resolver) -> float:
    """Outdoor share of the supply air from three dry bulbs: a balance of sensible heat on the mixing box."""
    measured = table.measured_temperatures
    assert measured is not None
    at = "air_handler.measured_temperatures"
    outdoor = resolver.number(f"{at}.outdoor", measured.outdoor)
    back = resolver.number(f"{at}.return_air", measured.return_air)
    mixed = resolver.number(f"{at}.mixed", measured.mixed)
    if measured.outdoor is None or measured.return_air is None or measured.mixed is None:
        return PLACEHOLDER
    if abs(outdoor - back) < _SMALLEST_DIFFERENCE:
        resolver.fault(
            at,
            f"outdoor and return air only {abs(outdoor - back):.1f} K apart",
            f"at least {_SMALLEST_DIFFERENCE:.0f} K apart: measure in colder or hotter weather",
        )
        return PLACEHOLDER
    fraction = (back - mixed) / (back - outdoor)
    if not 0.0 <= fraction <= 1.0:
        resolver.fault(at, f"mixed air of {mixed:.1f} degC", "a temperature between outdoor and return air")
        return PLACEHOLDER
    error = _READING_ERROR / abs(back - outdoor)
    return resolver.helped(
        "air_handler.outdoor_air_fraction",
        fraction,
        low=max(fraction - error, 0.0),
        high=min(fraction + error, 1.0),
        source="three measured temperatures: heat balance of the mixing box, mixed air read to 0.5 K",
    )


def _standard_airflow(
    table: AirHandlerTable, resolver: Resolver, people: float, floor_area: float | None
) -> float:
    """Outdoor airflow by people and floor area: ASHRAE 62.1, ventilation rate procedure, eq. 6-1 and 6-2."""
    use = table.ventilation_use or ""
    uses = defaults_file()["uses"]
    if not known_word(resolver, "air_handler.ventilation_use", use, uses):
        return PLACEHOLDER
    if floor_area is None:
        return PLACEHOLDER
    effectiveness = resolver.number("air_handler.ventilation_effectiveness", table.ventilation_effectiveness)
    inch_pound, si = (
        (people * by_person + floor_area * by_area) / effectiveness
        for by_person, by_area in outdoor_air_rates(use=use)
    )
    resolver.given("air_handler.ventilation_use", use, "count")
    return resolver.helped(
        "air_handler.outdoor_airflow",
        inch_pound,
        low=min(inch_pound, si),
        high=max(inch_pound, si),
        source=f"ASHRAE 62.1-2019, 6.2 and table 6-1, {use}, {people:.0f} people, by its inch-pound rates; by its "
        f"SI rates {si * 1000.0:.4g} L/s",
    )


def _coil(table: CoolingCoilTable, resolver: Resolver, fan_power: float) -> CoolingCoil:
    at = "air_handler.cooling_coil"
    kind = resolver.word(f"{at}.kind", table.kind)
    capacity = resolver.number(f"{at}.total_capacity", table.total_capacity)
    given = {"sensible_heat_ratio": table.sensible_heat_ratio, "bypass_factor": table.bypass_factor}
    bypass: float | None = None
    ratio: float | None = None
    if resolver.only_one(at, given) == "sensible_heat_ratio":
        ratio = resolver.number(f"{at}.sensible_heat_ratio", table.sensible_heat_ratio)
    else:
        bypass = resolver.number(f"{at}.bypass_factor", table.bypass_factor)
    chilled = kind == "modulating-chilled-water"
    unused = ("stages", "capacity_per_surface", "capacity_per_outdoor") if chilled else ("water_temperature",)
    for name in unused:
        if getattr(table, name) is not None:
            resolver.fault(f"{at}.{name}", "a value", f'nothing, as {at}.kind is "{kind}"')

    def law(name: str) -> float:
        return 0.0 if chilled else resolver.number(f"{at}.{name}", getattr(table, name))

    return CoolingCoil(
        kind=checked(kind),
        total_capacity=capacity,
        sensible_heat_ratio=ratio,
        bypass_factor=bypass,
        cop=_cop(table, resolver, capacity, fan_power),
        stages=1 if chilled else int(resolver.number(f"{at}.stages", table.stages)),
        airside_pressure_drop=resolver.number(f"{at}.airside_pressure_drop", table.airside_pressure_drop),
        water_temperature=(
            resolver.number(f"{at}.water_temperature", table.water_temperature) if chilled else 0.0
        ),
        capacity_per_surface=law("capacity_per_surface"),
        capacity_per_outdoor=law("capacity_per_outdoor"),
        cop_per_surface=resolver.number(f"{at}.cop_per_surface", table.cop_per_surface),
        cop_per_outdoor=resolver.number(f"{at}.cop_per_outdoor", table.cop_per_outdoor),
        lowest_outdoor=resolver.number(f"{at}.lowest_outdoor", table.lowest_outdoor),
        cycling_loss=resolver.number(f"{at}.cycling_loss", table.cycling_loss),
        wetting_time=resolver.number(f"{at}.wetting_time", table.wetting_time),
        evaporation_ratio=resolver.number(f"{at}.evaporation_ratio", table.evaporation_ratio),
        cycling_rate=resolver.number(f"{at}.cycling_rate", table.cycling_rate),
        time_constant=resolver.number(f"{at}.time_constant", table.time_constant),
        minimum_airflow=resolver.number(f"{at}.minimum_airflow", table.minimum_airflow),
    )


def _cop(table: CoolingCoilTable, resolver: Resolver, capacity: float, fan_power: float) -> float:
    """COP without the fan, given or worked out from a nameplate."""
    at = "air_handler.cooling_coil"
    given = {"cop": table.cop, "eer": table.eer, "kw_per_ton": table.kw_per_ton}
    chosen = resolver.only_one(at, given)
    if chosen == "eer" and table.eer is not None and table.total_capacity is not None:
        # A nameplate's EER counts the fan twice: in its power, and off its net capacity.
        net = capacity - fan_power
        without_fan = net / table.eer - fan_power
        resolver.given(f"{at}.eer", table.eer, "energy_efficiency_ratio")
        if net <= 0.0 or without_fan <= 0.0:
            resolver.fault(
                f"{at}.eer",
                f"an EER that leaves {without_fan / 1000:.1f} kW for the compressors",
                f"one that fits {capacity / 1000:.0f} kW of gross capacity and {fan_power / 1000:.1f} kW of fan",
            )
            return PLACEHOLDER
        source = "nameplate EER: net capacity over power with the fan, at 95 °F outdoors (AHRI 340/360)"
        return resolver.helped(f"{at}.cop", capacity / without_fan, low=None, high=None, source=source)
    if chosen == "kw_per_ton" and table.kw_per_ton is not None:
        resolver.given(f"{at}.kw_per_ton", table.kw_per_ton, "power_per_cooling")
        source = "kW by ton of the compressor or chiller, without the fan"
        return resolver.helped(f"{at}.cop", 1.0 / table.kw_per_ton, low=None, high=None, source=source)
    return resolver.number(f"{at}.cop", table.cop)
