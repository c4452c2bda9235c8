"""Questions about fans, the wet coil and the units behind it that two careful teams would settle differently.

Each test names its question and fails if it were settled the other way. Sites are invented and steady; figures hold in
every hour, so one hour in the middle of the year is looked at.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal

import numpy as np
import pytest

from selector.inputs.site import HOURS, Arrangement, Install, Site
from selector.physics import response as out
from selector.physics.moist_air import enthalpy, relative_humidity, sensible_heat
from selector.physics.part_load import TABLE_POINTS
from selector.physics.step import HOUR
from selector.physics.unit import performance
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
    run,
    steady_gains,
    steady_site,
)
from tests.physics.units_for_tests import fitted

PRECOOL, ROTOR = "precool-120", "rotor-90"
UNITS = general_units(PRECOOL, ROTOR)
DUCT: tuple[Arrangement, ...] = ("return-side", "supply-side", "coil-bypass")


# ------------------------------------------------------------------------------------------------ fans are heat


@pytest.mark.parametrize("position", ["after-coil", "before-coil"])
def test_all_fan_power_is_heat_and_where_the_fan_stands_matters(
    position: Literal["after-coil", "before-coil"],
) -> None:
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


def test_a_units_fan_is_inside_its_power_and_counted_once() -> None:
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


def night_site(**changes: Any) -> Site:
    """Ventilated by day; at night the fan cycles, the damper leaks, and it is humid and warm enough to cool."""
    handler = make_air_handler(ventilation=DAY.astype(float), damper_leakage=0.1, **changes)
    return steady_site(air_handler=handler, units=UNITS, dry_bulb=29.0, targets=dry_limit())


@pytest.mark.parametrize("arrangement", DUCT)
def test_a_called_fan_runs_for_the_longest_share_with_the_damper_shut(arrangement: Arrangement) -> None:
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


def test_a_share_called_by_units_is_charged_in_energy_and_heat_and_to_them() -> None:
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


def test_a_fan_that_is_off_cannot_be_called() -> None:
    """Called fan: with `unoccupied_fan = "off"` duct units wait for the day, standalone units do not."""
    site = replace(night_site(unoccupied_fan="off"), gains=steady_gains(heat=0.0, vapour=2.0e-4))
    for arrangement in (*DUCT, "outdoor-air"):
        found = run(site, Install(PRECOOL, arrangement, 1))
        assert found.group().running[NIGHT].max() == 0.0, arrangement
        assert found.column(out.FAN_SHARE)[NIGHT].max() == 0.0
        assert found.group().running[DAY].min() > 0.0
    assert run(site, Install(PRECOOL, "standalone", 1)).group().running[NIGHT].min() > 0.0


# ------------------------------------------------------------------------------------------------ the wet coil


def test_the_wet_coil_gives_back_moisture_while_the_fan_runs_on() -> None:
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


def test_the_wet_coil_gives_back_no_more_than_saturates_the_air() -> None:
    """Latent loss at part load: the off-cycle air takes up what it can carry, which caps what the law gives back."""
    found = run(steady_site(air_handler=make_air_handler(), gains=steady_gains(heat=12000.0)))
    full = relative_humidity(at(found.year, out.COIL_LOW_T), at(found.year, out.COIL_LOW_W), SEA_LEVEL)
    assert full == pytest.approx(1.0, abs=1e-6)
    assert at(found.year, out.COIL_REMOVED) > 0.0


def test_cycling_is_as_often_as_the_site_says() -> None:
    """Latent loss at part load: three starts an hour at half load means 600 s on and 600 s off, in the site's units."""
    # gamma 0.5, wetting time 1200 s, no slow start: (600 - 281.25) / 600 = 0.53125 at half load, by hand in
    # tests/published/test_part_load.py
    coil = make_coil(wetting_time=1200.0, evaporation_ratio=0.5, time_constant=0.0, cycling_rate=3.0 / 3600.0)
    prepared = prepare_quickly(steady_site(air_handler=make_air_handler(coil=coil)))
    assert prepared.plant["part_load"][TABLE_POINTS // 2] == pytest.approx(0.53125, rel=1e-12)


def test_a_fan_that_a_unit_called_dries_the_coil_too() -> None:
    """Latent loss at part load: also when it was a unit that called the fan beyond the coil's share."""
    handler = make_air_handler(ventilation=np.zeros(HOURS))
    site = steady_site(air_handler=handler, units=UNITS, targets=dry_limit(), gains=steady_gains(heat=6000.0))
    called = run(site, Install(PRECOOL, "return-side", 1))
    alone = run(site, Install(PRECOOL, "standalone", 1))
    assert at(called.year, out.FAN_SHARE) == 1.0
    assert 0.3 < at(called.year, out.COIL_SHARE) < 0.97
    assert at(called.year, out.GIVEN_BACK) > 0.0
    assert at(alone.year, out.GIVEN_BACK) == 0.0


def test_supply_side_units_see_what_the_coil_gives_back() -> None:
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
def test_supply_side_is_evaluated_at_both_coil_states_and_weighted_by_time(model: str, heat: float) -> None:
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
