"""Brings proposals to one scope and their units to one entering state.

Scope: sections that a proposal leaves out are added from our own bill of quantities for the same units, with their
labour and markups; where it prices units alone, all of our installation is added. Ratings: every unit is run by its
curve on the same two entering states, the trade's standard condition and the space at its limit in the site's
dew-point design hour; a unit known from one rating only runs on the curve of its class.
Units: money in the site's currency, temperatures °C, relative humidity 0 to 1, pressure Pa, rates kg/s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from selector.decide.evaluate import CostResult
from selector.decide.limits import BrokenLimit, broken_by_unit
from selector.decide.options import Option
from selector.inputs.site import RatingRow
from selector.money.first_cost import FirstCost, unit_of
from selector.money.installation import owner_price
from selector.money.quantities import SECTIONS, BillLine, BillOfQuantities
from selector.money.scope import by_price_book, section_cost
from selector.physics.class_curves import RATING_DRY_BULB, RATING_PRESSURE, RATING_RELATIVE_HUMIDITY
from selector.physics.fit import FittedUnit
from selector.physics.loads import DesignHour
from selector.physics.moist_air import (
    humidity_ratio_of_dew_point,
    relative_humidity,
)
from selector.physics.rating import Rating, rate

Basis = Literal["our own prices", "lump sum", "units and installation", "units alone"]
REST = "installation"  # all of our bill but the units


@dataclass(frozen=True, slots=True)
class Added:
    """What was added to a proposal's price to level it."""

    section: str  # of the bill of quantities, or REST
    amount: float | None  # currency, labour and markups included; None where we have no price for it


@dataclass(frozen=True, slots=True)
class LevelledPrice:
    """A proposal's price, and what brings it to the scope of all others."""

    basis: Basis
    offered: float | None  # currency; None where all is priced by ourselves
    added: tuple[Added, ...]
    total: float  # currency, the first cost that is compared


@dataclass(frozen=True, slots=True)
class EnteringAir:
    """One entering state that all units are rated at."""

    name: Literal["standard condition", "space at its limit"]
    dry_bulb: float  # °C
    relative_humidity: float
    pressure: float  # Pa
    outdoor_dry_bulb: float  # °C, for reactivation air from outdoors
    outdoor_relative_humidity: float
    percent: float | None  # of the dew-point design day, None for the standard condition
    hour: int | None  # of the year that the design hour stands for


@dataclass(frozen=True, slots=True)
class LevelledRating:
    """One model of an option on the same entering air as all others."""

    model: str
    count: int
    own: bool  # the proposal's own rating, not the catalogue's
    offered: RatingRow  # as rated, the row nearest to the standard condition where there are several
    at: tuple[Rating, ...]  # one for each `EnteringAir`


@dataclass(frozen=True, slots=True)
class Misfit:
    """A unit that the site cannot take."""

    model: str
    broken: tuple[BrokenLimit, ...]  # voltage, phases, sound, weight, size


STANDARD = EnteringAir(
    "standard condition",
    RATING_DRY_BULB,
    RATING_RELATIVE_HUMIDITY,
    RATING_PRESSURE,
    RATING_DRY_BULB,
    RATING_RELATIVE_HUMIDITY,
    None,
    None,
)


def level_price(*, option: Option, costs: CostResult) -> LevelledPrice:
    """Level what an option costs before the first hour.

    Args: option; costs, of its units at the prices of its site and at our own installation.
    Returns: `LevelledPrice`.
    """
    alternate = option.alternate
    ours = costs.lines
    if alternate is None or (
        alternate.lump_sum is None
        and alternate.installation is None
        and alternate.unit_price is None
        and not alternate.units
    ):
        return LevelledPrice("our own prices", None, (), ours.total + option.extra_first)
    if alternate.lump_sum is None and alternate.installation is None:
        return LevelledPrice("units alone", ours.units, (Added(REST, ours.installation),), ours.total)
    added = tuple(Added(section, _section(option, section)) for section in alternate.exclusions)
    if alternate.lump_sum is not None:
        basis: Basis = "lump sum"
        offered = alternate.lump_sum
    else:
        assert alternate.installation is not None  # one of the two
        basis, offered = "units and installation", ours.units + alternate.installation
    total = offered + sum(one.amount for one in added if one.amount is not None)
    return LevelledPrice(basis, offered, added, total)


def _section(option: Option, section: str) -> float | None:
    """Our own price of a section; None where it is within a lump sum and there is no price book to take it from."""
    site = by_price_book(site=option.site)
    named = next(one for one in SECTIONS if one == section)
    if named == "units":
        units = ((unit_of(site=option.site, model=part.model), part.count) for part in option.install)
        return sum(count * owner_price(costs=option.site.costs, unit=unit) for unit, count in units)
    if site is None:
        return None
    return section_cost(site=site, install=option.install, section=named)


def lines_of(*, price: LevelledPrice, ours: FirstCost) -> FirstCost:
    """The first cost of a levelled option in a few lines.

    Args: price; ours, lines at the prices of the option's site and at our own installation.
    Returns: `FirstCost` [currency]; of a proposal with a price of its own for what is not units, without lines, and
        with units and installation not told apart under a lump sum.
    """
    if price.basis in ("our own prices", "units alone"):
        beside = price.total - ours.total  # of what is not units
        return FirstCost(ours.lines, ours.units, ours.installation + beside, price.total)
    if price.basis == "lump sum":
        return FirstCost((), float("nan"), float("nan"), price.total)
    return FirstCost((), ours.units, price.total - ours.units, price.total)


def bill_of(*, option: Option, price: LevelledPrice, ours: CostResult) -> BillOfQuantities:
    """The bill of a levelled option: what is offered, and each section that was added.

    Args: option; price; ours, costs at the prices of the option's site and at our own installation.
    Returns: `BillOfQuantities`; our own where all, or all but the units, is priced by ourselves.
    """
    bill = ours.quantities
    who = f"as offered by {option.by}" if option.by else "as offered"
    lump, units = "lump sums", ours.lines.units
    if price.offered is None or price.basis == "units alone":
        if option.extra_first == 0.0:
            return bill
        amounts = [(lump, option.name, option.extra_first)]
    elif price.basis == "units and installation":
        amounts = [
            ("units", f"units, {who}", units),
            (lump, f"installation, {who}", price.offered - units),
        ]
    else:
        amounts = [(lump, f"the whole, {who}", price.offered)]
    if price.basis != "units alone":
        amounts += [
            (one.section, f"{one.section}, added to level", one.amount)
            for one in price.added
            if one.amount is not None
        ]
    lines = tuple(
        BillLine(
            section=next(one for one in SECTIONS if one == section),
            what=what,
            arrangement=None,
            quantity=1.0,
            unit="each",
            rate=amount,
            amount=amount,
            origin="price book" if what.endswith("to level") and section != "units" else "site file",
            kind="units" if section == "units" else "lump sums",
        )
        for section, what, amount in amounts
    )
    if price.offered is None:
        lines = (*bill.lines, *lines)
    units = sum(line.amount for line in lines if line.kind == "units")
    booked = any(line.origin == "price book" for line in lines)
    return replace(
        bill,
        lines=lines,
        price_book=bill.price_book if booked else "",
        units=units,
        installation=price.total - units,
        total=price.total,
    )


def design_air(*, hour: DesignHour, pressure: float) -> EnteringAir:
    """The space at its limit in the dew-point design hour, which all units are rated at.

    Args: hour, of the site's loads; pressure [Pa].
    Returns: `EnteringAir`.
    """
    outdoor = float(humidity_ratio_of_dew_point(hour.outdoor_dew_point, pressure))
    return EnteringAir(
        name="space at its limit",
        dry_bulb=hour.held_dry_bulb,
        relative_humidity=min(
            1.0, float(relative_humidity(hour.held_dry_bulb, hour.held_humidity_ratio, pressure))
        ),
        pressure=pressure,
        outdoor_dry_bulb=hour.outdoor_dry_bulb,
        outdoor_relative_humidity=min(
            1.0, float(relative_humidity(hour.outdoor_dry_bulb, outdoor, pressure))
        ),
        percent=hour.percent,
        hour=hour.hour,
    )


def level_ratings(
    *, option: Option, fitted: Sequence[FittedUnit], air: Sequence[EnteringAir]
) -> tuple[LevelledRating, ...]:
    """Rate every model of an option on the same entering air.

    Args: option; fitted, the units of its site; air, the entering states.
    Returns: one `LevelledRating` for each model, in the order of its install.
    """
    of_model = {one.unit.model: one for one in fitted}
    own = {unit.model for unit in option.alternate.units} if option.alternate is not None else set()
    found = []
    for model in dict.fromkeys(part.model for part in option.install):
        one = of_model[model]
        found.append(
            LevelledRating(
                model=model,
                count=sum(part.count for part in option.install if part.model == model),
                own=model in own,
                offered=min(one.unit.ratings, key=_from_standard),
                at=tuple(
                    rate(
                        fitted=one,
                        dry_bulb=state.dry_bulb,
                        relative_humidity=state.relative_humidity,
                        pressure=state.pressure,
                        outdoor_dry_bulb=state.outdoor_dry_bulb,
                        outdoor_relative_humidity=state.outdoor_relative_humidity,
                    )
                    for state in air
                ),
            )
        )
    return tuple(found)


def _from_standard(row: RatingRow) -> float:
    """Distance of a rating from the standard condition, 10 K counted as 20 points of relative humidity."""
    warmer = (row.dry_bulb - RATING_DRY_BULB) / 10.0
    moister = (row.relative_humidity - RATING_RELATIVE_HUMIDITY) / 0.2
    return warmer**2 + moister**2


def misfits(*, option: Option) -> tuple[Misfit, ...]:
    """Units of an option that the site cannot take.

    Args: option.
    Returns: one `Misfit` for each such model.
    """
    found = []
    for model in dict.fromkeys(part.model for part in option.install):
        broken = broken_by_unit(site=option.site, unit=unit_of(site=option.site, model=model))
        if broken:
            found.append(Misfit(model, broken))
    return tuple(found)
