"""The page: one HTML file that carries the whole argument, opens from disk and asks no network for anything.

The same results give the same bytes but for the date. Names that people gave are shown as text, whatever they hold.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from selector.decide.compare import Comparison
from selector.decide.results import Choice
from selector.decide.sweep_results import Sweep
from selector.inputs.site import Site
from selector.money.installation import invented_prices
from selector.physics.prepare import Prepared
from selector.report.json_report import to_text
from selector.report.lines import standing_defaults
from selector.report.page_choice import choice_sections
from selector.report.page_compare import comparison_sections
from selector.report.page_figures import Figures
from selector.report.page_parts import Section, Slider
from selector.report.page_sweep import sweep_sections
from selector.report.text import clean, show_for

_FOLDER = Path(__file__).parent
TEMPLATE, STYLE, SCRIPT = "page.html.jinja", "page.css", "page.js"


def page_of_choice(
    *, choice: Choice, prepared: Prepared, result: Mapping[str, Any], today: date | None = None
) -> str:
    """Write the page of a choice.

    Args: choice; prepared, its site; result, what JSON says of it; today, the date that stands on the page, the current
        one unless given.
    Returns: HTML.
    """
    plain = _plain(result)
    figures = Figures(plain, show_for(choice.site))
    sections = choice_sections(choice=choice, prepared=prepared, figures=figures, today=today or date.today())
    return _render(
        site=choice.site,
        kind="Choice of dehumidifiers",
        sections=sections,
        estimate=bool(plain["first_estimate"]),
    )


def page_of_comparison(
    *, comparison: Comparison, prepared: Prepared, result: Mapping[str, Any], today: date | None = None
) -> str:
    """Write the page of a comparison.

    Args: as `page_of_choice`, with comparison. Returns: HTML.
    """
    plain = _plain(result)
    figures = Figures(plain, show_for(comparison.site))
    sections = comparison_sections(
        comparison=comparison, prepared=prepared, figures=figures, today=today or date.today()
    )
    return _render(
        site=comparison.site,
        kind="Options side by side",
        sections=sections,
        estimate=bool(plain["first_estimate"]),
    )


def page_of_sweep(
    *, sweep: Sweep, prepared: Prepared, result: Mapping[str, Any], today: date | None = None
) -> str:
    """Write the page of a sweep.

    Args: as `page_of_choice`, with sweep. Returns: HTML.
    """
    plain = _plain(result)
    figures = Figures(plain, show_for(sweep.site))
    sections = sweep_sections(sweep=sweep, prepared=prepared, figures=figures, today=today or date.today())
    return _render(
        site=sweep.site, kind="What if it changes", sections=sections, estimate=bool(plain["first_estimate"])
    )


def _plain(result: Mapping[str, Any]) -> dict[str, Any]:
    """A result as it is read back from JSON."""
    plain: dict[str, Any] = json.loads(to_text(result))
    return plain


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _render(*, site: Site, kind: str, sections: Sequence[Section], estimate: bool) -> str:
    """Fill the template."""
    environment = Environment(
        loader=FileSystemLoader(_FOLDER),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["symbol"] = symbol
    moves = any(isinstance(block, Slider) for section in sections for block in section.blocks)
    script = (_FOLDER / SCRIPT).read_text(encoding="utf-8") if moves else ""
    style = (_FOLDER / STYLE).read_text(encoding="utf-8")
    marks = []
    if estimate:
        marks.append("First estimate: defaults stand that may change the answer.")
    elif standing_defaults(site):
        marks.append("Defaults stand; none that was tried changes the answer.")
    if site.weather.kind == "synthetic":
        marks.append("Synthetic weather, no record of real hours.")
    if invented_prices(site=site):
        marks.append("Invented prices, not for a bid.")
    return environment.get_template(TEMPLATE).render(
        name=clean(site.name),
        kind=kind,
        marks=marks,
        sections=sections,
        style=Markup(style),
        script=Markup(script),
        script_hash=_hash(script) if script else "",
    )


def symbol(text: str) -> Markup:
    """Set the index of a symbol below its line, in an equation too.

    >>> symbol("w_m = w_o")
    Markup('w<sub>m</sub> = w<sub>o</sub>')

    Args: text. Returns: `Markup`.
    """
    escaped = str(Markup.escape(text))
    return Markup(re.sub(r"([A-Za-z])_([A-Za-z0-9]+)", r"\1<sub>\2</sub>", escaped))
