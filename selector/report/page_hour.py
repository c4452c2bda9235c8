"""One hour worked out so that it can be checked by hand: states, equations with numbers, sources.

The hour is the one in which the design comes nearest to a limit, or is furthest above it. Every printed number is the
simulation's own, of this very hour; `page_hour_coil` and `page_hour_units` hold the steps of the machines.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from markupsafe import Markup

from selector.decide.evaluate import Evaluation, LimitResult
from selector.physics import response as out
from selector.physics.air_handler import FAN_OFF
from selector.physics.loads import moisture_sources
from selector.physics.moist_air import dew_point, saturation_pressure, vapour_pressure, volume
from selector.physics.prepare import TOLERANCE, Prepared, groups_of, lead_order
from selector.physics.step import HOUR
from selector.report.charts_states import air_in_hour, state_name
from selector.report.page_figures import Figures
from selector.report.page_hour_coil import coil_steps, mixing_steps, wheel_steps
from selector.report.page_hour_terms import STATES, Hour, running_of, step, term
from selector.report.page_hour_units import unit_steps
from selector.report.page_parts import Block, Heading, Paragraph, Section, Step, Table, Term, Text, say
from selector.report.text import clean, design_text, weekday_text

BROUGHT = "outdoor air that the air handler brings, without an economizer's"
# columns of the states: key of JSON and kind of figure
_SHOWN = (("dry_bulb", "temperature"), ("dew_point", "temperature"), ("relative_humidity", "fraction"),
          ("humidity_ratio", "humidity_ratio"), ("enthalpy", "enthalpy"))  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class WorkedHour:
    """One hour, worked out."""

    hour: Hour
    parts: tuple[tuple[str, tuple[Step, ...]], ...]  # headings, and the steps below each
    above_from: float  # an hour counts as above the limit from here [fraction or °C]

    @property
    def steps(self) -> tuple[Step, ...]:
        """Return the steps of all parts, in their order."""
        return tuple(one for _, steps in self.parts for one in steps)

    @property
    def is_above(self) -> bool:
        """Return whether the hour is above the limit."""
        return self.steps[-1].result[-1].value > self.above_from


def worked_hour(
    *, prepared: Prepared, evaluation: Evaluation, limit: LimitResult | None = None, row: int | None = None
) -> WorkedHour:
    """Work out one hour of a design.

    Args: prepared; evaluation, of the design; limit, by which the hour is judged, the one with the least left unless
        given; row, the hour of the year, the worst by the limit unless given.
    Returns: `WorkedHour`.
    """
    limit = limit or evaluation.worst_limit
    row = limit.worst_hour if row is None else row
    hour = Hour(
        prepared, evaluation, row, limit, air_in_hour(prepared=prepared, evaluation=evaluation, hour=row)
    )
    parts: list[tuple[str, list[Step]]] = [
        ("Outdoor air", _outdoor(hour)),
        ("Mixed air", [*wheel_steps(hour=hour), *mixing_steps(hour=hour)]),
        ("Cooling coil", coil_steps(hour=hour)),
        ("Dehumidifiers", unit_steps(hour=hour)),
        ("Balances of the space", [_sources(hour), _moisture(hour), _heat(hour)]),
        ("Verdict", _verdict(hour)),
    ]
    return WorkedHour(
        hour,
        tuple((title, tuple(steps)) for title, steps in parts if steps),
        limit.limit + _slack(limit),
    )


def hour_section(*, prepared: Prepared, evaluation: Evaluation, figures: Figures) -> Section:
    """Work out the worst hour of a design.

    Args: prepared; evaluation, of the design; figures of the result that has its `worked_hour`. Returns: section.
    """
    worked = worked_hour(prepared=prepared, evaluation=evaluation)
    hour, limit, site = worked.hour, worked.hour.limit, prepared.site
    what = design_text(evaluation.install) if evaluation.install else "the existing system alone"
    several = f" of {clean(limit.name)}" if len(evaluation.limits) > 1 else ""
    blocks: list[Block] = [
        Paragraph(
            say(
                "{} {}, the worst hour by the limit of {}{}, with {}. Every number is taken from the simulation's own "
                "hour and printed with so many digits that a reader who starts from the printed numbers gets the "
                "printed results. The steps are in SI, which the program reckons in; flows are of dry air. Mean states "
                "of the hour and the running time of the machines were found by iteration: the steps show that they "
                "fit together.",
                weekday_text(hour.row, site.weather.first_weekday), figures.hour("worked_hour.time"),
                figures.limited(limit.kind, "worked_hour.limit.limit"), several, what,
            )
        ),
        _states(hour, figures),
    ]  # fmt: skip
    place = 0
    for title, steps in worked.parts:
        blocks.append(Heading(title))
        for one in steps:
            note = _note(worked, figures) if one.name == "verdict" else ""
            blocks.append(replace(one, key=figures.key(f"worked_hour.steps.{place}"), note=note or one.note))
            place += 1
    return Section("hour", "One hour worked out by hand", tuple(blocks))


def _note(worked: WorkedHour, figures: Figures) -> Markup:
    """Say how the hour is judged."""
    kind = worked.hour.limit.kind
    units, places = ("", 6) if kind == "relative-humidity" else (" °C", 4)
    limit, start = (
        figures(f"worked_hour.limit.{name}", "plain", decimals=places) for name in ("limit", "above_from")
    )
    return say(
        "The limit is {}{}; an hour counts as above from {}{}. This hour is {} the limit.",
        limit, units, start, units, "above" if worked.is_above else "not above",
    )  # fmt: skip


def _states(hour: Hour, figures: Figures) -> Table:
    """The states of the air in the reader's units, as the psychrometric chart has them, and in those of the steps."""
    places = {"humidity_ratio": 1 if figures.show.units == "IP" else 2}
    rows: list[tuple[Text, ...]] = []
    for place, state in enumerate(hour.air.states):
        under = figures.under(f"worked_hour.states.{place}")
        shown = (under(name, kind, unit=False, decimals=places.get(name, 1)) for name, kind in _SHOWN)
        ours = (under("dry_bulb", "plain", decimals=4), under("humidity_ratio", "plain", decimals=7))
        rows.append((state_name(state, hour.air), *shown, *ours))
    names = (f"{name[0].upper()}{name[1:].replace('_', ' ')}" for name, _ in _SHOWN)
    heads = (
        "State",
        *(figures.head(name, kind) for name, (_, kind) in zip(names, _SHOWN, strict=True)),
        "Dry bulb [°C]",
        "Humidity ratio [kg/kg]",
    )
    caption = "States of the air in this hour; the last two columns in the units of the steps"
    return Table(caption, heads, tuple(rows), frozenset(range(1, 8)), wide=True)


def _outdoor(hour: Hour) -> list[Step]:
    """Air that infiltrates, from air changes, exhaust and ventilation."""
    prepared, now, response, plant = hour.prepared, hour.site_hour, hour.response, hour.prepared.plant
    t, w, p = float(now["outdoor_t"]), float(now["outdoor_w"]), float(now["pressure"])
    steps = [
        step(
            "leakage",
            "Air changes at the outdoor air's density",
            (
                term("q", "air changes times volume of the space", float(plant["air_volume_rate"]), "m³/s"),
                term("t_o", "outdoor dry bulb", t, "°C"),
                term("w_o", "outdoor humidity ratio", w, "kg/kg"),
                term("p", "pressure", p, "Pa"),
            ),
            (
                "v_o = 287.042·(t_o + 273.15)·(1 + 1.607858·w_o) / p",
                "m_l = q / v_o",
            ),
            (
                term("v_o", "specific volume", float(volume(t, w, p)), "m³/kg"),
                term("m_l", "air that would leak in", float(now["infiltration"]), "kg/s"),
            ),
            f"{STATES}, eq. 26",
        )
    ]
    every = lead_order(prepared=prepared, install=(*hour.evaluation.install, *prepared.site.existing_units))
    groups, _ = groups_of(prepared=prepared, install=every)
    sent = sum(
        running * float(groups[at]["reactivation"]) * float(plant["density"])
        for at, running in running_of(hour)
    )
    ventilating = float(now["ventilation"]) > 0.0
    through = plant["has_air_handler"] == 1 and (ventilating or plant["unoccupied_fan"] != FAN_OFF)
    exhaust = sent + (float(plant["exhaust"]) if through and ventilating else 0.0)
    brought = float(response[out.BROUGHT])
    equation = "m_i = max(0, m_l - max(0, m_b - m_x)) + max(0, m_x - m_b)" if through else "m_i = m_l + m_x"
    given = [term("m_l", "air that would leak in", float(now["infiltration"]), "kg/s")]
    if through:
        given.append(term("m_b", "outdoor air that the air handler brings", brought, "kg/s"))
    given.append(
        term("m_x", "air sent outdoors: exhaust, and reactivation air from the space", exhaust, "kg/s")
    )
    steps.append(
        step(
            "infiltration",
            "What infiltrates: a surplus of outdoor air over exhaust offsets leakage, a deficit adds to it",
            given,
            (equation,),
            (term("m_i", "infiltration", float(response[out.INFILTRATION]), "kg/s"),),
            "mass balance of the space",
        )
    )
    return steps


def _sources(hour: Hour) -> Step:
    """Moisture by source over the hour."""
    year, response, row = hour.evaluation.year, hour.response, hour.row
    given = [
        term("w_o", "outdoor humidity ratio", float(hour.site_hour["outdoor_w"]), "kg/kg"),
        term("w", "humidity ratio of the space, mean", float(year.mean_w[row]), "kg/kg"),
        term("m_v", "outdoor air through the air handler", float(response[out.VENTILATION]), "kg/s"),
        term("m_i", "infiltration", float(response[out.INFILTRATION]), "kg/s"),
    ]
    ventilation = "M_v = 3600·m_v·(w_o - w)"
    if response[out.WHEEL_LATENT] > 0.0:
        ventilation = "M_v = 3600·(m_v - e_w·m_b)·(w_o - w)"
        given += [
            term("m_b", BROUGHT, float(response[out.BROUGHT]), "kg/s"),
            term(
                "e_w",
                "share of its moisture that the wheel exchanges",
                float(response[out.WHEEL_LATENT]),
                "-",
            ),
        ]
    inside = [
        one
        for one in moisture_sources(prepared=hour.prepared, year=year)
        if one.name not in ("ventilation", "infiltration", "cooling coil", "dehumidifiers", "stored")
    ]
    names = []
    for place, one in enumerate(inside, start=1):
        names.append(f"G_{place}")
        given.append(term(f"G_{place}", f"moisture of {clean(one.name)}", float(one.values[row]), "kg"))
    return step(
        "sources",
        "Moisture that comes in over the hour of 3600 s",
        given,
        (
            ventilation,
            "M_i = 3600·m_i·(w_o - w)",
            *((f"G = {' + '.join(names)}",) if names else ()),
        ),
        (
            term("M_v", "with ventilation", float(year.ventilation[row]), "kg"),
            term("M_i", "with infiltration", float(year.infiltration[row]), "kg"),
            *((term("G", "of gains", float(year.internal[row]), "kg"),) if names else ()),
        ),
        "mass balance",
    )


def _moisture(hour: Hour) -> Step:
    """What stays in the space, and the humidity ratio that it leads to."""
    year, row = hour.evaluation.year, hour.row
    given = [
        term("M_v", "with ventilation", float(year.ventilation[row]), "kg"),
        term("M_i", "with infiltration", float(year.infiltration[row]), "kg"),
        term("G", "of gains", float(year.internal[row]), "kg"),
        term("M_c", "taken out by the cooling coil", float(year.coil[row]), "kg"),
        term("M_u", "taken out by dehumidifiers", float(year.units[row]), "kg"),
        term("C_w", "moisture storage, as dry air", float(hour.prepared.plant["vapour_capacity"]), "kg"),
        term("w_1", "humidity ratio at the start of the hour", float(year.start_w[row]), "kg/kg"),
    ]
    return step(
        "moisture",
        "Moisture balance: what is stored, and the humidity ratio at the end of the hour",
        given,
        ("S = M_v + M_i + G - M_c - M_u", "w_2 = w_1 + S / C_w"),
        (
            term("S", "stored", float(year.stored[row]), "kg"),
            term("w_2", "humidity ratio at the end of the hour", float(year.end_w[row]), "kg/kg"),
        ),
        "mass balance; storage in multiples of the air's own mass (effective moisture capacity)",
    )


def _heat(hour: Hour) -> Step:
    """Sensible heat balance of the space."""
    year, response, row, plant = hour.evaluation.year, hour.response, hour.row, hour.prepared.plant
    t_o, w_o = float(hour.site_hour["outdoor_t"]), float(hour.site_hour["outdoor_w"])
    loss, capacity = float(plant["heat_loss"]) / 1000.0, float(plant["air_capacity"]) / 1000.0
    brought, infiltration = float(response[out.BROUGHT]), float(response[out.INFILTRATION])
    kept = float(response[out.WHEEL_SENSIBLE])
    taken = brought * (1.0 - kept) + infiltration
    outdoors = (loss + taken * (1.006 + 1.86 * w_o)) * (t_o - float(year.mean_t[row]))
    flow, wheel = "m_b + m_i", []
    if kept > 0.0:
        flow = "(1 - e_t)·m_b + m_i"
        wheel = [term("e_t", "share of its heat that the wheel exchanges", kept, "-")]
    given = (
        term("UA", "heat loss of the envelope", loss, "kW/K"),
        term("t_o", "outdoor dry bulb", t_o, "°C"),
        term("t", "dry bulb of the space, mean", float(year.mean_t[row]), "°C"),
        term("w_o", "outdoor humidity ratio", w_o, "kg/kg"),
        term("m_b", BROUGHT, brought, "kg/s"),
        *wheel,
        term("m_i", "infiltration", infiltration, "kg/s"),
        term("Q_g", "gains, less what evaporates at the air's cost", response[out.GAIN_HEAT] / 1000.0, "kW"),
        term("Q_u", "dehumidifiers in the space", response[out.UNIT_AIR_HEAT] / 1000.0, "kW"),
        term(
            "Q_a",
            "air handler beyond its outdoor air, reheat included",
            response[out.SYSTEM_HEAT] / 1000.0,
            "kW",
        ),
        term("C_t", "heat storage of the space", capacity, "kJ/K"),
        term("t_1", "dry bulb at the start of the hour", float(year.start_t[row]), "°C"),
    )
    return step(
        "heat",
        "Sensible heat balance, and the dry bulb at the end of the hour",
        given,
        (
            f"Q_o = (UA + ({flow})·(1.006 + 1.86·w_o))·(t_o - t)",
            "Q_s = Q_o + Q_g + Q_u + Q_a",
            "t_2 = t_1 + 3600·Q_s / C_t",
        ),
        (
            term("Q_o", "from outdoors", outdoors, "kW"),
            term("Q_s", "stored", capacity * float(year.end_t[row] - year.start_t[row]) / HOUR, "kW"),
            term("t_2", "dry bulb at the end of the hour", float(year.end_t[row]), "°C"),
        ),
        f"{STATES}, eq. 30 (heat capacity of moist air); energy balance",
    )


def _slack(limit: LimitResult) -> float:
    """How far beyond a limit an hour counts as above it [fraction or K]."""
    return TOLERANCE if limit.kind == "relative-humidity" else 100.0 * TOLERANCE


def _verdict(hour: Hour) -> list[Step]:
    """The limited quantity from the mean state."""
    year, row, limit = hour.evaluation.year, hour.row, hour.limit
    t, w, p = float(year.mean_t[row]), float(year.mean_w[row]), float(hour.site_hour["pressure"])
    given = [
        term("w", "humidity ratio of the space, mean", w, "kg/kg"),
        term("p", "pressure", p, "Pa"),
    ]
    vapour = term("p_w", "vapour pressure", float(vapour_pressure(w, p)), "Pa")
    first = "p_w = p·w / (0.621945 + w)"
    equations: tuple[str, ...]
    result: tuple[Term, ...]
    if limit.kind == "relative-humidity":
        given.insert(0, term("t", "dry bulb of the space, mean", t, "°C"))
        value = float(year.relative_humidity[row])
        equations = (first, "p_s = p_sat(t)", "RH = p_w / p_s")
        result = (
            vapour,
            term("p_s", "saturation pressure", float(saturation_pressure(t)), "Pa"),
            term("RH", "relative humidity, mean", value, "-"),
        )
        source = f"{STATES}, eq. 6 (saturation pressure), 12 and 20"
    else:
        value = float(dew_point(t, max(w, 1e-6), p))
        equations = (first, "p_w = p_sat(t_d)")
        result = (vapour, term("t_d", "dew point, mean", value, "°C"))
        source = f"{STATES}, eq. 6 (saturation pressure) and 20"
    return [step("verdict", "The limited quantity", given, equations, result, source)]
