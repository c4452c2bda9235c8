"""Cautions stand where the work can hurt someone."""

from __future__ import annotations

from dataclasses import replace

from selector.inputs.site import Install
from selector.report.cautions import cautions, short_cautions
from tests.sites import room

ALWAYS = ["ventilation", "mould"]


def topics(*install: Install) -> list[str]:
    return [one.topic for one in cautions(site=room(), install=install)]


def test_nothing_installed_still_asks_for_ventilation_and_mould() -> None:
    assert topics() == ALWAYS


def test_refrigerant_units_have_refrigerant_and_condensate() -> None:
    found = topics(Install("precool-120", "standalone", 1))
    assert found == ["electricity", "refrigerant", "condensate", "hung weight", *ALWAYS]


def test_an_electric_rotor_has_a_hot_exhaust() -> None:
    assert topics(Install("rotor-60", "standalone", 1)) == ["electricity", "exhaust", "hung weight", *ALWAYS]


def test_gas_is_named_only_with_a_gas_rotor() -> None:
    site = room()
    units = tuple(
        replace(unit, reactivation_energy="gas") if unit.model == "rotor-60" else unit
        for unit in site.catalog.units
    )
    burning = replace(site, catalog=replace(site.catalog, units=units))
    install = (Install("rotor-60", "standalone", 1),)
    found = [one.topic for one in cautions(site=burning, install=install)]
    assert found == ["electricity", "gas", "hung weight", *ALWAYS]
    assert "carbon-monoxide" in cautions(site=burning, install=install)[1].text


def test_the_heaviest_unit_is_named() -> None:
    # rotor-60 weighs 164 lb, compressor-60 96 lb
    install = (Install("rotor-60", "standalone", 1), Install("compressor-60", "standalone", 2))
    weight = next(one for one in cautions(site=room(), install=install) if one.topic == "hung weight")
    assert "heaviest 164 lb each" in weight.text


def test_the_sentence_defers_to_codes() -> None:
    text = short_cautions(site=room(), install=())
    assert text == "ventilation, mould: local codes and licensed practice decide"
