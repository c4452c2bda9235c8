"""The schedule's figures are those of simulate, choose and rate."""

from __future__ import annotations

import functools
from dataclasses import astuple, fields, replace

import numpy as np
import pytest

from selector.decide.choose import choose
from selector.decide.duty import Air, Duty, duty_at, fitted_of
from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.schedule import Schedule, equipment_schedule, kinds_of, set_points
from selector.inputs.install_text import parse_installs
from selector.inputs.site import HOURS, Install
from selector.physics.arrangements import ENTERING_T, ENTERING_W, LEAVING_T, OFF, POWER, REMOVAL
from selector.physics.class_curves import RATING_DRY_BULB, RATING_PRESSURE, RATING_RELATIVE_HUMIDITY
from selector.physics.design_day import simulate_design_day
from selector.physics.prepare import Prepared, lead_order
from selector.physics.rating import rate
from tests.hours import prepared_demo
from tests.sites import prepared_room

DESIGNS = (
    ("1 precool-120 supply-side", "1 compressor-60 supply-side"),
    ("2 precool-120 return-side",),
    ("1 precool-120 coil-bypass", "1 rotor-60 coil-bypass"),
    ("3 precool-120 standalone",),
    ("1 rotor-60 outdoor-air",),
)


@functools.cache
def of_room(*texts: str) -> Schedule:
    prepared = prepared_room()
    return equipment_schedule(prepared=prepared, install=parse_installs(texts=texts, site=prepared.site))


# ---------------------------------------------------------------------------------------- simulate


@pytest.mark.parametrize("texts", DESIGNS, ids=" + ".join)
def test_the_design_hour_is_an_hour_of_the_simulated_design_week(texts: tuple[str, ...]) -> None:
    prepared, schedule = prepared_room(), of_room(*texts)
    install = schedule.evaluation.install
    day = next(day for day in prepared.site.weather.design_days if day.percent == 0.4)
    week = simulate_design_day(
        prepared=prepared, install=lead_order(prepared=prepared, install=install), day=day
    )
    removal = np.sum([group.removal[week.place] for group in week.year.groups], axis=0)
    at = int(np.argmax(removal))
    row = range(*week.place.indices(HOURS))[at]
    for _, one in kinds_of(rows=schedule.rows):
        hour = one.design
        group = next(part for part in week.year.groups if part.model == one.unit.model)
        assert (hour.hour, hour.basis) == (week.hours[at], "design week")
        assert hour.running == group.running[row] > 0.0
        # one product of the same numbers in another order
        assert hour.removal * hour.running * 3600.0 == pytest.approx(group.removal[row], rel=1e-14)
        assert hour.space.dry_bulb == week.year.mean_t[row]
        assert hour.space.relative_humidity == pytest.approx(week.year.relative_humidity[row], rel=1e-14)
        assert sum(met.share for met in hour.met) == pytest.approx(1.0, rel=1e-15)
        for met in hour.met:
            cell = group.cell[row]
            offset = OFF if met.share != group.on_share[row] else 0
            assert met.duty.entering.dry_bulb == cell[offset + ENTERING_T]
            assert met.duty.entering.humidity_ratio == cell[offset + ENTERING_W]
            assert met.duty.removal == cell[offset + REMOVAL]
            assert met.duty.power == cell[offset + POWER]
            assert met.duty.leaving.dry_bulb == cell[offset + LEAVING_T]


@pytest.mark.parametrize("texts", DESIGNS, ids=" + ".join)
def test_the_loop_and_one_call_give_the_same_duty(texts: tuple[str, ...]) -> None:
    prepared = prepared_room()
    for _, row in kinds_of(rows=of_room(*texts).rows):
        hour = row.design
        for met in hour.met:
            again = duty_at(
                fitted=fitted_of(prepared=prepared, model=row.unit.model),
                flow_fraction=met.duty.flow_fraction,
                dry_bulb=met.duty.entering.dry_bulb,
                humidity_ratio=met.duty.entering.humidity_ratio,
                pressure=hour.pressure,
                outdoor=(hour.outdoor.dry_bulb, hour.outdoor.humidity_ratio),
                space=(hour.space.dry_bulb, hour.space.humidity_ratio),
            )
            # found: less than 1e-13, to which a search that starts elsewhere finds a unit's apparatus dew point
            assert figures(again) == pytest.approx(figures(met.duty), rel=1e-13, abs=0.0)


def figures(duty: Duty) -> tuple[float, ...]:
    """All of a duty's figures, those of its air among them."""
    every = (getattr(duty, field.name) for field in fields(duty))
    return tuple(
        figure for one in every for figure in (astuple(one) if isinstance(one, Air) else (float(one),))
    )


def test_supply_side_units_show_both_states_of_the_coil() -> None:
    row = of_room("1 precool-120 supply-side", "1 compressor-60 supply-side").rows[0]
    assert [met.coil for met in row.design.met] == ["coil stage 2", "coil stage 1"]
    colder, warmer = (met.duty.entering.dry_bulb for met in row.design.met)
    assert colder < warmer


def test_static_that_the_fan_does_not_hold_leaves_less_airflow() -> None:
    prepared = prepared_demo("school")
    schedule = equipment_schedule(prepared=prepared, install=(Install("compressor-300", "coil-bypass", 1),))
    row = schedule.rows[0]
    assert prepared.site.air_handler is not None
    assert row.connection.static == pytest.approx(
        prepared.site.air_handler.external_static_pressure + row.connection.duct, rel=1e-15
    )
    assert row.connection.static > row.unit.fan_static
    assert row.airflow == row.connection.flow_fraction * row.unit.airflow < row.unit.airflow
    assert row.design.met[0].duty.airflow == pytest.approx(row.airflow, rel=1e-14)


# ---------------------------------------------------------------------------------------- choose


def test_totals_are_those_of_the_choice() -> None:
    prepared = prepared_room()
    best = choose(prepared=prepared).best
    assert best is not None
    schedule = equipment_schedule(prepared=prepared, install=best.install)
    mine = schedule.evaluation
    assert mine.install == best.install
    assert mine.costs == best.costs
    assert mine.limits == best.limits
    assert mine.feasible
    assert not mine.broken
    assert [voltage for voltage, _ in best.currents] == sorted({row.unit.voltage for row in schedule.rows})
    for voltage, current in best.currents:
        there = [row.unit.current for row in schedule.rows if row.unit.voltage == voltage]
        assert sum(there) == pytest.approx(current, rel=1e-15)
    assert sum(row.unit.weight for row in schedule.rows) == pytest.approx(best.weight, rel=1e-15)
    assert max(row.unit.sound for row in schedule.rows) == best.sound
    assert sum(row.unit.price for row in schedule.rows) == pytest.approx(
        sum(line.total for line in best.costs.lines.lines if line.kind == "unit"), rel=1e-15
    )
    assert [row.tag for row in schedule.rows] == [f"DH-{n}" for n in range(1, len(schedule.rows) + 1)]


def test_limits_that_a_named_design_breaks_are_shown_as_simulate_shows_them() -> None:
    prepared = prepared_room()
    schedule = of_room("1 precool-120 standalone")
    assert (
        schedule.evaluation.broken == evaluate(prepared=prepared, install=schedule.evaluation.install).broken
    )
    assert schedule.evaluation.broken


# ---------------------------------------------------------------------------------------- rate


@pytest.mark.parametrize("texts", DESIGNS, ids=" + ".join)
def test_the_standard_rating_is_that_of_rate(texts: tuple[str, ...]) -> None:
    prepared = prepared_room()
    for _, row in kinds_of(rows=of_room(*texts).rows):
        fitted = fitted_of(prepared=prepared, model=row.unit.model)
        rating = rate(
            fitted=fitted,
            dry_bulb=RATING_DRY_BULB,
            relative_humidity=RATING_RELATIVE_HUMIDITY,
            pressure=RATING_PRESSURE,
        )
        mine = row.standard
        assert (mine.removal, mine.power, mine.gas) == (rating.removal, rating.power, rating.gas)
        assert (mine.leaving.dry_bulb, mine.leaving.humidity_ratio) == (
            rating.leaving.dry_bulb,
            rating.leaving.humidity_ratio,
        )
        assert mine.specific_removal == rating.specific_removal
        place = [unit.model for unit in prepared.site.catalog.units].index(row.unit.model)
        assert mine.specific_removal * 3.6e6 == pytest.approx(prepared.specific[place], rel=1e-14)


# ---------------------------------------------------------------------------------------- rows


def test_rows_follow_the_order_in_which_units_are_called() -> None:
    schedule = of_room("1 rotor-60 supply-side", "2 precool-120 supply-side")
    assert [(row.tag, row.unit.model, row.stage) for row in schedule.rows] == [
        ("DH-1", "precool-120", 1),
        ("DH-2", "precool-120", 1),
        ("DH-3", "rotor-60", 2),
    ]
    assert [tags for tags, _ in kinds_of(rows=schedule.rows)] == [("DH-1", "DH-2"), ("DH-3",)]


def test_existing_units_take_a_stage_but_no_row() -> None:
    site = replace(prepared_room().site, existing_units=(Install("rotor-60", "standalone", 1),))
    prepared = prepare_site(site=site, fitted=prepared_room().fitted)
    schedule = equipment_schedule(prepared=prepared, install=(Install("compressor-60", "standalone", 1),))
    assert [(row.tag, row.stage, row.stages) for row in schedule.rows] == [("DH-1", 1, 2)]


def test_nothing_installed_is_nothing_scheduled() -> None:
    schedule = of_room()
    assert schedule.rows == ()
    assert schedule.evaluation.install == ()


def test_a_unit_that_the_design_week_does_not_call_has_its_hour_of_the_year_or_none() -> None:
    # far more than enough: the last stage never runs
    row = of_room("6 precool-120 standalone", "1 rotor-60 standalone").rows[-1]
    assert row.unit.model == "rotor-60"
    assert row.design.basis == "not called"
    assert row.design.running == 0.0
    assert row.design.met[0].duty.entering == row.design.space


def _without_design_days(prepared: Prepared) -> Prepared:
    weather = replace(prepared.site.weather, design_days=())
    return replace(prepared, site=replace(prepared.site, weather=weather))


def test_a_unit_that_stands_still_in_the_common_hour_has_its_own() -> None:
    # an outdoor-air unit runs with ventilation only: there the lead holds the design week, so the year has its hour
    prepared = prepared_demo("hall")
    install = (Install("precool-200", "standalone", 1), Install("rotor-90", "outdoor-air", 1))
    schedule = equipment_schedule(prepared=prepared, install=install)
    common, own = (row.design for row in schedule.rows)
    assert (common.basis, own.basis) == ("design week", "year")
    removal = next(group.removal for group in schedule.evaluation.year.groups if group.model == "rotor-90")
    assert own.hour == int(np.argmax(removal))
    assert own.removal * own.running * 3600.0 == pytest.approx(removal[own.hour], rel=1e-14)
    assert prepared.site.occupied[own.hour]


def test_a_unit_whose_fan_moves_no_air_against_its_static_runs_nowhere() -> None:
    schedule = of_room("1 compressor-60 coil-bypass")
    row = schedule.rows[0]
    assert row.airflow == 0.0
    assert row.design.basis == "not called"
    assert not row.design.met[0].duty.runs
    assert any(one.limit == "static pressure on the unit" for one in schedule.evaluation.broken)


def test_weather_without_design_days_gives_an_hour_of_the_year() -> None:
    prepared = _without_design_days(prepared_room())
    install = (Install("precool-120", "standalone", 2),)
    schedule = equipment_schedule(prepared=prepared, install=install)
    hour = schedule.rows[0].design
    removal = schedule.evaluation.year.groups[0].removal
    assert (hour.basis, hour.hour) == ("year", int(np.argmax(removal)))
    assert schedule.percent is None


def test_the_drain_is_the_site_files_and_a_rotor_has_none() -> None:
    room = prepared_room()
    terms = dict(room.site.costs.installation)
    terms["standalone"] = replace(terms["standalone"], drain="pump")
    site = replace(room.site, costs=replace(room.site.costs, installation=terms))
    prepared = replace(room, site=site)
    install = (Install("precool-120", "standalone", 1), Install("rotor-60", "standalone", 1))
    rows = equipment_schedule(prepared=prepared, install=install).rows
    assert [row.drain for row in rows] == ["pump", "none"]
    assert rows[0].design.met[0].duty.condensate == rows[0].design.met[0].duty.removal
    assert rows[1].design.met[0].duty.condensate == 0.0


def test_set_points_lie_their_band_below_the_limits() -> None:
    site = prepared_demo("school").site
    classes, mould = set_points(site=site)
    assert (classes.kind, classes.when) == ("dew-point", "occupied hours")
    assert classes.hours == int(site.occupied.sum())
    assert (mould.kind, mould.when, mould.hours) == ("relative-humidity", "all hours", HOURS)
    for point, target in zip((classes, mould), site.targets, strict=True):
        assert point.set_point == target.limit - target.band < point.limit
