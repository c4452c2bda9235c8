"""Weather files: forms, hours, columns, units, gaps and what is refused.

All weather here is invented. psychrolib is the reference for moist air where nothing else is named.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from selector.inputs.calendar import name_of_hour
from selector.inputs.errors import InputFaults
from selector.inputs.si import psychrolib
from selector.inputs.weather import read_weather
from tests import make_demo_weather
from tests.inputs.weather_texts import (
    DEW_POINT,
    DRY_BULB,
    HOURS,
    PRESSURE,
    SUN,
    csv_text,
    epw_text,
    plain_text,
    read,
    stamps,
)

SCENARIO_WEATHER = Path(__file__).parents[2] / "scenarios" / "weather"


# ------------------------------------------------------------------------------------------- demo weather
@pytest.mark.parametrize("place", make_demo_weather.PLACES, ids=lambda place: place.name)
def test_demo_weather_is_what_its_script_makes(place: make_demo_weather.Place) -> None:
    written = (SCENARIO_WEATHER / f"{place.name}.csv").read_text(encoding="utf-8")
    assert written == make_demo_weather.text(place)
    assert written.startswith("# invented weather")


# 0.4 % dew points of the four places, to the digit that is in the files
@pytest.mark.parametrize(
    ("name", "elevation", "dew_point"),
    [("tidewater", 12, 25.3), ("millbrook", 230, 21.2), ("northfield", 280, 19.9), ("mesa", 1650, 13.9)],
)
def test_demo_weather_reads(name: str, elevation: float, dew_point: float) -> None:
    year = read_weather(path=SCENARIO_WEATHER / f"{name}.csv", elevation=None, first_weekday=2)
    assert year.kind == "synthetic"
    assert (year.elevation, year.hours_filled, year.first_weekday) == (elevation, 0, 2)
    assert year.design_days[0].dew_point == pytest.approx(dew_point, abs=1e-9)
    assert year.pressure == pytest.approx(np.full(8760, psychrolib.GetStandardAtmPressure(float(elevation))))


# ------------------------------------------------------------------------------------------- forms
def test_form_is_told_by_content_not_by_name(tmp_path: Path) -> None:
    path = tmp_path / "place.csv"
    path.write_text(epw_text(DRY_BULB, DEW_POINT), encoding="utf-8")
    year = read_weather(path=path, elevation=None, first_weekday=None)
    assert "read as EPW" in year.notes
    csv = tmp_path / "place.epw"
    csv.write_text(plain_text(), encoding="utf-8")
    assert np.array_equal(read_weather(path=csv, elevation=None, first_weekday=None).dry_bulb, DRY_BULB)


def test_epw_hours_missing_codes_and_weekday(tmp_path: Path) -> None:
    """Hour 1 of EPW starts at 00:00; 99.9 is no temperature; 1 January 2019 was a Tuesday."""
    dry_bulb = DRY_BULB.copy()
    dry_bulb[200] = 99.9
    year = read(epw_text(dry_bulb, DEW_POINT), tmp_path)
    assert year.dry_bulb[200] == pytest.approx((DRY_BULB[199] + DRY_BULB[201]) / 2, abs=1e-9)
    assert np.array_equal(np.delete(year.dry_bulb, 200), np.delete(DRY_BULB, 200))
    assert np.array_equal(year.global_horizontal, SUN)
    assert (year.kind, year.first_weekday, year.hours_filled, year.elevation) == (
        "measured year",
        1,
        1,
        230.0,
    )
    assert year.pressure == pytest.approx(np.full(8760, 98600.0))


@pytest.mark.parametrize(("start", "weekday"), [("Sunday", 6), ("", 1)])
def test_epw_weekday_from_its_head_or_its_year(start: str, weekday: int, tmp_path: Path) -> None:
    assert read(epw_text(DRY_BULB, DEW_POINT, start=start), tmp_path).first_weekday == weekday


@pytest.mark.parametrize(("cut", "form"), [("12839.tm2", "TMY2"), ("723170TYA.CSV", "TMY3"), ("epw", "EPW")])
def test_broken_file_is_a_fault_not_a_traceback(cut: str, form: str, tmp_path: Path) -> None:
    import pvlib

    if cut == "epw":
        text = epw_text(DRY_BULB, DEW_POINT)
    else:
        text = (Path(pvlib.__file__).parent / "data" / cut).read_text(encoding="utf-8")
    lines = text.splitlines()[:40]
    lines[30] = lines[30][:4] + "?" + lines[30][5:12]
    with pytest.raises(InputFaults, match=rf"line 31: got '.*'; allowed: a row of {form}: ") as caught:
        read("\n".join(lines), tmp_path)
    assert "dry bulb: got nothing" not in str(caught.value)  # the row may be of any hour


@pytest.mark.parametrize(("cut", "form"), [("12839.tm2", "TMY2"), ("epw", "EPW")])
@pytest.mark.parametrize("rows", ["all", "all but one"])
def test_a_form_that_is_no_such_form_further_in_is_a_fault(
    cut: str, form: str, rows: str, tmp_path: Path
) -> None:
    import pvlib

    if cut == "epw":
        text = epw_text(DRY_BULB, DEW_POINT).replace(",230.0", "", 1)
    else:
        text = (Path(pvlib.__file__).parent / "data" / cut).read_text(encoding="utf-8")
    lines = text.splitlines()[:40]
    if cut != "epw":
        lines[20] = lines[20][:60] + "xx" + lines[20][62:]
    if rows != "all":
        lines[30] = "x"
    with pytest.raises(InputFaults, match=f"begins as {form} and cannot be read as one") as caught:
        read("\n".join(lines), tmp_path)
    assert ("line 31: got 'x'" in str(caught.value)) == (rows != "all")


def test_text_and_ranges_of_a_file_whose_columns_mix_text_and_numbers(tmp_path: Path) -> None:
    """Without a word from the library that reads it, which would be a warning on the terminal."""
    dry_bulb = [*DRY_BULB[:8000], "warm", *DRY_BULB[8001:]]
    text = epw_text(np.array(dry_bulb, dtype=object), DEW_POINT)
    with pytest.raises(
        InputFaults, match=r"^[^\n]*dry bulb, line 8009: got 'warm'; allowed: a number with[^\n]*$"
    ):
        read(text, tmp_path)


def test_file_that_breaks_off_is_refused_by_its_gap(tmp_path: Path) -> None:
    lines = plain_text().splitlines()[:5000]
    with pytest.raises(
        InputFaults, match=r"dry bulb: got nothing in the hours 07-28 06:00 to 12-31 23:00 \(3762 h\)"
    ):
        read("\n".join(lines), tmp_path)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "contents: got an empty file; allowed: EPW"),
        ("hello\nworld\n", "contents: got first line 'hello'; allowed: EPW"),
        ("time,dry bulb [degC],dew point [degC]\n", "rows: got none"),
    ],
)
def test_what_is_no_weather_file_is_refused(text: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=message):
        read(text, tmp_path)


def test_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=r"nothing\.csv: file: got no such file or directory"):
        read_weather(path=tmp_path / "nothing.csv", elevation=None, first_weekday=None)


# ------------------------------------------------------------------------------------------- time
def test_time_ending_belongs_to_the_hour_before(tmp_path: Path) -> None:
    """Stamps 01:00 to 24:00; the last hour of a day ends at 24:00 of that day."""
    ends = [f"{name_of_hour(int(hour))[:5]} {hour % 24 + 1:02d}:00" for hour in HOURS]
    text = csv_text("time ending,dry bulb [degC],dew point [degC]", ends, DRY_BULB, DEW_POINT)
    assert np.array_equal(read(text, tmp_path).dry_bulb, DRY_BULB)


def test_rows_may_come_in_any_order(tmp_path: Path) -> None:
    text = csv_text("time,dry bulb [degC],dew point [degC]", stamps()[::-1], DRY_BULB[::-1], DEW_POINT[::-1])
    assert np.array_equal(read(text, tmp_path).dry_bulb, DRY_BULB)


def test_measured_leap_year(tmp_path: Path) -> None:
    """2016 has 29 February, left out and named; 1 January 2016 was a Friday."""
    leap = [f"2016-02-29 {hour:02d}:00" for hour in range(24)]
    times = [*stamps("2016-"), *leap]
    text = csv_text(
        "time,dry bulb [degC],dew point [degC]", times, [*DRY_BULB, *[9.0] * 24], [*DEW_POINT, *[1.0] * 24]
    )
    year = read(text, tmp_path)
    assert np.array_equal(year.dry_bulb, DRY_BULB)
    assert (year.kind, year.first_weekday) == ("measured year", 4)
    assert "24 rows of 29 February are left out: the year has 365 days" in year.notes
    assert read(text, tmp_path, first_weekday=0).first_weekday == 0


def test_several_rows_in_an_hour_are_averaged(tmp_path: Path) -> None:
    times = [stamp for stamp in stamps() for _ in range(2)]
    times[1::2] = [stamp[:-2] + "30" for stamp in times[1::2]]
    dry_bulb = np.repeat(DRY_BULB, 2) + np.tile([-0.5, 0.5], 8760)
    text = csv_text("time,dry bulb [degC],dew point [degC]", times, dry_bulb, np.repeat(DEW_POINT, 2))
    year = read(text, tmp_path)
    assert year.dry_bulb == pytest.approx(DRY_BULB, abs=1e-9)
    assert "several rows in an hour are averaged" in year.notes


def test_typical_year_of_several_years(tmp_path: Path) -> None:
    times = [f"{1990 + int(stamp[:2]) % 5}-{stamp}" for stamp in stamps()]
    year = read(csv_text("time,dry bulb [degC],dew point [degC]", times, DRY_BULB, DEW_POINT), tmp_path)
    assert (year.kind, year.first_weekday) == ("typical year", 0)
    assert "the weather file names no year: 1 January is taken as a Monday" in year.notes


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        (
            {"h100": "01-05 03:00,5,1"},
            r"line 103: got 1 times of the year that come twice \(01-05 03:00 in lines 102 and 103\)",
        ),
        ({"h100": "5 January,5,1"}, "time, line 103: got '5 January'; allowed: local standard time as"),
        ({"h100": "02-30 04:00,5,1"}, "time, line 103: got '02-30 04:00'"),
        ({"h100": "01-05 04:00Z,5,1"}, "time: got universal time, or an offset that changes"),
        ({"h100": "01-05 04:00-05:00,5,1"}, "time: got universal time, or an offset that changes"),
        ({"h100": "2013-01-05 04:00,5,1"}, "time: got some rows with a year and some without"),
        ({"h100": "01-05 04:00,5"}, "line 103: got 2 fields; allowed: 3 fields, as in the headings"),
        ({"h100": "01-05 04:00,5;1,1"}, r"dry bulb \[degC\], line 103: got '5;1'; allowed: a number"),
        ({"h100": "01-05 04:00,inf,1"}, r"dry bulb \[degC\], line 103: got 'inf'"),
        ({"h100": "01-05 04:00,75,1"}, r"dry bulb, line 103: got 75 °C; allowed: -90 to 60 °C"),
        (
            {"h100": "01-05 04:00,5,9.9", "h101": "01-05 05:00,5,9"},
            r"dew point, hours 01-05 04:00, 01-05 05:00: got air above saturation, by up to 4\.9 K; allowed: at most",
        ),
    ],
)
def test_bad_row_is_refused(changes: dict[str, str], message: str, tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=message):
        read(plain_text(**changes), tmp_path)


def test_constant_offset_is_local_time(tmp_path: Path) -> None:
    times = [f"2013-{stamp}-05:00" for stamp in stamps()]
    year = read(csv_text("time,dry bulb [degC],dew point [degC]", times, DRY_BULB, DEW_POINT), tmp_path)
    assert np.array_equal(year.dry_bulb, DRY_BULB)


# ------------------------------------------------------------------------------------------- columns
def test_units_of_the_headings(tmp_path: Path) -> None:
    """The same air in other units; °F written to 0.01, so 0.003 K, and pressure to 0.001 in. Hg, 1.7 Pa."""
    text = csv_text(
        "Time,Dry-Bulb [degF],dew_point [°F],pressure [inHg],global horizontal [Btu/(h*ft2)],wind speed [m/s]",
        stamps(),
        np.round(DRY_BULB * 1.8 + 32, 2),
        np.round(DEW_POINT * 1.8 + 32, 2),
        np.full(8760, round(PRESSURE / 3386.389, 3)),
        np.round(SUN / 3.154591, 2),
        np.zeros(8760),
    )
    year = read(text, tmp_path)
    assert year.dry_bulb == pytest.approx(DRY_BULB, abs=0.003)
    assert year.pressure == pytest.approx(np.full(8760, PRESSURE), abs=1.7)
    assert year.global_horizontal == pytest.approx(SUN, abs=0.02)
    assert "columns of the weather file that are not used: wind speed [m/s]" in year.notes


@pytest.mark.parametrize(
    ("heading", "message"),
    [
        (
            "time,dry bulb,dew point [degC]",
            r'headings: got "dry bulb" \(no unit\); allowed: dry bulb \[unit\]',
        ),
        (
            "time,dry bulb [K],dew point [degC]",
            r'headings: got "dry bulb \[K\]"; allowed: a temperature in degF',
        ),
        (
            "time,dry bulb [degC],dry bulb [degF]",
            r"headings: got 'dry bulb \[degF\]', a column that comes twice",
        ),
        ("day,dry bulb [degC],dew point [degC]", "headings: got 0 columns of time in: day"),
        ("time,temperature [degC],dew point [degC]", "columns: got no dry bulb"),
        (
            "time,dry bulb [degC],humidity [%]",
            "columns: got no humidity; allowed: dew point, humidity ratio, wet",
        ),
    ],
)
def test_bad_heading_is_refused(heading: str, message: str, tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=message):
        read(csv_text(heading, stamps(), DRY_BULB, DEW_POINT), tmp_path)


@pytest.mark.parametrize(
    ("head", "message"),
    [
        ("# kind: real", "# kind: got 'real'; allowed: typical year, measured year, synthetic"),
        ("# elevation: 12", r'# elevation: got "12" \(no unit\); allowed: a length in ft'),
        (
            "# nothing",
            "pressure: got no pressure and no elevation; allowed: a column pressure, or weather.elevation",
        ),
    ],
)
def test_bad_comment_is_refused(head: str, message: str, tmp_path: Path) -> None:
    text = csv_text("time,dry bulb [degC],dew point [degC]", stamps(), DRY_BULB, DEW_POINT, head=head)
    with pytest.raises(InputFaults, match=message):
        read(text, tmp_path)


# ------------------------------------------------------------------------------------------- gaps
def test_gaps_are_filled_counted_and_named(tmp_path: Path) -> None:
    """A row left out, an empty dry bulb, a dew point NA: three hours."""
    text = plain_text(h50="-", h100="01-05 04:00,,1", h200="01-09 08:00,5,NA")
    year = read(text, tmp_path)
    assert year.hours_filled == 3
    assert year.dry_bulb[50] == pytest.approx((DRY_BULB[49] + DRY_BULB[51]) / 2, abs=1e-12)
    assert any(
        note.startswith("3 hours without dry bulb or humidity were filled: gaps of up to 6 h")
        for note in year.notes
    )
    assert np.isfinite(year.humidity_ratio).all()


def test_long_gap_is_refused_with_its_hours(tmp_path: Path) -> None:
    text = plain_text(**{f"h{hour}": "-" for hour in range(100, 149)})
    with pytest.raises(
        InputFaults,
        match=r"dew point: got nothing in the hours 01-05 04:00 to 01-07 04:00 \(49 h\); allowed: gaps",
    ) as caught:
        read(text, tmp_path)
    assert len(caught.value.faults) == 2  # dry bulb and dew point


def test_too_many_hours_missing_are_refused(tmp_path: Path) -> None:
    """Every eighth hour is 1095 hours, more than a tenth of the year."""
    text = plain_text(**{f"h{hour}": "-" for hour in range(0, 8760, 8)})
    with pytest.raises(
        InputFaults, match="got nothing in 1095 hours of the year; allowed: up to 876 hours missing"
    ):
        read(text, tmp_path)


def test_gap_in_irradiance_is_named_and_an_empty_column_is_no_column(tmp_path: Path) -> None:
    heading = "time,dry bulb [degC],dew point [degC],global horizontal [W/m2]"
    sun = [str(value) for value in SUN]
    sun[12] = ""
    year = read(csv_text(heading, stamps(), DRY_BULB, DEW_POINT, sun), tmp_path)
    assert "1 hours without global horizontal were filled" in year.notes
    assert year.hours_filled == 0
    empty = read(csv_text(heading, stamps(), DRY_BULB, DEW_POINT, [""] * 8760), tmp_path)
    assert not empty.global_horizontal.any()
    assert "no global horizontal irradiance in the weather file: the sun is left out" in empty.notes
