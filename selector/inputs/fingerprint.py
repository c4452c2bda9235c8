"""One number that stands for everything that a run read: the site file, its weather and its catalogue."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path

from selector.inputs.site import Site


def input_files(*, site: Site) -> tuple[Path, ...]:
    """Files that a site was read from.

    Args: site.
    Returns: site file, weather file where there is one, units.csv and ratings.csv, price book where there is one.
    """
    path = Path(site.file)
    weather = tomllib.loads(path.read_bytes().decode("utf-8-sig")).get("weather", {}).get("file")
    folder = Path(site.catalog.folder)
    files = [path, folder / "units.csv", folder / "ratings.csv"]
    if site.costs.price_book is not None:
        files.append(Path(site.costs.price_book.file))
    if weather is not None:
        files.insert(1, path.parent / weather)
    return tuple(files)


def fingerprint(*, site: Site) -> str:
    """SHA-256 over the contents of the input files, whatever they are called and wherever they stand.

    Args: site.
    Returns: 64 hexadecimal digits. Source: FIPS 180-4.
    """
    total = hashlib.sha256()
    for file in input_files(site=site):
        content = file.read_bytes()
        total.update(f"{len(content)}\n".encode())
        total.update(content)
    return total.hexdigest()
