"""Questions about air that two careful teams would settle differently: static pressure, streams, outdoor air.

Each test names its question and fails if it were settled the other way. Sites are invented and steady; figures hold in
every hour, so one hour in the middle of the year is looked at.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import pytest

from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.limits import broken_before_simulation
from selector.inputs.site import ARRANGEMENTS, Arrangement, HeatGain, Install, PeopleGain
from selector.physics import response as out
from selector.physics.arrangements import COIL_BYPASS, OUTDOOR_AIR, RETURN_SIDE, STANDALONE, SUPPLY_SIDE
from selector.physics.ducts import duct_pressure_drop
from selector.physics.hourly import simulate_hours
from selector.physics.moist_air import dew_point, volume
from selector.physics.step import HOUR
from selector.physics.unit import performance
from tests.builders import flat
from tests.physics.sites_for_tests import (
    DAY,
    LATE,
    NIGHT,
    SEA_LEVEL,
    at,
    dry_limit,
    general_units,
    humidity_limit,
    make_air_handler,
    make_coil,
    prepare_quickly,
    ratio,
    run,
    steady_gains,
    steady_site,
)
from tests.physics.units_for_tests import fitted

PRECOOL, ROTOR = "precool-120", "rotor-90"
UNITS = general_units(PRECOOL, ROTOR)
DUCT: tuple[Arrangement, ...] = ("return-side", "supply-side", "coil-bypass")


# ------------------------------------------------------------------------------------------------ static pressure


def test_both_taps_in_one_duct_cost_the_units_own_duct_alone() -> None:
    """Static on a unit: between taps in one duct there is none, so only its own duct counts."""
    site = steady_site(
        air_handler=make_air_handler(external_static_pressure=300.0), units=UNITS, no_ducts=False
    )
    prepared = prepare_quickly(site)
    own = duct_pressure_drop(airflow=UNITS[0].airflow, length=6.0, velocity=5.0, fittings=1.0)
    for arrangement in (RETURN_SIDE, SUPPLY_SIDE, STANDALONE, OUTDOOR_AIR):
        assert prepared.connections[0, arrangement].static == own.pressure
    assert own.pressure > 1.0


@pytest.mark.parametrize("position", ["after-coil", "before-coil"])
def test_around_the_coil_a_unit_meets_the_whole_external_static(
    position: Literal["after-coil", "before-coil"],
) -> None:
    """Static on a unit: discharge tap less intake tap; around the air handler that is all of its external static."""
    handler = make_air_handler(external_static_pressure=150.0, fan_position=position)
    prepared = prepare_quickly(steady_site(air_handler=handler, units=UNITS, no_ducts=False))
    connection = prepared.connections[0, COIL_BYPASS]
    assert connection.static == 150.0 + connection.duct


def test_beyond_what_its_fan_holds_a_units_airflow_and_removal_fall() -> None:
    """Static on a unit: beyond the fan's own, airflow falls and removal with it, instead of staying as rated."""
    held, short = (
        run(
            steady_site(
                air_handler=make_air_handler(external_static_pressure=static),
                units=UNITS,
                targets=dry_limit(),
                gains=steady_gains(heat=0.0),
                dry_bulb=22.0,
            ),
            Install(PRECOOL, "coil-bypass", 1),
        )
        for static in (UNITS[0].fan_static, 1.8 * UNITS[0].fan_static)
    )
    assert held.prepared.connections[0, COIL_BYPASS].flow_fraction == 1.0
    # (2 - 1.8)^0.5 of the airflow is left
    assert short.prepared.connections[0, COIL_BYPASS].flow_fraction == pytest.approx(0.2**0.5, rel=1e-12)
    less = short.group().removal[LATE] / held.group().removal[LATE]
    assert 0.5 < less < 0.95
    for one, fraction in ((held, 1.0), (short, 0.2**0.5)):
        group = one.group()
        around = one.prepared.plant["supply"] - at(one.year, out.COIL_AIR)
        room = volume(group.entering_dry_bulb[LATE], group.entering_humidity_ratio[LATE], SEA_LEVEL)
        assert around * room == pytest.approx(fraction * UNITS[0].airflow, rel=1e-9)


# ------------------------------------------------------------------------------------------------ streams


@pytest.mark.parametrize(
    ("arrangement", "words"),
    [
        ("return-side", "airflow of the units against return air"),
        ("supply-side", "airflow of the units against supply air"),
        ("coil-bypass", "airflow around the coil"),
        ("outdoor-air", "airflow of the units against outdoor air"),
    ],
)
def test_units_may_not_want_more_air_than_their_stream_has(arrangement: Arrangement, words: str) -> None:
    """Sum of unit flows at most the stream they tap, or the design is not possible, and the reason says which."""
    unit = UNITS[0].airflow
    coil = make_coil(total_capacity=20000.0 * 5.0 * unit)
    handler = make_air_handler(coil=coil, supply_airflow=5.0 * unit, outdoor_airflow=1.5 * unit)
    room = {"return-side": 3.5, "supply-side": 5.0, "coil-bypass": 2.0, "outdoor-air": 1.5}[arrangement]
    prepared = prepare_site(site=steady_site(air_handler=handler, units=UNITS))
    most = int(room)
    fits = broken_before_simulation(prepared=prepared, install=(Install(PRECOOL, arrangement, most),))
    over = broken_before_simulation(prepared=prepared, install=(Install(PRECOOL, arrangement, most + 1),))
    assert words not in [one.limit for one in fits]
    broken = {one.limit: one for one in over}[words]
    assert broken.allowed == pytest.approx(room * unit, rel=1e-12)
    assert broken.got == pytest.approx((most + 1) * unit, rel=1e-12)


def test_a_coil_colder_than_freezing_under_a_bypass_is_not_possible() -> None:
    """Coil under a bypass: an apparatus dew point below 0 °C rules the design out, with that reason."""
    coil = make_coil(total_capacity=26000.0, sensible_heat_ratio=0.66, stages=1)
    site = steady_site(
        air_handler=make_air_handler(coil=coil, supply_airflow=0.85, outdoor_airflow=0.1),
        units=UNITS,
        targets=dry_limit(),
        dry_bulb=16.0,
        outdoor_ratio=0.006,
        gains=steady_gains(heat=9000.0, vapour=2.0e-4),
        space={"cooling_setpoint": flat(18.0), "heating_setpoint": flat(15.0)},
    )
    prepared = prepare_site(site=site)
    alone = evaluate(prepared=prepared, install=(Install(PRECOOL, "standalone", 1),))
    around = evaluate(prepared=prepared, install=(Install(PRECOOL, "coil-bypass", 1),))
    cold = float(around.year.response[:, out.SURFACE_T].min())
    assert cold < 0.0
    assert around.coil_frost_hours > 0
    assert "hours with the coil below 0 °C while bypassed" in [one.limit for one in around.broken]
    assert alone.coil_frost_hours == 0


@pytest.mark.parametrize("arrangement", DUCT)
def test_the_air_handlers_total_airflow_stays(arrangement: Arrangement) -> None:
    """Airflow of the air handler: constant, so what passes a bypass is missing at the coil and nothing else changes."""
    found = run(
        steady_site(air_handler=make_air_handler(), units=UNITS, targets=dry_limit()),
        Install(PRECOOL, arrangement, 1),
    )
    plant, group = found.prepared.plant, found.group()
    passed = 0.0
    if arrangement == "coil-bypass":
        passed = UNITS[0].airflow / volume(
            group.entering_dry_bulb[LATE], group.entering_humidity_ratio[LATE], SEA_LEVEL
        )
    assert at(found.year, out.COIL_AIR) == pytest.approx(plant["supply"] - passed, rel=1e-9)
    assert found.year.fan[LATE] == pytest.approx(plant["fan_power"] * HOUR, rel=1e-12)


# ------------------------------------------------------------------------------------------------ outdoor air


def test_outdoor_air_units_follow_the_spaces_humidistat_and_the_ventilation() -> None:
    """Outdoor-air units: called by the space's humidity, not by outdoor air's, and only while there is ventilation."""
    site = steady_site(
        air_handler=make_air_handler(ventilation=DAY.astype(float)), units=UNITS, targets=dry_limit()
    )
    found = run(site, Install(PRECOOL, "outdoor-air", 1))
    assert found.group().running[NIGHT].max() == 0.0
    assert found.group().running[DAY].min() == 1.0
    assert found.column(out.FAN_FROM_UNITS).max() < 1e-15

    # outdoor air drier than the space's set point, but the space still above it: they run
    dry = replace(
        steady_site(
            air_handler=make_air_handler(),
            units=UNITS,
            outdoor_ratio=0.0085,
            gains=steady_gains(vapour=4.0e-3),
        ),
        targets=(humidity_limit(0.55),),
    )
    wet = run(dry, Install(PRECOOL, "outdoor-air", 1))
    assert wet.year.mean_w[LATE] > ratio(24.0, 0.52) > 0.0085
    assert wet.group().running[LATE] > 0.0

    # outdoor air moist, but the space below its set point: they wait
    gains = steady_gains(heat=9000.0, vapour=2.0e-4)
    calm = steady_site(
        air_handler=make_air_handler(), units=UNITS, gains=gains, targets=(humidity_limit(0.95),)
    )
    assert run(calm).year.mean_w[LATE] < ratio(24.0, 0.92)
    assert ratio(28.0, 0.55) < 0.014
    assert run(calm, Install(PRECOOL, "outdoor-air", 1)).group().running.max() == 0.0


def test_too_little_outdoor_air_lowers_the_entering_flow_and_not_power_pro_rata() -> None:
    """Outdoor-air units: with less ventilation than they want, each works on less air, at the power that this takes."""
    part = 0.4
    airflow = UNITS[0].airflow
    handler = make_air_handler(outdoor_airflow=airflow, ventilation=flat(part))
    site = steady_site(air_handler=handler, units=UNITS, targets=dry_limit())
    found = run(site, Install(PRECOOL, "outdoor-air", 1))
    row = fitted()[PRECOOL].parameters
    space = (found.year.mean_t[LATE], found.year.mean_w[LATE])
    flow = part * found.prepared.plant["outdoor"]
    fraction = flow * volume(28.0, 0.014, SEA_LEVEL) / airflow
    assert fraction < 0.5
    result = performance(row, fraction, 28.0, 0.014, SEA_LEVEL, 28.0, 0.014, *space)
    whole = performance(row, 1.0, 28.0, 0.014, SEA_LEVEL, 28.0, 0.014, *space)
    assert found.group().removal[LATE] == pytest.approx(result[2] * HOUR, rel=1e-9)
    assert found.group().electricity[LATE] == pytest.approx(result[3] * HOUR, rel=1e-9)
    assert result[3] > 0.8 * whole[3]
    assert 0.4 < result[2] / whole[2] < 0.9


def test_reactivation_air_from_the_space_counts_in_the_buildings_air_balance() -> None:
    """Desiccant units: reactivation air that leaves the space is made up by outdoor air, and only then."""
    units = general_units("rotor-140", ROTOR)  # reactivated by air from the space, and by outdoor air
    gains, space = steady_gains(heat=0.0), {"heat_loss": 3000.0}
    site = steady_site(
        units=units, targets=dry_limit(), dry_bulb=22.0, outdoor_ratio=0.009, gains=gains, space=space
    )
    own, outdoors = (run(site, Install(unit.model, "standalone", 1)) for unit in units)
    density = own.prepared.plant["density"]
    leak = own.prepared.hours["infiltration"][LATE]
    taken = own.group().running[LATE] * units[0].reactivation_airflow * density
    assert taken > leak
    assert at(own.year, out.INFILTRATION) == pytest.approx(leak + taken, rel=1e-9)
    assert outdoors.group().running[LATE] > 0.0
    assert at(outdoors.year, out.INFILTRATION) == pytest.approx(leak, rel=1e-12)


@pytest.mark.parametrize("exhaust", [0.0, 0.2, 0.5])
def test_surplus_of_outdoor_air_offsets_infiltration_and_deficit_adds_to_it(exhaust: float) -> None:
    """Air balance: outdoor air beyond the exhaust keeps infiltration out, exhaust beyond outdoor air adds to it."""
    site = steady_site(air_handler=make_air_handler(outdoor_airflow=0.25), space={"exhaust_airflow": exhaust})
    found = run(site)
    density = found.prepared.plant["density"]
    leak = found.prepared.hours["infiltration"][LATE]
    surplus = (0.25 - exhaust) * density
    expected = max(0.0, leak - surplus) if surplus > 0.0 else leak - surplus
    assert at(found.year, out.INFILTRATION) == pytest.approx(expected, rel=1e-9, abs=1e-15)


def test_what_units_of_each_arrangement_take_in() -> None:
    """Order of the air: outdoor, return, mixed, coil, bypass, supply; each arrangement takes in its own stream."""
    site = steady_site(air_handler=make_air_handler(), units=UNITS, targets=dry_limit())
    for arrangement in ARRANGEMENTS:
        found = run(site, Install(PRECOOL, arrangement, 1))
        group, year = found.group(), found.year
        entering = (group.entering_dry_bulb[LATE], group.entering_humidity_ratio[LATE])
        if arrangement == "outdoor-air":
            assert entering == (28.0, 0.014)
        elif arrangement == "supply-side":
            assert entering[1] == at(year, out.COIL_OUT_W)
            assert entering[0] > at(year, out.COIL_OUT_T)  # the fan stands between
        else:
            assert entering == pytest.approx((year.mean_t[LATE], year.mean_w[LATE]), rel=3e-8)


def test_with_several_arrangements_the_stream_passes_return_coil_supply() -> None:
    """Several arrangements: return-side units act ahead of the coil, supply-side units on what leaves it."""
    site = steady_site(air_handler=make_air_handler(), units=UNITS, targets=dry_limit())
    both = run(site, Install(PRECOOL, "return-side", 1), Install(ROTOR, "supply-side", 1))
    places = {part.arrangement: place for place, part in enumerate(both.install)}
    back, supply = both.group(places["return-side"]), both.group(places["supply-side"])
    plant, year = both.prepared.plant, both.year
    # mixed air is drier than the space by what the return-side unit took
    returned = plant["supply"] - plant["outdoor"]
    after = year.mean_w[LATE] - back.removal[LATE] / HOUR / returned
    mixed = (returned * after + plant["outdoor"] * 0.014) / plant["supply"]
    assert at(year, out.COIL_IN_W) == pytest.approx(mixed, rel=1e-9)
    assert supply.entering_humidity_ratio[LATE] == at(year, out.COIL_OUT_W)
    total = back.removal[LATE] + supply.removal[LATE]
    assert year.units[LATE] == pytest.approx(total, rel=1e-7)


def test_people_and_lights_do_not_change_which_air_a_unit_takes() -> None:
    """Dew point: standalone units see the space's own, at every hour, whatever the schedule of the gains."""
    gains = (
        PeopleGain("people", 30.0, 70.0, 45.0, DAY.astype(float)),
        HeatGain("lights", 3000.0, DAY.astype(float)),
    )
    site = steady_site(gains=gains, units=UNITS, targets=dry_limit(), air_handler=make_air_handler())
    prepared = prepare_quickly(site)
    year = simulate_hours(prepared=prepared, install=(Install(PRECOOL, "standalone", 1),))
    group = year.groups[0]
    seen = [
        float(dew_point(group.entering_dry_bulb[h], group.entering_humidity_ratio[h], SEA_LEVEL))
        for h in (4000, 4012)
    ]
    own = [float(dew_point(year.mean_t[h], year.mean_w[h], SEA_LEVEL)) for h in (4000, 4012)]
    assert seen == pytest.approx(own, abs=1e-5)
