"""The keys of [costs.tariff] and [[costs.other_load]]: what a utility's rate sheet says, and what else it bills for."""

from __future__ import annotations

from typing import Annotated

from selector.inputs.fields import DayHours, EnergyPrice, Months, Quantity, Table, Text

# Bounds for slips of the point or of the unit, far above what a year of bills comes to; common practice, no source.
ElectricityPrice = Annotated[float, EnergyPrice(most=10.0)]
GasPrice = Annotated[float, EnergyPrice(most=1.0)]
Monthly = Annotated[float, Quantity("money_per_month", at_least=0.0)]
Tax = Annotated[float, Quantity("percent", at_least="0 %", at_most="100 %")]
Hours = Annotated[tuple[bool, ...], DayHours()]
MonthList = Annotated[tuple[bool, ...], Months()]


class BlockTable(Table):
    """One block of a month's energy: up to how much, and its price."""

    up_to: Annotated[float, Quantity("energy", above=0.0)] | None = None
    price: ElectricityPrice | None = None


class GasBlockTable(BlockTable):
    """One block of a month's gas."""

    price: GasPrice | None = None


class WindowTable(Table):
    """When something holds: months, and hours of weekdays, Saturdays, and Sundays with holidays."""

    name: Annotated[str, Text()] | None = None
    months: MonthList | None = None
    weekday: Hours | None = None
    saturday: Hours | None = None
    sunday: Hours | None = None


class EnergyPeriodTable(WindowTable):
    """[[costs.tariff.electricity.energy]]: a time-of-use period with one price, or with blocks."""

    price: ElectricityPrice | None = None
    blocks: list[BlockTable] | None = None


class DemandTable(WindowTable):
    """[[costs.tariff.electricity.demand]]: a charge on the highest hour of the month within the window."""

    price: Annotated[float, Quantity("demand_price", at_least=0.0)] | None = None
    ratchet: Annotated[float, Quantity("fraction")] | None = None
    ratchet_months: MonthList | None = None
    minimum: Annotated[float, Quantity("electric_power", at_least=0.0)] | None = None


class ElectricityTariffTable(Table):
    """[costs.tariff.electricity]."""

    energy: list[EnergyPeriodTable] | None = None
    demand: list[DemandTable] | None = None
    fixed: Monthly | None = None
    tax: Tax | None = None


class GasTariffTable(Table):
    """[costs.tariff.gas]."""

    price: GasPrice | None = None
    blocks: list[GasBlockTable] | None = None
    fixed: Monthly | None = None
    tax: Tax | None = None


class TariffTable(Table):
    """[costs.tariff]: either fuel, or both."""

    electricity: ElectricityTariffTable | None = None
    gas: GasTariffTable | None = None


class OtherLoadTable(Table):
    """[[costs.other_load]]: electric load of the building that no design changes."""

    name: Annotated[str, Text()] | None = None
    power: Annotated[float, Quantity("electric_power", at_least=0.0)] | None = None
    schedule: Annotated[str, Text()] | None = None
