"""Schedules and commissioning sheets recomputed with CoolProp: every state, every balance, and where saturation stands.

Source of the reference: CoolProp's HAPropsSI (Herrmann, Kretzschmar and Gatley 2009, real moist air) and its IAPWS-95
water; the product's air is psychrolib's ideal gas mixture. The agreement found stands at each check.
"""

from __future__ import annotations

import functools

import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI

from selector.decide.commissioning import CommissioningSheet, commissioning_sheet
from selector.decide.duty import Air, Duty
from selector.inputs.install_text import parse_installs
from selector.inputs.site import ARRANGEMENTS
from selector.inputs.units import WATER_DENSITY
from selector.report import figures
from tests.hours import prepared_demo

KELVIN = 273.15
# all arrangements, technologies and both altitudes of the demo sites
DESIGNS = (
    ("hall", ("2 precool-340 return-side",)),
    ("hall", ("1 rotor-90 standalone", "1 compressor-160 standalone")),
    ("school", ("1 compressor-300 supply-side",)),
    ("school", ("1 compressor-300 coil-bypass",)),
    ("pool", ("2 compressor-450 return-side", "1 rotor-500 return-side")),
    ("growing", ("1 precool-480 supply-side", "1 rotor-350 supply-side")),
    ("clinic", ("2 rotor-250 outdoor-air", "1 precool-260 outdoor-air")),
    ("records", ("1 precool-60 standalone",)),
)


@functools.cache
def sheet_of(name: str, texts: tuple[str, ...]) -> CommissioningSheet:
    prepared = prepared_demo(name)
    return commissioning_sheet(prepared=prepared, install=parse_installs(texts=texts, site=prepared.site))


def duties(name: str, texts: tuple[str, ...]) -> list[tuple[str, Duty]]:
    """Every duty of a design: of its sheet, and its standard rating."""
    sheet = sheet_of(name, texts)
    found: list[tuple[str, Duty]] = [
        (one.row.unit.technology, at.duty) for one in sheet.sheets for at in one.conditions
    ]
    return found + [(one.row.unit.technology, one.row.standard) for one in sheet.sheets]


def air(output: str, state: Air, pressure: float) -> float:
    return float(HAPropsSI(output, "T", state.dry_bulb + KELVIN, "W", state.humidity_ratio, "P", pressure))


def saturated(dry_bulb: float, pressure: float) -> float:
    return float(HAPropsSI("W", "T", dry_bulb + KELVIN, "R", 1.0, "P", pressure))


EVERY = pytest.mark.parametrize(
    ("name", "texts"), DESIGNS, ids=[f"{name}, {' + '.join(texts)}" for name, texts in DESIGNS]
)


@EVERY
def test_states_are_those_of_coolprop(name: str, texts: tuple[str, ...]) -> None:
    # found: relative humidity within 0.0041, dew point within 0.071 K, mass flow within 4.4e-4 (real air at saturation
    # holds 0.4 % more vapour than the ideal mixture)
    for _, duty in duties(name, texts):
        for state in (duty.entering, duty.leaving):
            assert air("R", state, duty.pressure) == pytest.approx(state.relative_humidity, abs=0.0042)
            assert air("D", state, duty.pressure) - KELVIN == pytest.approx(state.dew_point, abs=0.072)
        volume = air("V", duty.entering, duty.pressure)
        assert duty.airflow / volume == pytest.approx(duty.flow, rel=4.5e-4)


@EVERY
def test_water_is_conserved(name: str, texts: tuple[str, ...]) -> None:
    # found: to the last digit
    for technology, duty in duties(name, texts):
        taken = duty.flow * (duty.entering.humidity_ratio - duty.leaving.humidity_ratio)
        assert taken == pytest.approx(duty.removal, rel=1e-14)
        assert duty.condensate == (0.0 if technology == "desiccant" else duty.removal)


@EVERY
def test_energy_is_conserved(name: str, texts: tuple[str, ...]) -> None:
    # found: heat gained by the air and carried by the condensate equals the power within 0.64 % of it; a rotor passes
    # 7.7 to 23 % of what it is given on to the process air as enthalpy, the rest leaves with its exhaust
    for technology, duty in duties(name, texts):
        gained = duty.flow * (air("H", duty.leaving, duty.pressure) - air("H", duty.entering, duty.pressure))
        if technology == "desiccant":
            assert 0.0 < gained < 0.25 * (duty.power + duty.gas)
            continue
        surface = max(duty.surface, 0.01) + KELVIN  # no liquid below the triple point
        water = float(PropsSI("H", "T", surface, "P", duty.pressure, "Water"))
        assert gained + duty.condensate * water == pytest.approx(duty.power, rel=0.0065)


@EVERY
def test_nothing_is_beyond_saturation(name: str, texts: tuple[str, ...]) -> None:
    for technology, duty in duties(name, texts):
        for state in (duty.entering, duty.leaving):
            assert state.humidity_ratio <= saturated(state.dry_bulb, duty.pressure)
            assert state.dew_point <= state.dry_bulb + 1e-9
        if technology != "desiccant":
            # no air leaves drier than saturated air of the surface, and only a surface below the dew point condenses
            assert duty.leaving.humidity_ratio > saturated(duty.surface, duty.pressure)
            assert duty.surface < duty.entering.dew_point


@EVERY
def test_condensate_is_read_in_millilitres(name: str, texts: tuple[str, ...]) -> None:
    # found: within 0.1 %, as water of 999.0 kg/m3 (60 degF) stands for water of 0 to 15 degC
    for technology, duty in duties(name, texts):
        if technology == "desiccant":
            continue
        assert WATER_DENSITY == 999.0
        density = float(PropsSI("D", "T", max(duty.surface, 0.01) + KELVIN, "P", duty.pressure, "Water"))
        shown = figures.number(duty.condensate, figures.CONDENSATE, "SI")
        assert shown == pytest.approx(duty.condensate / density * 6e7, rel=0.001)


def test_the_designs_hold_every_arrangement_technology_and_a_high_site() -> None:
    rows = [row for name, texts in DESIGNS for row in sheet_of(name, texts).schedule.rows]
    assert {row.arrangement for row in rows} == set(ARRANGEMENTS)
    assert {row.unit.technology for row in rows} == {"refrigerant", "refrigerant-precool", "desiccant"}
    assert {row.unit.reactivation_energy for row in rows} == {"none", "electric", "gas"}
    assert min(row.design.pressure for row in rows) < 84000.0
    assert min(row.connection.flow_fraction for row in rows) < 0.6
