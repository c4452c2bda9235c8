"""The first screen of `choose`: the answer, why, and what would change it, in 24 lines of 80 columns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isnan

from rich.cells import cell_len

from selector.decide.evaluate import Evaluation
from selector.decide.hot_air import HotAir
from selector.decide.limits import hours_limit, target_of
from selector.decide.results import ArrangementResult, Choice, LimitMove, Proof
from selector.decide.what_would_change import WhatWouldChange
from selector.inputs.install_text import text_of
from selector.inputs.site import Arrangement
from selector.physics.design_day import DesignDayResult
from selector.physics.fit import FittedUnit
from selector.report.cautions import short_cautions
from selector.report.key_names import limit_name, name_of
from selector.report.lines import (
    LABEL,
    NAME,
    broken_text,
    cost_text,
    derived_texts,
    design_day_text,
    existing_text,
    humidity_text,
    labelled,
    limit_value,
    rests_on,
    running_text,
    set_back_text,
    standing_defaults,
    title,
    unsettled_texts,
)
from selector.report.terminal import Line, Screen, plain_lines
from selector.report.text import (
    WIDTH,
    Show,
    clean,
    command,
    design_text,
    design_within,
    fit,
    pad,
    plural,
    show_for,
)

HEIGHT = 24
NOT_REACHED = "not reached"  # the proof's name for designs that the limit of work left out

# where an arrangement's units stand, in few words; `text.PLACES` has more
WHERE: dict[Arrangement, str] = {
    "return-side": "return duct, before outdoor air",
    "supply-side": "supply duct, after the coil",
    "coil-bypass": "return to supply duct, around the coil",
    "standalone": "in the space itself",
    "outdoor-air": "ventilation air, before it mixes",
}


@dataclass(frozen=True, slots=True)
class _Block:
    """Lines that belong together; `most` of them are kept, and of all blocks those with the highest `drop` go first."""

    lines: tuple[str, ...]
    drop: int = 0  # 0: always there
    style: bool = False


def choose_screen(
    *,
    choice: Choice,
    days: tuple[DesignDayResult, ...],
    fitted: tuple[FittedUnit, ...],
    what_if: WhatWouldChange | None = None,
) -> Screen:
    """Write the first screen.

    Args: choice; days, the design days of the answer; fitted, units of the catalogue; what_if, what would change the
        answer, None where that was not tried.
    Returns: at most 24 lines of at most 80 columns.
    """
    show = show_for(choice.site)
    shown = answer_of(choice)
    estimate = None if what_if is None else is_estimate(choice=choice, what_if=what_if)
    first = _Block((title(choice.site, WIDTH, estimate=estimate),), style=True)
    blocks = [first, *_answer(choice, shown, days, fitted, show)]
    blocks += _others(choice, show)
    blocks += _end(choice, shown, what_if)
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


def is_estimate(*, choice: Choice, what_if: WhatWouldChange) -> bool:
    """Say whether an answer that rests on defaults is a first estimate.

    Args: choice; what_if, what would change it.
    Returns: false where it is proved and no value that was tried changes it.
    """
    return choice.proof.status == "best-found" or bool(what_if.could_change)


def answer_of(choice: Choice) -> Evaluation:
    """The design that a choice is about.

    Args: choice.
    Returns: the best; where nothing is possible the nearest, or the existing system.
    """
    return choice.best or choice.closest or choice.existing


def _wrap(label: str, text: str, most: int) -> tuple[str, ...]:
    """Wrap a labelled text into at most so many lines."""
    lines = plain_lines((Line(labelled(label, text), indent=LABEL),))
    if len(lines) <= most:
        return lines
    first = " " * LABEL if most > 1 else ""
    rest = first + " ".join(line.strip() if place else line for place, line in enumerate(lines[most - 1 :]))
    return (*lines[: most - 1], fit(rest if most == 1 else first + rest.strip(), WIDTH))


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
        words = f"{choice.answer.upper()}: {choice.proof.reason}"
        blocks.append(_Block(_wrap("Answer", words, 1), style=True))
        blocks += _placed("Nearest", choice.closest, _nearest(choice))
        others = [broken_text(one, show) for one in shown.broken if target_of(one.limit) is None]
        if others:
            blocks.append(_Block(_wrap("Broken", "; ".join(others), 2)))
    elif not shown.install:
        blocks.append(
            _Block(_wrap("Install", "NOTHING: the existing system keeps every limit", 1), style=True)
        )
    else:
        blocks += _placed("Install", shown, design_text(shown.install))
    for place, text in enumerate(derived_texts(shown.install, fitted)[:2]):
        blocks.append(_Block(_wrap("Derived", text, 1), drop=0 if choice.best else 4 * place))
    for result in shown.limits[:2]:
        blocks.append(_Block(_wrap("Humidity", humidity_text(result, show, name=several), 2)))
    if len(shown.limits) > 2:
        blocks.append(_Block(_wrap("", f"and {len(shown.limits) - 2} more limits: --details", 1), drop=3))
    set_back = set_back_text(shown)
    if set_back:
        blocks.append(_Block(_wrap("", set_back, 1), drop=40))
    if choice.best is None or shown.install:
        blocks.append(_Block(_existing(choice, show)))
    for day in days[:1]:
        blocks.append(_Block(_wrap("Design day", design_day_text(day, show), 2), drop=50))
    blocks.append(_Block(_wrap("Too warm", _warm(choice, shown), 1), drop=45))
    if choice.best is None:
        # what helps comes first, and the first two stay whatever else has to go
        blocks += [
            _Block(
                _wrap("Would do" if place == 0 else "", move_text(move, show), 1),
                drop=0 if place < 2 and move.needed is not None else 8 + 10 * place,
            )
            for place, move in enumerate(sorted(choice.moves, key=lambda one: one.needed is None)[:5])
        ]
    else:
        blocks += [_Block(_wrap(label, text, 1)) for label, text in _margin(choice, show)]
    blocks.append(_Block(_wrap("Cost", cost_text(shown, site, show), 1)))
    if shown.install:
        blocks.append(
            _Block(_wrap("Units", running_text(shown, site, show), 2), drop=0 if choice.best else 6)
        )
    blocks += [_Block(_wrap("Hot air", _hot(one, show), 1), drop=2) for one in shown.hot_air]
    blocks += [_Block(_wrap("Unsettled", text, 2), drop=1) for text in unsettled_texts(shown)]
    return blocks


def _existing(choice: Choice, show: Show) -> tuple[str, ...]:
    """The existing system alone; where its worst hours have no room they are left out, its cost is not."""
    name = len(choice.existing.limits) > 1
    most = 2 if name else 1
    for worst in (True, False):
        text = existing_text(choice.existing, show, name=name, worst=worst)
        if len(plain_lines((Line(labelled("Existing", text), indent=LABEL),))) <= most:
            break
    return _wrap("Existing", text, most)


def _placed(label: str, shown: Evaluation | None, text: str) -> list[_Block]:
    """A design and where it stands: in one line where both fit, else the place has a line of its own."""
    bold = label == "Install"
    names = dict.fromkeys(part.arrangement for part in shown.install) if shown is not None else {}
    where = "; ".join(WHERE[name] for name in names)
    lines = _wrap(label, f"{text} ({where})" if where else text, 2)
    if len(lines) == 1 or not where:
        return [_Block(lines, style=bold)]
    return [_Block(_wrap(label, text, 2), style=bold), _Block(_wrap("Where", where, 1), drop=60)]


def _nearest(choice: Choice) -> str:
    if choice.closest is None:
        return "no design could be simulated; the existing system is shown"
    return design_text(choice.closest.install)


def _warm(choice: Choice, shown: Evaluation) -> str:
    allowed = "" if choice.warm_allowed is None else f" ({choice.warm_allowed:,.0f} allowed)"
    before = f"{choice.existing.hours_too_warm:,} h/year with the existing system"
    return f"{shown.hours_too_warm:,} h/year{allowed}; {before}"


def _hot(one: HotAir, show: Show) -> str:
    """Leaving air hotter than a unit's circuit is likely to bear, in a line; `--details` has more."""
    return (
        f"{fit(clean(one.model), 20)}: {one.hours:,} h/year above {show(one.highest, 'temperature')} leaving it: "
        "--details"
    )


def _margin(choice: Choice, show: Show) -> list[tuple[str, str]]:
    """How much more the design can take, and what one unit out would do; a line each."""
    lines: list[tuple[str, str]] = []
    margin, out = choice.margin, choice.one_out
    if margin is not None:
        least = "at least" if margin.at_least else "holds with"
        text = (
            f"{least} {show(margin.extra_vapour, 'moisture_rate', 3)} more moisture all year "
            f"({100.0 * margin.share:.0f} % of the mean load)"
        )
        if margin.extra_vapour <= 0.0:
            text = "none: any more moisture breaks a limit"
        lines.append(("Margin", text))
    if out is not None:
        held = "still holds" if out.feasible else "NOT held"
        text = (
            f"{clean(out.model)} out: {out.hours_above:,} h/year above, worst "
            f"{show.limited(out.kind, out.worst)}: {held}"
        )
        lines.append(("Unit out", text))
    return lines


def move_text(move: LimitMove, show: Show) -> str:
    """How far a limit would have to move, by itself.

    Args: move; show. Returns: text, in a line.
    """
    target = target_of(move.limit)
    name = limit_name(move.limit) if target is None else hours_limit(fit(clean(target), NAME))
    now = limit_value(move.now, move.unit, show)
    status = "proved" if move.status == "proved" else "best tried"
    if move.needed is None:
        helps = "does not help" if move.status == "does not help" else "helps none of the designs tried"
        return f"{name}: now {now}; alone it {helps}"
    return f"{name}: {limit_value(move.needed, move.unit, show)} instead of {now} ({status})"


def _others(choice: Choice, show: Show) -> list[_Block]:
    chosen = {part.arrangement for part in choice.best.install} if choice.best is not None else set()
    rows = [one for one in choice.by_arrangement if one.arrangement not in chosen]
    if not rows:
        return []
    heading = f"Others at their best, extra life-cycle cost [{show.currency}], why they lost:"
    if choice.best is None:
        why = ", and why it is not possible" if choice.answer == "not possible" else ""
        heading = f"Nearest of each arrangement{why}:"
    elif not choice.best.install:
        heading = f"Arrangements at their best, extra life-cycle cost [{show.currency}]:"
    return [_Block((heading,), drop=30), *(_Block((_other(one),)) for one in rows)]


def _other(one: ArrangementResult) -> str:
    design = one.best or one.closest
    if design is None:
        return f"  {one.arrangement:<11} none: {clean(one.reason)}"
    what = design_within(design.install, one.arrangement)
    if one.best is not None and one.extra_cost is not None:
        extra, reason = f"+{one.extra_cost:,.0f}", one.reason
    else:
        extra, reason = "none", _why(design, one.reason)
    return f"  {one.arrangement:<11} {pad(what, 35)} {extra:>9}  {clean(reason)}"


def _why(design: Evaluation, reason: str) -> str:
    """The first thing that the nearest design breaks."""
    if not design.broken:
        return reason
    first = design.broken[0]
    if target_of(first.limit) is not None:
        return f"{design.hours_above:,} h/year above"
    return first.limit


def proof_text(proof: Proof, currency: str) -> str:
    """The proof in a line.

    Args: proof; currency. Returns: text.
    """
    gap = "" if isnan(proof.gap_money) else f"gap {proof.gap_money:,.0f} {currency}; "
    open_ones = proof.excluded_by.get(NOT_REACHED, 0)
    rest = proof.designs_possible - proof.designs_simulated - open_ones
    left = f", {open_ones:,} not reached" if open_ones else ""
    return (
        f"{proof.status}; {proof.designs_possible:,} designs: {proof.designs_simulated:,} simulated, "
        f"{rest:,} excluded by rules{left}; {gap}{proof.year_equivalents:,.1f} year-equivalents"
    )


def proof_line(proof: Proof, currency: str) -> str:
    """The proof as the first screen shows it: shorter where it is complete, since nothing is left open then.

    Args: proof; currency. Returns: text.
    """
    if proof.status == "best-found":
        return proof_text(proof, currency)
    years = proof.year_equivalents
    word = "optimal" if proof.status == "optimal" else "proved"
    return (
        f"{word}: {proof.designs_simulated:,} of {proof.designs_possible:,} designs simulated, "
        f"{years:,.{0 if years >= 100.0 else 1}f} year-equivalents"
    )


def _end(choice: Choice, shown: Evaluation, what_if: WhatWouldChange | None) -> list[_Block]:
    site = choice.site
    blocks = [_Block(_wrap("Proof", proof_line(choice.proof, site.costs.currency), 2))]
    if choice.proof.status == "best-found":
        blocks.append(_Block(_wrap("", choice.proof.reason, 1)))
    blocks.append(_Block(_wrap("Defaults", rests_on(site), 1)))
    if what_if is not None and what_if.effects:
        blocks.append(_Block(_wrap("Sensitive", sensitive_text(what_if), 1), drop=1 if choice.best else 7))
    blocks.append(_Block(_wrap("Cautions", short_cautions(site=site, install=shown.install), 2)))
    blocks.append(_Block(_wrap("Next", _next(choice), 2)))
    return blocks


def _next(choice: Choice) -> str:
    """The command to run next; SITE stands for a path too long for its line, so that no answer gives way to it."""
    words = next_command(choice)
    if LABEL + cell_len(words) <= WIDTH:
        return words
    return next_command(replace(choice, site=replace(choice.site, file="SITE")))


def sensitive_text(what_if: WhatWouldChange) -> str:
    """Name the uncertain values that could change the answer, as many as there is room for.

    Args: what_if. Returns: text.
    """
    changing, tried = what_if.could_change, len(what_if.effects)
    if not changing:
        return f"to none of {tried} uncertain values, low or high ({plural(len(what_if.compared), 'design')} compared)"
    names = [name_of(one.key) for one in changing]
    texts = [f"to {len(changing)} of {tried} uncertain values: {'; '.join(names)}"]
    texts += [
        f"to {len(changing)} of {tried} uncertain values: {'; '.join(names[:kept])} and {len(names) - kept} more"
        for kept in range(len(names) - 1, 0, -1)
    ]
    return next((text for text in texts if cell_len(text) <= WIDTH - LABEL), texts[-1])


def next_command(choice: Choice) -> str:
    """The command that is worth running next.

    Args: choice. Returns: text that can be pasted into a shell.
    """
    site = choice.site
    if choice.proof.stopped_by == "clock":
        return command("choose", site.file)
    if choice.proof.stopped_by == "work":
        return command("choose", site.file, "--work-years", f"{10.0 * site.limits.work_years:g}")
    if choice.best is None and choice.closest is not None and choice.closest.install:
        parts = [word for part in choice.closest.install for word in ("--install", text_of(part))]
        return command("simulate", site.file, *parts)
    if standing_defaults(site):
        return command("check", site.file, "--defaults")
    return command("choose", site.file, "--details")
