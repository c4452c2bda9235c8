"""The psychrometric chart read back from its SVG: every state, process and word against the simulation."""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest

from selector.decide.duty import design_hours
from selector.inputs.site import ARRANGEMENTS, HOURS
from selector.physics import response as out
from selector.physics.design_day import simulate_design_day
from selector.physics.moist_air import sensible_heat
from selector.physics.prepare import lead_order
from selector.report.charts import psychrometric_chart, psychrometric_charts, svg_of
from selector.report.charts_psychrometric import COLUMNS, state_figures
from selector.report.figures import number
from tests.report.choices import DESIGNS, chosen, impossible, simulated
from tests.report.drawn_charts import EVERY_DESIGN, air_of, chart, picture
from tests.report.pictures import Picture, number_of
from tests.sites import prepared_room, room


@EVERY_DESIGN
def test_every_plotted_state_stands_where_its_air_is(design: tuple[str, ...]) -> None:
    air, shown = air_of(design), picture("psychrometric", design)
    ratio, dry_bulb = shown.scale(1, "y"), shown.scale(2, "x")
    assert len(shown.ids("state-")) == len(air.states)
    for place, state in enumerate(air.states, start=1):
        x, y = shown.marker(f"state-{place}")
        # °F, and grains in a pound: 7000; found within a thousandth of a point of the picture
        assert abs(dry_bulb.read(x) - (1.8 * state.air.dry_bulb + 32.0)) <= 2.0 * dry_bulb.slack
        assert abs(ratio.read(y) - 7000.0 * state.air.humidity_ratio) <= 2.0 * ratio.slack


@EVERY_DESIGN
def test_every_process_joins_the_two_states_it_names(design: tuple[str, ...]) -> None:
    air, shown = air_of(design), picture("psychrometric", design)
    assert len(shown.ids("process-")) == len(air.processes)
    for place, process in enumerate(air.processes, start=1):
        ends = shown.path(f"process-{place}-{process.kind}")
        points = [shown.marker(f"state-{1 + state}") for state in (process.start, process.end)]
        assert ends == pytest.approx(np.array(points), abs=0.002)  # a thousandth each


@EVERY_DESIGN
def test_states_are_those_that_the_simulation_left(design: tuple[str, ...]) -> None:
    """The hour's response, and what the equipment schedule says of the units, hold the same states."""
    prepared, evaluation, air = prepared_room(), simulated(*design), air_of(design)
    assert air.basis == "design week"
    day = min(prepared.site.weather.design_days, key=lambda one: one.percent)
    week = simulate_design_day(prepared=prepared, install=lead_order(prepared=prepared, install=evaluation.install),
                               day=day)  # fmt: skip
    row = range(*week.place.indices(HOURS))[week.hours.index(air.hour)]
    response = week.year.response[row]
    now = week.prepared.hours[row]

    def roles(t: float, w: float) -> tuple[str, ...]:
        """Of the state there; found within 5e-7 K and 1e-9 kg/kg, to which the hour's own mean settles."""
        return next(
            state.roles
            for state in air.states
            if abs(state.air.dry_bulb - t) < 1e-6 and abs(state.air.humidity_ratio - w) < 2e-9
        )

    assert "outdoor" in roles(now["outdoor_t"], now["outdoor_w"])
    assert "space" in roles(week.year.mean_t[row], week.year.mean_w[row])
    assert (air.fan_share, air.coil_share) == (response[out.FAN_SHARE], response[out.COIL_SHARE])
    if air.coil_share > 0.0:
        assert "leaving coil" in roles(response[out.COIL_OUT_T], response[out.COIL_OUT_W])
        assert air.surface == response[out.SURFACE_T]
    entering = [state.air for state in air.states if "entering coil" in state.roles]
    assert len(entering) == (1 if air.fan_share > 0.0 else 0)
    if entering:  # mixed from what enters it: found within 2e-7 K and 7e-9 kg/kg of the coil's own
        assert entering[0].dry_bulb == pytest.approx(float(response[out.COIL_IN_T]), abs=1e-6)
        assert entering[0].humidity_ratio == pytest.approx(float(response[out.COIL_IN_W]), abs=2e-8)
    hours = design_hours(prepared=prepared, evaluation=evaluation)
    if not design:
        assert air.hour == week.worst_hour
    for unit in (one for one in hours if one.hour == air.hour):
        for met in unit.met:
            assert "entering unit" in roles(met.duty.entering.dry_bulb, met.duty.entering.humidity_ratio)
            leaving = roles(met.duty.leaving.dry_bulb, met.duty.leaving.humidity_ratio)
            assert any(role in ("leaving unit", f"leaving {unit.model}") for role in leaving)
    assert not hours or air.hour in {one.hour for one in hours}


@EVERY_DESIGN
def test_supply_air_carries_the_heat_that_the_balance_counts(design: tuple[str, ...]) -> None:
    """Supply air by its shares of the hour, against the space, is what the year's energy balance holds."""
    prepared, evaluation, air = prepared_room(), simulated(*design), air_of(design)
    if air.fan_share == 0.0:
        pytest.fail("a design hour without the fan says nothing here")
    day = min(prepared.site.weather.design_days, key=lambda one: one.percent)
    every = lead_order(prepared=prepared, install=evaluation.install)
    week = simulate_design_day(prepared=prepared, install=every, day=day)
    row = range(*week.place.indices(HOURS))[week.hours.index(air.hour)]
    response, now, plant = week.year.response[row], week.prepared.hours[row], prepared.plant
    space = next(one.air for one in air.states if "space" in one.roles)
    heat = 0.0
    for state in air.states:
        if "supply air" not in state.roles:
            continue
        share = air.coil_share if not state.rest and air.coil_share > 0.0 else air.fan_share - air.coil_share
        per_kg = float(sensible_heat(state.air.humidity_ratio, state.air.dry_bulb, space.dry_bulb))
        heat += share * float(plant["supply"]) * per_kg
    per_kelvin = float(sensible_heat(float(now["outdoor_w"]), 1.0, 0.0))
    outdoor = float(response[out.BROUGHT]) * per_kelvin * (float(now["outdoor_t"]) - space.dry_bulb)
    # W; found within 2e-3 W of some 10 kW: the state of the space settles to 1e-6 K
    assert heat - outdoor == pytest.approx(float(response[out.SYSTEM_HEAT]), abs=0.02)


@EVERY_DESIGN
def test_the_words_of_the_psychrometric_chart_give_each_state(design: tuple[str, ...]) -> None:
    air, words = air_of(design), chart("psychrometric", design).text
    found = re.findall(
        r"State (\d+), [^:]*: dry bulb (\S+) °F, dew point (\S+) °F, RH (\S+) %, humidity ratio (\S+) gr/lb, "
        r"enthalpy (\S+) Btu/lb\.",
        words,
    )
    assert [int(one[0]) for one in found] == list(range(1, len(air.states) + 1))
    for one, state in zip(found, air.states, strict=True):
        told = [number_of(value) for value in one[1:]]
        t, w = state.air.dry_bulb, state.air.humidity_ratio
        meant = [
            1.8 * t + 32.0,
            1.8 * state.air.dew_point + 32.0,
            100.0 * state.air.relative_humidity,
            7000.0 * w,
        ]
        assert told[:4] == pytest.approx(meant, abs=0.0501)
        # dry air at 0 °F has none: 0.240 t + w (1061 + 0.444 t), ASHRAE Fundamentals 2017 ch. 1 eq. 30 (IP)
        fahrenheit = 1.8 * t + 32.0
        # the handbook's two forms are up to 0.03 Btu/lb apart at 50 °C
        assert told[4] == pytest.approx(0.240 * fahrenheit + w * (1061.0 + 0.444 * fahrenheit), abs=0.0801)
    shown = picture("psychrometric", design).texts()
    for state in air.states:
        for value in state_figures(state=state, units="IP"):
            assert value in shown


def test_a_state_in_si_units_is_read_off_in_si_units() -> None:
    site = dataclasses.replace(room(), display_units="SI")
    air = air_of(DESIGNS[1])
    made = psychrometric_chart(site=site, install=simulated(*DESIGNS[1]).install, air=air)
    shown = Picture(svg_of(chart=made), made.name)
    ratio, dry_bulb = shown.scale(1, "y"), shown.scale(2, "x")
    for place, state in enumerate(air.states, start=1):
        x, y = shown.marker(f"state-{place}")
        assert abs(dry_bulb.read(x) - state.air.dry_bulb) <= 2.0 * dry_bulb.slack
        assert abs(ratio.read(y) - 1000.0 * state.air.humidity_ratio) <= 2.0 * ratio.slack
    assert "humidity ratio [g/kg dry air]" in shown.texts()
    assert [name for name, _ in COLUMNS] == ["dry bulb", "dew point", "RH", "humidity ratio", "enthalpy"]


def test_each_arrangement_has_its_chart_on_the_same_axes() -> None:
    choice = chosen()
    charts = psychrometric_charts(prepared=prepared_room(), choice=choice)
    assert [one.name for one in charts] == [f"psychrometric-{name}" for name in ("existing", *ARRANGEMENTS)]
    scales = set()
    ids: set[str] = set()
    for made in charts:
        shown = Picture(svg_of(chart=made), made.name)
        scales.add((shown.scale(1, "y"), shown.scale(2, "x")))
        assert not ids & {key for key in shown.by_id if key}
        ids |= {key for key in shown.by_id if key}
    assert len(scales) == 1
    without = psychrometric_charts(prepared=prepared_room(), choice=impossible())
    assert [one.name for one in without] == [
        f"psychrometric-{name}" for name in ("existing", *ARRANGEMENTS) if name != "coil-bypass"
    ]


def test_figures_of_states_are_written_in_the_units_of_the_columns() -> None:
    state = air_of(())
    for (_, figure), value in zip(
        COLUMNS[:1], state_figures(state=state.states[0], units="SI"), strict=False
    ):
        assert number_of(value) == pytest.approx(
            number(state.states[0].air.dry_bulb, figure, "SI"), abs=0.0501
        )
