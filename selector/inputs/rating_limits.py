"""What no dehumidifier can do: rating rows that physics excludes are refused before anything is fitted to them."""

from __future__ import annotations

import math

import numpy as np

from selector.inputs import outdoor_states as states
from selector.inputs.errors import Faults
from selector.inputs.site import RatingRow

RATING_PRESSURE = 101325.0  # Pa
VAPOUR_GAS_CONSTANT = 461.52  # J/(kg K): IAPWS, R-95 formulation, 461.51805 J/(kg K)
ELECTRIC_MARGIN = 1.05  # rated power over volts times amperes: rounding of nameplates, common practice


def minimum_work(*, dry_bulb: float, relative_humidity: float) -> float:
    """Return the least work that takes vapour out of air as liquid water at the air's own temperature.

    Arguments: dry_bulb [°C]; relative_humidity [0 to 1].
    Returns: R_v T ln(1/φ) [J/kg of water], 0 at saturation.
    Source: reversible isothermal compression of an ideal gas from its partial to its saturation pressure.
    """
    return VAPOUR_GAS_CONSTANT * (dry_bulb + 273.15) * math.log(1.0 / relative_humidity)


def moisture_carried(*, airflow: float, dry_bulb: float, relative_humidity: float) -> float:
    """Return the vapour that an airflow carries at 101.325 kPa.

    Arguments: airflow [m³/s] at the entering state; dry_bulb [°C]; relative_humidity [0 to 1].
    Returns: mass flow of vapour [kg/s].
    """
    humidity_ratio = states.humidity_ratio_of_relative_humidity(
        dry_bulb=np.array([dry_bulb]),
        relative_humidity=np.array([relative_humidity]),
        pressure=np.array([RATING_PRESSURE]),
    )
    volume = states.moist_air_volume(
        dry_bulb=np.array([dry_bulb]), humidity_ratio=humidity_ratio, pressure=np.array([RATING_PRESSURE])
    )
    return float(airflow * humidity_ratio[0] / volume[0])


def impossible_rating(
    *, rating: RatingRow, airflow: float, electric_limit: float, gas_allowed: bool
) -> tuple[tuple[str, str, str], ...]:
    """Find what no machine can do: remove more than the air carries, need less work than a reversible process.

    Arguments: rating; airflow [m³/s] at the entering state; electric_limit [VA], what the nameplate's volts and amperes
    carry; gas_allowed, whether the unit burns gas.
    Returns: for each fault the quantity (removal, power or gas), what was got and what is allowed.
    """
    found = []
    carried = moisture_carried(
        airflow=airflow, dry_bulb=rating.dry_bulb, relative_humidity=rating.relative_humidity
    )
    if rating.removal >= carried:
        found.append(
            (
                "removal",
                f"{rating.removal * 3600:.2f} kg/h",
                f"below {carried * 3600:.2f} kg/h, all the vapour that the unit's airflow carries",
            )
        )
    work = rating.removal * minimum_work(dry_bulb=rating.dry_bulb, relative_humidity=rating.relative_humidity)
    if rating.power + rating.gas < work:
        found.append(
            (
                "power",
                f"{(rating.power + rating.gas) / 1000:.3f} kW for {rating.removal * 3600:.2f} kg/h",
                f"at least {work / 1000:.3f} kW, the least work that thermodynamics allows",
            )
        )
    if rating.power > electric_limit * ELECTRIC_MARGIN:
        found.append(
            (
                "power",
                f"{rating.power / 1000:.3f} kW",
                f"up to {electric_limit / 1000:.3f} kW, what the unit's volts and amperes carry",
            )
        )
    if rating.gas > 0.0 and not gas_allowed:
        found.append(
            (
                "gas",
                f"{rating.gas / 1000:.3f} kW",
                "nothing or 0 for a unit whose reactivation energy is not gas",
            )
        )
    return tuple(found)


def refuse_impossible_rating(
    *,
    rating: RatingRow,
    airflow: float,
    electric_limit: float,
    gas_allowed: bool,
    file: str,
    line: int,
    faults: Faults,
) -> None:
    """Refuse a rating row of a catalogue that `impossible_rating` finds fault with.

    Arguments: rating; airflow [m³/s] at the entering state;
    electric_limit [VA], what the nameplate's volts and amperes carry; gas_allowed, whether the unit burns gas;
    file, line, of the row; faults, takes what is wrong.
    """
    for quantity, got, allowed in impossible_rating(
        rating=rating, airflow=airflow, electric_limit=electric_limit, gas_allowed=gas_allowed
    ):
        faults.add(file=file, where=f"line {line}, {quantity}", got=got, allowed=allowed)
