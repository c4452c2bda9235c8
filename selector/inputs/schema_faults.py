"""Checks a file against the schema and says in our own words what is wrong with it, all of it at once."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from selector.inputs.errors import Faults
from selector.inputs.fields import closest, shown
from selector.inputs.schema import SiteFile
from selector.inputs.schema_keys import model_at

GAIN_KINDS = ("people", "water-surface", "plants", "moisture", "heat")
_TABLE_LISTS: Mapping[str, dict[str, Any]] = {
    "gains": {"kind": "heat"},
    "humidity_target": {},
    "existing_units": {},
    "alternates": {},
    "options": {},
    "units": {},
    "envelope": {},
    "other_load": {},
    "energy": {},
    "demand": {},
    "blocks": {},
}

Path = tuple[str | int, ...]


def check_schema(
    *, raw: dict[str, Any], context: Mapping[str, Any], file: str, faults: Faults
) -> tuple[SiteFile, frozenset[str]]:
    """Validate a file, collect its faults, and go on with what is left when the faulty keys are taken out.

    Args: raw, the file as read; it is changed; context, the site's currency and air pressure [Pa]; file, as the
    person named it; faults, which is added to.
    Returns: the file without its faulty keys, and their names, so that nobody reports them as missing.
    """
    single = _single_target(raw)
    broken: set[str] = set()
    for _ in range(100):
        try:
            return SiteFile.model_validate(raw, context=dict(context)), frozenset(broken)
        except ValidationError as error:
            found = [(details, _without_tags(details["loc"])) for details in error.errors(include_url=False)]
            for details, path in found:
                broken.update(_report(details, path, single=single, file=file, faults=faults))
            for _, path in found:
                _take_out(raw, path)
    raise AssertionError("a faulty key could not be taken out of the file")


def key_of(path: Path, *, single_target: bool = False) -> str:
    """Write a path as a person would: "gains[0].count".

    Args: path, keys and places in lists; single_target, whether [humidity_target] was written without a list.
    Returns: text.
    """
    text = ""
    for number, part in enumerate(path):
        if isinstance(part, int):
            if not (single_target and path[0] == "humidity_target" and number == 1):
                text += f"[{part}]"
        else:
            text += f".{part}" if text else part
    return text


def is_broken(key: str, broken: frozenset[str]) -> bool:
    """Say whether a key, or the table that holds it, or a key inside it, was faulty.

    Args: key, as "space.floor_area"; broken, as from `check_schema`. Returns: true where it was.
    """
    return any(
        key == other or key.startswith((f"{other}.", f"{other}[")) or other.startswith((f"{key}.", f"{key}["))
        for other in broken
    )


def _single_target(raw: dict[str, Any]) -> bool:
    if isinstance(raw.get("humidity_target"), dict):
        raw["humidity_target"] = [raw["humidity_target"]]
        return True
    return False


def _without_tags(loc: Path) -> Path:
    """Leave out the kind of a gain, and pydantic's mark of a key, from a place of an error."""
    if len(loc) > 2 and loc[0] == "gains" and loc[2] in GAIN_KINDS:
        loc = loc[:2] + loc[3:]
    return loc[:-1] if loc and loc[-1] == "[key]" else loc


def _report(details: ErrorDetails, path: Path, *, single: bool, file: str, faults: Faults) -> tuple[str, ...]:
    """Add one error as a fault; return the keys that it spoils."""
    where = key_of(path, single_target=single)
    spoiled = [where]
    kind, value = details["type"], details["input"]
    got = shown(value)
    if kind == "refused":
        got, allowed = details["ctx"]["got"], details["ctx"]["allowed"]
    elif kind == "extra_forbidden":
        model = model_at(details["loc"][:-1]) or SiteFile
        names = list(model.model_fields)
        got, allowed = "a key that is not known", closest(str(path[-1]), names)
        parent = key_of(path[:-1], single_target=single)
        spoiled += [f"{parent}.{name}" if parent else name for name in allowed.split(" or ") if name in names]
    elif kind == "union_tag_invalid":
        where, got = f"{where}.kind", shown(value.get("kind"))
        allowed = ", ".join(f'"{word}"' for word in GAIN_KINDS)
    elif kind == "union_tag_not_found":
        where, got = f"{where}.kind", "nothing"
        allowed = ", ".join(f'"{word}"' for word in GAIN_KINDS)
    elif kind == "list_type":
        tables = path[-1] in _TABLE_LISTS
        allowed = f"tables in double brackets, [[{where}]]" if tables else "a list in brackets"
    else:  # dict_type, model_type, model_attributes_type
        allowed = "a table"
    faults.add(file=file, where=where, got=got, allowed=allowed)
    return tuple(spoiled)


def _take_out(raw: dict[str, Any], path: Path) -> None:
    """Remove the value at a path; a faulty table of a list gives place to an empty one."""
    holder: Any = raw
    trail: list[tuple[Any, str | int]] = []
    for part in path[:-1]:
        trail.append((holder, part))
        try:
            holder = holder[part]
        except (KeyError, IndexError, TypeError):
            return
    last = path[-1]
    if isinstance(last, int):
        outer, name = trail[-1]
        if name in _TABLE_LISTS:
            holder[last] = dict(_TABLE_LISTS[str(name)])
        else:
            outer.pop(name, None)
    elif isinstance(holder, dict):
        holder.pop(last, None)
