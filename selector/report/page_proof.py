"""What an answer rests on: the proof, and the audit of the balances."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from selector.decide.results import Choice
from selector.report.choose_screen import answer_of
from selector.report.page_figures import Figures
from selector.report.page_parts import Block, Pairs, Table, Text
from selector.report.text import clean, design_text

ALONE = "the existing system alone"


def proof_pairs(*, proof: Mapping[str, Any], figures: Figures) -> tuple[tuple[str, Text], ...]:
    """What the answer rests on.

    Args: proof, as JSON has it; figures of the result that holds it. Returns: names and texts.
    """
    pairs: list[tuple[str, Text]] = [
        ("Status", clean(proof["status"])),
        ("Reason", clean(proof["reason"])),
        ("Designs possible", figures("proof.designs_possible", "count")),
        ("Designs simulated", figures("proof.designs_simulated", "count")),
    ]
    if proof["lower_bound"] is not None:
        pairs.append(("Lower bound of the life-cycle cost", figures("proof.lower_bound", "money")))
        pairs.append(("Gap to it", figures("proof.gap_money", "money")))
    pairs.append(("Simulation work", figures("proof.year_equivalents", "work")))
    return tuple(pairs)


def proof_blocks(*, choice: Choice, figures: Figures) -> tuple[Block, ...]:
    """What a choice rests on, and how well its balances close.

    Args: choice; figures of its result. Returns: blocks.
    """
    names = list(choice.proof.excluded_by)
    rows = tuple((clean(name), figures(f"proof.excluded_by.{name}", "count")) for name in names)
    blocks: list[Block] = [Pairs(proof_pairs(proof=figures.get("proof"), figures=figures))]
    if rows:
        blocks.append(
            Table(
                "Designs excluded, by the rule that excluded them", ("Rule", "Designs"), rows, frozenset({1})
            )
        )
    designs: list[tuple[str, Figures]] = [(ALONE, figures.under("existing_system"))]
    if answer_of(choice).install:
        designs.insert(0, (design_text(answer_of(choice).install), figures))
    for one in choice.by_arrangement:
        design = one.best or one.closest
        if design is not None and design.install != answer_of(choice).install:
            designs.append(
                (design_text(design.install), figures.under(f"best_by_arrangement.{one.arrangement}"))
            )
    return (*blocks, audit_table(designs=designs))


def audit_table(*, designs: list[tuple[str, Figures]]) -> Table:
    """How well the balances of each design close.

    Args: designs, name and figures each. Returns: table.
    """
    rows = tuple(
        (
            name,
            under("balance.moisture", "residual"),
            under("balance.energy", "residual"),
            under("unsettled_hours", "hours", unit=False),
        )
        for name, under in designs
    )
    heads = ("Design", "Moisture [-]", "Energy [-]", "Hours that did not settle [h]")
    caption = (
        "Balance audit: what is left over in the worst hour of the year, as a share of that hour's largest term; what "
        "is stored is taken from the states, not from the remainder"
    )
    return Table(caption, heads, rows, frozenset({1, 2, 3}))
