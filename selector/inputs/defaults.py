"""The defaults, profiles and helper tables of `defaults.toml`, read and turned into SI."""

from __future__ import annotations

import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any

from selector.inputs.quantities import parse
from selector.inputs.schema_keys import dimension_of


@dataclass(frozen=True, slots=True)
class Default:
    """What is used where a site says nothing; SI, for one unit of `per` where that is named."""

    key: str
    value: float | str
    low: float | None
    high: float | None
    per: str | None
    source: str
    find: str
    text: str  # value as written in the file


@functools.cache
def defaults_file() -> Mapping[str, Any]:
    """Return `defaults.toml` as it stands."""
    return tomllib.loads(resources.files("selector.inputs").joinpath("defaults.toml").read_text("utf-8"))


@functools.cache
def default_of(key: str, profile: str | None, currency: str) -> Default | None:
    """Find the default of a key: the profile's before the general one.

    Args: key, as "space.moisture_buffer"; profile, or None; currency, the site's code: a default in another
    currency is none.
    Returns: the default in SI, or None where there is none.
    """
    own = defaults_file()["profiles"][profile].get("values", {}).get(key) if profile else None
    entry = own or defaults_file()["values"].get(key)
    if entry is None:
        return None
    value = entry["value"]
    dimension = entry.get("dimension") or dimension_of(key)
    if dimension is None:
        return Default(key, value, None, None, None, entry["source"], entry["find"], str(value))
    if dimension in ("money", "energy_price") and currency not in value:
        return None
    low, high = entry.get("low"), entry.get("high")
    return Default(
        key=key,
        value=parse(value, dimension, currency=currency),
        low=None if low is None else parse(low, dimension, currency=currency),
        high=None if high is None else parse(high, dimension, currency=currency),
        per=entry.get("per"),
        source=entry["source"],
        find=entry["find"],
        text=f"{value} times the {entry['per'].replace('_', ' ')}" if "per" in entry else str(value),
    )


@functools.cache
def catalog_default(*, column: str) -> Default:
    """What is taken where a catalogue leaves a column out.

    Args: column, as "highest_leaving_dry_bulb".
    Returns: the default in SI.
    """
    entry = defaults_file()["catalog"][column]
    value, low, high = (parse(entry[name], entry["dimension"]) for name in ("value", "low", "high"))
    return Default(column, value, low, high, None, entry["source"], entry["find"], str(entry["value"]))


@functools.cache
def outdoor_air_rates(*, use: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Outdoor air by person and by floor area that the ventilation standard asks of a use.

    The standard prints both unit systems, each rounded for itself; results go by the inch-pound rates, whatever units
    they are shown in, and the SI rates say how far that rounding reaches.

    Args: use, as "classroom".
    Returns: by person [m³/s] and by floor area [m³/s by m²], of the inch-pound rates, then of the SI rates.
    Source: ASHRAE 62.1-2019, table 6-1.
    """
    entry = defaults_file()["uses"][use]
    pairs = zip(entry["per_person"], entry["per_area"], strict=True)
    inch_pound, si = ((parse(a, "airflow"), parse(b, "airflow_per_area")) for a, b in pairs)
    return inch_pound, si


def is_from_profile(key: str, profile: str | None) -> bool:
    """Say whether a profile has a value of its own for a key.

    Args: key, as "space.moisture_buffer"; profile, or None. Returns: true where it has.
    """
    return profile is not None and key in defaults_file()["profiles"][profile].get("values", {})
