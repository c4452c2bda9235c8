"""Steps that several commands share: read, prepare, follow through the design days, write.

Everything heavy is imported inside, so that the command line answers at once.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from selector.decide.evaluate import Evaluation
    from selector.inputs.errors import Faults
    from selector.inputs.site import Catalog, Install, Site
    from selector.physics.design_day import DesignDayResult
    from selector.physics.prepare import Prepared

One = TypeVar("One")


def refuse(*, options: dict[str, str | None], faults: Faults) -> None:
    """Refuse options that a later version will have, by name.

    Args: options, value by name, None where it is absent; faults, takes those that are there.
    """
    for option, value in options.items():
        if value is not None:
            faults.add(file=option, where="option", got=f'"{value}"', allowed="nothing: not in this version")


def refuse_beside(
    *, options: Mapping[str, bool], beside: str | None, faults: Faults, allowed: str = "one of the two"
) -> None:
    """Refuse options that do nothing beside something else, so that nobody takes them for obeyed.

    Args: options, by name, whether each is given; beside, what makes them idle, None where it is absent; faults, takes
        those that are given; allowed, what may stand there instead.
    """
    for option, given in options.items():
        if given and beside is not None:
            faults.add(file=option, where="option", got=f"it beside {beside}", allowed=allowed)


def in_place_of_screen(outputs: Mapping[str, str | None]) -> str | None:
    """Find the result that goes to standard output, where no screen is shown then.

    Args: outputs, where results are to go, path by option. Returns: option and place, as "--json -", or None.
    """
    from selector.report.files import STANDARD_OUTPUT

    return next((f"{option} -" for option, text in outputs.items() if text == STANDARD_OUTPUT), None)


def read(
    path: Path,
    *,
    no_defaults: bool = False,
    install: Sequence[str] = (),
    outputs: Mapping[str, str | None],
    faults: Faults,
) -> tuple[Site, tuple[Install, ...]]:
    """Read a site file and a design that stands beside it on the command line, before any work is done.

    Args: path; no_defaults, refuse values that the file leaves out; install, a design in words, empty for none;
        outputs, where results are to go, path by option; faults, of the other options.
    Returns: the site, and the parts of the design.
    Raises: InputFaults, with the faults of everything that can be judged without the rest.
    """
    from selector.inputs.install_text import judge_installs, parse_installs

    return read_beside(
        path,
        no_defaults=no_defaults,
        of=lambda site: parse_installs(texts=install, site=site),
        without=lambda catalog: judge_installs(texts=install, catalog=catalog, faults=faults),
        outputs=outputs,
        faults=faults,
    )


def read_beside(
    path: Path,
    *,
    no_defaults: bool,
    of: Callable[[Site], One],
    without: Callable[[Catalog | None], None],
    outputs: Mapping[str, str | None],
    faults: Faults,
) -> tuple[Site, One]:
    """Read a site file and judge what stands beside it on the command line.

    Args: path; no_defaults, as `read`; of, reads the words beside a site and raises `InputFaults`; without, judges them
        where the site has faults, by its catalogue if that has none; outputs and faults, as `read`.
    Returns: the site, and what was read beside it.
    Raises: InputFaults, with the faults of everything that can be judged without the rest.
    """
    from selector.inputs.site_in_part import read_site_in_part
    from selector.report.files import check_outputs

    found = read_site_in_part(path=path, no_defaults=no_defaults, faults=faults)
    site = found.site
    beside: One | None = None
    if site is None:
        without(found.catalog)
    else:
        beside = faults.attempt(lambda: of(site))
    faults.attempt(lambda: check_outputs(outputs=outputs, inputs=found.files))
    faults.raise_if_any()
    assert site is not None  # without a fault there are both
    assert beside is not None
    return site, beside


def say_compiling(work: str) -> None:
    """Say so where a command has to compile first.

    Args: work, the command's name.
    """
    from selector.physics.compiled import is_compiled
    from selector.report.terminal import say

    if not is_compiled(work=work):
        say("compiling, once (half a minute to two minutes)")


def prepare(site: Site, *, work: str) -> Prepared:
    """Prepare a site for a command.

    Args: site; work, the command's name. Returns: `Prepared`. Raises: InputFaults.
    """
    from selector.inputs.errors import Faults

    say_compiling(work)
    from selector.decide.evaluate import prepare_site
    from selector.physics.coil import ImpossibleRatingError

    try:
        return prepare_site(site=site)
    except ImpossibleRatingError as error:
        faults = Faults()
        faults.add(
            file=site.file,
            where="air_handler.cooling_coil",
            got=str(error),
            allowed="capacity, airflow and sensible heat ratio (or bypass factor) that belong together",
        )
        faults.raise_if_any()
        raise


def design_days(prepared: Prepared, install: tuple[Install, ...]) -> tuple[DesignDayResult, ...]:
    """Follow a design and the units that are there already through each design day.

    Args: prepared; install, the new units. Returns: a result for each design day of the weather.
    """
    from selector.physics.design_day import simulate_design_day
    from selector.physics.prepare import lead_order

    every = lead_order(prepared=prepared, install=(*install, *prepared.site.existing_units))
    return tuple(
        simulate_design_day(prepared=prepared, install=every, day=day)
        for day in prepared.site.weather.design_days
    )


def write(texts: dict[str | None, str], workbook: tuple[str, bytes] | None = None) -> bool:
    """Write files, then what is for standard output.

    Args: texts, by file; None where an option is absent; workbook, its file and content.
    Returns: whether standard output is taken.
    """
    from selector.report.files import STANDARD_OUTPUT, standard_output, write_files

    contents: dict[str, str | bytes] = {
        name: text for name, text in texts.items() if name is not None and name != STANDARD_OUTPUT
    }
    if workbook is not None:
        contents[workbook[0]] = workbook[1]
    write_files(contents=contents)
    if STANDARD_OUTPUT in texts:
        with standard_output():
            sys.stdout.write(texts[STANDARD_OUTPUT])
    return STANDARD_OUTPUT in texts


def write_results(
    json_file: str | None,
    result: dict[str, Any],
    hourly: str | None,
    prepared: Prepared,
    shown: Evaluation,
    workbook: tuple[str, bytes] | None = None,
    page: tuple[str, str] | None = None,
) -> bool:
    """Write JSON, hourly CSV, workbook and page where they are asked for.

    Args: json_file and hourly, values of their options; result, of plain values; prepared; shown, the design; workbook
        and page, file and content of each.
    Returns: whether standard output is taken.
    """
    from selector.report.hourly_csv import hourly_csv
    from selector.report.json_report import to_text

    texts: dict[str | None, str] = {}
    if json_file is not None:
        texts[json_file] = to_text(result)
    if hourly is not None:
        texts[hourly] = hourly_csv(prepared=prepared, year=shown.year)
    if page is not None:
        texts[page[0]] = page[1]
    return write(texts, workbook)


def workbook_of_design(
    file: str | None, *, prepared: Prepared, result: Mapping[str, Any]
) -> tuple[str, bytes] | None:
    """Make the workbook of one simulated design.

    Args: file, where it goes, None where it is not asked for; prepared; result, what the screen of a simulated design
        is made from.
    Returns: file and content, None where it is not asked for.
    """
    if file is None:
        return None
    from selector.report.workbook import workbook_bytes
    from selector.report.workbook_content import content_of_design

    content = content_of_design(
        prepared=prepared, shown=result["evaluation"], existing=result["existing"], days=result["days"]
    )
    return file, workbook_bytes(content=content)
