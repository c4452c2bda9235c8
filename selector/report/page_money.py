"""Costs of a design as cells of a table, and its bill of quantities."""

from __future__ import annotations

from markupsafe import Markup

from selector.decide.evaluate import Evaluation
from selector.inputs.quantities import display_value
from selector.inputs.site import Site
from selector.money.quantities import BillLine
from selector.report.bill_text import item_text
from selector.report.page_figures import Figures
from selector.report.page_parts import Block, Paragraph, Table, Text, join, say
from selector.report.text import clean, design_text

INVENTED = "Invented prices, not for a bid."


def cost_heads(*, figures: Figures) -> tuple[str, ...]:
    """Headings of `cost_cells`.

    Args: figures. Returns: headings with their units.
    """
    return (
        figures.head("First cost", "money"),
        figures.head("Electricity", "money_per_year"),
        figures.head("Gas", "money_per_year"),
        figures.head("Maintenance", "money_per_year"),
        figures.head("Together", "money_per_year"),
        figures.head("Life-cycle cost", "money"),
    )


def cost_cells(*, figures: Figures) -> tuple[Markup, ...]:
    """Costs of a design.

    Args: figures of it. Returns: cells.
    """
    yearly = ("electricity", "gas", "maintenance", "annual_operating")
    return (
        figures("costs.first", "money", unit=False),
        *(figures(f"costs.{name}", "money_per_year", unit=False) for name in yearly),
        figures("costs.life_cycle", "money", unit=False),
    )


def life_cycle_table(*, evaluation: Evaluation, figures: Figures) -> Table:
    """What the life-cycle cost of a design is the sum of, so that a reader can work it out again.

    Args: evaluation; figures of the design. Returns: table.
    """

    def row(name: str, when: Text, part: str) -> tuple[Text, ...]:
        return name, when, figures(f"life_cycle_parts.{part}", "money", unit=False)

    def yearly(name: str) -> Markup:
        return say("{} at today's price", figures(f"costs.{name}", "money_per_year"))

    again: list[Text] = []
    left: list[Text] = []
    for place, one in enumerate(figures.get("life_cycle_parts.units")):
        unit = figures.under(f"life_cycle_parts.units.{place}")
        model = clean(one["model"])
        years = [unit(f"bought_again.{at}", "plain") for at in range(len(one["bought_again"]))]
        when = say("in year {}", join(years)) if years else "not within the study"
        again.append(
            say(
                "{} {} at {} each, after {}: {}",
                unit("count", "plain"),
                model,
                unit("price", "money"),
                unit("service_life", "years", decimals=None if one["service_life"] % 1 else 0),
                when,
            )
        )
        left.append(say("{} of the last {}'s life", unit("life_left", "fraction"), model))
    rows = [
        row("First cost", "today", "first"),
        row("Electricity", yearly("electricity"), "electricity"),
        row("Gas", yearly("gas"), "gas"),
        row("Maintenance", yearly("maintenance"), "maintenance"),
    ]
    if again:
        rows.append(row("Units bought again", join(again, "; "), "replacement"))
        rows.append(row("What is left at the end", join(left, "; "), "residual"))
    rows.append(row("Life-cycle cost", say("over {}", figures.study_years()), "total"))
    return Table(
        f"Life-cycle cost of {design_text(evaluation.install)}: present values, by discount rate and escalations that "
        "stand among the assumptions; what falls in a year falls at its end",
        ("Part", "What falls when", figures.head("Present value", "money")),
        tuple(rows),
        frozenset({2}),
        frozenset({len(rows) - 1}),
    )


def bill_blocks(*, evaluation: Evaluation, site: Site, figures: Figures) -> tuple[Block, ...]:
    """What the first cost of a design is made of, and what else its units need.

    Args: evaluation; site; figures of the design. Returns: blocks, none where nothing is bought.
    """
    bill = evaluation.costs.quantities
    if not bill.lines:
        return ()
    rows: list[tuple[Text, ...]] = []
    for place, line in enumerate(bill.lines):
        key = f"costs.bill_of_quantities.lines.{place}"
        rows.append(
            (
                item_text(line),
                line.arrangement or "all",
                *_quantity_and_rate(line, figures, key),
                figures(f"{key}.amount", "price", unit=False),
                clean(line.origin),
            )
        )
    lines = len(rows)
    rows.append(("Total", "", "", "", figures("costs.bill_of_quantities.total", "price", unit=False), ""))
    if abs(evaluation.costs.first - bill.total) >= 0.01:
        words = "First cost, with work that is no part of any unit"
        rows.append((words, "", "", "", figures("costs.first", "price", unit=False), ""))
    code = bill.currency
    heads = (
        "Item, its size as its source has it",
        "Arrangement",
        "Quantity",
        f"Rate [{code}]",
        f"Amount [{code}]",
        "Origin of the price",
    )
    invented = "; " + INVENTED[0].lower() + INVENTED[1:-1] if bill.invented else ""
    table = Table(
        f"Bill of quantities of {design_text(evaluation.install)}{invented}",
        heads,
        tuple(rows),
        frozenset({2, 3, 4}),
        frozenset(range(lines, len(rows))),
        wide=True,
    )
    energy = say(
        "{}: {} of electricity{} a year, {}; {}{} together, {}.",
        "Units, the existing ones included" if site.existing_units else "New units",
        figures("energy_kwh.units", "kwh"),
        say(" and {} of gas", figures("energy_kwh.unit_gas", "kwh"))
        if evaluation.energy_kwh["unit_gas"] > 0.0
        else "",
        figures("units.specific_removal", "per_kwh", digits=3),
        "new ones " if site.existing_units else "",
        _current(evaluation, figures),
        figures("units.weight", "mass"),
    )
    sound = (
        say(" The loudest has {}.", figures("units.sound", "sound")) if evaluation.sound is not None else ""
    )
    return Paragraph(energy + sound), table


def _current(evaluation: Evaluation, figures: Figures) -> Markup:
    """Current of the new units; at several voltages that of each."""
    if evaluation.current is not None:
        return figures("units.current", "current")
    return Markup(", ").join(
        say(
            "{} at {}",
            figures(f"units.currents.{place}.current", "current"),
            figures(f"units.currents.{place}.voltage", "voltage"),
        )
        for place in range(len(evaluation.currents))
    )


def _quantity_and_rate(line: BillLine, figures: Figures, key: str) -> tuple[Markup, Markup]:
    """Quantity with its unit, and what one of that unit costs, with two decimals; a markup's rate is a share."""
    if line.unit == "m":  # the one unit of a bill that is not the same everywhere
        foot = 1.0 / display_value(1.0, "length", figures.show.units)
        quantity = figures(f"{key}.quantity", "length", decimals=2)
        return quantity, figures(f"{key}.rate", "price", unit=False, times=foot)
    quantity = say("{} {}", figures(f"{key}.quantity", "plain", decimals=2), clean(line.unit))
    if line.section == "markups":
        return quantity, figures(f"{key}.rate", "percent", decimals=2)
    return quantity, figures(f"{key}.rate", "price", unit=False)
