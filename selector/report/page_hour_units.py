"""The worked hour's steps of the dehumidifiers: each model in its arrangement, from entering air to what it takes out.

Units: °C, kg/kg, kg/s of dry air, kJ/kg, kW, Pa.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from selector.decide.duty import fitted_of
from selector.inputs.site import FloatArray
from selector.physics import arrangements as cells
from selector.physics.arrangements import OFF
from selector.physics.desiccant import potentials, rotor
from selector.physics.hourly import UnitHours
from selector.physics.moist_air import enthalpy, saturation_humidity_ratio, volume
from selector.physics.refrigerant import evaporator, running_share
from selector.physics.unit_parameters import (
    AIRFLOW,
    CAPACITY,
    CAPACITY_PER_ENTERING,
    CAPACITY_PER_SURFACE,
    COIL_FLOW,
    FAN_HEAT,
    FIRST_EFFECTIVENESS,
    FROST_LOSS,
    MACHINE,
    POWER,
    POWER_PER_ENTERING,
    POWER_PER_SURFACE,
    PRECOOL,
    REACTIVATION_AIRFLOW,
    REACTIVATION_HEAT,
    REACTIVATION_OUTDOOR,
    ROTOR,
    SECOND_EFFECTIVENESS,
)
from selector.report.page_hour_coil import at_surface_terms, enthalpy_of, kilojoules
from selector.report.page_hour_terms import STATES, Hour, running_of, step, term
from selector.report.page_parts import Step, Term
from selector.report.text import clean

FITTED = "fitted to the unit's rating rows"
CLOSE = 1e-9  # kg/kg: a rotor whose exhaust was not held at saturation leaves its potentials exactly


def unit_steps(*, hour: Hour) -> list[Step]:
    """Follow the air through every unit that runs.

    Args: hour. Returns: steps; none where no unit runs.
    """
    found: list[Step] = []
    groups = hour.evaluation.year.groups
    for number, (at, running) in enumerate(running_of(hour), start=1):
        group = groups[at]
        share = float(group.on_share[hour.row])
        high, low = coil_words(hour)
        parts: list[tuple[str, int]] = []
        if share > 0.0:
            parts.append(("" if share == 1.0 else f", {high}", 0))
        if share < 1.0:
            parts.append((f", {low}", OFF))
        for words, offset in parts:
            found += _at(hour, group, number, offset, words)
        found.append(_over_the_hour(hour, group, number, running, share))
    return found


def coil_words(hour: Hour) -> tuple[str, str]:
    """Say what the coil does in both states that units behind it see.

    Args: hour. Returns: in its share of the hour, and in the rest of the fan's time.
    """
    staged = hour.air.rest.startswith("coil at")
    return f"coil at stage {hour.air.coil_stage}" if staged else "coil on", hour.air.rest or "coil off"


def _at(hour: Hour, group: UnitHours, number: int, offset: int, words: str) -> list[Step]:
    """One unit at one entering state."""
    unit = fitted_of(prepared=hour.prepared, model=group.model).parameters
    cell = group.cell[hour.row][offset : offset + OFF]
    name = f"{clean(group.model)}, {group.arrangement}{words}"
    if cell[cells.RUNS] <= 0.0:
        return []
    t, w, p = float(cell[cells.ENTERING_T]), float(cell[cells.ENTERING_W]), float(hour.site_hour["pressure"])
    key = f"{number}{'b' if offset else ''}"
    flow = step(
        f"unit-flow-{key}",
        f"{name}: airflow of one unit",
        (
            term("V", "rated airflow", float(unit[AIRFLOW]), "m³/s"),
            term(
                "f",
                "share of it against the static pressure, and of what there is",
                float(cell[cells.FRACTION]),
                "-",
            ),
            term("t_1", "entering dry bulb", t, "°C"),
            term("w_1", "entering humidity ratio", w, "kg/kg"),
            term("p", "pressure", p, "Pa"),
        ),
        ("v_1 = 287.042·(t_1 + 273.15)·(1 + 1.607858·w_1) / p", "m_1 = f·V / v_1"),
        (
            term("v_1", "specific volume entering", float(volume(t, w, p)), "m³/kg"),
            term("m_1", "air through one unit", float(cell[cells.FLOW]), "kg/s"),
        ),
        f"{STATES}, eq. 26",
    )
    machine = (
        _rotor(hour, unit, cell, key, name)
        if unit[MACHINE] == ROTOR
        else _refrigerant(unit, cell, p, key, name)
    )
    return [flow, *machine]


def _refrigerant(unit: FloatArray, cell: FloatArray, p: float, key: str, name: str) -> list[Step]:
    t, w, flow = float(cell[cells.ENTERING_T]), float(cell[cells.ENTERING_W]), float(cell[cells.FLOW])
    surface, before, after, ratio = (float(one) for one in evaporator(unit, flow, t, w, p))
    saturated = min(w, float(saturation_humidity_ratio(surface, p)))
    wet, wet_given, wet_result = at_surface_terms(surface, p, "w_1", dry=saturated >= w)
    capacity = (
        float(unit[CAPACITY] + unit[CAPACITY_PER_SURFACE] * surface + unit[CAPACITY_PER_ENTERING] * t)
        / 1000.0
    )
    share = float(running_share(unit, surface))
    air = [
        term("m_1", "air through one unit", flow, "kg/s"),
        term("t_1", "entering dry bulb", t, "°C"),
        term("w_1", "entering humidity ratio", w, "kg/kg"),
    ]
    bypass = step(
        f"unit-coil-{key}",
        f"{name}: evaporator",
        (
            *air,
            term("A", "of the bypass factor, fitted", float(unit[COIL_FLOW]), "kg/s"),
            term("e", "effectiveness of the pre-cooler", float(unit[PRECOOL]), "-"),
            term("t_s", "surface (apparatus dew point), found by iteration", surface, "°C"),
            *wet_given,
        ),
        (
            "BF = exp(-A / m_1)",
            "t_b = (BF·(1 - e)·t_1 + (1 - BF)·t_s) / (1 - e·BF)",
            "t_a = t_1 - e·(t_1 - t_b)",
            *wet,
            "w_b = BF·w_1 + (1 - BF)·w_s",
            f"h_a = {enthalpy_of('t_a', 'w_1')}",
            f"h_b = {enthalpy_of('t_b', 'w_b')}",
            "Q_e = m_1·(h_a - h_b - (w_1 - w_b)·4.186·t_s)",
        ),
        (
            term("BF", "bypass factor", _bypass(unit, flow), "-"),
            term("t_b", "leaving the evaporator, dry bulb", after, "°C"),
            term("t_a", "entering the evaporator, dry bulb", before, "°C"),
            *wet_result,
            term("w_s", "air at the surface", saturated, "kg/kg"),
            term("w_b", "leaving the evaporator, humidity ratio", ratio, "kg/kg"),
            term("h_a", "entering the evaporator, enthalpy", kilojoules(before, w), "kJ/kg"),
            term("h_b", "leaving the evaporator, enthalpy", kilojoules(after, ratio), "kJ/kg"),
            term("Q_e", "heat taken from the air", capacity, "kW"),
        ),
        f"{STATES}, coil process line, eq. 6, 20 and 30; pre-cooler as a sensible effectiveness",
    )
    machine = step(
        f"unit-capacity-{key}",
        f"{name}: what the refrigeration gives at that surface is the same, and the power it draws",
        (
            term("c_0", "capacity at 0 °C surface and 0 °C entering", float(unit[CAPACITY]) / 1000.0, "kW"),
            term("c_1", "with the surface", float(unit[CAPACITY_PER_SURFACE]) / 1000.0, "kW/K"),
            term("c_2", "with the entering dry bulb", float(unit[CAPACITY_PER_ENTERING]) / 1000.0, "kW/K"),
            term("d_0", "power at 0 °C surface and 0 °C entering", float(unit[POWER]) / 1000.0, "kW"),
            term("d_1", "with the surface", float(unit[POWER_PER_SURFACE]) / 1000.0, "kW/K"),
            term("d_2", "with the entering dry bulb", float(unit[POWER_PER_ENTERING]) / 1000.0, "kW/K"),
            term("t_s", "surface", surface, "°C"),
            term("t_1", "entering dry bulb", t, "°C"),
        ),
        ("Q_e = c_0 + c_1·t_s + c_2·t_1", "P = d_0 + d_1·t_s + d_2·t_1"),
        (
            term("Q_e", "capacity", capacity, "kW"),
            term("P", "power, fan included", float(cell[cells.POWER]) / 1000.0, "kW"),
        ),
        f"linear laws {FITTED}",
    )
    given = [
        *air,
        term("w_b", "leaving the evaporator, humidity ratio", ratio, "kg/kg"),
        term("P", "power", float(cell[cells.POWER]) / 1000.0, "kW"),
        term("t_s", "surface, at which the condensate leaves", surface, "°C"),
    ]
    equations = ["r = m_1·(w_1 - w_b)"]
    if share < 1.0:
        given.append(
            term("k", "time lost to defrost for each kelvin below 0 °C", float(unit[FROST_LOSS]), "1/K")
        )
        equations = ["z = 1 + k·t_s", "r = z·m_1·(w_1 - w_b)"]
    equations += [
        "w_2 = w_1 - r / m_1",
        f"h_1 = {enthalpy_of('t_1', 'w_1')}",
        "h_2 = h_1 + P / m_1 - (r / m_1)·4.186·t_s",
        "t_2 = (h_2 - 2501·w_2) / (1.006 + 1.86·w_2)",
    ]
    leaving_t, leaving_w = float(cell[cells.LEAVING_T]), float(cell[cells.LEAVING_W])
    result: list[Term] = []
    if share < 1.0:
        result.append(term("z", "share of the time left after defrost", share, "-"))
    result += [
        term("r", "moisture removal of one unit", float(cell[cells.REMOVAL]), "kg/s", places=8),
        term("w_2", "leaving humidity ratio", leaving_w, "kg/kg"),
        term("h_1", "entering enthalpy", kilojoules(t, w), "kJ/kg"),
        term("h_2", "leaving enthalpy", kilojoules(leaving_t, leaving_w), "kJ/kg"),
        term("t_2", "leaving dry bulb", leaving_t, "°C"),
    ]
    leaving = step(
        f"unit-leaving-{key}",
        f"{name}: what it takes out, and its leaving air; the condenser gives back what the evaporator took",
        given,
        equations,
        result,
        f"energy and mass balance of the unit; {STATES}, eq. 30",
    )
    return [bypass, machine, leaving]


def _bypass(unit: FloatArray, flow: float) -> float:
    return math.exp(-float(unit[COIL_FLOW]) / flow)


def _rotor(hour: Hour, unit: FloatArray, cell: FloatArray, key: str, name: str) -> list[Step]:
    year, now = hour.evaluation.year, hour.site_hour
    t, w, flow = float(cell[cells.ENTERING_T]), float(cell[cells.ENTERING_W]), float(cell[cells.FLOW])
    p = float(now["pressure"])
    outdoors = unit[REACTIVATION_OUTDOOR] > 0.5
    if outdoors:
        t_r, w_r = float(now["outdoor_t"]), float(now["outdoor_w"])
    else:
        t_r, w_r = float(year.mean_t[hour.row]), float(year.mean_w[hour.row])
    off_t, off_w, heated, _, exhaust_w = (float(one) for one in rotor(unit, flow, t, w, p, t_r, w_r))
    first, second = (float(one) for one in potentials(t, w))
    hot_first, hot_second = (float(one) for one in potentials(heated, w_r))
    off_first, off_second = (float(one) for one in potentials(off_t, off_w))
    exhaust_flow = float(unit[REACTIVATION_AIRFLOW]) / float(volume(t_r, w_r, p))
    where = "outdoors" if outdoors else "the space"
    heater = step(
        f"unit-heater-{key}",
        f"{name}: reactivation air from {where}, heated",
        (
            term("V_r", "reactivation airflow", float(unit[REACTIVATION_AIRFLOW]), "m³/s"),
            term("t_r", "its dry bulb ahead of the heater", t_r, "°C"),
            term("w_r", "its humidity ratio", w_r, "kg/kg"),
            term("Q_r", "heat into it", float(unit[REACTIVATION_HEAT]) / 1000.0, "kW"),
            term("p", "pressure", p, "Pa"),
        ),
        (
            "v_r = 287.042·(t_r + 273.15)·(1 + 1.607858·w_r) / p",
            "m_r = V_r / v_r",
            "t_h = t_r + Q_r / (m_r·(1.006 + 1.86·w_r))",
        ),
        (
            term("v_r", "specific volume", float(volume(t_r, w_r, p)), "m³/kg"),
            term("m_r", "reactivation air", exhaust_flow, "kg/s"),
            term("t_h", "heated, dry bulb", heated, "°C"),
        ),
        f"energy balance of the heater; {STATES}, eq. 26 and 30",
    )
    wanted = first + float(unit[FIRST_EFFECTIVENESS]) * (hot_first - first)
    exact = abs(off_first - wanted) < CLOSE
    potential = (
        "-2865/({t} + 273.15)^1.490 + 4.344·{w}^0.8624",
        "({t} + 273.15)^1.490/6360 - 1.127·{w}^0.07969",
    )
    equations = [
        f"{letter}_{place} = {potential[at].format(t=one, w=two)}"
        for at, letter in enumerate(("F", "K"))
        for place, (one, two) in (("1", ("t_1", "w_1")), ("h", ("t_h", "w_r")), ("2", ("t_2", "w_2")))
    ]
    note = ""
    if exact:
        equations += ["F_2 = F_1 + e_1·(F_h - F_1)", "K_2 = K_1 + e_2·(K_h - K_1)"]
    else:
        note = (
            "The exhaust would be wetter than saturated, or the process air would be wetted: the change was cut until "
            "it is not, so the last two effectivenesses do not hold in this hour."
        )
    rotor_step = step(
        f"unit-rotor-{key}",
        f"{name}: rotor, by its two combined potentials",
        (
            term("t_1", "process air entering, dry bulb", t, "°C"),
            term("w_1", "process air entering, humidity ratio", w, "kg/kg"),
            term("t_h", "reactivation air heated, dry bulb", heated, "°C"),
            term("w_r", "reactivation air, humidity ratio", w_r, "kg/kg"),
            term("e_1", "first effectiveness, fitted", float(unit[FIRST_EFFECTIVENESS]), "-"),
            term("e_2", "second effectiveness, fitted", float(unit[SECOND_EFFECTIVENESS]), "-"),
            term("t_2", "process air off the rotor, dry bulb", off_t, "°C"),
            term("w_2", "process air off the rotor, humidity ratio", off_w, "kg/kg"),
        ),
        equations,
        (
            term("F_1", "first potential, entering", first, "-"),
            term("F_h", "first potential, reactivation", hot_first, "-"),
            term("F_2", "first potential, leaving", off_first, "-"),
            term("K_1", "second potential, entering", second, "-"),
            term("K_h", "second potential, reactivation", hot_second, "-"),
            term("K_2", "second potential, leaving", off_second, "-"),
        ),
        "Banks, Chem. Eng. Sci. 27 (1972) 1143-1155; Jurinak, PhD thesis, University of Wisconsin-Madison, 1982",
        note=note,
    )
    leaving_t = float(cell[cells.LEAVING_T])
    fan = float(enthalpy(off_t, off_w)) / 1000.0
    leaving = step(
        f"unit-leaving-{key}",
        f"{name}: what it takes out, and its leaving air behind the process fan",
        (
            term("m_1", "air through one unit", flow, "kg/s"),
            term("w_1", "entering humidity ratio", w, "kg/kg"),
            term("t_2", "off the rotor, dry bulb", off_t, "°C"),
            term("w_2", "off the rotor, humidity ratio", off_w, "kg/kg"),
            term("P_f", "power of the process fan", float(unit[FAN_HEAT]) / 1000.0, "kW"),
            term("m_r", "reactivation air", exhaust_flow, "kg/s"),
            term("w_r", "reactivation air, humidity ratio", w_r, "kg/kg"),
        ),
        (
            "r = m_1·(w_1 - w_2)",
            f"h_2 = {enthalpy_of('t_2', 'w_2')}",
            "h_3 = h_2 + P_f / m_1",
            "t_3 = (h_3 - 2501·w_2) / (1.006 + 1.86·w_2)",
            "w_x = w_r + r / m_r",
        ),
        (
            term("r", "moisture removal of one unit", float(cell[cells.REMOVAL]), "kg/s", places=8),
            term("h_2", "off the rotor, enthalpy", fan, "kJ/kg"),
            term("h_3", "leaving enthalpy", kilojoules(leaving_t, off_w), "kJ/kg"),
            term("t_3", "leaving dry bulb", leaving_t, "°C"),
            term("w_x", "exhaust, humidity ratio", exhaust_w, "kg/kg"),
        ),
        f"energy and mass balance of the unit; {STATES}, eq. 30",
    )
    return [heater, rotor_step, leaving]


def _over_the_hour(hour: Hour, group: UnitHours, number: int, running: float, share: float) -> Step:
    """Unit-hours times what one unit does."""
    cell, row = group.cell[hour.row], hour.row
    loss = next(unit.cycling_loss for unit in hour.prepared.site.catalog.units if unit.model == group.model)
    given: list[Term] = [term("Y", "unit-hours in this hour", running, "h")]
    sides: Sequence[tuple[str, int]] = (
        (("", 0),) if share == 1.0 else (("", OFF),) if share == 0.0 else (("_a", 0), ("_b", OFF))
    )
    words = coil_words(hour)
    for sign, offset in sides:
        when = f", {words[0]}" if sign == "_a" else f", {words[1]}" if sign == "_b" else ""
        given.append(
            term(
                f"r{sign}",
                f"removal of one unit{when}",
                float(cell[offset + cells.REMOVAL]),
                "kg/s",
                places=8,
            )
        )
        given.append(
            term(f"P{sign}", f"power of one unit{when}", float(cell[offset + cells.POWER]) / 1000.0, "kW")
        )
    equations = ["M = 3600·Y·r", "E = (Y + k·y·(1 - y))·P"]
    if len(sides) == 2:
        given.append(term("x", f"share of its running with {words[0]}", share, "-"))
        equations = ["M = 3600·Y·(x·r_a + (1 - x)·r_b)", "E = (Y + k·y·(1 - y))·(x·P_a + (1 - x)·P_b)"]
    given.append(
        term("y", "running time of the one unit that runs part of the hour", running - int(running), "h")
    )
    given.append(term("k", "cycling loss", loss, "-"))
    return step(
        f"unit-hour-{number}",
        f"{clean(group.model)}, {group.arrangement}: over the hour",
        given,
        equations,
        (
            term("M", "taken out", float(group.removal[row]), "kg"),
            term("E", "electricity", float(group.electricity[row]) / 3.6e6, "kWh"),
        ),
        "running time times rate; cycling by the usual linear part-load factor",
    )
