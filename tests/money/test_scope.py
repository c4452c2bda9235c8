"""Sections of a bill taken by themselves: they add up to the bill, labour and markups included."""

from __future__ import annotations

from dataclasses import replace

import pytest

from selector.inputs.site import ARRANGEMENTS, Arrangement, Install
from selector.inputs.site_alternates import EXCLUSIONS
from selector.money.installation import Section
from selector.money.quantities import SECTIONS, bill_of_quantities
from selector.money.scope import by_price_book, section_cost
from tests.sites import room

SUMS: tuple[Section, ...] = ("labour", "lump sums", "markups")  # over sections, or of none


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
@pytest.mark.parametrize("model", ["precool-120", "rotor-60"])
def test_sections_add_up_to_the_bill(arrangement: Arrangement, model: str) -> None:
    site = room()
    install = (Install(model, arrangement, 2), Install("compressor-60", arrangement, 1))
    total = sum(section_cost(site=site, install=install, section=section) for section in SECTIONS)
    # agreement found: 2e-16
    assert total == pytest.approx(bill_of_quantities(site=site, install=install).total, rel=1e-12)
    assert all(section_cost(site=site, install=install, section=section) == 0.0 for section in SUMS)


def test_a_proposal_may_leave_out_every_section_that_is_no_sum() -> None:
    assert tuple(section for section in SECTIONS if section not in SUMS) == EXCLUSIONS


def test_a_section_that_a_design_does_not_have_costs_nothing() -> None:
    install = (Install("precool-120", "standalone", 1),)
    assert section_cost(site=room(), install=install, section="reactivation") == 0.0
    assert section_cost(site=room(), install=(), section="drains") == 0.0


def test_lump_sums_give_way_to_the_price_book() -> None:
    site = room()
    lumped = {
        name: replace(terms, fixed=3000.0, per_unit=900.0) for name, terms in site.costs.installation.items()
    }
    given = replace(site, costs=replace(site.costs, installation=lumped))
    install = (Install("precool-120", "standalone", 1),)
    assert section_cost(site=given, install=install, section="drains") == 0.0
    assert section_cost(site=given, install=install, section="lump sums") == 3900.0
    booked = by_price_book(site=given)
    assert booked is not None
    assert section_cost(site=booked, install=install, section="drains") == section_cost(
        site=site, install=install, section="drains"
    )
    assert by_price_book(site=replace(site, costs=replace(site.costs, price_book=None))) is None
