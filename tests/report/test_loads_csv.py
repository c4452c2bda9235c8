"""The hourly CSV of `loads` is what its monthly table is made of."""

from __future__ import annotations

import csv
import functools
import io
import json
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from selector.decide.evaluate import evaluate, prepare_site
from selector.inputs.calendar import month_of_hour
from selector.inputs.site import HOURS, HeatGain, MoistureGain
from selector.report.loads_csv import loads_columns, loads_csv
from tests.builders import flat, make_site
from tests.commands import run
from tests.sites import ROOM


@functools.cache
def written() -> tuple[list[str], list[str], np.ndarray, dict[str, list[dict[str, object]]]]:
    """Headings, times, values and the JSON of one run of the command."""
    with tempfile.TemporaryDirectory() as folder:
        result, out = Path(folder) / "loads.json", Path(folder) / "hours.csv"
        done = run("loads", ROOM, "--json", result, "--hourly", out)
        assert done.exit_code == 0, done.stderr
        assert "To hold the limit" in done.stdout
        assert "source, space at its limit  in these hours" in done.stdout
        rows = list(csv.reader(io.StringIO(out.read_text("utf-8"))))
        values = np.array([[float(cell) for cell in row[1:-1]] for row in rows[1:]])
        return rows[0], [row[0] for row in rows[1:]], values, json.loads(result.read_text("utf-8"))


def test_there_is_a_row_for_each_hour() -> None:
    headings, times, values, _ = written()
    assert headings[0] == "time"
    assert len(times) == HOURS == len(values)
    assert times[:2] == ["2001-01-01T00:00", "2001-01-01T01:00"]
    assert len(set(headings)) == len(headings)


@pytest.mark.parametrize(
    ("quantity", "key"), [("moisture_kg", "moisture_kg"), ("sensible_kWh", "sensible_kwh")]
)
def test_the_hours_add_up_to_the_months_and_the_year(quantity: str, key: str) -> None:
    headings, _, values, result = written()
    names = [str(source["source"]) for source in result[key]]
    assert [name for name in headings[1:] if name.startswith(quantity)] == [f"{quantity}: {n}" for n in names]
    for source in result[key]:
        column = values[:, headings.index(f"{quantity}: {source['source']}") - 1]
        months = np.bincount(month_of_hour(), weights=column, minlength=12)
        # agreement found: 3e-13 of the largest month, the order in which hours are added
        assert months == pytest.approx(source["months"], abs=1e-11 * np.abs(months).max())
        assert column.sum() == pytest.approx(source["year"], abs=1e-11 * np.abs(column).sum())


@pytest.mark.parametrize("quantity", ["moisture_kg", "sensible_kWh"])
def test_every_hour_closes(quantity: str) -> None:
    headings, _, values, _ = written()
    mine = values[:, [at for at, name in enumerate(headings[1:-1]) if name.startswith(quantity)]]
    assert np.abs(mine.sum(axis=1)).max() <= 1e-9 * np.abs(mine).max()  # agreement found: 1e-11


def test_names_that_people_chose_make_no_formula_and_no_column_twice() -> None:
    gains = (
        MoistureGain("=1+1", 1e-4, "water", flat(1.0)),
        MoistureGain("=1+1", 2e-4, "water", flat(1.0)),
        HeatGain('lights, "new"\n', 500.0, flat(1.0)),
    )
    prepared = prepare_site(site=make_site(gains=gains))
    year = evaluate(prepared=prepared, install=()).year
    columns = loads_columns(prepared=prepared, year=year)
    assert columns["moisture_kg: =1+1"][0] == pytest.approx(0.36, rel=1e-12)
    assert columns["moisture_kg: =1+1 (2)"][0] == pytest.approx(0.72, rel=1e-12)
    assert columns['sensible_kWh: lights, "new"\\x0a'][0] == pytest.approx(0.5, rel=1e-12)
    first = next(csv.reader(io.StringIO(loads_csv(prepared=prepared, year=year))))
    assert first == ["time", *columns, "marks"]
    assert not [heading for heading in first if heading.startswith(("=", "+", "-", "@"))]


def test_a_site_without_any_gain_has_its_envelope() -> None:
    prepared = prepare_site(site=replace(make_site(), gains=()))
    year = evaluate(prepared=prepared, install=()).year
    assert "sensible_kWh: envelope" in loads_columns(prepared=prepared, year=year)


def test_one_place_cannot_take_both(tmp_path: Path) -> None:
    done = run("loads", ROOM, "--json", "-", "--hourly", "-")
    assert done.exit_code == 2
    assert "the same as --json" in done.stderr
    assert done.stdout == ""
