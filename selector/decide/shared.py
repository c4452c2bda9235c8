"""The year shared: a design follows a common trajectory but for the hours in which it runs out of units.

While a design holds the humidistat's set point, what happens depends on how many units run, not on how many there
are. So all designs with the same lead model in the same arrangement share one trajectory, simulated once with as many
of it as the limits allow. A design leaves it in the first hour that calls more units than it has, is simulated from
the trajectory's own state, and returns to it when its state is the same again, to the bit: hours start from rounded
states (`year.rounded`). The result is the plain simulation's but for the order in which sums are added up.

Units: °C, kg/kg, currency; `place` counts the hours of warm-up and year.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from selector.inputs.site import HOURS, FloatArray, Install
from selector.physics.air_handler import FAN_RUNS, Now, Plant
from selector.physics.arrangements import Groups, IntArray
from selector.physics.compiled import compiled
from selector.physics.humidistat import CALLED, IDLE, MODE, SATURATED, can_run, wettest_end
from selector.physics.prepare import Prepared, groups_of
from selector.physics.step import HOUR
from selector.physics.year import (
    ABOVE_LIMIT,
    COIL_FROST,
    FINISHED,
    HOUR_COST,
    IS_FROST,
    IS_WARM,
    TOO_DEAR,
    TOO_WARM,
    WARM_UP,
    WORK,
    Workspace,
    advance,
    hour_of,
    set_point,
    start_state,
    workspace,
)

PLACES = WARM_UP + HOURS
NO_LIMIT = 1e300
UNABLE = -1.0  # called of an hour in which the lead has no air, but units of another arrangement may

# columns of a trajectory's running sums
COST, WARM_HOURS, FROST_HOURS, ABOVE = range(4)  # ABOVE is the first of the limits'


@dataclass(frozen=True, slots=True, eq=False)
class Trajectory:
    """One common year."""

    starts: FloatArray  # (PLACES + 1, 2) °C and kg/kg at the start of each hour
    called: FloatArray  # (PLACES,) unit-hours of the lead called; infinite where they did not suffice, or not known;
    # UNABLE where it could not be called
    sums: FloatArray  # (PLACES + 1, ABOVE + L) running sums over the year's hours before each place


@dataclass(frozen=True, slots=True)
class Followed:
    """How far a design was followed and what came of it."""

    ended: int  # FINISHED or what stopped it
    cost: float  # currency: fixed amount and present value of energy so far
    above: tuple[int, ...]  # hours above each limit so far
    warm: int  # hours too warm so far
    simulated: float  # hours' work, without those shared


@compiled
def trace_tables(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    groups: Groups,
    counts: IntArray,
    lead: int,
    first: int,
    space: Workspace,
    starts: FloatArray,
    called: FloatArray,
    sums: FloatArray,
) -> float:
    """Simulate the common year; see `trace`.

    Args: as `advance`; lead, the group that leads, -1 for none; first, hour of the year at which the year starts;
        starts [°C, kg/kg], called [unit-hours] and sums are filled, as in `Trajectory`.
    Returns: work [h], as `year.WORK` counts it.
    """
    simulated = 0.0
    for place in range(called.size):
        hour = hour_of(place, first)
        starts[place + 1, 0], starts[place + 1, 1] = advance(
            plant, hours, wet, limit_rh, limit_w, groups, counts, hour, starts[place, 0],
            starts[place, 1], space,
        )  # fmt: skip
        if lead < 0:
            called[place] = 0.0
        elif _unable(plant, hours[hour], wet[hour], groups, lead, starts[place, 0], starts[place, 1], space):
            called[place] = UNABLE
        else:
            called[place] = _called(groups, space, lead)
        for column in range(sums.shape[1]):
            sums[place + 1, column] = sums[place, column]
        if place >= WARM_UP:
            sums[place + 1, COST] += space.sums[HOUR_COST]
            sums[place + 1, WARM_HOURS] += space.sums[IS_WARM]
            sums[place + 1, FROST_HOURS] += space.sums[IS_FROST]
            for k in range(space.above.size):
                sums[place + 1, ABOVE + k] += space.above[k]
        simulated += space.sums[WORK]
    return simulated


@compiled
def _called(groups: Groups, space: Workspace, group: int) -> float:
    """Units of a group with which the hour would have gone as it did."""
    if space.moisture[MODE] == SATURATED:
        return math.inf
    return space.moisture[CALLED] if groups[group].running > 0.0 else 0.0


@compiled
def _unable(
    plant: Plant,
    now: Now,
    wet: FloatArray,
    groups: Groups,
    lead: int,
    start_t: float,
    start_w: float,
    space: Workspace,
) -> bool:
    """Whether the humidistat may have called the lead in an hour in which it has no air."""
    if space.sums[WORK] < 1.0 or space.moisture[MODE] != IDLE or can_run(plant, now, groups, lead):
        return False
    set_w = set_point(now, start_t)
    return set_w < np.inf and wettest_end(plant, now, wet, start_w) > set_w


@compiled
def _waits(groups: Groups, counts: IntArray) -> bool:
    """Whether some groups of a design have air in hours in which others have none."""
    for i in range(1, counts.size):
        if groups[i].fan != groups[0].fan or (
            groups[i].fan == 0 and groups[i].arrangement != groups[0].arrangement
        ):
            return True
    return False


def unavoidable(*, prepared: Prepared) -> FloatArray:
    """What every design still has to pay from each place on: the fan's energy while ventilation is open.

    Args: prepared.
    Returns: present value (PLACES + 1,) [currency], in the prices that the loop adds up.
    """
    plant, hours = prepared.plant, prepared.hours
    runs = (hours["ventilation"] > 0.0) | (plant["unoccupied_fan"] == FAN_RUNS)
    cost = (
        np.where(runs & (plant["has_air_handler"] == 1), plant["fan_power"], 0.0)
        * HOUR
        * hours["electricity"]
    )
    along = np.zeros(PLACES)
    along[WARM_UP:] = np.roll(cost, -prepared.first_hour)
    # a little less, so that the order in which sums are added up cannot matter
    return np.append(np.cumsum(along[::-1])[::-1], 0.0) * (1.0 - 1e-9)


def blank(*, prepared: Prepared, start: tuple[float, float] | None = None) -> Trajectory:
    """Room for a common year of which nothing is known: a design that follows it shares nothing.

    Args: prepared; start [°C, kg/kg], the site's own where None.
    Returns: `Trajectory` with the start state and no hours.
    """
    limits = prepared.limit_rh.shape[0]
    starts = np.full((PLACES + 1, 2), np.nan)
    starts[0] = start_state(prepared=prepared) if start is None else start
    return Trajectory(
        starts,
        np.full(PLACES, np.inf),
        np.zeros((PLACES + 1, ABOVE + limits)),
    )


def trace(
    *, prepared: Prepared, install: tuple[Install, ...], lead: int, into: Trajectory | None = None
) -> tuple[Trajectory, float]:
    """Simulate the common year of all designs that lead with one model in one arrangement.

    Args: prepared; install in lead order: units that are there already and run first, then the lead with as many as
        the limits allow; lead, its place in `install`, or -1 for the existing system alone; into, blank arrays to
        fill.
    Returns: `Trajectory`, and the work that it took [h].
    """
    groups, counts = groups_of(prepared=prepared, install=install)
    one = blank(prepared=prepared) if into is None else into
    simulated = trace_tables(
        *tables(prepared), groups, counts, lead, prepared.first_hour,
        workspace(limits=prepared.limit_rh.shape[0]), one.starts, one.called, one.sums,
    )  # fmt: skip
    return one, float(simulated)


def tables(prepared: Prepared) -> tuple[Any, Any, Any, Any, Any]:
    """The site's tables in the order in which the compiled functions take them.

    Args: prepared.
    Returns: plant, hours, wet surfaces and limits.
    """
    return (
        prepared.plant, prepared.hours, prepared.wet, prepared.limit_rh, prepared.limit_w,
    )  # fmt: skip


@compiled
def _judge(sums: FloatArray, still: float, cost_limit: float, warm_limit: float, allowed: FloatArray) -> int:
    """What stops a design with these sums and what it cannot avoid spending still, or FINISHED."""
    if sums[FROST_HOURS] > 0.0:
        return COIL_FROST
    for k in range(allowed.size):
        if sums[ABOVE + k] > allowed[k]:
            return ABOVE_LIMIT
    if sums[WARM_HOURS] > warm_limit:
        return TOO_WARM
    if sums[COST] + still > cost_limit:
        return TOO_DEAR
    return FINISHED


@compiled
def follow_tables(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    groups: Groups,
    counts: IntArray,
    first: int,
    space: Workspace,
    starts: FloatArray,
    called: FloatArray,
    shared: FloatArray,
    still: FloatArray,
    has: float,
    cost_limit: float,
    warm_limit: float,
    allowed: FloatArray,
    sums: FloatArray,
) -> tuple[int, float]:
    """Follow a design along a trajectory; see `follow`.

    Args: as `advance`; first, hour of the year at which the year starts; starts [°C, kg/kg], called [unit-hours],
        shared (its `sums`) as in `Trajectory`; still (PLACES + 1,) [currency] as `unavoidable`; has, units
        of the lead; cost_limit [currency], warm_limit [h] and allowed (L,) [h], above which the design is stopped;
        sums, filled.
    Returns: FINISHED or what stopped it; work [h], as `year.WORK` counts it.
    """
    place = 0
    simulated = 0.0
    waits = _waits(groups, counts)
    while place < called.size:
        end = place
        while end < called.size and called[end] <= has and not (waits and called[end] == UNABLE):
            end += 1
        for column in range(sums.size):
            sums[column] += shared[end, column] - shared[place, column]
        ended = _judge(sums, still[end], cost_limit, warm_limit, allowed)
        if ended != FINISHED or end == called.size:
            return ended, simulated
        place = end
        state_t, state_w = starts[place, 0], starts[place, 1]
        while place < called.size:
            state_t, state_w = advance(
                plant, hours, wet, limit_rh, limit_w, groups, counts, hour_of(place, first), state_t,
                state_w, space,
            )  # fmt: skip
            simulated += space.sums[WORK]
            if place >= WARM_UP:
                sums[COST] += space.sums[HOUR_COST]
                sums[WARM_HOURS] += space.sums[IS_WARM]
                sums[FROST_HOURS] += space.sums[IS_FROST]
                for k in range(space.above.size):
                    sums[ABOVE + k] += space.above[k]
                ended = _judge(sums, still[place + 1], cost_limit, warm_limit, allowed)
                if ended != FINISHED:
                    return ended, simulated
            place += 1
            if state_t == starts[place, 0] and state_w == starts[place, 1]:
                break
    return FINISHED, simulated


@compiled
def derive_tables(
    plant: Plant,
    hours: FloatArray,
    wet: FloatArray,
    limit_rh: FloatArray,
    limit_w: FloatArray,
    groups: Groups,
    counts: IntArray,
    last: int,
    first: int,
    space: Workspace,
    starts: FloatArray,
    called: FloatArray,
    shared: FloatArray,
    still: FloatArray,
    has: float,
    cost_limit: float,
    allowed: FloatArray,
    own_starts: FloatArray,
    own_called: FloatArray,
    own_sums: FloatArray,
) -> tuple[int, float]:
    """Simulate the common year of designs that differ only in how many units of their last part they have.

    Args: as `follow_tables`; groups and counts with ample units of the last part; last, its place; own_starts,
        own_called and own_sums are filled as a `Trajectory`, own_called with units of the last part;
        cost_limit [currency], for energy
        alone, and allowed (L,) [h], above which it is broken off: what follows is left unknown.
    Returns: FINISHED or what broke it off; work [h].
    """
    simulated = 0.0
    place = 0
    own_called[:] = np.inf
    own_sums[0] = 0.0
    columns = own_sums.shape[1]
    waits = _waits(groups, counts)
    while place < called.size:
        while place < called.size and called[place] <= has and not (waits and called[place] == UNABLE):
            own_starts[place, 0], own_starts[place, 1] = starts[place, 0], starts[place, 1]
            own_called[place] = 0.0
            for column in range(columns):
                gained = shared[place + 1, column] - shared[place, column]
                own_sums[place + 1, column] = own_sums[place, column] + gained
            place += 1
        ended = _judge(own_sums[place], still[place], cost_limit, NO_LIMIT, allowed)
        if ended != FINISHED:
            return ended, simulated
        state_t, state_w = starts[place, 0], starts[place, 1]
        while place < called.size:
            own_starts[place, 0], own_starts[place, 1] = state_t, state_w
            for column in range(columns):
                own_sums[place + 1, column] = own_sums[place, column]
            hour = hour_of(place, first)
            state_t, state_w = advance(
                plant, hours, wet, limit_rh, limit_w, groups, counts, hour, state_t, state_w, space
            )  # fmt: skip
            simulated += space.sums[WORK]
            own_called[place] = _called(groups, space, last)
            if place >= WARM_UP:
                own_sums[place + 1, COST] += space.sums[HOUR_COST]
                own_sums[place + 1, WARM_HOURS] += space.sums[IS_WARM]
                own_sums[place + 1, FROST_HOURS] += space.sums[IS_FROST]
                for k in range(space.above.size):
                    own_sums[place + 1, ABOVE + k] += space.above[k]
            place += 1
            ended = _judge(own_sums[place], still[place], cost_limit, NO_LIMIT, allowed)
            if ended != FINISHED:
                own_starts[place, 0], own_starts[place, 1] = state_t, state_w
                return ended, simulated
            if state_t == starts[place, 0] and state_w == starts[place, 1]:
                break
        own_starts[place, 0], own_starts[place, 1] = state_t, state_w
    return FINISHED, simulated


def follow(
    *,
    prepared: Prepared,
    trajectory: Trajectory,
    install: tuple[Install, ...],
    has: int,
    fixed: float,
    cost_limit: float = NO_LIMIT,
    warm_limit: float = NO_LIMIT,
    allowed: FloatArray | None = None,
) -> Followed:
    """Follow a design through the year, along a trajectory where it can, until it ends or is stopped.

    Args: prepared; trajectory, of the design's lead; install, all units in lead order; has, units of the lead; fixed
        [currency], what the design costs before energy; cost_limit [currency], warm_limit [h] and allowed (L,) [h]:
        above these the design is stopped. All sums only grow, energy prices being 0 or more, so a design that is
        stopped would have ended above the limit, too.
    Returns: `Followed`.
    """
    groups, counts = groups_of(prepared=prepared, install=install)
    limits = prepared.limit_rh.shape[0]
    sums = np.zeros(ABOVE + limits)
    sums[COST] = fixed
    ended, simulated = follow_tables(
        *tables(prepared), groups, counts, prepared.first_hour, workspace(limits=limits),
        trajectory.starts, trajectory.called, trajectory.sums,
        unavoidable(prepared=prepared), float(has), cost_limit, warm_limit,
        np.full(limits, NO_LIMIT) if allowed is None else allowed, sums,
    )  # fmt: skip
    return Followed(
        ended,
        float(sums[COST]),
        tuple(round(one) for one in sums[ABOVE:]),
        round(sums[WARM_HOURS]),
        float(simulated),
    )
