"""Plain names of the keys of a site file: every key has one, no two the same, and readers see them."""

from __future__ import annotations

from collections import Counter

import pytest

from selector.inputs.schema_keys import schema_keys
from selector.inputs.site import ARRANGEMENTS
from selector.report.key_names import NAMES, name_of

KEYS = [key for key, kind in schema_keys().items() if kind is not None]


def test_every_key_has_a_name_and_every_name_a_key() -> None:
    kinds = ("people", "water-surface", "plants", "moisture", "heat")
    plain = set()
    for key in KEYS:
        first, _, rest = key.partition(".")
        kind, _, last = rest.partition(".")
        plain.add(f"gains.{last}" if first == "gains" and kind in kinds else key)
    assert plain | {"limits.arrangements"} == set(NAMES)


def test_no_two_keys_have_the_same_name() -> None:
    assert [name for name, count in Counter(NAMES.values()).items() if count > 1] == []


def test_names_are_words() -> None:
    for key, name in NAMES.items():
        assert not set(name) & set("_[]."), key
        assert name == name.strip() != "", key


@pytest.mark.parametrize("arrangement", ARRANGEMENTS)
def test_a_name_says_which_arrangement_is_installed(arrangement: str) -> None:
    assert name_of(f"costs.installation.{arrangement}.drain") == f"kind of drain, {arrangement}"


@pytest.mark.parametrize(
    ("key", "name"),
    [
        ("space.moisture_buffer", "moisture buffer"),
        ("gains[2].count", "number of people"),
        ("gains.people.count", "number of people"),
        ("alternates[1].units[0].fan_static", "alternate unit's fan static pressure"),
        ("costs.tariff.electricity.energy[0].blocks[1].price", "price of a block of electricity"),
    ],
)
def test_a_name_is_found_whatever_the_place_in_a_list(key: str, name: str) -> None:
    assert name_of(key) == name


def test_a_key_that_no_file_holds_has_no_name() -> None:
    with pytest.raises(KeyError, match=r"space\.colour"):
        name_of("space.colour")


def test_a_name_says_which_of_several_limits_is_meant() -> None:
    keys = ("humidity_target[0].band", "humidity_target[1].band")
    names = [name_of(key, ("lessons", "mould")) for key in keys]
    assert names == [f'humidistat\'s band below the limit of "{name}"' for name in ("lessons", "mould")]
    assert name_of("humidity_target.band", ("humidity target",)) == "humidistat's band below the limit"
