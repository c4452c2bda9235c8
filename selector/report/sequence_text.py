"""The control sequence of a design in words: what is held, what calls what, and what locks what out.

Made from the arrangement of the units, the air handler's fan policy and dampers, and the humidistat's set points as the
simulation holds them; delays and differentials that it does not hold are common practice, no source, and say so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from selector.decide.commissioning import CommissioningSheet, Stage, UnitSheet
from selector.decide.schedule import SetPoint
from selector.inputs.site import AirHandler, Arrangement
from selector.report.schedule_text import set_point_text, span_of
from selector.report.text import Show, clean, show_for

PRACTICE = "common practice, no source"
DUCT_ARRANGEMENTS = ("return-side", "supply-side", "coil-bypass")


@dataclass(frozen=True, slots=True)
class Step:
    """One paragraph of the sequence."""

    topic: str
    text: str


def control_sequence(sheet: CommissioningSheet) -> tuple[Step, ...]:
    """Write the control sequence.

    Args: sheet, with units.
    Returns: steps in the order in which a technician sets them up; none for an empty design.
    """
    if not sheet.sheets:
        return ()
    site = sheet.schedule.site
    show = show_for(site)
    points = sheet.schedule.set_points
    used = tuple(dict.fromkeys(one.row.arrangement for one in sheet.sheets))
    steps = [
        *(_hold(point, show, several=len(points) > 1) for point in points),
        *(
            [
                Step(
                    "several limits",
                    "the set point that asks for the driest air, at the space's dry bulb, governs",
                )
            ]
            if len(points) > 1
            else []
        ),
        Step(
            "sensor",
            "in the space at 1.5 m, out of supply air, sun and doors, or in the return duct where the fan always runs "
            f"({PRACTICE})",
        ),
        Step("staging", _staging(sheet.stages)),
    ]
    for name in used:
        tags = " and ".join(span_of(one.tags) for one in sheet.sheets if one.row.arrangement == name)
        steps.append(Step(name, f"{tags}: {_arrangement(name, site.air_handler)}"))
    if site.air_handler is not None:
        steps.append(Step("fan", _fan(site.air_handler, used)))
        steps.append(Step("outdoor damper", _damper(site.air_handler, show)))
    if "coil-bypass" in used and site.air_handler is not None:
        steps.append(Step("backdraft damper", _bypass(site.air_handler, show)))
    steps += [Step("lock-out", _range(one, show)) for one in sheet.sheets]
    steps += _machines(sheet.sheets)
    steps.append(
        Step(
            "no overheating",
            "no reheat and no raised heating set point may stand in for a unit: the limit is met by taking moisture "
            "out; cooling and heating keep their own thermostat",
        )
    )
    steps.append(
        Step(
            "alarm",
            f"space above its limit for 2 h on end, a drain's overflow switch open, or a called unit not running for "
            f"10 min ({PRACTICE})",
        )
    )
    return tuple(steps)


def _hold(point: SetPoint, show: Show, *, several: bool) -> Step:
    """What the humidistat holds; its differential is centred on the set point, as the simulation holds the mean."""
    relative = point.kind == "relative-humidity"

    def width(share: float) -> str:
        if relative:
            return f"{100.0 * share * point.band:.2g} points"
        return show(share * point.band, "temperature_difference")

    when = "at all hours" if point.when == "all hours" else f"in {point.when} ({point.hours:,} h a year)"
    words = (
        f"{set_point_text(point, show)}, {when}: the limit of {show.limited(point.kind, point.limit)} less a band of "
        f"{width(1.0)}; calls {width(0.25)} above the set point, stops {width(0.25)} below it"
    )
    words += "; outside these hours it asks for nothing" if point.when != "all hours" else ""
    return Step("humidistat" + (f", {clean(point.name)}" if several else ""), words)


def _staging(stages: Sequence[Stage]) -> str:
    names = [_stage_name(stage) for stage in stages]
    words = f"lead {names[0]}" + "".join(f"; then {name}" for name in names[1:])
    words += "; the unit with the best removal by energy first, the last one called stops first"
    if any(stage.count > 1 for stage in stages):
        words += "; units that are alike take the lead in turn, week by week"
    if sum(stage.count for stage in stages) > 1:
        words += (
            "; the next unit starts when those before it have run for 10 min and the space is still above the set "
            f"point ({PRACTICE})"
        )
    return words


def _stage_name(stage: Stage) -> str:
    if stage.tags:
        return f"{span_of(stage.tags)} ({clean(stage.model)})"
    return f"{stage.count} {clean(stage.model)} {stage.arrangement} already there"


def _arrangement(name: Arrangement, handler: AirHandler | None) -> str:
    if name == "standalone":
        return (
            "runs on its own fan, takes air from the space and gives it back there, whatever the air handler does"
            if handler is not None
            else "runs on its own fan, takes air from the space and gives it back there"
        )
    proven = "starts once airflow in its duct is proven and stops when it is lost"
    if name == "return-side":
        return (
            f"{proven}; what it gives back is warmer, so the cooling thermostat stays free to call the coil"
        )
    if name == "supply-side":
        return f"{proven}; runs with the coil on or off: nothing interlocks it with cooling"
    if name == "coil-bypass":
        return f"{proven}; takes return air around the coil, so the coil gets that much less"
    return (
        "runs while ventilation is open: outdoor damper proven open and supply fan proven; calls no fan and opens no "
        "damper of its own"
    )


def _fan(handler: AirHandler, used: Sequence[str]) -> str:
    duct = [name for name in used if name in DUCT_ARRANGEMENTS]
    if bool((handler.ventilation > 0.0).all()):
        return "runs at all hours: the schedule has no unoccupied ones"
    words = "in occupied hours it runs all the time"
    if handler.unoccupied_fan == "runs":
        return f"{words}, and in unoccupied hours as well"
    if handler.unoccupied_fan == "off":
        words += "; in unoccupied hours it is off"
        return words + (f", and {' and '.join(duct)} units are locked out with it" if duct else "")
    words += "; in unoccupied hours it starts on a call for heating or cooling"
    if duct:
        return words + f" or from {' or '.join(duct)} units, for as long as the longest of these calls"
    return words + ", never for a dehumidifier"


def _damper(handler: AirHandler, show: Show) -> str:
    words = (
        f"in occupied hours open for {show(handler.outdoor_airflow, 'airflow')} where the schedule is at 1"
    )
    if handler.economizer != "none":
        words += f", or as the {handler.economizer} economizer asks"
    if bool((handler.ventilation > 0.0).all()):
        return f"{words}; the schedule has no unoccupied hours"
    words += "; in unoccupied hours shut, also while a dehumidifier calls the fan"
    if handler.damper_leakage > 0.0:
        words += f" (leakage {show(handler.damper_leakage, 'fraction')} is allowed for)"
    return words


def _bypass(handler: AirHandler, show: Show) -> str:
    least = handler.cooling_coil.minimum_airflow * handler.supply_airflow
    return (
        "at the unit's discharge; opens with the unit's fan, shut while it stands, so that supply air cannot run back "
        f"to the return; the coil keeps at least {show(least, 'airflow')}; units are locked out where the coil's "
        f"surface falls to {show(0.0, 'temperature')}"
    )


def _range(sheet: UnitSheet, show: Show) -> str:
    low, high = sheet.entering_dry_bulb
    dry, wet = sheet.entering_dew_point
    return (
        f"{span_of(sheet.tags)}: stands still while entering air is outside {show(low, 'temperature')} to "
        f"{show(high, 'temperature')}, or its dew point outside {show(dry, 'temperature')} to "
        f"{show(wet, 'temperature')}"
    )


def _machines(sheets: Sequence[UnitSheet]) -> list[Step]:
    """What each kind of machine locks out by itself."""
    steps: list[Step] = []
    refrigerant = [one for one in sheets if one.row.unit.technology != "desiccant"]
    rotors = [one for one in sheets if one.row.unit.technology == "desiccant"]
    if refrigerant:
        tags = " and ".join(span_of(one.tags) for one in refrigerant)
        steps.append(
            Step(
                "compressor",
                f"{tags}: 5 min at rest before it starts again; high- and low-pressure cut-outs and defrost are the "
                f"unit's own ({PRACTICE})",
            )
        )
        steps.append(
            Step("drain", f"{tags}: an overflow switch in the pan stops the unit and gives the alarm")
        )
    if rotors:
        tags = " and ".join(span_of(one.tags) for one in rotors)
        steps.append(
            Step(
                "reactivation",
                f"{tags}: heat only with both fans and the rotor's drive proven; over-temperature cut-out by hand "
                f"reset; after a stop both fans run on until the reactivation air is cool ({PRACTICE})",
            )
        )
    if any(one.row.unit.reactivation_energy == "gas" for one in rotors):
        steps.append(
            Step("burner", "flame safeguard and gas train are the unit's own; never bypassed for a test")
        )
    return steps
