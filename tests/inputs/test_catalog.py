"""Catalogues: what is read, in SI, and what is refused. All units here are invented."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from selector.inputs.catalog import read_catalog
from selector.inputs.errors import InputFaults
from selector.inputs.rating_limits import minimum_work, moisture_carried
from selector.inputs.site import Catalog

SHIPPED = Path(__file__).parents[2] / "catalogs" / "general"
UNIT_HEAD = (
    "model,technology,airflow [cfm],fan static [in. w.g.],voltage [V],phases,current [A],price [USD],"
    "service life [year],maintenance [USD/year],sound [dBA],length [in],width [in],height [in],weight [lb],"
    "minimum dry bulb [degF],maximum dry bulb [degF],reactivation airflow [cfm],reactivation air,"
    "reactivation energy,cycling loss"
)
RATING_HEAD = "model,dry bulb [degF],relative humidity [%],removal [lb/h],power [kW],gas [Btu/h]"
COMPRESSOR = "compressor-60,refrigerant,250,0.5,115,1,10,1500,10,60,55,30,20,20,110,45,100,,,,0.03"
ROTOR = "rotor-90,desiccant,450,1.0,208,3,20,9000,15,250,60,50,30,40,400,20,110,150,outdoor,gas,0"
RATINGS = (
    "compressor-60,80,60,5.5,0.95,",
    "compressor-60,80,40,2.9,0.90,",
    "rotor-90,80,60,9.5,1.2,26000",
    "rotor-90,45,60,3.5,1.2,24000",
)


@dataclass(frozen=True)
class Written:
    comments: tuple[str, ...] = (
        "# invented: prices and curves are examples, not for a bid",
        "# currency: USD",
    )
    unit_head: str = UNIT_HEAD
    units: tuple[str, ...] = (COMPRESSOR, ROTOR)
    rating_head: str = RATING_HEAD
    ratings: tuple[str, ...] = RATINGS


def read(folder: Path, written: Written) -> Catalog:
    units = [*written.comments, written.unit_head, *written.units]
    (folder / "units.csv").write_text("\n".join(units) + "\n", encoding="utf-8")
    ratings = ["# invented", written.rating_head, *written.ratings]
    (folder / "ratings.csv").write_text("\n".join(ratings) + "\n", encoding="utf-8")
    return read_catalog(folder=folder)


def unit_with(column: str, field: str, *, base: str = COMPRESSOR) -> str:
    """A row of units.csv with one field changed."""
    names = [heading.partition(" [")[0] for heading in UNIT_HEAD.split(",")]
    fields = base.split(",")
    fields[names.index(column)] = field
    return ",".join(fields)


def test_shipped_catalogue_is_invented_and_named_for_technology_and_size() -> None:
    catalog = read_catalog(folder=SHIPPED)
    assert catalog.invented
    assert catalog.currency == "USD"
    assert len(catalog.units) >= 24
    words = {"refrigerant": "compressor", "refrigerant-precool": "precool", "desiccant": "rotor"}
    for unit in catalog.units:
        word, size = unit.model.split("-")
        assert word == words[unit.technology]
        assert 25 <= int(size) <= 550
        assert len(unit.ratings) >= 6


def test_values_are_in_si_and_in_the_order_of_the_file(tmp_path: Path) -> None:
    """By hand: 250 cfm = 0.117987 m³/s; 0.5 in. w.g. = 124.544 Pa; 110 lb = 49.8952 kg; 45 °F = 7.2222 °C;
    5.5 lb/h = 6.92988e-4 kg/s; 26,000 Btu/h = 7619.85 W.
    """
    catalog = read(tmp_path, Written())
    assert [unit.model for unit in catalog.units] == ["compressor-60", "rotor-90"]
    unit, rotor = catalog.units
    assert (unit.airflow, unit.fan_static) == pytest.approx((0.117987, 124.544), rel=1e-5)
    assert (unit.voltage, unit.phases, unit.current) == (115.0, 1, 10.0)
    assert (unit.price, unit.service_life, unit.maintenance) == pytest.approx((1500.0, 10.0, 60.0))
    assert (unit.sound, unit.cycling_loss) == (55.0, 0.03)
    assert (unit.length, unit.width, unit.height) == pytest.approx((0.762, 0.508, 0.508))
    assert unit.weight == pytest.approx(49.8952, rel=1e-6)
    assert (unit.minimum_dry_bulb, unit.maximum_dry_bulb) == pytest.approx((7.2222, 37.7778), abs=1e-4)
    assert (unit.reactivation_airflow, unit.reactivation_air, unit.reactivation_energy) == (
        0.0,
        "none",
        "none",
    )
    rating = unit.ratings[0]
    assert rating.dry_bulb == pytest.approx(26.6667, abs=1e-4)
    assert rating.relative_humidity == pytest.approx(0.6)
    assert rating.removal == pytest.approx(6.92988e-4, rel=1e-5)
    assert (rating.power, rating.gas) == (950.0, 0.0)
    assert (rotor.technology, rotor.reactivation_air, rotor.reactivation_energy) == (
        "desiccant",
        "outdoor",
        "gas",
    )
    assert rotor.ratings[0].gas == pytest.approx(7619.85, rel=1e-5)


def test_other_units_in_the_headings_give_the_same_catalogue(tmp_path: Path) -> None:
    head = RATING_HEAD.replace("[degF]", "[degC]").replace("removal [lb/h]", "removal [kg/day]")
    first = read(tmp_path, Written()).units[0].ratings[0]
    rows = (f"compressor-60,{(80 - 32) / 1.8!r},60,{5.5 * 0.45359237 * 24!r},0.95,", *RATINGS[1:])
    converted = Written(rating_head=head, units=(COMPRESSOR,), ratings=(rows[0],))
    second = read(tmp_path, converted).units[0].ratings[0]
    assert second.removal == pytest.approx(first.removal, rel=1e-12)
    assert second.dry_bulb == pytest.approx(first.dry_bulb, rel=1e-12)


def test_one_rating_row_is_enough_and_the_gas_column_may_be_left_out(tmp_path: Path) -> None:
    written = Written(
        units=(COMPRESSOR,),
        rating_head=RATING_HEAD.removesuffix(",gas [Btu/h]"),
        ratings=("compressor-60,80,60,5.5,0.95",),
    )
    assert len(read(tmp_path, written).units[0].ratings) == 1


def test_the_highest_leaving_dry_bulb_may_be_left_out_or_empty(tmp_path: Path) -> None:
    assert [unit.highest_leaving_dry_bulb for unit in read(tmp_path, Written()).units] == [None, None]
    head = f"{UNIT_HEAD},highest leaving dry bulb [degF]"
    both = Written(unit_head=head, units=(f"{COMPRESSOR},131", f"{ROTOR},"))
    found = [unit.highest_leaving_dry_bulb for unit in read(tmp_path, both).units]
    assert found == [pytest.approx(55.0), None]
    wrong = replace(both, units=(f"{COMPRESSOR},50", f"{ROTOR},"))
    with pytest.raises(
        InputFaults, match=r"highest leaving dry bulb: got 50; allowed: a value above 68 to 248 degF"
    ):
        read(tmp_path, wrong)


def test_currency_from_the_heading_and_not_invented(tmp_path: Path) -> None:
    catalog = read(tmp_path, Written(comments=("# prices of spring",)))
    assert (catalog.currency, catalog.invented) == ("USD", False)


# Minimum isothermal work to condense vapour, R_v T ln(1/phi): 80 °F, 73 °F and 65 °F at 60 %; exact formula
@pytest.mark.parametrize(("fahrenheit", "kilojoules"), [(80, 70.68), (73, 69.77), (65, 68.72)])
def test_minimum_work(fahrenheit: float, kilojoules: float) -> None:
    """Agreement found: half a unit of the last printed digit."""
    work = minimum_work(dry_bulb=(fahrenheit - 32) / 1.8, relative_humidity=0.6)
    assert work / 1000 == pytest.approx(kilojoules, abs=0.005)
    assert minimum_work(dry_bulb=20.0, relative_humidity=1.0) == 0.0


def test_moisture_carried() -> None:
    """80 °F, 60 %: 0.0131555 kg/kg and 0.8673 m³/kg by PsychroLib 2.5.0 (printed digits), so 0.015168 kg/m³."""
    carried = moisture_carried(airflow=2.0, dry_bulb=(80 - 32) / 1.8, relative_humidity=0.6)
    assert carried == pytest.approx(2.0 * 0.0131555 / 0.8673, rel=1e-4)


@pytest.mark.parametrize(
    ("written", "message"),
    [
        (
            Written(comments=("# currency: dollars",)),
            "units.csv: # currency: got 'dollars'; allowed: a line with a code",
        ),
        (
            Written(comments=("# currency: EUR",)),
            r'units.csv: headings: got "price \[USD\]"; allowed: .*; the currency is EUR',
        ),
        (Written(units=()), "units.csv: rows: got none"),
        (
            Written(unit_head=UNIT_HEAD.replace("[cfm]", "[lb]", 1)),
            r'units.csv: headings: got "airflow \[lb\]"',
        ),
        (
            Written(unit_head=UNIT_HEAD.replace("[cfm]", "", 1)),
            r'units.csv: headings: got "airflow" \(no unit\)',
        ),
        (Written(unit_head=UNIT_HEAD.replace("model", "name")), "units.csv: headings: got no column 'model'"),
        (
            Written(unit_head=UNIT_HEAD.replace("width [in]", "length [in]")),
            "units.csv: headings: got 'length' twice; allowed: each column once",
        ),
        (
            Written(rating_head=RATING_HEAD.replace("power [kW]", "watts [kW]")),
            'ratings.csv: headings: got "watts',
        ),
        (
            Written(units=(COMPRESSOR, COMPRESSOR, ROTOR)),
            "units.csv: lines 4, 5: got model 'compressor-60' twice",
        ),
        (Written(units=(COMPRESSOR + ",1", ROTOR)), "units.csv: line 4: got 22 fields; allowed: 21 fields"),
        (Written(ratings=RATINGS[:2]), "units.csv: line 5, model: got 'rotor-90' without a rating"),
        (
            Written(ratings=(*RATINGS, "rotor-99,80,60,5,1,")),
            "ratings.csv: line 7, model: got 'rotor-99'; allowed: a model of .*units.csv",
        ),
        (
            Written(ratings=(*RATINGS, "compressor-60,80,60.0,5.4,0.95,")),
            "ratings.csv: line 7, dry bulb: got the same entering state as line 3; allowed: each entering state",
        ),
        (
            Written(ratings=("compressor-60,80,101,5.5,0.95,", *RATINGS[1:])),
            "ratings.csv: line 3, relative humidity: got 101; allowed: a value above 0 to 100 %",
        ),
        (
            Written(ratings=("compressor-60,80,60,5,5,0.95,", *RATINGS[1:])),
            "ratings.csv: line 3: got 7 fields; allowed: 6 fields, as in the headings; no commas within numbers",
        ),
        (
            Written(ratings=("compressor-60,80,60,five,0.95,", *RATINGS[1:])),
            'ratings.csv: line 3, removal: got "five"; allowed: a number',
        ),
        (
            Written(ratings=("compressor-60,80,60,,0.95,", *RATINGS[1:])),
            "ratings.csv: line 3, removal: got nothing; allowed: a value in every row",
        ),
        (
            # 250 cfm at 80 °F, 60 % carry 0.117987 * 0.0131555 / 0.8673 kg/s = 6.44 kg/h
            Written(ratings=("compressor-60,80,60,14.3,0.95,", *RATINGS[1:])),
            r"ratings.csv: line 3, removal: got 6\.49 kg/h; allowed: below 6\.44 kg/h, all the vapour",
        ),
        (
            # 2.4948 kg/h * 70.68 kJ/kg / 3600 = 0.049 kW
            Written(ratings=("compressor-60,80,60,5.5,0.048,", *RATINGS[1:])),
            r"ratings.csv: line 3, power: got 0\.048 kW for 2\.49 kg/h; allowed: at least 0\.049 kW, the least work",
        ),
        (
            # 115 V * 10 A = 1.15 kVA
            Written(ratings=("compressor-60,80,60,5.5,1.25,", *RATINGS[1:])),
            r"ratings.csv: line 3, power: got 1\.250 kW; allowed: up to 1\.150 kW, what the unit's volts and amperes",
        ),
        (
            Written(ratings=("compressor-60,80,60,5.5,0.95,3000", *RATINGS[1:])),
            r"ratings.csv: line 3, gas: got 0\.879 kW; allowed: nothing or 0 for a unit whose reactivation energy is",
        ),
        (
            Written(ratings=(*RATINGS[:3], "rotor-90,45,60,3.5,1.2,")),
            "units.csv: line 5, reactivation energy: got gas, and rating rows of rotor-90 without gas",
        ),
    ],
)
def test_refused(written: Written, message: str, tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match=message):
        read(tmp_path, written)


@pytest.mark.parametrize(
    ("column", "field", "message"),
    [
        ("model", "two words", "line 4, model: got 'two words'; allowed: letters, digits, hyphens"),
        ("model", "standalone", "line 4, model: got 'standalone'; allowed: letters, digits, hyphens"),
        ("model", "", "line 4, model: got nothing"),
        (
            "technology",
            "magic",
            "line 4, technology: got 'magic'; allowed: refrigerant, refrigerant-precool, desicc",
        ),
        ("airflow", "0", "line 4, airflow: got 0; allowed: a value above 0"),
        ("airflow", "", "line 4, airflow: got nothing; allowed: a value in every row"),
        ("fan static", "-0.1", "line 4, fan static: got -0.1; allowed: a value from 0"),
        ("phases", "2", "line 4, phases: got 2; allowed: 1 or 3"),
        ("price", "-5", "line 4, price: got -5; allowed: a value from 0"),
        ("service life", "0", "line 4, service life: got 0; allowed: a value from 1 to 200 year"),
        ("sound", "155", "line 4, sound: got 155; allowed: a value above 0 to 140 dBA"),
        ("weight", "110 lb", 'line 4, weight: got "110 lb"; allowed: a number'),
        (
            "minimum dry bulb",
            "100",
            r"line 4, minimum dry bulb: got 37\.8 °C, not below the maximum of 37\.8 °C",
        ),
        (
            "minimum dry bulb",
            "-80",
            "line 4, minimum dry bulb: got -80; allowed: a value above -58 to 176 degF",
        ),
        ("cycling loss", "1.5", "line 4, cycling loss: got 1.5; allowed: a value from 0 to 1"),
        (
            "reactivation air",
            "space",
            "line 4, reactivation: got .*; allowed: nothing, 0 or none for a refrigerant",
        ),
        ("reactivation air", "roof", "line 4, reactivation air: got 'roof'; allowed: outdoor, space, none"),
        (
            "reactivation energy",
            "steam",
            "line 4, reactivation energy: got 'steam'; allowed: electric, gas, none",
        ),
        (
            "technology",
            "desiccant",
            "line 4, reactivation: got airflow 0 m³/s, air none, energy none; allowed: for a",
        ),
    ],
)
def test_bad_unit_is_refused(column: str, field: str, message: str, tmp_path: Path) -> None:
    head = UNIT_HEAD.replace("cycling loss", "cycling loss [-]")
    row = unit_with(column, field)
    with pytest.raises(InputFaults, match=message):
        read(tmp_path, Written(unit_head=head, units=(row, ROTOR)))


def test_rating_outside_the_entering_limits_is_no_fault(tmp_path: Path) -> None:
    """Limits may be set narrower than what was rated; outside them the unit does not run."""
    row = unit_with("maximum dry bulb", "75")
    assert len(read(tmp_path, Written(units=(row, ROTOR))).units[0].ratings) == 2


def test_three_phases_carry_more(tmp_path: Path) -> None:
    """208 V, 20 A, three phases: 208 * 20 * sqrt(3) = 7.205 kVA; one phase would be 4.16."""
    rows = (*RATINGS[:3], "rotor-90,45,60,3.5,7.2,24000")
    power = read(tmp_path, Written(ratings=rows)).units[1].ratings[1].power
    assert 208 * 20 < power < 208 * 20 * math.sqrt(3.0)


def test_faults_of_both_files_come_at_once(tmp_path: Path) -> None:
    written = Written(
        comments=("# invented",),
        units=(unit_with("airflow", "much"), unit_with("phases", "2", base=ROTOR)),
        ratings=(*RATINGS, "rotor-99,80,60,5,1,", "compressor-60,70,120,4,0.9,"),
    )
    with pytest.raises(InputFaults, match="much") as caught:
        read(tmp_path, written)
    assert [fault.where for fault in caught.value.faults] == [
        "line 3, airflow",
        "line 8, relative humidity",
        "line 7, model",
        "line 4, phases",
    ]


def test_folder_and_files_that_are_not_there(tmp_path: Path) -> None:
    with pytest.raises(
        InputFaults, match=r"nowhere: folder: got nothing there; allowed: a folder with units\.csv"
    ):
        read_catalog(folder=tmp_path / "nowhere")
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(InputFaults, match="file: folder: got a file; allowed"):
        read_catalog(folder=tmp_path / "file")
    with pytest.raises(InputFaults, match=r"units\.csv: file: got no such file or directory") as caught:
        read_catalog(folder=tmp_path)
    assert len(caught.value.faults) == 2


def test_file_that_is_not_text(tmp_path: Path) -> None:
    read(tmp_path, Written())
    (tmp_path / "ratings.csv").write_bytes(b"\xff\x00model")
    with pytest.raises(InputFaults, match=r"ratings\.csv: file: got bytes that are not UTF-8 text"):
        read_catalog(folder=tmp_path)
