"""What a sweep can vary, and how a value enters a site: everything that is not varied stays as it was read.

A varied site is the same site with one or two values changed, not the file read again: what the file's reader worked
out from the old value (an exhaust airflow by share of the outdoor air, a heat loss from gas bills) is held.
Units: SI, airflows m³/s, rates 1/s, prices currency/J, shares 0 to 1 or more, temperatures °C.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from selector.inputs.site import (
    Assumption,
    Gain,
    HeatGain,
    HumidityTarget,
    MoistureGain,
    PeopleGain,
    Site,
    Weather,
)
from selector.inputs.site_gains import count_people
from selector.inputs.site_limits import real_rate
from selector.inputs.units import SI_SYMBOLS

Name = Literal[
    "outdoor-air-fraction",
    "outdoor-airflow",
    "outdoor-air-per-person",
    "outdoor-air-per-area",
    "electricity-price",
    "gas-price",
    "discount-rate",
    "humidity-limit",
    "infiltration",
    "gains",
    "moisture-buffer",
    "unit-price",
    "weather-file",
]
OUTDOOR = ("outdoor-air-fraction", "outdoor-airflow", "outdoor-air-per-person", "outdoor-air-per-area")
STANDARD = ("outdoor-air-per-person", "outdoor-air-per-area")  # the two rates of the ventilation standard
PRICES = (
    "electricity-price",
    "gas-price",
    "discount-rate",
    "unit-price",
)  # the year's physics stays as it is
OUTDOOR_KEYS = ("outdoor_air_fraction", "outdoor_airflow", "ventilation_use", "ventilation_effectiveness")
SOURCE = "varied by the sweep"


@dataclass(frozen=True, slots=True)
class Parameter:
    """One thing that can be varied."""

    name: Name
    words: str  # what it is
    key: str  # in the site file; "" where no single key holds it
    dimension: str  # as the inputs name it; "" for files
    held: tuple[str, ...]  # what somebody might expect to move with it, and does not
    step_ip: tuple[float, str]  # SI amount that a marginal cost is shown for, and that amount in words
    step_si: tuple[float, str]


_AIR = ("supply airflow", "exhaust airflow", "infiltration and heat loss of the envelope")
_POINT = (0.01, "1 % of supply air")
_SHARE = (0.01, "1 % of today's")
PARAMETERS: tuple[Parameter, ...] = (
    Parameter("outdoor-air-fraction", "outdoor air, share of supply air", "air_handler.outdoor_air_fraction",
              "fraction", _AIR, _POINT, _POINT),
    Parameter("outdoor-airflow", "outdoor airflow", "air_handler.outdoor_airflow", "airflow", _AIR,
              (100.0 * 0.3048**3 / 60.0, "100 cfm"), (0.05, "50 L/s")),
    Parameter("outdoor-air-per-person", "outdoor air a person, by the ventilation standard", "", "airflow",
              (*_AIR, "outdoor air by floor area"), (0.3048**3 / 60.0, "1 cfm a person"),
              (0.001, "1 L/s a person")),
    Parameter("outdoor-air-per-area", "outdoor air by floor area, by the ventilation standard", "",
              "airflow_per_area", (*_AIR, "outdoor air a person"), (0.01 * 0.3048 / 60.0, "0.01 cfm/ft2"),
              (0.0001, "0.1 L/(s*m2)")),
    Parameter("electricity-price", "price of electricity", "costs.electricity", "energy_price",
              ("price of gas", "escalation"), (0.01 / 3.6e6, "0.01/kWh"), (0.01 / 3.6e6, "0.01/kWh")),
    Parameter("gas-price", "price of gas", "costs.gas", "gas_price", ("price of electricity", "escalation"),
              (0.1 / 1.05505585262e8, "0.10/therm"), (0.01 / 3.6e6, "0.01/kWh")),
    Parameter("discount-rate", "discount rate", "costs.discount_rate", "percent",
              ("study period", "escalation of energy prices"), (0.01, "1 % a year"), (0.01, "1 % a year")),
    Parameter("humidity-limit", "humidity limit", "", "", ("the humidistat's band below it", "hours allowed above"),
              (0.01, "1 %"), (0.01, "1 %")),
    Parameter("infiltration", "infiltration", "space.infiltration", "rate", ("heat loss of the envelope",),
              (0.1 / 3600.0, "0.1 1/h"), (0.1 / 3600.0, "0.1 1/h")),
    Parameter("gains", "internal gains, of today's", "", "percent",
              ("outdoor airflow, also where it was sized by people", "schedules"), _SHARE, _SHARE),
    Parameter("moisture-buffer", "moisture buffer, multiples of the air's own", "space.moisture_buffer", "count",
              ("thermal mass",), (1.0, "1"), (1.0, "1")),
    Parameter("unit-price", "price of new units, of today's", "", "percent",
              ("installation", "maintenance", "service life"), _SHARE, _SHARE),
    Parameter("weather-file", "weather", "weather.file", "",
              ("calendar and schedules", "heat loss of the envelope", "supply and outdoor airflow"), (1.0, ""),
              (1.0, "")),
)  # fmt: skip
BY_NAME: Mapping[str, Parameter] = {one.name: one for one in PARAMETERS}
DEW_POINT_STEP = ((1.0 / 1.8, "1 degF"), (1.0, "1 K"))


@dataclass(frozen=True, slots=True, eq=False)
class Variation:
    """One parameter and the values that it takes."""

    parameter: Parameter
    of: str  # the humidity target, or the use in the ventilation standard's table; "" where there is nothing to name
    dimension: str  # of the values, "" for files
    values: tuple[float, ...]  # SI, rising; the files' places
    held_rate: float = 0.0  # the ventilation standard's other rate: m³/s a person, or m³/s by m²
    files: tuple[str, ...] = ()
    weathers: tuple[Weather, ...] = ()

    @property
    def is_continuous(self) -> bool:
        """Whether there is something between two values."""
        return not self.files


def target_of(*, site: Site, name: str) -> HumidityTarget:
    """Find a humidity target.

    Args: site; name, of one of its targets.
    Returns: the target.
    """
    return next(target for target in site.targets if target.name == name)


def effectiveness(site: Site) -> float:
    """Ventilation effectiveness of the site, 1 where it does not say.

    Args: site. Returns: fraction, as ASHRAE 62.1 names it (Ez).
    """
    for one in site.assumptions:
        if one.key == "air_handler.ventilation_effectiveness":
            return float(one.value)
    return 1.0


def standard_airflow(*, site: Site, per_person: float, per_area: float) -> float:
    """Outdoor airflow by people and floor area.

    Args: site; per_person [m³/s]; per_area [m³/s by m²].
    Returns: outdoor airflow [m³/s].
    Source: ASHRAE 62.1-2019, eq. 6-1 and 6-2.
    """
    space = count_people(site.gains) * per_person + site.space.floor_area * per_area
    return space / effectiveness(site)


def today(*, site: Site, variation: Variation) -> float | None:
    """The value that the site has now.

    Args: site, as read; variation.
    Returns: SI; None for weather files.
    """
    costs, handler = site.costs, site.air_handler
    name = variation.parameter.name
    if name in OUTDOOR:
        assert handler is not None  # checked where the variation was read
        if name == "outdoor-air-fraction":
            return handler.outdoor_airflow / handler.supply_airflow
        if name == "outdoor-airflow":
            return handler.outdoor_airflow
        total = handler.outdoor_airflow * effectiveness(site)
        people, area = count_people(site.gains), site.space.floor_area
        if name == "outdoor-air-per-person":
            return (total - area * variation.held_rate) / people
        return (total - people * variation.held_rate) / area
    if name == "humidity-limit":
        return target_of(site=site, name=variation.of).limit
    simple: dict[str, float] = {
        "electricity-price": costs.electricity,
        "gas-price": costs.gas,
        "discount-rate": _as_written(site),
        "infiltration": site.space.infiltration,
        "moisture-buffer": site.space.moisture_buffer,
        "gains": 1.0,
        "unit-price": 1.0,
    }
    return simple.get(name)


def _as_written(site: Site) -> float:
    """The discount rate in the kind of rate that the site file gives."""
    costs = site.costs
    if costs.discount_rate_kind == "real":
        return costs.discount_rate
    return (1.0 + costs.discount_rate) * (1.0 + costs.inflation) - 1.0


def changed_site(*, site: Site, settings: Sequence[tuple[Variation, float]]) -> Site:
    """The same site with one or two values changed.

    Args: site, as read; settings, variations of different parameters with the value of each [SI].
    Returns: the site; its record of assumptions names what was changed.
    """
    outdoor = [(one, value) for one, value in settings if one.parameter.name in OUTDOOR]
    result = _with_outdoor_air(site, outdoor) if outdoor else site
    for variation, value in settings:
        if variation.parameter.name not in OUTDOOR:
            result = _CHANGES[variation.parameter.name](result, variation, value)
    return result


def _with_outdoor_air(site: Site, settings: Sequence[tuple[Variation, float]]) -> Site:
    handler = site.air_handler
    assert handler is not None  # checked where the variation was read
    variation, value = settings[0]
    name = variation.parameter.name
    if name == "outdoor-air-fraction":
        airflow = value * handler.supply_airflow
    elif name == "outdoor-airflow":
        airflow = value
    else:
        rates = {one.parameter.name: each for one, each in settings}
        other = variation.held_rate
        airflow = standard_airflow(
            site=site,
            per_person=rates.get("outdoor-air-per-person", other),
            per_area=rates.get("outdoor-air-per-area", other),
        )
    key, shown = (
        ("outdoor_air_fraction", value) if name == "outdoor-air-fraction" else ("outdoor_airflow", airflow)
    )
    dimension = "fraction" if name == "outdoor-air-fraction" else "airflow"
    dropped = tuple(f"air_handler.{one}" for one in OUTDOOR_KEYS if one != "ventilation_effectiveness")
    kept = tuple(
        one
        for one in site.assumptions
        if one.key not in dropped and not one.key.startswith("air_handler.measured_temperatures")
    )
    result = replace(site, air_handler=replace(handler, outdoor_airflow=airflow), assumptions=kept)
    return _noted(result, f"air_handler.{key}", shown, SI_SYMBOLS[dimension])


def _noted(site: Site, key: str, value: float | str, unit: str) -> Site:
    """Write a varied value into the record of assumptions, in its place or at the end."""
    entry = Assumption(key, value, unit, None, None, "given", SOURCE, "")
    if any(one.key == key for one in site.assumptions):
        entries = tuple(entry if one.key == key else one for one in site.assumptions)
    else:
        entries = (*site.assumptions, entry)
    return replace(site, assumptions=entries)


def _electricity(site: Site, variation: Variation, value: float) -> Site:
    changed = replace(site, costs=replace(site.costs, electricity=value))
    return _noted(changed, "costs.electricity", value, f"{site.costs.currency}/J")


def _gas(site: Site, variation: Variation, value: float) -> Site:
    changed = replace(site, costs=replace(site.costs, gas=value))
    return _noted(changed, "costs.gas", value, f"{site.costs.currency}/J")


def _discount(site: Site, variation: Variation, value: float) -> Site:
    costs = site.costs
    nominal = costs.discount_rate_kind == "nominal"
    rate = real_rate(nominal=value, inflation=costs.inflation) if nominal else value
    return _noted(
        replace(site, costs=replace(costs, discount_rate=rate)),
        "costs.discount_rate",
        value,
        SI_SYMBOLS["percent"],
    )


def _limit(site: Site, variation: Variation, value: float) -> Site:
    targets = tuple(
        replace(target, limit=value) if target.name == variation.of else target for target in site.targets
    )
    place = next(at for at, target in enumerate(site.targets) if target.name == variation.of)
    name = "dew_point" if targets[place].kind == "dew-point" else "relative_humidity"
    single = f"humidity_target.{name}"
    key = single if any(one.key == single for one in site.assumptions) else f"humidity_target[{place}].{name}"
    dimension = "temperature" if name == "dew_point" else "fraction"
    return _noted(replace(site, targets=targets), key, value, SI_SYMBOLS[dimension])


def _infiltration(site: Site, variation: Variation, value: float) -> Site:
    changed = replace(site, space=replace(site.space, infiltration=value))
    return _noted(changed, "space.infiltration", value, SI_SYMBOLS["rate"])


def _buffer(site: Site, variation: Variation, value: float) -> Site:
    changed = replace(site, space=replace(site.space, moisture_buffer=value))
    return _noted(changed, "space.moisture_buffer", value, "")


def _gains(site: Site, variation: Variation, value: float) -> Site:
    changed = replace(site, gains=tuple(_scaled(gain, value) for gain in site.gains))
    return _noted(changed, "gains (of those in the site file)", value, "")


def _scaled(gain: Gain, factor: float) -> Gain:
    if isinstance(gain, PeopleGain):
        return replace(gain, count=factor * gain.count)
    if isinstance(gain, MoistureGain):
        return replace(gain, rate=factor * gain.rate)
    if isinstance(gain, HeatGain):
        return replace(gain, power=factor * gain.power)
    return replace(gain, area=factor * gain.area)


def _unit_price(site: Site, variation: Variation, value: float) -> Site:
    units = tuple(replace(unit, price=value * unit.price) for unit in site.catalog.units)
    changed = replace(site, catalog=replace(site.catalog, units=units))
    return _noted(changed, "unit prices (of those in the catalogue)", value, "")


def _weather(site: Site, variation: Variation, value: float) -> Site:
    place = round(value)
    weather = variation.weathers[place]
    changed = replace(site, weather=weather, notes=(*weather.notes, *site.notes[len(site.weather.notes) :]))
    return _noted(changed, "weather.file", variation.files[place], "")


_CHANGES: Mapping[str, Callable[[Site, Variation, float], Site]] = {
    "electricity-price": _electricity,
    "gas-price": _gas,
    "discount-rate": _discount,
    "humidity-limit": _limit,
    "infiltration": _infiltration,
    "moisture-buffer": _buffer,
    "gains": _gains,
    "unit-price": _unit_price,
    "weather-file": _weather,
}
