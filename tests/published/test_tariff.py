"""Utility bills worked by hand.

The structure is that of public rate sheets for general service with time of use: a customer charge, energy by season,
weekday and hour, blocks in the winter, a demand charge with a ratchet, a demand charge on summer afternoons, and a tax
on all of it. All numbers are invented.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from selector.inputs.site import HOURS, Site
from selector.inputs.site_file import read_site
from selector.money.tariff import Bill, bill, billed_demand, design_bill
from tests.builders import flat
from tests.money.tariffs import CLOCK, KWH, MONTH, charge, make_tariff

ROOT = Path(__file__).parents[2]
NOTHING = np.zeros(HOURS)

GENERAL_SERVICE = f"""\
name = "General service, invented"
profile = "office"
first_weekday = "Monday"
holidays = ["07-04"]
catalog = "{ROOT / "catalogs" / "general"}"

[weather]
file = "{ROOT / "scenarios" / "weather" / "tidewater.csv"}"

[space]
floor_area = "5000 ft2"
ceiling_height = "10 ft"

[humidity_target]
relative_humidity = "60 %"

[schedules.day]
weekday = [{{ from = 8, to = 18, value = 1 }}]

[schedules.summer-day]
ranges = [{{ from = "06-01", to = "09-30", weekday = [{{ from = 8, to = 18, value = 1 }}] }}]

[[costs.other_load]]
name = "always on"
power = "10 kW"
schedule = "always"

[[costs.other_load]]
name = "by day"
power = "40 kW"
schedule = "day"

[[costs.other_load]]
name = "more of it in summer"
power = "20 kW"
schedule = "summer-day"

[costs.tariff.electricity]
fixed = "150 USD/month"
tax = "5 %"

[[costs.tariff.electricity.energy]]
name = "summer on-peak"
months = ["Jun to Sep"]
weekday = [{{ from = 12, to = 18 }}]
price = "0.20 USD/kWh"

[[costs.tariff.electricity.energy]]
name = "summer off-peak"
months = ["Jun to Sep"]
weekday = [{{ from = 0, to = 12 }}, {{ from = 18, to = 24 }}]
saturday = "all"
sunday = "all"
price = "0.10 USD/kWh"

[[costs.tariff.electricity.energy]]
name = "winter"
months = ["Oct to May"]
blocks = [
  {{ up_to = "10,000 kWh", price = "0.11 USD/kWh" }},
  {{ price = "0.08 USD/kWh" }},
]

[[costs.tariff.electricity.demand]]
name = "any hour"
price = "12 USD/kW"
ratchet = "80 %"
ratchet_months = ["Jun to Sep"]

[[costs.tariff.electricity.demand]]
name = "summer on-peak"
months = ["Jun to Sep"]
weekday = [{{ from = 12, to = 18 }}]
price = "8 USD/kW"

[costs.tariff.gas]
fixed = "30 USD/month"
blocks = [
  {{ up_to = "300 therm", price = "1.20 USD/therm" }},
  {{ price = "0.90 USD/therm" }},
]
"""

JANUARY, JULY = 0, 6


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Site:
    path = tmp_path_factory.mktemp("tariff") / "site.toml"
    path.write_text(GENERAL_SERVICE, encoding="utf-8")
    return read_site(path=path)


def of_month(found: Bill, month: int) -> dict[tuple[str, str, int], float]:
    return {
        (line.kind, line.name, line.block): line.amounts[month]
        for line in found.lines
        if line.fuel == "electricity" and line.amounts[month]
    }


def test_a_bill_of_july_worked_by_hand(site: Site) -> None:
    """Found: exact.

    1 January is a Monday, so 1 July is a Sunday; July has 22 weekdays, one of them the 4th, a holiday: 21 are left.
    Load 70 kW on weekdays 8 to 18, else 10 kW.
      on-peak   21 x 6 h = 126 h at 70 kW           8,820 kWh x 0.20    1,764.00
      off-peak  21 x 4 h =  84 h at 70 kW           5,880 kWh
                744 - 126 - 84 = 534 h at 10 kW     5,340 kWh
                                                   11,220 kWh x 0.10    1,122.00
      demand    70 kW x 12.00                                             840.00
      on-peak   70 kW x 8.00                                              560.00
      customer charge                                                     150.00
                                                                        4,436.00
      tax       5 %                                                       221.80
                                                                        4,657.80
    """
    whole = design_bill(costs=site.costs, electricity=NOTHING, gas=NOTHING).whole
    found = of_month(whole, JULY)
    assert found == pytest.approx(
        {
            ("energy", "summer on-peak", 0): 1764.00,
            ("energy", "summer off-peak", 0): 1122.00,
            ("demand", "any hour", 0): 840.00,
            ("demand", "summer on-peak", 0): 560.00,
            ("fixed", "fixed charge", 0): 150.00,
            ("tax", "tax", 0): 221.80,
        },
        rel=1e-14,
    )
    assert sum(found.values()) == pytest.approx(4657.80, rel=1e-14)


def test_a_bill_of_january_worked_by_hand(site: Site) -> None:
    """Found: exact to 1e-13.

    January has 23 weekdays. Load 50 kW on weekdays 8 to 18, else 10 kW.
      23 x 10 h at 50 kW 11,500 kWh, 744 - 230 = 514 h at 10 kW 5,140 kWh: 16,640 kWh
      first 10,000 kWh x 0.11                                           1,100.00
      next   6,640 kWh x 0.08                                             531.20
      demand 50 kW, but at least 80 % of the summer's 70 kW: 56 kW x 12   672.00
      customer charge                                                     150.00
                                                                        2,453.20
      tax 5 %                                                             122.66
                                                                        2,575.86
    """
    whole = design_bill(costs=site.costs, electricity=NOTHING, gas=NOTHING).whole
    found = of_month(whole, JANUARY)
    assert found == pytest.approx(
        {
            ("energy", "winter", 1): 1100.00,
            ("energy", "winter", 2): 531.20,
            ("demand", "any hour", 0): 672.00,
            ("fixed", "fixed charge", 0): 150.00,
            ("tax", "tax", 0): 122.66,
        },
        rel=1e-14,
    )
    assert sum(found.values()) == pytest.approx(2575.86, rel=1e-14)


def test_what_a_design_adds_worked_by_hand(site: Site) -> None:
    """Found: within 2e-15.

    A unit of 5 kW that runs every hour of the year, beside the load above.
      eight winter months, all beyond their first 10,000 kWh alone: 5 kW x 5,832 h = 29,160 kWh x 0.08   2,332.80
      summer on-peak: weekdays 21 Jun, 21 Jul, 23 Aug, 20 Sep, 85 x 6 h = 510 h x 5 kW x 0.20              510.00
      summer off-peak: 2,928 - 510 = 2,418 h x 5 kW x 0.10                                               1,209.00
      demand: four summer months 5 kW x 12, eight at 80 % of it: 4 kW x 12                                 624.00
      on-peak demand: four months of 5 kW x 8                                                              160.00
                                                                                                         4,835.80
      tax 5 %                                                                                              241.79
                                                                                                         5,077.59
    Gas of 100 therms a month, and 500 in January: 11 x 120.00 + 300 x 1.20 + 200 x 0.90 = 1,860.00.
    """
    therm = 105505585.262
    burnt = np.where(MONTH == JANUARY, 500.0, 100.0) * therm / np.bincount(MONTH)[MONTH]
    added = design_bill(costs=site.costs, electricity=flat(5000.0) * 3600.0, gas=burnt)
    assert added.electricity == pytest.approx(5077.59, rel=1e-14)
    assert added.gas == pytest.approx(1860.00, rel=1e-14)
    assert added.other.gas == 360.0


def test_energy_and_demand_at_one_rate_each() -> None:
    """C = P x R, kW x rate, common practice, no source: 10,000 kWh at 0.12, 50 kW at 15 per kW, 1,950.00. Found: exact.

    January: 50 kW from 12 to 17 on each of 31 days is 7,750 kWh; the other 589 h share 2,250 kWh.
    """
    peak = (CLOCK >= 12) & (CLOCK < 17)
    power = np.where(peak, 50.0, 2250.0 / 589.0) * 1000.0
    tariff = make_tariff(price=0.12 / KWH, demand=(charge(15.0 / 1000.0),))
    found = of_month(bill(tariff=tariff, electricity=power * 3600.0, other=NOTHING, gas=NOTHING), JANUARY)
    assert found["energy", "all hours", 0] == pytest.approx(1200.00, rel=1e-14)
    assert found["demand", "demand", 0] == pytest.approx(750.00, rel=1e-14)
    assert sum(found.values()) == pytest.approx(1950.00, rel=1e-14)


def test_a_ratchet_of_eighty_per_cent() -> None:
    """Common practice, no source: 50 kW now, 70 kW at most in the last 11 months, 15 per kW. Found: exact.

    Billed 0.8 x 70 = 56 kW, 840.00; without the ratchet 750.00.
    """
    power = np.where(MONTH == 3, 70000.0, 50000.0)
    billed = billed_demand(charge=charge(15.0 / 1000.0, ratchet=0.8), power=power)
    assert billed[2] == pytest.approx(56000.0, rel=1e-15)
    assert billed[2] * 15.0 / 1000.0 == pytest.approx(840.00, rel=1e-15)
    assert billed_demand(charge=charge(15.0 / 1000.0), power=power)[2] * 15.0 / 1000.0 == 750.00
