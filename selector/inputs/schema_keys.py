"""All keys that a site file may hold, read off the schema, so that no second list of them has to be kept."""

from __future__ import annotations

import functools
import types
import typing
from typing import Any

from pydantic import BaseModel

from selector.inputs.fields import (
    Day,
    DayHours,
    Either,
    Months,
    Number,
    Quantity,
    Reserved,
    Text,
    Twelve,
    Whole,
    Word,
)
from selector.inputs.schema import SiteFile

FieldKind = Quantity | Number | Whole | Word | Text | Either | Twelve | Months | Day | DayHours | Reserved

# Keys of `defaults.toml` that stand for several keys of the schema, or for one that takes either of two units.
SHARED_KEYS: dict[str, str | None] = {
    "heating.efficiency.gas": "percent",
    "heating.efficiency.electric": "percent",
    "heating.efficiency.heat-pump": "percent",
    "humidity_target.band.relative_humidity": "percent",
    "humidity_target.band.dew_point": "temperature_difference",
    "gains.schedule": None,
    "gains.moisture.schedule": None,
    "limits.arrangements": None,
}


@functools.cache
def schema_keys() -> dict[str, FieldKind | None]:
    """Return every key, as "space.floor_area" or "gains.people.count", with its kind; None for a table."""
    found: dict[str, FieldKind | None] = {}
    _walk(SiteFile, "", found)
    return found


def dimension_of(key: str) -> str | None:
    """Find what a key is measured in.

    Args: key, as "space.floor_area"; costs.installation.<arrangement>.<name> as well.
    Returns: a key of `DIMENSIONS`, or None for words.
    """
    if key in SHARED_KEYS:
        return SHARED_KEYS[key]
    parts = key.split(".")
    if parts[:2] == ["costs", "installation"]:
        key = f"costs.installation.{parts[-1]}"
    kind = schema_keys().get(key)
    if isinstance(kind, Quantity):
        return kind.dimension
    return "count" if isinstance(kind, Number | Whole) else None


def kind_of(key: str) -> FieldKind | None:
    """Return the kind of one key, or None for a table or a key that is not in the schema.

    Args: key, as "air_handler.economizer". Returns: the kind.
    """
    parts = key.split(".")
    if parts[:2] == ["costs", "installation"] and len(parts) > 2:
        key = f"costs.installation.{parts[-1]}"
    return schema_keys().get(key)


def model_at(path: tuple[str | int, ...]) -> type[BaseModel] | None:
    """Find the table that stands at a path of a file.

    Args: path, keys and places in lists; gains by their kind, as ("gains", 0, "people").
    Returns: the model, or None where there is none.
    """
    here: list[type[BaseModel]] = [SiteFile]
    for part in path:
        if isinstance(part, int):
            continue
        if len(here) > 1:
            here = [model for model in here if part in _tags(model)]
            continue
        if not here or part not in here[0].model_fields:
            return here[0] if here and here[0].__name__ == "InstallationTable" else None
        here = _models(here[0].model_fields[part].annotation)
    return here[0] if len(here) == 1 else None


def _walk(model: type[BaseModel], prefix: str, found: dict[str, FieldKind | None]) -> None:
    for name, field in model.model_fields.items():
        key = f"{prefix}{name}"
        inner = _models(field.annotation)
        if name == "kind" and not _kinds(field):
            continue  # the word that tells gains apart
        found[key] = next(iter(_kinds(field)), None)
        for each in inner:
            _walk(each, f"{key}.{_tags(each)[0]}." if len(inner) > 1 else f"{key}.", found)


def _tags(model: type[BaseModel]) -> tuple[str, ...]:
    return typing.get_args(model.model_fields["kind"].annotation) if "kind" in model.model_fields else ()


def _models(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for inner in typing.get_args(annotation) for model in _models(inner)]


def _kinds(field: Any) -> list[FieldKind]:
    found = [item for item in field.metadata if isinstance(item, FieldKind)]
    return found + _annotated(field.annotation)


def _annotated(annotation: Any) -> list[FieldKind]:
    if typing.get_origin(annotation) is typing.Annotated:
        return [item for item in annotation.__metadata__ if isinstance(item, FieldKind)]
    if typing.get_origin(annotation) in (types.UnionType, typing.Union):
        return [kind for inner in typing.get_args(annotation) for kind in _annotated(inner)]
    return []
