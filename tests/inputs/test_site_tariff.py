"""Tariffs, other loads and carbon as a site file gives them. All numbers are invented."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from selector.inputs.calendar import month_of_hour
from selector.inputs.errors import InputFaults
from selector.inputs.fields import EnergyPrice
from selector.inputs.site import HOURS, Site
from selector.inputs.site_tariff import HOURLY_DEMAND, NO_OTHER_LOAD
from selector.report.lines import standing_defaults
from tests.inputs.site_texts import SHORT, read, record

CLOCK = np.arange(HOURS) % 24
WEEKDAY = (np.arange(HOURS) // 24) % 7 < 5  # the weather file's 1 January is a Monday
MONTH = month_of_hour()
KWH = 3.6e6

TARIFF = """
[costs]
carbon_electricity = "0.30 kg/kWh"
carbon_price = "60 USD/t"

[[costs.other_load]]
power = "30 kW"
schedule = "occupied"
[[costs.other_load]]
name = "at all hours"
power = "5 kW"
schedule = "always"

[costs.tariff.electricity]
fixed = "120 USD/month"
tax = "6 %"
[[costs.tariff.electricity.energy]]
name = "peak"
months = ["Jun to Sep"]
weekday = [{ from = 12, to = 18 }]
price = "24 ¢/kWh"
[[costs.tariff.electricity.energy]]
months = ["Jun to Sep"]
weekday = [{ from = 0, to = 12 }, { from = 18, to = 24 }]
saturday = "all"
sunday = "all"
price = "0.12 USD/kWh"
[[costs.tariff.electricity.energy]]
name = "winter"
months = ["Oct to May"]
blocks = [{ up_to = "5,000 kWh", price = "0.11 USD/kWh" }, { price = "0.09 USD/kWh" }]
[[costs.tariff.electricity.demand]]
price = "9.50 USD/kW"
ratchet = "80 %"
ratchet_months = ["Jul", "Aug"]
minimum = "20 kW"
[[costs.tariff.electricity.demand]]
months = ["Dec to Feb"]
saturday = [{ from = 6, to = 22 }]
price = "$3/kW"
[costs.tariff.gas]
fixed = "15 USD/month"
blocks = [{ up_to = "200 therm", price = "1.20 USD/therm" }, { price = "0.03 USD/kWh" }]
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    return read('holidays = ["07-04"]\n' + SHORT + TARIFF, tmp_path_factory.mktemp("tariff"))


def test_energy_periods_are_hours_of_the_year(site: Site) -> None:
    assert site.costs.tariff is not None
    peak, rest, winter = site.costs.tariff.electricity.energy
    assert (peak.name, rest.name, winter.name) == ("peak", "period 2", "winter")
    summer = np.isin(MONTH, (5, 6, 7, 8))
    holiday = np.arange(HOURS) // 24 == 31 + 28 + 31 + 30 + 31 + 30 + 3  # 4 July
    at_peak = summer & WEEKDAY & ~holiday & (CLOCK >= 12) & (CLOCK < 18)
    assert np.array_equal(peak.hours, at_peak)
    assert np.array_equal(rest.hours, summer & ~at_peak)
    assert np.array_equal(winter.hours, ~summer)
    assert peak.blocks[0].price * KWH == pytest.approx(0.24, rel=1e-12)
    assert [block.up_to / KWH for block in winter.blocks] == pytest.approx([5000.0, math.inf])
    assert [block.price * KWH for block in winter.blocks] == pytest.approx([0.11, 0.09])


def test_demand_fixed_tax_gas(site: Site) -> None:
    assert site.costs.tariff is not None
    terms, gas = site.costs.tariff.electricity, site.costs.tariff.gas
    assert (terms.fixed, terms.tax) == pytest.approx((120.0, 0.06))
    every, winter = terms.demand
    assert (every.name, every.ratchet) == ("demand 1", 0.8)
    assert (every.price * 1000.0, every.minimum) == pytest.approx((9.5, 20000.0))
    assert every.hours.all()
    assert every.months.all()
    assert np.flatnonzero(every.ratchet_months).tolist() == [6, 7]
    assert np.flatnonzero(winter.months).tolist() == [0, 1, 11]
    assert np.array_equal(winter.ratchet_months, winter.months)
    saturday = (np.arange(HOURS) // 24) % 7 == 5
    within = saturday & np.isin(MONTH, (0, 1, 11)) & (CLOCK >= 6) & (CLOCK < 22)
    assert np.array_equal(winter.hours, within)
    assert (winter.ratchet, winter.minimum) == (0.0, 0.0)
    assert (gas.fixed, gas.tax) == (15.0, 0.0)
    assert gas.blocks[0].price * 105505585.262 == pytest.approx(1.20)
    assert gas.blocks[1].price * KWH == pytest.approx(0.03)


def test_other_loads_add_up_and_carbon_is_by_joule(site: Site) -> None:
    costs = site.costs
    assert costs.other_load is not None
    assert site.air_handler is not None
    assert costs.other_load == pytest.approx(5000.0 + 30000.0 * site.air_handler.ventilation)
    assert costs.carbon_electricity * KWH == pytest.approx(0.30)
    assert costs.carbon_gas * KWH == pytest.approx(53.06 / 293.07107, rel=1e-6)
    assert costs.carbon_price == pytest.approx(0.060)
    assert record(site, "costs.carbon_gas").origin == "default"
    assert "memory" in record(site, "costs.carbon_gas").source
    assert record(site, "costs.tariff.electricity.demand[0].price").unit == "USD/W"
    assert record(site, "costs.tariff.electricity.fixed").unit == "USD/month"
    assert record(site, "costs.carbon_price").unit == "USD/kg"
    keys = {assumption.key for assumption in site.assumptions}
    assert not keys & {"costs.electricity", "costs.gas"}
    assert HOURLY_DEMAND in site.notes
    assert NO_OTHER_LOAD not in site.notes


def test_one_fuel_may_have_a_tariff_alone(tmp_path: Path) -> None:
    text = (
        '\n[costs]\nelectricity = "0.14 USD/kWh"\n[costs.tariff.gas]\nprice = "1 USD/therm"\ntax = "10 %"\n'
    )
    costs = read(SHORT + text, tmp_path).costs
    assert costs.tariff is not None
    (period,) = costs.tariff.electricity.energy
    assert period.hours.all()
    assert period.blocks[0].price == costs.electricity == 0.14 / KWH
    assert costs.tariff.electricity.demand == ()
    assert costs.gas * 105505585.262 == pytest.approx(1.1)


def test_a_site_without_a_tariff_has_none(tmp_path: Path) -> None:
    site = read(SHORT, tmp_path)
    costs = site.costs
    assert (costs.tariff, costs.other_load, costs.carbon_price) == (None, None, 0.0)
    assert costs.carbon_electricity > 0.0
    assert not set(site.notes) & {HOURLY_DEMAND, NO_OTHER_LOAD}


def test_who_gives_no_other_load_is_told(tmp_path: Path) -> None:
    text = (
        '\n[[costs.tariff.electricity.energy]]\nprice = "0.1 USD/kWh"\n'
        '[[costs.tariff.electricity.demand]]\nprice = "9 USD/kW"\n'
    )
    notes = read(SHORT + text, tmp_path).notes
    assert HOURLY_DEMAND in notes
    assert NO_OTHER_LOAD in notes


@pytest.mark.parametrize(
    ("written", "months"),
    [
        ('["Jan"]', [0]),
        ('["Nov to Feb"]', [0, 1, 10, 11]),
        ('["Mar to Mar", "May", "May to Jun"]', [2, 4, 5]),
        ('["Jan to Dec"]', list(range(12))),
        ('["Feb to Jan"]', list(range(12))),
    ],
)
def test_months_are_written_as_spans(written: str, months: list[int], tmp_path: Path) -> None:
    text = (
        '\n[[costs.tariff.electricity.energy]]\nprice = "0.1 USD/kWh"\n'
        f'[[costs.tariff.electricity.demand]]\nprice = "9 USD/kW"\nmonths = {written}\n'
    )
    tariff = read(SHORT + text, tmp_path).costs.tariff
    assert tariff is not None
    assert np.flatnonzero(tariff.electricity.demand[0].months).tolist() == months


LINES = [number for number, line in enumerate(TARIFF.splitlines()) if " = " in line]
JUNK = (
    "3", "-1", "nan", "true", '"x"', '""', "[]", "{}", "[1]", "[{}]", '["Jan"]', '["Jan to"]', '"all"',
    "[{ from = 3, to = 5 }]", "[{ from = 5, to = 3 }]", '[{ price = "1 USD/kWh" }]', '"5 USD/kWh"', '"5 kW"',
)  # fmt: skip


@settings(max_examples=60)
@given(lines=st.lists(st.sampled_from(LINES), min_size=1, max_size=3, unique=True), data=st.data())
def test_whatever_stands_at_a_key_is_read_or_refused(
    lines: list[int], data: st.DataObject, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """No other exception gets out, what is refused is said in full, and what is read covers the year once."""
    text = TARIFF.splitlines()
    for number in lines:
        text[number] = text[number].partition(" = ")[0] + " = " + data.draw(st.sampled_from(JUNK))
    try:
        site = read(SHORT + "\n".join(text), tmp_path_factory.mktemp("junk"))
    except InputFaults as error:
        for fault in error.faults:
            assert all((fault.file, fault.where, fault.got, fault.allowed))
    else:
        assert site.costs.tariff is not None
        periods = site.costs.tariff.electricity.energy
        assert np.array_equal(np.sum([period.hours for period in periods], axis=0), np.ones(HOURS))


def test_a_default_factor_of_carbon_decides_nothing_without_its_price(tmp_path: Path) -> None:
    plain = {one.key for one in standing_defaults(read(SHORT, tmp_path))}
    assert "costs.electricity" in plain
    assert "costs.carbon_gas" not in plain
    priced = read(SHORT + '\n[costs]\ncarbon_price = "60 USD/t"\n', tmp_path)
    assert {"costs.carbon_gas", "costs.carbon_electricity"} <= {one.key for one in standing_defaults(priced)}


@pytest.mark.parametrize(
    ("kind", "price", "currency", "allowed"),
    [
        (EnergyPrice(most=10.0), "10 EUR/kWh", "EUR", None),
        (EnergyPrice(most=10.0), "10.01 EUR/kWh", "EUR", "at least 0 and at most 10 EUR/kWh"),
        (EnergyPrice(most=1.0), "29 CAD/therm", "CAD", None),  # 29.3 kWh to the therm
        (EnergyPrice(most=1.0), "30 CAD/therm", "CAD", "at least 0 and at most 1 CAD/kWh"),
        (EnergyPrice(most=10.0), "31 JPY/kWh", "JPY", None),
        (EnergyPrice(most=10.0), "31,000,000 JPY/MWh", "JPY", None),
        (EnergyPrice(most=10.0), "200,000 JPY/kWh", "JPY", "at least 0 and at most 100,000 JPY/kWh"),
    ],
)
def test_a_price_of_energy_has_a_highest_that_goes_by_its_currency(
    kind: EnergyPrice, price: str, currency: str, allowed: str | None
) -> None:
    if allowed is None:
        assert kind.check(price, {"currency": currency}) > 0.0
        return
    with pytest.raises(PydanticCustomError, match=allowed):
        kind.check(price, {"currency": currency})
