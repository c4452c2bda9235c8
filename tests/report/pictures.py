"""Reads charts back from their SVG, as a reader with a ruler would: ticks give the scale, then points and curves."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

import numpy as np

from selector.inputs.site import FloatArray

SVG = "{http://www.w3.org/2000/svg}"
XLINK = "{http://www.w3.org/1999/xlink}"
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e-?\d+)?")
# positions are written to a thousandth of a point
WRITTEN = 0.0011


@dataclass(frozen=True)
class Scale:
    """A straight scale: number = zero + step * position."""

    zero: float
    step: float

    def read(self, position: float | Sequence[float] | FloatArray) -> FloatArray:
        return np.asarray(self.zero + self.step * np.asarray(position, float))

    @property
    def slack(self) -> float:
        """What a thousandth of a point is in numbers."""
        return abs(self.step) * WRITTEN


def number_of(words: str) -> float:
    return float(words.replace(",", "").replace("\N{MINUS SIGN}", "-"))


class Picture:
    """An SVG, by its ids."""

    def __init__(self, svg: str, name: str) -> None:
        self.root, self.name = ElementTree.fromstring(svg), name
        self.by_id = {one.get("id"): one for one in self.root.iter() if one.get("id") is not None}

    def find(self, which: str) -> ElementTree.Element:
        return self.by_id[f"{self.name}-{which}"]

    def ids(self, start: str) -> list[str]:
        """What follows the chart's name in ids that start so."""
        whole = f"{self.name}-{start}"
        return [key.removeprefix(f"{self.name}-") for key in self.by_id if key and key.startswith(whole)]

    def texts(self) -> list[str]:
        return ["".join(one.itertext()) for one in self.root.iter(f"{SVG}text")]

    def ticks(self, axis: int, kind: str) -> list[tuple[float, str]]:
        """Positions and labels of an axis, by its place among all axes; kind, x or y."""
        found = []
        for group in self.find(f"matplotlib.axis_{axis}"):
            if not (group.get("id") or "").startswith(f"{self.name}-{kind}tick"):
                continue
            mark = next(group.iter(f"{SVG}use"), None)
            label = "".join("".join(one.itertext()) for one in group.iter(f"{SVG}text"))
            if mark is not None:
                found.append((float(mark.attrib[kind]), label))
        return found

    def scale(self, axis: int, kind: str) -> Scale:
        """The straight scale through an axis's ticks; every tick lies on it."""
        ticks = self.ticks(axis, kind)
        (first, low), (last, high) = ticks[0], ticks[-1]
        step = (number_of(high) - number_of(low)) / (last - first)
        scale = Scale(number_of(low) - step * first, step)
        for place, label in ticks:
            assert abs(float(scale.read(place)) - number_of(label)) <= 3.0 * scale.slack, label
        return scale

    def marker(self, which: str) -> tuple[float, float]:
        return self.markers(which)[0]

    def markers(self, which: str) -> list[tuple[float, float]]:
        return [
            (float(one.attrib["x"]), float(one.attrib["y"])) for one in self.find(which).iter(f"{SVG}use")
        ]

    def path(self, which: str) -> FloatArray:
        """Corners of the first path in a group, (N, 2)."""
        group = self.find(which)
        path = group if group.tag == f"{SVG}path" else next(group.iter(f"{SVG}path"))
        numbers = [float(one) for one in NUMBER.findall(path.attrib["d"])]
        return np.array(numbers).reshape(-1, 2)
