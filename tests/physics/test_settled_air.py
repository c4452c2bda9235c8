"""Questions about air that two careful teams would settle differently: static pressure, streams, fans, the wet coil.

Each test names its question and fails if it were settled the other way. Sites are invented and steady; figures hold in
every hour, so one hour in the middle of the year is looked at.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from selector.decide.evaluate import evaluate, prepare_site
from selector.decide.limits import broken_before_simulation
from selector.inputs.site import ARRANGEMENTS, HOURS, HeatGain, Install, PeopleGain
from selector.physics import response as out
from selector.physics.arrangements import COIL_BYPASS, OUTDOOR_AIR, RETURN_SIDE, STANDALONE, SUPPLY_SIDE
from selector.physics.ducts import duct_pressure_drop
from selector.physics.hourly import simulate_hours
from selector.physics.moist_air import dew_point, enthalpy, relative_humidity, sensible_heat, volume
from selector.physics.part_load import TABLE_POINTS
from selector.physics.step import HOUR
from selector.physics.unit import performance
from tests.builders import flat
from tests.physics.sites_for_tests import (
    DAY,
    NIGHT,
    SEA_LEVEL,
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
LATE = 5000  # an hour long after the start
DUCT = ("return-side", "supply-side", "coil-bypass")


def dry_limit(**changes):
    """A limit that no unit here reaches, so that all run at full."""
    return (humidity_limit(0.25, **changes),)


def at(year, place: int, hour: int = LATE) -> float:
    return float(year.response[hour, place])


# ------------------------------------------------------------------------------------------------ static pressure


def test_both_taps_in_one_duct_cost_the_units_own_duct_alone():
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
def test_around_the_coil_a_unit_meets_the_whole_external_static(position):
    """Static on a unit: discharge tap less intake tap; around the air handler that is all of its external static."""
    handler = make_air_handler(external_static_pressure=150.0, fan_position=position)
    prepared = prepare_quickly(steady_site(air_handler=handler, units=UNITS, no_ducts=False))
    connection = prepared.connections[0, COIL_BYPASS]
    assert connection.static == 150.0 + connection.duct


def test_beyond_what_its_fan_holds_a_units_airflow_and_removal_fall():
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
def test_units_may_not_want_more_air_than_their_stream_has(arrangement, words):
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


def test_a_coil_colder_than_freezing_under_a_bypass_is_not_possible():
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
def test_the_air_handlers_total_airflow_stays(arrangement):
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


# ------------------------------------------------------------------------------------------------ fans are heat


@pytest.mark.parametrize("position", ["after-coil", "before-coil"])
def test_all_fan_power_is_heat_and_where_the_fan_stands_matters(position):
    """Fan heat: all of it, downstream of the coil for `after-coil`, into the coil's entering air for `before-coil`."""
    handler = make_air_handler(fan_position=position)
    found = run(steady_site(air_handler=handler))
    plant = found.prepared.plant
    mean_t, mean_w = found.year.mean_t[LATE], found.year.mean_w[LATE]
    share = plant["outdoor"] / plant["supply"]
    mixed = (1.0 - share) * enthalpy(mean_t, mean_w) + share * enthalpy(28.0, 0.014)
    before = enthalpy(at(found.year, out.COIL_IN_T), at(found.year, out.COIL_IN_W))
    gained = plant["fan_power"] / plant["supply"] if position == "before-coil" else 0.0
    assert before - mixed == pytest.approx(gained, abs=4e-4)  # J/kg; agreement found: 3.4e-4
    # what the coil took from the air, less the fan, is what the space got: nothing of the fan's power is lost
    heat = at(found.year, out.SYSTEM_HEAT)
    fresh = plant["outdoor"] * sensible_heat(0.014, 28.0, mean_t)
    on, off = at(found.year, out.COIL_SHARE), 1.0 - at(found.year, out.COIL_SHARE)
    supply = 0.0
    for part, dry_bulb, humidity in (
        (on, at(found.year, out.COIL_OUT_T), at(found.year, out.COIL_OUT_W)),
        (off, at(found.year, out.COIL_LOW_T), at(found.year, out.COIL_LOW_W)),
    ):
        supply += part * plant["supply"] * sensible_heat(humidity, dry_bulb, mean_t)
    fan = plant["fan_power"] if position == "after-coil" else 0.0
    assert heat == pytest.approx(supply + fan - fresh, rel=1e-9)


def test_a_units_fan_is_inside_its_power_and_counted_once():
    """Fan heat: a unit's own fan is part of its rated power; the space gets that power once, and the heat of
    condensing."""
    found = run(steady_site(units=UNITS, targets=dry_limit()), Install(PRECOOL, "standalone", 1))
    group, mean_t, mean_w = found.group(), found.year.mean_t[LATE], found.year.mean_w[LATE]
    result = performance(
        fitted()[PRECOOL].parameters, 1.0, mean_t, mean_w, SEA_LEVEL, 28.0, 0.014, mean_t, mean_w
    )
    _, flow, _, power, _, leaving, leaving_w, _ = result
    assert group.electricity[LATE] == pytest.approx(power * HOUR, rel=1e-6)
    heat = flow * sensible_heat(leaving_w, leaving, mean_t)
    assert at(found.year, out.UNIT_AIR_HEAT) == pytest.approx(heat, rel=1e-6)


# ------------------------------------------------------------------------------------------------ calling the fan


def night_site(**changes):
    """Ventilated by day; at night the fan cycles, the damper leaks, and it is humid and warm enough to cool."""
    handler = make_air_handler(ventilation=DAY.astype(float), damper_leakage=0.1, **changes)
    return steady_site(air_handler=handler, units=UNITS, dry_bulb=29.0, targets=dry_limit())


@pytest.mark.parametrize("arrangement", DUCT)
def test_a_called_fan_runs_for_the_longest_share_with_the_damper_shut(arrangement):
    """Called fan: the union of the shares that coil and units call it for, longest first, outdoor damper shut but for
    its leakage."""
    found = run(night_site(), Install(PRECOOL, arrangement, 1))
    night = np.flatnonzero(NIGHT)[-40:]
    fan, coil = found.column(out.FAN_SHARE)[night], found.column(out.COIL_SHARE)[night]
    units = np.minimum(found.group().running[night], 1.0)
    assert np.all(units == 1.0)
    assert np.all((coil > 0.02) & (coil < 0.98))
    np.testing.assert_allclose(fan, np.maximum(coil, units), rtol=1e-9)
    leaked = 0.1 * found.prepared.plant["outdoor"]
    np.testing.assert_allclose(found.column(out.VENTILATION)[night], fan * leaked, rtol=1e-9)


def test_a_share_called_by_units_is_charged_in_energy_and_heat_and_to_them():
    """Called fan: its share serves energy and heat alike, and the part beyond the coil's is the units'."""
    site = night_site()
    site = replace(site, targets=(humidity_limit(0.5, hours=NIGHT),))
    found = run(site, Install(PRECOOL, "return-side", 1))
    alone = run(site, Install(PRECOOL, "standalone", 1))
    night = np.flatnonzero(NIGHT)[-40:]
    plant = found.prepared.plant
    fan, coil = found.column(out.FAN_SHARE), found.column(out.COIL_SHARE)
    beyond = found.column(out.FAN_FROM_UNITS)
    part = (found.group().running > coil + 1e-6) & NIGHT
    assert part[night].any()
    np.testing.assert_allclose(beyond[part], (fan - coil)[part], atol=1e-9)
    np.testing.assert_allclose(found.year.fan, fan * plant["fan_power"] * HOUR, rtol=1e-12)
    # standalone units call no fan: it runs for the coil alone
    np.testing.assert_allclose(
        alone.column(out.FAN_SHARE)[night], alone.column(out.COIL_SHARE)[night], atol=1e-9
    )
    assert alone.column(out.FAN_FROM_UNITS).max() <= 1e-9
    assert beyond.sum() > 100.0


def test_a_fan_that_is_off_cannot_be_called():
    """Called fan: with `unoccupied_fan = "off"` duct units wait for the day, standalone units do not."""
    site = replace(night_site(unoccupied_fan="off"), gains=steady_gains(heat=0.0, vapour=2.0e-4))
    for arrangement in (*DUCT, "outdoor-air"):
        found = run(site, Install(PRECOOL, arrangement, 1))
        assert found.group().running[NIGHT].max() == 0.0, arrangement
        assert found.column(out.FAN_SHARE)[NIGHT].max() == 0.0
        assert found.group().running[DAY].min() > 0.0
    assert run(site, Install(PRECOOL, "standalone", 1)).group().running[NIGHT].min() > 0.0


# ------------------------------------------------------------------------------------------------ the wet coil


def test_the_wet_coil_gives_back_moisture_while_the_fan_runs_on():
    """Latent loss at part load: whenever the fan outlasts the coil; none where the fan stops with it."""
    gentle = make_air_handler(coil=make_coil(evaporation_ratio=0.5))  # gives back less than saturates the air
    runs_on = run(steady_site(air_handler=gentle, gains=steady_gains(heat=9000.0)))
    on = at(runs_on.year, out.COIL_SHARE)
    assert 0.3 < on < 0.9
    assert at(runs_on.year, out.COIL_LOW_W) > at(runs_on.year, out.COIL_IN_W) + 1e-5
    assert at(runs_on.year, out.COIL_LOW_T) < at(runs_on.year, out.COIL_IN_T) - 0.1
    condensed = (
        on
        * at(runs_on.year, out.COIL_AIR)
        * (at(runs_on.year, out.COIL_IN_W) - at(runs_on.year, out.COIL_OUT_W))
    )
    kept = at(runs_on.year, out.COIL_REMOVED)
    back = at(runs_on.year, out.GIVEN_BACK)
    assert kept == pytest.approx(condensed - back, rel=1e-9)
    # Henderson and Rengarajan at this runtime, through the table the site is prepared with
    table = runs_on.prepared.plant["part_load"]
    law = np.interp(on * (table.size - 1), np.arange(table.size), table)
    assert 0.1 < law < 0.95
    assert kept / condensed == pytest.approx(law, rel=1e-6)

    handler = make_air_handler(ventilation=np.zeros(HOURS))
    stops = run(steady_site(air_handler=handler, gains=steady_gains(heat=6000.0)))
    assert 0.0 < at(stops.year, out.COIL_SHARE) < 1.0
    assert at(stops.year, out.FAN_SHARE) == pytest.approx(at(stops.year, out.COIL_SHARE), abs=1e-9)
    assert at(stops.year, out.GIVEN_BACK) == 0.0


def test_the_wet_coil_gives_back_no_more_than_saturates_the_air():
    """Latent loss at part load: the off-cycle air takes up what it can carry, which caps what the law gives back."""
    found = run(steady_site(air_handler=make_air_handler(), gains=steady_gains(heat=12000.0)))
    full = relative_humidity(at(found.year, out.COIL_LOW_T), at(found.year, out.COIL_LOW_W), SEA_LEVEL)
    assert full == pytest.approx(1.0, abs=1e-6)
    assert at(found.year, out.COIL_REMOVED) > 0.0


def test_cycling_is_as_often_as_the_site_says():
    """Latent loss at part load: three starts an hour at half load means 600 s on and 600 s off, in the site's units."""
    # gamma 0.5, wetting time 1200 s, no slow start: (600 - 281.25) / 600 = 0.53125 at half load, by hand in
    # tests/published/test_part_load.py
    coil = make_coil(wetting_time=1200.0, evaporation_ratio=0.5, time_constant=0.0, cycling_rate=3.0 / 3600.0)
    prepared = prepare_quickly(steady_site(air_handler=make_air_handler(coil=coil)))
    assert prepared.plant["part_load"][TABLE_POINTS // 2] == pytest.approx(0.53125, rel=1e-12)


def test_a_fan_that_a_unit_called_dries_the_coil_too():
    """Latent loss at part load: also when it was a unit that called the fan beyond the coil's share."""
    handler = make_air_handler(ventilation=np.zeros(HOURS))
    site = steady_site(air_handler=handler, units=UNITS, targets=dry_limit(), gains=steady_gains(heat=6000.0))
    called = run(site, Install(PRECOOL, "return-side", 1))
    alone = run(site, Install(PRECOOL, "standalone", 1))
    assert at(called.year, out.FAN_SHARE) == 1.0
    assert 0.3 < at(called.year, out.COIL_SHARE) < 0.97
    assert at(called.year, out.GIVEN_BACK) > 0.0
    assert at(alone.year, out.GIVEN_BACK) == 0.0


def test_supply_side_units_see_what_the_coil_gives_back():
    """Latent loss at part load: the moisture given back is in the off-cycle air that supply-side units take in."""
    site = steady_site(
        air_handler=make_air_handler(), units=UNITS, targets=dry_limit(), gains=steady_gains(heat=6000.0)
    )
    found = run(site, Install(ROTOR, "supply-side", 1))
    group = found.group()
    assert at(found.year, out.GIVEN_BACK) > 0.0
    assert group.off_entering_humidity_ratio[LATE] == at(found.year, out.COIL_LOW_W)
    assert group.off_entering_humidity_ratio[LATE] > at(found.year, out.COIL_IN_W)


# ------------------------------------------------------------------------------------------------ supply-side


@pytest.mark.parametrize("heat", [6000.0, 11000.0], ids=["first stage", "second stage"])
@pytest.mark.parametrize("model", [PRECOOL, ROTOR])
def test_supply_side_is_evaluated_at_both_coil_states_and_weighted_by_time(model, heat):
    """Supply-side units: removal and power at the coil's two states, weighted by time, never at the mean state."""
    coil = make_coil(stages=2)
    site = steady_site(
        air_handler=make_air_handler(coil=coil),
        units=UNITS,
        targets=dry_limit(),
        gains=steady_gains(heat=heat),
    )
    found = run(site, Install(model, "supply-side", 1))
    group, year = found.group(), found.year
    assert at(year, out.COIL_STAGE) == (1.0 if heat < 1e4 else 2.0)
    on = at(year, out.COIL_SHARE) / at(year, out.FAN_SHARE)
    assert 0.05 < on < 0.95
    plant = found.prepared.plant
    row = fitted()[model].parameters

    def work(dry_bulb: float, humidity: float) -> np.ndarray:
        space = (year.mean_t[LATE], year.mean_w[LATE])
        result = performance(row, 1.0, dry_bulb, humidity, SEA_LEVEL, 28.0, 0.014, *space)
        return np.array([result[2] * HOUR, result[3] * HOUR])

    states = []
    for dry_bulb, humidity in (
        (at(year, out.COIL_OUT_T), at(year, out.COIL_OUT_W)),
        (at(year, out.COIL_LOW_T), at(year, out.COIL_LOW_W)),
    ):
        warmed = plant["fan_power"] / plant["supply"] / sensible_heat(humidity, 1.0, 0.0)
        states.append((dry_bulb + warmed, humidity))
    both = on * work(*states[0]) + (1.0 - on) * work(*states[1])
    assert (group.removal[LATE], group.electricity[LATE]) == pytest.approx(both, rel=1e-6)
    assert year.units[LATE] == pytest.approx(both[0], rel=1e-6)
    mean = work(*(on * np.array(states[0]) + (1.0 - on) * np.array(states[1])))
    assert abs(mean[0] / both[0] - 1.0) > 1e-4


# ------------------------------------------------------------------------------------------------ outdoor air


def test_outdoor_air_units_follow_the_spaces_humidistat_and_the_ventilation():
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


def test_too_little_outdoor_air_lowers_the_entering_flow_and_not_power_pro_rata():
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


def test_reactivation_air_from_the_space_counts_in_the_buildings_air_balance():
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
def test_surplus_of_outdoor_air_offsets_infiltration_and_deficit_adds_to_it(exhaust):
    """Air balance: outdoor air beyond the exhaust keeps infiltration out, exhaust beyond outdoor air adds to it."""
    site = steady_site(air_handler=make_air_handler(outdoor_airflow=0.25), space={"exhaust_airflow": exhaust})
    found = run(site)
    density = found.prepared.plant["density"]
    leak = found.prepared.hours["infiltration"][LATE]
    surplus = (0.25 - exhaust) * density
    expected = max(0.0, leak - surplus) if surplus > 0.0 else leak - surplus
    assert at(found.year, out.INFILTRATION) == pytest.approx(expected, rel=1e-9, abs=1e-15)


def test_what_units_of_each_arrangement_take_in():
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


def test_with_several_arrangements_the_stream_passes_return_coil_supply():
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


def test_people_and_lights_do_not_change_which_air_a_unit_takes():
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
