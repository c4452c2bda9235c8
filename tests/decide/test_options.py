"""Options that are no units, from the site file to the comparison and beside a choice."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from selector.decide.choose_options import options_beside
from selector.decide.compare import compare
from selector.decide.evaluate import evaluate
from selector.decide.options import options_of
from selector.decide.results import Choice, Proof
from selector.inputs.site import Site
from selector.inputs.site_file import read_site
from selector.money.life_cycle import life_cycle_cost
from selector.physics.prepare import Prepared
from selector.report.options_beside import options_json, options_screen
from selector.report.terminal import plain_lines
from selector.report.text import show_for
from tests.hours import prepared_demo
from tests.sites import SCENARIOS

WHEEL, REHEAT = "energy-recovery wheel", "overcooling with gas reheat"


def school(more: str, folder: Path) -> Site:
    text = (SCENARIOS / "school.toml").read_text("utf-8")
    for name in ("../catalogs/general", "weather/tidewater.csv"):
        text = text.replace(f'"{name}"', f'"{(SCENARIOS / name).as_posix()}"')
    path = folder / "school.toml"
    path.write_text(text + more, "utf-8")
    return read_site(path=path)


def test_the_school_compares_its_options_with_everything_else() -> None:
    comparison = compare(prepared=prepared_demo("school"), choice=None)
    by_name = {one.option.name: one for one in comparison.options}
    wheel, reheat, there = by_name[WHEEL], by_name[REHEAT], comparison.existing
    assert wheel.option.kind == reheat.option.kind == "change"
    # a wheel saves energy of outdoor air and does little for humidity; reheat holds it, at the price of gas
    assert wheel.evaluation.costs.gas < there.evaluation.costs.gas
    assert not wheel.evaluation.feasible
    assert reheat.evaluation.feasible
    assert reheat.evaluation.costs.gas > 2.0 * there.evaluation.costs.gas
    for one in (wheel, reheat):
        assert one.evaluation.balance_moisture <= 1e-9
        assert one.evaluation.balance_energy <= 1e-9
        assert one.evaluation.unsettled_hours == 0


def test_what_wears_out_is_bought_again() -> None:
    site = prepared_demo("school").site
    costs = replace(site.costs, study_period=20)
    again = life_cycle_cost(
        first=0.0, electricity=0.0, gas=0.0, maintenance=0.0, units=(), costs=costs, others=((24000.0, 18.0),)
    )
    # bought again at the end of year 18; at the end of year 20, 16 of the second one's 18 years are left
    rate = costs.discount_rate
    assert again.replacement == pytest.approx(24000.0 / (1.0 + rate) ** 18, rel=1e-12)
    assert again.residual == pytest.approx(-24000.0 * 16.0 / 18.0 / (1.0 + rate) ** 20, rel=1e-12)


POLICIES = """
[[options]]
name = "fan off"
kind = "unoccupied"
unoccupied_fan = "off"
unoccupied_cooling_setpoint = "78 degF"
first_cost = "0 USD"
maintenance = "0 USD/year"
[[options]]
name = "standard"
kind = "outdoor-air"
ventilation_use = "conference"
first_cost = "300 USD"
maintenance = "0 USD/year"
[[options]]
name = "economizer"
kind = "economizer"
economizer = "enthalpy"
first_cost = "2000 USD"
maintenance = "50 USD/year"
"""


def test_policies_change_the_site_and_nothing_else(tmp_path: Path) -> None:
    site = school(POLICIES, tmp_path)
    found = {one.name: one for one in options_of(site=site)}
    handler = found["fan off"].site.air_handler
    assert handler is not None
    assert site.air_handler is not None
    assert handler.unoccupied_fan == "off"
    warm = found["fan off"].site.space.cooling_setpoint
    assert set(np.round(warm[~site.occupied], 3)) == {25.556}
    assert np.array_equal(warm[site.occupied], site.space.cooling_setpoint[site.occupied])
    less = found["standard"].site.air_handler
    assert less is not None
    assert less.outdoor_airflow < site.air_handler.outdoor_airflow
    assert found["standard"].site.space is not site.space
    assert found["standard"].site.space.exhaust_airflow == site.space.exhaust_airflow
    free = found["economizer"].site.air_handler
    assert free is not None
    assert free.economizer == "enthalpy"
    assert all(not one.install for one in found.values())


def nothing_chosen(prepared: Prepared) -> Choice:
    existing = evaluate(prepared=prepared, install=())
    proof = Proof("not possible", "none tried", 0.0, 0.0, 0.0, 1, 1, {}, 1.0, 0.0)
    return Choice(prepared.site, None, existing, existing, None, (), None, None, (), proof)


def test_options_take_part_in_the_choice_only_where_the_site_asks(tmp_path: Path) -> None:
    prepared = prepared_demo("school")
    choice = nothing_chosen(prepared)
    assert options_beside(prepared=prepared, choice=choice) == ()
    asked = replace(prepared.site, limits=replace(prepared.site.limits, options=True))
    beside = options_beside(prepared=replace(prepared, site=asked), choice=choice)
    assert [one.option.name for one in beside] == [REHEAT, WHEEL]
    assert [one.beats for one in beside] == [True, False]
    lines = options_screen(beside=beside, possible=True, show=show_for(asked))
    assert f"{REHEAT} BEATS the design above" in plain_lines(lines)[0]
    lines = options_screen(beside=beside, possible=False, show=show_for(asked))
    assert f"{REHEAT} KEEPS EVERY LIMIT, as no new units do" in " ".join(plain_lines(lines))
    assert [one["beats_best_design"] for one in options_json(beside=beside)] == [True, False]
