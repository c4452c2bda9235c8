"""Where units stand: what each arrangement feeds its units and what it gives back to the duct.

Streams in order: outdoor air (`outdoor-air`), return air (`return-side`), mixed air, coil, the bypass around it
(`coil-bypass`), supply air (`supply-side`), and the space (`standalone`). All units of one arrangement tap one
stream in parallel; what they give back is mixed into the rest of that stream. Rates hold while the fan runs;
a group of units that runs `y` unit-hours in the hour is spread evenly over the fan's share of the hour.
Units: dry bulb °C, humidity ratio kg/kg, flow kg dry air/s, pressure Pa, heat W, moisture kg/s.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from selector.inputs.site import ARRANGEMENTS, FloatArray
from selector.physics.compiled import compiled
from selector.physics.moist_air import dry_bulb_of_enthalpy, enthalpy, sensible_heat, volume
from selector.physics.unit import performance_from

IntArray = npt.NDArray[np.int64]

RETURN_SIDE, SUPPLY_SIDE, COIL_BYPASS, STANDALONE, OUTDOOR_AIR = range(len(ARRANGEMENTS))

# columns of a group's cell; the second set, from OFF on, is the coil-off state that supply-side units see
RUNS, FLOW, REMOVAL, POWER, GAS, LEAVING_T, LEAVING_W, SURFACE, ENTERING_T, ENTERING_W = range(10)
FRACTION = 10  # of rated airflow at which the set was evaluated
SURFACE_W = 11  # humidity ratio of saturated air at the surface, 0 where none is known
OFF = 12
CELL = 24


class Group:
    """Units of one model in one arrangement: a row of the table of groups, and what they do in the hour."""

    unit: int  # row in the table of unit parameters
    arrangement: int
    flow_fraction: float  # airflow left against the static pressure of this arrangement
    airflow: float  # m³/s a unit, rated
    cycling_loss: float
    desiccant: int  # 1: heat of cycling leaves with the reactivation exhaust
    reactivation: float  # m³/s a unit taken from the space and sent outdoors
    fan: int  # 1: needs the air handler's fan
    parameters: FloatArray  # (SIZE,) of the unit, as `unit_parameters` names them
    running: float  # unit-hours in this hour
    cell: FloatArray  # (CELL,) one unit at the states it met in this hour


Groups = Sequence[Group]  # a design: its groups in lead order, as a table of records


@compiled
def needs_fan(arrangement: int) -> bool:
    """Whether units in this arrangement call the air handler's fan.

    Args: arrangement, a code.
    Returns: true for return-side, supply-side and coil-bypass; outdoor-air units wait for ventilation instead.
    """
    return arrangement in (RETURN_SIDE, SUPPLY_SIDE, COIL_BYPASS)


@compiled
def cycling_extra(running: float, loss: float) -> float:
    """Unit-hours of power lost by the one unit that runs part of the hour.

    Args: running [unit-hours in the hour]; loss [-], the cycling coefficient.
    Returns: loss x f x (1 - f), f the part-time unit's share: nothing at 0 and 1.
    Source: the usual linear part-load factor, power = run time x (1 + loss x (1 - run time)).
    """
    part = running - math.floor(running)
    return loss * part * (1.0 - part)


@compiled
def arrangements_in_use(groups: Groups) -> int:
    """Which arrangements have a running unit.

    Args: groups.
    Returns: a bit for each arrangement's code.
    """
    used = 0
    for i in range(len(groups)):
        if groups[i].running > 0.0:
            used |= 1 << groups[i].arrangement
    return used


@compiled
def run_group(
    i: int,
    offset: int,
    flow_fraction: float,
    groups: Groups,
    dry_bulb: float,
    humidity_ratio: float,
    pressure: float,
    outdoor: tuple[float, float],
    space: tuple[float, float],
) -> None:
    """Evaluate one unit of a group at its entering state and keep the result in its cell.

    Args: i, the group; offset 0 or OFF; flow_fraction [-] of rated airflow; the rest as `treat_stream`. Where the cell
        holds this hour's result for the same air already, that stands; reactivation air from the space may have changed
        meanwhile unless it is the air that is treated.
    """
    row = groups[i].cell
    if (
        row[offset + ENTERING_T] == dry_bulb
        and row[offset + ENTERING_W] == humidity_ratio
        and row[offset + FRACTION] == flow_fraction
        and (groups[i].reactivation == 0.0 or groups[i].arrangement == STANDALONE)
    ):
        return
    runs, mass, removal, power, gas, leaving_t, leaving_w, surface, saturated = performance_from(
        groups[i].parameters,
        flow_fraction,
        dry_bulb,
        humidity_ratio,
        pressure,
        outdoor[0],
        outdoor[1],
        space[0],
        space[1],
        row[offset + SURFACE],
        row[offset + SURFACE_W],
    )
    row[offset + RUNS] = runs
    row[offset + FLOW] = mass
    row[offset + REMOVAL] = removal
    row[offset + POWER] = power
    row[offset + GAS] = gas
    row[offset + LEAVING_T] = leaving_t
    row[offset + LEAVING_W] = leaving_w
    row[offset + SURFACE] = surface
    row[offset + ENTERING_T] = dry_bulb
    row[offset + ENTERING_W] = humidity_ratio
    row[offset + FRACTION] = flow_fraction
    row[offset + SURFACE_W] = saturated


@compiled
def treat_stream(
    arrangement: int,
    offset: int,
    groups: Groups,
    share: float,
    flow: float,
    dry_bulb: float,
    humidity_ratio: float,
    pressure: float,
    outdoor: tuple[float, float],
    space: tuple[float, float],
) -> tuple[float, float, float]:
    """Let all units of one arrangement work on a stream.

    Args: arrangement, a code; offset 0 or OFF, where in a group's cell its states are kept; groups; share [-] of the
        hour that the stream flows; flow [kg/s], dry_bulb [°C], humidity_ratio [kg/kg] and pressure [Pa] of the stream;
        outdoor and space states for the reactivation air.
    Returns: dry bulb [°C] and humidity ratio [kg/kg] after mixing, removal [kg/s] while the stream flows. Where the
        running units want more air than the stream has, each gets its part of it.
    """
    wanted = 0.0
    for i in range(len(groups)):
        if groups[i].arrangement == arrangement and groups[i].running > 0.0:
            wanted += max(1.0, groups[i].running / share) * groups[i].airflow * groups[i].flow_fraction
    if wanted == 0.0:
        return dry_bulb, humidity_ratio, 0.0
    there = min(1.0, max(0.0, flow) * volume(dry_bulb, humidity_ratio, pressure) / wanted)
    before = enthalpy(dry_bulb, humidity_ratio)
    removal = 0.0
    heat = 0.0
    for i in range(len(groups)):
        if groups[i].arrangement != arrangement or groups[i].running <= 0.0:
            continue
        if there <= 0.0:
            groups[i].cell[offset : offset + ENTERING_T] = 0.0
            groups[i].cell[offset + ENTERING_T] = dry_bulb
            groups[i].cell[offset + ENTERING_W] = humidity_ratio
            groups[i].cell[offset + FRACTION] = 0.0
            groups[i].cell[offset + SURFACE_W] = 0.0
            continue
        fraction = groups[i].flow_fraction * there
        run_group(i, offset, fraction, groups, dry_bulb, humidity_ratio, pressure, outdoor, space)
        row = groups[i].cell
        mass = groups[i].running / share * row[offset + FLOW]
        removal += mass * (humidity_ratio - row[offset + LEAVING_W])
        heat += mass * (enthalpy(row[offset + LEAVING_T], row[offset + LEAVING_W]) - before)
        if groups[i].desiccant == 0:
            heat += cycling_extra(groups[i].running, groups[i].cycling_loss) / share * row[offset + POWER]
    if there <= 0.0:
        return dry_bulb, humidity_ratio, 0.0
    after = humidity_ratio - removal / flow
    return dry_bulb_of_enthalpy(before + heat / flow, after), after, removal


@compiled
def mix(
    flow_1: float, dry_bulb_1: float, ratio_1: float, flow_2: float, dry_bulb_2: float, ratio_2: float
) -> tuple[float, float]:
    """Adiabatic mixing of two streams.

    Args: flow [kg/s], dry bulb [°C] and humidity ratio [kg/kg] of the first and of the second, as flow_1, dry_bulb_1
        and ratio_1; the first flow above 0.
    Returns: dry bulb [°C], humidity ratio [kg/kg].
    Source: ASHRAE Handbook Fundamentals 2017, ch. 1, adiabatic mixing of two moist airstreams.
    """
    if flow_2 <= 0.0:
        return dry_bulb_1, ratio_1
    total = flow_1 + flow_2
    ratio = (flow_1 * ratio_1 + flow_2 * ratio_2) / total
    heat = (flow_1 * enthalpy(dry_bulb_1, ratio_1) + flow_2 * enthalpy(dry_bulb_2, ratio_2)) / total
    return dry_bulb_of_enthalpy(heat, ratio), ratio


@compiled
def heat_air(dry_bulb: float, humidity_ratio: float, heat: float, flow: float) -> float:
    """Dry bulb after sensible heat is added.

    Args: dry_bulb [°C]; humidity_ratio [kg/kg]; heat [W]; flow [kg/s].
    Returns: dry bulb [°C].
    """
    return dry_bulb_of_enthalpy(enthalpy(dry_bulb, humidity_ratio) + heat / flow, humidity_ratio)


@compiled
def standalone_units(
    groups: Groups,
    space: tuple[float, float],
    pressure: float,
    outdoor: tuple[float, float],
) -> tuple[float, float]:
    """Units that take from the space and give back to it.

    Args: as `treat_stream`; space: its mean dry bulb [°C] and humidity ratio [kg/kg].
    Returns: removal [kg/s] and sensible heat to the space [W], both as means over the hour.
    """
    removal = 0.0
    heat = 0.0
    for i in range(len(groups)):
        if groups[i].arrangement != STANDALONE or groups[i].running <= 0.0:
            continue
        run_group(i, 0, groups[i].flow_fraction, groups, space[0], space[1], pressure, outdoor, space)
        row = groups[i].cell
        mass = groups[i].running * row[FLOW]
        removal += mass * (space[1] - row[LEAVING_W])
        heat += mass * sensible_heat(row[LEAVING_W], row[LEAVING_T], space[0])
        if groups[i].desiccant == 0:
            heat += cycling_extra(groups[i].running, groups[i].cycling_loss) * row[POWER]
    return removal, heat
