"""Comparisons of the invented site with named options for a bid."""

from __future__ import annotations

import functools
import tempfile
from pathlib import Path

from selector.decide.compare import Comparison, OptionResult, compare
from selector.inputs.site import Install
from selector.physics.prepare import Prepared
from tests.proposals import ALL, room_with

TWO_UNITS = (Install("precool-120", "standalone", 2),)


def named(comparison: Comparison, name: str) -> OptionResult:
    return next(one for one in comparison.options if one.option.name == name)


def quick(prepared: Prepared) -> Comparison:
    return compare(prepared=prepared, choice=None)


@functools.cache
def every_proposal() -> Comparison:
    """All of them side by side, found once."""
    with tempfile.TemporaryDirectory() as folder:
        return quick(room_with(Path(folder), *ALL))
