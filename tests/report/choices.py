"""Choices put together by hand around simulated designs of the invented site, for tests of the screens."""

from __future__ import annotations

import functools
from dataclasses import replace

from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.limits import BrokenLimit
from selector.decide.results import ArrangementResult, Choice, LimitMove, Margin, OneOut, Proof
from selector.inputs.site import ARRANGEMENTS, Install, Site
from tests.sites import prepared_room, room

PROOF = Proof(
    status="optimal",
    reason="every design within the limits was followed to its end or stopped by a rule that proves it dearer",
    lower_bound=40000.0,
    gap=0.0,
    gap_money=0.0,
    designs_possible=21421,
    designs_simulated=1234,
    excluded_by={"static pressure on the unit": 3000, "cost before simulation": 17187, "hours above": 1234},
    year_equivalents=123.4,
    seconds=1.5,
)

# one of each arrangement, and of several
DESIGNS = (
    (),
    ("2 precool-120 return-side",),
    ("1 precool-120 supply-side", "1 compressor-60 supply-side"),
    ("1 rotor-60 coil-bypass",),
    ("2 precool-120 standalone",),
    ("2 rotor-60 outdoor-air",),
    ("1 precool-120 return-side", "1 compressor-60 standalone"),
)


@functools.cache
def simulated(*texts: str) -> Evaluation:
    """Simulate parts such as "2 precool-120 standalone"."""
    parts = []
    for text in texts:
        count, model, arrangement = text.split()
        parts.append(Install(model, next(name for name in ARRANGEMENTS if name == arrangement), int(count)))
    return evaluate(prepared=prepared_room(), install=tuple(parts))


def kept(evaluation: Evaluation) -> Evaluation:
    """The same design as if it kept every limit."""
    return replace(evaluation, feasible=True, broken=())


def chosen(site: Site | None = None) -> Choice:
    """A choice of two sizes in one arrangement, with a best in each other arrangement but one."""
    best = kept(simulated("2 precool-120 standalone", "1 compressor-60 standalone"))
    others = {
        "return-side": kept(simulated("3 precool-120 return-side")),
        "supply-side": kept(simulated("1 precool-120 supply-side", "2 compressor-60 supply-side")),
        "coil-bypass": kept(simulated("1 rotor-60 coil-bypass")),
    }
    closest = simulated("1 precool-120 outdoor-air", "2 rotor-60 outdoor-air")
    rows = []
    for name in ARRANGEMENTS:
        if name == "standalone":
            rows.append(ArrangementResult(name, best, None, 0.0, "chosen"))
        elif name in others:
            rows.append(
                ArrangementResult(name, others[name], None, 123456.0, "more maintenance and replacement")
            )
        else:
            rows.append(
                ArrangementResult(
                    name,
                    None,
                    closest,
                    None,
                    "none keeps the limits",
                )
            )
    return Choice(
        site=site or room(),
        best=best,
        closest=None,
        existing=simulated(),
        runner_up=others["return-side"],
        by_arrangement=tuple(rows),
        margin=Margin(extra_vapour=2.5e-4, share=0.17, at_least=False),
        one_out=OneOut("precool-120", 388, 0.681, False, "humidity target", "relative-humidity", 0.681),
        moves=(),
        proof=PROOF,
    )


def nothing() -> Choice:
    """A choice in which the existing system is enough."""
    choice = chosen()
    rows = tuple(
        replace(one, best=one.best and kept(one.best), extra_cost=1000.0 * place, why="more first cost")
        for place, one in enumerate(choice.by_arrangement, start=1)
    )
    existing = kept(choice.existing)
    return replace(choice, best=existing, existing=existing, by_arrangement=rows, one_out=None)


def impossible() -> Choice:
    """A choice in which nothing keeps every limit."""
    choice = chosen()
    closest = simulated("3 precool-120 return-side")
    broken = (
        BrokenLimit("first cost", 23100.0, 20000.0, "USD"),
        BrokenLimit("hours above the humidity target", 106, 40.0, "h"),
        BrokenLimit("airflow of the units against return air", 1.3, 1.2, "m³/s"),
    )
    closest = replace(closest, feasible=False, broken=broken)
    rows = tuple(
        ArrangementResult(
            name, None, closest if name != "coil-bypass" else None, None, "no design fits: static pressure"
        )
        for name in ARRANGEMENTS
    )
    proof = replace(
        PROOF,
        status="not possible",
        reason="no design keeps every limit",
        lower_bound=float("nan"),
        gap=float("nan"),
        gap_money=float("nan"),
    )
    moves = (
        LimitMove("hours above the humidity target", 40.0, 106.0, "h", "proved"),
        LimitMove("hours too warm", 50.0, None, "h", "does not help"),
        LimitMove("first_cost", 20000.0, 23100.0, "USD", "within the designs tried"),
        LimitMove("max_units", 3, 4, "", "proved"),
    )
    return replace(
        choice, best=None, closest=closest, runner_up=None, by_arrangement=rows, margin=None, one_out=None, moves=moves,
        proof=proof,
    )  # fmt: skip
