"""The command `chart`: one chart of a design that is named, or of the choice, as an SVG or PNG file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from selector.decide.choose import choose, warm_hours_allowed
from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.results import Choice
from selector.inputs.errors import Faults
from selector.inputs.fields import closest
from selector.inputs.site import ARRANGEMENTS
from selector.physics.compiled import note_compiled
from selector.report.boundary import NOT_POSSIBLE
from selector.report.charts import WHICH, Which, chart_of, png_of, rows_of_choice, svg_of
from selector.report.choose_screen import answer_of
from selector.report.files import write_files
from selector.report.steps import prepare, read
from selector.report.terminal import Line, progress_line, show_screen
from selector.report.text import clean


def show_chart(
    *,
    site_file: Path,
    install: Sequence[str],
    which: str,
    arrangement: str | None,
    out: str,
    no_defaults: bool,
) -> int:
    """Run `chart`.

    Args: site_file; install, texts as "2 precool-120 standalone", none for the design that is chosen; which chart;
        arrangement, whose best design is drawn in place of the chosen one, None for the chosen one; out, the file;
        no_defaults.
    Returns: exit status. Raises: InputFaults.
    """
    faults = Faults()
    kind = _judge(which, arrangement, named=bool(install), faults=faults)
    site, named = read(
        site_file, no_defaults=no_defaults, install=install, outputs={"--out": out}, faults=faults
    )
    assert kind is not None  # without a fault it is known
    work = "simulate" if named else "choose"
    prepared = prepare(site, work=work)
    possible, rows, nearest = True, None, ""
    if named:
        existing = evaluate(prepared=prepared, install=())
        warm = warm_hours_allowed(prepared=prepared, existing=existing)
        shown = evaluate(prepared=prepared, install=named, warm_allowed=warm)
    else:
        with progress_line("choosing") as progress:
            choice = choose(prepared=prepared, progress=progress)
        possible, existing, rows = choice.best is not None, choice.existing, rows_of_choice(choice=choice)
        nearest = (
            f"{choice.answer.upper()}: {choice.proof.reason}; the chart shows the design that comes nearest"
        )
        shown = answer_of(choice) if arrangement is None else _best_of(choice, arrangement)
    note_compiled(work=work)
    chart = chart_of(which=kind, prepared=prepared, evaluation=shown, existing=existing, rows=rows)
    write_files(contents={out: svg_of(chart=chart) if out.lower().endswith(".svg") else png_of(chart=chart)})
    lines = () if possible else (Line(nearest, "bold"),)
    show_screen((*lines, Line(f"Written: {clean(out)}", "bold"), Line(chart.text)))
    return 0 if possible else NOT_POSSIBLE


def _judge(which: str, arrangement: str | None, *, named: bool, faults: Faults) -> Which | None:
    """Refuse what the options cannot mean."""
    kind = next((one for one in WHICH if one == which), None)
    if kind is None:
        faults.add(file="--which", where="option", got=f'"{which}"', allowed=closest(which, WHICH))
    if arrangement is not None:
        where, got = "option", f'"{arrangement}"'
        if arrangement not in ARRANGEMENTS:
            allowed = closest(arrangement, ARRANGEMENTS)
            faults.add(file="--arrangement", where=where, got=got, allowed=allowed)
        elif named:
            faults.add(
                file="--arrangement", where=where, got=f"{got} beside --install", allowed="one of the two"
            )
        elif kind == "money":
            faults.add(
                file="--arrangement", where=where, got=f"{got} for the money chart", allowed="none: it shows them all"
            )  # fmt: skip
    return kind


def _best_of(choice: Choice, arrangement: str) -> Evaluation:
    """The best design of an arrangement, or the one that came nearest."""
    result = next((one for one in choice.by_arrangement if one.arrangement == arrangement), None)
    found = None if result is None else result.best or result.closest
    if found is None:
        faults = Faults()
        faults.add(
            file="--arrangement",
            where="option",
            got=f'"{arrangement}", of which there is no design: {result.reason if result else "not among the limits"}',
            allowed=" or ".join(one.arrangement for one in choice.by_arrangement if one.best or one.closest),
        )
        faults.raise_if_any()
        raise AssertionError("a fault was added")
    return found
