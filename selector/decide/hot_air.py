"""Hours in which a refrigerant unit blew out air hotter than its circuit is likely to bear.

The machine's model has no high-pressure switch. With little airflow, or on warm and moist air, it goes on by its laws
to leaving air that no condenser at ordinary pressures could heat: such hours are counted and said, and no design is
refused for them, since only the maker knows where the switch trips.
Units: dry bulb °C.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from selector.decide.states_seen import states_seen
from selector.inputs.defaults import catalog_default
from selector.inputs.site import FloatArray, Site, Unit
from selector.money.first_cost import unit_of
from selector.physics.arrangements import LEAVING_T
from selector.physics.hourly import HourlyYear, UnitHours


@dataclass(frozen=True, slots=True)
class HotAir:
    """One model in one arrangement whose leaving air was hotter than its highest."""

    model: str
    arrangement: str
    hours: int  # a year in which its leaving air was hotter than `highest`
    running_hours: int  # a year in which it ran at all
    hottest: float  # °C, leaving air of the worst hour
    highest: float  # °C
    stated: bool  # the catalogue says the highest; else common practice


def highest_leaving(*, unit: Unit) -> float:
    """Highest leaving dry bulb of a unit.

    Args: unit.
    Returns: as the catalogue says, else the default of `defaults.toml` [°C]; infinite for a desiccant unit, which has
        no refrigerant.
    """
    if unit.technology == "desiccant":
        return np.inf
    if unit.highest_leaving_dry_bulb is not None:
        return unit.highest_leaving_dry_bulb
    return float(catalog_default(column="highest_leaving_dry_bulb").value)


def hot_air(*, site: Site, year: HourlyYear) -> tuple[HotAir, ...]:
    """Count the hours of each group of units with leaving air above its highest.

    Args: site, with the catalogue; year.
    Returns: the groups that had such an hour, in lead order.
    """
    found = []
    for group in year.groups:
        unit = unit_of(site=site, model=group.model)
        highest = highest_leaving(unit=unit)
        hottest = _hottest(group)
        hot = hottest > highest
        if hot.any():
            found.append(
                HotAir(
                    model=group.model,
                    arrangement=group.arrangement,
                    hours=int(hot.sum()),
                    running_hours=int(np.isfinite(hottest).sum()),
                    hottest=float(hottest.max()),
                    highest=highest,
                    stated=unit.highest_leaving_dry_bulb is not None,
                )
            )
    return tuple(found)


def _hottest(group: UnitHours) -> FloatArray:
    """Hottest leaving air of each hour (8760,) [°C], minus infinity where no unit ran."""
    hottest = np.full(group.running.size, -np.inf)
    for offset, ran in states_seen(group=group):
        leaving = group.cell[:, offset + LEAVING_T]
        hottest = np.where(ran, np.maximum(hottest, leaving), hottest)
    return hottest
