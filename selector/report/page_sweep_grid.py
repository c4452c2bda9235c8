"""The page of a sweep of two things against each other."""

from __future__ import annotations

from selector.decide.sweep_results import Sweep
from selector.report.page_figures import Figures
from selector.report.page_parts import Block, Points, Table, Text
from selector.report.sweep_words import letters_of, none_text, title_of, values_of
from selector.report.text import design_text


def grid_blocks(*, sweep: Sweep, figures: Figures) -> list[Block]:
    """Write two tables of both values: what is chosen, and what it costs.

    Args: sweep, of two variations; figures of its result. Returns: blocks.
    """
    letters = letters_of(sweep)
    first, second = sweep.variations
    places = {step.values: place for place, step in enumerate(sweep.steps)}
    down, across = (values_of(site=sweep.site, variation=one, resolution=None) for one in sweep.variations)
    designs: list[tuple[Text, ...]] = []
    costs: list[tuple[Text, ...]] = []
    for value in first.values:
        row: list[Text] = [down(value)]
        cost: list[Text] = [down(value)]
        for other in second.values:
            place = places.get((value, other))
            step = None if place is None else sweep.steps[place]
            if step is None:
                row.append("not finished")
                cost.append("")
            elif step.install is None:
                row.append(none_text(sweep=sweep))
                cost.append("")
            else:
                row.append(letters[step.install])
                cost.append(figures(f"steps.{place}.costs.life_cycle", "money", unit=False))
        designs.append(tuple(row))
        costs.append(tuple(cost))
    heads = (
        f"{title_of(first)}, down; {title_of(second)}, across",
        *(across(value) for value in second.values),
    )
    columns = frozenset(range(1, len(heads)))
    legend = Points(tuple(f"{letter}: {design_text(install)}" for install, letter in letters.items()))
    return [
        legend,
        Table("What is chosen", heads, tuple(designs), wide=True),
        Table(figures.head("Its life-cycle cost", "money"), heads, tuple(costs), columns, wide=True),
    ]
