"""First cost, and the same as linear in the counts of units, as the search takes it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs.site import ARRANGEMENTS, Install
from selector.money.design_costs import (
    cost_coefficients,
    existing_maintenance,
    existing_present_value,
    install_maintenance,
)
from selector.money.first_cost import (
    arrangement_fixed_cost,
    first_cost,
    per_unit_first_cost,
    unit_of,
)
from selector.money.life_cycle import life_cycle_cost
from tests.builders import make_costs, make_site, make_unit
from tests.money.price_books import linear_costs

SMALL = make_unit("compressor-60", price=4000.0, service_life=10.0, maintenance=200.0)
LARGE = make_unit("rotor-150", price=11000.0, service_life=18.0, maintenance=450.0)
SITE = make_site(units=(SMALL, LARGE))
CHOICES = tuple((unit.model, arrangement) for unit in (SMALL, LARGE) for arrangement in ARRANGEMENTS)


def test_lines_by_hand() -> None:
    # Installation is invented as 1000 + 100 i fixed and 500 + 10 i a unit for arrangement i: return-side i = 0,
    # standalone i = 3. 2 x 4000 + 11000 = 19000 of units; return-side 1000 + 3 x 500 is 2500.
    install = (Install("compressor-60", "return-side", 2), Install("rotor-150", "return-side", 1))
    found = first_cost(site=SITE, install=install)
    assert (found.units, found.installation, found.total) == (19000.0, 2500.0, 21500.0)
    assert [(line.kind, line.model, line.count, line.total) for line in found.lines] == [
        ("unit", "compressor-60", 2, 8000.0),
        ("unit", "rotor-150", 1, 11000.0),
        ("installation, fixed", "", 1, 1000.0),
        ("installation, per unit", "", 3, 1500.0),
    ]
    # A second arrangement has its own fixed amount: + 11000 + 1300 + 530.
    both = (*install, Install("rotor-150", "standalone", 1))
    assert first_cost(site=SITE, install=both).total == 21500.0 + 12830.0


def test_nothing_costs_nothing() -> None:
    assert first_cost(site=SITE, install=()).total == 0.0
    assert first_cost(site=SITE, install=(Install("rotor-150", "standalone", 0),)).lines == ()


def test_parts_of_the_first_cost() -> None:
    assert per_unit_first_cost(site=SITE, unit=LARGE, arrangement="standalone") == 11530.0
    assert arrangement_fixed_cost(site=SITE, arrangement="standalone") == 1300.0


def test_unknown_model_is_refused() -> None:
    message = r"catalog: got model 'rotor-900'; allowed: compressor-60, rotor-150"
    with pytest.raises(ValueError, match=message):
        first_cost(site=SITE, install=(Install("rotor-900", "standalone", 1),))


def test_negative_count_is_refused() -> None:
    with pytest.raises(ValueError, match="install: got -1 of 'rotor-150'; allowed: 0 or more"):
        first_cost(site=SITE, install=(Install("rotor-150", "standalone", -1),))


@given(counts=st.lists(st.integers(0, 6), min_size=len(CHOICES), max_size=len(CHOICES)))
def test_costs_linear_in_the_counts_are_those_of_the_design(counts: list[int]) -> None:
    site = make_site(units=(SMALL, LARGE), costs=make_costs(discount_rate=0.04, study_period=17))
    coefficients = cost_coefficients(site=site, choices=CHOICES)
    linear, later = linear_costs(coefficients, counts)
    install = tuple(
        Install(model, arrangement, count)
        for (model, arrangement), count in zip(CHOICES, counts, strict=True)
    )
    first = first_cost(site=site, install=install).total
    cycle = life_cycle_cost(
        first=first,
        electricity=0.0,
        gas=0.0,
        maintenance=install_maintenance(site=site, install=install),
        units=tuple((unit_of(site=site, model=item.model), item.count) for item in install),
        costs=site.costs,
    )
    # Found: 1e-15.
    assert linear == pytest.approx(first, rel=1e-14)
    assert linear + later == pytest.approx(cycle.total, rel=1e-13)


def test_existing_units_cost_their_maintenance_alone() -> None:
    # 3 x 200 a year over 15 years at 5 %: 600 x 10.379658.
    site = make_site(units=(SMALL, LARGE), existing_units=(Install("compressor-60", "standalone", 3),))
    assert existing_maintenance(site=site) == 600.0
    assert existing_present_value(site=site) == pytest.approx(6227.795, abs=1e-3)
