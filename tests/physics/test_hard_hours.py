"""Years of invented sites with hours in which a search for the hour's state once ended nowhere.

Each names what makes the hours hard. Such an hour does not settle, or has no state at all; its balance does not close.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.inputs.install_text import parse_installs
from selector.inputs.site import Install, RecoveryWheel, Reheat
from selector.inputs.site_file import read_site
from selector.physics.response import COIL_REMOVED, HEATING, REHEAT
from tests.decide.small_cases import make_case
from tests.hours import fitted_units, prepared_demo
from tests.sites import SCENARIOS

# while the fan follows units and coil at night, each share of the hour below some one asks for more, each above it for
# less: the units' heat is spread over the share, and the coil's need jumps with it
FAN_JUMPS = """
profile = "hall"
[weather]
file = "{weather}/millbrook.csv"
[space]
floor_area = "178 m2"
ceiling_height = "9.6 m"
heat_loss = "288 W/K"
contents = "paper"
cooling_setpoint = "24.2 degC"
[[humidity_target]]
name = "events"
dew_point = "14 degC"
hours = "occupied"
allowed_hours_above = 0
[[humidity_target]]
name = "all hours"
relative_humidity = "65 %"
hours = "always"
allowed_hours_above = 100
[air_handler]
supply_airflow = "3.134 m3/s"
outdoor_air_fraction = 0.94
unoccupied_fan = "cycles"
economizer = "dry-bulb"
[air_handler.cooling_coil]
total_capacity = "39 kW"
"""
# two numbers of units close to each other, before the hour has settled, give a slope of some hundred kelvin a unit
SLOPE_OF_NOISE = """
profile = "growing"
[weather]
file = "{weather}/tidewater.csv"
[space]
floor_area = "752 m2"
ceiling_height = "5.4 m"
heat_loss = "686 W/K"
construction = "medium"
[[humidity_target]]
name = "lit"
dew_point = "14 degC"
hours = "occupied"
allowed_hours_above = 40
[[humidity_target]]
name = "all hours"
relative_humidity = "65 %"
hours = "always"
allowed_hours_above = 100
[air_handler]
supply_airflow = "13.655 m3/s"
outdoor_air_fraction = 0.02
[air_handler.cooling_coil]
total_capacity = "143.5 kW"
"""
# the same, where it makes one unit seem to lack that does not, and the next is left to run next to nothing
SEEMS_TO_LACK = """
profile = "pool"
[weather]
file = "{weather}/mesa.csv"
[space]
floor_area = "133 m2"
ceiling_height = "6.3 m"
construction = "medium"
contents = "paper"
[humidity_target]
dew_point = "17.7 degC"
hours = "always"
allowed_hours_above = 0
[air_handler]
supply_airflow = "2.262 m3/s"
outdoor_air_fraction = 0.06
unoccupied_fan = "cycles"
[air_handler.cooling_coil]
total_capacity = "34.3 kW"
sensible_heat_ratio = 0.66
[air_handler.heating]
source = "gas"
"""


def settles(found: Evaluation, unsettled: int = 0) -> None:
    assert found.unsettled_hours <= unsettled
    assert max(found.balance_moisture, found.balance_energy) <= 1e-9


@pytest.mark.parametrize(
    ("text", "design", "unsettled"),
    [
        (FAN_JUMPS, ("1 precool-480 supply-side", "2 rotor-500 supply-side"), 0),
        (SLOPE_OF_NOISE, ("2 precool-340 supply-side",), 2),  # found: 2, counted and shown
        (SEEMS_TO_LACK, ("1 precool-340 supply-side", "1 precool-60 standalone"), 0),
    ],
    ids=["fan jumps", "slope of noise", "seems to lack"],
)
def test_hours_settle_and_balance(text: str, design: tuple[str, ...], unsettled: int, tmp_path: Path) -> None:
    path = tmp_path / "site.toml"
    head = f'name = "Hard hours"\ncatalog = "{(SCENARIOS.parent / "catalogs" / "general").as_posix()}"'
    path.write_text(head + text.format(weather=(SCENARIOS / "weather").as_posix()), encoding="utf-8")
    site = read_site(path=path)
    prepared = prepare_site(site=site, fitted=fitted_units())
    settles(evaluate(prepared=prepared, install=parse_installs(texts=design, site=site)), unsettled)


def test_a_wheel_whose_own_fan_warms_what_it_cools_settles() -> None:
    """Slowing the wheel to hold the cooling set point, its fan's heat goes at once where it stops."""
    site = prepared_demo("clinic").site
    assert site.air_handler is not None
    wheel = RecoveryWheel(0.74, 0.66, site.space.exhaust_airflow, 400.0, 400.0, 13.0, -12.0)
    site = replace(site, air_handler=replace(site.air_handler, wheel=wheel))
    settles(evaluate(prepared=prepare_site(site=site, fitted=fitted_units()), install=()))


@pytest.mark.parametrize(
    ("number", "text"), [(206, "2 precool-120 supply-side"), (230, "2 precool-60 supply-side")]
)
def test_units_that_the_coils_own_share_takes_out_of_their_range_leave_the_balance_closed(
    number: int, text: str
) -> None:
    """Behind a coil that runs part of the hour, or a valve, units come into range at some share, with their heat: there
    is none that meets the load, and the hour ends where the coil leaves it."""
    prepared = make_case(number).prepared
    found = evaluate(prepared=prepared, install=parse_installs(texts=(text,), site=prepared.site))
    assert found.balance_energy <= 1e-9  # was 0.6 and 0.3
    assert found.balance_moisture <= 1e-9


def test_heating_beside_reheat_that_runs_out_is_bought_once() -> None:
    """An hour that is heated and too moist takes its heat from reheat as far as that goes, and from heating beyond."""
    site = prepared_demo("pool").site
    assert site.air_handler is not None
    handler = replace(site.air_handler, reheat=Reheat("electric", 1.0, 3000.0))
    prepared = prepare_site(site=replace(site, air_handler=handler), fitted=fitted_units())
    found = evaluate(prepared=prepared, install=())
    settles(found)
    both = (found.year.response[:, REHEAT] > 0.0) & (found.year.response[:, HEATING] > 0.0)
    assert both.any()
    assert found.year.response[:, REHEAT].max() <= 3000.0


def test_units_that_a_wheels_speed_takes_out_of_their_range_leave_the_hour_a_state() -> None:
    """Outdoor-air units behind a wheel run or do not by its speed: none may hold the cooling set point."""
    site = prepared_demo("growing").site
    assert site.air_handler is not None
    wheel = RecoveryWheel(0.74, 0.66, site.space.exhaust_airflow, 400.0, 400.0, 13.0, -12.0)
    handler = replace(site.air_handler, wheel=wheel)
    prepared = prepare_site(site=replace(site, air_handler=handler), fitted=fitted_units())
    found = evaluate(prepared=prepared, install=(Install("compressor-220", "outdoor-air", 2),))
    assert max(found.balance_moisture, found.balance_energy) <= 1e-9  # was 1.0
    assert found.unsettled_hours <= 46  # found: 46, where the speed sits on the edge; counted and shown


def test_a_coil_that_dries_nothing_does_not_over_run() -> None:
    """Where the coil's surface stays above the dew point, over-run and reheat would be bought for nothing."""
    site = prepared_demo("pool").site
    assert site.air_handler is not None
    handler = replace(site.air_handler, reheat=Reheat("electric", 1.0, 3000.0))
    prepared = prepare_site(site=replace(site, air_handler=handler), fitted=fitted_units())
    found = evaluate(prepared=prepared, install=(Install("compressor-60", "standalone", 1),))
    response = found.year.response
    run = response[:, REHEAT] > 0.0
    assert run.any()
    assert response[run, COIL_REMOVED].min() > 0.0
