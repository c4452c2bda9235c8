"""A catalogue of units: a folder with units.csv and ratings.csv, units of measure in the headings.

::

    # invented: prices and curves are examples, not for a bid
    # currency: USD
    model,technology,airflow [cfm],fan static [in. w.g.],voltage [V],phases,current [A],price [USD],...

units.csv has one row a model, in the columns of `UNIT_COLUMNS`; those of reactivation, and the highest leaving dry
bulb, may be left out or empty. ratings.csv has one row a rating point, in the columns of `RATING_COLUMNS`: entering
dry bulb and relative humidity, moisture removal, electric power and reactivation gas, at 101.325 kPa. One row is
enough for a unit. The line `# invented` marks prices and curves that no one may bid on.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import TypeVar

from selector.inputs.columns import Column, Row, currency_of, open_table, read_rows
from selector.inputs.errors import Faults
from selector.inputs.rating_limits import refuse_impossible_rating
from selector.inputs.reading import is_folder, is_there
from selector.inputs.site import (
    ARRANGEMENTS,
    REACTIVATION_AIR,
    REACTIVATION_ENERGY,
    TECHNOLOGIES,
    Catalog,
    RatingRow,
    Unit,
)
from selector.inputs.tables import lines_text

One = TypeVar("One", bound=str)
MODEL = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")


UNIT_COLUMNS: Mapping[str, Column] = {
    "model": Column(None),
    "technology": Column(None),
    "airflow": Column("airflow", high=1e3),
    "fan static": Column("pressure", low_allowed=True, high=1e4),
    "voltage": Column("voltage", high=1e3),
    "phases": Column("count"),
    "current": Column("current", high=1e4),
    "price": Column("money", low_allowed=True, high=1e9),
    "service life": Column("years", low=1.0, low_allowed=True, high=200.0),
    "maintenance": Column("money_per_year", low_allowed=True, high=1e9),
    "sound": Column("sound", high=140.0),
    "length": Column("length", high=100.0),
    "width": Column("length", high=100.0),
    "height": Column("length", high=100.0),
    "weight": Column("mass", high=1e6),
    "minimum dry bulb": Column("temperature", low=-50.0, high=80.0),
    "maximum dry bulb": Column("temperature", low=-50.0, high=80.0),
    "reactivation airflow": Column("airflow", low_allowed=True, optional=True),
    "reactivation air": Column(None, optional=True),
    "reactivation energy": Column(None, optional=True),
    "cycling loss": Column("fraction", high=1.0, low_allowed=True),
    "highest leaving dry bulb": Column("temperature", low=20.0, high=120.0, optional=True),
}
RATING_COLUMNS: Mapping[str, Column] = {
    "model": Column(None),
    "dry bulb": Column("temperature", low=-50.0, high=80.0),
    "relative humidity": Column("fraction", high=1.0),
    "removal": Column("moisture_rate"),
    "power": Column("electric_power"),
    "gas": Column("power", low_allowed=True, optional=True),
}


def read_catalog(*, folder: Path) -> Catalog:
    """Read a catalogue.

    Arguments: folder that holds units.csv and ratings.csv.
    Returns: the units with their rating rows, in the order of units.csv, in SI.
    Raises: InputFaults, with every fault of both files.
    """
    faults = Faults()
    if not is_folder(folder):
        faults.add(
            file=str(folder),
            where="folder",
            got="a file" if is_there(folder) else "nothing there",
            allowed="a folder with units.csv and ratings.csv",
        )
        faults.raise_if_any()
    units_table, units_file = open_table(path=folder / "units.csv", faults=faults)
    ratings_table, ratings_file = open_table(path=folder / "ratings.csv", faults=faults)
    currency = ""
    unit_rows: list[Row] = []
    if units_table is not None:
        currency = currency_of(table=units_table, file=units_file, priced="price", faults=faults)
        unit_rows = read_rows(
            table=units_table,
            file=units_file,
            columns=UNIT_COLUMNS,
            key="model",
            currency=currency or None,
            faults=faults,
        )
    rating_rows: list[Row] = []
    if ratings_table is not None:
        rating_rows = read_rows(
            table=ratings_table,
            file=ratings_file,
            columns=RATING_COLUMNS,
            key="model",
            currency=None,
            faults=faults,
        )

    of_model: dict[str, list[Row]] = {row.words["model"]: [] for row in unit_rows}
    for row in rating_rows:
        if row.words["model"] in of_model:
            of_model[row.words["model"]].append(row)
        elif units_table is not None and not units_table.torn:
            faults.add(
                file=row.file,
                where=row.place("model"),
                got=repr(row.words["model"]),
                allowed=f"a model of {units_file}",
            )
    _refuse_doubled_models(unit_rows, faults)
    units = []
    for row in unit_rows:
        whole = ratings_table is not None and not ratings_table.torn
        ratings = _ratings(row, of_model[row.words["model"]], whole, ratings_file, faults)
        unit = _unit(row, ratings, faults)
        if unit is not None:
            units.append(unit)
    faults.raise_if_any()
    assert units_table is not None  # refused above
    return Catalog(
        folder=str(folder), currency=currency, invented="invented" in units_table.comments, units=tuple(units)
    )


def _refuse_doubled_models(rows: list[Row], faults: Faults) -> None:
    lines_of: dict[str, list[int]] = {}
    for row in rows:
        lines_of.setdefault(row.words["model"].lower(), []).append(row.line)
    for model, lines in lines_of.items():
        if model and len(lines) > 1:
            faults.add(
                file=rows[0].file,
                where=lines_text(lines),
                got=f"model {model!r} twice",
                allowed="each model once",
            )


def _word(row: Row, column: str, allowed: tuple[One, ...], faults: Faults) -> One | None:
    word = row.words[column].lower()
    for one in allowed:
        if one == word:
            return one
    if word:
        faults.add(
            file=row.file, where=row.place(column), got=repr(row.words[column]), allowed=", ".join(allowed)
        )
    return None


def _ratings(
    unit: Row, rows: list[Row], file_is_whole: bool, file: str, faults: Faults
) -> tuple[RatingRow, ...]:
    """Rating rows of one unit; refuses doubled rows and rows that physics excludes."""
    if not rows and file_is_whole:
        faults.add(
            file=unit.file,
            where=unit.place("model"),
            got=f"{unit.words['model']!r} without a rating",
            allowed=f"at least one row in {file}",
        )
    ratings: list[RatingRow] = []
    lines_of: dict[tuple[float, float], int] = {}
    for row in rows:
        if not row.whole:
            continue
        rating = RatingRow(
            dry_bulb=row.number("dry bulb"),
            relative_humidity=row.number("relative humidity"),
            removal=row.number("removal"),
            power=row.number("power"),
            gas=row.numbers["gas"] or 0.0,
        )
        point = (round(rating.dry_bulb, 3), round(rating.relative_humidity, 5))
        if point in lines_of:
            faults.add(
                file=row.file,
                where=row.place("dry bulb"),
                got=f"the same entering state as line {lines_of[point]}",
                allowed=f"each entering state of {unit.words['model']} once",
            )
        lines_of.setdefault(point, row.line)
        if unit.whole:
            refuse_impossible_rating(
                rating=rating,
                airflow=unit.number("airflow"),
                electric_limit=unit.number("voltage")
                * unit.number("current")
                * (math.sqrt(3.0) if unit.number("phases") == 3 else 1.0),
                gas_allowed=unit.words["reactivation energy"].lower() == "gas",
                file=row.file,
                line=row.line,
                faults=faults,
            )
        ratings.append(rating)
    return tuple(ratings)


def _unit(row: Row, ratings: tuple[RatingRow, ...], faults: Faults) -> Unit | None:
    """Make a unit of a row of units.csv; None where anything was refused."""
    before = len(faults)
    model = row.words["model"]
    if model and (MODEL.fullmatch(model) is None or model in ARRANGEMENTS):
        faults.add(
            file=row.file,
            where=row.place("model"),
            got=repr(model),
            allowed="letters, digits, hyphens, points and underscores, not the name of an arrangement",
        )
    technology = _word(row, "technology", TECHNOLOGIES, faults)
    if row.numbers["phases"] not in (None, 1.0, 3.0):
        faults.add(
            file=row.file, where=row.place("phases"), got=f"{row.numbers['phases']:g}", allowed="1 or 3"
        )
    low, high = row.numbers["minimum dry bulb"], row.numbers["maximum dry bulb"]
    if low is not None and high is not None and low >= high:
        faults.add(
            file=row.file,
            where=row.place("minimum dry bulb"),
            got=f"{low:.1f} °C, not below the maximum of {high:.1f} °C",
            allowed="a minimum below the maximum",
        )
    airflow = row.numbers["reactivation airflow"] or 0.0
    air = (
        _word(row, "reactivation air", REACTIVATION_AIR, faults) if row.words["reactivation air"] else "none"
    )
    energy = (
        _word(row, "reactivation energy", REACTIVATION_ENERGY, faults)
        if row.words["reactivation energy"]
        else "none"
    )
    if technology == "desiccant" and (airflow == 0.0 or "none" in (air, energy)):
        faults.add(
            file=row.file,
            where=row.place("reactivation"),
            got=f"airflow {airflow:g} m³/s, air {air}, energy {energy}",
            allowed="for a desiccant unit an airflow above 0, air outdoor or space, energy electric or gas",
        )
    if technology in ("refrigerant", "refrigerant-precool") and (airflow, air, energy) != (
        0.0,
        "none",
        "none",
    ):
        faults.add(
            file=row.file,
            where=row.place("reactivation"),
            got=f"airflow {airflow:g} m³/s, air {air}, energy {energy}",
            allowed=f"nothing, 0 or none for a {technology} unit",
        )
    if energy == "gas" and any(rating.gas == 0.0 for rating in ratings):
        faults.add(
            file=row.file,
            where=row.place("reactivation energy"),
            got=f"gas, and rating rows of {model} without gas",
            allowed="a value in the column gas in each of its rating rows",
        )
    if technology is None or air is None or energy is None or not row.whole or len(faults) > before:
        return None
    return Unit(
        model=model,
        technology=technology,
        airflow=row.number("airflow"),
        fan_static=row.number("fan static"),
        voltage=row.number("voltage"),
        phases=int(row.number("phases")),
        current=row.number("current"),
        price=row.number("price"),
        service_life=row.number("service life"),
        maintenance=row.number("maintenance"),
        sound=row.number("sound"),
        length=row.number("length"),
        width=row.number("width"),
        height=row.number("height"),
        weight=row.number("weight"),
        minimum_dry_bulb=row.number("minimum dry bulb"),
        maximum_dry_bulb=row.number("maximum dry bulb"),
        reactivation_airflow=airflow,
        reactivation_air=air,
        reactivation_energy=energy,
        cycling_loss=row.number("cycling loss"),
        ratings=ratings,
        highest_leaving_dry_bulb=row.numbers["highest leaving dry bulb"],
    )
