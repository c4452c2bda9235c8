"""The keys of [[alternates]]: named options for a bid, and what a proposal of another brings of its own."""

from __future__ import annotations

from typing import Annotated

from selector.inputs.fields import Number, Quantity, Table, Text, Whole, Word
from selector.inputs.site import REACTIVATION_AIR, REACTIVATION_ENERGY, TECHNOLOGIES

Money = Annotated[float, Quantity("money", at_least=0.0)]
Entering = Annotated[float, Quantity("temperature", at_least="-50 degC", at_most="80 degC")]
Length = Annotated[float, Quantity("length", above="0 m", at_most="20 m")]


class AlternateUnitTable(Table):
    """[[alternates.units]]: a unit that the catalogue does not have, rated at one entering state."""

    model: Annotated[str, Text("a model")] | None = None
    technology: Annotated[str, Word(TECHNOLOGIES)] | None = None
    airflow: Annotated[float, Quantity("airflow", above=0.0)] | None = None
    fan_static: Annotated[float, Quantity("pressure", at_least=0.0, at_most="2000 Pa")] | None = None
    rating_dry_bulb: Entering | None = None
    rating_relative_humidity: (
        Annotated[float, Quantity("relative_humidity", above=0.0, at_most="100 %")] | None
    ) = None
    removal: Annotated[float, Quantity("moisture_rate", above=0.0)] | None = None
    power: Annotated[float, Quantity("electric_power", above=0.0)] | None = None
    gas: Annotated[float, Quantity("power", at_least=0.0)] | None = None
    voltage: Annotated[float, Quantity("voltage", above=0.0)] | None = None
    phases: Annotated[int, Whole(1, 3)] | None = None
    current: Annotated[float, Quantity("current", above=0.0)] | None = None
    price: Money | None = None
    service_life: Annotated[float, Quantity("years", at_least="1 year", at_most="60 year")] | None = None
    maintenance: Annotated[float, Quantity("money_per_year", at_least=0.0)] | None = None
    sound: Annotated[float, Quantity("sound", above=0.0, at_most="140 dBA")] | None = None
    length: Length | None = None
    width: Length | None = None
    height: Length | None = None
    weight: Annotated[float, Quantity("mass", above=0.0)] | None = None
    minimum_dry_bulb: Entering | None = None
    maximum_dry_bulb: Entering | None = None
    highest_leaving_dry_bulb: (
        Annotated[float, Quantity("temperature", at_least="20 degC", at_most="120 degC")] | None
    ) = None
    reactivation_airflow: Annotated[float, Quantity("airflow", above=0.0)] | None = None
    reactivation_air: Annotated[str, Word(REACTIVATION_AIR)] | None = None
    reactivation_energy: Annotated[str, Word(REACTIVATION_ENERGY)] | None = None
    cycling_loss: Annotated[float, Number(at_least=0.0, at_most=1.0)] | None = None


class AlternateTable(Table):
    """[[alternates]]: a named option, ours or a proposal of another's."""

    name: Annotated[str, Text()] | None = None
    by: Annotated[str, Text("who proposes it,")] | None = None
    install: list[Annotated[str, Text('"COUNT MODEL ARRANGEMENT"')]] | None = None
    lump_sum: Money | None = None
    unit_price: Money | None = None
    installation: Money | None = None
    exclusions: list[Annotated[str, Text("a section of the bill of quantities")]] | None = None
    units: list[AlternateUnitTable] | None = None
