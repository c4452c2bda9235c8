"""What should be read on site, and how far a right reading may lie from it."""

from __future__ import annotations

import functools
import math

import numpy as np
import pytest

from selector.decide.commissioning import (
    COOL_DRY_BULB,
    COOL_RELATIVE_HUMIDITY,
    CommissioningSheet,
    commissioning_sheet,
    cool_and_dry,
    entering_range,
)
from selector.decide.duty import Duty, duty_at
from selector.decide.readings import (
    AIRFLOW,
    CUP,
    DRY_BULB,
    DUCT,
    GAUGE,
    HUMIDITY,
    METER,
    RATED,
    Quantity,
    Reading,
    current_of,
    rating_error,
    readings_at,
)
from selector.inputs.install_text import parse_installs
from selector.physics.fit import FittedUnit
from selector.physics.moist_air import humidity_ratio_of_relative_humidity
from tests.hours import fitted_units
from tests.sites import prepared_room

SEA, HIGH = 101325.0, 83000.0


@functools.cache
def of_room(*texts: str) -> CommissioningSheet:
    prepared = prepared_room()
    return commissioning_sheet(prepared=prepared, install=parse_installs(texts=texts, site=prepared.site))


def unit_named(model: str) -> FittedUnit:
    return next(one for one in fitted_units() if one.unit.model == model)


def duty_of(fitted: FittedUnit, dry_bulb: float, moist: float, pressure: float = SEA) -> Duty:
    ratio = float(humidity_ratio_of_relative_humidity(dry_bulb, moist, pressure))
    return duty_at(
        fitted=fitted, flow_fraction=1.0, dry_bulb=dry_bulb, humidity_ratio=ratio, pressure=pressure
    )


def readings_of(
    fitted: FittedUnit, duty: Duty, static: float = 40.0, duct: float = 0.0
) -> dict[Quantity, Reading]:
    found = readings_at(fitted=fitted, static=static, duct=duct, condition="standard condition", duty=duty)
    return {reading.quantity: reading for reading in found.readings}


# ---------------------------------------------------------------------------------------- conditions


def test_three_conditions_and_both_states_of_the_coil() -> None:
    sheet = of_room("1 precool-120 supply-side", "1 rotor-60 supply-side")
    assert [one.tags for one in sheet.sheets] == [("DH-1",), ("DH-2",)]
    for one in sheet.sheets:
        assert [(at.condition, at.coil) for at in one.conditions] == [
            ("design hour", "coil stage 2"),
            ("design hour", "coil stage 1"),
            ("standard condition", ""),
            ("cool and dry", ""),
        ]
        assert [at.duty for at in one.conditions[:2]] == [met.duty for met in one.row.design.met]
        standard = one.conditions[2].duty
        assert standard.entering.dry_bulb == 26.7
        assert standard.entering.relative_humidity == pytest.approx(0.6, rel=1e-14)
        assert standard.pressure == one.row.design.pressure  # of the site, as a technician finds it


def test_readings_are_those_of_the_schedule() -> None:
    sheet = of_room("2 precool-120 return-side")
    [one] = sheet.sheets
    duty = one.row.design.met[0].duty
    values = {reading.quantity: reading.expected for reading in one.conditions[0].readings}
    assert values["removal"] == duty.removal == values["condensate flow"]
    assert values["power"] == duty.power
    assert values["static pressure"] == one.row.connection.static
    assert values["airflow"] == pytest.approx(one.row.airflow, rel=1e-14)
    assert values["leaving dry bulb"] == duty.leaving.dry_bulb
    assert sheet.schedule.rows[0].design.met[0].duty == duty


@pytest.mark.parametrize("pressure", [SEA, HIGH])
def test_every_unit_runs_and_dries_at_the_standard_and_the_cool_condition(pressure: float) -> None:
    for fitted in fitted_units():
        dry_bulb, ratio = cool_and_dry(fitted=fitted, pressure=pressure)
        cool = duty_at(
            fitted=fitted, flow_fraction=1.0, dry_bulb=dry_bulb, humidity_ratio=ratio, pressure=pressure
        )
        standard = duty_of(fitted, 26.7, 0.6, pressure)
        assert cool.runs, fitted.unit.model
        assert standard.runs, fitted.unit.model
        assert 0.0 < cool.removal < standard.removal, fitted.unit.model
        (low, high), (dry, wet) = entering_range(fitted=fitted, pressure=pressure)
        assert low < dry_bulb < high
        assert dry < cool.entering.dew_point < wet


def test_the_cool_condition_moves_into_a_range_that_leaves_it_out() -> None:
    plain = unit_named("precool-120")
    dry_bulb, ratio = cool_and_dry(fitted=plain, pressure=SEA)
    asked = float(humidity_ratio_of_relative_humidity(COOL_DRY_BULB, COOL_RELATIVE_HUMIDITY, SEA))
    assert dry_bulb == COOL_DRY_BULB
    assert ratio == pytest.approx(asked, rel=1e-12)
    row = plain.parameters.copy()
    row[2] = 20.0  # °C, lowest entering dry bulb
    row[4] = 1500.0  # Pa, lowest entering vapour pressure; 18.3 °C and 45 % have 947
    narrow = FittedUnit(plain.unit, row, plain.row_errors, False, 1.0, 1.0)
    dry_bulb, ratio = cool_and_dry(fitted=narrow, pressure=SEA)
    assert dry_bulb == 20.5
    vapour = ratio * SEA / (0.621945 + ratio)
    # 2 % of the range above its lower edge; 0.621945 is the ratio of molar masses in psychrolib
    assert vapour == pytest.approx(1500.0 + 0.02 * (row[5] - 1500.0), rel=1e-9)


def test_nothing_installed_is_an_empty_sheet() -> None:
    sheet = of_room()
    assert (sheet.sheets, sheet.stages, sheet.tolerances) == ((), (), ())


def test_a_unit_without_air_has_only_conditions_in_which_it_runs() -> None:
    [one] = of_room("1 compressor-60 coil-bypass").sheets
    assert one.conditions == ()


def test_stages_are_called_by_removal_for_energy() -> None:
    sheet = of_room("1 rotor-60 supply-side", "2 precool-120 supply-side")
    assert [(stage.place, stage.tags, stage.count) for stage in sheet.stages] == [
        (1, ("DH-1", "DH-2"), 2),
        (2, ("DH-3",), 1),
    ]
    assert sheet.stages[0].specific > sheet.stages[1].specific


# ---------------------------------------------------------------------------------------- ranges


def test_every_expected_reading_lies_in_its_range() -> None:
    for fitted in fitted_units():
        for dry_bulb, moist in ((26.7, 0.6), (18.3, 0.45), (15.0, 0.95)):
            duty = duty_of(fitted, dry_bulb, moist)
            if not duty.runs:
                continue
            readings = readings_of(fitted, duty)
            for reading in readings.values():
                assert reading.low < reading.expected < reading.high, (fitted.unit.model, reading)
                assert reading.basis
            for name in ("entering relative humidity", "leaving relative humidity"):
                assert readings[name].low >= 0.0
                assert readings[name].high <= 1.0
            assert ("condensate flow" in readings) == (fitted.unit.technology != "desiccant")
            assert ("gas" in readings) == (fitted.unit.reactivation_energy == "gas")


def test_ranges_by_hand() -> None:
    # a rotor draws the same on any air, so nothing at its inlet moves its power: meter, rating and its own fit remain
    rotor = unit_named("rotor-90")
    duty = duty_of(rotor, 26.7, 0.6)
    readings = readings_of(rotor, duty, static=100.0, duct=60.0)
    error = rating_error(fitted=rotor)
    assert error == max(max(abs(one.removal), abs(one.power)) for one in rotor.row_errors)
    wide = math.sqrt(METER.value**2 + RATED.value**2 + error**2)
    assert readings["power"].high == pytest.approx(duty.power * (1.0 + wide), rel=1e-12)
    assert readings["power"].low == pytest.approx(duty.power * (1.0 - wide), rel=1e-12)
    # 60 Pa of it are the unit's own duct, which takes 1.1^2 of that with a tenth more air: 12.6 Pa
    static = math.sqrt(GAUGE.value**2 + (DUCT.value * 100.0) ** 2 + 12.6**2)
    assert readings["static pressure"].high == pytest.approx(100.0 + static, rel=1e-12)
    assert readings["airflow"].low == pytest.approx(duty.airflow * (1.0 - AIRFLOW.value), rel=1e-12)
    assert readings["entering dry bulb"].high == 26.7 + DRY_BULB.value
    assert readings["entering relative humidity"].low == pytest.approx(0.6 - HUMIDITY.value, rel=1e-12)


def test_current_is_the_nameplates_in_proportion_to_power() -> None:
    fitted = unit_named("precool-120")
    most = max(row.power for row in fitted.unit.ratings)
    assert current_of(fitted=fitted, power=most) == fitted.unit.current
    assert current_of(fitted=fitted, power=0.5 * most) == 0.5 * fitted.unit.current


def test_the_largest_static_reading_still_reaches_down_to_nothing() -> None:
    fitted = unit_named("precool-120")
    readings = readings_of(fitted, duty_of(fitted, 26.7, 0.6), static=0.0)
    assert readings["static pressure"].low == 0.0
    assert readings["static pressure"].high == GAUGE.value


@pytest.mark.parametrize("model", ["precool-120", "compressor-300", "rotor-90"])
def test_a_drawn_sample_of_sites_reads_within_the_ranges(model: str) -> None:
    """Errors drawn at half their tolerance as standard deviation: 95 % of sums of squares lie within the range.

    Independent of how the ranges are made: every draw runs the unit on its own air at its own airflow. A range holds
    what a linear sum would; found 94.75 to 95.5 % of 400 draws inside, and all for a rotor's leaving dry bulb, whose
    heat is taken to vary with its removal and its power in full.
    """
    fitted = unit_named(model)
    duty = duty_of(fitted, 26.7, 0.6)
    ranges = readings_of(fitted, duty)
    draw = np.random.default_rng(20).normal(size=(400, 6)) / 2.0
    error = rating_error(fitted=fitted)
    unit = math.hypot(RATED.value, error)
    inside = {"condensate flow": 0, "power": 0, "leaving dry bulb": 0}
    for one in draw:
        dry_bulb = 26.7 + one[0] * DRY_BULB.value
        moist = 0.6 + one[1] * HUMIDITY.value
        ratio = float(humidity_ratio_of_relative_humidity(dry_bulb, moist, SEA))
        other = duty_at(
            fitted=fitted,
            flow_fraction=1.0 + one[2] * AIRFLOW.value,
            dry_bulb=dry_bulb,
            humidity_ratio=ratio,
            pressure=SEA,
        )
        removal = other.removal * (1.0 + one[3] * unit)
        read = removal * (1.0 + one[4] * CUP.value)
        if "condensate flow" in ranges:
            inside["condensate flow"] += (
                ranges["condensate flow"].low <= read <= ranges["condensate flow"].high
            )
        power = other.power * (1.0 + one[5] * unit)
        read = power * (1.0 + one[4] * METER.value)
        inside["power"] += ranges["power"].low <= read <= ranges["power"].high
        read = other.leaving.dry_bulb + one[4] * DRY_BULB.value
        inside["leaving dry bulb"] += (
            ranges["leaving dry bulb"].low <= read <= ranges["leaving dry bulb"].high
        )
    for name, count in inside.items():
        if name != "condensate flow" or "condensate flow" in ranges:
            assert count / 400.0 >= 0.945, (name, count)


def test_a_unit_that_gives_a_fifth_less_is_found_by_the_cup() -> None:
    for fitted in fitted_units():
        if fitted.unit.technology == "desiccant":
            continue
        duty = duty_of(fitted, 26.7, 0.6)
        reading = readings_of(fitted, duty)["condensate flow"]
        assert 0.8 * duty.removal < reading.low < 0.95 * duty.removal, fitted.unit.model


def test_the_uncertainty_of_the_air_side_by_hand() -> None:
    """Removal = flow (w1 - w2): its share of error is the root of the sum of squares of each state's and the flow's."""
    fitted = unit_named("precool-120")
    duty = duty_of(fitted, 26.7, 0.6)
    found = readings_at(
        fitted=fitted, static=0.0, duct=0.0, condition="standard condition", duty=duty
    ).air_side

    def error(dry_bulb: float, moist: float) -> float:
        here, warmer, moister = (
            float(humidity_ratio_of_relative_humidity(dry_bulb + t, moist + r, SEA))
            for t, r in ((0.0, 0.0), (DRY_BULB.value, 0.0), (0.0, HUMIDITY.value))
        )
        return math.hypot(warmer - here, moister - here)

    taken = duty.entering.humidity_ratio - duty.leaving.humidity_ratio
    entering = error(26.7, 0.6)
    leaving = error(duty.leaving.dry_bulb, duty.leaving.relative_humidity)
    expected = math.sqrt((entering / taken) ** 2 + (leaving / taken) ** 2 + AIRFLOW.value**2)
    assert found == pytest.approx(expected, rel=1e-12)
