"""What `loads` does: moisture and sensible heat by source, shown or written."""

from __future__ import annotations

from selector.decide.evaluate import evaluate
from selector.inputs.site import Site
from selector.physics.loads import loads as loads_of
from selector.report.json_report import loads_json, to_text
from selector.report.loads_csv import loads_csv
from selector.report.loads_screen import loads_screen
from selector.report.steps import prepare, write
from selector.report.terminal import show_screen


def show_loads(*, site: Site, json_file: str | None, hourly: str | None) -> int:
    """Find the loads of a site and show or write them.

    Args: site; json_file and hourly, where they go, "-" for standard output, None for nowhere.
    Returns: exit status. Raises: InputFaults.
    """
    prepared = prepare(site, work="loads")
    found = loads_of(prepared=prepared)
    texts = {json_file: to_text(loads_json(site=site, loads=found))}
    if hourly is not None:
        texts[hourly] = loads_csv(prepared=prepared, year=evaluate(prepared=prepared, install=()).year)
    if not write(texts):
        show_screen(loads_screen(site=site, loads=found))
    return 0
