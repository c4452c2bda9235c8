"""The command `choose`: search, and show or write the answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from selector.decide.choose import choose
from selector.decide.choose_options import options_beside
from selector.decide.results import Choice
from selector.decide.what_would_change import WhatWouldChange, what_would_change
from selector.inputs.site import Site
from selector.physics.design_day import DesignDayResult
from selector.physics.prepare import Prepared
from selector.report.boundary import NOT_POSSIBLE
from selector.report.choose_screen import answer_of, choose_screen, is_estimate
from selector.report.json_report import choose_json
from selector.report.lines import standing_defaults
from selector.report.options_beside import options_json, options_screen
from selector.report.simulate_screen import details_screen
from selector.report.steps import design_days, prepare, write_results
from selector.report.terminal import progress_line, show_screen
from selector.report.text import show_for
from selector.report.what_if import what_if_json, what_if_screen


def show_choice(
    *,
    site: Site,
    solver: str,
    seconds: float | None,
    details: bool,
    json_file: str | None,
    hourly: str | None,
    workbook: str | None,
    report: str | None = None,
    what_if: bool | None = None,
) -> int:
    """Choose for a site and show or write the answer.

    Args: site; solver, highs or cbc; seconds [s] after which the search stops, None for no such limit; details, whether
        what stands behind the first screen is shown; json_file, hourly, workbook and report, where they go, None for
        nowhere; what_if, whether to look closely at what would change the answer, None for a quick look, false for
        none.
    Returns: exit status.
    Raises: InputFaults.
    """
    prepared = prepare(site, work="choose")
    with progress_line("choosing") as progress:
        choice = choose(
            prepared=prepared,
            solver="cbc" if solver == "cbc" else "highs",
            seconds=seconds,
            progress=progress,
        )
    shown = answer_of(choice)
    days = design_days(prepared, shown.install)
    # takes time that a screen need not
    worked = prepared if json_file is not None or report is not None else None
    result = choose_json(choice=choice, answer=shown, days=days, fitted=prepared.fitted, prepared=worked)
    changes: WhatWouldChange | None = None
    if what_if is not False and standing_defaults(site) and choice.answer != "none found":
        with progress_line("what would change it") as progress:
            changes = what_would_change(
                prepared=prepared, choice=choice, closely=what_if is True, progress=progress
            )
        result["first_estimate"] = is_estimate(choice=choice, what_if=changes)
        result["what_would_change"] = what_if_json(what_if=changes)
    beside = options_beside(prepared=prepared, choice=choice)
    if beside:
        result["options"] = options_json(beside=beside)
    book: tuple[str, bytes] | None = None
    if workbook is not None:
        tried = None if changes is None else is_estimate(choice=choice, what_if=changes)
        book = (workbook, workbook_of(choice=choice, prepared=prepared, days=days, estimate=tried))
    page = None if report is None else (report, page_of(choice=choice, prepared=prepared, result=result))
    if not write_results(json_file, result, hourly, prepared, shown, book, page):
        show_screen(choose_screen(choice=choice, days=days, fitted=prepared.fitted, what_if=changes))
        if beside:
            show_screen(options_screen(beside=beside, possible=choice.best is not None, show=show_for(site)))
        if details:
            show_screen(details_screen(choice=choice, days=days, fitted=prepared.fitted))
        if changes is not None and (details or what_if):
            show_screen(what_if_screen(what_if=changes, show=show_for(site)))
    return NOT_POSSIBLE if choice.best is None else 0


def page_of(*, choice: Choice, prepared: Prepared, result: Mapping[str, Any]) -> str:
    """Make the page of a choice.

    Args: choice; prepared, its site; result, what JSON says of it. Returns: HTML.
    """
    from selector.report.page import page_of_choice

    return page_of_choice(choice=choice, prepared=prepared, result=result)


def workbook_of(
    *, choice: Choice, prepared: Prepared, days: Sequence[DesignDayResult], estimate: bool | None = None
) -> bytes:
    """Make the workbook of a choice.

    Args: choice; prepared, its site; days, design days of the answer; estimate, whether a default could change it, None
        where that was not tried.
    Returns: the file.
    """
    from selector.report.workbook import workbook_bytes
    from selector.report.workbook_content import content_of_choice

    return workbook_bytes(
        content=content_of_choice(choice=choice, prepared=prepared, days=days, estimate=estimate)
    )
