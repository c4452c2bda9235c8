"""Reads a site file for a command that has more to judge: what else is wrong is said beside the faults of the site."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from selector.inputs import site_file
from selector.inputs.catalog import read_catalog
from selector.inputs.errors import Faults
from selector.inputs.fingerprint import input_files
from selector.inputs.site import Catalog, Site


@dataclass(frozen=True, slots=True, eq=False)
class SiteInPart:
    """A site, or what its file tells all the same where it has faults."""

    site: Site | None  # None where there are faults
    files: tuple[Path, ...]  # that it is read from, so far as it names them
    catalog: Catalog | None  # None where it has faults


def read_site_in_part(*, path: Path, no_defaults: bool, faults: Faults) -> SiteInPart:
    """Read a site file, and where it has faults at least what other words of a command are judged by.

    Args: path and no_defaults, as `read_site`; faults, takes what is wrong.
    Returns: the site, or its files and its catalogue.
    """
    site = faults.attempt(lambda: site_file.read_site(path=path, no_defaults=no_defaults))
    if site is not None:
        return SiteInPart(site, input_files(site=site), site.catalog)
    try:
        raw = tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except (OSError, ValueError, RecursionError):  # said already, by the reader of the site
        return SiteInPart(None, (path,), None)
    files = [path]
    for table, key in (("weather", "file"), ("costs", "price_book")):
        name = _text(raw.get(table), key)
        if name is not None:
            files.append(path.parent / name)
    name = _text(raw, "catalog")
    if name is None:
        return SiteInPart(None, tuple(files), None)
    folder = path.parent / name
    files += [folder / "units.csv", folder / "ratings.csv"]
    return SiteInPart(None, tuple(files), Faults().attempt(lambda: read_catalog(folder=folder)))


def _text(table: Any, key: str) -> str | None:
    value = table.get(key) if isinstance(table, dict) else None
    return value if isinstance(value, str) else None
