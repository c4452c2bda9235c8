"""The defaults file: every entry complete, every key of a site file either defaulted or said to be absent."""

from __future__ import annotations

import math

import pytest

from selector.inputs.catalog import UNIT_COLUMNS
from selector.inputs.defaults import catalog_default, default_of, defaults_file, is_from_profile
from selector.inputs.quantities import parse
from selector.inputs.schema import PROFILES
from selector.inputs.schema_keys import SHARED_KEYS, dimension_of, kind_of, model_at, schema_keys
from selector.inputs.site import ARRANGEMENTS
from selector.physics.coil import rate_coil

GENERAL = sorted(defaults_file()["values"])
OF_PROFILES = [
    (name, key) for name in PROFILES for key in sorted(defaults_file()["profiles"][name]["values"])
]
ENTRIES = [(None, key) for key in GENERAL] + OF_PROFILES


@pytest.mark.parametrize(("profile", "key"), ENTRIES)
def test_every_default_is_complete(profile: str | None, key: str) -> None:
    entry = default_of(key, profile, "USD")
    assert entry is not None
    assert len(entry.source) > 5
    assert len(entry.find) > 2
    assert entry.text
    if isinstance(entry.value, str):
        assert (entry.low, entry.high, entry.per) == (None, None, None)
    else:
        assert entry.low is not None
        assert entry.high is not None
        assert entry.low <= entry.value <= entry.high
        assert math.isfinite(entry.value)


def test_every_key_has_a_default_or_is_said_to_be_absent() -> None:
    absent = defaults_file()["absent"]
    shared = {"costs.installation.duct_length", "costs.installation.drain"}
    for name in sorted(shared):
        for arrangement in ARRANGEMENTS:
            key = name.replace("installation.", f"installation.{arrangement}.")
            assert key in GENERAL, f"no default for {key}"
    for key in schema_keys():
        assert (key in GENERAL) != (key in absent), (
            f"{key} must stand in exactly one of [values] and [absent]"
        )
    for key, words in absent.items():
        assert key in schema_keys(), f"{key} is no key of a site file"
        assert words


def test_every_default_belongs_to_a_key() -> None:
    for _, key in ENTRIES:
        plain = key
        for arrangement in ARRANGEMENTS:
            plain = plain.replace(f".{arrangement}.", ".")
        assert plain in schema_keys() or key in SHARED_KEYS, f"{key} is no key of a site file"


def test_every_default_of_a_catalogue_is_complete_and_belongs_to_a_column_that_may_be_left_out() -> None:
    columns = defaults_file()["catalog"]
    assert columns
    for name in columns:
        assert UNIT_COLUMNS[name.replace("_", " ")].optional, name
        entry = catalog_default(column=name)
        assert isinstance(entry.value, float)
        assert entry.low is not None
        assert entry.high is not None
        assert entry.low < entry.value < entry.high
        assert len(entry.source) > 5
        assert len(entry.find) > 2


def test_there_is_one_profile_for_each_word_and_each_is_whole() -> None:
    profiles = defaults_file()["profiles"]
    assert tuple(profiles) == PROFILES
    for name, profile in profiles.items():
        assert set(profile) == {"summary", "humidity_limit", "gains", "schedule", "values"}
        assert 0.3 < parse(profile["humidity_limit"], "fraction") < 0.9
        for kind in profile["gains"]:
            needed = {"people": "count", "heat": "power", "water-surface": "area", "plants": "area"}[kind]
            assert is_from_profile(f"gains.{kind}.{needed}", name)


def test_a_profile_stands_before_the_general_value() -> None:
    general = default_of("space.heating_setpoint", "office", "USD")
    pool = default_of("space.heating_setpoint", "pool", "USD")
    assert general is not None
    assert pool is not None
    assert general.value == pytest.approx((70 - 32) / 1.8)
    assert pool.value == pytest.approx((84 - 32) / 1.8)
    assert not is_from_profile("space.heating_setpoint", "office")


def test_a_price_in_another_currency_is_no_default() -> None:
    assert default_of("costs.gas", None, "USD") is not None
    assert default_of("costs.gas", None, "EUR") is None
    assert default_of("costs.installation.standalone.fixed", None, "USD") is None  # by the bill of quantities
    assert default_of("costs.discount_rate", None, "EUR") is not None


def test_helper_tables_are_the_published_ones() -> None:
    """ASHRAE Handbook Fundamentals 2013 (SI), ch. 18, table 1; ASHRAE 62.1-2019, table 6-1. Exact."""
    activities = defaults_file()["activities"]
    expected = {
        "theatre-matinee": (65, 30),
        "theatre-night": (70, 35),
        "seated": (70, 45),
        "office": (75, 55),
        "shop": (75, 55),
        "bank": (75, 70),
        "restaurant": (80, 80),
        "bench-work": (80, 140),
        "dancing": (90, 160),
        "heavy-work": (170, 255),
        "athletics": (210, 315),
    }
    found = {
        name: (parse(entry["sensible"], "power"), parse(entry["latent"], "power"))
        for name, entry in activities.items()
    }
    assert found == expected
    uses = defaults_file()["uses"]
    rates = {name: (entry["per_person"], entry["per_area"]) for name, entry in uses.items()}
    assert rates == {
        "office": (["5 cfm", "2.5 L/s"], ["0.06 cfm/ft2", "0.3 L/(s*m2)"]),
        "conference": (["5 cfm", "2.5 L/s"], ["0.06 cfm/ft2", "0.3 L/(s*m2)"]),
        "classroom": (["10 cfm", "5 L/s"], ["0.12 cfm/ft2", "0.6 L/(s*m2)"]),
        "restaurant": (["7.5 cfm", "3.8 L/s"], ["0.18 cfm/ft2", "0.9 L/(s*m2)"]),
        "shop": (["7.5 cfm", "3.8 L/s"], ["0.12 cfm/ft2", "0.6 L/(s*m2)"]),
        "corridor": (["0 cfm", "0 L/s"], ["0.06 cfm/ft2", "0.3 L/(s*m2)"]),
    }
    office, classroom = uses["office"], uses["classroom"]
    assert (office["density"], classroom["density"]) == ("0.005 1/ft2", "0.035 1/ft2")


def test_keys_are_found_by_their_names() -> None:
    assert dimension_of("space.floor_area") == "area"
    assert dimension_of("costs.installation.standalone.fixed") == "money"
    assert dimension_of("air_handler.economizer") is None
    assert kind_of("costs.installation.standalone.fixed") is kind_of("costs.installation.fixed")
    assert kind_of("nothing.of.this") is None
    for path, name in (
        ((), "SiteFile"),
        (("space", "envelope", 0), "EnvelopePart"),
        (("gains", 1, "plants"), "PlantsTable"),
        (("costs", "installation", "standalone"), "InstallationTable"),
    ):
        model = model_at(path)
        assert model is not None
        assert model.__name__ == name
    assert model_at(("nowhere",)) is None


@pytest.mark.parametrize("airflow_by_ton", [150, 200, 300, 400, 600])
def test_the_default_coil_exists_at_any_airflow(airflow_by_ton: int) -> None:
    """A default sensible heat ratio would not: 0.75 is above saturation below 332 cfm by ton."""
    entry = default_of("air_handler.cooling_coil.bypass_factor", None, "USD")
    assert entry is not None
    for factor in (entry.low, entry.value, entry.high):
        assert isinstance(factor, float)
        rating = rate_coil(
            total_capacity=parse("25 ton", "cooling_capacity"),
            airflow=parse(f"{25 * airflow_by_ton} cfm", "airflow"),
            sensible_heat_ratio=None,
            bypass_factor=factor,
        )
        assert 0.5 < rating.sensible_heat_ratio <= 1.0
