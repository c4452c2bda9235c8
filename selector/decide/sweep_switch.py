"""Where between two steps the choice changes, and over which stretch of the range something holds.

The range is divided into points closer than the resolution. The designs that are known to win nearby, or to be second,
are held against each other, first at every few points, then halfway between any two with different winners, until the
winner changes from one point to the next; both of these are then chosen for in full. Should that find a design that was
not among those held against each other, it joins them and the range is looked through again. Hours above a limit are
whole numbers, so near a point the choice can go to and fro: the points beside every change are looked at as well, and
every change found is listed. What can be missed is a design that wins over a stretch shorter than 2.5 % of the range
away from every other change, and one that is first or second at no point that was chosen for in full.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from selector.decide.contest import Contest, Design
from selector.decide.sweep_results import DesignFigures, Side, Span, StepResult, Switch
from selector.decide.sweep_run import Job, Result

RESOLUTION = 0.002  # of the range
LOOKED_AT = 0.025  # of the range: no two neighbours of the points looked at lie farther apart
BESIDE = 4  # points looked at on both sides of a change
NEAR = 2  # steps on both sides whose winners are held against each other
MOST_PROVED = 60  # points chosen for in full between two steps

Winner = Design | None
Do = Callable[[Sequence[Callable[[], Job]]], Iterable[tuple[int, Result]]]


@dataclass(eq=False)
class Line:
    """The points of a range: what is known to win at each."""

    values: tuple[float, ...]
    steps: Mapping[int, StepResult]  # those asked for, by place
    stride: int  # points from one that is looked at to the next, at most
    proved: dict[int, StepResult] = field(default_factory=dict)  # chosen for in full, the steps among them
    winners: dict[int, Winner] = field(default_factory=dict)
    more: list[Design] = field(default_factory=list)  # designs that won where no step had them

    def changes(self) -> list[tuple[int, int]]:
        """Neighbours in `winners` between which the winner changes.

        Returns: pairs of places, rising.
        """
        places = sorted(self.winners)
        return [(low, high) for low, high in pairwise(places) if self.winners[low] != self.winners[high]]

    def candidates(self, place: int) -> tuple[Design, ...]:
        """Designs to hold against each other at a point.

        Args: place. Returns: what wins at the nearest point that is known, then winners and runners-up nearby, what an
            estimate puts first there, and "install nothing".
        """
        at = sorted(self.steps)
        below = sum(1 for one in at if one <= place)
        near = at[max(0, below - NEAR) : below + NEAR]
        likely = self.winners[min(self.winners, key=lambda one: abs(one - place))]
        found: dict[Design, None] = {} if likely is None else {likely: None}
        for one in near:
            step = self.steps[one]
            for design in (step.best, step.runner_up, step.closest):
                if design is not None:
                    found[design.install] = None
        for one in at[below - 1 : below + 1]:
            found.update(dict.fromkeys(self.steps[one].contenders))
        found.update(dict.fromkeys((*self.more, ())))
        return tuple(found)


def line_of(*, steps: Sequence[StepResult], resolution: float) -> Line:
    """Divide a range into points.

    Args: steps, rising; resolution [SI], the farthest that neighbours may lie apart.
    Returns: `Line`, with the winners at the steps.
    """
    values: list[float] = []
    at: dict[int, StepResult] = {}
    for place, step in enumerate(steps):
        at[len(values)] = step
        here = step.values[0]
        values.append(here)
        if place + 1 < len(steps):
            width = steps[place + 1].values[0] - here
            pieces = max(1, -int(-(width / resolution * (1.0 - 1e-9)) // 1))
            values += [here + width * piece / pieces for piece in range(1, pieces)]
    stride = max(1, int(LOOKED_AT * (values[-1] - values[0]) / resolution + 1e-9))
    line = Line(tuple(values), at, stride)
    line.proved.update(at)
    line.winners.update({place: step.install for place, step in at.items()})
    return line


def find_switches(
    *,
    line: Line,
    do: Do,
    figures: Callable[[float, Design], DesignFigures],
    staying: Design | None,
    progress: Callable[[str], None],
) -> tuple[Switch, ...]:
    """Find every change of the choice at the line's resolution.

    Args: line, which is filled; do, does jobs; figures, one design at one value [SI]; staying, today's design;
        progress, called with what is being done.
    Returns: switches, rising.
    """
    while True:
        unknown = sorted(_unknown(line))
        if unknown:
            progress(f"{len(unknown)} point{'s' * (len(unknown) > 1)} between steps")
            _contest(line, unknown, do)
            continue
        doubtful = sorted(place for pair in line.changes() for place in pair if place not in line.proved)
        doubtful = list(dict.fromkeys(doubtful))[: max(0, MOST_PROVED + len(line.steps) - len(line.proved))]
        if not doubtful:
            break
        progress(f"proof at {len(doubtful)} point{'s' * (len(doubtful) > 1)} beside switch-over points")
        _prove(line, doubtful, do, staying)
    return tuple(_switch(line, low, high, figures) for low, high in line.changes())


def _unknown(line: Line) -> set[int]:
    """Points to look at: some everywhere, halfway between neighbours with different winners, and beside a change."""
    found: set[int] = set()
    for low, high in pairwise(sorted(line.winners)):
        if high - low > line.stride:
            pieces = -(-(high - low) // line.stride)
            found.update(low + (high - low) * piece // pieces for piece in range(1, pieces))
        elif line.winners[low] != line.winners[high] and high > low + 1:
            found.add((low + high) // 2)
        elif line.winners[low] != line.winners[high]:
            found.update(range(max(0, low - BESIDE), min(len(line.values), high + BESIDE + 1)))
    return {place for place in found if place not in line.winners}


def _contest(line: Line, places: Sequence[int], do: Do) -> None:
    def make(place: int) -> Callable[[], Job]:
        return lambda: Job("contest", (line.values[place],), line.candidates(place))

    for at, result in do([make(place) for place in places]):
        assert isinstance(result, Contest)
        line.winners[places[at]] = result.winner


def _prove(line: Line, places: Sequence[int], do: Do, staying: Design | None) -> None:
    """Choose in full; where a design turns up that was not held against the others, forget what was found without."""

    def make(place: int) -> Callable[[], Job]:
        return lambda: Job("choose", (line.values[place],), line.candidates(place), staying)

    new = False
    for at, result in do([make(place) for place in places]):
        assert isinstance(result, StepResult)
        place, design = places[at], result.install
        if design is not None and design not in line.candidates(place):
            line.more.append(design)
            new = True
        line.proved[place] = result
        line.winners[place] = design
    if new:
        for place in [one for one in line.winners if one not in line.proved]:
            del line.winners[place]


def _switch(line: Line, low: int, high: int, figures: Callable[[float, Design], DesignFigures]) -> Switch:
    def side(here: int, there: int) -> Side:
        value, own, other = line.values[here], line.winners[here], line.winners[there]
        proved = line.proved.get(here)
        cost = None
        if proved is not None and proved.best is not None:
            cost = proved.best.life_cycle
        elif own is not None:
            cost = figures(value, own).life_cycle
        rival = None if other is None else figures(value, other)
        return Side(
            value=value,
            install=own,
            cost=cost,
            other=rival,
            proved=proved is not None and proved.status != "best-found",
        )

    return Switch(side(low, high), side(high, low))


def spans(
    *, values: Sequence[float], holds: Sequence[bool], probe: Callable[[float], bool], resolution: float
) -> tuple[Span, ...]:
    """Stretches over which something holds.

    Args: values [SI], rising, of the steps; holds, whether it does at each; probe, whether it does at any other value
        [SI]; resolution [SI], to which the ends are found by bisection between two steps of which one holds.
    Returns: stretches; their ends are values at which it holds.
    """
    found: list[Span] = []
    start: float | None = values[0] if holds and holds[0] else None
    for place in range(len(values) - 1):
        if holds[place] == holds[place + 1]:
            continue
        yes, no = (values[place], values[place + 1]) if holds[place] else (values[place + 1], values[place])
        while abs(no - yes) > resolution:
            middle = 0.5 * (yes + no)
            if probe(middle):
                yes = middle
            else:
                no = middle
        if holds[place]:
            assert start is not None
            found.append(Span(start, yes, start == values[0], False))
            start = None
        else:
            start = yes
    if start is not None:
        found.append(Span(start, values[-1], start == values[0], True))
    return tuple(found)
