"""What an audit of the hourly CSV takes: the texts of each case, and moist air by CoolProp.

Every demo site is simulated with every arrangement it can have; only the CSV's text, the site file's text and the
catalogue's text are read here. Machines differ over the sites so that each of five models stands once in each
arrangement. Of each year there is every row, and a sample for what takes CoolProp: every 37th hour, every n-th hour
with a running unit, and the extremes of the year.

Source: CoolProp's HAPropsSI (real moist air, ASHRAE RP-1485) and its water (IAPWS-95). PsychroLib's ideal gas has
humidity ratios of saturated air 0.4 to 0.5 % lower and enthalpies up to 0.3 kJ/kg lower, which sets the tolerances of
the audits. Notation: h J/kg and w kg/kg of dry air, m kg/s of dry air, t °C.
"""

from __future__ import annotations

import csv
import functools
import io
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from CoolProp.CoolProp import HAPropsSI

from tests.hours import hourly_text

ROOT = Path(__file__).parents[2]
DUCTED = ("pool", "school", "hall", "growing", "clinic")
ARRANGEMENTS = ("return-side", "supply-side", "coil-bypass", "standalone", "outdoor-air")
MODELS = (
    "compressor-120",
    "precool-120",
    "rotor-90",
    "rotor-180",
    "rotor-140",
)  # the last two: gas; space air
CASES = (
    *(
        (site, name, MODELS[(i + j) % len(MODELS)] if name else "")
        for i, site in enumerate(DUCTED)
        for j, name in enumerate((*ARRANGEMENTS, ""))  # the last: the existing system alone
    ),
    ("records", "standalone", "precool-120"),
    ("records", "standalone", "rotor-140"),
)
COUNT = 2
KELVIN = 273.15
WATER = 4186.0  # J/(kg K)
Array = np.ndarray[Any, np.dtype[np.float64]]
BoolArray = np.ndarray[Any, np.dtype[np.bool_]]
Numbers = float | Array


def property_of(name: str, one: str, a: Numbers, two: str, b: Numbers, three: str, c: Numbers) -> Array:
    """HAPropsSI over arrays; a property at three others, each given as its name and values."""
    first, second, third = np.broadcast_arrays(*(np.asarray(value, float) for value in (a, b, c)))
    return np.asarray(HAPropsSI(name, one, first, two, second, three, third), np.float64)


def enthalpy(t: Array, w: Array, p: Array) -> Array:
    return property_of("H", "T", t + KELVIN, "W", np.maximum(w, 1e-7), "P", p)


def dry_bulb(h: Array, w: Array, p: Array) -> Array:
    """By Newton steps on CoolProp's enthalpy: its own inverse fails at some states of hot reactivation air."""
    slope = 1006.0 + 1860.0 * w
    t = (h - 2.501e6 * w) / slope
    for _ in range(12):
        t = t + (h - enthalpy(t, w, p)) / slope
    assert np.all(np.abs(h - enthalpy(t, w, p)) < 1e-3)
    return t


def saturated(t: Array, p: Array) -> Array:
    return property_of("W", "T", t + KELVIN, "R", np.ones_like(t), "P", p)


def entropy(t: Array, w: Array, p: Array) -> Array:
    return property_of("S", "T", t + KELVIN, "W", w, "P", p)


def relative_humidity(t: Array, w: Array, p: Array) -> Array:
    """Vapour pressure over that of saturated air: also above 1, where CoolProp's own stops."""
    there = saturated(t, p)
    ratio = 0.621945
    return (w / (ratio + w)) / (there / (ratio + there))


@functools.cache
def catalog() -> dict[str, dict[str, str]]:
    text = (ROOT / "catalogs" / "general" / "units.csv").read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return {row["model"]: row for row in csv.DictReader(lines)}


@dataclass(frozen=True, eq=False)
class Audit:
    """One CSV, its sample of hours, and the texts beside it."""

    site: dict[str, Any]
    arrangement: str
    model: str
    every: pd.DataFrame
    some: pd.DataFrame

    def at(self, name: str) -> Array:
        return self.some[name].to_numpy()

    def unit(self, name: str) -> Array:
        return self.some[f"{self.model}_{name}"].to_numpy()

    def only(self, rows: BoolArray) -> Audit:
        return Audit(self.site, self.arrangement, self.model, self.every, self.some[rows])

    @property
    def fan_power(self) -> float:
        number, unit = self.site["air_handler"]["fan_power"].split()
        assert unit == "kW"
        assert "fan_position" not in self.site["air_handler"]  # after the coil
        return 1000.0 * float(number)

    @property
    def rotor(self) -> bool:
        return catalog()[self.model]["technology"] == "desiccant"

    @property
    def full(self) -> Array:
        """Unit-hours of power: those run, and what the one that cycles loses."""
        running = self.unit("runtime")
        part = running - np.floor(running)
        return running + float(catalog()[self.model]["cycling loss"]) * part * (1.0 - part)


def sample_of(every: pd.DataFrame, model: str) -> list[int]:
    hours = set(range(0, 8760, 37))
    watched = [
        "outdoor_dry_bulb_C",
        "outdoor_humidity_ratio",
        "space_dry_bulb_C",
        "space_relative_humidity",
        "coil_removal_kg",
        "coil_heat_kWh",
        "coil_given_back_kg",
        "coil_surface_C",
        "unit_removal_kg",
        "stored_moisture_kg",
    ]
    if model:
        watched += [f"{model}_runtime", f"{model}_entering_dry_bulb_C", f"{model}_leaving_dry_bulb_C"]
        ran = np.flatnonzero(every["unit_removal_kg"].to_numpy() > 0.0)
        hours |= {int(hour) for hour in ran[:: max(1, ran.size // 150)]}
    for name in watched:
        values = every[name].to_numpy()
        hours |= {int(values.argmax()), int(values.argmin())}
    return sorted(hours)


@functools.cache
def audit_of(site: str, arrangement: str, model: str) -> Audit:
    text = hourly_text(site, arrangement, model, COUNT)
    headings, *rows = csv.reader(io.StringIO(text))
    assert len(rows) == 8760
    assert headings[-1] == "marks"  # words
    every = pd.DataFrame(np.array([row[1:-1] for row in rows]).astype(float), columns=headings[1:-1])
    written = tomllib.loads((ROOT / "scenarios" / f"{site}.toml").read_text("utf-8"))
    return Audit(written, arrangement, model, every, every.iloc[sample_of(every, model)])


def streams(audit: Audit) -> tuple[Audit, Array, Array, Array]:
    """Hours in which the fan runs: with its share, supply and outdoor flow while it does."""
    here = audit.only(audit.at("fan_runtime") > 0.0)
    share = here.at("fan_runtime")
    return (
        here,
        share,
        here.at("supply_airflow_kg") / share / 3600.0,
        here.at("outdoor_airflow_kg") / share / 3600.0,
    )
