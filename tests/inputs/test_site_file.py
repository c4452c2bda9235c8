"""A site file becomes a site: values in SI, defaults, profiles, helpers, and where each value came from.

Sites, weather and prices here are invented.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.inputs.errors import Fault, Faults, InputFaults
from selector.inputs.site import (
    ARRANGEMENTS,
    Assumption,
    HeatGain,
    MoistureGain,
    PeopleGain,
    PlantsGain,
    Site,
    WaterSurfaceGain,
)
from selector.inputs.site_file import read_site

ROOT = Path(__file__).parents[2]
WEATHER = ROOT / "scenarios" / "weather" / "tidewater.csv"
CATALOG = ROOT / "catalogs" / "general"

SHORT = f"""\
name = "Hall, invented"
profile = "hall"
catalog = "{CATALOG}"

[weather]
file = "{WEATHER}"

[space]
floor_area = "9000 ft2"
ceiling_height = "18 ft"

[humidity_target]
relative_humidity = "55 %"

[air_handler]
supply_airflow = "9000 cfm"
outdoor_air_fraction = 0.25

[air_handler.cooling_coil]
total_capacity = "25 ton"
"""

LONG = f"""\
name = "Hall, invented"
profile = "hall"
display_units = "IP"
currency = "USD"
catalog = "{CATALOG}"

[weather]
file = "{WEATHER}"
elevation = "12 m"

[space]
floor_area = "9000 ft2"
ceiling_height = "18 ft"
heat_loss = "2200 Btu/(h*degF)"
solar_aperture = "300 ft2"
infiltration = "0.25 1/h"
exhaust_airflow = "1500 cfm"
moisture_buffer = 10
thermal_mass = "30000 Btu/degF"
cooling_setpoint = "75 degF"
heating_setpoint = "69 degF"
unoccupied_cooling_setpoint = "82 degF"
unoccupied_heating_setpoint = "60 degF"
[space.heating]
source = "electric"

[humidity_target]
relative_humidity = "55 %"
hours = "always"
allowed_hours_above = 40

[schedules.assembly]
weekday = [{{ from = 8, to = 18, value = 1.0 }}]

[[gains]]
kind = "people"
count = 220
schedule = "assembly"

[air_handler]
supply_airflow = "9000 cfm"
outdoor_air_fraction = 0.25
schedule = "assembly"
unoccupied_fan = "cycles"
economizer = "none"
fan_power = "5 kW"
fan_position = "after-coil"
external_static_pressure = "1.1 inH2O"
[air_handler.cooling_coil]
kind = "cycling-dx"
total_capacity = "25 ton"
sensible_heat_ratio = 0.72
cop = 3.2
stages = 2
airside_pressure_drop = "0.7 inH2O"
[air_handler.heating]
source = "gas"
efficiency = 0.85

[costs]
electricity = "0.14 USD/kWh"
gas = "1.10 USD/therm"
discount_rate = "5 %"
study_period = "15 year"
[costs.installation.return-side]
fixed = "1800 USD"
per_unit = "950 USD"
duct_length = "20 ft"

[limits]
arrangements = ["return-side", "supply-side", "coil-bypass", "standalone", "outdoor-air"]
max_units = 6
max_per_model = 6
max_sizes = 2
max_arrangements = 1
spare_units = 0
extra_hours_too_warm = 50
first_cost = "60000 USD"
supply_voltage = "208 V"
phases = 3
electrical_current = "120 A"
sound = "62 dBA"

[[existing_units]]
model = "precool-60"
arrangement = "standalone"
count = 1
"""

NO_AIR = SHORT[: SHORT.index("[air_handler]")]


def read(text: str, folder: Path, *, no_defaults: bool = False) -> Site:
    path = folder / "site.toml"
    path.write_text(text, encoding="utf-8")
    return read_site(path=path, no_defaults=no_defaults)


def with_lines(table: str, *lines: str, base: str = SHORT) -> str:
    assert f"[{table}]\n" in base
    return base.replace(f"[{table}]\n", "\n".join([f"[{table}]", *lines]) + "\n", 1)


def record(site: Site, key: str) -> Assumption:
    return next(assumption for assumption in site.assumptions if assumption.key == key)


def test_the_long_form_of_a_file_becomes_a_site_in_si(tmp_path: Path) -> None:
    site = read(LONG, tmp_path)
    space, air = site.space, site.air_handler
    assert air is not None
    assert space.floor_area == pytest.approx(9000 * 0.3048**2)
    assert space.ceiling_height == pytest.approx(18 * 0.3048)
    assert space.heat_loss == pytest.approx(1160.5614, rel=1e-7)
    assert space.solar_aperture == pytest.approx(300 * 0.3048**2)
    assert space.infiltration == pytest.approx(0.25 / 3600)
    assert space.exhaust_airflow == pytest.approx(1500 * 0.3048**3 / 60)
    assert space.thermal_mass == pytest.approx(30000 * 1055.05585262 * 1.8)
    assert space.moisture_buffer == 10.0
    # 1 January is a Monday: 8 to 18 on weekdays is occupied, 261 days of them
    assert site.occupied[8:18].all()
    assert not site.occupied[:8].any()
    assert site.occupied.sum() == 261 * 10
    assert space.cooling_setpoint[9] == pytest.approx((75 - 32) / 1.8)
    assert space.cooling_setpoint[20] == pytest.approx((82 - 32) / 1.8)
    assert space.heating_setpoint[20] == pytest.approx((60 - 32) / 1.8)
    assert space.occupied_heating_setpoint == pytest.approx((69 - 32) / 1.8)
    assert space.heating.source == "none"
    assert "[space.heating] is not used: the air handler serves the space" in site.notes
    assert air.supply_airflow == pytest.approx(9000 * 0.3048**3 / 60)
    assert air.outdoor_airflow == pytest.approx(air.supply_airflow / 4)
    assert air.fan_power == 5000.0
    assert air.external_static_pressure == pytest.approx(1.1 * 249.08891)
    assert air.heating.efficiency == 0.85
    assert air.heating.capacity is None
    coil = air.cooling_coil
    assert coil.total_capacity == pytest.approx(25 * 12000 * 1055.05585262 / 3600)
    assert (coil.sensible_heat_ratio, coil.bypass_factor, coil.cop, coil.stages) == (0.72, None, 3.2, 2)
    assert site.costs.electricity == pytest.approx(0.14 / 3.6e6)
    assert site.costs.gas == pytest.approx(1.10 / 105505585.262)
    assert site.costs.study_period == 15
    assert site.costs.installation["return-side"].duct_length == pytest.approx(6.096)
    assert set(site.costs.installation) == set(ARRANGEMENTS)
    limits = site.limits
    assert (limits.first_cost, limits.supply_voltage, limits.phases) == (60000.0, 208.0, 3)
    assert (limits.electrical_current, limits.sound, limits.max_units) == (120.0, 62.0, 6)
    assert site.existing_units[0].model == "precool-60"
    (target,) = site.targets
    assert (target.kind, target.limit, target.allowed_hours_above) == ("relative-humidity", 0.55, 40.0)
    assert target.hours.all()
    (people,) = site.gains
    assert isinstance(people, PeopleGain)
    assert (people.name, people.count, people.sensible, people.latent) == ("people", 220.0, 70.0, 35.0)
    assert site.weather.elevation == 12.0


def test_a_short_file_is_enough_and_every_value_has_its_record(tmp_path: Path) -> None:
    site = read(SHORT, tmp_path)
    keys = [assumption.key for assumption in site.assumptions]
    assert len(keys) == len(set(keys))
    given_keys = {assumption.key for assumption in site.assumptions if assumption.origin == "given"}
    assert given_keys == {
        "space.floor_area",
        "space.ceiling_height",
        "humidity_target.relative_humidity",
        "air_handler.supply_airflow",
        "air_handler.outdoor_air_fraction",
        "air_handler.cooling_coil.total_capacity",
    }
    for assumption in site.assumptions:
        if assumption.origin in ("default", "profile") and not isinstance(assumption.value, str):
            assert assumption.low is not None
            assert assumption.high is not None
            assert assumption.low <= assumption.value <= assumption.high
    assert record(site, "air_handler.unoccupied_fan").origin == "profile"
    assert record(site, "space.infiltration").origin == "default"
    assert record(site, "gains.people.sensible").origin == "helper"
    assert record(site, "costs.gas").unit == "USD/J"
    assert site.space.heat_loss == pytest.approx(0.2 * 5.678263 * 836.12736, rel=1e-6)
    assert site.air_handler is not None
    # 0.55 W/cfm x 9,000 cfm
    assert site.air_handler.fan_power == pytest.approx(4950.0)
    # 0.9 of the outdoor airflow
    assert site.space.exhaust_airflow == pytest.approx(0.9 * site.air_handler.outdoor_airflow)
    # 0.025 people by ft2
    people = site.gains[0]
    assert isinstance(people, PeopleGain)
    assert people.count == pytest.approx(225.0)
    assert site.notes[-1].startswith("one well-mixed space")


def test_all_defaults_are_refused_in_one_message(tmp_path: Path) -> None:
    defaults = [
        assumption.key
        for assumption in read(SHORT, tmp_path).assumptions
        if assumption.origin in ("default", "profile")
    ]
    with pytest.raises(InputFaults, match="got nothing, and defaults are refused") as caught:
        read(SHORT, tmp_path, no_defaults=True)
    assert [fault.where for fault in caught.value.faults] == defaults
    assert len(defaults) > 60
    infiltration = next(fault for fault in caught.value.faults if fault.where == "space.infiltration")
    assert infiltration.got == "nothing, and defaults are refused (it would be 0.3 1/h)"


def test_a_site_without_an_air_handler(tmp_path: Path) -> None:
    site = read(NO_AIR.replace("hall", "store"), tmp_path)
    assert site.air_handler is None
    assert site.limits.arrangements == ("standalone",)
    assert set(site.costs.installation) == {"standalone"}
    assert site.space.exhaust_airflow == 0.0
    assert (site.space.heating.source, site.space.heating.efficiency) == ("electric", 1.0)
    assert site.space.cooling.source == "none"
    assert site.occupied.sum() == 261 * 9
    tables = (
        '\n[space.heating]\nsource = "heat-pump"\n[space.cooling]\nsource = "electric"\ncapacity = "3 ton"\n'
    )
    site = read(with_lines("space", 'schedule = "always"', base=NO_AIR) + tables, tmp_path)
    assert (site.space.heating.source, site.space.heating.efficiency) == ("heat-pump", 2.8)
    assert site.space.cooling.source == "electric"
    assert site.space.cooling.capacity == pytest.approx(10550.6, abs=0.1)
    assert site.occupied.all()


def test_a_standard_airflow_is_turned_into_the_volume_at_the_site(tmp_path: Path) -> None:
    high = SHORT.replace("tidewater", "mesa").replace('"9000 cfm"', '"9000 scfm"')
    site = read(high, tmp_path)
    assert site.air_handler is not None
    pressure = float(site.weather.pressure.mean())
    assert pressure < 84000.0  # mesa lies at 1,650 m
    assert site.air_handler.supply_airflow == pytest.approx(4.247527 * 101325.0 / pressure, rel=1e-6)


def test_first_weekday_and_holidays_move_the_schedules(tmp_path: Path) -> None:
    head = 'first_weekday = "Saturday"\nholidays = ["01-03"]\n'
    site = read(head + LONG, tmp_path)
    assert not site.occupied[: 3 * 24].any()  # Saturday, Sunday, holiday
    assert site.occupied[3 * 24 + 8]
    assert site.weather.first_weekday == 5


def test_every_holiday_that_is_no_day_is_named_once(tmp_path: Path) -> None:
    """However many schedules take them, and whatever kind of fault each has."""
    head = 'holidays = ["12-25", 5, "13-01", "", "02-29", " 01-01 "]\n'
    with pytest.raises(InputFaults, match="holidays") as caught:
        read(head + LONG, tmp_path)
    assert [(fault.where, fault.got) for fault in caught.value.faults] == [
        ("holidays[1]", "5"),
        ("holidays[2]", '"13-01"'),
        ("holidays[3]", '""'),
        ("holidays[4]", '"02-29"'),
    ]
    assert {fault.allowed for fault in caught.value.faults} == {
        'a day as "MM-DD" of a year of 365 days, so not "02-29"'
    }


def test_several_targets_keep_their_hours_and_kinds(tmp_path: Path) -> None:
    two = SHORT.replace("[humidity_target]\n", "[[humidity_target]]\n").replace(
        '"55 %"\n', '"55 %"\nhours = "occupied"\nband = "2 %"\n\n[[humidity_target]]\ndew_point = "60 degF"\n'
    )
    site = read(two, tmp_path)
    first, second = site.targets
    assert (first.name, second.name) == ("humidity target 1", "humidity target 2")
    assert (first.kind, first.band) == ("relative-humidity", 0.02)
    assert np.array_equal(first.hours, site.occupied)
    assert (second.kind, second.band) == ("dew-point", 1.0)
    assert second.limit == pytest.approx(15.5556, abs=1e-4)
    assert record(site, "humidity_target[1].band").unit == "K"


def test_monthly_normals_stand_in_for_a_weather_file(tmp_path: Path) -> None:
    def twelve(unit: str, *values: int) -> str:
        return "[" + ", ".join(f'"{value} {unit}"' for value in values) + "]"

    normals = "\n".join(
        [
            'elevation = "100 ft"',
            "[weather.normals]",
            "dry_bulb = " + twelve("degF", 46, 48, 54, 61, 68, 75, 79, 79, 73, 64, 55, 48),
            "dew_point = " + twelve("degF", 37, 39, 43, 50, 61, 68, 72, 72, 66, 54, 45, 39),
            "daily_range = " + twelve("degF", *[15] * 12),
            "clearness = " + twelve("%", *[45] * 12),
            'latitude = "36 deg"',
        ]
    )
    site = read(SHORT.replace(f'file = "{WEATHER}"', normals), tmp_path)
    assert site.weather.kind == "synthetic"
    assert site.weather.elevation == pytest.approx(30.48)
    assert float(site.weather.dry_bulb[: 31 * 24].mean()) == pytest.approx((46 - 32) / 1.8, abs=1e-3)


# ------------------------------------------------------------------------------------------------- helpers


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
    ("use", "area", "people", "more", "cfm"),
    [
        # ASHRAE 62.1, ventilation rate procedure: 5 x 10 + 0.06 x 1000, a published worked example
        ("office", "1000 ft2", 10, "", 110.0),
        # class room, age 9 and over: 10 x 35 + 0.12 x 1000
        ("classroom", "1000 ft2", 35, "", 470.0),
        # zone air distribution effectiveness 0.8: 110 / 0.8
        ("office", "1000 ft2", 10, "ventilation_effectiveness = 0.8", 137.5),
    ],
)
def test_outdoor_air_by_the_ventilation_standard(
    use: str, area: str, people: int, more: str, cfm: float, tmp_path: Path
) -> None:
    text = SHORT.replace("outdoor_air_fraction = 0.25", f'ventilation_use = "{use}"\n{more}')
    text = text.replace("9000 ft2", area) + f'\n[[gains]]\nkind = "people"\ncount = {people}\n'
    site = read(text, tmp_path)
    assert site.air_handler is not None
    assert site.air_handler.outdoor_airflow == pytest.approx(cfm * 0.3048**3 / 60, rel=1e-12)


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


# ------------------------------------------------------------------------------------------------- faults


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(
        InputFaults, match=r"none\.toml: file: got no such file or directory; allowed: a site file"
    ):
        read_site(path=tmp_path / "none.toml")
    with pytest.raises(InputFaults, match="got a folder; allowed: a site file that can be read"):
        read_site(path=tmp_path)


def test_faults_are_kept_once_each_and_in_order() -> None:
    faults = Faults()
    faults.raise_if_any()
    faults.add(file="a", where="x", got="1", allowed="2")
    faults.add(file="a", where="x", got="1", allowed="2")
    faults.extend((Fault("b", "y", "3", "4"),))
    assert len(faults) == 2
    with pytest.raises(InputFaults, match=r"^a: x: got 1; allowed: 2\nb: y: got 3; allowed: 4$") as caught:
        faults.raise_if_any()
    assert caught.value.faults == faults.all()


LINES = [number for number, line in enumerate(LONG.splitlines()) if " = " in line]
JUNK = (
    "3",
    "-1",
    "nan",
    "true",
    '"x"',
    '""',
    "[]",
    "{}",
    "[1]",
    "[{}]",
    "1979-05-27",
    '"5 m"',
    '"-5 %"',
    "[[]]",
)


@settings(max_examples=100)
@given(lines=st.lists(st.sampled_from(LINES), min_size=1, max_size=3, unique=True), data=st.data())
def test_whatever_stands_at_a_key_is_read_or_refused(
    lines: list[int], data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """No other exception gets out, and what is refused is said in full."""
    text = LONG.splitlines()
    for number in lines:
        text[number] = text[number].partition(" = ")[0] + " = " + data.draw(st.sampled_from(JUNK))
    try:
        site = read("\n".join(text), tmp_path_factory.mktemp("junk"))
    except InputFaults as error:
        faults = error.faults
    else:
        faults = ()
        assert site.assumptions
    for fault in faults:
        assert all((fault.file, fault.where, fault.got, fault.allowed))
