"""Reads what `rate` is asked: a model of a catalogue and the air that enters it."""

from __future__ import annotations

from dataclasses import dataclass

from selector.inputs.errors import Faults
from selector.inputs.fields import closest
from selector.inputs.quantities import QuantityError, parse
from selector.inputs.site import Catalog, Unit

# what psychrometrics and machines are asked within: °C, fraction, Pa
_BOUNDS = {
    "dry_bulb": ("temperature", -50.0, 80.0, "from -58 to 176 degF (-50 to 80 degC)"),
    "relative_humidity": ("fraction", 0.01, 1.0, "from 1 to 100 %"),
    "pressure": ("pressure", 50e3, 110e3, "from 50 to 110 kPa"),
}


@dataclass(frozen=True, slots=True)
class Condition:
    """Air that enters a unit, and outdoor air for its reactivation."""

    dry_bulb: float  # °C
    relative_humidity: float  # 0 to 1
    pressure: float  # Pa
    outdoor_dry_bulb: float  # °C
    outdoor_relative_humidity: float  # 0 to 1


def find_unit(*, catalog: Catalog, model: str) -> Unit:
    """Find a model.

    Args: catalog; model, as written.
    Returns: the unit. Raises: InputFaults, with the nearest models.
    """
    for unit in catalog.units:
        if unit.model == model:
            return unit
    faults = Faults()
    faults.add(
        file=catalog.folder,
        where="MODEL",
        got=f'"{model}"',
        allowed=closest(model, [unit.model for unit in catalog.units]),
    )
    faults.raise_if_any()
    raise AssertionError("a fault was added")


def parse_condition(
    *,
    dry_bulb: str,
    relative_humidity: str,
    pressure: str,
    outdoor_dry_bulb: str,
    outdoor_relative_humidity: str,
) -> Condition:
    """Read the condition.

    Args: dry_bulb, relative_humidity and pressure of the entering air, outdoor_dry_bulb and
        outdoor_relative_humidity, each as text with its unit.
    Returns: SI. Raises: InputFaults, with every fault.
    """
    faults = Faults()
    condition = Condition(
        dry_bulb=_parse("dry_bulb", "--dry-bulb", dry_bulb, faults),
        relative_humidity=_parse("relative_humidity", "--relative-humidity", relative_humidity, faults),
        pressure=_parse("pressure", "--pressure", pressure, faults),
        outdoor_dry_bulb=_parse("dry_bulb", "--outdoor-dry-bulb", outdoor_dry_bulb, faults),
        outdoor_relative_humidity=_parse(
            "relative_humidity", "--outdoor-relative-humidity", outdoor_relative_humidity, faults
        ),
    )
    faults.raise_if_any()
    return condition


def _parse(what: str, option: str, text: str, faults: Faults) -> float:
    dimension, low, high, words = _BOUNDS[what]
    try:
        value = parse(text, dimension)
    except QuantityError as error:
        faults.add(file=option, where="option", got=error.got, allowed=error.allowed)
        return low
    if not low <= value <= high:
        faults.add(file=option, where="option", got=f'"{text}"', allowed=words)
    return value
