"""The whole choice on three real typical years, one invented site each; results are golden.

Weather: Miami (TMY2, hot and humid), Greensboro (TMY3, mixed) and Sand Point (TMY3, cold and maritime), as pvlib ships
them; source: National Renewable Energy Laboratory, TMY2 (1995) and TMY3 (2008). Buildings, units and prices are
invented. They choose among every third unit of the general catalogue, so that each choice takes a few seconds. Beside
the golden numbers, which only say that nothing has changed, stands what the weather alone makes plausible.
"""

from __future__ import annotations

import functools
from dataclasses import replace
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from selector.decide.choose import choose
from selector.decide.evaluate import Evaluation, prepare_site
from selector.decide.results import Choice
from selector.inputs.site_file import read_site
from tests.golden_files import answer_of, compare
from tests.hours import fitted_units
from tests.sites import SCENARIOS

GOLDEN = Path(__file__).parent / "golden"
PLACES = ("miami", "greensboro", "sand-point")
EVERY = 3  # of the catalogue's units
SITES = {
    "miami": """
name = "Branch library by the sea, invented"
profile = "school"
weather.file = "12839.tm2"
space.floor_area = "6000 ft2"
space.ceiling_height = "12 ft"
humidity_target = { relative_humidity = "60 %", hours = "always", allowed_hours_above = 40 }
gains = [{ kind = "people", count = 70 }, { kind = "heat", power = "6 kW" }]
air_handler.supply_airflow = "7000 cfm"
air_handler.outdoor_airflow = "1400 cfm"
air_handler.cooling_coil.total_capacity = "20 ton"
limits.max_units = 3
limits.extra_hours_too_warm = 120
""",
    "greensboro": """
name = "Meeting hall in the hills, invented"
profile = "hall"
weather.file = "723170TYA.CSV"
space.floor_area = "5000 ft2"
space.ceiling_height = "14 ft"
humidity_target = { relative_humidity = "60 %", hours = "always", allowed_hours_above = 40 }
gains = [{ kind = "people", count = 120 }, { kind = "heat", power = "4 kW" }]
air_handler.supply_airflow = "6000 cfm"
air_handler.outdoor_airflow = "1500 cfm"
air_handler.unoccupied_fan = "cycles"
air_handler.cooling_coil.total_capacity = "16 ton"
limits.max_units = 4
limits.extra_hours_too_warm = 120
""",
    "sand-point": """
name = "Office of a fishing harbour, invented"
profile = "office"
weather.file = "703165TY.csv"
space.floor_area = "5000 ft2"
space.ceiling_height = "10 ft"
humidity_target = { relative_humidity = "60 %", hours = "always", allowed_hours_above = 40 }
gains = [{ kind = "people", count = 35 }, { kind = "heat", power = "5 kW" }]
air_handler.supply_airflow = "4500 cfm"
air_handler.outdoor_airflow = "700 cfm"
air_handler.cooling_coil.total_capacity = "10 ton"
limits.max_units = 4
""",
}


def weather_folder() -> Path:
    found = find_spec("pvlib")
    assert found is not None
    assert found.submodule_search_locations is not None
    return Path(found.submodule_search_locations[0]) / "data"


@functools.cache
def chosen(place: str) -> Choice:
    text = SITES[place].replace('weather.file = "', f'weather.file = "{weather_folder().as_posix()}/')
    text = f'catalog = "{(SCENARIOS.parent / "catalogs" / "general").as_posix()}"\n{text}'
    with TemporaryDirectory() as folder:
        path = Path(folder) / "site.toml"
        path.write_text(text, encoding="utf-8")
        site = read_site(path=path)
    catalog = replace(site.catalog, units=site.catalog.units[::EVERY])
    fitted = fitted_units()[::EVERY]
    return choose(prepared=prepare_site(site=replace(site, catalog=catalog), fitted=fitted))


def best(place: str) -> Evaluation:
    found = chosen(place).best
    assert found is not None
    return found


@pytest.mark.parametrize("place", PLACES)
def test_answer_is_the_golden_one(place: str, renew_golden: bool) -> None:
    compare(GOLDEN / f"{place}.json", answer_of(chosen(place)), renew=renew_golden)


@pytest.mark.parametrize("place", PLACES)
def test_answer_is_proved_and_keeps_the_limits(place: str) -> None:
    choice, found = chosen(place), best(place)
    assert (choice.proof.status, choice.proof.gap) == ("optimal", 0.0)
    assert found.feasible
    assert all(limit.hours_above <= limit.allowed for limit in found.limits)
    for one in (found, choice.existing):
        assert one.balance_moisture <= 1e-9
        assert one.balance_energy <= 1e-9
        kg = one.moisture_kg
        taken = kg["coil"] + kg["units"] + kg["stored"]
        # over a year that ends as it began, what comes in goes out; agreement found: 1e-11
        assert kg["ventilation"] + kg["infiltration"] + kg["internal"] == pytest.approx(taken, rel=1e-9)


def test_wetter_weather_leaves_more_hours_above_and_more_to_remove() -> None:
    """Hours with an outdoor dew point above 15 °C: 6954, 3012 and 0, as `test_weather_files` counts them."""
    above = [chosen(place).existing.hours_above for place in PLACES]
    assert above == sorted(above, reverse=True)
    removed = [best(place).moisture_kg["units"] for place in PLACES]
    assert removed == sorted(removed, reverse=True)
    # found: 15.7, 8.6 and 0.13 t a year
    assert removed[0] > 1.5 * removed[1]
    assert removed[1] > 50.0 * removed[2]


def test_cold_dry_year_needs_the_smallest_unit_for_some_days() -> None:
    choice, found = chosen("sand-point"), best("sand-point")
    assert choice.existing.moisture_kg["ventilation"] < 0.0  # outdoor air dries
    assert choice.existing.moisture_kg["infiltration"] < 0.0
    assert choice.existing.hours_above < 0.02 * 8760
    units = choice.site.catalog.units
    assert [(part.model, part.count) for part in found.install] == [(units[0].model, 1)]
    assert found.moisture_kg["units"] < 0.02 * found.moisture_kg["internal"]


def test_outdoor_air_brings_most_of_the_moisture_in_the_hot_humid_year() -> None:
    kg = best("miami").moisture_kg
    assert kg["ventilation"] + kg["infiltration"] > 2.0 * kg["internal"]


@pytest.mark.parametrize("place", ["miami", "greensboro"])
def test_unit_in_the_return_takes_from_the_coil(place: str) -> None:
    """Common practice, no source: a unit upstream of the coil does part of what the coil would have done."""
    alone = {row.arrangement: row.best for row in chosen(place).by_arrangement}
    before, after = alone["return-side"], alone["supply-side"]
    assert before is not None
    assert after is not None
    assert before.moisture_kg["coil"] < after.moisture_kg["coil"]
    assert before.moisture_kg["units"] > after.moisture_kg["units"]


@pytest.mark.parametrize("place", PLACES)
def test_units_that_treat_ventilation_alone_do_not_hold_a_space_that_is_wet_at_night(place: str) -> None:
    """Common practice, no source: they stand still without ventilation, when infiltration goes on."""
    alone = {row.arrangement: row for row in chosen(place).by_arrangement}
    assert alone["outdoor-air"].best is None
