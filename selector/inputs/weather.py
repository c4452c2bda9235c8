"""One year of outdoor air from a weather file: EPW, TMY3, TMY2 or CSV, told apart by what they contain.

Humidity ratio comes from dew point and pressure wherever the file has a dew point, never from a recorded
relative humidity: typical years contradict themselves by up to 33 points.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np

from selector.inputs import outdoor_states as states
from selector.inputs.calendar import name_of_hour
from selector.inputs.design_days import design_days
from selector.inputs.errors import Faults
from selector.inputs.gaps import LONGEST_FILLED, LONGEST_LINEAR, fill_gaps
from selector.inputs.reading import read_bytes
from selector.inputs.site import HOURS, BoolArray, FloatArray, Weather
from selector.inputs.weather_csv import read_csv_weather
from selector.inputs.weather_files import read_epw, read_tmy2, read_tmy3
from selector.inputs.weather_table import QUANTITIES, WeatherTable, refuse_missing_columns

MOST_FILLED = 876  # h, a tenth of the year: common practice, no source
ROUNDING = 1.0  # K by which a recorded dew point may lie above the dry bulb: both rounded to 1 °F, or sensors
PRESSURE_MATCH = 0.06  # share by which the mean pressure may differ from the standard atmosphere's
ELEVATION_MATCH = 100.0  # m by which the site may lie above or below the station without a note
_CONTRADICTION = 0.05  # of relative humidity, named in a note from here on
_FORMS = (
    'EPW (first line "LOCATION,..."), TMY3, TMY2, or CSV with headings such as "time,dry bulb [degC],..."'
)


def read_weather(*, path: Path, elevation: float | None, first_weekday: int | None) -> Weather:
    """Read a weather file and make it one complete year.

    Arguments:
        path: the file; its name is of no account, its contents tell what it is.
        elevation: of the site [m]; None takes the file's, NaN stands for one that was refused.
        first_weekday: of 1 January, Monday = 0; None takes the file's, or a Monday.

    Returns: the year in SI, value i for the hour that starts at i, with design days and notes on what was
    filled, clipped or assumed.
    Raises: InputFaults, with every fault that was found.
    """
    faults = Faults()
    table = read_recorded(path=path, faults=faults)
    weather: Weather | None = None
    if table is not None:
        weather = weather_of_table(
            table=table, elevation=elevation, first_weekday=first_weekday, faults=faults
        )
    faults.raise_if_any()
    assert weather is not None  # without a fault there is one
    return weather


def read_recorded(*, path: Path, faults: Faults) -> WeatherTable | None:
    """Tell a weather file's form by its contents and read it, gaps and all.

    Arguments: path; faults, takes what is wrong.
    Returns: the year as recorded, without what was refused; None where it cannot be laid on a year.
    """
    file = str(path)
    contents = read_bytes(path=path, allowed="a weather file", faults=faults)
    if contents is None:
        return None
    text = contents.decode("utf-8-sig", errors="replace")
    lines = [line for line in text.splitlines() if line.strip()][:200]
    plain = [line for line in lines if not line.startswith("#")]
    if not plain:
        faults.add(file=file, where="contents", got="an empty file", allowed=_FORMS)
        return None
    reader: Callable[..., WeatherTable | None]
    if plain[0].startswith("LOCATION,"):
        reader = read_epw
    elif len(plain) > 1 and plain[1].startswith("Date (MM/DD/YYYY),Time (HH:MM)"):
        reader = read_tmy3
    elif re.match(r"\s*\d{5} .{22} .{2}\s+-?\d+ [NS] ", plain[0]):
        reader = read_tmy2
    elif re.search(r"(^|[,;\t])\s*\"?time\b", plain[0], re.IGNORECASE) or "[" in plain[0]:
        return read_csv_weather(text=text, file=file, faults=faults)
    else:
        faults.add(file=file, where="contents", got=f"first line {plain[0][:60]!r}", allowed=_FORMS)
        return None
    return reader(path=path, text=text, file=file, faults=faults)


def weather_of_table(
    *, table: WeatherTable, elevation: float | None, first_weekday: int | None, faults: Faults
) -> Weather | None:
    """Fill the gaps of a recorded year, find its humidity ratios and build its design days.

    Arguments: table, as read; elevation [m] and first_weekday as of `read_weather`; faults, takes what is wrong.
    Returns: the year, or None where there are faults.
    """
    notes = list(table.notes)
    columns = {
        key: values
        for key, values in table.columns.items()
        if table.refused[key].any() or not np.isnan(values).all()
    }
    source = refuse_missing_columns(file=table.file, columns=columns, faults=faults)
    used = [key for key in ("dry_bulb", source, "pressure", "sea_level_pressure", "global_horizontal")
            if key in columns]  # fmt: skip
    filled, hours_filled = _fill(table, {key: columns[key] for key in used}, source, notes, faults)
    if source is None or "dry_bulb" not in filled or source not in filled:
        return None
    dry_bulb = filled["dry_bulb"]
    elevation, pressure = _pressure(table, filled, elevation, notes, faults)
    recorded = ~np.isnan(columns["dry_bulb"]) & ~np.isnan(columns[source])
    if pressure is None:  # refused: sea level stands in
        pressure = np.full(HOURS, states.standard_pressure(0.0))
        # without a pressure no one can say how near a humidity ratio is to saturation
        recorded &= source != "humidity_ratio"
    humidity_ratio = _humidity(table.file, source, filled, pressure, recorded, notes, faults)
    if len(faults):
        return None
    if source == "dew_point" and "relative_humidity" in columns:
        _compare_relative_humidity(columns, notes)
    if "global_horizontal" in filled:
        irradiance = np.maximum(filled["global_horizontal"], 0.0)
    else:
        irradiance = np.zeros(HOURS)
        notes.append("no global horizontal irradiance in the weather file: the sun is left out")
    weekday = first_weekday if first_weekday is not None else table.first_weekday
    if weekday is None:
        weekday = 0
        notes.append("the weather file names no year: 1 January is taken as a Monday")
    dew_point = (
        np.minimum(filled["dew_point"], dry_bulb)
        if source == "dew_point"
        else states.dew_point_of_humidity_ratio(humidity_ratio=humidity_ratio, pressure=pressure)
    )
    return Weather(
        source=table.file,
        kind=table.kind,
        pressure=pressure,
        dry_bulb=dry_bulb,
        humidity_ratio=humidity_ratio,
        global_horizontal=irradiance,
        elevation=elevation,
        first_weekday=weekday,
        hours_filled=hours_filled,
        notes=tuple(notes),
        design_days=design_days(
            dry_bulb=dry_bulb,
            dew_point=dew_point,
            pressure=pressure,
            global_horizontal=irradiance,
            first_weekday=weekday,
        ),
    )


def _fill(
    table: WeatherTable,
    columns: dict[str, FloatArray],
    source: str | None,
    notes: list[str],
    faults: Faults,
) -> tuple[dict[str, FloatArray], int]:
    """Fill the gaps of each column that has values; count the hours whose dry bulb or humidity was filled.

    What was refused is no gap; where something was, or a gap is too long, straight lines stand in for what is missing,
    so that the other hours can be judged.
    """
    filled: dict[str, FloatArray] = {}
    hours = np.zeros(HOURS, dtype=np.bool_)
    all_short = True
    for key, values in columns.items():
        refused = table.refused[key]
        result = fill_gaps(values=np.where(refused, 0.0, values))
        known = ~np.isnan(values)
        if not refused.any() and not result.too_long:
            filled[key] = result.values
        elif known.any():
            filled[key] = np.interp(np.arange(HOURS), np.flatnonzero(known), values[known])
        name = QUANTITIES[key].name
        if result.too_long:
            shown = ", ".join(
                f"{name_of_hour(start)} to {name_of_hour((start + length - 1) % HOURS)} ({length} h)"
                for start, length in result.too_long[:3]
            )
            more = f" and {len(result.too_long) - 3} more" if len(result.too_long) > 3 else ""
            all_short = False
            faults.add(
                file=table.file,
                where=name,
                got=f"nothing in the hours {shown}{more}",
                allowed=f"gaps of up to {LONGEST_FILLED} h"
                + ("" if key in ("dry_bulb", source) else "; or leave the column out"),
            )
        if key in ("dry_bulb", source):
            hours |= result.filled
        elif result.filled.any():
            notes.append(f"{int(result.filled.sum())} hours without {name} were filled")
    count = int(hours.sum())
    if count > MOST_FILLED and all_short:
        faults.add(
            file=table.file,
            where="dry bulb and humidity",
            got=f"nothing in {count} hours of the year",
            allowed=f"up to {MOST_FILLED} hours missing",
        )
    if count:
        notes.append(
            f"{count} hours without dry bulb or humidity were filled: gaps of up to {LONGEST_LINEAR} h on a "
            f"straight line, of up to {LONGEST_FILLED} h from the same hours of the days around"
        )
    return filled, count


def _pressure(
    table: WeatherTable,
    columns: dict[str, FloatArray],
    elevation: float | None,
    notes: list[str],
    faults: Faults,
) -> tuple[float, FloatArray | None]:
    """Elevation of the site [m], and pressure from the file or from that elevation, None where it was refused."""
    if elevation is None:
        elevation = table.elevation
    elif table.elevation is not None and abs(elevation - table.elevation) > ELEVATION_MATCH:
        notes.append(
            f"the site lies at {elevation:.0f} m, the weather station at {table.elevation:.0f} m; "
            "the weather is used as recorded"
        )
    pressure = columns.get("pressure")
    for key in ("pressure", "sea_level_pressure"):
        if key not in columns and key in table.refused and table.refused[key].any():
            return math.nan, None
    if pressure is None and elevation is None:
        faults.add(
            file=table.file,
            where="pressure",
            got="no pressure and no elevation",
            allowed='a column pressure, or weather.elevation in the site file, as "120 m"',
        )
        return math.nan, None
    if pressure is None and elevation is not None and math.isnan(elevation):
        return math.nan, None
    if pressure is None and "sea_level_pressure" in columns:
        assert elevation is not None  # refused above
        notes.append(f"pressure at {elevation:.0f} m from the pressure at sea level")
        pressure = states.station_pressure(
            sea_level_pressure=columns["sea_level_pressure"],
            elevation=elevation,
            dry_bulb=columns["dry_bulb"],
        )
        return elevation, pressure
    if pressure is None:
        assert elevation is not None  # refused above
        notes.append(f"pressure of the standard atmosphere at {elevation:.0f} m")
        return elevation, np.full(HOURS, states.standard_pressure(elevation))
    mean = float(pressure.mean())
    if elevation is None:
        elevation = states.elevation_of_pressure(mean)
        notes.append(f"elevation {elevation:.0f} m from the mean pressure")
    standard = states.standard_pressure(table.elevation if table.elevation is not None else elevation)
    if abs(mean / standard - 1.0) > PRESSURE_MATCH:
        faults.add(
            file=table.file,
            where="pressure",
            got=f"a mean of {mean:.0f} Pa",
            allowed=f"within {PRESSURE_MATCH:.0%} of {standard:.0f} Pa, the standard atmosphere's at the "
            "elevation given; a pressure reduced to sea level is named sea level pressure",
        )
        return elevation, None
    if np.ptp(pressure) == 0.0:
        notes.append(f"the file gives one pressure for all hours, {mean:.0f} Pa")
    return elevation, pressure


def _humidity(
    file: str,
    source: str,
    columns: dict[str, FloatArray],
    pressure: FloatArray,
    recorded: BoolArray,
    notes: list[str],
    faults: Faults,
) -> FloatArray:
    """Humidity ratio from the best column there is; not above saturation."""
    dry_bulb = columns["dry_bulb"]
    values = columns[source]
    name = QUANTITIES[source].name
    saturated = states.saturation_humidity_ratio(dry_bulb=dry_bulb, pressure=pressure)
    if source == "dew_point":
        excess = values - dry_bulb
        ratio = states.humidity_ratio_of_dew_point(dew_point=np.minimum(values, dry_bulb), pressure=pressure)
    elif source == "wet_bulb":
        excess = values - dry_bulb
        ratio = states.humidity_ratio_of_wet_bulb(dry_bulb=dry_bulb, wet_bulb=values, pressure=pressure)
    elif source == "humidity_ratio":
        excess = states.dew_point_of_humidity_ratio(humidity_ratio=values, pressure=pressure) - dry_bulb
        ratio = np.minimum(values, saturated)
    else:
        excess = np.zeros(HOURS)
        over = recorded & (values > 1.0)
        if over.any():
            notes.append(f"{int(over.sum())} hours of relative humidity above 100 % were taken as 100 %")
        ratio = states.humidity_ratio_of_relative_humidity(
            dry_bulb=dry_bulb, relative_humidity=np.minimum(values, 1.0), pressure=pressure
        )
    if source != "dew_point":
        notes.append(f"humidity ratio from {name}, as the file has no dew point")
    worst = np.where(recorded, excess, -np.inf)
    wrong = np.flatnonzero(worst > ROUNDING)
    if wrong.size:
        hours = ", ".join(name_of_hour(int(hour)) for hour in wrong[:3])
        faults.add(
            file=file,
            where=f"{name}, hours {hours}" + (f" and {wrong.size - 3} more" if wrong.size > 3 else ""),
            got=f"air above saturation, by up to {worst.max():.1f} K",
            allowed=f"at most {ROUNDING:g} K, for rounding",
        )
    clipped = int((worst > 1e-3).sum())
    if clipped:
        notes.append(
            f"{clipped} hours with {name} above saturation, by up to {worst.max():.1f} K, were taken as saturated"
        )
    return ratio


def _compare_relative_humidity(columns: dict[str, FloatArray], notes: list[str]) -> None:
    """Say how far the file's relative humidity is from its own dry bulb and dew point."""
    whole = ~np.isnan(columns["dry_bulb"] + columns["dew_point"] + columns["relative_humidity"])
    dry_bulb, dew_point = columns["dry_bulb"][whole], columns["dew_point"][whole]
    consistent = states.relative_humidity_of_dew_point(
        dry_bulb=dry_bulb, dew_point=np.minimum(dew_point, dry_bulb)
    )
    worst = float(np.abs(columns["relative_humidity"][whole] - consistent).max())
    if worst > _CONTRADICTION:
        notes.append(
            f"the file's relative humidity contradicts its dry bulb and dew point by up to {worst * 100:.0f} "
            "points and is not used"
        )
