"""Tariffs put together for tests, all invented: of one price, and drawn by number."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from selector.inputs.calendar import month_of_hour
from selector.inputs.site import HOURS, BoolArray, Costs, FloatArray
from selector.inputs.tariff import Block, DemandCharge, ElectricityTariff, EnergyPeriod, GasTariff, Tariff
from tests.builders import make_costs

ALWAYS = np.ones(HOURS, np.bool_)
YEAR = np.ones(12, np.bool_)
MONTH = month_of_hour()
CLOCK = np.arange(HOURS) % 24
WEEKDAY = (np.arange(HOURS) // 24) % 7 < 5  # 1 January is a Monday
KWH = 3.6e6  # J


def one_price(price: float) -> tuple[Block, ...]:
    return (Block(math.inf, price),)


def charge(
    price: float,
    *,
    hours: BoolArray = ALWAYS,
    months: BoolArray = YEAR,
    ratchet: float = 0.0,
    ratchet_months: BoolArray | None = None,
    minimum: float = 0.0,
    name: str = "demand",
) -> DemandCharge:
    within = hours & months[MONTH]
    back = months if ratchet_months is None else ratchet_months
    return DemandCharge(name, within, months, price, ratchet, back, minimum)


def make_tariff(
    *,
    energy: tuple[EnergyPeriod, ...] | None = None,
    price: float = 0.12 / KWH,
    demand: tuple[DemandCharge, ...] = (),
    fixed: float = 0.0,
    tax: float = 0.0,
    gas: GasTariff | None = None,
) -> Tariff:
    periods = (EnergyPeriod("all hours", ALWAYS, one_price(price)),) if energy is None else energy
    flat_gas = GasTariff(one_price(1.0e-8), 0.0, 0.0)
    return Tariff(ElectricityTariff(periods, demand, fixed, tax), gas or flat_gas)


def with_tariff(
    tariff: Tariff,
    *,
    other: FloatArray | None = None,
    carbon_price: float = 0.0,
    costs: Costs | None = None,
) -> Costs:
    """Costs under a tariff; other [W]."""
    return replace(
        costs or make_costs(),
        tariff=tariff,
        other_load=other,
        carbon_electricity=0.4 / KWH,
        carbon_gas=0.18 / KWH,
        carbon_price=carbon_price,
    )


def _blocks(draw: np.random.Generator, dear: float, largest: float) -> tuple[Block, ...]:
    limits = np.sort(draw.uniform(0.02, 1.0, int(draw.integers(0, 3)))) * largest
    prices = draw.uniform(0.02, dear, limits.size + 1) / KWH  # rising, falling or neither
    return tuple(
        Block(float(up_to), float(price)) for up_to, price in zip([*limits, math.inf], prices, strict=True)
    )


def _some(draw: np.random.Generator, count: int) -> BoolArray:
    found = draw.random(count) < 0.5
    found[int(draw.integers(count))] = True
    return np.asarray(found, np.bool_)


def drawn_tariff(number: int, *, power: float) -> Tariff:
    """Draw a tariff; the same number gives the same one.

    Args: number; power [W], about that of the loads it is meant for.
    """
    draw = np.random.default_rng([number, 11])
    month = power * 730.0 * 3600.0  # J
    pick = draw.integers(0, 3, (12, 2, 24))[MONTH, WEEKDAY.astype(int), CLOCK]
    periods = tuple(
        EnergyPeriod(f"period {which}", pick == which, _blocks(draw, 0.3, month))
        for which in range(3)
        if (pick == which).any()
    )
    charges = []
    for which in range(int(draw.integers(0, 4))):
        months = YEAR if draw.random() < 0.5 else _some(draw, 12)
        back = months & _some(draw, 12)
        charges.append(
            charge(
                float(draw.uniform(0.0, 20.0)) / 1000.0,
                hours=ALWAYS if draw.random() < 0.4 else _some(draw, 24)[CLOCK] & WEEKDAY,
                months=months,
                ratchet=float(draw.choice([0.0, 0.5, 0.8, 1.0])),
                ratchet_months=back,
                minimum=float(draw.choice([0.0, 0.0, 0.7])) * power,
                name=f"demand {which}",
            )
        )
    gas = GasTariff(_blocks(draw, 0.08, month), float(draw.uniform(0, 50)), float(draw.choice([0.0, 0.05])))
    terms = ElectricityTariff(
        periods, tuple(charges), float(draw.uniform(0, 200)), float(draw.choice([0.0, 0.08]))
    )
    return Tariff(terms, gas)


def drawn_load(number: int, *, power: float) -> FloatArray:
    """Draw a load by hours [W]: flat, spiky, by day, with hours of nothing.

    Args: number; power [W], about its mean.
    """
    draw = np.random.default_rng([number, 12])
    load = np.full(HOURS, power * draw.uniform(0.0, 1.0))
    load += power * draw.uniform(0.0, 1.0) * ((CLOCK >= 8) & (CLOCK < 18) & WEEKDAY)
    load *= draw.uniform(0.5, 1.5, 12)[MONTH]
    load += power * 3.0 * (draw.random(HOURS) < 0.002)
    load[draw.random(HOURS) < 0.1] = 0.0
    return np.asarray(load, np.float64)
