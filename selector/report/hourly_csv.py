"""The hourly CSV: every hour of a design's year, SI, so that another engineer can recompute it.

`COLUMNS` and `UNIT_COLUMNS` say what each column holds; the first 26 and the columns of each model come first, what an
auditor needs besides stands behind them, with columns of an energy-recovery wheel and of reheat where there is one,
and `marks` stands last, the only one in words but for the time.
Numbers are written so that they read back to the same double; in every row internal + ventilation + infiltration -
coil - units - stored = 0 to their precision.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from selector.inputs.calendar import DAYS_IN_MONTH, FIRST_DAY_OF_MONTH
from selector.inputs.site import HOURS, FloatArray
from selector.physics import arrangements as cells
from selector.physics import response as out
from selector.physics.hourly import HourlyYear, UnitHours
from selector.physics.prepare import Prepared
from selector.physics.step import HOUR
from selector.report.figures import MARKS
from selector.report.lines import marks

JOULES_PER_KWH = 3.6e6

# a year of 365 days whose 1 January is a Monday, Tuesday, ...: stands for the typical year, whose days carry no year
STAND_IN_YEARS = (2001, 2002, 2003, 2009, 2010, 2005, 2006)

COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "time": "start of the hour; the year stands in for one whose weekdays are those of the simulated year",
        "pressure_Pa": "air pressure outdoors and indoors",
        "outdoor_dry_bulb_C": "outdoor dry bulb",
        "outdoor_humidity_ratio": "outdoor humidity ratio, kg/kg dry air",
        "space_dry_bulb_C": "space, mean over the hour",
        "space_humidity_ratio": "space, mean over the hour, kg/kg dry air",
        "space_relative_humidity": "space, of the mean state, 0 to 1",
        "internal_moisture_kg": "from people, water surfaces, plants and given rates",
        "ventilation_moisture_kg": "brought by outdoor air through the air handler: flow x (outdoor - space)",
        "infiltration_moisture_kg": "brought by outdoor air through the envelope: flow x (outdoor - space)",
        "coil_removal_kg": "taken out by the cooling coil, less what it gives back while off",
        "unit_removal_kg": "taken out by all dehumidifiers",
        "stored_moisture_kg": "rise of the moisture stored in air and contents",
        "coil_runtime": "share of the hour at coil_stage; for the rest of the fan's time the coil is one stage lower",
        "fan_runtime": "share of the hour that the air handler's fan runs",
        "supply_airflow_kg": "dry air through the air handler",
        "outdoor_airflow_kg": "of that outdoor air",
        "coil_entering_dry_bulb_C": "entering the coil while the fan runs",
        "coil_entering_humidity_ratio": "entering the coil while the fan runs, kg/kg",
        "coil_leaving_dry_bulb_C": "leaving the coil at coil_stage (coil on)",
        "coil_leaving_humidity_ratio": "leaving the coil at coil_stage (coil on), kg/kg",
        "cooling_kWh": "electricity of the cooling plant, without fans",
        "unit_kWh": "electricity of all dehumidifiers",
        "unit_gas_kWh": "reactivation gas of all dehumidifiers",
        "fan_kWh": "electricity of the air handler's fan",
        "heating_kWh": "energy bought for heating, gas or electricity",
    }
)
UNIT_COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "runtime": "unit-hours: 1.5 is one unit all hour and another half of it",
        "entering_dry_bulb_C": "entering; for supply-side while the coil is at coil_stage",
        "entering_humidity_ratio": "entering, kg/kg; for supply-side while the coil is at coil_stage",
        "removal_kg": "moisture taken out",
    }
)
EXTRA_COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "space_start_dry_bulb_C": "space at the start of the hour",
        "space_start_humidity_ratio": "space at the start of the hour, kg/kg",
        "space_end_dry_bulb_C": "space at the end of the hour",
        "space_end_humidity_ratio": "space at the end of the hour, kg/kg",
        "infiltration_airflow_kg": "dry outdoor air through the envelope",
        "coil_stage": "stage that coil_runtime counts; 1 for chilled water, 0 where the coil is off",
        "coil_surface_C": "apparatus dew point at coil_stage",
        "coil_airflow_kg": "dry air through the coil",
        "coil_bypass_airflow_kg": "dry air around the coil, with units that bypass it",
        "coil_low_leaving_dry_bulb_C": "leaving the coil in the rest of the fan's time (coil off, or one stage lower)",
        "coil_low_leaving_humidity_ratio": "leaving the coil in the rest of the fan's time, kg/kg",
        "coil_given_back_kg": "evaporated from the wet coil while it is off and the fan runs",
        "coil_heat_kWh": "heat that the coil takes from the air",
        "heating_delivered_kWh": "heat that the heating gives",
        "fan_runtime_for_units": "share of the hour that the fan runs for dehumidifiers alone",
    }
)
EXTRA_UNIT_COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "kWh": "electricity",
        "gas_kWh": "reactivation gas",
        "coil_on_share": "share of the running time that supply-side units see the coil at coil_stage; 1 elsewhere",
        "off_entering_dry_bulb_C": "supply-side only: entering in the rest of the time",
        "off_entering_humidity_ratio": "supply-side only: entering in the rest of the time, kg/kg",
        "airflow_kg_s": "dry air through one running unit, kg/s; 0 where the air is outside its range",
        "leaving_dry_bulb_C": "leaving a running unit",
        "leaving_humidity_ratio": "leaving a running unit, kg/kg",
        "surface_C": "apparatus dew point of the unit; for a rotor, process air off it, ahead of the unit's fan",
        "off_airflow_kg_s": "supply-side only: dry air through one running unit in the rest of the time, kg/s",
        "off_leaving_dry_bulb_C": "supply-side only: leaving in the rest of the time",
        "off_leaving_humidity_ratio": "supply-side only: leaving in the rest of the time, kg/kg",
        "off_surface_C": "supply-side only: surface_C in the rest of the time",
    }
)

LAST_COLUMN: Mapping[str, str] = MappingProxyType(
    {
        MARKS: "what has to be known of the numbers, in words: first estimate, synthetic weather, invented units"
    }
)

UNIT_CELLS: Mapping[str, int] = MappingProxyType(
    {
        "airflow_kg_s": cells.FLOW,
        "leaving_dry_bulb_C": cells.LEAVING_T,
        "leaving_humidity_ratio": cells.LEAVING_W,
        "surface_C": cells.SURFACE,
    }
)


def time_texts(first_weekday: int) -> tuple[str, ...]:
    """Times at which the hours of the year start.

    >>> time_texts(0)[:2], time_texts(6)[-1]
    (('2001-01-01T00:00', '2001-01-01T01:00'), '2006-12-31T23:00')

    Args: first_weekday, of 1 January, Monday = 0.
    Returns: 8,760 texts, as ISO 8601 writes them, in the stand-in year.
    """
    year = STAND_IN_YEARS[first_weekday]
    texts: list[str] = []
    for month, days in enumerate(DAYS_IN_MONTH, start=1):
        assert FIRST_DAY_OF_MONTH[month - 1] * 24 == len(texts)
        texts += [
            f"{year}-{month:02d}-{day:02d}T{hour:02d}:00" for day in range(1, days + 1) for hour in range(24)
        ]
    return tuple(texts)


def unit_names(groups: tuple[UnitHours, ...]) -> tuple[str, ...]:
    """Name the groups of units in the headings.

    Args: groups of a year.
    Returns: the model; model_arrangement where it stands in more than one.
    """
    models = [group.model for group in groups]
    return tuple(
        group.model if models.count(group.model) == 1 else f"{group.model}_{group.arrangement}"
        for group in groups
    )


def hourly_columns(*, prepared: Prepared, year: HourlyYear) -> dict[str, FloatArray]:
    """Columns of the CSV but the time.

    Args: prepared; year, of any design.
    Returns: (8760,) by heading, in the order of the file.
    """
    plant, response, hours = prepared.plant, year.response, prepared.hours
    share = response[:, out.FAN_SHARE]
    supply = plant["supply"] * share * HOUR
    coil_air = response[:, out.COIL_AIR] * share * HOUR
    columns = {
        "pressure_Pa": hours["pressure"],
        "outdoor_dry_bulb_C": hours["outdoor_t"],
        "outdoor_humidity_ratio": hours["outdoor_w"],
        "space_dry_bulb_C": year.mean_t,
        "space_humidity_ratio": year.mean_w,
        "space_relative_humidity": year.relative_humidity,
        "internal_moisture_kg": year.internal,
        "ventilation_moisture_kg": year.ventilation,
        "infiltration_moisture_kg": year.infiltration,
        "coil_removal_kg": year.coil,
        "unit_removal_kg": year.units,
        "stored_moisture_kg": year.stored,
        "coil_runtime": response[:, out.COIL_SHARE],
        "fan_runtime": share,
        "supply_airflow_kg": supply,
        "outdoor_airflow_kg": response[:, out.VENTILATION] * HOUR,
        "coil_entering_dry_bulb_C": response[:, out.COIL_IN_T],
        "coil_entering_humidity_ratio": response[:, out.COIL_IN_W],
        "coil_leaving_dry_bulb_C": response[:, out.COIL_OUT_T],
        "coil_leaving_humidity_ratio": response[:, out.COIL_OUT_W],
        "cooling_kWh": year.cooling / JOULES_PER_KWH,
        "unit_kWh": year.unit_electricity / JOULES_PER_KWH,
        "unit_gas_kWh": year.unit_gas / JOULES_PER_KWH,
        "fan_kWh": year.fan / JOULES_PER_KWH,
        "heating_kWh": year.heating / JOULES_PER_KWH,
    }
    names = unit_names(year.groups)
    for name, group in zip(names, year.groups, strict=True):
        columns[f"{name}_runtime"] = group.running
        columns[f"{name}_entering_dry_bulb_C"] = group.entering_dry_bulb
        columns[f"{name}_entering_humidity_ratio"] = group.entering_humidity_ratio
        columns[f"{name}_removal_kg"] = group.removal
    columns |= {
        "space_start_dry_bulb_C": year.start_t,
        "space_start_humidity_ratio": year.start_w,
        "space_end_dry_bulb_C": year.end_t,
        "space_end_humidity_ratio": year.end_w,
        "infiltration_airflow_kg": response[:, out.INFILTRATION] * HOUR,
        "coil_stage": response[:, out.COIL_STAGE],
        "coil_surface_C": response[:, out.SURFACE_T],
        "coil_airflow_kg": coil_air,
        "coil_bypass_airflow_kg": np.where(share > 0.0, supply - coil_air, 0.0),
        "coil_low_leaving_dry_bulb_C": response[:, out.COIL_LOW_T],
        "coil_low_leaving_humidity_ratio": response[:, out.COIL_LOW_W],
        "coil_given_back_kg": response[:, out.GIVEN_BACK] * HOUR,
        "coil_heat_kWh": response[:, out.COIL_HEAT] * HOUR / JOULES_PER_KWH,
        "heating_delivered_kWh": year.heating_delivered / JOULES_PER_KWH,
        "fan_runtime_for_units": response[:, out.FAN_FROM_UNITS],
    }
    if plant["wheel"] == 1:
        columns |= {
            # share of its full speed, 0 while air goes around it
            "wheel_speed": response[:, out.WHEEL_SPEED],
            # outdoor air behind the wheel and its fan; 0 without ventilation
            "wheel_leaving_dry_bulb_C": response[:, out.WHEEL_T],
            "wheel_leaving_humidity_ratio": response[:, out.WHEEL_W],
            # its fans and motor, in fan_kWh
            "wheel_kWh": year.wheel / JOULES_PER_KWH,
        }
    if plant["reheat"] == 1:
        columns |= {
            # in heating_delivered_kWh and heating_kWh
            "reheat_delivered_kWh": response[:, out.REHEAT] * HOUR / JOULES_PER_KWH,
            "reheat_kWh": year.reheat / JOULES_PER_KWH,
            # 0 enough; 1 the coil, 2 reheat ran out; 3 the coil's surface would have gone below 0 °C
            "reheat_short": response[:, out.REHEAT_SHORT],
        }
    for name, group in zip(names, year.groups, strict=True):
        columns[f"{name}_kWh"] = group.electricity / JOULES_PER_KWH
        columns[f"{name}_gas_kWh"] = group.gas / JOULES_PER_KWH
        columns[f"{name}_coil_on_share"] = group.on_share
        if group.arrangement == "supply-side":
            columns[f"{name}_off_entering_dry_bulb_C"] = group.off_entering_dry_bulb
            columns[f"{name}_off_entering_humidity_ratio"] = group.off_entering_humidity_ratio
        for heading, place in UNIT_CELLS.items():
            columns[f"{name}_{heading}"] = group.cell[:, place]
            if group.arrangement == "supply-side":
                columns[f"{name}_off_{heading}"] = group.cell[:, cells.OFF + place]
    return columns


def hourly_csv(*, prepared: Prepared, year: HourlyYear) -> str:
    """Write the hourly CSV.

    Args: prepared; year, of any design.
    Returns: text, one row of headings and 8,760 rows.
    """
    columns = hourly_columns(prepared=prepared, year=year)
    times = time_texts(prepared.site.weather.first_weekday)
    file = io.StringIO(newline="")
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(["time", *columns, MARKS])
    values = np.column_stack(list(columns.values())) + 0.0  # -0.0 is written as 0.0
    words = "; ".join(marks(prepared.site))
    for row in range(HOURS):
        writer.writerow([times[row], *map(repr, values[row].tolist()), words])
    return file.getvalue()
