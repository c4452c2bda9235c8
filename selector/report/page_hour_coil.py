"""The worked hour's steps of the air handler: mixed air, and the cooling coil.

Units: °C, kg/kg, kg/s of dry air, kJ/kg, kW, Pa.
"""

from __future__ import annotations

from selector.inputs.site import ARRANGEMENTS
from selector.physics import response as out
from selector.physics.air_handler import CHILLED_WATER
from selector.physics.arrangements import OUTDOOR_AIR, RETURN_SIDE
from selector.physics.coil import bypass_factor_at, coil_load, surface_humidity_ratio
from selector.physics.moist_air import enthalpy, saturation_pressure
from selector.report.page_hour_terms import STATES, Hour, running_of, step, term
from selector.report.page_parts import Step, Term

ENTHALPY = "1.006·{t} + {w}·(2501 + 1.86·{t})"


def enthalpy_of(t: str, w: str) -> str:
    """Write the enthalpy of moist air in symbols.

    Args: t and w, symbols of dry bulb and humidity ratio. Returns: right side of an equation.
    """
    return ENTHALPY.format(t=t, w=w)


def kilojoules(dry_bulb: float, humidity_ratio: float) -> float:
    """Enthalpy of moist air.

    Args: dry_bulb [°C]; humidity_ratio [kg/kg]. Returns: enthalpy [kJ/kg]. Source: as `moist_air`.
    """
    return float(enthalpy(dry_bulb, humidity_ratio)) / 1000.0


def _outdoor_flow(hour: Hour) -> float:
    """Outdoor air while the fan runs [kg/s], with what an economizer adds."""
    plant, ventilation = hour.prepared.plant, float(hour.site_hour["ventilation"])
    intake = float(plant["outdoor"]) * (ventilation if ventilation > 0.0 else float(plant["leakage"]))
    return intake + float(hour.response[out.VENTILATION] - hour.response[out.BROUGHT])


def _runs(hour: Hour, arrangement: int) -> bool:
    groups = hour.evaluation.year.groups
    return any(groups[at].arrangement == ARRANGEMENTS[arrangement] for at, _ in running_of(hour))


def wheel_steps(*, hour: Hour) -> list[Step]:
    """Follow outdoor air through the energy-recovery wheel.

    Args: hour. Returns: steps, none where there is no wheel or it stands.
    """
    response, plant, now, year = hour.response, hour.prepared.plant, hour.site_hour, hour.evaluation.year
    if response[out.WHEEL_SPEED] <= 0.0:
        return []
    t_o, w_o = float(now["outdoor_t"]), float(now["outdoor_w"])
    t, w = float(year.mean_t[hour.row]), float(year.mean_w[hour.row])
    sensible, latent = float(response[out.WHEEL_SENSIBLE]), float(response[out.WHEEL_LATENT])
    flow, power = _outdoor_flow(hour), float(plant["wheel_supply_power"]) / 1000.0
    leaving_t, leaving_w = float(response[out.WHEEL_T]), float(response[out.WHEEL_W])
    given = [
        term("t_o", "outdoor dry bulb", t_o, "°C"),
        term("w_o", "outdoor humidity ratio", w_o, "kg/kg"),
        term("t", "dry bulb of the space, mean", t, "°C"),
        term("w", "humidity ratio of the space, mean", w, "kg/kg"),
        term("e_n", "sensible effectiveness at balanced flow", float(plant["wheel_sensible"]), "-"),
        term("s", "share of its full speed", float(response[out.WHEEL_SPEED]), "-"),
        term("m_x", "exhaust through the wheel", float(plant["wheel_exhaust"]), "kg/s"),
        term("m_o", "outdoor air while the fan runs", flow, "kg/s"),
        term("e_w", "share of its moisture that the wheel exchanges", latent, "-"),
        term("P_w", "its supply fan", power, "kW"),
    ]
    equations = [
        "e_t = e_n·s·min(1, m_x / m_o)",
        "w_w = w_o - e_w·(w_o - w)",
        "t_w = t_o - e_t·(t_o - t) + P_w / (m_o·(1.006 + 1.86·w_w))",
    ]
    result = [
        term("e_t", "share of its heat that the wheel exchanges", sensible, "-"),
        term("w_w", "behind the wheel, humidity ratio", leaving_w, "kg/kg"),
        term("t_w", "behind the wheel and its fan, dry bulb", leaving_t, "°C"),
    ]
    return [
        step(
            "wheel",
            "The energy-recovery wheel brings outdoor air nearer to the space's state",
            given,
            equations,
            result,
            "ASHRAE Handbook HVAC Systems and Equipment, air-to-air energy recovery (from memory)",
            note="Its share of moisture is proportional to speed like that of heat, or what leaves the air saturated.",
        )
    ]


def mixing_steps(*, hour: Hour) -> list[Step]:
    """Mix outdoor and return air.

    Args: hour. Returns: steps, none where the fan does not run or only one of both streams flows.
    """
    response, plant = hour.response, hour.prepared.plant
    if response[out.FAN_SHARE] <= 0.0:
        return []
    outdoor = _outdoor_flow(hour)
    through = float(response[out.COIL_AIR]) - outdoor
    if outdoor <= 0.0 or through <= 0.0:
        return []
    behind = ("outdoor air behind the wheel",) if response[out.WHEEL_SPEED] > 0.0 else ()
    treated_air = ("outdoor air, treated",) if _runs(hour, OUTDOOR_AIR) else ()
    fresh = hour.state(*treated_air, *behind, "outdoor")
    back = hour.state("return air, treated", "space") if _runs(hour, RETURN_SIDE) else hour.state("space")
    mixed = hour.state("mixed air")
    if fresh is None or back is None or mixed is None:
        return []
    fan_first = float(plant["fan_after_coil"]) == 0.0
    t_o, w_o = fresh.air.dry_bulb, fresh.air.humidity_ratio
    t_r, w_r = back.air.dry_bulb, back.air.humidity_ratio
    treated = " (treated)" if "treated" in "".join(back.roles) else ""
    new = " (treated)" if treated_air else " (behind the wheel)" if behind else ""
    given = [
        term("m_o", "outdoor air while the fan runs", outdoor, "kg/s"),
        term("t_o", f"outdoor air{new}, dry bulb", t_o, "°C"),
        term("w_o", f"outdoor air{new}, humidity ratio", w_o, "kg/kg"),
        term("m_r", "return air to the coil", through, "kg/s"),
        term("t_r", f"return air{treated}, dry bulb", t_r, "°C"),
        term("w_r", f"return air{treated}, humidity ratio", w_r, "kg/kg"),
    ]
    equations = [
        f"h_o = {enthalpy_of('t_o', 'w_o')}",
        f"h_r = {enthalpy_of('t_r', 'w_r')}",
        "w_m = (m_o·w_o + m_r·w_r) / (m_o + m_r)",
        "h_m = (m_o·h_o + m_r·h_r) / (m_o + m_r)",
        "t_m = (h_m - 2501·w_m) / (1.006 + 1.86·w_m)",
    ]
    h_o, h_r = kilojoules(t_o, w_o), kilojoules(t_r, w_r)
    result: list[Term] = [
        term("h_o", "outdoor air, enthalpy", h_o, "kJ/kg"),
        term("h_r", "return air, enthalpy", h_r, "kJ/kg"),
        term("w_m", "mixed air, humidity ratio", mixed.air.humidity_ratio, "kg/kg"),
        term("h_m", "mixed air, enthalpy", kilojoules(mixed.air.dry_bulb, mixed.air.humidity_ratio), "kJ/kg"),
        term("t_m", "mixed air, dry bulb", mixed.air.dry_bulb, "°C"),
    ]
    if fan_first:
        entering = float(response[out.COIL_IN_T])
        given.append(term("P_f", "fan power, ahead of the coil", float(plant["fan_power"]) / 1000.0, "kW"))
        equations.append("t_c = t_m + P_f / ((m_o + m_r)·(1.006 + 1.86·w_m))")
        result.append(term("t_c", "entering the coil, dry bulb", entering, "°C"))
    return [
        step(
            "mixing",
            "Outdoor and return air mix without loss of heat or moisture",
            given,
            equations,
            result,
            f"{STATES}, adiabatic mixing; eq. 30 (enthalpy)",
        )
    ]


def at_surface_terms(
    surface: float, pressure: float, entering: str, *, dry: bool
) -> tuple[list[str], list[Term], list[Term]]:
    """Write the air at a surface: saturated, or as it entered where the surface stays dry.

    Args: surface [°C]; pressure [Pa]; entering, symbol of the humidity ratio that enters; dry.
    Returns: equations, what they are given, and what they lead to but for the humidity ratio itself.
    """
    if dry:
        return [f"w_s = {entering}"], [], []
    vapour = term("p_s", "saturation pressure at the surface", float(saturation_pressure(surface)), "Pa")
    equations = ["p_s = p_sat(t_s)", "w_s = 0.621945·p_s / (p - p_s)"]
    return equations, [term("p", "pressure", pressure, "Pa")], [vapour]


def coil_steps(*, hour: Hour) -> list[Step]:
    """Follow the air through the cooling coil.

    Args: hour. Returns: steps, none where it does not run.
    """
    response, plant, now = hour.response, hour.prepared.plant, hour.site_hour
    on, share = float(response[out.COIL_SHARE]), float(response[out.FAN_SHARE])
    if on <= 0.0 or plant["has_air_handler"] == 0:
        return []
    flow, pressure = float(response[out.COIL_AIR]), float(now["pressure"])
    t, w = float(response[out.COIL_IN_T]), float(response[out.COIL_IN_W])
    surface = float(response[out.SURFACE_T])
    leaving_t, leaving_w = float(response[out.COIL_OUT_T]), float(response[out.COIL_OUT_W])
    factor = float(bypass_factor_at(plant["coil_bypass"], plant["coil_flow"], flow))
    at_surface = float(surface_humidity_ratio(surface, w, pressure))
    dry = at_surface >= w
    load = float(coil_load(flow, factor, t, w, surface, pressure)) / 1000.0
    given = [
        term("m_c", "air through the coil while the fan runs", flow, "kg/s"),
        term("BF_r", "bypass factor at the rating's airflow", float(plant["coil_bypass"]), "-"),
        term("m_n", "the rating's airflow", float(plant["coil_flow"]), "kg/s"),
        term("t_c", "entering dry bulb", t, "°C"),
        term("w_c", "entering humidity ratio", w, "kg/kg"),
        term("t_s", "surface (apparatus dew point), found by iteration", surface, "°C"),
    ]
    saturated, wet_given, wet_result = at_surface_terms(surface, pressure, "w_c", dry=dry)
    given += wet_given
    equations = [
        "BF = BF_r^(m_n / m_c)",
        *saturated,
        "t_l = BF·t_c + (1 - BF)·t_s",
        "w_l = BF·w_c + (1 - BF)·w_s",
        f"h_c = {enthalpy_of('t_c', 'w_c')}",
        f"h_l = {enthalpy_of('t_l', 'w_l')}",
        "Q = m_c·(h_c - h_l - (w_c - w_l)·4.186·t_s)",
    ]
    result = [
        term("BF", "bypass factor", factor, "-"),
        *wet_result,
        term(
            "w_s", "air at the surface, dry" if dry else "air at the surface, saturated", at_surface, "kg/kg"
        ),
        term("t_l", "leaving dry bulb", leaving_t, "°C"),
        term("w_l", "leaving humidity ratio", leaving_w, "kg/kg"),
        term("h_c", "entering enthalpy", kilojoules(t, w), "kJ/kg"),
        term("h_l", "leaving enthalpy", kilojoules(leaving_t, leaving_w), "kJ/kg"),
        term("Q", "heat taken from the air while it runs", load, "kW"),
    ]
    source = f"{STATES}, coil process line, eq. 6, 20 and 30; BF = exp(-A / flow)"
    steps = [
        step(
            "coil",
            "Air leaves the coil between its entering state and the surface",
            given,
            equations,
            result,
            source,
        )
    ]
    if plant["coil_kind"] != CHILLED_WATER or (on * load > 0.0 and response[out.COIL_FULL] > 0.0):
        steps.append(_capacity(hour, surface, load))
    steps.append(_removed(hour, on, share, flow, w, leaving_w))
    return steps


def _capacity(hour: Hour, surface: float, load: float) -> Step:
    """The machine's side of the balance."""
    plant, now = hour.prepared.plant, hour.site_hour
    outdoor = max(float(now["outdoor_t"]), float(plant["coil_lowest_outdoor"]))
    return step(
        "capacity",
        "What the refrigeration gives at that surface is the same: this is what the surface was found by",
        (
            term("Q_r", "rated capacity, all stages", float(plant["coil_capacity"]) / 1000.0, "kW"),
            term("k", "stages that run", float(hour.response[out.COIL_STAGE]), "-", places=0),
            term("n", "stages there are", float(plant["coil_stages"]), "-", places=0),
            term("a", "change with the surface", float(plant["coil_slope"]), "1/K"),
            term("t_s", "surface", surface, "°C"),
            term("t_sr", "surface at the rating", float(plant["coil_surface"]), "°C"),
            term("b", "change with outdoor air", float(plant["coil_outdoor_slope"]), "1/K"),
            term("t_x", "outdoor dry bulb, not below the condensing control's limit", outdoor, "°C"),
        ),
        ("Q = Q_r·k/n·(1 + a·(t_s - t_sr) - b·(t_x - 35))",),
        (term("Q", "capacity while it runs", load, "kW"),),
        "capacity linear in surface and outdoor temperature; slopes as the assumptions give them",
    )


def _removed(hour: Hour, on: float, share: float, flow: float, entering: float, leaving: float) -> Step:
    """Water that the coil takes out over the hour."""
    response = hour.response
    low = float(response[out.COIL_LOW_W])
    rest = hour.air.rest or "none"
    return step(
        "condensate",
        "What the coil takes out over the hour: while it runs, and in the rest of the fan's time, in which a wet coil "
        "gives water back",
        (
            term("m_c", "air through the coil while the fan runs", flow, "kg/s"),
            term("x_c", "share of the hour that the coil runs", on, "h"),
            term("x_f", "share of the hour that the fan runs", share, "h"),
            term("w_c", "entering humidity ratio", entering, "kg/kg"),
            term("w_l", "leaving humidity ratio while it runs", leaving, "kg/kg"),
            term("w_x", f"leaving humidity ratio in the rest of the fan's time ({rest})", low, "kg/kg"),
        ),
        ("M_c = 3600·m_c·(x_c·(w_c - w_l) + (x_f - x_c)·(w_c - w_x))",),
        (term("M_c", "taken out by the cooling coil", float(hour.evaluation.year.coil[hour.row]), "kg"),),
        "mass balance; water given back: Henderson and Rengarajan, ASHRAE Transactions 102(1), 1996, paper 3958",
    )
