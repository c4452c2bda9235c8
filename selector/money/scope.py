"""Sections of a bill of quantities taken by themselves: what a proposal that leaves one out has to be given.

A section's cost is its material, the labour that goes into it and the markups on both, so that the costs of all
sections add up to the whole bill. Where the site gives an arrangement's installation as lump sums, no section of it
has a price of its own: then the price book prices it, where the site has one for another arrangement.
"""

from __future__ import annotations

from dataclasses import replace

from selector.inputs.site import Install, Site
from selector.money.first_cost import unit_of
from selector.money.installation import Section, amount_of, arrangement_pieces, unit_pieces


def by_price_book(*, site: Site) -> Site | None:
    """A site whose installation is priced section by section.

    Args: site.
    Returns: the site, its lump sums left away; None where it has no price book.
    """
    if site.costs.price_book is None:
        return None
    terms = {name: replace(one, fixed=None, per_unit=None) for name, one in site.costs.installation.items()}
    return replace(site, costs=replace(site.costs, installation=terms))


def section_cost(*, site: Site, install: tuple[Install, ...], section: Section) -> float:
    """What one section of a design's bill costs, its labour and markups included.

    Args: site; install, the units to buy; section.
    Returns: cost [currency], 0 for a section that the bill does not have.
    Raises: as `unit_pieces`.
    """
    total = 0.0
    for part in install:
        unit = unit_of(site=site, model=part.model)
        pieces = unit_pieces(site=site, unit=unit, arrangement=part.arrangement, only=section)
        total += part.count * amount_of(costs=site.costs, pieces=pieces)
    for arrangement in dict.fromkeys(part.arrangement for part in install if part.count > 0):
        pieces = arrangement_pieces(site=site, arrangement=arrangement, only=section)
        total += amount_of(costs=site.costs, pieces=pieces)
    return total
