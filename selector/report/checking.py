"""What `check` does: a site with its air handler's coil, or with its defaults by their effect; or a catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from selector.decide.default_effects import default_effects
from selector.inputs.catalog import read_catalog
from selector.inputs.errors import Faults
from selector.inputs.site import Site
from selector.physics.coil import CoilRating, rate_coil
from selector.physics.fit import fit_catalog
from selector.report.check_json import catalog_json, defaults_json, site_json
from selector.report.check_screen import catalog_screen, defaults_screen, site_screen
from selector.report.files import check_outputs
from selector.report.json_report import to_text
from selector.report.lines import standing_defaults
from selector.report.steps import prepare, refuse_beside, say_compiling, write
from selector.report.terminal import progress_line, show_screen
from selector.report.text import show_in


def coil_of(*, site: Site) -> CoilRating | None:
    """Rate the air handler's coil.

    Args: site. Returns: `CoilRating`, None without an air handler.
    """
    handler = site.air_handler
    if handler is None:
        return None
    coil = handler.cooling_coil
    return rate_coil(
        total_capacity=coil.total_capacity,
        airflow=handler.supply_airflow,
        sensible_heat_ratio=coil.sensible_heat_ratio,
        bypass_factor=coil.bypass_factor,
    )


def show_catalog(*, folder: Path, json_file: str | None, units: str, idle: Mapping[str, bool]) -> int:
    """Check a catalogue and show it.

    Args: folder; json_file, "-" for standard output, None for none; units, IP or SI; idle, options that only a site
        knows, whether each is given.
    Returns: exit status. Raises: InputFaults.
    """
    faults = Faults()
    refuse_beside(options=idle, beside="a catalogue", faults=faults, allowed="it beside a site")
    files = (folder / "units.csv", folder / "ratings.csv")
    faults.attempt(lambda: check_outputs(outputs={"--json": json_file}, inputs=files))
    catalog = faults.attempt(lambda: read_catalog(folder=folder))
    show = faults.attempt(lambda: show_in(units=units, currency=catalog.currency if catalog else ""))
    faults.raise_if_any()
    assert catalog is not None  # without a fault there are both
    assert show is not None
    say_compiling("check")
    fitted = fit_catalog(catalog=catalog)
    if not write({json_file: to_text(catalog_json(catalog=catalog, fitted=fitted))}):
        show_screen(catalog_screen(catalog=catalog, fitted=fitted, show=show))
    return 0


def show_site(*, site: Site, defaults: bool, json_file: str | None) -> int:
    """Check a site and show what was read, or the defaults in use.

    Args: site; defaults, whether they are listed by their effect; json_file, "-" for standard output, None for none.
    Returns: exit status. Raises: InputFaults.
    """
    prepared = prepare(site, work="check")
    if defaults:
        with progress_line("defaults") as progress:
            effects = default_effects(
                prepared=prepared, assumptions=standing_defaults(site), progress=progress
            )
        result = defaults_json(prepared=prepared, effects=effects)
        screen = defaults_screen(site=site, effects=effects)
    else:
        coil = coil_of(site=site)
        result = site_json(prepared=prepared, coil=coil)
        screen = site_screen(prepared=prepared, coil=coil)
    if not write({json_file: to_text(result)}):
        show_screen(screen)
    return 0
