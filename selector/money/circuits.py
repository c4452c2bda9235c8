"""The electrical circuit of one unit: a first size of its breaker, by a stated rule.

The rule sizes nothing for good. The nameplate's own minimum circuit ampacity and largest over-current protection
govern where it gives them, and a licensed electrician verifies the circuit to the local code.
Section numbers, ratings and voltages of NFPA 70, IEC 60898-1, IEC 60947-2 and IEC 60038 are values from memory; none
was at hand in print.
Units: A, V.
"""

from __future__ import annotations

from dataclasses import dataclass

CONTINUOUS = 1.25  # NFPA 70 (2023), 210.20(A): no smaller than 125 % of a continuous load; from memory
# standard ratings, NFPA 70 (2023), table 240.6(A), from 15 A; values from memory
NORTH_AMERICAN = (
    15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450, 500,
    600,
)  # fmt: skip
# preferred ratings, IEC 60898-1, to 125 A; above, frame sizes of IEC 60947-2 in common use; values from memory
INTERNATIONAL = (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630)
# IEC 60038 and what it replaced; values from memory
INTERNATIONAL_VOLTAGES = (220.0, 230.0, 380.0, 400.0, 415.0, 690.0)
ONE_POLE_VOLTAGE = (
    127.0  # V, up to which a single-phase circuit of a North American system has one live conductor
)


@dataclass(frozen=True, slots=True)
class Circuit:
    """A circuit of its own for one unit, to be verified by a licensed electrician."""

    voltage: float  # V
    phases: int
    poles: int  # live conductors that the breaker opens
    current: float  # A, of the nameplate
    ampacity: float  # A, that the conductors have to carry
    breaker: int | None  # A; None: larger than the largest rating listed
    series: str  # the ratings that it was taken from


def circuit_for(*, voltage: float, phases: int, current: float) -> Circuit:
    """First size of a unit's circuit.

    Args: voltage [V]; phases, number 1 or 3; current [A], of the nameplate.
    Returns: `Circuit` [A]: the next standard rating at or above 125 % of the nameplate's current, of the International
        series at its voltages, else of the North American one.
    Raises: ValueError where the current is negative.
    Source: NFPA 70 (2023), 210.20(A) and table 240.6(A); IEC 60898-1: values from memory. Taking the nameplate's
        current as continuous load is common practice, no source.
    """
    if current < 0.0:
        raise ValueError(f"current of a unit is {current:g} A; it may not be negative")
    international = voltage in INTERNATIONAL_VOLTAGES
    ampacity = CONTINUOUS * current
    ratings = INTERNATIONAL if international else NORTH_AMERICAN
    breaker = next((rating for rating in ratings if rating >= ampacity - 1e-9), None)
    one_pole = international or voltage <= ONE_POLE_VOLTAGE
    poles = 3 if phases == 3 else 1 if one_pole else 2
    return Circuit(
        voltage=voltage,
        phases=phases,
        poles=poles,
        current=current,
        ampacity=ampacity,
        breaker=breaker,
        series="IEC 60898-1" if international else "NFPA 70, table 240.6(A)",
    )
