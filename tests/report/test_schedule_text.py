"""The printed schedule and commissioning sheet, their CSV and JSON.

The golden texts are written anew with `pytest tests/report/test_schedule_text.py --renew-golden`.
"""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from selector.decide.commissioning import commissioning_sheet
from selector.decide.evaluate import prepare_site
from selector.inputs.quantities import conversion_of
from selector.inputs.site import Install, Site, Unit
from selector.physics.fit import fit_unit
from selector.physics.prepare import Prepared
from selector.report import figures
from selector.report.commissioning_text import (
    READINGS,
    commissioning_csv,
    commissioning_rows,
    commissioning_screen,
    rate_command,
    tolerance_text,
)
from selector.report.json_report import to_text
from selector.report.schedule_json import commissioning_json, schedule_json
from selector.report.schedule_text import schedule_csv, schedule_rows, schedule_rows_by_kind, schedule_screen
from selector.report.sequence_text import control_sequence
from selector.report.terminal import plain_lines
from tests.report.sheets import MIXED, of_demo, of_room, sheet_for
from tests.sites import prepared_room

GOLDEN = Path(__file__).parent / "golden"
DEMOS = (
    ("hall", ("2 precool-340 return-side", "1 rotor-500 return-side")),
    ("school", ("1 compressor-300 supply-side", "1 rotor-90 supply-side")),
    ("school", ("1 compressor-300 coil-bypass",)),
    ("pool", ("2 compressor-450 return-side",)),
    ("growing", ("1 precool-480 supply-side", "2 rotor-350 supply-side")),
    ("clinic", ("2 rotor-250 outdoor-air",)),
    ("records", ("1 precool-60 standalone",)),
)


# ---------------------------------------------------------------------------------------- text


def compare_text(name: str, lines: tuple[str, ...], *, renew: bool) -> None:
    """Compare all but how many defaults there are, and the last command, which names the folder of the tests."""
    path = GOLDEN / f"{name}.txt"
    end = next((i for i, line in enumerate(lines) if line.startswith("Other air")), len(lines))
    text = "".join(f"{line}\n" for line in lines[:end] if not line.startswith("Defaults"))
    if renew:
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    assert path.is_file(), f"{path}: no such file; pytest --renew-golden writes it"
    assert text == path.read_text("utf-8")


def test_the_schedule_of_one_site(renew_golden: bool) -> None:
    screen = schedule_screen(of_room(*MIXED).schedule, answer="named; keeps every limit")
    compare_text("schedule", plain_lines(screen), renew=renew_golden)


def test_the_commissioning_sheet_of_one_site(renew_golden: bool) -> None:
    screen = commissioning_screen(of_room(*MIXED), answer="named; keeps every limit")
    compare_text("commissioning", plain_lines(screen), renew=renew_golden)


@pytest.mark.parametrize(("name", "texts"), DEMOS, ids=[f"{name}, {texts[0]}" for name, texts in DEMOS])
def test_both_fit_80_columns_and_say_what_they_rest_on(name: str, texts: tuple[str, ...]) -> None:
    sheet = of_demo(name, texts)
    for screen in (
        schedule_screen(sheet.schedule, answer="chosen, optimal"),
        commissioning_screen(sheet, answer="chosen, optimal"),
    ):
        lines = plain_lines(screen)
        assert max(map(len, lines)) <= 80, max(lines, key=len)
        text = " ".join(line.strip() for line in lines)
        assert "invented prices, not for a bid" in lines[0]
        assert "Local codes and licensed practice decide, not this estimate." in text
        assert "licensed electrician" in text
        assert "nan" not in text.split()
        assert "inf" not in text.split()
        for one in sheet.schedule.rows:
            assert one.unit.model in text


def test_an_empty_design_says_so() -> None:
    sheet = of_room()
    for screen in (
        schedule_screen(sheet.schedule, answer="chosen, optimal"),
        commissioning_screen(sheet, answer="chosen, optimal"),
    ):
        text = "\n".join(plain_lines(screen))
        assert "none: nothing is installed" in text
        assert "SYNTHETIC weather" in text
    assert control_sequence(sheet) == ()
    assert len(schedule_rows(sheet.schedule)) == len(commissioning_rows(sheet)) == 1


def test_a_unit_without_airflow_is_shown_without_readings() -> None:
    sheet = of_room("1 compressor-60 coil-bypass", "1 compressor-60 standalone")
    text = " ".join(line.strip() for line in plain_lines(commissioning_screen(sheet, answer="named")))
    assert "No reading: no air passes against its static" in text
    assert "DH-1: runs in no hour" in text
    assert rate_command(sheet).startswith("selector rate ")


def test_hot_leaving_air_is_warned_of() -> None:
    sheet = of_demo("school", ("1 compressor-300 coil-bypass",))
    for screen in (
        schedule_screen(sheet.schedule, answer="named"),
        commissioning_screen(sheet, answer="named"),
    ):
        text = " ".join(line.strip() for line in plain_lines(screen)).lower()
        assert "many units trip on high pressure" in text
        assert "of the rated airflow is left" in text
    cool = " ".join(plain_lines(schedule_screen(of_room(*MIXED).schedule, answer="named")))
    assert "trip on high pressure" not in cool


def test_currents_of_several_supplies_are_said_to_be_so() -> None:
    """120 V and 208 V units: their amperes add up to no one conductor's."""
    pair = of_room("1 compressor-60 standalone", "1 precool-120 standalone").schedule
    found = [line for line in plain_lines(schedule_screen(pair, answer="named")) if line.startswith("Total")]
    assert pair.evaluation.current is None
    assert pair.evaluation.currents == ((120.0, 13.4), (208.0, 10.1))
    assert found[0].startswith("Total       2 units; 13.4 A at 120 V, 10.1 A at 208 V over 2 supplies; ")
    assert "supplies" not in " ".join(plain_lines(schedule_screen(of_room(*MIXED).schedule, answer="named")))


def _derived(prepared: Prepared) -> tuple[Site, Unit]:
    unit = next(unit for unit in prepared.site.catalog.units if unit.model == "precool-120")
    bare = replace(unit, ratings=unit.ratings[:1])
    catalog = replace(prepared.site.catalog, units=(bare,))
    return replace(prepared.site, catalog=catalog), bare


def test_a_unit_known_by_one_point_is_marked_derived_everywhere() -> None:
    site, unit = _derived(prepared_room())
    fitted = fit_unit(unit=unit)
    assert fitted.derived
    prepared = prepare_site(site=site, fitted=(fitted,))
    sheet = commissioning_sheet(prepared=prepared, install=(Install(unit.model, "standalone", 1),))
    words = f"{fitted.low:.2f} to {fitted.high:.2f} of"
    for screen in (
        schedule_screen(sheet.schedule, answer="named"),
        commissioning_screen(sheet, answer="named"),
    ):
        assert words in " ".join(line.strip() for line in plain_lines(screen))
    assert words in schedule_csv(sheet.schedule)
    assert schedule_json(schedule=sheet.schedule, answer="")["schedule"][0]["derived"] == {
        "low": fitted.low,
        "high": fitted.high,
    }


# ---------------------------------------------------------------------------------------- rows and CSV


def column(heading: str) -> tuple[str, str]:
    name, _, unit = heading.partition(" [")
    return name, unit.removesuffix("]")


def test_the_schedules_csv_is_read_back_by_pandas() -> None:
    schedule = of_room(*MIXED).schedule
    frame = pd.read_csv(io.StringIO(schedule_csv(schedule)))
    headings, *rows = schedule_rows(schedule)
    assert list(frame.columns) == [*headings, "marks"]
    assert len(frame) == len(rows) == 3
    assert list(frame["tag"]) == ["DH-1", "DH-2", "DH-3"]
    for place, heading in enumerate(headings):
        for i, row in enumerate(rows):
            cell, read = row[place], frame[heading][i]
            if cell == "":
                assert pd.isna(read)
            elif isinstance(cell, str):
                assert read == cell
            else:
                assert read == pytest.approx(cell, rel=5.1e-6)  # six figures are written


def test_figures_of_the_schedule_by_hand() -> None:
    schedule = of_room(*MIXED).schedule
    frame = pd.read_csv(io.StringIO(schedule_csv(schedule)))
    row = schedule.rows[0]
    # NIST SP 811: 1 lb = 0.45359237 kg, 1 ft = 0.3048 m, 1 inch of water = 249.08891 Pa
    assert frame["airflow [cfm]"][0] == pytest.approx(row.airflow * 60.0 / 0.3048**3, rel=5.1e-6)
    assert frame["standard, removal [lb/h]"][0] == pytest.approx(
        row.standard.removal * 3600.0 / 0.45359237, rel=5.1e-6
    )
    assert frame["weight [lb]"][0] == 196.0  # as the catalogue of the tests has it
    assert list(frame[["length [in]", "width [in]", "height [in]"]].iloc[0]) == [42.0, 24.0, 26.0]
    assert frame["external static, taps and duct [in. w.g.]"][0] == pytest.approx(
        row.connection.static / 249.08891, rel=5.1e-6
    )
    assert frame["standard, entering dry bulb [degF]"][0] == pytest.approx(26.7 * 1.8 + 32.0, rel=5.1e-6)


def test_the_readings_csv_is_read_back_by_pandas() -> None:
    sheet = of_demo("growing", ("1 precool-480 supply-side", "2 rotor-350 supply-side"))
    frame = pd.read_csv(io.StringIO(commissioning_csv(sheet)))
    count = sum(len(at.readings) for one in sheet.sheets for at in one.conditions)
    assert len(frame) == count
    assert frame["read"].isna().all()
    assert (frame["lowest"] <= frame["expected"]).all()
    assert (frame["expected"] <= frame["highest"]).all()
    known = dict(READINGS.values())
    i = 0
    for one in sheet.sheets:
        for at in one.conditions:
            for reading in at.readings:
                line = frame.iloc[i]
                name, unit = column(line["reading"])
                conversion = conversion_of(unit, known[name].dimension)
                for value, heading in (
                    (reading.expected, "expected"),
                    (reading.low, "lowest"),
                    (reading.high, "highest"),
                ):
                    back = line[heading] * conversion.scale + conversion.offset
                    # six figures; a temperature near 0 °C or 0 °F loses relative, not absolute
                    assert back == pytest.approx(
                        value, rel=6e-6, abs=2e-4 if "dry" in name or "dew" in name else 0
                    )
                assert line["condition"] == at.condition
                i += 1


def test_rows_turned_for_paper_hold_the_same_cells() -> None:
    schedule = of_room(*MIXED).schedule
    headings, *rows = schedule_rows(schedule)
    (corner, *tags), *turned = schedule_rows_by_kind(schedule)
    assert (corner, tags) == ("tag", ["DH-1", "DH-2 to DH-3"])
    by_name = {row[0]: row[1:] for row in turned}
    for place, heading in enumerate(headings[1:], start=1):
        cells = (rows[0][place], rows[1][place])
        if cells == ("", ""):
            assert heading not in by_name
        else:
            assert by_name[heading] == cells
    assert rows[1][1:] == rows[2][1:]  # units that are alike


def test_names_that_look_like_formulas_stay_text() -> None:
    prepared = prepared_room()
    units = tuple(
        replace(unit, model="=1+1") if unit.model == "precool-120" else unit
        for unit in prepared.site.catalog.units
    )
    site = replace(prepared.site, name="@SUM(A1)", catalog=replace(prepared.site.catalog, units=units))
    sheet = sheet_for(replace(prepared, site=site), "1 =1+1 standalone")
    for text in (schedule_csv(sheet.schedule), commissioning_csv(sheet)):
        cells = [cell for line in text.splitlines() for cell in line.split(",")]
        assert "'=1+1" in cells
        assert not [cell for cell in cells if cell[:1] in ("=", "@", "+")]
    assert "'@SUM(A1)" in schedule_csv(sheet.schedule)


def test_a_screen_and_a_csv_show_the_same_figures() -> None:
    sheet = of_room("1 precool-120 standalone")
    lines = plain_lines(commissioning_screen(sheet, answer="named"))
    [power] = [line for line in lines if line.startswith("power [kW]")]
    expected = [at.duty.power / 1000.0 for at in sheet.sheets[0].conditions]
    assert [float(word) for word in power.split()[2::2][:3]] == [round(value, 2) for value in expected]


@pytest.mark.parametrize("units", ["IP", "SI"])
def test_a_figure_turns_back_into_si(units: figures.Units) -> None:
    every = [value for value in vars(figures).values() if isinstance(value, figures.Figure)]
    assert len(every) > 12
    for figure in every:
        unit = figures.unit_of_figure(figure, units)
        if not unit:
            assert figures.number(3.0, figure, units) == 3.0
            continue
        conversion = conversion_of(unit, figure.dimension)
        shown = figures.number(0.37, figure, units)
        assert shown * conversion.scale + conversion.offset == pytest.approx(0.37, rel=1e-12)
        step = figures.number(0.47, figure, units) - shown
        assert figures.difference(0.1, figure, units) == pytest.approx(step, rel=1e-9)


def test_minus_nothing_is_nothing() -> None:
    assert figures.plain(-0.001, 1) == "0.0"
    assert figures.plain(-0.06, 1) == "-0.1"


def test_tolerances_are_written_in_the_readers_units() -> None:
    sheet = of_room(*MIXED)
    ip = {one.name: tolerance_text(one, "IP") for one in sheet.tolerances}
    si = {one.name: tolerance_text(one, "SI") for one in sheet.tolerances}
    assert (ip["dry-bulb probe"], si["dry-bulb probe"]) == ("±0.9 degF", "±0.5 K")
    assert (ip["pressure gauge"], si["pressure gauge"]) == ("±0.02 in. w.g.", "±5 Pa")
    assert ip["relative-humidity probe"] == "±3 points"
    assert ip["airflow as balanced"] == "±10 %"
    assert "gas meter and heating value" not in ip
    assert all(one.source == "common practice, no source" for one in sheet.tolerances)


# ---------------------------------------------------------------------------------------- JSON


def test_json_carries_the_same_figures_in_si() -> None:
    sheet = of_room(*MIXED)
    result = json.loads(to_text(commissioning_json(sheet=sheet, answer="named; keeps every limit")))
    row = sheet.schedule.rows[1]
    written = result["schedule"][1]
    assert written["tag"] == row.tag == "DH-2"
    assert written["standard"]["removal"] == row.standard.removal
    assert [state["share"] for state in written["design_hour"]["states"]] == [
        met.share for met in row.design.met
    ]
    assert written["circuit"]["breaker"] == row.circuit.breaker
    assert result["units"]["current"] == sheet.schedule.evaluation.current
    readings = result["commissioning"]["units"][0]["conditions"][0]["readings"]
    first = sheet.sheets[0].conditions[0].readings
    assert [one["expected"] for one in readings] == [one.expected for one in first]
    assert len(result["commissioning"]["control_sequence"]) == len(control_sequence(sheet))
    assert result["first_estimate"] is True
