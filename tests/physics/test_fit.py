"""Fitting units to their rating rows: what comes back, what is refused and in which words, what is derived."""

from __future__ import annotations

import filecmp
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from iapws import IAPWS97
from scipy.optimize import brentq
from scipy.special import expit

from selector.inputs.errors import InputFaults
from selector.inputs.site import Catalog, RatingRow, ReactivationEnergy, Unit
from selector.physics import fit, moist_air
from selector.physics import unit_parameters as place
from selector.physics.class_curves import CLASS_CURVES, evaporator_row, rating_flow
from selector.physics.fit import fit_catalog, fit_unit, parameters, rate, rating_states, specific_removal
from selector.physics.rating import _state
from tests.builders import make_unit
from tests.make_catalog import main as make_catalog
from tests.physics.units_for_tests import (
    GENERAL,
    PLAIN_SHAPE,
    SEA_LEVEL,
    STATES,
    fitted,
    general,
    model_names,
    plain_coil,
    plain_rotor,
    rated,
    ratio,
    rotor_unit,
    run,
)

COIL_UNIT = replace(make_unit(), maximum_dry_bulb=45.0)


def coil_unit(**shape: float) -> Unit:
    return rated(COIL_UNIT, plain_coil(**shape))


def with_row(unit: Unit, index: int, **changes: float) -> Unit:
    rows = list(unit.ratings)
    rows[index] = replace(rows[index], **changes)
    return replace(unit, ratings=tuple(rows))


def refusal(unit: Unit) -> str:
    with pytest.raises(InputFaults, match=unit.model) as caught:
        fit_unit(unit=unit, file="folder/ratings.csv")
    return str(caught.value)


# what comes back


def test_known_machine_is_found_again() -> None:
    known = plain_coil()
    found = fit_unit(unit=rated(COIL_UNIT, known))
    assert not found.derived
    assert (found.low, found.high) == (1.0, 1.0)
    for dry_bulb, humidity in (
        (26.7, 0.5),
        (24.0, 0.45),
        (20.0, 0.7),
        (30.0, 0.55),
        (14.0, 0.8),
    ):  # none is a row
        there, here = run(known, dry_bulb, humidity), run(found.parameters, dry_bulb, humidity)
        assert here[2] == pytest.approx(there[2], rel=3e-4)  # agreement found: 2.2e-4
        assert here[3] == pytest.approx(there[3], rel=1e-5)  # agreement found: 6.5e-6
        assert here[7] == pytest.approx(there[7], abs=0.02)  # agreement found: 0.014 K
    for at in (place.COIL_FLOW, place.CAPACITY, place.CAPACITY_PER_SURFACE, place.POWER, place.FROST_LOSS):
        assert found.parameters[at] == pytest.approx(known[at], rel=0.025)  # agreement found: 0.021, of frost
    assert max(abs(error.removal) for error in found.row_errors) < 6e-4
    assert max(abs(error.power) for error in found.row_errors) < 3e-5


@pytest.mark.parametrize(("energy", "gas"), [("electric", 0.0), ("gas", 4500.0)])
def test_known_rotor_is_found_again(energy: ReactivationEnergy, gas: float) -> None:
    unit = rotor_unit(energy=energy, air="outdoor")
    known = plain_rotor(unit, electricity=134.0 if gas else 3600.0, gas=gas, first_effectiveness=0.09)
    found = fit_unit(unit=rated(unit, known)).parameters
    assert found[place.FIRST_EFFECTIVENESS] == pytest.approx(0.09, abs=1e-4)  # agreement found: 6e-5
    assert found[place.SECOND_EFFECTIVENESS] == pytest.approx(0.35, abs=1e-4)  # agreement found: 6e-5
    assert (found[place.ELECTRICITY], found[place.GAS]) == pytest.approx((134.0 if gas else 3600.0, gas))
    for dry_bulb, humidity in ((26.7, 0.5), (20.0, 0.7), (30.0, 0.55)):
        there = run(known, dry_bulb, humidity)[2]
        assert run(found, dry_bulb, humidity)[2] == pytest.approx(there, rel=3e-5)  # agreement found: 2.1e-5


def test_errors_of_rows_are_kept() -> None:
    unit = coil_unit()
    row = unit.ratings[4]
    found = fit_unit(unit=with_row(unit, 4, removal=1.03 * row.removal))
    assert len(found.row_errors) == len(unit.ratings)
    given = found.unit.ratings[4]
    gives = run(found.parameters, given.dry_bulb, given.relative_humidity)[2]
    assert found.row_errors[4].removal == pytest.approx(gives / given.removal - 1.0, rel=1e-9)
    assert -0.03 < found.row_errors[4].removal < -0.01
    assert found.row_errors[4].gas == 0.0


def test_range_is_the_box_of_the_rows_within_the_entering_limits() -> None:
    rows = ((26.7, 0.60), (15.6, 0.42), (12.8, 0.95), (35.0, 0.60), (22.8, 0.60))
    unit = rated(replace(COIL_UNIT, minimum_dry_bulb=14.0, maximum_dry_bulb=60.0), plain_coil(), rows)
    row = fit_unit(unit=unit).parameters
    assert (row[place.LOWEST_DRY_BULB], row[place.HIGHEST_DRY_BULB]) == (14.0, 35.0)
    vapour = [moist_air.vapour_pressure(ratio(t, h), SEA_LEVEL) for t, h in rows]
    assert row[place.LOWEST_VAPOUR_PRESSURE] == pytest.approx(min(vapour), rel=2e-9)
    assert row[place.HIGHEST_VAPOUR_PRESSURE] == pytest.approx(max(vapour), rel=2e-9)
    assert run(row, 35.0, 0.60)[0] == 1.0  # the rows themselves lie inside
    assert run(row, 15.6, 0.42)[0] == 1.0
    assert run(row, 12.8, 0.95)[0] == 0.0  # but not below the entering limit


def test_reactivation_air_at_the_rating_rows() -> None:
    rows = (RatingRow(15.6, 0.4, 1e-4, 3600.0, 0.0),)
    outdoor = rating_states(unit=replace(rotor_unit(air="outdoor"), ratings=rows))
    space = rating_states(unit=replace(rotor_unit(air="space"), ratings=rows))
    assert outdoor[0] == pytest.approx((15.6, ratio(15.6, 0.4), 26.7, ratio(26.7, 0.6)))
    assert space[0] == pytest.approx((15.6, ratio(15.6, 0.4), 15.6, ratio(15.6, 0.4)))


# what is refused


def test_row_that_the_curve_misses_is_refused() -> None:
    unit = coil_unit()
    assert refusal(with_row(unit, 4, removal=2.0 * unit.ratings[4].removal)) == (
        "folder/ratings.csv: compressor-60, row 5 (18.3 °C, 60 %), removal: got 6.65 kg/h, where the fitted "
        "curve gives 3.33 kg/h; allowed: 0.33 kg/h off the curve, 5 % of the row or 2 % of nominal"
    )


def test_two_rows_that_the_curve_misses_are_both_named() -> None:
    unit = coil_unit()
    unit = with_row(unit, 1, removal=0.6 * unit.ratings[1].removal)
    message = refusal(with_row(unit, 4, removal=1.5 * unit.ratings[4].removal))
    assert "row 2 (26.7 °C, 40 %), removal: got 1.40 kg/h" in message
    assert "row 5 (18.3 °C, 60 %), removal: got 4.99 kg/h" in message


def test_too_few_rows_to_leave_one_out_are_all_held_against_the_curve() -> None:
    unit = rated(COIL_UNIT, plain_coil(), STATES[:2])
    message = refusal(with_row(unit, 1, power=2.0 * unit.ratings[1].power))
    assert "row 1 (26.7 °C, 60 %), power" in message
    assert "row 2 (26.7 °C, 40 %), power" in message


def test_a_row_without_removal_at_the_rating_state_accepts_no_error_at_will() -> None:
    """The row nearest to the rating state is nominal; where it removes nothing, the best row is, of which 2 % pass."""
    unit = coil_unit()
    best = max(row.removal for row in unit.ratings)
    message = refusal(with_row(unit, 0, removal=0.0))
    assert "row 1 (26.7 °C, 60 %), removal: got 0.00 kg/h, where the fitted curve gives" in message
    assert f"allowed: {0.02 * best * 3600.0:.2f} kg/h off the curve" in message


def test_a_unit_that_removes_nothing_at_all_is_refused() -> None:
    unit = coil_unit()
    rows = tuple(replace(row, removal=0.0, power=0.0) for row in unit.ratings)
    assert refusal(replace(unit, ratings=rows)) == (
        "folder/ratings.csv: compressor-60, removal: got 0 in every rating row; allowed: one above 0\n"
        "folder/ratings.csv: compressor-60, power: got 0 in every rating row; allowed: one above 0"
    )


def test_power_that_the_curve_misses_is_refused() -> None:
    unit = coil_unit()
    assert refusal(with_row(unit, 0, power=1.3 * unit.ratings[0].power)) == (
        "folder/ratings.csv: compressor-60, row 1 (26.7 °C, 60 %), power: got 2.902 kW, where the fitted curve gives "
        "2.233 kW; allowed: 0.145 kW off the curve, 5 % of the row or 2 % of nominal"
    )


def test_gas_that_is_not_constant_is_refused() -> None:
    unit = rotor_unit(energy="gas", air="outdoor")
    unit = rated(unit, plain_rotor(unit, electricity=134.0, gas=4500.0))
    assert refusal(with_row(unit, 2, gas=5000.0)) == (
        "folder/ratings.csv: rotor-60, row 3 (22.8 °C, 60 %), gas: got 5.000 kW, where the fitted curve gives "
        "4.500 kW; allowed: 0.250 kW off the curve, 5 % of the row or 2 % of nominal"
    )


def test_reactivation_air_that_would_be_too_hot_is_refused() -> None:
    unit = rated(rotor_unit(), plain_rotor())
    assert refusal(replace(unit, reactivation_airflow=0.01)) == (
        "folder/ratings.csv: rotor-60, reactivation: got 3.51 kW into 0.0100 m³/s, which heats it to 349 °C; "
        "allowed: at most 180 °C"
    )


def test_limits_that_leave_no_range_are_refused() -> None:
    assert refusal(replace(coil_unit(), minimum_dry_bulb=41.0)) == (
        "folder/ratings.csv: compressor-60, entering limits: got 41.0 to 45.0 °C; "
        "allowed: limits that leave some of the range of its rating rows"
    )


def test_machine_better_than_ideal_is_refused() -> None:
    # A fifth of the power: rows that a curve fits well, and that no machine can be.
    unit = coil_unit()
    rows = tuple(replace(row, power=0.2 * row.power) for row in unit.ratings)
    assert refusal(replace(unit, ratings=rows)) == (
        "folder/ratings.csv: compressor-60, curve at 12.8 °C and 744 Pa: got 1.38 of the capacity of an ideal machine "
        "between surface and leaving air; allowed: more than 0 and less than 1"
    )


def test_all_faults_of_a_catalogue_come_at_once() -> None:
    one = replace(with_row(coil_unit(), 4, removal=1e-3), model="compressor-1")
    two = replace(coil_unit(), model="compressor-2", minimum_dry_bulb=41.0)
    good = replace(coil_unit(), model="compressor-3")
    catalog = Catalog(folder="shelf", currency="USD", invented=True, units=(one, two, good))
    with pytest.raises(InputFaults, match="compressor-1") as caught:
        fit_catalog(catalog=catalog)
    assert {fault.file for fault in caught.value.faults} == {"shelf/ratings.csv"}
    assert {fault.where.split(",")[0] for fault in caught.value.faults} == {"compressor-1", "compressor-2"}


# what is derived


@pytest.mark.parametrize("model", ["compressor-120", "precool-120", "rotor-90", "rotor-250"])
def test_unit_of_one_rating_is_derived(model: str) -> None:
    full = fitted()[model]
    single = fit_unit(unit=replace(full.unit, ratings=full.unit.ratings[:1]))
    assert single.derived
    assert single.low < 1.0 < single.high
    assert single.row_errors[0].removal == pytest.approx(0.0, abs=1e-6)
    assert single.row_errors[0].power == pytest.approx(0.0, abs=1e-9)
    curve = CLASS_CURVES[full.unit.technology]
    assert single.parameters[place.LOWEST_DRY_BULB] == max(curve.dry_bulb[0], full.unit.minimum_dry_bulb)
    assert single.parameters[place.HIGHEST_VAPOUR_PRESSURE] == curve.vapour_pressure[1]
    # what the same unit does by all its rows lies between the derived one's low and high
    for dry_bulb, humidity in STATES[:8]:
        if run(single.parameters, dry_bulb, humidity)[0]:
            guessed = rate(fitted=single, dry_bulb=dry_bulb, relative_humidity=humidity, pressure=SEA_LEVEL)
            truth = rate(fitted=full, dry_bulb=dry_bulb, relative_humidity=humidity, pressure=SEA_LEVEL)
            assert guessed.removal_low < truth.removal < guessed.removal_high


def test_derived_unit_has_the_shape_of_its_class() -> None:
    shape = CLASS_CURVES["refrigerant"].central
    known = evaporator_row(unit=COIL_UNIT, capacity=8000.0, power=2200.0, shape=shape)
    single = fit_unit(unit=rated(COIL_UNIT, known, ((26.7, 0.6),)))
    for at in (place.COIL_FLOW, place.CAPACITY, place.CAPACITY_PER_SURFACE, place.POWER, place.FROST_LOSS):
        assert single.parameters[at] == pytest.approx(known[at], rel=1e-7)


@pytest.mark.parametrize(("rows", "derived"), [(1, True), (3, True), (4, False)])
def test_fewer_than_four_rows_are_derived(rows: int, derived: bool) -> None:
    assert fit_unit(unit=rated(COIL_UNIT, plain_coil(), STATES[:rows])).derived is derived


def test_where_next_to_nothing_is_removed_says_nothing_of_the_spread() -> None:
    """Found: 0.85 to 1.18. At 15.6 °C, 40 % the unit removes 0.03 of 4.1 kg/h; its class's ends give 0 and 0.35."""
    rating = (RatingRow(dry_bulb=26.7, relative_humidity=0.6, removal=4.1 / 3600.0, power=1700.0, gas=0.0),)
    single = fit_unit(unit=replace(COIL_UNIT, airflow=1300.0 / 3600.0, ratings=rating))
    assert single.derived
    assert 0.84 < single.low < 0.86
    assert 1.17 < single.high < 1.19


# what a rating shows


def test_rating_of_a_precooled_unit_shows_each_state() -> None:
    rating = rate(fitted=fitted()["precool-120"], dry_bulb=26.7, relative_humidity=0.6, pressure=SEA_LEVEL)
    assert rating.precooled is not None
    assert rating.apparatus_dew_point is not None
    assert rating.evaporator_leaving is not None
    assert 26.7 > rating.precooled.dry_bulb > rating.evaporator_leaving.dry_bulb > rating.apparatus_dew_point
    assert rating.leaving.dry_bulb > 26.7
    assert rating.entering_dew_point == pytest.approx(18.295, abs=0.001)
    assert rating.specific_removal == pytest.approx(rating.removal / rating.power)
    assert rating.specific_removal * 3.6e6 == pytest.approx(specific_removal(fitted()["precool-120"]))
    assert (rating.exhaust, rating.reactivation, rating.gas, rating.warnings) == (None, None, 0.0, ())
    assert (rating.removal_low, rating.removal_high) == (rating.removal, rating.removal)


def test_rating_shows_mist_and_not_air_above_saturation() -> None:
    rating = rate(fitted=fitted()["precool-120"], dry_bulb=12.8, relative_humidity=0.95, pressure=SEA_LEVEL)
    precooled = rating.precooled
    assert precooled is not None
    assert precooled.relative_humidity == 1.0
    assert precooled.mist > 1e-4
    assert precooled.humidity_ratio == pytest.approx(
        moist_air.saturation_humidity_ratio(precooled.dry_bulb, SEA_LEVEL)
    )
    assert precooled.humidity_ratio + precooled.mist == pytest.approx(rating.entering.humidity_ratio)


def test_rating_of_a_plain_unit_has_no_precooled_state() -> None:
    rating = rate(fitted=fitted()["compressor-120"], dry_bulb=26.7, relative_humidity=0.6, pressure=SEA_LEVEL)
    assert rating.precooled is None
    assert rating.evaporator_leaving is not None


def test_rating_of_a_rotor_shows_reactivation_and_exhaust() -> None:
    fit = fitted()["rotor-250"]
    warm = rate(fitted=fit, dry_bulb=24.0, relative_humidity=0.5, pressure=SEA_LEVEL)
    cold = rate(
        fitted=fit, dry_bulb=24.0, relative_humidity=0.5, pressure=SEA_LEVEL,
        outdoor_dry_bulb=0.0, outdoor_relative_humidity=0.8,
    )  # fmt: skip
    assert warm.reactivation is not None
    assert cold.reactivation is not None
    assert warm.exhaust is not None
    assert cold.reactivation.dry_bulb < warm.reactivation.dry_bulb - 20.0
    assert warm.exhaust.humidity_ratio > warm.reactivation.humidity_ratio
    assert warm.apparatus_dew_point is None
    assert warm.specific_removal == pytest.approx(warm.removal / (warm.power + warm.gas))


def test_reactivation_air_above_the_boiling_point_is_dry_and_has_no_mist() -> None:
    """A rotor heats its reactivation air to 118 °C: nothing saturates there, and its moisture stays what it was.

    IAPWS-IF97 (iapws) has the saturation pressure; relative humidity is vapour pressure over it, found 9e-5 off; the
    dew point is that of the air before it was heated, found to 2e-10 K.
    """
    rating = rate(fitted=fitted()["rotor-90"], dry_bulb=26.7, relative_humidity=0.6, pressure=SEA_LEVEL)
    heated = rating.reactivation
    assert heated is not None
    assert heated.dry_bulb > 115.0
    assert (heated.mist, heated.humidity_ratio) == (0.0, rating.entering.humidity_ratio)
    vapour = float(moist_air.vapour_pressure(heated.humidity_ratio, SEA_LEVEL))
    saturated = 1e6 * IAPWS97(T=heated.dry_bulb + 273.15, x=0).P
    assert heated.relative_humidity == pytest.approx(vapour / saturated, rel=2e-4)
    again = moist_air.dew_point(heated.dry_bulb, heated.humidity_ratio, SEA_LEVEL)
    assert again == pytest.approx(rating.entering_dew_point, abs=1e-6)


@pytest.mark.parametrize("above", [-0.01, 0.0, 0.01])
def test_air_at_its_boiling_point_is_a_state(above: float) -> None:
    boiling = brentq(lambda t: float(moist_air.saturation_pressure(t)) - SEA_LEVEL, 90.0, 110.0)
    found = _state(boiling + above, 0.01, SEA_LEVEL)
    assert (found.dry_bulb, found.humidity_ratio, found.mist) == (boiling + above, 0.01, 0.0)
    vapour = SEA_LEVEL * 0.01 / (0.621945 + 0.01)
    assert found.relative_humidity == pytest.approx(vapour / SEA_LEVEL, rel=5e-4)  # 0.01 K is 4e-4


def test_rating_outside_the_range_says_so() -> None:
    rating = rate(fitted=fitted()["compressor-120"], dry_bulb=42.0, relative_humidity=0.6, pressure=SEA_LEVEL)
    assert not rating.runs
    assert (rating.removal, rating.power, rating.specific_removal) == (0.0, 0.0, 0.0)
    assert rating.leaving.dry_bulb == 42.0
    assert rating.warnings == (
        "compressor-120 does not run: entering dry bulb 42.0 °C is outside 10.0 to 40.6 °C, the range of its rating "
        "rows and entering limits",
        "compressor-120 does not run: entering vapour pressure 4925 Pa is outside 707 to 3855 Pa, the range of its "
        "rating rows and entering limits",
    )


def test_rating_of_frosting_and_of_derived_units_says_so() -> None:
    full = fitted()["precool-120"]
    cold = rate(fitted=full, dry_bulb=10.0, relative_humidity=0.7, pressure=SEA_LEVEL)
    assert 0.0 < cold.defrost_share < 0.5
    share = round(100.0 * cold.defrost_share)
    assert cold.warnings == (f"precool-120 frosts: {share} % of the time is lost to defrost",)
    single = fit_unit(unit=replace(full.unit, ratings=full.unit.ratings[:1]))
    warm = rate(fitted=single, dry_bulb=26.7, relative_humidity=0.6, pressure=SEA_LEVEL)
    assert warm.warnings == (
        "precool-120 is derived: class curve scaled to its rating; removal away from it may be "
        f"{single.low:.2f} to {single.high:.2f} of what is shown",
    )


def test_specific_removal_sets_technologies_apart() -> None:
    by_kind = {
        kind: [specific_removal(one) for model, one in fitted().items() if model.startswith(kind)]
        for kind in ("compressor", "precool", "rotor")
    }
    assert min(by_kind["precool"]) > max(by_kind["compressor"])
    assert min(by_kind["compressor"]) > max(by_kind["rotor"])


def test_specific_removal_holds_where_limits_leave_the_rating_state_out() -> None:
    unit = replace(coil_unit(), maximum_dry_bulb=25.0)
    limited, free = fit_unit(unit=unit), fit_unit(unit=coil_unit())
    assert run(limited.parameters, 26.7, 0.6)[0] == 0.0
    assert specific_removal(limited) == pytest.approx(specific_removal(free), rel=1e-12)
    assert parameters(limited)[place.HIGHEST_DRY_BULB] == 25.0


# the shipped catalogue


def test_shipped_catalogue_is_what_its_script_writes(tmp_path: Path) -> None:
    make_catalog(tmp_path)
    match, mismatch, errors = filecmp.cmpfiles(GENERAL, tmp_path, ("units.csv", "ratings.csv"), shallow=False)
    assert (match, mismatch, errors) == (["units.csv", "ratings.csv"], [], [])


def test_shipped_catalogue_covers_sizes_technologies_and_air() -> None:
    units = general().units
    assert len(units) >= 24
    assert general().invented
    assert {unit.technology for unit in units} == {"refrigerant", "refrigerant-precool", "desiccant"}
    nominal = sorted(int(unit.model.split("-")[1]) for unit in units)
    assert (nominal[0], nominal[-1]) == (30, 500)
    for unit in units:
        removal = run(fitted()[unit.model].parameters, 26.667, 0.60)[2]
        assert removal * 86400.0 == pytest.approx(int(unit.model.split("-")[1]), rel=0.03)  # found: 0.02
        assert len(unit.ratings) >= 8
        temperatures = [row.dry_bulb for row in unit.ratings]
        assert min(temperatures) < 11.0
        assert max(temperatures) > 40.0
        volts = unit.voltage * (3.0**0.5 if unit.phases == 3 else 1.0)
        assert max(row.power for row in unit.ratings) <= volts * unit.current


@pytest.mark.parametrize("model", model_names())
def test_shipped_units_fit_their_rows(model: str) -> None:
    errors = fitted()[model].row_errors
    assert max(abs(error.removal) for error in errors) < 0.023  # found: up to 0.022
    assert max(abs(error.power) for error in errors) < 0.020  # found: up to 0.019


def test_plain_shape_is_not_the_class_curve() -> None:
    # so that finding it again shows that the rows, not the class, set the fit
    class_shape = CLASS_CURVES["refrigerant"].central
    differing = [name for name in class_shape if class_shape[name] != PLAIN_SHAPE[name]]
    assert len(differing) == len(class_shape)
    assert rating_flow(unit=COIL_UNIT) == pytest.approx(
        0.3 / moist_air.volume(26.7, ratio(26.7, 0.6), SEA_LEVEL)
    )


@pytest.mark.parametrize("way", [-math.inf, math.inf])
def test_units_do_not_hang_on_the_last_bit_of_the_arithmetic(
    monkeypatch: pytest.MonkeyPatch, way: float
) -> None:
    """Processors differ in the last bit of an exponential; the fitted units are the same to the bit all the same."""
    exact = math.exp
    usual = {model: one.parameters.tolist() for model, one in fitted().items()}
    monkeypatch.setattr(math, "exp", lambda number: math.nextafter(exact(number), way))
    monkeypatch.setattr(fit, "expit", lambda numbers: np.nextafter(expit(numbers), way))
    found = {one.unit.model: one.parameters.tolist() for one in fit_catalog(catalog=general())}
    monkeypatch.undo()
    assert found == usual
