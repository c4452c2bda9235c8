"""What is compared: an option is a name, a site as the option changes it, and the units that it installs.

Most options only install units. What changes the building instead (its air handler, its set points, its outdoor air)
is an option with another `Site`, nothing installed, and its own first and yearly cost; `compare` treats both alike.
Money in the site's currency.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from selector.decide.evaluate import prepare_site
from selector.inputs.errors import Faults, InputFaults
from selector.inputs.site import Alternate, Install, Site, SiteOption, Unit
from selector.money.installation import markup_factor
from selector.physics.fit import FittedUnit, fit_unit
from selector.physics.prepare import Prepared

Kind = Literal["alternate", "chosen", "existing", "change"]
CHOSEN, EXISTING = "chosen design", "existing system"


@dataclass(frozen=True, slots=True, eq=False)
class Option:
    """One option, not simulated yet."""

    name: str
    kind: Kind
    site: Site  # as the option changes it; the very site where it only installs units of the catalogue
    install: tuple[Install, ...]  # new units
    by: str = ""  # who proposes it, "" for ourselves
    alternate: Alternate | None = None  # what a proposal brings of its own
    extra_first: float = 0.0  # currency, of what is not units
    extra_maintenance: float = 0.0  # currency a year, of what is not units
    extra_life: float | None = (
        None  # years, after which `extra_first` is spent again; None: never in the study
    )
    change: SiteOption | None = None  # what is no units, as the site file names it


def option_of_alternate(*, site: Site, alternate: Alternate) -> Option:
    """Make an option of a named alternate: its own units join the catalogue, its own prices take their place there.

    Args: site; alternate, of the site.
    Returns: `Option`.
    """
    proposed = alternate.units or alternate.unit_price is not None
    return Option(
        name=alternate.name,
        kind="alternate",
        site=_with_own_units(site, alternate) if proposed else site,
        install=alternate.install,
        by=alternate.by,
        alternate=alternate,
    )


def options_of(*, site: Site) -> tuple[Option, ...]:
    """Make options of what the site names that is no units: the air handler, the space or the outdoor air changed.

    Args: site.
    Returns: `Option` of each, nothing installed.
    """
    return tuple(_option_of_change(site, change) for change in site.options)


def _option_of_change(site: Site, change: SiteOption) -> Option:
    handler = site.air_handler
    assert handler is not None  # the reader refuses such options without one
    return Option(
        name=change.name,
        kind="change",
        site=replace(
            site,
            air_handler=replace(handler, **change.air_handler),
            space=replace(site.space, **change.space),
        ),
        install=(),
        extra_first=change.first_cost,
        extra_maintenance=change.maintenance,
        extra_life=change.life if change.first_cost > 0.0 else None,
        change=change,
    )


def _with_own_units(site: Site, alternate: Alternate) -> Site:
    # a proposed price is what the owner pays; markups that the price book has on units are not added to it
    markups = markup_factor(costs=site.costs, kind="units")
    bought = {part.model for part in alternate.install}

    def priced(unit: Unit) -> Unit:
        if alternate.unit_price is None or unit.model not in bought:
            return unit
        return replace(unit, price=alternate.unit_price / markups)

    own = tuple(replace(unit, price=unit.price / markups) for unit in alternate.units)
    units = (*(priced(unit) for unit in site.catalog.units), *own)
    return replace(site, catalog=replace(site.catalog, units=units))


def prepare_options(*, prepared: Prepared, options: tuple[Option, ...]) -> tuple[Prepared, ...]:
    """Prepare each option's site; those that share the base site share its tables.

    Args: prepared, of the base site; options.
    Returns: `Prepared` for each option.
    Raises: InputFaults where units that an option brings cannot be fitted, with the faults of all of them.
    """
    faults = Faults()
    known = {one.unit.model: one for one in prepared.fitted}
    fitted: list[tuple[FittedUnit, ...]] = []
    for option in options:
        units: list[FittedUnit] = []
        for unit in option.site.catalog.units:
            if unit.model in known:
                units.append(replace(known[unit.model], unit=unit))
                continue
            try:
                units.append(fit_unit(unit=unit, file=option.site.file))
            except InputFaults as error:
                faults.extend(error.faults)
        fitted.append(tuple(units))
    faults.raise_if_any()
    return tuple(
        prepared if option.site is prepared.site else prepare_site(site=option.site, fitted=units)
        for option, units in zip(options, fitted, strict=True)
    )
