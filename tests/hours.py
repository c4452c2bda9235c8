"""Hourly CSV of a demo site with units, as the command writes it."""

from __future__ import annotations

import functools

from selector.decide.evaluate import evaluate, prepare_site
from selector.inputs.install_text import parse_installs
from selector.inputs.site_file import read_site
from selector.physics.fit import FittedUnit, fit_catalog
from selector.physics.prepare import Prepared
from selector.report.hourly_csv import hourly_csv
from tests.sites import SCENARIOS


@functools.lru_cache(maxsize=2)
def prepared_demo(name: str) -> Prepared:
    site = read_site(path=SCENARIOS / f"{name}.toml")
    return prepare_site(site=site, fitted=fitted_units())


@functools.cache
def fitted_units() -> tuple[FittedUnit, ...]:
    """The units of the general catalogue, which all demo sites choose from, fitted once."""
    return fit_catalog(catalog=read_site(path=SCENARIOS / "records.toml").catalog)


def hourly_text(name: str, arrangement: str, model: str, count: int) -> str:
    """The file that `simulate --hourly` writes; without a model, of the existing system alone."""
    prepared = prepared_demo(name)
    texts = (f"{count} {model} {arrangement}",) if model else ()
    install = parse_installs(texts=texts, site=prepared.site)
    return hourly_csv(prepared=prepared, year=evaluate(prepared=prepared, install=install).year)
