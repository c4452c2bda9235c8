"""The audit of the hourly CSV, with CoolProp, for the school with a wheel and with overcooling and reheat.

As `test_auditor`: only the CSV's text is read, and wheel, mixing, coil and balance are worked out anew.
"""

from __future__ import annotations

import csv
import functools
import io
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from selector.decide.evaluate import evaluate
from selector.decide.options import options_of, prepare_options
from selector.report.hourly_csv import hourly_csv
from tests.hours import prepared_demo
from tests.published.audits import WATER, enthalpy

ROOT = Path(__file__).parents[2]
NAMES = ("energy-recovery wheel", "overcooling with gas reheat")
SENSIBLE, LATENT = 0.74, 0.66  # as scenarios/school.toml says
BALANCE = 1800.0 / 2200.0  # exhaust over outdoor air


@functools.cache
def audited(name: str) -> pd.DataFrame:
    prepared = prepared_demo("school")
    option = next(one for one in options_of(site=prepared.site) if one.name == name)
    (own,) = prepare_options(prepared=prepared, options=(option,))
    text = hourly_csv(prepared=own, year=evaluate(prepared=own, install=()).year)
    headings, *rows = csv.reader(io.StringIO(text))
    return pd.DataFrame(np.array([row[1:-1] for row in rows]).astype(float), columns=headings[1:-1])


@pytest.mark.parametrize("name", NAMES)
def test_moisture_balances_in_every_row(name: str) -> None:
    row = audited(name)
    brought = row["internal_moisture_kg"] + row["ventilation_moisture_kg"] + row["infiltration_moisture_kg"]
    taken = row["coil_removal_kg"] + row["unit_removal_kg"] + row["stored_moisture_kg"]
    largest = (
        row[[one for one in map(str, row) if one.endswith("_kg") and "airflow" not in one]].abs().max(axis=1)
    )
    assert np.all((brought - taken).abs() <= 1e-9 * np.maximum(largest, 1e-3))


def test_the_wheel_recovers_what_its_effectiveness_says() -> None:
    row = audited(NAMES[0])
    row = row[row["wheel_speed"] == 1.0]
    assert len(row) > 500
    t = row["outdoor_dry_bulb_C"] - SENSIBLE * BALANCE * (row["outdoor_dry_bulb_C"] - row["space_dry_bulb_C"])
    w = row["outdoor_humidity_ratio"] - LATENT * BALANCE * (
        row["outdoor_humidity_ratio"] - row["space_humidity_ratio"]
    )
    # the space's mean state settles to 1e-6 K and 1e-8 kg/kg
    assert np.abs(row["wheel_leaving_humidity_ratio"] - w).max() <= 1e-8  # found: 5.4e-9
    # its fan in the outdoor air, 0.7 kW
    p, m = row["pressure_Pa"].to_numpy(), row["outdoor_airflow_kg"].to_numpy() / 3600.0
    heat = m * (
        enthalpy(
            row["wheel_leaving_dry_bulb_C"].to_numpy(), row["wheel_leaving_humidity_ratio"].to_numpy(), p
        )
        - enthalpy(t.to_numpy(), w.to_numpy(), p)
    )
    assert heat == pytest.approx(700.0, rel=1e-3)  # found: 8e-4
    # what is left of the moisture in outdoor air comes in
    left = row["outdoor_airflow_kg"] * (row["wheel_leaving_humidity_ratio"] - row["space_humidity_ratio"])
    assert np.abs(row["ventilation_moisture_kg"] - left).max() <= 3e-5  # found: 2.4e-5 kg
    assert row["wheel_kWh"].to_numpy() == pytest.approx(1.4, rel=1e-12)


def test_it_stands_while_nobody_is_there_and_where_it_would_bring_heat_back() -> None:
    row = audited(NAMES[0])
    stands = row["wheel_speed"] == 0.0
    assert np.all(row["wheel_kWh"][stands] == 0.0)
    shut = row["outdoor_airflow_kg"] == 0.0
    assert np.all(stands[shut])
    cooler = (row["outdoor_dry_bulb_C"] > 13.0) & (row["outdoor_dry_bulb_C"] < row["space_dry_bulb_C"] - 2.0)
    drier = row["outdoor_humidity_ratio"] < row["space_humidity_ratio"] - 5e-4
    assert (cooler & drier).any()
    assert np.all(stands[cooler & drier])


def test_mixing_behind_the_wheel() -> None:
    row = audited(NAMES[0])
    row = row[(row["wheel_speed"] > 0.0) & (row["coil_runtime"] > 0.0)].iloc[::5]
    assert len(row) > 20
    p = row["pressure_Pa"].to_numpy()
    m, mo = row["supply_airflow_kg"].to_numpy(), row["outdoor_airflow_kg"].to_numpy()
    w = ((m - mo) * row["space_humidity_ratio"] + mo * row["wheel_leaving_humidity_ratio"]).to_numpy() / m
    assert np.abs(row["coil_entering_humidity_ratio"].to_numpy() - w).max() <= 1e-8  # found: 7e-9
    h = (m - mo) * enthalpy(row["space_dry_bulb_C"].to_numpy(), row["space_humidity_ratio"].to_numpy(), p)
    h += mo * enthalpy(
        row["wheel_leaving_dry_bulb_C"].to_numpy(), row["wheel_leaving_humidity_ratio"].to_numpy(), p
    )
    there = enthalpy(row["coil_entering_dry_bulb_C"].to_numpy(), w, p)
    assert np.abs(there - h / m).max() <= 1.0  # J/kg; found: 0.63


def test_the_coil_gives_what_reheat_gives_back() -> None:
    row = audited(NAMES[1])
    row = row[row["reheat_delivered_kWh"] > 0.0]
    assert len(row) > 200
    assert row["reheat_kWh"].to_numpy() == pytest.approx(
        row["reheat_delivered_kWh"].to_numpy() / 0.8, rel=1e-12
    )
    assert row["reheat_delivered_kWh"].max() <= 120000.0 * 0.00029307107 * (1.0 + 1e-6)
    assert np.all(row["heating_delivered_kWh"] >= row["reheat_delivered_kWh"])
    warm = row["space_end_dry_bulb_C"] > 23.0  # where the space is heated, reheat gives that heat, too
    assert np.count_nonzero(warm) > 50
    assert np.all((row["reheat_delivered_kWh"] <= row["coil_heat_kWh"])[warm])
    assert np.all(row["coil_surface_C"] >= 0.0)
    some = row[row["coil_stage"] == 1.0].iloc[::7]
    p = some["pressure_Pa"].to_numpy()
    t1, w1 = some["coil_entering_dry_bulb_C"].to_numpy(), some["coil_entering_humidity_ratio"].to_numpy()
    t2, w2 = some["coil_leaving_dry_bulb_C"].to_numpy(), some["coil_leaving_humidity_ratio"].to_numpy()
    flow = (
        some["coil_airflow_kg"].to_numpy() / some["fan_runtime"].to_numpy() * some["coil_runtime"].to_numpy()
    )
    heat = flow * (
        enthalpy(t1, w1, p) - enthalpy(t2, w2, p) - (w1 - w2) * WATER * some["coil_surface_C"].to_numpy()
    )
    assert some["coil_heat_kWh"].to_numpy() == pytest.approx(heat / 3.6e6, rel=5e-4)  # found: 3.5e-4


def test_the_set_point_is_held_where_nothing_ran_out() -> None:
    row = audited(NAMES[1])
    held = row[(row["reheat_delivered_kWh"] > 0.0) & (row["reheat_short"] == 0.0)]
    assert len(held) > 200
    assert (
        held["space_relative_humidity"].max() < 0.66
    )  # the limit of 65 % by 0.01, or drier by the dew point


def test_columns_stand_only_where_there_is_such_a_part() -> None:
    wheel, reheat = audited(NAMES[0]), audited(NAMES[1])
    assert not [one for one in map(str, wheel) if one.startswith("reheat")]
    assert not [one for one in map(str, reheat) if one.startswith("wheel")]
