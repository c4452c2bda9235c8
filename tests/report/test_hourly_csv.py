"""The hourly CSV: its columns, its balance, its time."""

from __future__ import annotations

import csv
import functools
import io
from dataclasses import replace
from datetime import datetime
from itertools import pairwise

import numpy as np
import pytest

from selector.decide.evaluate import evaluate
from selector.inputs.site import Install
from selector.report.hourly_csv import (
    COLUMNS,
    EXTRA_COLUMNS,
    EXTRA_UNIT_COLUMNS,
    UNIT_COLUMNS,
    hourly_columns,
    hourly_csv,
    time_texts,
    unit_names,
)
from tests.sites import prepared_room

CONTRACT = [
    "time",
    "pressure_Pa",
    "outdoor_dry_bulb_C",
    "outdoor_humidity_ratio",
    "space_dry_bulb_C",
    "space_humidity_ratio",
    "space_relative_humidity",
    "internal_moisture_kg",
    "ventilation_moisture_kg",
    "infiltration_moisture_kg",
    "coil_removal_kg",
    "unit_removal_kg",
    "stored_moisture_kg",
    "coil_runtime",
    "fan_runtime",
    "supply_airflow_kg",
    "outdoor_airflow_kg",
    "coil_entering_dry_bulb_C",
    "coil_entering_humidity_ratio",
    "coil_leaving_dry_bulb_C",
    "coil_leaving_humidity_ratio",
    "cooling_kWh",
    "unit_kWh",
    "unit_gas_kWh",
    "fan_kWh",
    "heating_kWh",
]
DESIGN = (Install("precool-120", "supply-side", 1), Install("compressor-60", "standalone", 1))


@functools.cache
def table() -> tuple[list[str], list[list[str]]]:
    prepared = prepared_room()
    year = evaluate(prepared=prepared, install=DESIGN).year
    headings, *rows = csv.reader(io.StringIO(hourly_csv(prepared=prepared, year=year)))
    return headings, rows


def column(name: str) -> np.ndarray:
    headings, rows = table()
    place = headings.index(name)
    return np.array([float(row[place]) for row in rows])


def test_columns_stand_in_the_order_agreed() -> None:
    headings, rows = table()
    models = [f"{model}_{name}" for model in ("precool-120", "compressor-60") for name in UNIT_COLUMNS]
    assert list(COLUMNS) == CONTRACT
    assert headings[: len(CONTRACT)] == CONTRACT
    assert headings[len(CONTRACT) : len(CONTRACT) + len(models)] == models
    assert len(rows) == 8760
    assert {len(row) for row in rows} == {len(headings)}


def test_every_column_says_what_it_holds() -> None:
    named = {**COLUMNS, **EXTRA_COLUMNS}
    for heading in table()[0][:-1]:
        for model in ("precool-120_", "compressor-60_"):
            if heading.startswith(model):
                assert heading.removeprefix(model) in {**UNIT_COLUMNS, **EXTRA_UNIT_COLUMNS}
                break
        else:
            assert len(named[heading]) > 10


def test_only_units_downstream_of_the_coil_have_a_second_entering_state() -> None:
    headings = table()[0]
    assert "precool-120_off_entering_dry_bulb_C" in headings
    assert "compressor-60_off_entering_dry_bulb_C" not in headings


def test_moisture_balances_in_every_row() -> None:
    terms = [
        column(f"{name}_kg")
        for name in (
            "internal_moisture",
            "ventilation_moisture",
            "infiltration_moisture",
            "coil_removal",
            "unit_removal",
            "stored_moisture",
        )
    ]
    residual = terms[0] + terms[1] + terms[2] - terms[3] - terms[4] - terms[5]
    largest = np.maximum.reduce([np.abs(term) for term in terms])
    # agreement found: 6e-11 of the row's largest term, where that is above 0.1 g; below it the store's own rounding,
    # 1e4 kg of air's worth times 0.01 kg/kg times 1e-16, is what is left
    assert np.all(np.abs(residual) <= 1e-10 * np.maximum(largest, 1e-4))


def test_numbers_read_back_to_the_same_double() -> None:
    prepared = prepared_room()
    year = evaluate(prepared=prepared, install=DESIGN).year
    for name, values in hourly_columns(prepared=prepared, year=year).items():
        assert np.array_equal(column(name), values), name


def test_removal_of_the_models_adds_up() -> None:
    both = column("precool-120_removal_kg") + column("compressor-60_removal_kg")
    # agreement found: 7e-6, the step's linear part is given to the units as a whole
    assert both == pytest.approx(column("unit_removal_kg"), rel=1e-5, abs=1e-9)
    assert column("precool-120_kWh") + column("compressor-60_kWh") == pytest.approx(column("unit_kWh"))


@pytest.mark.parametrize("first_weekday", range(7))
def test_times_keep_their_weekday(first_weekday: int) -> None:
    times = time_texts(first_weekday)
    assert len(set(times)) == 8760
    assert datetime.fromisoformat(times[0]).weekday() == first_weekday
    stamps = [datetime.fromisoformat(time) for time in times]
    assert all((b - a).total_seconds() == 3600 for a, b in pairwise(stamps))


def test_one_model_in_two_arrangements_is_told_apart() -> None:
    prepared = prepared_room()
    install = (Install("precool-60", "standalone", 1), Install("precool-60", "return-side", 1))
    year = evaluate(prepared=prepared, install=install).year
    assert sorted(unit_names(year.groups)) == ["precool-60_return-side", "precool-60_standalone"]
    assert unit_names((replace(year.groups[0]),)) == ("precool-60",)
