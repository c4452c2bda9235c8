"""The page's record of every value that the run used, by where it came from, and of those that could change the answer.

Units: each value in the reader's own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from markupsafe import Markup

from selector.inputs.site import Assumption, Site
from selector.report.key_names import name_of
from selector.report.lines import standing_defaults
from selector.report.page_figures import Figures, dimension_of
from selector.report.page_parts import Block, Heading, Paragraph, Section, Table, Text, say
from selector.report.text import clean, command

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
        Paragraph(_rests_on(site, bool(figures.result["first_estimate"]))),
        *_changes(site, figures),
    ]
    for origin, words in ORIGINS.items():
        rows = [
            _assumption(place, one, site, figures)
            for place, one in enumerate(assumptions)
            if one.origin == origin
        ]
        if rows:
            blocks.append(Table(f"{words} ({len(rows)})", *_without_ends(rows), frozenset()))
    return Section("assumptions", "Assumptions by origin", tuple(blocks))


def _rests_on(site: Site, estimate: bool) -> Markup:
    """How many values the answer rests on that nobody gave, and what kind of year the weather is."""
    synthetic = site.weather.kind == "synthetic"
    weather = f"The weather is {'synthetic' if synthetic else f'that of a {site.weather.kind}'}."
    standing = standing_defaults(site)
    if not standing:
        return say("Every value that could change the answer was given. {}", weather)
    rest = sum(one.origin in ("default", "profile") for one in site.assumptions) - len(standing)
    return say(
        "{} of {} values are defaults that bear on the answer{}; <code>{}</code> lists them. {} {}",
        f"{len(standing)}",
        f"{len(site.assumptions)}",
        f", {rest} more only on the search or on what is shown" if rest else "",
        command("check", Path(site.file).name, "--defaults"),
        "The answer is a first estimate as long as one of them may change it."
        if estimate
        else "None that was tried changes the answer.",
        weather,
    )


def _without_ends(
    rows: Sequence[tuple[Text, ...]],
) -> tuple[tuple[str, ...], tuple[tuple[Text, ...], ...]]:
    """Headings and rows, without the column of low and high where no row has any."""
    heads = (
        "Value of the run, and its key in the site file",
        "Value",
        "Low to high",
        "Source, in its own units",
    )
    kept = [at for at in range(len(heads)) if at != 2 or any(row[2] for row in rows)]
    return tuple(heads[at] for at in kept), tuple(tuple(row[at] for at in kept) for row in rows)


def key_text(key: str) -> Markup:
    """Name a value of the site file, with its key beside it that breaks between its words where it has no room.

    >>> key_text("space.floor_area")
    Markup('<span>floor area</span> <code class="key">space.<wbr>floor_<wbr>area</code>')

    Args: key. Returns: `Markup`.
    """
    words = Markup(re.sub(r"([._])", r"\1<wbr>", str(Markup.escape(clean(key)))))
    return say('<span>{}</span> <code class="key">{}</code>', name_of(key), words)


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
        if one.low is not None and one.high is not None and one.low != one.high:
            between = say("{} to {}", shown("low"), shown("high"))
    return key_text(one.key), value, between, clean(one.source)


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
        rows.append((key_text(one["key"]), shown("value"), *ends))
    tried = len(found["assumptions"])
    heading = Heading("What would change the answer", "what-would-change")
    compared = "Each uncertain value was set to its low and its high, one at a time, and a few designs compared there"
    if not rows:
        return [heading, Paragraph(f"{compared}: none of {tried} changes the answer.")]
    caption = f"{compared}: {len(rows)} of {tried} change the answer"
    return [
        heading,
        Table(
            caption,
            ("Uncertain value, and its key in the site file", "Used", "At its low", "At its high"),
            tuple(rows),
        ),
    ]


def _outcome(tried: Mapping[str, Any]) -> str:
    if not tried["changes"]:
        return "the same answer"
    if tried["install"] is None:
        return "the chosen design no longer keeps every limit"
    parts = [f"{part['count']} {clean(part['model'])} {part['arrangement']}" for part in tried["install"]]
    return " + ".join(parts) or "install nothing"
