"""The states of the air in one hour of a design: what a psychrometric chart joins by lines.

States that the hourly loop left (coil entering and leaving, units entering and leaving, space) are taken as they are.
Those between them (mixed air, supply air) follow from them by the mixing and heating of the air handler's own
functions. The hour is the design hour of the equipment schedule: the hour of the 0.4 % dew-point design week in which
the new units together take out most moisture; without new units, the hour of that week that is worst by the limits.
Units: dry bulb °C, humidity ratio kg/kg, flow kg dry air/s, pressure Pa.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from selector.decide.duty import Air, air_of
from selector.decide.evaluate import Evaluation
from selector.inputs.site import ARRANGEMENTS, HOURS, Arrangement, FloatArray, HumidityTarget, Install
from selector.physics import arrangements as cells
from selector.physics import response as out
from selector.physics.arrangements import (
    COIL_BYPASS,
    OFF,
    OUTDOOR_AIR,
    RETURN_SIDE,
    STANDALONE,
    SUPPLY_SIDE,
    cycling_extra,
    heat_air,
    mix,
)
from selector.physics.design_day import simulate_design_day
from selector.physics.hourly import HourlyYear
from selector.physics.moist_air import dry_bulb_of_enthalpy, enthalpy
from selector.physics.prepare import Prepared, lead_order
from selector.report.text import clean

Basis = Literal["design week", "year"]
Kind = Literal["unit", "coil", "mixing", "fan", "heating", "space", "wheel"]
SAME_DRY_BULB, SAME_RATIO = (
    1e-5,
    1e-7,
)  # K and kg/kg within which two states are one: the loop settles to less
_HIDDEN = {"after the fan", "after the bypass", "bypass air"}  # roles left out where the state has another


@dataclass(frozen=True, slots=True)
class State:
    """One state of the air, with all that it is."""

    roles: tuple[str, ...]  # as "space", "entering unit"
    air: Air
    rest: bool  # of the rest of the fan's time only: coil off, or one stage lower


@dataclass(frozen=True, slots=True)
class Process:
    """What leads from one state to another."""

    kind: Kind
    start: int  # place in the states
    end: int
    rest: bool


@dataclass(frozen=True, slots=True)
class RunningUnits:
    """Units of one model in one arrangement in the hour."""

    model: str
    arrangement: Arrangement
    count: int
    running: float  # unit-hours


@dataclass(frozen=True, slots=True)
class DesignAir:
    """The air of a design in its design hour."""

    hour: int  # of the year that it stands for
    basis: Basis
    percent: float | None  # of the design day, None where the hour is one of the year
    pressure: float  # Pa
    fan_share: float  # of the hour that the air handler's fan runs
    coil_share: float  # of the hour at `coil_stage`
    coil_stage: int
    rest: (
        str  # what the coil does in the rest of the fan's time: "coil off", "coil at stage 1", "" for no rest
    )
    surface: float | None  # °C, apparatus dew point; None where the coil is off
    units: tuple[RunningUnits, ...]  # all there are, those that stand still too
    targets: tuple[HumidityTarget, ...]  # limits in force in this hour
    states: tuple[State, ...]
    processes: tuple[Process, ...]


def design_air(*, prepared: Prepared, evaluation: Evaluation) -> DesignAir:
    """Follow the air of a design through its design hour.

    Args: prepared; evaluation of the design.
    Returns: `DesignAir`.
    """
    new = evaluation.install
    every = lead_order(prepared=prepared, install=(*new, *prepared.site.existing_units))
    names = {(part.model, part.arrangement) for part in new}
    ours = [i for i, part in enumerate(every) if (part.model, part.arrangement) in names]
    wanted = min(prepared.site.weather.design_days, key=lambda day: day.percent, default=None)
    if wanted is not None:
        week = simulate_design_day(prepared=prepared, install=every, day=wanted)
        taken = _taken(week.year, ours)[week.place]
        if taken.any() or not evaluation.year.units.any() or not new:
            at = int(np.argmax(taken)) if taken.any() else week.hours.index(week.worst_hour)
            row = range(*week.place.indices(HOURS))[at]
            return _air_at(week.prepared, every, week.year, row, week.hours[at], wanted.percent)
    year = evaluation.year
    taken = _taken(year, ours)
    worst = evaluation.worst_limit.worst_hour
    row = int(np.argmax(taken)) if taken.any() else worst
    return _air_at(prepared, every, year, row, row, None)


def air_in_hour(*, prepared: Prepared, evaluation: Evaluation, hour: int) -> DesignAir:
    """Follow the air of a design through one hour of its year.

    Args: prepared; evaluation of the design; hour of the year.
    Returns: `DesignAir`.
    """
    every = lead_order(prepared=prepared, install=(*evaluation.install, *prepared.site.existing_units))
    return _air_at(prepared, every, evaluation.year, hour, hour, None)


def _taken(year: HourlyYear, groups: list[int]) -> FloatArray:
    """Moisture that some groups take out [kg], hour by hour."""
    return np.sum([year.groups[i].removal for i in groups], axis=0) if groups else np.zeros(HOURS)


def _air_at(
    prepared: Prepared,
    install: tuple[Install, ...],
    year: HourlyYear,
    row: int,
    hour: int,
    percent: float | None,
) -> DesignAir:
    """The air of one row of a simulated year."""
    now, response = prepared.hours[row], year.response[row]
    walk = _Walk(prepared, year, row)
    share, on = float(response[out.FAN_SHARE]), float(response[out.COIL_SHARE])
    stage = int(response[out.COIL_STAGE])
    rest = ""
    if share > 0.0:
        walk.to_the_coil()
        if on > 0.0:
            walk.from_the_coil(coil_on=True)
        if share - on > 1e-9:
            rest = "coil off" if stage <= 1 else f"coil at stage {stage - 1}"
            walk.from_the_coil(coil_on=False)
    walk.in_the_space()
    return DesignAir(
        hour=hour,
        basis="year" if percent is None else "design week",
        percent=percent,
        pressure=float(now["pressure"]),
        fan_share=share,
        coil_share=on,
        coil_stage=stage,
        rest=rest if on > 0.0 else "",
        surface=float(response[out.SURFACE_T]) if on > 0.0 else None,
        units=tuple(
            RunningUnits(part.model, part.arrangement, part.count, float(group.running[row]))
            for part, group in zip(install, year.groups, strict=True)
        ),
        targets=tuple(target for target in prepared.site.targets if target.hours[hour]),
        states=walk.states(),
        processes=walk.processes(),
    )


@dataclass(slots=True)
class _Dot:
    """A state while it is being put together."""

    t: float  # °C
    w: float  # kg/kg
    roles: list[str]
    rest: bool


class _Walk:
    """Follows the air of one hour through outdoor air, return air, coil and supply air, and notes its states."""

    def __init__(self, prepared: Prepared, year: HourlyYear, row: int) -> None:
        self.plant, self.now = prepared.plant, prepared.hours[row]
        self.groups, self.response, self.row = year.groups, year.response[row], row
        self.pressure = float(self.now["pressure"])
        units = prepared.site.catalog.units
        self.desiccant = {unit.model for unit in units if unit.technology == "desiccant"}
        self.loss = {unit.model: unit.cycling_loss for unit in units}
        self.share = float(self.response[out.FAN_SHARE])
        self.around = 0.0  # kg/s around the coil
        self.dots: list[_Dot] = []
        self.lines: list[tuple[Kind, _Dot, _Dot, bool]] = []
        self.outdoor = self.note("outdoor", self.now["outdoor_t"], self.now["outdoor_w"])
        self.space = self.note("space", year.mean_t[row], year.mean_w[row])
        self.bypass = self.entering = self.space

    def note(self, role: str, t: float, w: float, rest: bool = False) -> _Dot:
        """Keep a state, joined with one that is the same air."""
        for dot in self.dots:
            if abs(dot.t - t) <= SAME_DRY_BULB and abs(dot.w - w) <= SAME_RATIO:
                if role not in dot.roles:
                    dot.roles.append(role)
                dot.rest = dot.rest and rest
                return dot
        self.dots.append(_Dot(float(t), float(w), [role], bool(rest)))
        return self.dots[-1]

    def join(self, kind: Kind, start: _Dot, end: _Dot, rest: bool = False) -> None:
        """Keep a process, unless it leads nowhere or is there already."""
        if start is not end and not any(
            one[0] == kind and one[1] is start and one[2] is end for one in self.lines
        ):
            self.lines.append((kind, start, end, bool(rest)))

    def states(self) -> tuple[State, ...]:
        """All states found."""
        return tuple(
            State(
                tuple(dot.roles),
                air_of(dry_bulb=dot.t, humidity_ratio=dot.w, pressure=self.pressure),
                dot.rest,
            )
            for dot in self.dots
        )

    def processes(self) -> tuple[Process, ...]:
        """All processes found."""
        place = {id(dot): at for at, dot in enumerate(self.dots)}
        return tuple(Process(kind, place[id(a)], place[id(b)], rest) for kind, a, b, rest in self.lines)

    def treat(
        self,
        arrangement: int,
        stream: _Dot,
        flow: float,
        role: str,
        *,
        offset: int = 0,
        rest: bool = False,
    ) -> _Dot:
        """Let the units of an arrangement work on a stream, and give what becomes of it."""
        through = [
            group
            for group in self.groups
            if group.arrangement == ARRANGEMENTS[arrangement]
            and group.running[self.row] > 0.0
            and group.cell[self.row, offset + cells.FLOW] > 0.0
        ]
        if not through:
            return stream
        share = 1.0 if arrangement == STANDALONE else self.share
        before = stream.t, stream.w
        start = self.note("entering unit", *before, rest)
        removal, heat, taken = 0.0, 0.0, 0.0
        leavings: list[_Dot] = []
        for group in through:
            cell = group.cell[self.row, offset : offset + OFF]
            leaving = float(cell[cells.LEAVING_T]), float(cell[cells.LEAVING_W])
            running = float(group.running[self.row])
            mass = running / share * float(cell[cells.FLOW])
            removal += mass * (stream.w - leaving[1])
            heat += mass * float(enthalpy(*leaving) - enthalpy(*before))
            if group.model not in self.desiccant:
                heat += cycling_extra(running, self.loss[group.model]) / share * float(cell[cells.POWER])
            taken += mass
            name = "leaving unit" if len(self.groups) == 1 else f"leaving {group.model}"
            leavings.append(self.note(name, *leaving, rest))
            self.join("unit", start, leavings[-1], rest)
        if arrangement == STANDALONE:
            return stream
        whole = (
            min(taken, flow) if arrangement == COIL_BYPASS else flow
        )  # the bypass carries the units' air only
        ratio = stream.w - removal / whole
        end = self.note(role, dry_bulb_of_enthalpy(enthalpy(*before) + heat / whole, ratio), ratio, rest)
        for one in leavings:
            self.join("mixing", one, end, rest)
        if arrangement != COIL_BYPASS:
            self.join("mixing", start, end, rest)
        return end

    def to_the_coil(self) -> None:
        """Outdoor air, return air, the bypass, and where they mix."""
        plant, response = self.plant, self.response
        supply = float(plant["supply"])
        outdoor = self.outdoor_flow()
        fresh, back = self.outdoor, self.space
        if response[out.WHEEL_SPEED] > 0.0:
            fresh = self.note(
                "outdoor air behind the wheel", float(response[out.WHEEL_T]), float(response[out.WHEEL_W])
            )
            self.join("wheel", self.outdoor, fresh)
        if self.now["ventilation"] > 0.0:
            fresh = self.treat(OUTDOOR_AIR, fresh, outdoor, "outdoor air, treated")
        back = self.treat(RETURN_SIDE, back, supply - outdoor, "return air, treated")
        self.around = supply - float(response[out.COIL_AIR])
        if self.around > 0.0:
            room = min(supply - outdoor, supply - float(plant["coil_minimum_flow"]))
            self.bypass = self.treat(COIL_BYPASS, self.space, room, "bypass air")
        through = supply - outdoor - self.around
        mixed = fresh
        if outdoor <= 0.0:
            mixed = back
        elif through > 0.0:
            mixed = self.note("mixed air", *mix(through, back.t, back.w, outdoor, fresh.t, fresh.w))
            self.join("mixing", fresh, mixed)
            self.join("mixing", back, mixed)
        self.entering = self.note(
            "entering coil", float(response[out.COIL_IN_T]), float(response[out.COIL_IN_W])
        )
        self.join("fan", mixed, self.entering)

    def outdoor_flow(self) -> float:
        """Outdoor air while the fan runs, with what the economizer adds [kg/s]."""
        plant, ventilation = self.plant, float(self.now["ventilation"])
        intake = float(plant["outdoor"]) * (ventilation if ventilation > 0.0 else float(plant["leakage"]))
        return intake + float(self.response[out.VENTILATION] - self.response[out.BROUGHT])

    def from_the_coil(self, *, coil_on: bool) -> None:
        """Coil, bypass, fan and supply-side units, to the space."""
        plant, response = self.plant, self.response
        supply = float(plant["supply"])
        rest = not coil_on and response[out.COIL_SHARE] > 0.0
        air = self.entering
        if coil_on or rest:
            places = (out.COIL_OUT_T, out.COIL_OUT_W) if coil_on else (out.COIL_LOW_T, out.COIL_LOW_W)
            leaving = float(response[places[0]]), float(response[places[1]])
            if leaving != (air.t, air.w):
                air = self.note("leaving coil", *leaving, rest)
                self.join("coil", self.entering, air, rest)
        if self.around > 0.0:
            by = self.bypass
            joined = mix(float(response[out.COIL_AIR]), air.t, air.w, self.around, by.t, by.w)
            here = self.note("after the bypass", *joined, rest)
            self.join("mixing", air, here, rest)
            self.join("mixing", by, here, rest)
            air = here
        if plant["fan_after_coil"] == 1:
            warmer = heat_air(air.t, air.w, float(plant["fan_power"]), supply)
            here = self.note("after the fan", warmer, air.w, rest)
            self.join("fan", air, here, rest)
            air = here
        air = self.treat(SUPPLY_SIDE, air, supply, "supply air", offset=0 if coil_on else OFF, rest=rest)
        given = float(response[out.HEATING] + response[out.REHEAT])
        if given > 0.0:
            warmer = heat_air(air.t, air.w, given / self.share, supply)
            here = self.note("supply air", warmer, air.w, rest)
            self.join("heating", air, here, rest)
            air = here
        air = self.note("supply air", air.t, air.w, rest)
        self.join("space", air, self.space, rest)

    def in_the_space(self) -> None:
        """Units that take from the space and give back to it."""
        self.treat(STANDALONE, self.space, 0.0, "")


def state_name(state: State, air: DesignAir) -> str:
    """Name a state by what it is.

    Args: state; air that it belongs to. Returns: text, as "space, entering unit".
    """
    roles = [role for role in state.roles if role not in _HIDDEN] or list(state.roles)
    words = clean(", ".join(roles))
    return f"{words}, {air.rest}" if state.rest else words
