"""What `check` looks at beside the site itself: the air handler's coil, and a catalogue."""

from __future__ import annotations

from pathlib import Path

from selector.inputs.catalog import read_catalog
from selector.inputs.site import Site
from selector.physics.coil import CoilRating, rate_coil
from selector.physics.fit import fit_catalog
from selector.report.check_json import catalog_json
from selector.report.check_screen import catalog_screen
from selector.report.files import check_outputs
from selector.report.json_report import to_text
from selector.report.steps import say_compiling, write
from selector.report.terminal import show_screen
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


def show_catalog(*, folder: Path, json_file: str | None, units: str) -> int:
    """Check a catalogue and show it.

    Args: folder; json_file, "-" for standard output, None for none; units, IP or SI.
    Returns: exit status. Raises: InputFaults.
    """
    check_outputs(outputs={"--json": json_file}, inputs=(folder / "units.csv", folder / "ratings.csv"))
    catalog = read_catalog(folder=folder)
    say_compiling("check")
    fitted = fit_catalog(catalog=catalog)
    if not write({json_file: to_text(catalog_json(catalog=catalog, fitted=fitted))}):
        show = show_in(units=units, currency=catalog.currency)
        show_screen(catalog_screen(catalog=catalog, fitted=fitted, show=show))
    return 0
