"""Named options for a bid: what each installs, who proposes it, its own prices, exclusions and unit ratings."""

from __future__ import annotations

import math
from collections.abc import Sequence

from selector.inputs.catalog import MODEL
from selector.inputs.fields import closest
from selector.inputs.install_text import EXAMPLE, read_installs
from selector.inputs.rating_limits import impossible_rating
from selector.inputs.resolve import PLACEHOLDER, Resolver, checked
from selector.inputs.schema_alternates import AlternateTable, AlternateUnitTable
from selector.inputs.site import ARRANGEMENTS, Alternate, Arrangement, Catalog, Install, RatingRow, Unit

# sections of the bill of quantities that a proposal may leave out; what is left of the bill are sums over sections
EXCLUSIONS = (
    "units",
    "ducts",
    "fittings",
    "dampers",
    "filters",
    "supports",
    "electrical",
    "drains",
    "reactivation",
    "controls",
    "permits",
    "commissioning",
)
_NUMBERS = (
    "airflow",
    "rating_dry_bulb",
    "rating_relative_humidity",
    "removal",
    "power",
    "voltage",
    "current",
    "price",
    "sound",
    "length",
    "width",
    "height",
    "weight",
)
_REACTIVATION = {
    "reactivation_airflow": "",
    "reactivation_air": "outdoor or space",
    "reactivation_energy": "electric or gas",
}


def build_alternates(
    *,
    tables: Sequence[AlternateTable] | None,
    resolver: Resolver,
    catalog: Catalog | None,
    arrangements: Sequence[Arrangement],
) -> tuple[Alternate, ...]:
    """Build the named options.

    Args: tables; resolver, of the alternates alone, whose record is kept apart from the site's; catalog, None where it
        was refused; arrangements that the building has room for.
    Returns: the options, money in the site's currency; those with a fault are left out.
    """
    found: list[Alternate] = []
    names: list[str] = []
    for place, table in enumerate(tables or ()):
        where = f"alternates[{place}]"
        if resolver.is_broken(where) and not table.model_fields_set:
            continue
        before = len(resolver.faults)
        alternate = _alternate(table, where, resolver, catalog, arrangements)
        if table.name in names:
            resolver.fault(f"{where}.name", f'"{table.name}" a second time', "a name of its own for each")
        names.append(alternate.name)
        if len(resolver.faults) == before:
            found.append(alternate)
    return tuple(found)


def _alternate(
    table: AlternateTable,
    where: str,
    resolver: Resolver,
    catalog: Catalog | None,
    arrangements: Sequence[Arrangement],
) -> Alternate:
    if table.name is None:
        resolver.missing(f"{where}.name", "a name to call it by")
    known = [unit.model for unit in catalog.units] if catalog is not None else []
    units = tuple(
        unit
        for place, one in enumerate(table.units or ())
        if (unit := _unit(one, f"{where}.units[{place}]", table, known, resolver)) is not None
    )
    own = [one.model for one in table.units or () if one.model is not None]
    for place, model in enumerate(own):
        if model in own[:place]:
            resolver.fault(f"{where}.units[{place}].model", f'"{model}" a second time', "each model once")
    texts = table.install or ()
    if not texts and not resolver.is_broken(f"{where}.install"):
        resolver.fault(
            f"{where}.install",
            "nothing" if table.install is None else "an empty list",
            f'a list of count, model and arrangement, as ["{EXAMPLE}"]',
        )
    installs: tuple[Install, ...] = ()
    if not resolver.is_broken(f"{where}.units"):
        installs = read_installs(
            texts=texts,
            models=None if catalog is None else [*known, *own],
            arrangements=arrangements,
            places=[(resolver.file, f"{where}.install[{place}]") for place in range(len(texts))],
            faults=resolver.faults,
        )
    models = list(dict.fromkeys(part.model for part in installs))
    for place, one in enumerate(table.units or ()):
        named = [words[1] for text in texts if len(words := text.split()) == 3]
        if one.model is not None and texts and len(one.model.split()) == 1 and one.model not in named:
            resolver.fault(
                f"{where}.units[{place}].model", f'"{one.model}"', f"a model that {where}.install names"
            )
    _prices(table, where, models, resolver)
    return Alternate(
        name=table.name or "",
        by=table.by or "",
        install=installs,
        lump_sum=table.lump_sum,
        unit_price=table.unit_price,
        installation=table.installation,
        exclusions=tuple(table.exclusions or ()),
        units=units,
        assumptions=tuple(one for one in resolver.assumptions() if one.key.startswith(f"{where}.")),
    )


def _prices(table: AlternateTable, where: str, models: Sequence[str], resolver: Resolver) -> None:
    """Refuse prices that contradict each other, and exclusions from what is ours."""
    resolver.only_one(where, {"lump_sum": table.lump_sum, "installation": table.installation})
    if table.unit_price is not None and len(models) > 1:
        resolver.fault(
            f"{where}.unit_price",
            f"one price for {len(models)} models",
            f"lump_sum, or a price in {where}.units, where there are several models",
        )
    if table.unit_price is not None and any(one.price is not None for one in table.units or ()):
        resolver.fault(f"{where}.unit_price", f"a price in {where}.units as well", "one of the two")
    priced = table.lump_sum is not None or table.installation is not None
    given = table.exclusions or ()
    if given and not priced and not resolver.is_broken(where):
        resolver.fault(
            f"{where}.exclusions",
            "exclusions without lump_sum or installation",
            "lump_sum or installation, from which something is left out; without them all is priced here",
        )
    for place, name in enumerate(given):
        if name not in EXCLUSIONS:
            resolver.fault(f"{where}.exclusions[{place}]", f'"{name}"', closest(name, EXCLUSIONS))
        elif name in given[:place]:
            resolver.fault(f"{where}.exclusions[{place}]", f'"{name}" a second time', "each section once")
        elif name == "units" and table.lump_sum is None:
            resolver.fault(
                f"{where}.exclusions[{place}]",
                '"units" without lump_sum',
                "a section that installation holds",
            )


def _unit(
    table: AlternateUnitTable, where: str, alternate: AlternateTable, known: Sequence[str], resolver: Resolver
) -> Unit | None:
    """Build a unit of a proposal's own, with one rating row."""
    before = len(resolver.faults)
    if table.model is None:
        resolver.missing(f"{where}.model", "a model")
    elif MODEL.fullmatch(table.model) is None or table.model in ARRANGEMENTS:
        allowed = "letters, digits, hyphens, points and underscores, not the name of an arrangement"
        resolver.fault(f"{where}.model", f'"{table.model}"', allowed)
    elif table.model in known:
        allowed = "a model that the catalogue does not have, as its ratings stand there"
        resolver.fault(f"{where}.model", f'"{table.model}"', allowed)
    if table.technology is None:
        resolver.missing(f"{where}.technology", resolver.allowed("alternates.units.technology"))
    given = {
        name: _number(getattr(table, name), where, name, resolver)
        for name in _NUMBERS
        if name != "price" or alternate.unit_price is None
    }
    price = alternate.unit_price if alternate.unit_price is not None else given["price"]
    resolver.scales["unit_price"] = price
    if table.phases not in (1, 3):
        if table.phases is None:
            resolver.missing(f"{where}.phases", "1 or 3")
        else:
            resolver.fault(f"{where}.phases", f"{table.phases}", "1 or 3")

    def number(name: str) -> float:
        return resolver.number(f"{where}.{name}", getattr(table, name), default=f"alternates.units.{name}")

    lowest, highest = number("minimum_dry_bulb"), number("maximum_dry_bulb")
    if lowest >= highest:
        got = f"{lowest:.1f} degC, not below the maximum of {highest:.1f} degC"
        resolver.fault(f"{where}.minimum_dry_bulb", got, "a minimum below the maximum")
    fan_static, life, upkeep = number("fan_static"), number("service_life"), number("maintenance")
    loss = number("cycling_loss")
    _check_reactivation(table, where, resolver)
    rating = RatingRow(
        given["rating_dry_bulb"],
        given["rating_relative_humidity"],
        given["removal"],
        given["power"],
        table.gas or 0.0,
    )
    if len(resolver.faults) > before or any(resolver.is_broken(f"{where}.{name}") for name in _NUMBERS):
        return None
    carried = given["voltage"] * given["current"] * (math.sqrt(3.0) if table.phases == 3 else 1.0)
    for quantity, got, allowed in impossible_rating(
        rating=rating,
        airflow=given["airflow"],
        electric_limit=carried,
        gas_allowed=table.reactivation_energy == "gas",
    ):
        resolver.fault(f"{where}.{quantity}", got, allowed)
    return Unit(
        model=table.model or "",
        technology=checked(table.technology or ""),
        airflow=given["airflow"],
        fan_static=fan_static,
        voltage=given["voltage"],
        phases=table.phases or 0,
        current=given["current"],
        price=price,
        service_life=life,
        maintenance=upkeep,
        sound=given["sound"],
        length=given["length"],
        width=given["width"],
        height=given["height"],
        weight=given["weight"],
        minimum_dry_bulb=lowest,
        maximum_dry_bulb=highest,
        reactivation_airflow=table.reactivation_airflow or 0.0,
        reactivation_air=checked(table.reactivation_air or "none"),
        reactivation_energy=checked(table.reactivation_energy or "none"),
        cycling_loss=loss,
        ratings=(rating,),
        highest_leaving_dry_bulb=table.highest_leaving_dry_bulb,
    )


def _number(value: float | None, where: str, name: str, resolver: Resolver) -> float:
    """Hand on a figure that every unit needs; it is no assumption of the site's."""
    if value is None:
        words = resolver.allowed(f"alternates.units.{name}")
        if name == "price":
            words += ": of one unit, also where the proposal is a sum, to buy it again"
        resolver.missing(f"{where}.{name}", words)
        return PLACEHOLDER
    return value


def _check_reactivation(table: AlternateUnitTable, where: str, resolver: Resolver) -> None:
    """Refuse reactivation where there is none, and a rotor without it."""
    if table.technology == "desiccant":
        for name, words in _REACTIVATION.items():
            if getattr(table, name) in (None, "none"):
                allowed = words or resolver.allowed(f"alternates.units.{name}")
                resolver.missing(f"{where}.{name}", f"{allowed}, for a desiccant unit")
        if table.reactivation_energy == "gas" and not table.gas:
            resolver.missing(
                f"{where}.gas", f"{resolver.allowed('alternates.units.gas')}, for gas reactivation"
            )
        return
    if table.technology is None:
        return
    for name in _REACTIVATION:
        if getattr(table, name) not in (None, "none"):
            resolver.fault(
                f"{where}.{name}", "a value", f"nothing, as {where}.technology is {table.technology}"
            )
