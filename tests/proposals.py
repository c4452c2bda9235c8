"""The invented site of tests/data with named options for a bid."""

from __future__ import annotations

from pathlib import Path

from selector.decide.evaluate import prepare_site
from selector.inputs.site_file import read_site
from selector.physics.fit import FittedUnit
from selector.physics.prepare import Prepared
from tests.sites import prepared_room, write_room

OWN_UNIT = """
[[alternates.units]]
model = "own-120"
technology = "refrigerant-precool"
airflow = "520 cfm"
fan_static = "0.5 inH2O"
rating_dry_bulb = "86 degF"
rating_relative_humidity = "80 %"
removal = "440 pints/day"
power = "1.9 kW"
voltage = "208 V"
phases = 1
current = "11 A"
price = "5200 USD"
service_life = "12 year"
maintenance = "140 USD/year"
sound = "55 dBA"
length = "44 in"
width = "25 in"
height = "27 in"
weight = "205 lb"
minimum_dry_bulb = "45 degF"
maximum_dry_bulb = "105 degF"
cycling_loss = 0.03
"""
TWO = '\n[[alternates]]\nname = "two"\ninstall = ["2 precool-120 standalone"]\n'
ONE = '\n[[alternates]]\nname = "one"\ninstall = ["1 precool-120 standalone"]\n'
THREE_SMALL = '\n[[alternates]]\nname = "three small"\ninstall = ["3 compressor-60 standalone"]\n'
LUMP = """
[[alternates]]
name = "lump"
by = "bidder A"
install = ["2 precool-120 standalone"]
lump_sum = "13000 USD"
exclusions = ["drains", "electrical"]
"""
PARTS = """
[[alternates]]
name = "parts"
by = "bidder B"
install = ["2 precool-120 standalone"]
unit_price = "5000 USD"
installation = "1500 USD"
exclusions = ["drains"]
"""
ALONE = """
[[alternates]]
name = "alone"
by = "bidder C"
install = ["2 precool-120 standalone"]
unit_price = "5000 USD"
"""
OWN = f"""
[[alternates]]
name = "own"
by = "bidder D"
install = ["2 own-120 standalone"]
lump_sum = "12500 USD"
{OWN_UNIT}"""
ALL = (TWO, ONE, THREE_SMALL, LUMP, PARTS, ALONE, OWN)


def fitted() -> tuple[FittedUnit, ...]:
    return prepared_room().fitted


def room_with(
    folder: Path, *alternates: str, limits: str = "", changes: tuple[tuple[str, str], ...] = ()
) -> Prepared:
    """The room with alternates, more limits, and texts replaced."""
    limited = (("max_units = 3", f"max_units = 3\n{limits}"),)
    path = write_room(folder, *limited, *changes, more="".join(alternates))
    return prepare_site(site=read_site(path=path), fitted=fitted())
