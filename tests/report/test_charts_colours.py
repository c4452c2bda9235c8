"""The charts' colours: contrast with the paper, and how far apart they stay for the colour-blind.

Contrast is that of WCAG 2.2 (relative luminance, success criteria 1.4.3 and 1.4.11). Colour blindness is simulated by
Machado, Oliveira and Fernandes (2009) at full severity, differences by CIEDE2000 (ISO/CIE 11664-6), both through
colour-science.
"""

from __future__ import annotations

import functools
import itertools
import re

import colour
import numpy as np
import pytest
from colour.blindness import matrix_cvd_Machado2009

from selector.inputs.site import FloatArray
from selector.report.charts import WHICH, Which
from selector.report.charts_humidity import DURATION, STYLES
from selector.report.charts_look import GUIDE, INK, PALETTE, PAPER, QUIET
from selector.report.charts_moisture import GAINS, KNOWN
from selector.report.charts_psychrometric import MARKERS
from selector.report.charts_psychrometric import STYLES as PROCESSES
from tests.report.drawn_charts import PAIR, picture

KINDS = ("Protanomaly", "Deuteranomaly", "Tritanomaly")
# the tritan matrix is named an approximation by the library itself
pytestmark = pytest.mark.filterwarnings("ignore:.*simulation of tritanomaly")


def linear(color: str) -> FloatArray:
    """Linear light of an sRGB colour, 0 to 1: IEC 61966-2-1."""
    value = np.array([int(color[at : at + 2], 16) / 255.0 for at in (1, 3, 5)])
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def contrast(color: str, ground: str = PAPER) -> float:
    """Contrast ratio of WCAG 2.2."""
    light = sorted(float(linear(one) @ [0.2126, 0.7152, 0.0722]) for one in (color, ground))
    return (light[1] + 0.05) / (light[0] + 0.05)


@functools.cache
def matrix(kind: str) -> FloatArray:
    return np.eye(3) if kind == "none" else np.asarray(matrix_cvd_Machado2009(kind, 1.0))


def lab(color: str, kind: str) -> FloatArray:
    """The colour as it is seen, CIE L*a*b*, D65."""
    light = np.clip(matrix(kind) @ linear(color), 0.0, 1.0)
    seen = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1.0 / 2.4) - 0.055)
    return np.asarray(colour.XYZ_to_Lab(colour.sRGB_to_XYZ(seen)))


def apart(first: str, second: str, kind: str) -> float:
    return float(colour.difference.delta_E_CIE2000(lab(first, kind), lab(second, kind)))


def test_the_measures_are_those_of_the_standards() -> None:
    assert contrast("#000000") == pytest.approx(21.0, abs=1e-12)  # by its definition
    assert contrast("#767676") == pytest.approx(
        4.54, abs=0.005
    )  # the usual example of the least grey for text
    assert apart("#000000", "#ffffff", "none") == pytest.approx(100.0, abs=0.01)  # lightness alone
    # red and green, far apart for most, come closer without one of their cones: found 86, 27 and 41
    assert apart("#c00000", "#008000", "none") > 2.0 * apart("#c00000", "#008000", "Deuteranomaly")


def test_every_colour_of_the_palette_stands_out_from_the_paper() -> None:
    assert min(map(contrast, PALETTE)) >= 3.2  # found 3.25; WCAG asks 3 of graphics
    assert min(contrast(one) for one in (INK, QUIET)) >= 4.5  # of text
    assert contrast(GUIDE) > 1.5  # what carries nothing by itself


@pytest.mark.parametrize("kind", ["none", *KINDS])
def test_any_two_colours_stay_apart_for_everyone(kind: str) -> None:
    least = min(apart(first, second, kind) for first, second in itertools.combinations(PALETTE, 2))
    found = {"none": 18.5, "Protanomaly": 15.1, "Deuteranomaly": 15.8, "Tritanomaly": 17.2}
    assert least == pytest.approx(found[kind], abs=0.1)


def test_nothing_is_told_by_colour_alone() -> None:
    """Lines differ in their dashes, sources in their hatching, states in their markers as well."""
    assert len({str(style) for _, style, _, _ in PROCESSES.values()}) == len(PROCESSES)
    assert len({(one.get("marker"), str(one.get("linestyle"))) for one in STYLES.values()}) == len(STYLES)
    assert len({str(one.get("linestyle", "-")) for one in DURATION.values()}) == len(DURATION)
    assert len(set(MARKERS.values())) == len(MARKERS)
    hatches = [hatch for _, hatch in KNOWN.values()]
    assert len(set(hatches)) == len(hatches)
    assert len(set(GAINS)) == len(GAINS)
    assert not set(GAINS) & set(KNOWN.values())


@pytest.mark.parametrize("which", WHICH)
def test_a_chart_has_no_other_colours(which: Which) -> None:
    shown = picture(which, PAIR).root
    used = {
        one for element in shown.iter() for one in re.findall(r"#[0-9a-f]{6}\b", element.get("style", ""))
    }
    used |= {element.attrib["fill"] for element in shown.iter() if element.get("fill", "").startswith("#")}
    assert used
    assert used <= {*PALETTE, PAPER, GUIDE, QUIET, "#f1f2ef"}  # the last: beyond saturation
    written = {
        color
        for element in shown.iter("{http://www.w3.org/2000/svg}text")
        for color in re.findall(r"fill: (#[0-9a-f]{6})", element.get("style", ""))
    }
    assert written
    assert min(contrast(color) for color in written) >= 4.5
