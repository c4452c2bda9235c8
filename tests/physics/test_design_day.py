"""The dew-point design week."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from selector.decide.evaluate import evaluate, prepare_site
from selector.inputs.site import HOURS, DesignDay, Install, MoistureGain, PeopleGain
from selector.inputs.site_file import read_site
from selector.physics.design_day import repeat_week, simulate_design_day, week_of
from selector.physics.hourly import simulate_hours
from selector.physics.prepare import Prepared
from selector.report.json_report import evaluation_json
from selector.report.lines import design_day_text
from selector.report.text import show_in
from tests.builders import flat, make_site
from tests.sites import SCENARIOS, prepared_room


def steady_day(hour: int = 4000) -> DesignDay:
    """A day like every other of the constant weather that the builders make."""
    return DesignDay(0.4, 16.9, hour, np.full(24, 25.0), np.full(24, 0.012), np.zeros(24), 101325.0)


def steady(**changes: Any) -> Prepared:
    gain = MoistureGain("wet floor", 2e-4, "water", flat(1.0))
    return prepare_site(site=replace(make_site(gains=(gain,)), **changes))


@pytest.mark.parametrize("install", [(), (Install("compressor-60", "standalone", 1),)])
def test_a_design_day_like_every_other_day_leads_to_the_ordinary_year(install: tuple[Install, ...]) -> None:
    prepared = steady()
    ordinary = simulate_hours(prepared=prepared, install=install)
    day = simulate_design_day(prepared=prepared, install=install, day=steady_day())
    # constant weather and gains: both come to the same state; with a unit that cycles from hour to hour it is the mean
    # over a week that agrees, found to 2e-5
    last = slice(HOURS - 168, HOURS)
    assert day.year.relative_humidity[day.place].mean() == pytest.approx(
        float(ordinary.relative_humidity[last].mean()), rel=1e-4
    )
    assert day.year.mean_t[day.place].mean() == pytest.approx(float(ordinary.mean_t[last].mean()), rel=1e-4)
    if not install:
        assert day.relative_humidity == pytest.approx(float(ordinary.relative_humidity[-1]), rel=1e-8)


def test_the_week_lies_around_the_day_and_wraps_around_the_year() -> None:
    hours = week_of(day=steady_day(hour=12), ventilation=np.ones(HOURS))
    assert len(set(hours)) == 168
    assert hours[3 * 24 + 12] == 12
    assert hours[0] == HOURS - 72


def test_a_closed_week_gives_way_to_the_nearest_ordinary_one() -> None:
    """A school's dew points are highest in its holidays; what it has to bear is the week before or after them."""
    day = steady_day(hour=4000)
    own = week_of(day=day, ventilation=np.ones(HOURS))
    open_hours = np.tile(np.repeat([0.0, 1.0, 0.0], 8), 365)
    open_hours[own[0] - 168 : own[-1] + 1 + 168] = (
        0.0  # three weeks of holidays, the design day's in the middle
    )
    open_hours[own[0] - 2 * 168 : own[0] - 168 - 24] = 0.0  # a single day before them
    assert week_of(day=day, ventilation=open_hours) == tuple(hour + 2 * 168 for hour in own)
    assert week_of(day=day, ventilation=np.zeros(HOURS)) == own


def test_the_school_meets_its_design_day_while_it_is_open() -> None:
    prepared = prepare_site(site=read_site(path=SCENARIOS / "school.toml"))
    day = simulate_design_day(prepared=prepared, install=(), day=prepared.site.weather.design_days[0])
    assert day.moved
    assert prepared.hours["ventilation"][list(day.hours)].sum() > 40.0
    text = design_day_text(day, show_in(units="SI", currency="USD"))
    assert ", site as in the week of 17 Aug: " in text
    shown = evaluation_json(evaluate(prepared=prepared, install=()), days=(day,))["humidity"]["design_days"]
    assert [one["site_week_from"] for one in shown] == ["08-17 00:00"]


def test_schedules_of_the_week_meet_the_weather_of_the_day() -> None:
    schedule = np.zeros(HOURS)
    schedule[4000 - 4000 % 24 + 24 + 9] = 1.0  # the morning after the design day
    gain = PeopleGain("crowd", 50.0, 70.0, 60.0, schedule)
    site = make_site(gains=(gain,))
    target = replace(site.targets[0], kind="dew-point", limit=10.0, band=1.0)
    prepared = prepare_site(site=replace(site, targets=(target,)))
    day = replace(steady_day(), dry_bulb=np.arange(24.0) * 0.1 + 20.0)
    hours = week_of(day=day, ventilation=np.zeros(HOURS))
    repeated = repeat_week(prepared=prepared, day=day, hours=hours)
    assert repeated.gains.vapour.reshape(-1)[:168].argmax() == hours.index(int(schedule.argmax()))
    assert np.array_equal(repeated.hours["outdoor_t"].reshape(-1, 24)[200], day.dry_bulb)
    assert np.array_equal(repeated.hours["vapour"][168:336], repeated.hours["vapour"][:168])
    found = simulate_design_day(prepared=prepared, install=(), day=day)
    # the moisture is in the air at the end of its hour, so the hour after it is the wettest on the whole
    assert found.worst_hour == int(schedule.argmax()) + 1


def test_the_week_is_periodic_and_its_hours_are_counted() -> None:
    prepared = prepared_room()
    for design in prepared.site.weather.design_days:
        day = simulate_design_day(
            prepared=prepared, install=(Install("precool-120", "standalone", 1),), day=design
        )
        humid = day.year.relative_humidity
        before = humid[day.place.start - 168 : day.place.start]
        # the last turn repeats the one before it: agreement found 1e-12
        assert humid[day.place] == pytest.approx(before, rel=1e-9)
        limit = day.limits[0]
        assert limit.worst == pytest.approx(float(humid[day.place].max()), rel=1e-12)
        assert limit.hours_above == int((humid[day.place] > limit.limit + 0.0005).sum())
        assert day.holds == (limit.hours_above == 0)


def test_a_drier_design_day_is_no_worse() -> None:
    prepared = prepared_room()
    worst = [
        simulate_design_day(prepared=prepared, install=(), day=design).relative_humidity
        for design in prepared.site.weather.design_days
    ]
    dew_points = [design.dew_point for design in prepared.site.weather.design_days]
    assert dew_points[0] > dew_points[1]
    assert worst[0] > worst[1]


def test_a_limit_that_is_not_in_force_is_not_judged() -> None:
    site = make_site()
    off = replace(site.targets[0], hours=np.zeros(HOURS, bool))
    day = simulate_design_day(
        prepared=prepare_site(site=replace(site, targets=(off,))), install=(), day=steady_day()
    )
    assert day.limits == ()
    assert day.holds


def test_a_dew_point_limit_is_judged_in_its_own_unit() -> None:
    site = make_site()
    target = replace(site.targets[0], kind="dew-point", limit=16.0, band=1.0)
    day = simulate_design_day(
        prepared=prepare_site(site=replace(site, targets=(target,))), install=(), day=steady_day()
    )
    # without gains the space comes to the outdoor humidity ratio, 0.012 kg/kg: dew point 16.8 °C (ASHRAE Fundamentals
    # 2017, ch. 1, table 2, interpolated)
    assert day.limits[0].worst == pytest.approx(16.8, abs=0.1)
    assert day.limits[0].hours_above == 168
    assert day.space_dew_point == day.limits[0].worst
