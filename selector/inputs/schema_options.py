"""The keys of [[options]]: options that are no units, each with what it changes and what that costs."""

from __future__ import annotations

from typing import Annotated

from selector.inputs.fields import Number, Quantity, Table, Text, Word

OPTION_KINDS = ("overcooling-reheat", "recovery-wheel", "unoccupied", "outdoor-air", "economizer")

Money = Annotated[float, Quantity("money", at_least=0.0)]
Airflow = Annotated[float, Quantity("airflow", above=0.0)]
Outdoors = Annotated[float, Quantity("temperature", at_least="-50 degC", at_most="40 degC")]
Setpoint = Annotated[float, Quantity("temperature", at_least="-10 degC", at_most="50 degC")]
FanPower = Annotated[float, Quantity("electric_power", at_least=0.0, at_most="1,000 kW")]


class OptionTable(Table):
    """[[options]]: which of the keys below the first five may stand depends on the kind."""

    name: Annotated[str, Text()] | None = None
    kind: Annotated[str, Word(OPTION_KINDS)] | None = None
    first_cost: Money | None = None
    maintenance: Annotated[float, Quantity("money_per_year", at_least=0.0)] | None = None
    life: Annotated[float, Quantity("years", at_least="1 year", at_most="60 year")] | None = None
    source: Annotated[str, Word(("gas", "electric", "heat-pump"))] | None = None
    efficiency: Annotated[float, Quantity("percent", above=0.0, at_most=10.0)] | None = None
    capacity: Annotated[float, Quantity("power", above=0.0)] | None = None
    sensible_effectiveness: Annotated[float, Quantity("fraction")] | None = None
    latent_effectiveness: Annotated[float, Quantity("fraction")] | None = None
    exhaust_airflow: Airflow | None = None
    supply_fan_power: FanPower | None = None
    exhaust_fan_power: FanPower | None = None
    bypass_above: Outdoors | None = None
    frost_limit: Outdoors | None = None
    unoccupied_fan: Annotated[str, Word(("cycles", "off", "runs"))] | None = None
    unoccupied_cooling_setpoint: Setpoint | None = None
    unoccupied_heating_setpoint: Setpoint | None = None
    outdoor_airflow: Airflow | None = None
    ventilation_use: Annotated[str, Text()] | None = None
    ventilation_effectiveness: Annotated[float, Number(at_least=0.5, at_most=1.5)] | None = None
    economizer: Annotated[str, Word(("none", "dry-bulb", "enthalpy"))] | None = None
    economizer_dry_bulb: (
        Annotated[float, Quantity("temperature", at_least="5 degC", at_most="30 degC")] | None
    ) = None
    economizer_enthalpy: (
        Annotated[float, Quantity("enthalpy", at_least="20 kJ/kg", at_most="80 kJ/kg")] | None
    ) = None
