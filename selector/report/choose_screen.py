"""The first screen of `choose`: the answer, why, and what would change it, in 24 lines of 80 columns."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len

from selector.decide.evaluate import Evaluation
from selector.decide.results import ArrangementResult, Choice, LimitMove, Proof
from selector.inputs.install_text import text_of
from selector.physics.design_day import DesignDayResult
from selector.physics.fit import FittedUnit
from selector.report.cautions import short_cautions
from selector.report.lines import (
    LABEL,
    broken_text,
    cost_text,
    derived_texts,
    design_day_text,
    existing_text,
    humidity_text,
    labelled,
    limit_value,
    marks,
    running_text,
    set_back_text,
    standing_defaults,
)
from selector.report.terminal import Line, Screen, plain_lines
from selector.report.text import (
    PLACES,
    WIDTH,
    Show,
    clean,
    command,
    design_text,
    fit,
    pad,
    show_for,
)

HEIGHT = 24


@dataclass(frozen=True, slots=True)
class _Block:
    """Lines that belong together; `most` of them are kept, and of all blocks those with the highest `drop` go first."""

    lines: tuple[str, ...]
    drop: int = 0  # 0: always there
    style: bool = False


def choose_screen(
    *, choice: Choice, days: tuple[DesignDayResult, ...], fitted: tuple[FittedUnit, ...]
) -> Screen:
    """Write the first screen.

    Args: choice; days, the design days of the answer; fitted, units of the catalogue.
    Returns: at most 24 lines of at most 80 columns.
    """
    show = show_for(choice.site)
    shown = answer_of(choice)
    blocks = [_Block((_title(choice),), style=True), *_answer(choice, shown, days, fitted, show)]
    blocks += _others(choice, show)
    blocks += _end(choice, shown)
    while sum(len(block.lines) for block in blocks) > HEIGHT:
        last = max(blocks, key=lambda block: block.drop)
        if last.drop == 0:
            break
        blocks.remove(last)
    lines = [
        Line(fit(clean(text), WIDTH), "bold" if block.style else "")
        for block in blocks
        for text in block.lines
    ]
    return tuple(lines[:HEIGHT])


def answer_of(choice: Choice) -> Evaluation:
    """The design that a choice is about.

    Args: choice.
    Returns: the best; where nothing is possible the nearest, or the existing system.
    """
    return choice.best or choice.closest or choice.existing


def _title(choice: Choice) -> str:
    words = marks(choice.site)
    return f"{fit(clean(choice.site.name), max(10, WIDTH - 2 - cell_len(words)))}: {words}"


def _wrap(label: str, text: str, most: int) -> tuple[str, ...]:
    """Wrap a labelled text into at most so many lines."""
    lines = plain_lines((Line(labelled(label, text), indent=LABEL),))
    if len(lines) <= most:
        return lines
    rest = " ".join(line.strip() for line in lines[most - 1 :])
    start = "" if most == 1 else " " * LABEL
    return (*lines[: most - 1], fit(start + rest, WIDTH))


def _answer(
    choice: Choice,
    shown: Evaluation,
    days: tuple[DesignDayResult, ...],
    fitted: tuple[FittedUnit, ...],
    show: Show,
) -> list[_Block]:
    site = choice.site
    several = len(shown.limits) > 1
    blocks: list[_Block] = []
    if choice.best is None:
        blocks.append(
            _Block(_wrap("Answer", f"NOT POSSIBLE within the limits: {choice.proof.reason}", 2), style=True)
        )
        blocks.append(_Block(_wrap("Nearest", _nearest(choice), 2)))
        for place, one in enumerate(shown.broken):
            if not one.limit.startswith("humidity"):
                blocks.append(_Block(_wrap("Broken", broken_text(one, show), 1), drop=place * 10))
    elif not shown.install:
        blocks.append(
            _Block(_wrap("Install", "NOTHING: the existing system keeps every limit", 1), style=True)
        )
    else:
        blocks.append(_Block(_wrap("Install", design_text(shown.install), 2), style=True))
        places = dict.fromkeys(part.arrangement for part in shown.install)
        where = "; ".join(PLACES[name] for name in places)
        blocks.append(_Block(_wrap("Where", where, 1), drop=60))
    for text in derived_texts(shown.install, fitted)[:2]:
        blocks.append(_Block(_wrap("Derived", text, 1)))
    for result in shown.limits[:2]:
        blocks.append(
            _Block(_wrap("Humidity", humidity_text(result, show, name=several), 2 if several else 1))
        )
    if len(shown.limits) > 2:
        blocks.append(_Block(_wrap("", f"and {len(shown.limits) - 2} more limits: --details", 1)))
    set_back = set_back_text(shown)
    if set_back:
        blocks.append(_Block(_wrap("", set_back, 1), drop=40))
    if choice.best is None or shown.install:
        blocks.append(_Block(_wrap("Existing", existing_text(choice.existing, show, name=several), 1)))
    for day in days[:1]:
        blocks.append(_Block(_wrap("Design day", design_day_text(day, site, show), 1), drop=50))
    blocks.append(_Block(_wrap("Too warm", _warm(choice, shown), 1), drop=45))
    if choice.best is None:
        blocks += [
            _Block(_wrap("Would do" if place == 0 else "", _move(move, show), 1), drop=20 + place)
            for place, move in enumerate(choice.moves[:5])
        ]
    else:
        blocks.append(_Block(_wrap("Margin", _margin(choice, show), 2)))
    blocks.append(_Block(_wrap("Cost", cost_text(shown, site, show), 1)))
    if shown.install:
        blocks.append(_Block(_wrap("Units", running_text(shown, show), 1)))
    return blocks


def _nearest(choice: Choice) -> str:
    if choice.closest is None:
        return "no design could be simulated; the existing system is shown"
    return design_text(choice.closest.install)


def _warm(choice: Choice, shown: Evaluation) -> str:
    extra = choice.site.limits.extra_hours_too_warm
    allowed = "" if extra is None else f" ({choice.existing.hours_too_warm + extra:,.0f} allowed)"
    before = f"{choice.existing.hours_too_warm:,} h/year with the existing system"
    return f"{shown.hours_too_warm:,} h/year{allowed}; {before}"


def _margin(choice: Choice, show: Show) -> str:
    words = []
    margin = choice.margin
    if margin is not None:
        least = "at least " if margin.at_least else ""
        words.append(
            f"holds with {least}{show(margin.extra_vapour, 'moisture_rate', 3)} more moisture all year "
            f"({least}{100.0 * margin.share:.0f} % of the mean load)"
        )
    out = choice.one_out
    if out is not None:
        held = "still holds" if out.feasible else "not held"
        words.append(
            f"one {out.model} out: {out.hours_above:,} h/year above, at most "
            f"{show(out.maximum_relative_humidity, 'fraction')} RH, {held}"
        )
    return "; ".join(words) or "not worked out"


def _move(move: LimitMove, show: Show) -> str:
    name = clean(move.limit)
    now = limit_value(move.now, move.unit, show)
    if move.needed is None:
        return f"{name}: now {now}; moving it alone does not help"
    return f"{name}: {limit_value(move.needed, move.unit, show)} instead of {now} ({move.status})"


def _others(choice: Choice, show: Show) -> list[_Block]:
    chosen = {part.arrangement for part in choice.best.install} if choice.best is not None else set()
    rows = [one for one in choice.by_arrangement if one.arrangement not in chosen]
    if not rows:
        return []
    heading = "Others, each at its best: extra life-cycle cost, and why it lost"
    if choice.best is None:
        heading = "Nearest of each arrangement, and why it is not possible"
    elif not choice.best.install:
        heading = "Each arrangement at its best: extra life-cycle cost, and why it lost"
    return [_Block((heading,), drop=30), *(_Block((_other(one, show),)) for one in rows)]


def _other(one: ArrangementResult, show: Show) -> str:
    design = one.best or one.closest
    what = "none" if design is None else design_text(design.install).replace(f" {one.arrangement}", "")
    if one.best is not None and one.extra_cost is not None:
        extra = f"+{show(one.extra_cost, 'money')}"
    elif design is not None:
        extra = f"{design.hours_above:,} h above"
    else:
        extra = ""
    width = max(21, min(30, cell_len(what)))
    return f"  {one.arrangement:<12} {pad(what, width)} {extra:>13}  {clean(one.reason)}"


def proof_text(proof: Proof, currency: str) -> str:
    """The proof in a line.

    Args: proof; currency. Returns: text.
    """
    excluded = sum(proof.excluded_by.values())
    gap = (
        f"gap {100.0 * proof.gap:.2f} % ({proof.gap_money:,.0f} {currency}); "
        if proof.status != "not possible"
        else ""
    )
    return (
        f"{proof.status}: {proof.designs_possible:,} designs, {proof.designs_simulated:,} simulated, "
        f"{excluded:,} accounted for by rules and stops; {gap}{proof.year_equivalents:,.1f} year-equivalents"
    )


def _end(choice: Choice, shown: Evaluation) -> list[_Block]:
    site = choice.site
    defaults = standing_defaults(site)
    blocks = [_Block(_wrap("Proof", proof_text(choice.proof, site.costs.currency), 2))]
    if choice.proof.status == "best-found":
        blocks.append(_Block(_wrap("", choice.proof.reason, 1)))
    if defaults:
        names = ", ".join(one.key for one in defaults)
        blocks.append(
            _Block(_wrap("Defaults", f"{len(defaults)} of {len(site.assumptions)} values: {names}", 1))
        )
    blocks.append(_Block(_wrap("Cautions", short_cautions(site=site, install=shown.install), 2)))
    blocks.append(_Block(_wrap("Next", next_command(choice), 1)))
    return blocks


def next_command(choice: Choice) -> str:
    """The command that is worth running next.

    Args: choice. Returns: text that can be pasted into a shell.
    """
    site = choice.site
    if choice.proof.status == "best-found":
        return command("choose", site.file, "--work-years", f"{10.0 * site.limits.work_years:g}")
    if choice.best is None and choice.closest is not None and choice.closest.install:
        parts = [word for part in choice.closest.install for word in ("--install", text_of(part))]
        return command("simulate", site.file, *parts)
    if standing_defaults(site):
        return command("check", site.file, "--defaults")
    return command("choose", site.file, "--details")
