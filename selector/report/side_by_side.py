"""The command `compare`: search unless told not to, compare, write."""

from __future__ import annotations

from selector.decide.choose import choose
from selector.decide.compare import compare
from selector.inputs.site import Site
from selector.report.boundary import NOT_POSSIBLE
from selector.report.compare_json import compare_json
from selector.report.compare_screen import compare_screen
from selector.report.json_report import to_text
from selector.report.steps import check_files, prepare, write
from selector.report.terminal import progress_line, show_screen


def show_comparison(
    *, site: Site, search: bool, solver: str, seconds: float | None, json_file: str | None
) -> int:
    """Compare the options of a site and show or write the result.

    Args: site; search, whether the best design is searched for and takes part; solver and seconds [s], as `choose`;
        json_file, where JSON is to be written, None for nowhere.
    Returns: exit status.
    Raises: InputFaults.
    """
    check_files(site, json_file)
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
    if json_file is not None:
        texts[json_file] = to_text(compare_json(comparison=found))
    if not write(texts):
        show_screen(compare_screen(comparison=found))
    return 0 if found.best is not None else NOT_POSSIBLE
