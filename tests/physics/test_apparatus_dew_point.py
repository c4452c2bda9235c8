"""The coil line: where it meets saturation, and where it does not."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.physics import moist_air
from selector.physics.coil import apparatus_dew_point, leaving_air

P0 = 101325.0


@given(
    dry_bulb=st.floats(5.0, 40.0),
    humidity=st.floats(0.2, 0.99),
    below=st.floats(0.5, 15.0),
    bypass=st.floats(0.01, 0.6),
    pressure=st.floats(70000.0, 103000.0),
)
def test_round_trip_through_the_coil(
    dry_bulb: float, humidity: float, below: float, bypass: float, pressure: float
) -> None:
    ratio = moist_air.humidity_ratio_of_relative_humidity(dry_bulb, humidity, pressure)
    surface = moist_air.dew_point(dry_bulb, ratio, pressure) - below
    leaving = leaving_air(bypass, dry_bulb, ratio, surface, pressure)
    if leaving[1] > moist_air.saturation_humidity_ratio(leaving[0], pressure):
        with pytest.raises(ValueError, match="above saturation"):
            apparatus_dew_point(entering=(dry_bulb, ratio), leaving=leaving, pressure=pressure)
        return
    found, factor = apparatus_dew_point(entering=(dry_bulb, ratio), leaving=leaving, pressure=pressure)
    # The line may cross saturation twice; the first crossing, the warmer one, is the coil's.
    assert found >= surface - 1e-6
    assert leaving_air(factor, dry_bulb, ratio, found, pressure) == pytest.approx(leaving, abs=1e-7)


def test_saturated_leaving_air_is_the_surface() -> None:
    leaving = (10.0, moist_air.saturation_humidity_ratio(10.0, P0))
    found, factor = apparatus_dew_point(entering=(26.0, 0.011), leaving=leaving, pressure=P0)
    assert (found, factor) == pytest.approx((10.0, 0.0), abs=1e-12)


def test_line_that_passes_below_saturation_is_refused() -> None:
    with pytest.raises(ValueError, match="does not meet saturation"):
        apparatus_dew_point(entering=(30.0, 0.010), leaving=(29.0, 0.009), pressure=P0)


def test_air_that_is_not_dried_is_refused() -> None:
    with pytest.raises(ValueError, match="cools and dries"):
        apparatus_dew_point(entering=(30.0, 0.010), leaving=(20.0, 0.010), pressure=P0)


def test_leaving_air_above_saturation_is_refused() -> None:
    with pytest.raises(ValueError, match="above saturation"):
        apparatus_dew_point(entering=(30.0, 0.020), leaving=(10.0, 0.012), pressure=P0)
