"""Site files as text, short and long, for tests that change a line; sites, weather and prices here are invented."""

from __future__ import annotations

from pathlib import Path

from selector.inputs.site import Assumption, Site
from selector.inputs.site_file import read_site

ROOT = Path(__file__).parents[2]
WEATHER = ROOT / "scenarios" / "weather" / "tidewater.csv"
CATALOG = ROOT / "catalogs" / "general"

SHORT = f"""\
name = "Hall, invented"
profile = "hall"
catalog = "{CATALOG}"

[weather]
file = "{WEATHER}"

[space]
floor_area = "9000 ft2"
ceiling_height = "18 ft"

[humidity_target]
relative_humidity = "55 %"

[air_handler]
supply_airflow = "9000 cfm"
outdoor_air_fraction = 0.25

[air_handler.cooling_coil]
total_capacity = "25 ton"
"""

LONG = f"""\
name = "Hall, invented"
profile = "hall"
display_units = "IP"
currency = "USD"
catalog = "{CATALOG}"

[weather]
file = "{WEATHER}"
elevation = "12 m"

[space]
floor_area = "9000 ft2"
ceiling_height = "18 ft"
heat_loss = "2200 Btu/(h*degF)"
solar_aperture = "300 ft2"
infiltration = "0.25 1/h"
exhaust_airflow = "1500 cfm"
moisture_buffer = 10
thermal_mass = "30000 Btu/degF"
cooling_setpoint = "75 degF"
heating_setpoint = "69 degF"
unoccupied_cooling_setpoint = "82 degF"
unoccupied_heating_setpoint = "60 degF"
[space.heating]
source = "electric"

[humidity_target]
relative_humidity = "55 %"
hours = "always"
allowed_hours_above = 40

[schedules.assembly]
weekday = [{{ from = 8, to = 18, value = 1.0 }}]

[[gains]]
kind = "people"
count = 220
schedule = "assembly"

[air_handler]
supply_airflow = "9000 cfm"
outdoor_air_fraction = 0.25
schedule = "assembly"
unoccupied_fan = "cycles"
economizer = "none"
fan_power = "5 kW"
fan_position = "after-coil"
external_static_pressure = "1.1 inH2O"
[air_handler.cooling_coil]
kind = "cycling-dx"
total_capacity = "25 ton"
sensible_heat_ratio = 0.72
cop = 3.2
stages = 2
airside_pressure_drop = "0.7 inH2O"
[air_handler.heating]
source = "gas"
efficiency = 0.85

[costs]
electricity = "0.14 USD/kWh"
gas = "1.10 USD/therm"
discount_rate = "5 %"
study_period = "15 year"
[costs.installation.return-side]
fixed = "1800 USD"
per_unit = "950 USD"
duct_length = "20 ft"

[limits]
arrangements = ["return-side", "supply-side", "coil-bypass", "standalone", "outdoor-air"]
max_units = 6
max_per_model = 6
max_sizes = 2
max_arrangements = 1
spare_units = 0
extra_hours_too_warm = 50
first_cost = "60000 USD"
supply_voltage = "208 V"
phases = 3
electrical_current = "120 A"
sound = "62 dBA"

[[existing_units]]
model = "precool-60"
arrangement = "standalone"
count = 1
"""

NO_AIR = SHORT[: SHORT.index("[air_handler]")]


def read(text: str, folder: Path, *, no_defaults: bool = False) -> Site:
    path = folder / "site.toml"
    path.write_text(text, encoding="utf-8")
    return read_site(path=path, no_defaults=no_defaults)


def with_lines(table: str, *lines: str, base: str = SHORT) -> str:
    assert f"[{table}]\n" in base
    return base.replace(f"[{table}]\n", "\n".join([f"[{table}]", *lines]) + "\n", 1)


def record(site: Site, key: str) -> Assumption:
    return next(assumption for assumption in site.assumptions if assumption.key == key)
