"""What `rate` does: one unit of a catalogue on one entering state."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from selector.inputs.catalog import read_catalog
from selector.inputs.errors import Faults
from selector.inputs.rate_words import find_unit, parse_condition
from selector.physics.fit import fit_unit
from selector.physics.rating import rate
from selector.report.files import check_outputs
from selector.report.json_report import to_text
from selector.report.rate_json import rate_json
from selector.report.rate_screen import rate_screen
from selector.report.steps import say_compiling, write
from selector.report.terminal import show_screen
from selector.report.text import show_in


def show_rating(
    *, folder: Path, model: str, states: Mapping[str, str], units: str, json_file: str | None
) -> int:
    """Rate a unit and show or write the result.

    Args: folder of a catalogue; model of it; states, the air in words, by argument of `parse_condition`; units, IP or
        SI; json_file, where JSON goes, None for nowhere.
    Returns: exit status.
    Raises: InputFaults, with the faults of everything that can be judged without the rest.
    """
    faults = Faults()
    condition = faults.attempt(lambda: parse_condition(**states))
    files = (folder / "units.csv", folder / "ratings.csv")
    faults.attempt(lambda: check_outputs(outputs={"--json": json_file}, inputs=files))
    catalog = faults.attempt(lambda: read_catalog(folder=folder))
    unit = None if catalog is None else faults.attempt(lambda: find_unit(catalog=catalog, model=model))
    show = faults.attempt(lambda: show_in(units=units, currency=catalog.currency if catalog else ""))
    faults.raise_if_any()
    assert catalog is not None  # without a fault there is each of them
    assert condition is not None
    assert unit is not None
    assert show is not None
    say_compiling("rate")
    fitted = fit_unit(unit=unit, file=f"{catalog.folder}/ratings.csv")
    rating = rate(
        fitted=fitted,
        dry_bulb=condition.dry_bulb,
        relative_humidity=condition.relative_humidity,
        pressure=condition.pressure,
        outdoor_dry_bulb=condition.outdoor_dry_bulb,
        outdoor_relative_humidity=condition.outdoor_relative_humidity,
    )
    if not write({json_file: to_text(rate_json(fitted=fitted, rating=rating, invented=catalog.invented))}):
        show_screen(rate_screen(fitted=fitted, rating=rating, show=show, invented=catalog.invented))
    return 0
