"""The command `compare`: search unless told not to, compare, write."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from selector.decide.choose import choose
from selector.decide.compare import Comparison, compare
from selector.inputs.site import Site
from selector.physics.prepare import Prepared
from selector.report.boundary import NOT_POSSIBLE
from selector.report.compare_json import compare_json
from selector.report.compare_screen import compare_screen
from selector.report.json_report import to_text
from selector.report.steps import prepare, write
from selector.report.terminal import progress_line, show_screen


def show_comparison(
    *,
    site: Site,
    search: bool,
    solver: str,
    seconds: float | None,
    json_file: str | None,
    workbook: str | None = None,
    report: str | None = None,
) -> int:
    """Compare the options of a site and show or write the result.

    Args: site; search, whether the best design is searched for and takes part; solver and seconds [s], as `choose`;
        json_file, workbook and report, where JSON, the workbook and the page are to be written, None for nowhere.
    Returns: exit status.
    Raises: InputFaults.
    """
    prepared = prepare(site, work="compare")
    choice = None
    if search:
        with progress_line("choosing") as progress:
            choice = choose(
                prepared=prepared,
                solver="cbc" if solver == "cbc" else "highs",
                seconds=seconds,
                progress=progress,
            )
    with progress_line("comparing") as progress:
        found = compare(prepared=prepared, choice=choice, progress=progress)
    texts: dict[str | None, str] = {}
    if json_file is not None or report is not None:
        result = compare_json(comparison=found, prepared=prepared)
        if json_file is not None:
            texts[json_file] = to_text(result)
        if report is not None:
            texts[report] = page_of(comparison=found, prepared=prepared, result=result)
    book = None if workbook is None else (workbook, workbook_of(comparison=found, prepared=prepared))
    if not write(texts, book):
        show_screen(compare_screen(comparison=found))
    return 0 if found.best is not None else NOT_POSSIBLE


def page_of(*, comparison: Comparison, prepared: Prepared, result: Mapping[str, Any]) -> str:
    """Make the page of a comparison.

    Args: comparison; prepared, its site; result, what JSON says of it. Returns: HTML.
    """
    from selector.report.page import page_of_comparison

    return page_of_comparison(comparison=comparison, prepared=prepared, result=result)


def workbook_of(*, comparison: Comparison, prepared: Prepared) -> bytes:
    """Make the workbook of a comparison.

    Args: comparison; prepared, its site. Returns: the file.
    """
    from selector.report.workbook import workbook_bytes
    from selector.report.workbook_content import content_of_comparison

    return workbook_bytes(content=content_of_comparison(comparison=comparison, prepared=prepared))
