# ruff: noqa: E501 - the tables keep one unit on a line
"""Writes the general catalogue: invented units, computed from chosen parameters, rounded, with a little scatter.

Run as `python tests/make_catalog.py [FOLDER]`; the default folder is `catalogs/general`. The same input gives the
same files, byte for byte.
"""

from __future__ import annotations

import math
import random
import sys
from pathlib import Path

from scipy.optimize import brentq

from selector.inputs.site import REACTIVATION_AIR, REACTIVATION_ENERGY, FloatArray, Technology, Unit
from selector.physics.class_curves import (
    BURNER_EFFICIENCY,
    CLASS_CURVES,
    RATING_PRESSURE,
    evaporator_row,
    rotor_row,
)
from selector.physics.moist_air import humidity_ratio_of_relative_humidity, volume
from selector.physics.unit import performance

CFM = 0.3048**3 / 60.0  # m³/s
INCH_OF_WATER = 249.08891  # Pa
POUND = 0.45359237  # kg
BTU = 1055.05585262  # J
DAY = 86400.0  # s
POWER_FACTOR = 0.88
SCATTER = 0.015  # greatest, of each value; "invented" noise of a test stand

# dry bulb [°F], relative humidity [%]
ROWS = (
    (80, 60), (80, 40), (73, 60), (70, 35), (65, 60), (60, 40), (55, 95), (50, 95), (95, 60), (90, 80), (105, 30),
)  # fmt: skip
COLD_ROWS = ((45, 60),)
DRY_ROWS = ((45, 60), (70, 20))


# One line a unit: nominal [kg/day] at 80 °F and 60 %; moisture taken from that air [g/kg]; the shape of its curve;
# capacity over power at the reference, or rise of the reactivation air [K]; then the plain facts of units.csv.
COMPRESSOR = """
nominal taken  cop bypass surface entering frost volts phases price life upkeep sound length width height weight static low high loss
     30   4.6 3.10   0.17   0.037   -0.005  0.08   120      1  1690    9     70    49     22    15     17     62   0.30  50  100 0.05
     60   4.7 3.35   0.16   0.038   -0.006  0.06   120      1  2540   10     85    52     28    17     19     96   0.45  50  105 0.04
     90   5.0 3.20   0.14   0.035   -0.007  0.08   208      1  4070   10    110    55     32    20     22    134   0.40  55  100 0.04
    120   4.8 3.45   0.15   0.037   -0.006  0.06   208      1  4690   11    120    56     36    22     24    165   0.50  50  105 0.04
    160   5.1 3.40   0.13   0.036   -0.005  0.07   208      1  6980   11    150    58     40    24     26    214   0.50  50  105 0.03
    220   4.9 3.50   0.14   0.038   -0.007  0.05   208      3  8390   12    180    60     46    28     28    285   0.55  50  105 0.03
    300   5.2 3.30   0.12   0.035   -0.006  0.06   208      3 12650   12    230    62     54    30     32    372   0.50  55  105 0.03
    450   5.0 3.55   0.13   0.037   -0.006  0.05   480      3 16700   14    310    65     66    36     36    540   0.60  50  105 0.03
"""
PRECOOL = """
nominal taken  cop bypass surface entering frost precool volts phases price life upkeep sound length width height weight static low high loss
     60   5.2 3.80   0.12   0.035   -0.006  0.05    0.45   120      1  3420   11     90    51     33    18     21    118   0.50  45  105 0.04
     90   4.9 3.75   0.13   0.037   -0.006  0.06    0.48   208      1  5380   11    115    53     38    21     23    158   0.45  50  105 0.03
    120   5.1 3.95   0.12   0.036   -0.007  0.05    0.44   208      1  6150   12    130    54     42    24     26    196   0.60  45  105 0.03
    150   5.3 3.85   0.11   0.034   -0.005  0.06    0.46   208      1  8720   12    150    57     46    26     28    240   0.80  50  105 0.03
    200   5.0 4.05   0.12   0.036   -0.006  0.05    0.50   208      3 10450   12    180    58     52    30     30    308   0.55  45  105 0.03
    260   5.2 3.90   0.11   0.037   -0.006  0.06    0.43   208      3 15100   13    220    60     60    32     33    392   1.00  50  105 0.02
    340   5.1 4.10   0.12   0.035   -0.007  0.05    0.47   480      3 17800   14    260    62     68    36     36    480   0.60  45  105 0.02
    480   5.3 3.95   0.11   0.036   -0.006  0.05    0.45   480      3 27300   15    340    64     80    42     40    690   1.20  50  105 0.02
"""
ROTOR = """
nominal taken rise first volts phases price life upkeep sound length width height weight static low high loss     air   energy ratio
     40   6.6   92 0.070   208      1  6850   14    240    52     30    24     28    128   0.50  20  105 0.03   space electric  0.34
     60   6.9   98 0.060   208      1  8420   15    280    54     34    26     31    164   0.60  20  105 0.03 outdoor electric  0.32
     90   6.3   90 0.065   208      3 12700   15    340    55     40    28     34    222   0.60  20  105 0.03 outdoor electric  0.33
    140   6.8   95 0.055   208      3 17350   16    420    58     46    32     38    306   1.00  20  110 0.03   space electric  0.34
    180   6.5   94 0.060   208      1 24900   16    560    60     52    36     42    410   1.00  20  110 0.04 outdoor      gas  0.33
    250   7.0  100 0.050   208      3 29800   17    640    61     58    40     46    520   1.20  10  110 0.04 outdoor      gas  0.33
    350   6.7   96 0.055   480      3 42400   18    780    63     66    46     52    690   1.20  10  110 0.04 outdoor      gas  0.34
    500   7.1  102 0.050   480      3 54600   18    960    66     78    54     60    980   1.50  10  110 0.04 outdoor      gas  0.33
"""

# name and technology; columns of the table that set the curve, and what the class curve calls them
FAMILIES: tuple[tuple[str, Technology, str], ...] = (
    ("compressor", "refrigerant", COMPRESSOR),
    ("precool", "refrigerant-precool", PRECOOL),
    ("rotor", "desiccant", ROTOR),
)
SHAPE = {
    "bypass": "bypass_factor",
    "surface": "capacity_per_surface",
    "entering": "capacity_per_entering",
    "frost": "frost_loss",
    "precool": "precool",
    "first": "first_effectiveness",
}

UNITS_HEAD = """\
# invented: every unit, curve and price in this file; not for a bid
# currency: USD
"""
RATINGS_HEAD = """\
# invented: computed from chosen parameters, rounded, with a scatter of at most 1.5 %
# at 101.325 kPa; airflow as in units.csv, at the entering state
# reactivation air at the row's own entering state where it comes from the space, at 80 degF, 60 % where from outdoors
# a unit runs inside the smallest box of dry bulb and vapour pressure that holds its rows, within its entering limits
"""


def _celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


def _ratio(dry_bulb: float, relative_humidity: float) -> float:
    return float(humidity_ratio_of_relative_humidity(dry_bulb, relative_humidity, RATING_PRESSURE))


def _run(row: FloatArray, unit: Unit, fahrenheit: float, percent: float) -> tuple[float, float, float]:
    """Removal [kg/s], power [W] and gas [W] on one row's entering air."""
    dry_bulb, ratio = _celsius(fahrenheit), _ratio(_celsius(fahrenheit), percent / 100.0)
    rating = (_celsius(80.0), _ratio(_celsius(80.0), 0.60))
    hot = rating if unit.reactivation_air == "outdoor" else (dry_bulb, ratio)
    _, _, removal, power, gas, *_ = performance(row, 1.0, dry_bulb, ratio, RATING_PRESSURE, *hot, *hot)
    return removal, power, gas


def _lines(table: str) -> list[dict[str, str]]:
    names, *lines = [line.split() for line in table.strip().splitlines()]
    return [dict(zip(names, line, strict=True)) for line in lines]


def _plain_unit(name: str, technology: Technology, chosen: dict[str, str]) -> Unit:
    removal = int(chosen["nominal"]) / DAY
    rating = volume(_celsius(80.0), _ratio(_celsius(80.0), 0.60), RATING_PRESSURE)
    airflow = round(removal / (float(chosen["taken"]) / 1000.0) * rating / CFM / 5.0) * 5.0
    return Unit(
        model=f"{name}-{chosen['nominal']}",
        technology=technology,
        airflow=airflow * CFM,
        fan_static=float(chosen["static"]) * INCH_OF_WATER,
        voltage=float(chosen["volts"]),
        phases=int(chosen["phases"]),
        current=0.0,
        price=float(chosen["price"]),
        service_life=float(chosen["life"]),
        maintenance=float(chosen["upkeep"]),
        sound=float(chosen["sound"]),
        length=0.0,
        width=0.0,
        height=0.0,
        weight=0.0,
        minimum_dry_bulb=_celsius(float(chosen["low"])),
        maximum_dry_bulb=_celsius(float(chosen["high"])),
        reactivation_airflow=round(airflow * float(chosen.get("ratio", 0)) / 5.0) * 5.0 * CFM,
        reactivation_air=next(one for one in REACTIVATION_AIR if one == chosen.get("air", "none")),
        reactivation_energy=next(one for one in REACTIVATION_ENERGY if one == chosen.get("energy", "none")),
        cycling_loss=float(chosen["loss"]),
        ratings=(),
    )


def _true_row(unit: Unit, chosen: dict[str, str]) -> FloatArray:
    """Parameters with which the unit removes its nominal mass at 80 °F and 60 %."""
    shape = dict(CLASS_CURVES[unit.technology].central)
    shape |= {SHAPE[column]: float(chosen[column]) for column in SHAPE if column in chosen}
    target = int(chosen["nominal"]) / DAY

    if unit.technology == "desiccant":
        moved = unit.airflow + unit.reactivation_airflow
        flow = unit.reactivation_airflow / volume(
            _celsius(80.0), _ratio(_celsius(80.0), 0.6), RATING_PRESSURE
        )
        heat = float(chosen["rise"]) * 1030.0 * flow
        fans = 950.0 * moved
        burner = unit.reactivation_energy == "gas"
        electricity, gas = (fans, heat / BURNER_EFFICIENCY) if burner else (fans + heat, 0.0)

        def rotor_excess(effectiveness: float) -> float:
            shape["second_effectiveness"] = effectiveness
            row = rotor_row(unit=unit, electricity=electricity, gas=gas, shape=shape)
            return _run(row, unit, 80, 60)[0] - target

        shape["second_effectiveness"] = float(brentq(rotor_excess, 0.05, 0.9, xtol=1e-10))
        return rotor_row(unit=unit, electricity=electricity, gas=gas, shape=shape)

    ratio = float(chosen["cop"])

    def coil_excess(capacity: float) -> float:
        row = evaporator_row(unit=unit, capacity=capacity, power=capacity / ratio, shape=shape)
        return _run(row, unit, 80, 60)[0] - target

    guess = target * 2.5e6
    capacity = float(brentq(coil_excess, guess, 6.0 * guess, xtol=1e-6))
    return evaporator_row(unit=unit, capacity=capacity, power=capacity / ratio, shape=shape)


def _rating_lines(unit: Unit, row: FloatArray) -> tuple[list[str], float]:
    """Lines of ratings.csv of one unit, and its greatest power [W]."""
    noise = random.Random(unit.model)
    cold = COLD_ROWS if unit.minimum_dry_bulb <= _celsius(45.0) else ()
    extra = DRY_ROWS if unit.technology == "desiccant" else cold
    lines = []
    most = 0.0
    for fahrenheit, percent in ROWS + extra:
        removal, power, gas = (
            value * (1.0 + noise.uniform(-SCATTER, SCATTER)) for value in _run(row, unit, fahrenheit, percent)
        )
        most = max(most, power)
        lines.append(
            f"{unit.model},{fahrenheit},{percent},{_figures(removal / POUND * 3600.0, 3)},"
            f"{_figures(power / 1000.0, 3)},{_figures(gas * 3.6 / BTU, 3) if gas else 0}"
        )
    return lines, most


def _unit_line(unit: Unit, chosen: dict[str, str], most: float) -> str:
    """Line of units.csv."""
    current = math.ceil(most / (unit.voltage * math.sqrt(unit.phases) * POWER_FACTOR) * 10.0) / 10.0
    fields = (
        unit.model, unit.technology, f"{unit.airflow / CFM:.0f}", chosen["static"], chosen["volts"],
        chosen["phases"], f"{current:.1f}", chosen["price"], chosen["life"], chosen["upkeep"], chosen["sound"],
        chosen["length"], chosen["width"], chosen["height"], chosen["weight"], chosen["low"], chosen["high"],
        f"{unit.reactivation_airflow / CFM:.0f}", unit.reactivation_air, unit.reactivation_energy, chosen["loss"],
    )  # fmt: skip
    return ",".join(fields)


def _figures(value: float, digits: int) -> str:
    """Return the value rounded to a number of significant digits, plain."""
    places = max(0, digits - 1 - math.floor(math.log10(value)))
    return f"{value:.{places}f}"


def main(folder: Path) -> None:
    """Write units.csv and ratings.csv."""
    units = [
        "model,technology,airflow [cfm],fan static [inH2O],voltage [V],phases,current [A],price [USD],"
        "service life [year],maintenance [USD/year],sound [dBA],length [in],width [in],height [in],weight [lb],"
        "minimum dry bulb [degF],maximum dry bulb [degF],reactivation airflow [cfm],reactivation air,"
        "reactivation energy,cycling loss"
    ]
    ratings = ["model,dry bulb [degF],relative humidity [%],removal [lb/h],power [kW],gas [MBH]"]
    for name, technology, table in FAMILIES:
        for chosen in _lines(table):
            unit = _plain_unit(name, technology, chosen)
            lines, most = _rating_lines(unit, _true_row(unit, chosen))
            ratings += lines
            units.append(_unit_line(unit, chosen, most))
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "units.csv").write_text(UNITS_HEAD + "\n".join(units) + "\n", encoding="utf-8")
    (folder / "ratings.csv").write_text(RATINGS_HEAD + "\n".join(ratings) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent.parent / "catalogs" / "general")
