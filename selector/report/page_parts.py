"""What a page is made of: sections of texts, tables, pictures and a worked hour, in the order in which they are read.

Texts are either plain, and then written as they stand, whatever they hold, or `Markup` that this package made itself.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

if TYPE_CHECKING:
    from selector.report.charts_look import Chart

Text = str | Markup

_SIZE = re.compile(r'^(<svg\b[^>]*?) width="[^"]*"([^>]*>)', re.DOTALL)
_HEIGHT = re.compile(r'^(<svg\b[^>]*?) height="[^"]*"([^>]*>)', re.DOTALL)


def say(template: str, *parts: Text, **named: Text) -> Markup:
    """Put texts into a sentence of ours; what is not `Markup` is shown as text, whatever it holds.

    >>> say("Install {}.", "<b>")
    Markup('Install &lt;b&gt;.')

    Args: template, of ours; parts and named, that its braces stand for. Returns: `Markup`.
    """
    return Markup(template).format(*parts, **named)


def join(parts: Sequence[Text], between: str = ", ") -> Markup:
    """Join texts.

    Args: parts; between. Returns: `Markup`.
    """
    return Markup(between).join(parts)


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A text."""

    text: Text
    lead: bool = False  # the answer itself
    kind: str = "paragraph"


@dataclass(frozen=True, slots=True)
class Points:
    """Texts one below the other."""

    texts: tuple[Text, ...]
    kind: str = "points"


@dataclass(frozen=True, slots=True)
class Pairs:
    """Names and what belongs to each."""

    pairs: tuple[tuple[str, Text], ...]
    kind: str = "pairs"


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its first column names the row."""

    caption: Text
    heads: tuple[Text, ...]
    rows: tuple[tuple[Text, ...], ...]
    numeric: frozenset[int] = frozenset()  # columns of figures
    strong: frozenset[int] = frozenset()  # rows that the answer stands in
    wide: bool = False  # more columns than a narrow screen has room for
    kind: str = "table"


@dataclass(frozen=True, slots=True)
class Picture:
    """A chart, its caption, and what it says in words."""

    name: str
    svg: Markup
    caption: Text
    label: Text  # names it among the page's pictures
    words: str
    kind: str = "picture"


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a section."""

    text: Text
    name: str = ""  # id, "" for none
    kind: str = "heading"


@dataclass(frozen=True, slots=True)
class Term:
    """A quantity of a step: symbol, what it is, and its value as printed."""

    symbol: str
    what: str
    text: str  # number, as printed
    unit: str
    value: float  # that is printed, in the unit
    kind: str = "term"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the worked hour: what goes in, the equation, and what comes out."""

    name: str  # that a reader's recomputation goes by
    title: str
    given: tuple[Term, ...]
    equations: tuple[tuple[str, str], ...]  # in symbols, and with the printed numbers put in
    result: tuple[Term, ...]
    source: str
    note: Text = ""
    key: str = ""  # where JSON has the step
    kind: str = "step"


@dataclass(frozen=True, slots=True)
class Panel:
    """What a slider shows at one of its places."""

    label: str  # the value, in words
    summary: Text
    table: Table
    picture: Picture


@dataclass(frozen=True, slots=True)
class Slider:
    """Panels of which one is shown, by a slider."""

    title: str
    panels: tuple[Panel, ...]
    start: int  # place that is shown first
    kind: str = "slider"


Block = Paragraph | Points | Pairs | Table | Picture | Heading | Step | Slider


@dataclass(frozen=True, slots=True)
class Section:
    """One part of the page."""

    name: str  # id
    title: str
    blocks: tuple[Block, ...]


def picture(*, chart: Chart, caption: Text, label: Text = "") -> Picture:
    """Put a chart into the page.

    Args: chart; caption; label, its name where other pictures have the same caption.
    Returns: `Picture`, whose SVG takes the width that there is.
    """
    from selector.report.charts_look import svg_of  # draws, which takes long to load

    svg = _HEIGHT.sub(r"\1\2", _SIZE.sub(r"\1\2", svg_of(chart=chart).strip()))
    return Picture(chart.name, Markup(svg), caption, label or caption, chart.text)
