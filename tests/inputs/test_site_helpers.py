"""Helpers of a site file: what stands for a value that the key itself would ask for, and every kind of gain.

Sites, weather and prices here are invented.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from selector.inputs.defaults import outdoor_air_rates
from selector.inputs.errors import InputFaults
from selector.inputs.site import (
    HeatGain,
    MoistureGain,
    PeopleGain,
    PlantsGain,
    WaterSurfaceGain,
)
from selector.inputs.site_file import PARTLY_OPEN, WARM_WATER
from tests.inputs.site_texts import NO_AIR, SHORT, read, record, with_lines


def test_envelope_is_the_sum_of_area_times_u_value(tmp_path: Path) -> None:
    parts = '[{ area = "836 m2", u_value = "0.3 W/(m2*K)" }, { area = "400 m2", u_value = "0.5 W/m2K" }]'
    site = read(with_lines("space", f"envelope = {parts}"), tmp_path)
    assert site.space.heat_loss == pytest.approx(836 * 0.3 + 400 * 0.5)
    assert record(site, "space.heat_loss").origin == "helper"


def test_gas_bills_are_worked_back_over_degree_hours(tmp_path: Path) -> None:
    extra = ['infiltration = "0.2 1/h"', 'gas_bills = { annual = "6000 therm", other_uses = "500 therm" }']
    text = with_lines("space", *extra) + '\n[air_handler.heating]\nsource = "gas"\nefficiency = 0.8\n'
    site = read(text, tmp_path)
    assert site.air_handler is not None
    degree_hours = float(np.maximum((60 - 32) / 1.8 - site.weather.dry_bulb, 0.0).sum())
    heat = 5500 * 105505585.262 * 0.8
    # infiltration of the whole volume, and outdoor air by the mean of the ventilation schedule
    air = 0.2 / 3600 * 836.12736 * 5.4864 + site.air_handler.outdoor_airflow * float(
        site.air_handler.ventilation.mean()
    )
    assert site.space.heat_loss == pytest.approx(heat / (degree_hours * 3600) - 1.2 * 1006 * air, rel=1e-9)
    found = record(site, "space.heat_loss")
    assert found.origin == "helper"
    assert found.low is not None
    assert found.high is not None
    assert found.low < site.space.heat_loss < found.high


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("6 ACH", 6 / 20 / 3600),
        # 2,700 cfm at 50 Pa into 162,000 ft3 is one air change an hour
        ("2700 cfm", 1 / 20 / 3600),
    ],
)
def test_airtightness_is_a_twentieth_at_rest(text: str, expected: float, tmp_path: Path) -> None:
    site = read(with_lines("space", f'airtightness = "{text}"'), tmp_path)
    assert site.space.infiltration == pytest.approx(expected)
    assert record(site, "space.infiltration").origin == "helper"


def test_words_stand_for_storage(tmp_path: Path) -> None:
    site = read(with_lines("space", 'contents = "paper"', 'construction = "heavy"'), tmp_path)
    assert site.space.moisture_buffer == 30.0
    assert site.space.thermal_mass == pytest.approx(260e3 * 836.12736)
    assert record(site, "space.thermal_mass").low == pytest.approx(165e3 * 836.12736)
    assert record(site, "space.contents").value == "paper"


def test_a_nameplate_eer_is_freed_from_the_fan(tmp_path: Path) -> None:
    text = with_lines("air_handler", 'fan_power = "5 kW"') + "eer = 11\n"
    site = read(text, tmp_path)
    assert site.air_handler is not None
    # net 87.9213 - 5 = 82.9213 kW; over EER 11 (3.223782 W/W) 25.7217 kW; without the fan 20.7217 kW
    assert site.air_handler.cooling_coil.cop == pytest.approx(87.9213 / 20.7217, rel=1e-4)


def test_kilowatts_by_ton_are_the_inverse(tmp_path: Path) -> None:
    site = read(SHORT + "kw_per_ton = 1.1\n", tmp_path)
    assert site.air_handler is not None
    assert site.air_handler.cooling_coil.cop == pytest.approx(3.516853 / 1.1, rel=1e-6)


def test_three_temperatures_give_the_outdoor_fraction(tmp_path: Path) -> None:
    line = 'measured_temperatures = { outdoor = "40 degF", return_air = "72 degF", mixed = "64 degF" }'
    site = read(SHORT.replace("outdoor_air_fraction = 0.25", line), tmp_path)
    assert site.air_handler is not None
    assert site.air_handler.outdoor_airflow == pytest.approx(0.25 * site.air_handler.supply_airflow)
    found = record(site, "air_handler.outdoor_air_fraction")
    assert found.low == pytest.approx(0.25 - 0.5 / (32 / 1.8))


@pytest.mark.parametrize(
    ("use", "area", "people", "more", "cfm", "si"),
    [
        # ASHRAE 62.1, ventilation rate procedure: 5 x 10 + 0.06 x 1000, a published worked example;
        # in SI 2.5 x 10 + 0.3 x 92.903
        ("office", "1000 ft2", 10, "", 110.0, 52.870912),
        # class room, age 9 and over: 10 x 35 + 0.12 x 1000; in SI 5 x 35 + 0.6 x 92.903, the greater
        ("classroom", "1000 ft2", 35, "", 470.0, 230.741824),
        # zone air distribution effectiveness 0.8: 110 / 0.8
        ("office", "1000 ft2", 10, "ventilation_effectiveness = 0.8", 137.5, 66.08864),
        # a shop's rates are 7.5 cfm and 3.8 L/s, 0.12 cfm/ft2 and 0.6 L/(s m2)
        ("shop", "1000 ft2", 100, "", 870.0, 435.741824),
    ],
)
def test_outdoor_air_by_the_ventilation_standard(
    use: str, area: str, people: int, more: str, cfm: float, si: float, tmp_path: Path
) -> None:
    text = SHORT.replace("outdoor_air_fraction = 0.25", f'ventilation_use = "{use}"\n{more}')
    text = text.replace("9000 ft2", area) + f'\n[[gains]]\nkind = "people"\ncount = {people}\n'
    site = read(text, tmp_path)
    assert site.air_handler is not None
    airflow = cfm * 0.3048**3 / 60
    assert site.air_handler.outdoor_airflow == pytest.approx(airflow, rel=1e-12)
    found = record(site, "air_handler.outdoor_airflow")
    assert found.source.endswith(f"by its inch-pound rates; by its SI rates {si:.4g} L/s")
    assert found.low is not None
    assert found.high is not None
    assert sorted([found.low, found.high]) == pytest.approx(sorted([airflow, si / 1000.0]), rel=1e-12)


def test_outdoor_air_by_the_ventilation_standards_si_table() -> None:
    """92.9 m2 and 10 people of an office: 2.5 x 10 + 0.3 x 92.9 = 52.9 L/s, exact by ASHRAE 62.1-2019, table 6-1."""
    inch_pound, (by_person, by_area) = outdoor_air_rates(use="office")
    assert 10 * by_person + 92.9 * by_area == pytest.approx(0.05287, rel=1e-12)
    assert inch_pound == pytest.approx((5 * 0.3048**3 / 60, 0.06 * 0.3048 / 60), rel=1e-12)


FAN = "\n[schedules.fan]\nweekday = [{{ from = 8, to = 18, value = {value} }}]\n"
POOL = '\n[[gains]]\nkind = "water-surface"\narea = "100 ft2"\nwater_temperature = "82 degF"\nheat_from = "{of}"\n'
LESS = """
[[options]]
name = "less"
kind = "outdoor-air"
ventilation_use = "corridor"
{more}
first_cost = "0 USD"
maintenance = "0 USD/year"
"""


@pytest.mark.parametrize(
    ("more", "schedule", "words", "said"),
    [
        (FAN.format(value=0.3), True, PARTLY_OPEN, True),
        (FAN.format(value=0.95), True, PARTLY_OPEN, False),  # more than the 90 % that are exhausted
        (FAN.format(value=1.0), True, PARTLY_OPEN, False),
        (POOL.format(of="water"), False, WARM_WATER, True),
        (POOL.format(of="air"), False, WARM_WATER, False),
        (LESS.format(more=""), False, "options[0]: the exhaust is more than the outdoor airflow", True),
        (
            LESS.format(more='exhaust_airflow = "1 cfm"'),
            False,
            "options[0]: the exhaust is more than the outdoor airflow",
            False,
        ),
    ],
)
def test_what_is_easily_overlooked_is_noted(
    more: str, schedule: bool, words: str, said: bool, tmp_path: Path
) -> None:
    text = with_lines("air_handler", 'schedule = "fan"') if schedule else SHORT
    assert any(note.startswith(words) for note in read(text + more, tmp_path).notes) is said


def test_people_by_use_and_activity(tmp_path: Path) -> None:
    text = SHORT + '\n[[gains]]\nkind = "people"\nuse = "classroom"\nactivity = "athletics"\n'
    site = read(text, tmp_path)
    (people,) = site.gains
    assert isinstance(people, PeopleGain)
    assert people.count == pytest.approx(0.035 * 9000)
    assert (people.sensible, people.latent) == (210.0, 315.0)
    assert {record(site, f"gains[0].{name}").unit for name in ("sensible", "latent")} == {"W"}
    assert np.array_equal(people.schedule > 0, site.occupied)


def test_every_kind_of_gain(tmp_path: Path) -> None:
    text = SHORT + "\n".join(
        [
            '\n[[gains]]\nkind = "people"\ncount = 10\nsensible = "70 W"\nlatent = "45 W"',
            '[[gains]]\nkind = "water-surface"\narea = "200 m2"\npool = "residential"\nname = "small pool"',
            '[[gains]]\nkind = "water-surface"\narea = "9 m2"\nactivity_factor = 0.3\nheat_from = "air"',
            '[[gains]]\nkind = "plants"\narea = "100 m2"\nlamp_power = "50 W/m2"\nschedule = "always"',
            '[[gains]]\nkind = "moisture"\nrate = "70 pints/day"',
            '[[gains]]\nkind = "heat"\npower = "3 kW"',
            '[[gains]]\nkind = "heat"\npower = "10 MBH"',
        ]
    )
    people, pool, tub, plants, moisture, lights, plugs = read(text, tmp_path).gains
    assert isinstance(people, PeopleGain)
    assert (people.count, people.sensible, people.latent) == (10.0, 70.0, 45.0)
    assert isinstance(pool, WaterSurfaceGain)
    assert (pool.name, pool.activity_factor, pool.idle_activity_factor) == ("small pool", 0.5, 0.5)
    assert pool.water_temperature == pytest.approx((82 - 32) / 1.8)
    assert isinstance(tub, WaterSurfaceGain)
    # at rest never above the factor in use, where the rest is a default
    assert (tub.name, tub.activity_factor, tub.idle_activity_factor) == ("water-surface 2", 0.3, 0.3)
    assert (pool.heat_from, tub.heat_from) == ("water", "air")
    assert isinstance(plants, PlantsGain)
    assert (plants.lamp_power, plants.crop_coefficient, plants.schedule.min()) == (50.0, 1.0, 1.0)
    assert isinstance(moisture, MoistureGain)
    assert moisture.rate == pytest.approx(3.82977e-4, rel=1e-5)
    assert moisture.schedule.min() == 1.0
    assert isinstance(lights, HeatGain)
    assert isinstance(plugs, HeatGain)
    assert (lights.name, plugs.name) == ("heat 1", "heat 2")
    assert plugs.power == pytest.approx(2930.71, abs=0.01)


def test_an_empty_list_means_no_gains(tmp_path: Path) -> None:
    assert read("gains = []\n" + SHORT, tmp_path).gains == ()


def test_chilled_water_has_no_laws_of_a_compressor(tmp_path: Path) -> None:
    site = read(SHORT + 'kind = "modulating-chilled-water"\nbypass_factor = 0.1\n', tmp_path)
    assert site.air_handler is not None
    coil = site.air_handler.cooling_coil
    assert (coil.sensible_heat_ratio, coil.bypass_factor) == (None, 0.1)
    assert coil.water_temperature == pytest.approx((45 - 32) / 1.8)
    assert (coil.stages, coil.capacity_per_surface, coil.capacity_per_outdoor) == (1, 0.0, 0.0)


def test_an_economizer_takes_its_own_limit(tmp_path: Path) -> None:
    site = read(with_lines("air_handler", 'economizer = "enthalpy"'), tmp_path)
    assert site.air_handler is not None
    # 28 Btu/lb of the IP datum (dry air at 0 °F) is 47.26 kJ/kg of the SI datum (dry air at 0 °C)
    assert site.air_handler.economizer_enthalpy == pytest.approx(47264.3, abs=0.1)
    keys = {assumption.key for assumption in site.assumptions}
    assert "air_handler.economizer_dry_bulb" not in keys


def test_another_currency_needs_its_own_prices(tmp_path: Path) -> None:
    text = 'currency = "EUR"\n' + NO_AIR + '\n[costs]\nelectricity = "€0.30/kWh"\n'
    with pytest.raises(
        InputFaults, match=re.escape("costs.gas: got nothing; allowed: a price of energy in EUR")
    ):
        read(text, tmp_path)
