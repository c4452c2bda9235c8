"""The two commands about the equipment of one design: its schedule and its commissioning sheet.

The design is the one that was named, or else the one that is chosen.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from selector.decide.choose import choose
from selector.decide.commissioning import commissioning_sheet
from selector.decide.evaluate import Evaluation
from selector.decide.schedule import equipment_schedule
from selector.inputs.errors import Faults
from selector.inputs.site import Install
from selector.physics.compiled import note_compiled
from selector.physics.prepare import Prepared
from selector.report.boundary import NOT_POSSIBLE
from selector.report.choose_screen import answer_of
from selector.report.commissioning_text import commissioning_csv, commissioning_screen
from selector.report.json_report import to_text
from selector.report.schedule_json import commissioning_json, schedule_json
from selector.report.schedule_text import schedule_csv, schedule_screen
from selector.report.steps import prepare, read, write
from selector.report.terminal import Screen, progress_line, show_screen


@dataclass(frozen=True, slots=True)
class Designed:
    """A design, and how it came about."""

    install: tuple[Install, ...]
    chosen: str  # what the choice says of it, "" where it was named
    possible: bool  # false: no design keeps every limit, and this one comes nearest


def designed(
    *, prepared: Prepared, named: tuple[Install, ...], progress: Callable[[str, float], None]
) -> Designed:
    """Take the design that was named, or choose one.

    Args: prepared; named, empty where none was; progress, told a step's name and the share done.
    Returns: `Designed`.
    """
    if named:
        return Designed(named, "", True)
    choice = choose(prepared=prepared, progress=progress)
    install = answer_of(choice).install
    if choice.best is None:
        return Designed(
            install, f"{choice.answer.upper()}: {choice.proof.reason}; this one comes nearest", False
        )
    return Designed(install, f"chosen, {choice.proof.status}", True)


def answer_text(*, made: Designed, evaluation: Evaluation) -> str:
    """Say how a design came about, and whether it keeps its limits.

    Args: made; evaluation of it. Returns: text.
    """
    if made.chosen:
        return made.chosen
    kept = "keeps every limit" if evaluation.feasible else "does NOT keep every limit"
    return f"as named with --install; {kept}"


def show_equipment(
    *,
    what: Literal["schedule", "commission"],
    site_file: Path,
    install: Sequence[str],
    no_defaults: bool,
    json_file: str | None,
    csv_file: str | None,
) -> int:
    """Run `schedule` or `commission`.

    Args: what; site_file; install, texts as "2 precool-120 standalone", none for the design that is chosen;
        no_defaults; json_file and csv_file, "-" for standard output, None for none.
    Returns: exit status. Raises: InputFaults.
    """
    outputs = {"--json": json_file, "--csv": csv_file}
    site, named = read(site_file, no_defaults=no_defaults, install=install, outputs=outputs, faults=Faults())
    work = "simulate" if named else "choose"
    prepared = prepare(site, work=work)
    with progress_line("choosing") as progress:
        made = designed(prepared=prepared, named=named, progress=progress)
    note_compiled(work=work)
    result, table, screen = _schedule(prepared, made) if what == "schedule" else _sheet(prepared, made)
    texts: dict[str | None, str] = {}
    if json_file is not None:
        texts[json_file] = to_text(result)
    if csv_file is not None:
        texts[csv_file] = table
    if not write(texts):
        show_screen(screen)
    return 0 if made.possible else NOT_POSSIBLE


def _schedule(prepared: Prepared, made: Designed) -> tuple[dict[str, Any], str, Screen]:
    schedule = equipment_schedule(prepared=prepared, install=made.install)
    answer = answer_text(made=made, evaluation=schedule.evaluation)
    return (
        schedule_json(schedule=schedule, answer=answer),
        schedule_csv(schedule),
        schedule_screen(schedule, answer=answer),
    )


def _sheet(prepared: Prepared, made: Designed) -> tuple[dict[str, Any], str, Screen]:
    sheet = commissioning_sheet(prepared=prepared, install=made.install)
    answer = answer_text(made=made, evaluation=sheet.schedule.evaluation)
    return (
        commissioning_json(sheet=sheet, answer=answer),
        commissioning_csv(sheet),
        commissioning_screen(sheet, answer=answer),
    )
