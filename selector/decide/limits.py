"""What a design may not exceed, judged before any hour is simulated.

Each rule names the limit and says by how much it is broken, so that the same function refuses a design in the search
and explains it to a reader.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from selector.inputs.site import ARRANGEMENTS, Install, Site, Unit
from selector.inputs.site_limits import UNNAMED
from selector.money.first_cost import first_cost
from selector.physics.arrangements import COIL_BYPASS, OUTDOOR_AIR, RETURN_SIDE, STANDALONE, SUPPLY_SIDE
from selector.physics.prepare import Prepared

_HOURS = "hours above "


@dataclass(frozen=True, slots=True)
class BrokenLimit:
    """One limit that a design does not keep."""

    limit: str  # in words
    got: float
    allowed: float
    unit: str  # SI, or the site's currency


def hours_limit(target: str) -> str:
    """Name the limit on the hours above a humidity target.

    >>> hours_limit("classes"), hours_limit("humidity target")
    ('hours above "classes"', 'hours above the humidity target')

    Args: target, its name. Returns: the limit's name.
    """
    return f"{_HOURS}the {UNNAMED}" if target == UNNAMED else f'{_HOURS}"{target}"'


def target_of(limit: str) -> str | None:
    """Find the humidity target that a limit is on.

    >>> target_of('hours above "classes"'), target_of('hours above "classes" with 1 unit out')
    ('classes', None)

    Args: limit, its name. Returns: the target's name, None for a limit of another kind.
    """
    if limit == hours_limit(UNNAMED):
        return UNNAMED
    name = limit.removeprefix(_HOURS)
    return name[1:-1] if name != limit and name[0] == name[-1] == '"' else None


def stream_airflow(*, site: Site, arrangement: int) -> float:
    """Airflow of the stream that units of an arrangement tap, for all of them together.

    Args: site; arrangement, a code.
    Returns: airflow [m³/s]; infinite for the space itself; under `coil-bypass` what may leave the coil, too.
    """
    handler = site.air_handler
    if arrangement == STANDALONE:
        return float("inf")
    if handler is None:
        return 0.0
    back = handler.supply_airflow - handler.outdoor_airflow
    if arrangement == RETURN_SIDE:
        return back
    if arrangement == SUPPLY_SIDE:
        return handler.supply_airflow
    if arrangement == COIL_BYPASS:
        return min(back, handler.supply_airflow * (1.0 - handler.cooling_coil.minimum_airflow))
    assert arrangement == OUTDOOR_AIR
    return handler.outdoor_airflow


STREAM = {
    RETURN_SIDE: "airflow of the units against return air",
    SUPPLY_SIDE: "airflow of the units against supply air",
    COIL_BYPASS: "airflow around the coil",
    OUTDOOR_AIR: "airflow of the units against outdoor air",
}


def broken_by_unit(*, site: Site, unit: Unit) -> tuple[BrokenLimit, ...]:
    """Limits that a single unit breaks wherever it stands.

    Args: site; unit.
    Returns: supply voltage, phases, sound, weight and size, where they do not fit.
    """
    limits = site.limits
    broken: list[BrokenLimit] = []
    if limits.supply_voltage is not None and unit.voltage != limits.supply_voltage:
        broken.append(BrokenLimit("supply voltage", unit.voltage, limits.supply_voltage, "V"))
    if limits.phases is not None and unit.phases > limits.phases:
        broken.append(BrokenLimit("phases", unit.phases, limits.phases, ""))
    if limits.sound is not None and unit.sound > limits.sound:
        broken.append(BrokenLimit("sound", unit.sound, limits.sound, "dBA"))
    if limits.weight is not None and unit.weight > limits.weight:
        broken.append(BrokenLimit("weight of a unit", unit.weight, limits.weight, "kg"))
    for name, size, most in (
        ("length", unit.length, limits.length),
        ("width", unit.width, limits.width),
        ("height", unit.height, limits.height),
    ):
        if most is not None and size > most:
            broken.append(BrokenLimit(f"{name} of a unit", size, most, "m"))
    return tuple(broken)


def currents_of(*, site: Site, install: Sequence[Install]) -> tuple[tuple[float, float], ...]:
    """Current of a design at each voltage: what stands at several loads no one supply, and does not add up.

    Args: site; install.
    Returns: voltage [V] and current [A] of all units at it, lowest voltage first.
    """
    units = {unit.model: unit for unit in site.catalog.units}
    found: dict[float, float] = {}
    for part in install:
        unit = units[part.model]
        found[unit.voltage] = found.get(unit.voltage, 0.0) + part.count * unit.current
    return tuple(sorted(found.items()))


def broken_before_simulation(*, prepared: Prepared, install: tuple[Install, ...]) -> tuple[BrokenLimit, ...]:
    """Limits that a design breaks whatever the weather.

    Args: prepared; install, without the units that are there already.
    Returns: each limit once, in a fixed order; empty for a design that may be simulated.
    """
    site = prepared.site
    limits = site.limits
    rows = {unit.model: row for row, unit in enumerate(site.catalog.units)}
    present = [part for part in install if part.count > 0]
    everything = [*present, *(part for part in site.existing_units if part.count > 0)]
    broken: list[BrokenLimit] = []
    for model in dict.fromkeys(part.model for part in present):
        for one in broken_by_unit(site=site, unit=site.catalog.units[rows[model]]):
            if all(one.limit != other.limit for other in broken):
                broken.append(one)
    for code, name in enumerate(ARRANGEMENTS):
        here = [part for part in everything if part.arrangement == name]
        if not any(part.arrangement == name for part in present):
            continue
        if name not in limits.arrangements:
            broken.append(BrokenLimit(f"arrangements: {name} is not among them", 1.0, 0.0, ""))
        flow = 0.0
        for part in here:
            connection = prepared.connections[rows[part.model], code]
            flow += part.count * site.catalog.units[rows[part.model]].airflow * connection.flow_fraction
            if connection.flow_fraction <= 0.0:
                allowed = 2.0 * site.catalog.units[rows[part.model]].fan_static
                broken.append(BrokenLimit("static pressure on the unit", connection.static, allowed, "Pa"))
        room = stream_airflow(site=site, arrangement=code)
        if flow > room:
            broken.append(BrokenLimit(STREAM[code], flow, room, "m³/s"))
    count = sum(part.count for part in present)
    if count > limits.max_units:
        broken.append(BrokenLimit("number of units", count, limits.max_units, ""))
    per_model: dict[str, int] = {}
    for part in present:
        per_model[part.model] = per_model.get(part.model, 0) + part.count
    if per_model and max(per_model.values()) > limits.max_per_model:
        broken.append(BrokenLimit("units of one model", max(per_model.values()), limits.max_per_model, ""))
    if len(per_model) > limits.max_sizes:
        broken.append(BrokenLimit("models in one design", len(per_model), limits.max_sizes, ""))
    used = len({part.arrangement for part in present})
    if used > limits.max_arrangements:
        broken.append(BrokenLimit("arrangements in one design", used, limits.max_arrangements, ""))
    current = max((amperes for _, amperes in currents_of(site=site, install=present)), default=0.0)
    if limits.electrical_current is not None and current > limits.electrical_current:
        broken.append(BrokenLimit("electrical current", current, limits.electrical_current, "A"))
    cost = first_cost(site=site, install=install).total
    if limits.first_cost is not None and cost > limits.first_cost:
        broken.append(BrokenLimit("first cost", cost, limits.first_cost, site.costs.currency))
    return tuple(broken)
