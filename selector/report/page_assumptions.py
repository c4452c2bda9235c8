"""The page's record of every value that the run used, by where it came from, and of those that could change the answer.

Units: each value in the reader's own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from selector.inputs.site import Assumption, Site
from selector.report.lines import rests_on, standing_defaults
from selector.report.page_figures import Figures, dimension_of
from selector.report.page_parts import Block, Heading, Paragraph, Section, Table, Text, say
from selector.report.text import clean

ORIGINS: dict[str, str] = {
    "given": "Given in the site file",
    "helper": "Worked out from something else that was given",
    "profile": "From the profile of the building's use",
    "default": "Defaults",
    "fitted": "Fitted to rating rows",
}


def assumptions_section(*, assumptions: Sequence[Assumption], site: Site, figures: Figures) -> Section:
    """Every value by where it came from.

    Args: assumptions, in the order in which JSON has them; site; figures of the whole result.
    Returns: section.
    """
    blocks: list[Block] = [
        Paragraph(
            f"{clean(rests_on(site)).capitalize()}. A first estimate as long as one of the defaults stands."
            if standing_defaults(site)
            else "Every value that could change the answer was given."
        ),
        *_changes(site, figures),
    ]
    for origin, words in ORIGINS.items():
        rows = [
            _assumption(place, one, site, figures)
            for place, one in enumerate(assumptions)
            if one.origin == origin
        ]
        if rows:
            heads = ("Key of the site file", "Value", "Low to high", "Source, in its own units")
            blocks.append(Table(f"{words} ({len(rows)})", heads, tuple(rows), frozenset()))
    return Section("assumptions", "Assumptions by origin", tuple(blocks))


def _assumption(place: int, one: Assumption, site: Site, figures: Figures) -> tuple[Text, ...]:
    value: Text = clean(str(one.value))
    between: Text = ""
    if not isinstance(one.value, str):

        def shown(part: str) -> Text:
            key = f"assumptions.{place}.{part}"
            return value_text(
                key=key, name=one.key, unit=one.unit, currency=site.costs.currency, figures=figures
            )

        value = shown("value")
        if one.low is not None and one.high is not None:
            between = say("{} to {}", shown("low"), shown("high"))
    return clean(one.key), value, between, clean(one.source)


def value_text(*, key: str, name: str, unit: str, currency: str, figures: Figures) -> Markup:
    """Write the value of an assumption in the reader's units.

    Args: key, of the figure; name, the assumption's key in the site file; unit, SI; currency; figures.
    Returns: figure with its unit.
    """
    dimension = dimension_of(key=name, unit=unit, currency=currency)
    if dimension is None:
        number = figures(key, "plain", digits=4)
        return say("{} {}", number, unit) if unit else number
    return figures(key, dimension, digits=4, decimals=1 if dimension in ("percent", "fraction") else None)


def _changes(site: Site, figures: Figures) -> list[Block]:
    """Uncertain values that could change the answer, where that was tried."""
    found: Mapping[str, Any] | None = figures.get("what_would_change")
    if found is None:
        return []
    rows: list[tuple[Text, ...]] = []
    for place, one in enumerate(found["assumptions"]):
        if not one["changes"]:
            continue
        key = f"what_would_change.assumptions.{place}"

        def shown(part: str, one: Mapping[str, Any] = one, key: str = key) -> Markup:
            return value_text(
                key=f"{key}.{part}",
                name=one["key"],
                unit=one["unit"],
                currency=site.costs.currency,
                figures=figures,
            )

        ends: list[Text] = []
        for end in ("low", "high"):
            tried = one[end]
            if tried is None:
                ends.append("not tried")
                continue
            ends.append(say("{}: {}", shown(f"{end}.value"), _outcome(tried)))
        rows.append((clean(one["key"]), shown("value"), *ends))
    tried = len(found["assumptions"])
    heading = Heading("What would change the answer", "what-would-change")
    compared = "Each uncertain value was set to its low and its high, one at a time, and a few designs compared there"
    if not rows:
        return [heading, Paragraph(f"{compared}: none of {tried} changes the answer.")]
    caption = f"{compared}: {len(rows)} of {tried} change the answer"
    return [
        heading,
        Table(caption, ("Key of the site file", "Used", "At its low", "At its high"), tuple(rows)),
    ]


def _outcome(tried: Mapping[str, Any]) -> str:
    if not tried["changes"]:
        return "the same answer"
    if tried["install"] is None:
        return "the chosen design no longer keeps every limit"
    parts = [f"{part['count']} {clean(part['model'])} {part['arrangement']}" for part in tried["install"]]
    return " + ".join(parts) or "install nothing"
