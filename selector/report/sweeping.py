"""The command `sweep`: read what is to be varied, sweep, show or write."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from selector.decide.sweep import sweep
from selector.decide.sweep_results import Sweep
from selector.decide.sweep_store import folder, forget_old, key_of
from selector.inputs.errors import Faults
from selector.inputs.site import Site
from selector.inputs.vary import Variation
from selector.inputs.vary_words import Words, judge_words, read_variations
from selector.physics.prepare import Prepared
from selector.report.boundary import NOT_POSSIBLE, STOPPED
from selector.report.json_report import to_text
from selector.report.steps import prepare, read_beside, write
from selector.report.sweep_json import record_of, sweep_csv, sweep_json
from selector.report.sweep_screen import sweep_screen
from selector.report.terminal import say, show_screen
from selector.report.text import clean, command

SECONDS_BETWEEN_LINES = 0.5  # into a pipe


def read_sweep(
    path: Path,
    *,
    no_defaults: bool,
    words: Sequence[Words],
    outputs: Mapping[str, str | None],
    faults: Faults,
) -> tuple[Site, tuple[Variation, ...]]:
    """Read a site file and judge what stands beside it on the command line, before any work is done.

    Args: path, of the site file; no_defaults, refuse values that it leaves out; words, what is to be varied, empty
        where they were refused; outputs, where results are to go, path by option; faults, of the other options.
    Returns: the site and what is to be varied.
    Raises: InputFaults, with the faults of everything that can be judged without the rest.
    """
    return read_beside(
        path,
        no_defaults=no_defaults,
        of=lambda site: read_variations(site=site, words=words),
        without=lambda _: judge_words(words=words, faults=faults),
        outputs=outputs,
        faults=faults,
    )


def show_sweep(
    *,
    site: Site,
    words: Sequence[Words],
    variations: tuple[Variation, ...],
    solver: str,
    fresh: bool,
    typed: Mapping[str, str | None],
    json_file: str | None,
    csv_file: str | None,
    report: str | None = None,
) -> int:
    """Sweep and show or write the result.

    Args: site; words and variations, what is to be varied, as written and as read; solver, highs or cbc; fresh, whether
        steps of earlier runs are left aside; typed, options beside what is varied as they were typed, None where they
        were not, for the command that goes on; json_file, csv_file and report, where they go, None for nowhere.
    Returns: exit status.
    Raises: InputFaults.
    """
    prepared = prepare(site, work="sweep")
    file = folder() / f"{key_of(site=site, variations=variations, solver=solver)}.jsonl"
    if fresh:
        file.unlink(missing_ok=True)
    with progress_of("sweep") as progress:
        found = sweep(
            prepared=prepared,
            variations=variations,
            solver="cbc" if solver == "cbc" else "highs",
            record=record_of,
            store=file,
            progress=progress,
        )
    forget_old(keep=file)
    texts: dict[str | None, str] = {}
    if json_file is not None:
        texts[json_file] = to_text(sweep_json(sweep=found))
    if report is not None:
        texts[report] = page_of(sweep=found, prepared=prepared, result=sweep_json(sweep=found))
    if csv_file is not None:
        texts[csv_file] = sweep_csv(sweep=found)
    beside = (word for option, value in typed.items() if value is not None for word in (option, value))
    again = command("sweep", site.file, *words_again(words), *beside)
    if not write(texts):
        show_screen(sweep_screen(sweep=found, again=again))
    if found.interrupted:
        say(f"stopped: {len(found.steps)} of {found.wanted} steps are kept; to go on: {again}")
        return STOPPED
    return NOT_POSSIBLE if all(step.best is None for step in found.steps) else 0


def page_of(*, sweep: Sweep, prepared: Prepared, result: Mapping[str, Any]) -> str:
    """Make the page of a sweep.

    Args: sweep; prepared, the site as it was read; result, what JSON says of it. Returns: HTML.
    """
    from selector.report.page import page_of_sweep

    return page_of_sweep(sweep=sweep, prepared=prepared, result=result)


def words_again(words: Sequence[Words]) -> tuple[str, ...]:
    """Write the options of a sweep as they were.

    Args: words. Returns: words of a command.
    """
    found: list[str] = []
    for one in words:
        found += ["--vary", one.vary]
        if one.values is not None:
            found += ["--values", one.values]
        else:
            found += ["--from", one.low or "", "--to", one.high or "", "--steps", str(one.steps)]
    return tuple(found)


@contextmanager
def progress_of(what: str) -> Iterator[Callable[[str, float], None]]:
    """Show a bar with the time that is left on a terminal, and plain lines into a pipe.

    Args: what is being done.
    Returns: a context, for `with`, that yields a function of the step's name and the share done, 0 to 1.
    """
    began = time.monotonic()
    if not sys.stderr.isatty():
        said, until = "", 0.0

        def line(name: str, share: float) -> None:
            nonlocal said, until
            now = time.monotonic() - began
            if name == said or (now < until and share < 1.0):
                return
            said, until = name, now + SECONDS_BETWEEN_LINES
            left = f", about {now * (1.0 - share) / share:.0f} s left" if 0.0 < share < 1.0 else ""
            print(f"{what}: {clean(name)}{left}", file=sys.stderr, flush=True)

        yield line
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    console = Console(file=sys.stderr, highlight=False, emoji=False, markup=False)
    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TextColumn("{task.percentage:>3.0f} %, left"),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=console, transient=True) as bar:
        shown = bar.add_task(what, total=1.0)

        def step(name: str, share: float) -> None:
            bar.update(shown, description=clean(f"{what}: {name}"), completed=min(1.0, max(0.0, share)))

        yield step
