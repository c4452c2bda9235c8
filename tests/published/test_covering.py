"""The whole choice with its couplings off: the covering problem of whole units.

A space without air handler and without infiltration is held at one dry bulb, moisture arises at one constant rate, and
energy costs nothing. Units of four sizes are one shipped unit scaled, so that at the set point each removes exactly its
size times the same amount. What is left of the choice is: cover the need with whole units at the lowest price.

Source: enumeration of min 40 a + 60 b + 90 c + 140 d with 3 a + 5 b + 8 c + 13 d >= need (an invented instance; its
optima by full enumeration and by HiGHS, 230, 230, 310 and 370 for 20, 21, 27 and 33; 27 has two answers, of four units
each, and the tie goes to fewer models).
"""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from selector.decide.choose import choose
from selector.inputs.site import ARRANGEMENTS, HeatGain, Installation, MoistureGain, SpaceCooling
from selector.physics.moist_air import humidity_ratio_of_relative_humidity
from selector.physics.prepare import prepare
from selector.physics.unit import performance
from selector.physics.unit_parameters import (
    AIRFLOW,
    CAPACITY,
    CAPACITY_PER_ENTERING,
    CAPACITY_PER_SURFACE,
    COIL_FLOW,
    POWER,
    POWER_PER_ENTERING,
    POWER_PER_SURFACE,
)
from tests.builders import flat
from tests.physics.sites_for_tests import fitted, general_units, humidity_limit, steady_site

SIZES = {"size-3": (3, 40.0), "size-5": (5, 60.0), "size-8": (8, 90.0), "size-13": (13, 140.0)}
EXTENSIVE = [
    AIRFLOW, CAPACITY, CAPACITY_PER_ENTERING, CAPACITY_PER_SURFACE, COIL_FLOW, POWER, POWER_PER_ENTERING,
    POWER_PER_SURFACE,
]  # fmt: skip
PUBLISHED = {20: 230.0, 21: 230.0, 27: 310.0, 33: 370.0, 34: 370.0}
DRY_BULB, LIMIT, BAND = 24.0, 0.55, 0.001  # a narrow band: no capacity is gained by floating in it


def scaled(model: str, size: int, price: float):
    base = fitted()["compressor-120"]
    row = base.parameters.copy()
    row[EXTENSIVE] *= size / 8.0
    unit = replace(
        base.unit,
        model=model,
        airflow=base.unit.airflow * size / 8.0,
        price=price,
        maintenance=0.0,
        service_life=1000.0,
        cycling_loss=0.0,
    )
    return replace(base, unit=unit, parameters=row)


def choice_for(need: int):
    ready = tuple(scaled(model, size, price) for model, (size, price) in SIZES.items())
    ratio = humidity_ratio_of_relative_humidity(DRY_BULB, LIMIT - BAND, 101325.0)
    one = (
        performance(ready[0].parameters, 1.0, DRY_BULB, ratio, 101325.0, 28.0, 0.014, DRY_BULB, ratio)[2]
        / 3.0
    )
    site = steady_site(
        gains=(
            MoistureGain("process", (need - 0.5) * one, "water", flat(1.0)),
            HeatGain("lights", 20000.0, flat(1.0)),
        ),
        units=general_units("compressor-120"),
        targets=(replace(humidity_limit(LIMIT, band=BAND), allowed_hours_above=0.0),),
        space={
            "infiltration": 0.0,
            "cooling_setpoint": flat(DRY_BULB),
            "cooling": SpaceCooling("electric", 3.0, None),
        },
    )
    # so high a discount rate that the units' worth at the end of the study counts for nothing
    free = Installation(0.0, 0.0, 0.0, 5.0, 1.0)
    site = replace(
        site,
        catalog=replace(site.catalog, units=tuple(each.unit for each in ready)),
        costs=replace(
            site.costs,
            electricity=0.0,
            gas=0.0,
            discount_rate=9.0,
            installation=dict.fromkeys(ARRANGEMENTS, free),
        ),
        limits=replace(
            site.limits,
            arrangements=("standalone",),
            max_units=6,
            max_per_model=6,
            max_sizes=3,
            extra_hours_too_warm=None,
        ),
    )
    prepared = prepare(site=site, electricity=np.zeros(8760), gas=np.zeros(8760), fitted=ready)
    return choose(prepared=prepared)


def by_enumeration(need: int) -> float:
    best = np.inf
    for counts in product(range(7), repeat=4):
        if sum(counts) <= 6 and sum(count > 0 for count in counts) <= 3:
            sizes = sum(count * size for count, (size, _) in zip(counts, SIZES.values(), strict=True))
            if sizes >= need:
                best = min(best, sum(n * price for n, (_, price) in zip(counts, SIZES.values(), strict=True)))
    return best


@pytest.mark.parametrize("need", PUBLISHED)
def test_the_choice_covers_a_need_at_the_published_price(need: int) -> None:
    choice = choice_for(need)
    assert choice.proof.status == "optimal"
    assert choice.best is not None
    # agreement found: exact
    assert choice.best.costs.first == PUBLISHED[need] == by_enumeration(need)
    covered = sum(part.count * SIZES[part.model][0] for part in choice.best.install)
    assert covered >= need


def test_of_two_answers_of_one_price_the_one_of_fewer_models_is_taken() -> None:
    choice = choice_for(27)
    assert choice.best is not None
    assert sorted((part.model, part.count) for part in choice.best.install) == [("size-3", 1), ("size-8", 3)]
