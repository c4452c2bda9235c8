"""What `simulate` does: one design through the year, beside the existing system."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from selector.decide.choose import warm_hours_allowed
from selector.decide.evaluate import evaluate
from selector.inputs.site import Install, Site
from selector.report.json_report import simulate_json
from selector.report.simulate_screen import simulate_screen
from selector.report.steps import design_days, prepare, workbook_of_design, write_results
from selector.report.terminal import show_screen


def show_simulation(
    *,
    site: Site,
    install: Sequence[Install],
    bill: bool,
    json_file: str | None,
    hourly: str | None,
    workbook: str | None,
) -> int:
    """Simulate a design and show or write the result.

    Args: site; install, parts of the design, none for the existing system alone; bill, whether the bill of quantities
        is shown; json_file, hourly and workbook, where they go, None for nowhere.
    Returns: exit status.
    Raises: InputFaults.
    """
    parts = tuple(install)
    prepared = prepare(site, work="simulate")
    existing = evaluate(prepared=prepared, install=())
    warm_allowed = warm_hours_allowed(prepared=prepared, existing=existing)
    result: dict[str, Any] = {
        "site": site,
        "evaluation": evaluate(prepared=prepared, install=parts, warm_allowed=warm_allowed),
        "existing": existing,
        "days": design_days(prepared, parts),
        "fitted": prepared.fitted,
        "warm_allowed": warm_allowed,
    }
    book = workbook_of_design(workbook, prepared=prepared, result=result)
    worked = None if json_file is None else prepared  # takes time that a screen need not
    written = simulate_json(**result, prepared=worked)
    if not write_results(json_file, written, hourly, prepared, result["evaluation"], book):
        show_screen(simulate_screen(**result, bill=bill))
    return 0
