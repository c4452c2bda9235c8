"""A utility's tariff as the engine sees it: checked, complete and in SI.

Units: energy J, power W, prices in currency/J, demand in currency/W and month, money in the site's currency. Months
are those of the calendar; the power of an hour is its mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from selector.inputs.site import BoolArray


@dataclass(frozen=True, slots=True)
class Block:
    """Energy of a month up to a limit, from where the block before it ends."""

    up_to: float  # J a month; infinite for the last
    price: float  # currency/J


@dataclass(frozen=True, slots=True, eq=False)
class EnergyPeriod:
    """Hours with a price of their own; its blocks count the month's energy within these hours."""

    name: str
    hours: BoolArray  # (8760,) every hour of the year is in exactly one period
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, eq=False)
class DemandCharge:
    """A charge on the month's highest hour within a window."""

    name: str
    hours: BoolArray  # (8760,) the window: hours of the months in which it is charged
    months: BoolArray  # (12,) in which it is charged
    price: float  # currency/W of the billed demand of a month
    ratchet: float  # share of the highest demand billed in the eleven months before that is billed at least
    ratchet_months: BoolArray  # (12,) months whose demand the ratchet looks back on
    minimum: float  # W billed at least


@dataclass(frozen=True, slots=True)
class ElectricityTariff:
    """What the electricity bill is made of."""

    energy: tuple[EnergyPeriod, ...]
    demand: tuple[DemandCharge, ...]
    fixed: float  # currency a month
    tax: float  # share added to all of it


@dataclass(frozen=True, slots=True)
class GasTariff:
    """What the gas bill is made of."""

    blocks: tuple[Block, ...]
    fixed: float  # currency a month
    tax: float  # share added to all of it


@dataclass(frozen=True, slots=True)
class Tariff:
    """Both bills; a fuel with one flat price is a single period or block without anything else."""

    electricity: ElectricityTariff
    gas: GasTariff
