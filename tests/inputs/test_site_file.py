"""A site file becomes a site: values in SI, defaults, profiles, faults, and where each value came from.

Sites, weather and prices here are invented.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selector.inputs.errors import Fault, Faults, InputFaults
from selector.inputs.site import (
    ARRANGEMENTS,
    PeopleGain,
)
from selector.inputs.site_file import PARTLY_OPEN, WARM_WATER, read_site
from tests.inputs.site_texts import LONG, NO_AIR, SHORT, WEATHER, read, record, with_lines


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
    assert not {PARTLY_OPEN, WARM_WATER} & set(site.notes)
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


def test_exhaust_is_not_asked_for_without_an_air_handler_and_not_taken_in_silence(tmp_path: Path) -> None:
    """The year knows exhaust only beside outdoor air that an air handler brings."""
    site = read(NO_AIR, tmp_path)
    assert "space.exhaust_airflow" not in {one.key for one in site.assumptions}
    assert not any("exhaust" in note for note in site.notes)
    site = read(with_lines("space", 'exhaust_airflow = "200 cfm"', base=NO_AIR), tmp_path)
    assert site.space.exhaust_airflow == 0.0
    assert (
        "space.exhaust_airflow is not used: there is no air handler; count in space.infiltration what it draws in"
        in site.notes
    )


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


# ------------------------------------------------------------------------------------------------- faults


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(
        InputFaults, match=r"none\.toml: file: got no such file or directory; allowed: a site file"
    ):
        read_site(path=tmp_path / "none.toml")
    with pytest.raises(InputFaults, match="got a folder; allowed: a site file that can be read"):
        read_site(path=tmp_path)


def test_a_refused_elevation_is_not_missed_a_second_time(tmp_path: Path) -> None:
    """The weather has none of its own, which is no fault while the site file has one to be mended."""
    text = WEATHER.read_text("utf-8").replace("# elevation: 12 m\n", "")
    (tmp_path / "w.csv").write_text(text, encoding="utf-8")
    site = SHORT.replace(f'file = "{WEATHER}"', 'file = "w.csv"\nelevation = "12"')
    with pytest.raises(InputFaults, match=r'weather\.elevation: got "12" \(no unit\)') as caught:
        read(site, tmp_path)
    assert len(caught.value.faults) == 1


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
