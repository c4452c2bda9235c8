"""How charts look, and how they become SVG and PNG files.

Every chart is told apart by more than its colours: by line style, marker, hatching and a label that stands at the
thing itself. The same results give the same bytes: no date, ids from a fixed salt, matplotlib's own settings in place
of a person's. In an SVG file text stays text.
Lengths are in points (1/72 inch) unless said.
"""

from __future__ import annotations

import io
import re
import warnings
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any
from xml.etree import ElementTree

import matplotlib
from matplotlib.backend_bases import RendererBase
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure, FigureBase
from matplotlib.lines import Line2D
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from selector.report.figures import Figure as Quantity
from selector.report.figures import Units, unit_of_figure

INK = "#2f3f3d"  # text, and what is always there
COBALT = "#2412d8"
BARK = "#6b4c0c"
PETROL = "#046a80"
STONE = "#857e66"
LILAC = "#8f7be8"
LAGOON = "#129f98"
STRAW = "#b8861f"
PALETTE = (INK, COBALT, BARK, PETROL, STONE, LILAC, LAGOON, STRAW)
GUIDE = "#b9bdb8"  # guide lines, which carry nothing that is not also labelled
QUIET = "#56605e"  # their labels
PAPER = "#ffffff"

WIDTH = 6.6  # inches
FOOT = 0.22  # inches
LEFT = 0.012  # margin, a share of the width
TEXT_SIZE = 8.0
SMALL = 6.8
POINTS_PER_INCH = 72.0
PNG_DPI = 200

FONTS = "'DejaVu Sans', Verdana, sans-serif"  # the first is what lengths of text are measured with

SETTINGS: MappingProxyType[Any, Any] = MappingProxyType(
    {
        "axes.edgecolor": INK,
        "axes.labelcolor": INK,
        "axes.labelsize": TEXT_SIZE,
        "axes.linewidth": 0.8,
        "axes.titlesize": TEXT_SIZE + 1.0,
        "axes.unicode_minus": True,
        "figure.dpi": POINTS_PER_INCH,
        "figure.facecolor": PAPER,
        "font.size": TEXT_SIZE,
        "hatch.linewidth": 0.7,
        "path.simplify": False,
        "svg.fonttype": "none",
        "svg.hashsalt": "selector",
        "text.color": INK,
        "text.parse_math": False,  # a currency sign in a name starts no formula
        "xtick.color": INK,
        "xtick.labelsize": TEXT_SIZE,
        "ytick.color": INK,
        "ytick.labelsize": TEXT_SIZE,
    }
)

_SVG = "http://www.w3.org/2000/svg"
_XLINK = "http://www.w3.org/1999/xlink"
_REFERENCE = re.compile(r"url\(#([^)]+)\)")
_LONG = re.compile(r"(\.\d{3})\d+")  # a thousandth of a point is far below what is seen
_FAMILY = re.compile(r"font-family: [^;]+; ?")


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture, and what it says in words."""

    name: str  # letters, digits and hyphens; every id in its SVG starts with it
    title: str
    text: str  # the alternative for those who do not see the picture
    width: float  # inches
    height: float  # inches
    paint: Callable[[Figure], None] = field(repr=False)
    foot: str = ""  # a line in a strip of its own below the picture


@contextmanager
def settings() -> Iterator[None]:
    """Work with the charts' own settings, whatever a person's are.

    Returns: a context.
    """
    with matplotlib.rc_context(), warnings.catch_warnings():
        # a name in a script that the measuring font lacks: measured as boxes, and written as text all the same
        warnings.filterwarnings("ignore", message=r"Glyph \d+ .* missing from font")
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(SETTINGS)
        yield


def figure_of(*, chart: Chart) -> Figure:
    """Paint a chart; to be called within `settings`.

    Args: chart. Returns: the figure.
    """
    figure = Figure(figsize=(chart.width, chart.height))
    FigureCanvasAgg(figure)  # measures text
    chart.paint(figure)
    return figure


def svg_of(*, chart: Chart) -> str:
    """Write a chart as SVG that can stand in a file of its own or within a page.

    Args: chart.
    Returns: text of one svg element, with <title> and <desc>, and ids that start with the chart's name.
    """
    with settings():
        figure = figure_of(chart=chart)
        FigureCanvasSVG(figure)
        file = io.BytesIO()
        none = dict.fromkeys(("Creator", "Date", "Format", "Type"))
        figure.savefig(file, format="svg", metadata=none, bbox_inches=_whole(chart, figure))
    root = ElementTree.fromstring(file.getvalue())
    _own_ids(root, f"{chart.name}-")
    for style in [
        (parent, one)
        for parent in root.iter()
        for one in parent
        if one.tag in (f"{{{_SVG}}}style", f"{{{_SVG}}}metadata")
    ]:
        style[0].remove(style[1])  # the style would hold for the whole page; the root has it instead
    for element in root.iter():
        for key in ("d", "x", "y"):
            if key in element.attrib:
                element.set(key, _LONG.sub(r"\1", element.attrib[key]))
        styles = {one.get("style") for one in element if one.tag == f"{{{_SVG}}}use"}
        if len(element) > 1 and len(styles) == 1 and all(one.tag == f"{{{_SVG}}}use" for one in element):
            element.set("style", styles.pop() or "")  # one for all the markers of a line
            for one in element:
                del one.attrib["style"]
    for element in root.iter(f"{{{_SVG}}}text"):
        element.set("style", _FAMILY.sub("", element.get("style", "")))
    root.set("style", f"stroke-linejoin: round; stroke-linecap: butt; font-family: {FONTS}")
    root.set("role", "img")
    root.set("aria-labelledby", f"{chart.name}-title {chart.name}-desc")
    for place, (tag, text) in enumerate((("title", chart.title), ("desc", chart.text))):
        element = ElementTree.Element(f"{{{_SVG}}}{tag}", {"id": f"{chart.name}-{tag}"})
        element.text = text
        root.insert(place, element)
    ElementTree.register_namespace("", _SVG)
    ElementTree.register_namespace("xlink", _XLINK)
    return ElementTree.tostring(root, encoding="unicode") + "\n"


def _whole(chart: Chart, figure: Figure) -> Bbox | None:
    """Write the foot below the figure, and give what is to be saved [inches]; None for the figure alone."""
    if not chart.foot:
        return None
    middle = -0.5 * FOOT / chart.height
    figure.text(
        LEFT, middle, chart.foot, va="center", fontsize=TEXT_SIZE - 0.5, fontweight="bold", gid="foot"
    )
    return Bbox.from_bounds(0.0, -FOOT, chart.width, chart.height + FOOT)


def _own_ids(root: ElementTree.Element, prefix: str) -> None:
    """Give every id, and every reference to one, a prefix, so that two charts can stand in one page."""
    for element in root.iter():
        for key, value in list(element.attrib.items()):
            if key == "id":
                element.set(key, prefix + value)
            elif key == f"{{{_XLINK}}}href" and value.startswith("#"):
                element.set(key, f"#{prefix}{value[1:]}")
            elif "url(#" in value:
                element.set(key, _REFERENCE.sub(rf"url(#{prefix}\1)", value))


def png_of(*, chart: Chart, dpi: int = PNG_DPI) -> bytes:
    """Write a chart as PNG.

    Args: chart; dpi, a number of dots by inch.
    Returns: content of the file; title and words stand in it as well.
    """
    with settings():
        figure = figure_of(chart=chart)
        file = io.BytesIO()
        words = {"Software": None, "Title": chart.title, "Description": chart.text}
        figure.savefig(file, format="png", dpi=dpi, metadata=words, bbox_inches=_whole(chart, figure))
    return file.getvalue()


def unit_text(figure: Quantity, units: Units) -> str:
    """Name the unit of a figure as an axis shows it.

    Args: figure, kind of figure; units. Returns: unit, as "°F".
    """
    return unit_of_figure(figure, units).replace("degF", "°F").replace("degC", "°C")


def width_of(*, text: Text) -> float:
    """Measure a text.

    Args: text, on a figure. Returns: its width as a share of the figure's.
    """
    figure = text.get_figure(root=True)
    if figure is None:
        raise ValueError("got a text on no figure; allowed: one on a figure")
    return float(text.get_window_extent(renderer_of(figure)).width / figure.bbox.width)


def renderer_of(figure: FigureBase) -> RendererBase:
    """Find what measures texts on a figure.

    Args: figure, on the canvas that draws without a screen. Returns: renderer. Raises: TypeError for another canvas.
    """
    canvas = figure.canvas if isinstance(figure, Figure) else None
    if not isinstance(canvas, FigureCanvasAgg):
        raise TypeError(f"got a figure on {type(canvas).__name__}; allowed: one of `figure_of`")
    renderer: RendererBase = canvas.get_renderer()
    return renderer


def shorten(*, text: Text, most: float) -> Text:
    """Cut a text that is too wide, with three points in place of what is left out.

    Args: text, on a figure; most, its width at most, a share of the figure's. Returns: the text.
    """
    whole = text.get_text()
    kept = len(whole)
    while kept > 1 and width_of(text=text) > most:
        kept = min(kept - 1, int(kept * max(0.5, most / width_of(text=text))))
        text.set_text(whole[:kept].rstrip() + "...")
    return text


def write_head(*, figure: Figure, title: str, under: str) -> None:
    """Write a chart's title and the line below it.

    Args: figure; title; under.
    """
    high = figure.get_figheight()
    top = figure.text(
        LEFT, 1.0 - 0.17 / high, title, va="center", fontsize=TEXT_SIZE + 1.5, fontweight="bold"
    )
    below = figure.text(LEFT, 1.0 - 0.35 / high, under, va="center", fontsize=TEXT_SIZE - 0.5, color=QUIET)
    for text in (top, below):
        shorten(text=text, most=1.0 - 2.0 * LEFT)


def write_key(
    *, figure: Figure, x: float, y: float, entries: Sequence[tuple[Mapping[str, Any], str]]
) -> float:
    """Write samples of lines and their names in a row.

    Args: figure; x and y, where the row starts, shares of the figure; entries, style and name each.
    Returns: where the row ends, a share of the figure's width.
    """
    for style, words in entries:
        figure.add_artist(Line2D((x, x + 0.02, x + 0.04), (y, y, y), **style))
        text = figure.text(x + 0.05, y, words, va="center", fontsize=TEXT_SIZE - 0.5)
        x += 0.05 + width_of(text=text) + 0.02
    return x
