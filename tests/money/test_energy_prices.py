"""Prices by the hour, and their present value."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from selector.inputs.site import HOURS
from selector.money.energy_prices import present_value_factors, prices
from tests.builders import make_costs, make_site


def test_every_hour_has_the_price_of_the_site() -> None:
    found = prices(site=make_site(costs=make_costs(electricity=5.0e-8, gas=2.0e-8)))
    assert np.array_equal(found.electricity, np.full(HOURS, 5.0e-8))
    assert np.array_equal(found.gas, np.full(HOURS, 2.0e-8))


def test_factors_take_each_stream_by_its_own_escalation() -> None:
    # Two years at 25 %: electricity rises 25 %, gas falls to half each year: 0.5/1.25 = 0.4, 0.4 + 0.16 = 0.56.
    found = present_value_factors(
        costs=make_costs(discount_rate=0.25, study_period=2, electricity_escalation=0.25, gas_escalation=-0.5)
    )
    assert (found.electricity, found.gas, found.maintenance) == pytest.approx((2.0, 0.56, 1.44), rel=1e-14)


@pytest.mark.parametrize("price", [-1.0e-9, float("nan")])
@pytest.mark.parametrize("name", ["electricity", "gas"])
def test_negative_price_is_refused(name: str, price: float) -> None:
    changes: dict[str, Any] = {name: price}
    site = make_site(costs=make_costs(**changes))
    with pytest.raises(ValueError, match=rf"empty\.toml: costs\.{name}: got .* USD/J; allowed: 0 or more"):
        prices(site=site)
