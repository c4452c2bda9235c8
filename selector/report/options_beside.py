"""Options that are no units, shown beside a choice: below its screen, and in its JSON."""

from __future__ import annotations

from typing import Any

from selector.decide.choose_options import OptionBeside
from selector.report.lines import LABEL, labelled
from selector.report.terminal import Line, Screen
from selector.report.text import Show, clean


def options_screen(*, beside: tuple[OptionBeside, ...], possible: bool, show: Show) -> Screen:
    """Write the options beside a choice.

    Args: beside, at least one; possible, whether a design with new units keeps every limit; show.
    Returns: lines of at most 80 columns.
    """
    best = next((one for one in beside if one.beats), None)
    words = "none beats the design above" if possible else "none keeps every limit either"
    if best is not None:
        what = "BEATS the design above" if possible else "KEEPS EVERY LIMIT, as no new units do"
        words = f"{clean(best.option.name)} {what}"
    lines = [f"{words}; each simulated in full, without new units, and not among the designs counted above"]
    for one in beside:
        costs = f"{show(one.first, 'money', 9)} first, {show(one.life_cycle, 'money', 9)} life-cycle"
        holds = "keeps every limit" if one.feasible else f"breaks: {', '.join(map(clean, one.broken))}"
        lines.append(f"{clean(one.option.name)}: {costs}; {holds}")
    return tuple(
        Line(
            labelled("Options" if place == 0 else "", text),
            "bold" if place == 0 and best is not None else "",
            LABEL,
        )
        for place, text in enumerate(lines)
    )


def options_json(*, beside: tuple[OptionBeside, ...]) -> list[dict[str, Any]]:
    """Write the options beside a choice.

    Args: beside. Returns: a list, money in the site's currency.
    """
    return [
        {
            "name": one.option.name,
            "kind": None if one.option.change is None else one.option.change.kind,
            "feasible": one.feasible,
            "limits_broken": list(one.broken),
            "first": one.first,
            "annual_operating": one.annual_operating,
            "life_cycle": one.life_cycle,
            "hours_above": one.hours_above,
            "beats_best_design": one.beats,
        }
        for one in beside
    ]
