"""Commissioning sheets of designs of the invented site and of the demo sites, made once."""

from __future__ import annotations

import functools

from selector.decide.commissioning import CommissioningSheet, commissioning_sheet
from selector.inputs.install_text import parse_installs
from selector.physics.prepare import Prepared
from tests.hours import prepared_demo
from tests.sites import prepared_room

MIXED = ("1 precool-120 supply-side", "2 rotor-60 supply-side")


def sheet_for(prepared: Prepared, *texts: str) -> CommissioningSheet:
    return commissioning_sheet(prepared=prepared, install=parse_installs(texts=texts, site=prepared.site))


@functools.cache
def of_room(*texts: str) -> CommissioningSheet:
    return sheet_for(prepared_room(), *texts)


@functools.cache
def of_demo(name: str, texts: tuple[str, ...]) -> CommissioningSheet:
    return sheet_for(prepared_demo(name), *texts)
