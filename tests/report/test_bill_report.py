"""Bills of a design as JSON and on the screen of `simulate`. Site and prices are invented."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.commands import run
from tests.sites import write_room

TARIFF = """
[costs]
carbon_price = "50 USD/t"
gas = "1.10 USD/therm"
[[costs.other_load]]
power = "20 kW"
schedule = "always"
[costs.tariff.electricity]
fixed = "100 USD/month"
tax = "5 %"
[[costs.tariff.electricity.energy]]
blocks = [{ up_to = "10,000 kWh", price = "0.15 USD/kWh" }, { price = "0.10 USD/kWh" }]
[[costs.tariff.electricity.demand]]
name = "any hour"
price = "10 USD/kW"
"""
INSTALL = ("--install", "1 precool-120 standalone")


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_room(tmp_path_factory.mktemp("tariff"), more=TARIFF)


def test_the_json_holds_every_line_of_both_bills(site: Path) -> None:
    costs = json.loads(run("simulate", site, *INSTALL, "--json", "-").stdout)["costs"]
    bill = costs["bill"]
    whole, alone = bill["with_design"], bill["other_load_alone"]
    assert bill["electricity"] == costs["electricity"]
    assert bill["electricity"] == pytest.approx(whole["electricity"] - alone["electricity"], rel=1e-12)
    # 20 kW of other load: 14,880 kWh in a month of 31 days, 10,000 of them in the first block; 5 % tax on all
    energy = 12 * 10000 * 0.15 + (8760 * 20 - 120000) * 0.10
    carbon = 8760 * 20 * 0.39 * 0.050
    assert alone["electricity"] == pytest.approx(1.05 * (energy + 12 * 200.0 + 1200.0) + carbon, rel=1e-12)
    names = [(line["fuel"], line["kind"], line["name"], line["block"]) for line in whole["lines"]]
    assert names == [
        ("electricity", "energy", "period 1", 1),
        ("electricity", "energy", "period 1", 2),
        ("electricity", "demand", "any hour", None),
        ("electricity", "fixed", "fixed charge", None),
        ("electricity", "tax", "tax", None),
        ("electricity", "carbon", "carbon", None),
        ("gas", "energy", "gas", None),
        ("gas", "fixed", "fixed charge", None),
        ("gas", "tax", "tax", None),
        ("gas", "carbon", "carbon", None),
    ]
    for line in whole["lines"]:
        assert len(line["amounts"]) == len(line["quantities"]) == 12
        assert line["amounts"] == pytest.approx(
            [each * line["rate"] for each in line["quantities"]], rel=1e-12
        )
    first, _, demand = whole["lines"][:3]
    assert (first["unit"], first["rate"]) == ("kWh", pytest.approx(0.15, rel=1e-12))
    assert (demand["unit"], demand["rate"]) == ("kW", pytest.approx(10.0, rel=1e-12))
    assert demand["quantities"] == pytest.approx(whole["peak_kw"], rel=1e-12)
    assert costs["peak_kw"] == pytest.approx(max(whole["peak_kw"]), rel=1e-12)
    # what the design buys, at 0.39 kg/kWh
    bought = sum(line["quantities"][month] for line in whole["lines"][:2] for month in range(12)) - 8760 * 20
    assert costs["carbon_kg"]["electricity"] == pytest.approx(0.39 * bought, rel=1e-9)


def test_the_screen_says_what_the_bills_are_made_of(site: Path) -> None:
    screen = run("simulate", site, *INSTALL).stdout
    assert all(len(line) <= 80 for line in screen.splitlines())
    text = " ".join(screen.split())
    assert "Bills electricity " in text
    assert " demand " in text
    assert "USD/year that the other load costs alone" in text
    assert "in the building's highest hour" in text
    assert "the other load alone 20 kW" in text
    assert " t/year of electricity" in text


def test_flat_prices_show_no_bill(tmp_path: Path) -> None:
    site = write_room(tmp_path)
    costs = json.loads(run("simulate", site, *INSTALL, "--json", "-").stdout)["costs"]
    assert costs["bill"] is None
    assert costs["peak_kw"] > 0.0
    lines = run("simulate", site, *INSTALL).stdout.splitlines()
    assert not [line for line in lines if line.startswith("Bills")]
    assert [line for line in lines if line.startswith("Peak")]
