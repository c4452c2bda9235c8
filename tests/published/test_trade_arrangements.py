"""What the trade knows about where a dehumidifier is connected: common practice, no source, each marked so.

They are windows, not targets to tune to: an invented steady site, the shipped units, and the fact.
"""

from __future__ import annotations

import numpy as np
import pytest

from selector.inputs.site import Install, Site
from selector.physics import response as out
from selector.physics.moist_air import WATER_HEAT, dew_point, enthalpy, relative_humidity, volume
from selector.physics.step import HOUR
from selector.physics.unit import performance
from tests.builders import flat
from tests.physics.sites_for_tests import (
    DAY,
    NIGHT,
    SEA_LEVEL,
    Run,
    general_units,
    humidity_limit,
    make_air_handler,
    make_coil,
    ratio,
    run,
    steady_gains,
    steady_site,
)
from tests.physics.units_for_tests import fitted, general

COMPRESSOR, PRECOOL, ROTOR = "compressor-120", "precool-120", "rotor-90"
UNITS = general_units(COMPRESSOR, PRECOOL, ROTOR)
ALL_OUT = (humidity_limit(0.25),)  # low enough that every unit runs all the time
LATE = 5000


def at(found: Run, place: int) -> float:
    return float(found.year.response[LATE, place])


def taken(found: Run) -> float:
    """Moisture that coil and units take together in one hour [kg]."""
    return float(found.year.coil[LATE] + found.year.units[LATE])


def busy_site() -> Site:
    """A coil that runs all the time and does not reach its set point."""
    return steady_site(
        air_handler=make_air_handler(coil=make_coil(total_capacity=26000.0)),
        units=UNITS,
        targets=ALL_OUT,
        dry_bulb=33.0,
        outdoor_ratio=0.016,
        gains=steady_gains(heat=11000.0, vapour=2.5e-3),
        space={"cooling_setpoint": flat(22.0)},
    )


def idle_site() -> Site:
    """The same air handler with nothing to cool: the fan runs, the coil does not."""
    return steady_site(
        air_handler=make_air_handler(),
        units=UNITS,
        targets=ALL_OUT,
        dry_bulb=20.0,
        outdoor_ratio=0.012,
        gains=steady_gains(heat=0.0, vapour=1.0e-3),
        space={"heat_loss": 3000.0, "cooling_setpoint": flat(30.0), "heating_setpoint": flat(15.0)},
    )


@pytest.mark.parametrize("model", [COMPRESSOR, PRECOOL, ROTOR])
def test_upstream_of_a_running_coil_a_unit_takes_what_the_coil_would_have_taken(model: str) -> None:
    # common practice, no source: at steady full runtime the net gain is well below the removal, and below that of the
    # same unit standalone
    site = busy_site()
    alone, upstream, standalone = (
        run(site, *parts)
        for parts in ((), (Install(model, "return-side", 1),), (Install(model, "standalone", 1),))
    )
    for found in (alone, upstream, standalone):
        assert at(found, out.COIL_SHARE) == 1.0
    removal = upstream.year.units[LATE]
    assert removal > 3.7  # found: 4.7, 4.7 and 3.7 kg/h
    # Found: -14, -7 and -8 % of the removal. This coil has nothing left: the heat that the unit gives back, its power
    # with it, costs more of the coil's moisture than the unit takes. Standalone 10, 16 and 16 %.
    net, of_standalone = (
        (taken(found) - taken(alone)) / found.year.units[LATE] for found in (upstream, standalone)
    )
    assert -0.14 < net < -0.07
    assert of_standalone > 0.09
    # moisture swapped for heat: the space gets warmer; found: 1.0 to 1.7 K
    assert upstream.year.mean_t[LATE] > alone.year.mean_t[LATE] + 1.0


@pytest.mark.parametrize("model", [COMPRESSOR, PRECOOL, ROTOR])
def test_upstream_of_an_idle_coil_a_unit_keeps_all_that_it_takes(model: str) -> None:
    # common practice, no source: with the coil off the net gain equals the removal
    site = idle_site()
    upstream, alone = run(site, Install(model, "return-side", 1)), run(site, Install(model, "standalone", 1))
    assert at(upstream, out.COIL_SHARE) == 0.0
    assert taken(upstream) == pytest.approx(upstream.year.units[LATE], rel=1e-12)
    # agreement found: exact; the same unit on the same air, whether in the return duct or in the room
    assert upstream.year.units[LATE] == pytest.approx(alone.year.units[LATE], rel=1e-12)


@pytest.mark.parametrize("model", [COMPRESSOR, PRECOOL, ROTOR])
def test_downstream_a_unit_takes_nothing_from_the_coil(model: str) -> None:
    # common practice, no source: the coil's own entering air is touched by way of the space alone
    site = busy_site()
    downstream = run(site, Install(model, "supply-side", 1))
    plant = downstream.prepared.plant
    # the coil takes in the space's own air mixed with outdoor air, drier by nothing that the unit took
    share = plant["outdoor"] / plant["supply"]
    mixed = (1.0 - share) * downstream.year.mean_w[LATE] + share * 0.016
    assert at(downstream, out.COIL_IN_W) == pytest.approx(mixed, rel=1.2e-9)  # found: 1.1e-9
    upstream = run(site, Install(model, "return-side", 1))
    assert taken(downstream) > taken(upstream)
    assert downstream.year.mean_w[LATE] < upstream.year.mean_w[LATE]


def test_on_the_colder_air_downstream_refrigerant_loses_more_than_desiccant() -> None:
    # common practice, no source: how much a unit loses on cold, nearly saturated air depends on its technology. From
    # the traditional rating state, 80 °F and 60 %, to air as it leaves a coil, 55 °F and 95 %.
    rating, cold = (26.67, ratio(26.67, 0.60)), (12.78, ratio(12.78, 0.95))
    kept = {}
    for model in (COMPRESSOR, PRECOOL, ROTOR):
        row = fitted()[model].parameters
        removal = [performance(row, 1.0, *state, SEA_LEVEL, *rating, *rating)[2] for state in (cold, rating)]
        kept[model] = removal[0] / removal[1]
    # found: 0.845, 0.838 and 0.918
    assert max(kept[COMPRESSOR], kept[PRECOOL]) < 0.925 * kept[ROTOR]


@pytest.mark.parametrize("model", [COMPRESSOR, PRECOOL, ROTOR])
def test_downstream_a_unit_works_on_the_coils_cold_air(model: str) -> None:
    # common practice, no source: while the coil runs, air enters at 55 to 65 °F and close to saturation
    site = steady_site(
        air_handler=make_air_handler(coil=make_coil(sensible_heat_ratio=0.74), outdoor_airflow=0.15),
        units=UNITS,
        targets=(humidity_limit(0.5),),
        dry_bulb=33.0,
        outdoor_ratio=0.016,
        gains=steady_gains(heat=12000.0, vapour=1.5e-3),
    )
    found = run(site, Install(model, "supply-side", 1))
    group = found.group()
    entering = (float(group.entering_dry_bulb[LATE]), float(group.entering_humidity_ratio[LATE]))
    assert at(found, out.COIL_SHARE) > 0.5
    assert group.running[LATE] > 0.0
    assert 55.0 <= 32.0 + 1.8 * entering[0] <= 65.0
    assert relative_humidity(*entering, SEA_LEVEL) > 0.85


def test_around_the_coil_a_unit_keeps_its_entering_air_and_costs_the_coil_airflow() -> None:
    # common practice, no source: entering air as good as in the return, a colder coil, less sensible cooling
    site = busy_site()
    around, alone = (run(site, Install(COMPRESSOR, where, 1)) for where in ("coil-bypass", "standalone"))
    group = around.group()
    entering = (group.entering_dry_bulb[LATE], group.entering_humidity_ratio[LATE])
    assert entering == pytest.approx((around.year.mean_t[LATE], around.year.mean_w[LATE]), rel=2.3e-9)
    plant = around.prepared.plant
    share = plant["outdoor"] / at(around, out.COIL_AIR)
    mixed = (1.0 - share) * around.year.mean_w[LATE] + share * 0.016
    assert at(around, out.COIL_IN_W) == pytest.approx(mixed, rel=1.6e-9)
    # the coil's airflow falls by the unit's own
    own = fitted()[COMPRESSOR].unit.airflow / volume(*entering, SEA_LEVEL)
    assert at(alone, out.COIL_AIR) - at(around, out.COIL_AIR) == pytest.approx(own, rel=1e-14)
    assert at(around, out.SURFACE_T) < at(alone, out.SURFACE_T)

    def sensible(found: Run) -> float:
        dry_bulb = at(found, out.COIL_IN_T) - at(found, out.COIL_OUT_T)
        return at(found, out.COIL_AIR) * 1006.0 * dry_bulb

    assert sensible(around) < 0.98 * sensible(alone)  # found: 0.974


def test_around_a_coil_near_its_capacity_more_hours_are_too_warm() -> None:
    # common practice, no source: against the same unit standalone, both at no external static pressure to speak of
    swing = 29.0 + 7.0 * np.sin(np.arange(8760) / 24.0 * 2.0 * np.pi) + 3.0 * np.sin(np.arange(8760) / 1500.0)
    site = steady_site(
        air_handler=make_air_handler(
            coil=make_coil(total_capacity=14000.0),
            supply_airflow=0.75,
            outdoor_airflow=0.2,
            external_static_pressure=60.0,
        ),
        units=UNITS,
        targets=ALL_OUT,
        dry_bulb=swing,
        outdoor_ratio=0.014,
        gains=steady_gains(heat=4000.0, vapour=1.0e-3),
    )
    around, alone, none = (
        run(site, *parts)
        for parts in ((Install(COMPRESSOR, "coil-bypass", 1),), (Install(COMPRESSOR, "standalone", 1),), ())
    )
    warm = [int(found.year.warm.sum()) for found in (around, alone, none)]
    assert warm[0] > warm[1] > warm[2]


@pytest.mark.parametrize(("stages", "capacity", "share"), [(1, 30000.0, 0.75), (2, 33000.0, 0.74)])
def test_air_leaves_a_running_coil_cold_and_close_to_saturation(
    stages: int, capacity: float, share: float
) -> None:
    # common practice, no source: 55 to 65 °F while the coil runs, relative humidity above 85 %
    coil = make_coil(total_capacity=capacity, sensible_heat_ratio=share, stages=stages)
    site = steady_site(
        air_handler=make_air_handler(coil=coil),
        dry_bulb=33.0,
        outdoor_ratio=0.015,
        gains=steady_gains(heat=15000.0, vapour=1.5e-3),
    )
    found = run(site)
    leaving, humidity = at(found, out.COIL_OUT_T), at(found, out.COIL_OUT_W)
    assert at(found, out.COIL_STAGE) == stages
    assert 55.0 <= 32.0 + 1.8 * leaving <= 65.0
    assert relative_humidity(leaving, humidity, SEA_LEVEL) > 0.85


@pytest.mark.parametrize("model", [COMPRESSOR, PRECOOL, ROTOR])
def test_an_independent_unit_sees_the_spaces_own_dew_point(model: str) -> None:
    # common practice, no source: the highest dew point that any arrangement offers indoors, a unit holding its limit
    # beside a coil that runs most of the time
    site = steady_site(
        air_handler=make_air_handler(coil=make_coil(total_capacity=26000.0), outdoor_airflow=0.15),
        units=UNITS,
        targets=(humidity_limit(0.53),),
        dry_bulb=33.0,
        outdoor_ratio=0.016,
        gains=steady_gains(heat=9000.0, vapour=1.5e-3),
    )
    seen = {}
    for arrangement in ("standalone", "return-side", "supply-side", "coil-bypass"):
        found = run(site, Install(model, arrangement, 1))
        group = found.group()
        assert at(found, out.COIL_SHARE) > 0.6
        assert group.running[LATE] > 0.0
        entering = float(
            dew_point(group.entering_dry_bulb[LATE], group.entering_humidity_ratio[LATE], SEA_LEVEL)
        )
        own = float(dew_point(found.year.mean_t[LATE], found.year.mean_w[LATE], SEA_LEVEL))
        seen[arrangement] = entering - own
    assert seen["standalone"] == pytest.approx(0.0, abs=1.7e-9)  # found: 1.6e-9 K
    assert max(seen.values()) <= 2.4e-9  # found: 2.3e-9 K
    assert seen["supply-side"] < -1.0  # found: -1.0 to -1.2 K


def test_an_independent_unit_works_while_the_air_handler_is_off() -> None:
    # common practice, no source: an independent unit runs at night
    handler = make_air_handler(ventilation=DAY.astype(float), unoccupied_fan="off")
    site = steady_site(
        air_handler=handler, units=UNITS, targets=(humidity_limit(0.5),), dry_bulb=24.0, outdoor_ratio=0.015,
        gains=steady_gains(heat=0.0, vapour=3.0e-4),
    )  # fmt: skip
    alone, upstream = (run(site, Install(PRECOOL, where, 1)) for where in ("standalone", "return-side"))
    assert alone.group().removal[NIGHT].sum() > 14300.0  # found: 14,377 kg a year
    assert upstream.group().removal[NIGHT].sum() == 0.0


def test_upstream_connection_suits_spaces_whose_unit_and_coil_seldom_run_together() -> None:
    # common practice, no source: halls used a few hours a week. The more of the time the coil runs, the less of what an
    # upstream unit takes is gained.
    gained = {}
    for name, site in (("seldom", idle_site()), ("always", busy_site())):
        alone, upstream = run(site), run(site, Install(PRECOOL, "return-side", 1))
        gained[name] = (taken(upstream) - taken(alone)) / upstream.year.units[LATE]
    assert gained["seldom"] == pytest.approx(1.0, rel=1e-12)  # found: exact
    assert gained["always"] < -0.07  # found: -0.072


def test_a_units_fan_holds_full_capacity_to_about_half_an_inch_of_water() -> None:
    # common practice, no source: duct units hold their airflow to 0.3 to 0.6 in. w.g. of external static; the larger
    # and dearer ones of the shipped, invented catalogue to more
    inches = [unit.fan_static / 249.08891 for unit in general().units]
    assert min(inches) >= 0.3
    assert 0.3 <= float(np.median(inches)) <= 0.6


def test_all_that_a_unit_condenses_comes_back_as_heat() -> None:
    # common practice, no source: with its power, exactly
    site = idle_site()
    found = run(site, Install(COMPRESSOR, "standalone", 1))
    group = found.group()
    assert group.running[LATE] == 1.0
    condensed, power = group.removal[LATE], group.electricity[LATE]
    heat = at(found, out.UNIT_AIR_HEAT) * HOUR
    # the vapour's own heat at the entering dry bulb, less what the condensate takes along at the surface's temperature
    entering = (group.entering_dry_bulb[LATE], group.entering_humidity_ratio[LATE])
    surface = performance(fitted()[COMPRESSOR].parameters, 1.0, *entering, SEA_LEVEL, *entering, *entering)[7]
    vapour = enthalpy(entering[0], 2.0) - enthalpy(entering[0], 1.0)
    # found: 1e-15, 2.514 MJ/kg
    assert (heat - power) / condensed == pytest.approx(vapour - WATER_HEAT * surface, rel=1e-14)
