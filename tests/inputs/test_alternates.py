"""Named options for a bid as a site file gives them."""

from __future__ import annotations

from pathlib import Path

import pytest

from selector.inputs.errors import InputFaults
from selector.inputs.quantities import parse
from selector.inputs.site import Alternate, Install, Site
from selector.inputs.site_file import read_site
from tests.proposals import ALONE, LUMP, OWN, PARTS, TWO
from tests.sites import SCENARIOS, room, write_room

ROTOR = """
[[alternates]]
name = "rotor"
install = ["1 own-rotor return-side", "1 precool-60 standalone"]

[[alternates.units]]
model = "own-rotor"
technology = "desiccant"
airflow = "190 cfm"
rating_dry_bulb = "75 degF"
rating_relative_humidity = 0.5
removal = "5 lb/h"
power = "0.5 kW"
gas = "14 MBH"
voltage = "208 V"
phases = 1
current = "4 A"
price = "9100 USD"
sound = "56 dBA"
length = "35 in"
width = "26 in"
height = "31 in"
weight = "170 lb"
reactivation_airflow = "62 cfm"
reactivation_air = "outdoor"
reactivation_energy = "gas"
"""


def site_with(folder: Path, *alternates: str) -> Site:
    return read_site(path=write_room(folder, more="".join(alternates)))


def only(folder: Path, text: str) -> Alternate:
    (alternate,) = site_with(folder, text).alternates
    return alternate


def test_a_site_without_alternates_has_none() -> None:
    assert room().alternates == ()


def test_an_option_of_our_own_is_a_name_and_an_install(tmp_path: Path) -> None:
    assert only(tmp_path, TWO) == Alternate(
        name="two",
        by="",
        install=(Install("precool-120", "standalone", 2),),
        lump_sum=None,
        unit_price=None,
        installation=None,
        exclusions=(),
        units=(),
        assumptions=(),
    )


def test_prices_and_exclusions_of_proposals(tmp_path: Path) -> None:
    lump, parts, alone = site_with(tmp_path, LUMP, PARTS, ALONE).alternates
    assert (lump.by, lump.lump_sum, lump.exclusions) == ("bidder A", 13000.0, ("drains", "electrical"))
    assert (parts.unit_price, parts.installation, parts.exclusions) == (5000.0, 1500.0, ("drains",))
    assert (alone.unit_price, alone.installation, alone.lump_sum) == (5000.0, None, None)


def test_a_unit_of_its_own_is_in_si(tmp_path: Path) -> None:
    (unit,) = only(tmp_path, OWN).units
    assert (unit.model, unit.technology, unit.phases) == ("own-120", "refrigerant-precool", 1)
    assert unit.airflow == parse("520 cfm", "airflow")
    assert unit.height == pytest.approx(0.6858)
    assert unit.weight == pytest.approx(92.986, rel=1e-5)
    assert unit.maintenance == pytest.approx(140.0)
    assert (unit.reactivation_airflow, unit.reactivation_air, unit.reactivation_energy) == (
        0.0,
        "none",
        "none",
    )
    (rating,) = unit.ratings
    assert rating.dry_bulb == pytest.approx(30.0)
    assert (rating.relative_humidity, rating.power, rating.gas) == (0.8, 1900.0, 0.0)
    assert rating.removal == parse("440 pints/day", "moisture_rate")


def test_a_unit_may_say_its_highest_leaving_air(tmp_path: Path) -> None:
    text = OWN.replace("cycling_loss = 0.03", 'cycling_loss = 0.03\nhighest_leaving_dry_bulb = "131 degF"')
    (unit,) = only(tmp_path, text).units
    assert unit.highest_leaving_dry_bulb == pytest.approx(55.0)
    (unit,) = only(tmp_path, OWN).units
    assert unit.highest_leaving_dry_bulb is None


@pytest.mark.parametrize("removal", ["0 pints/day", "-5 pints/day", "0 lb/h"])
def test_a_unit_that_removes_nothing_is_refused(tmp_path: Path, removal: str) -> None:
    with pytest.raises(InputFaults, match=r"alternates\[0\]\.units\[0\]\.removal") as caught:
        only(tmp_path, OWN.replace("440 pints/day", removal))
    (fault,) = caught.value.faults
    assert fault.got == f'"{removal}"'
    assert fault.allowed.endswith(", above 0")


def test_what_a_unit_does_not_say_is_a_default_that_is_kept_apart(tmp_path: Path) -> None:
    site = site_with(tmp_path, ROTOR)
    (alternate,) = site.alternates
    (unit,) = alternate.units
    assert unit.maintenance == pytest.approx(0.02 * 9100.0)
    assert unit.service_life == 12.0
    assert unit.minimum_dry_bulb == pytest.approx(5.0)
    assert unit.maximum_dry_bulb == pytest.approx(40.0)
    assert unit.reactivation_energy == "gas"
    assert unit.ratings[0].gas == pytest.approx(parse("14 MBH", "power"))
    defaults = {one.key: one for one in alternate.assumptions if one.origin == "default"}
    where = "alternates[0].units[0]"
    assert set(defaults) == {
        f"{where}.{name}"
        for name in (
            "fan_static",
            "service_life",
            "maintenance",
            "minimum_dry_bulb",
            "maximum_dry_bulb",
            "cycling_loss",
        )
    }
    upkeep = defaults[f"{where}.maintenance"]
    assert (upkeep.low, upkeep.high) == pytest.approx((91.0, 455.0))
    assert upkeep.unit == "USD/year"
    assert not [one for one in site.assumptions if one.key.startswith("alternates")]
    assert [one.key for one in site.assumptions] == [one.key for one in room().assumptions]


def test_defaults_of_proposed_units_are_refused_with_all_others(tmp_path: Path) -> None:
    with pytest.raises(InputFaults, match="defaults are refused") as caught:
        read_site(path=write_room(tmp_path, more=ROTOR), no_defaults=True)
    assert (
        "alternates[0].units[0].service_life: got nothing, and defaults are refused (it would be 12 year)"
        in str(caught.value)
    )


def test_an_arrangement_that_only_an_option_uses_is_known_what_it_takes(tmp_path: Path) -> None:
    limits = (("max_units = 3", 'max_units = 3\narrangements = ["return-side"]'),)
    site = read_site(path=write_room(tmp_path, *limits, more=TWO))
    assert site.limits.arrangements == ("return-side",)
    asked = {one.key.split(".")[2] for one in site.assumptions if one.key.startswith("costs.installation.")}
    assert {"return-side", "standalone"} <= asked
    assert "coil-bypass" not in asked


def test_limits_on_weight_and_size_are_in_si(tmp_path: Path) -> None:
    limits = (("max_units = 3", 'max_units = 3\nweight = "200 lb"\nheight = "25 in"\nwidth = "0.7 m"'),)
    found = read_site(path=write_room(tmp_path, *limits)).limits
    assert found.weight == pytest.approx(90.718474)
    assert found.height == pytest.approx(0.635)
    assert (found.width, found.length) == (0.7, None)


@pytest.mark.parametrize("name", ["school", "hall"])
def test_demo_bids_hold_a_proposal_with_exclusions_and_its_own_rating(name: str) -> None:
    site = read_site(path=SCENARIOS / f"{name}.toml")
    levelled = [one for one in site.alternates if one.by == "bidder A"]
    assert len(levelled) == 1
    assert levelled[0].exclusions
    assert levelled[0].lump_sum is not None
    (unit,) = levelled[0].units
    assert unit.ratings[0].dry_bulb == pytest.approx(30.0)
    assert unit.ratings[0].relative_humidity == 0.8
    assert len(site.alternates) >= 3
    assert all(not one.assumptions or one.units for one in site.alternates)
