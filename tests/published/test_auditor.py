"""Another engineer's audit of the hourly CSV, with CoolProp in place of the project's moist air.

Mixing, coil and balance are worked out anew from the texts that `audits` reads; units are in `test_auditor_units`. What
was found is stated beside each tolerance.
"""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI

from tests.published.audits import (
    ARRANGEMENTS,
    CASES,
    DUCTED,
    KELVIN,
    MODELS,
    ROOT,
    WATER,
    Array,
    Audit,
    audit_of,
    catalog,
    dry_bulb,
    enthalpy,
    property_of,
    relative_humidity,
    saturated,
    streams,
)

IN_METRES = {"ft2": 0.3048**2, "m2": 1.0, "ft": 0.3048, "m": 1.0}


def quantity(text: str) -> float:
    """Square metres or metres of a site file's text."""
    number, unit = text.split()
    return float(number) * IN_METRES[unit]


# tests of one case follow one another, so that its year is read once even where several processes share the tests
@pytest.fixture(params=CASES, ids=" ".join, scope="module")
def audit(request: pytest.FixtureRequest) -> Audit:
    return audit_of(*request.param)


@pytest.fixture(params=[case for case in CASES if case[0] in DUCTED], ids=" ".join, scope="module")
def ducted(request: pytest.FixtureRequest) -> Audit:
    return audit_of(*request.param)


def test_every_arrangement_and_technology_is_audited() -> None:
    assert {(name, model) for _, name, model in CASES} >= {(n, m) for n in ARRANGEMENTS for m in MODELS}
    assert {catalog()[model]["technology"] for model in MODELS} == {
        row["technology"] for row in catalog().values()
    }
    assert sorted(path.stem for path in (ROOT / "scenarios").glob("*.toml")) == sorted((*DUCTED, "records"))


def test_moisture_balances_in_every_row(audit: Audit) -> None:
    row = audit.every
    terms = [
        row[f"{name}_kg"].to_numpy()
        for name in (
            "internal_moisture",
            "ventilation_moisture",
            "infiltration_moisture",
            "coil_removal",
            "unit_removal",
            "stored_moisture",
        )
    ]
    residual = terms[0] + terms[1] + terms[2] - terms[3] - terms[4] - terms[5]
    largest = np.maximum.reduce([np.abs(term) for term in terms])
    # agreement found: 4e-12 of the row's largest term, or of 1 g where that is smaller
    assert np.all(np.abs(residual) <= 1e-10 * np.maximum(largest, 1e-3))


def test_outdoor_air_brings_its_moisture_in_every_row(audit: Audit) -> None:
    row = audit.every
    above = row["outdoor_humidity_ratio"] - row["space_humidity_ratio"]
    for name in ("ventilation", "infiltration"):
        flow = row[f"{'outdoor' if name == 'ventilation' else name}_airflow_kg"]
        assert flow.min() >= 0.0
        # agreement found: 8e-15 kg
        assert np.abs(row[f"{name}_moisture_kg"] - flow * above).max() <= 1e-13


def test_storage_follows_from_the_states_in_every_row(audit: Audit) -> None:
    row = audit.every
    start, end = row["space_start_humidity_ratio"].to_numpy(), row["space_end_humidity_ratio"].to_numpy()
    rise = end - start
    capacity = float((row["stored_moisture_kg"] * rise).sum() / (rise * rise).sum())
    # agreement found: 2e-14 kg
    assert np.abs(row["stored_moisture_kg"] - capacity * rise).max() <= 1e-12
    for name in ("dry_bulb_C", "humidity_ratio"):
        before, after = row[f"space_end_{name}"].to_numpy(), row[f"space_start_{name}"].to_numpy()
        # an hour starts from the state before, rounded by no more than this where it floats
        joined = np.abs(before[:-1] - after[1:]) <= (8e-9 if name == "dry_bulb_C" else 8e-12)
        assert np.count_nonzero(~joined) <= 1  # where the simulated year begins
    space = audit.site["space"]
    volume = quantity(space["floor_area"]) * quantity(space["ceiling_height"])
    pressure = float(row["pressure_Pa"].mean())
    air = volume / float(HAPropsSI("Vda", "T", 20.0 + KELVIN, "W", 1e-7, "P", pressure))
    contents = space.get("contents", "paper" if audit.site.get("profile") == "store" else "")
    # the site's words for what it holds, as multiples of the air's own mass; agreement found: 4e-4
    assert capacity / air == pytest.approx(
        {"bare": 3.0, "furnished": 10.0, "paper": 30.0}[contents], rel=5e-4
    )


def test_mean_lies_on_the_way_from_start_to_end_in_every_row(audit: Audit) -> None:
    """At constant moisture and airflow the state runs along an exponential of the airflow over the store.

    Evaporation and the coil follow the space's state, which bends it more, so the mean lies nearer to the end.
    """
    row = audit.every
    start = row["space_start_humidity_ratio"].to_numpy()
    rise = row["space_end_humidity_ratio"].to_numpy() - start
    moved = np.abs(rise) > 1e-6
    capacity = float(row["stored_moisture_kg"].to_numpy()[moved].sum() / rise[moved].sum())
    z = (row["outdoor_airflow_kg"] + row["infiltration_airflow_kg"]).to_numpy()[moved] / capacity
    first = -np.expm1(-z) / z
    share = np.where(z > 1e-3, (1.0 - first) / z / first, 0.5 + z / 12.0)
    found = (row["space_humidity_ratio"].to_numpy() - start)[moved] / rise[moved]
    # agreement found: 2e-12 below
    assert np.all(found >= share - 1e-10)
    assert np.all(found < 1.0)
    if audit.site["name"] == "Records store":
        # nothing there follows the state but units at their full number; agreement found: 1e-7 kg/kg
        assert np.abs((found - share) * rise[moved]).max() <= 1.2e-7


def test_space_relative_humidity(audit: Audit) -> None:
    t, w, p = (audit.at(n) for n in ("space_dry_bulb_C", "space_humidity_ratio", "pressure_Pa"))
    there = property_of("R", "T", t + KELVIN, "W", w, "P", p)
    # agreement found: 0.0040, at 95 %: CoolProp's saturated air holds more
    assert np.abs(audit.at("space_relative_humidity") - there).max() <= 0.0042


def given_to_stream(audit: Audit, share: Array, off: bool = False) -> tuple[Array, Array]:
    """What the units in a duct do to its stream while the fan runs: heat [W] and removal [kg/s]."""
    prefix = "off_" if off else ""
    p = audit.at("pressure_Pa")
    m, t2, w2, surface = (
        audit.unit(prefix + n)
        for n in ("airflow_kg_s", "leaving_dry_bulb_C", "leaving_humidity_ratio", "surface_C")
    )
    t1, w1 = audit.unit(prefix + "entering_dry_bulb_C"), audit.unit(prefix + "entering_humidity_ratio")
    ran = audit.unit("runtime") > 0.0
    heat, removal = np.zeros_like(share), np.zeros_like(share)
    flow = (audit.unit("runtime") / share * m)[ran]
    gained = flow * (enthalpy(t2[ran], w2[ran], p[ran]) - enthalpy(t1[ran], w1[ran], p[ran]))
    taken = flow * (w1 - w2)[ran]
    if not audit.rotor:  # a cycling machine's loss stays in the air
        running = audit.unit("runtime")[ran]
        gained += (audit.full[ran] / running - 1.0) * (gained + taken * WATER * surface[ran])
    heat[ran], removal[ran] = gained, taken
    return heat, removal


def test_fan_and_flows(ducted: Audit) -> None:
    here, share, supply, outdoor = streams(ducted)
    bought = here.every["fan_runtime"] * here.fan_power / 1000.0
    assert np.abs(here.every["fan_kWh"] - bought).max() <= 1e-12  # agreement found: 9e-16 kWh
    assert np.all(outdoor <= supply)
    assert np.ptp(supply) <= 1e-12 * supply.mean()  # constant; agreement found: 4e-16
    carried = here.at("coil_airflow_kg") + here.at("coil_bypass_airflow_kg")
    assert carried == pytest.approx(here.at("supply_airflow_kg"), rel=1e-12)  # agreement found: exact
    bypass = np.zeros_like(share)
    if here.arrangement == "coil-bypass":
        bypass = here.unit("runtime") * here.unit("airflow_kg_s") * 3600.0
        assert bypass.max() > 0.0
    # agreement found: 4e-4 kg of up to 3000, the tolerance to which an hour's state is settled
    assert np.abs(here.at("coil_bypass_airflow_kg") - bypass).max() <= 5e-4


def test_mixing_ahead_of_the_coil(ducted: Audit) -> None:
    here, share, _, outdoor = streams(ducted)
    p = here.at("pressure_Pa")
    w_space, w_out = here.at("space_humidity_ratio"), here.at("outdoor_humidity_ratio")
    h_space = enthalpy(here.at("space_dry_bulb_C"), w_space, p)
    h_out = enthalpy(here.at("outdoor_dry_bulb_C"), w_out, p)
    flow = here.at("coil_airflow_kg") / share / 3600.0
    back = flow - outdoor
    heat, removal = np.zeros_like(share), np.zeros_like(share)
    if here.arrangement in ("return-side", "outdoor-air"):
        heat, removal = given_to_stream(here, share)
        assert removal.max() > 0.0
    w = (outdoor * w_out + back * w_space - removal) / flow
    h = (outdoor * h_out + back * h_space + heat) / flow
    t = dry_bulb(h, w, p)
    # agreement found: 1e-8 kg/kg, to which the hour's state is settled, and 0.0075 K
    assert np.abs(here.at("coil_entering_humidity_ratio") - w).max() <= 1.2e-8
    assert np.abs(here.at("coil_entering_dry_bulb_C") - t).max() <= 0.009


def bypass_factor(t1: Array, t2: Array, surface: Array) -> Array:
    return (t2 - surface) / (t1 - surface)


def test_coil(ducted: Audit) -> None:
    here, *_ = streams(ducted)
    here = here.only(here.at("coil_runtime") > 0.0)
    share, on = here.at("fan_runtime"), here.at("coil_runtime")
    p, stage = here.at("pressure_Pa"), here.at("coil_stage")
    flow = here.at("coil_airflow_kg") / share / 3600.0
    t1, w1 = here.at("coil_entering_dry_bulb_C"), here.at("coil_entering_humidity_ratio")
    t2, w2 = here.at("coil_leaving_dry_bulb_C"), here.at("coil_leaving_humidity_ratio")
    low_t, low_w = here.at("coil_low_leaving_dry_bulb_C"), here.at("coil_low_leaving_humidity_ratio")
    surface = here.at("coil_surface_C")
    rest = np.maximum(0.0, share - on)
    # the leaving state lies on the straight line from entering air to saturated air at the surface
    factor = bypass_factor(t1, t2, surface)
    contact = -flow * np.log(factor)
    # bypass factor = exp(-A0 / m) with one A0 all year; agreement found: 5e-13
    assert np.ptp(contact) <= 1e-11 * contact.mean()
    at_surface = saturated(surface, p)
    wet = w1 - w2 > 1e-12
    assert np.all(at_surface[wet] < w1[wet] * 1.006)
    assert np.all(at_surface[~wet] > w1[~wet] * 0.994)
    on_line = w1 - (1.0 - factor) * np.maximum(0.0, w1 - at_surface)
    assert w2 == pytest.approx(on_line, rel=0.004)  # agreement found: 0.0038
    # agreement found: 0.98 leaving the coil; 0.996 over the wet coil that is off, saturated air in PsychroLib
    assert relative_humidity(t2, w2, p).max() < 1.0
    assert relative_humidity(low_t, low_w, p).max() < 1.0
    # removal, and what the wet coil gives back
    taken = 3600.0 * flow * (on * (w1 - w2) + rest * (w1 - low_w))
    # agreement found: 1.6e-4 kg of up to 40: 1e-8 kg/kg, to which the hour's state is settled, in 4.5 kg/s of air
    assert np.abs(here.at("coil_removal_kg") - taken).max() <= 2e-4
    back = np.where(stage == 1.0, 3600.0 * flow * rest * (low_w - w1), 0.0)
    # agreement found: 2e-15 kg
    assert np.abs(here.at("coil_given_back_kg") - back).max() <= 1e-12
    assert here.at("coil_given_back_kg").min() >= 0.0
    condensed = 3600.0 * flow * on * (w1 - w2)
    assert np.all(here.at("coil_given_back_kg") <= condensed + 1e-12)
    # heat: enthalpy of the air less that of the condensate
    low_surface = t1 - (t1 - low_t) / (1.0 - factor)
    load = flow * (enthalpy(t1, w1, p) - enthalpy(t2, w2, p) - (w1 - w2) * WATER * surface)
    low_load = flow * (enthalpy(t1, w1, p) - enthalpy(low_t, low_w, p) - (w1 - low_w) * WATER * low_surface)
    heat = on * load + np.where(stage > 1.0, rest * low_load, 0.0)
    assert here.at("coil_heat_kWh") == pytest.approx(heat / 1000.0, rel=0.0011)  # agreement found: 0.00104
    outdoors = here.at("outdoor_dry_bulb_C")
    warm = outdoors > surface + 5.0
    carnot = (surface + KELVIN) / np.where(warm, outdoors - surface, 1.0)
    cop = here.at("coil_heat_kWh") / here.at("cooling_kWh")
    assert np.all((cop / carnot)[warm] < 0.5)  # found: 0.20 to 0.37
    assert cop.min() > 3.0  # found: 3.3 to 6.7
