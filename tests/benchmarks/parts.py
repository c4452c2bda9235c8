"""What is measured, each in a process of its own: `python -m tests.benchmarks.parts NAME WORDS`; prints JSON."""

from __future__ import annotations

import json
import resource
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from selector.inputs.site import Arrangement, FloatArray
    from selector.physics.arrangements import IntArray
    from selector.physics.year import Workspace

SCENARIOS = Path(__file__).parent.parent.parent / "scenarios"
SAMPLE = 40  # designs that stand for all
MOST_SECONDS = 60.0  # of one point of the growth


def clocked(work: Callable[[], Any]) -> tuple[float, float, Any]:
    """Wall and processor seconds of a piece of work, and what it returns."""
    wall, cpu = time.perf_counter(), time.process_time()
    result = work()
    return time.perf_counter() - wall, time.process_time() - cpu, result


def typical(work: Callable[[], Any], times: int = 3) -> tuple[float, float]:
    """Medians of wall and processor seconds."""
    runs = [clocked(work)[:2] for _ in range(times)]
    return statistics.median(run[0] for run in runs), statistics.median(run[1] for run in runs)


def site_of(building: str, **limits: Any) -> Any:
    from selector.inputs.site_file import read_site

    site = read_site(path=SCENARIOS / f"{building}.toml")
    return replace(site, limits=replace(site.limits, work_years=1e6, **limits))


def prepared_of(building: str, **limits: Any) -> Any:
    from selector.decide.evaluate import prepare_site

    return prepare_site(site=site_of(building, **limits))


def small_choice() -> None:
    """A choice that takes no time once it is compiled, and compiles all that any choice needs."""
    from selector.decide.choose import choose

    choose(prepared=prepared_of("records", max_units=1, max_sizes=1))
    choose(prepared=prepared_of("school", max_units=1, max_sizes=1))


def plain_years(prepared: Any, installs: list[Any]) -> list[Callable[[], Any]]:
    """The plain simulation of each design, with its arrays made beforehand."""
    from selector.decide.shared import blank, trace

    into = blank(prepared=prepared)
    return [partial(trace, prepared=prepared, install=one, lead=-1, into=into) for one in installs]


def sampled(prepared: Any, size: int, arrangement: Arrangement | None = None) -> list[Any]:
    """Designs that no limit rules out before they are simulated, drawn at random, the same on every run."""
    from selector.decide.designs import enumerate_designs, install_of
    from selector.inputs.site import ARRANGEMENTS

    designs = enumerate_designs(prepared=prepared)
    kept = designs.excluded == 0
    if arrangement is not None:
        kept &= designs.arrangements == 1 << [*ARRANGEMENTS].index(arrangement)
    rows = np.flatnonzero(kept)
    chosen = np.random.default_rng(0).choice(rows, min(size, rows.size), replace=False)
    return [install_of(prepared=prepared, designs=designs, row=int(one)) for one in chosen]


def years(*buildings: str) -> Any:
    """One design's year in each arrangement of each site: median of five designs, each the median of three runs."""
    from selector.decide.evaluate import evaluate

    found = []
    for building in buildings:
        prepared = prepared_of(building)
        for name in prepared.site.limits.arrangements:
            installs = sampled(prepared, 5, name)
            if not installs:
                continue
            evaluate(prepared=prepared, install=installs[0])  # loads what is compiled
            plain = [typical(run) for run in plain_years(prepared, installs)]
            whole = [typical(partial(evaluate, prepared=prepared, install=one)) for one in installs]
            found.append(
                {
                    "case": f"{building} {name}",
                    "plain": [statistics.median(run[at] for run in plain) for at in (0, 1)],
                    "evaluate": [statistics.median(run[at] for run in whole) for at in (0, 1)],
                }
            )
    return found


def every(building: str) -> Any:
    """Mean cost of one design's plain year, over a sample of the designs that no limit rules out beforehand."""
    from selector.decide.designs import enumerate_designs

    prepared = prepared_of(building)
    designs = enumerate_designs(prepared=prepared)
    installs = sampled(prepared, SAMPLE)
    runs = plain_years(prepared, installs)
    runs[0]()
    wall, cpu, _ = clocked(lambda: [run() for run in runs])
    left, total = int((designs.excluded == 0).sum()), int(designs.excluded.size)
    return {
        "wall": wall / len(runs),
        "cpu": cpu / len(runs),
        "sample": len(runs),
        "open": left,
        "all": total,
    }


STAGES = {  # functions that `choose` calls, by stage
    "evaluate": "evaluating in full",
    "enumerate_designs": "listing designs",
    "field_of": "listing designs",
    "trace_all": "common years",
    "estimate_of": "estimate and order",
    "search_order": "estimate and order",
    "propose": "integer programme",
    "search": "search",
    "margin_of": "margin, one unit out",
    "one_out_of": "margin, one unit out",
    "moves_of": "how far limits must move",
}


def watched(module: Any) -> dict[str, list[tuple[float, float]]]:
    """Let every stage of `choose` note when it began and ended."""
    spans: dict[str, list[tuple[float, float]]] = {stage: [] for stage in STAGES.values()}
    lock = threading.Lock()

    def watch(function: Callable[..., Any], stage: str) -> Callable[..., Any]:
        def timed(**arguments: Any) -> Any:
            began = time.perf_counter()
            result = function(**arguments)
            with lock:
                spans[stage].append((began, time.perf_counter()))
            return result

        return timed

    for name, stage in STAGES.items():
        setattr(module, name, watch(getattr(module, name), stage))
    return spans


def covered(spans: list[tuple[float, float]]) -> float:
    """Seconds in which at least one span is open."""
    total, until = 0.0, -np.inf
    for began, ended in sorted(spans):
        total += max(0.0, ended - max(began, until))
        until = max(until, ended)
    return total


def measured(prepared: Any, **options: Any) -> dict[str, Any]:
    """One choice, by the clock and stage by stage."""
    from selector.decide import choose as module

    spans = watched(module)
    wall, cpu, found = clocked(lambda: module.choose(prepared=prepared, **options))
    stages = {stage: covered(here) for stage, here in spans.items() if here}
    stages["all else"] = wall - sum(stages.values())
    proof = found.proof
    return {
        "wall": wall, "cpu": cpu, "stages": stages, "status": proof.status, "designs": proof.designs_possible,
        "simulated": proof.designs_simulated, "year_equivalents": proof.year_equivalents,
        "hours": 8760.0 * proof.year_equivalents,
        "best": {
            one.arrangement: ", ".join(f"{part.count} {part.model}" for part in one.best.install)
            if one.best is not None
            else "none"
            for one in found.by_arrangement
        },
        "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0,
    }  # fmt: skip


def choice(building: str) -> Any:
    """One proved choice, once what is compiled is loaded."""
    small_choice()
    wall, cpu, prepared = clocked(lambda: prepared_of(building))
    found = measured(prepared)
    found["stages"][f"before it: read, fit, prepare ({cpu:.2f} s CPU)"] = wall
    return found


def growth(models: str, most: str) -> Any:
    """One choice with the shipped units, thinned out or joined by copies of other removal, power and price."""
    from selector.decide.evaluate import prepare_site

    small_choice()
    site = site_of("records", max_units=int(most), max_per_model=int(most))
    units, wanted = site.catalog.units, int(models)
    chosen = [units[at * len(units) // wanted] for at in range(min(wanted, len(units)))]
    for at in range(wanted - len(chosen)):
        copy, factor = units[at % len(units)], 1.0 + 0.013 * (1 + at // len(units))
        rows = tuple(
            replace(one, removal=one.removal * factor, power=one.power * factor) for one in copy.ratings
        )
        name = f"{copy.model}-{1 + at // len(units)}"
        chosen.append(replace(copy, model=name, price=copy.price * factor**1.5, ratings=rows))
    prepared = prepare_site(site=replace(site, catalog=replace(site.catalog, units=tuple(chosen))))
    return measured(prepared, seconds=MOST_SECONDS)


def programme(building: str, arrangement: str, allowance: str) -> Any:
    """The hourly integer programme."""
    from selector.inputs.site import ARRANGEMENTS
    from tests.benchmarks.hourly_programme import solve_written_out

    prepared = prepared_of(building)
    only = next(one for one in ARRANGEMENTS if one == arrangement)
    wall, cpu, found = clocked(
        lambda: solve_written_out(prepared=prepared, arrangement=only, allowance=allowance == "with")
    )
    return {"wall": wall, "cpu": cpu, **found}


PLAIN = """
import json, sys, time
sys.modules["numba"] = None  # then psychrolib stays plain
import psychrolib as p
p.SetUnitSystem(p.SI)
states = json.loads(sys.argv[1])
found = {}
for name, state in (("relative humidity", p.GetRelHumFromHumRatio), ("dew point", p.GetTDewPointFromHumRatio)):
    began = time.process_time()
    for t, w in states:
        state(t, w, 101325.0)
    found[name] = (time.process_time() - began) / len(states)
print(json.dumps(found))
"""


def moist_air() -> Any:
    """Processor seconds of one state by three ways, the first called from a compiled loop."""
    import numba
    from CoolProp.HumidAirProp import HAPropsSI

    from selector.physics.moist_air import dew_point, relative_humidity

    @numba.njit
    def all_humid(states: Any) -> float:
        total = 0.0
        for at in range(states.shape[0]):
            total += relative_humidity(states[at, 0], states[at, 1], 101325.0)
        return total

    @numba.njit
    def all_dew(states: Any) -> float:
        total = 0.0
        for at in range(states.shape[0]):
            total += dew_point(states[at, 0], states[at, 1], 101325.0)
        return total

    random = np.random.default_rng(0)
    states = np.stack([random.uniform(15.0, 35.0, 200_000), random.uniform(0.004, 0.010, 200_000)], axis=1)
    few = states[::100]
    command = [sys.executable, "-c", PLAIN, json.dumps(few.tolist())]
    plain = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    found = {}
    for name, letter, loop in (("relative humidity", "R", all_humid), ("dew point", "D", all_dew)):
        loop(few)

        def by_coolprop(letter: str = letter) -> None:
            for t, w in few:
                HAPropsSI(letter, "T", t + 273.15, "P", 101325.0, "W", w)

        found[name] = {
            "psychrolib compiled": typical(partial(loop, states), 5)[1] / len(states),
            "psychrolib plain": plain[name],
            "CoolProp": typical(by_coolprop)[1] / len(few),
        }
    return found


def quiet(*buildings: str) -> Any:
    """CPU seconds of one hour in which nothing runs, the short way and the whole search, and of one of the others."""
    from numba import njit

    from selector.physics import year
    from selector.physics.hourly import simulate_hours
    from selector.physics.prepare import groups_of

    advance, in_full = year.advance, year.advance_in_full

    @njit
    def loop(
        whole: bool, times: int, hours: IntArray, tables: tuple[Any, ...], groups: Any, counts: IntArray,
        start_t: FloatArray, start_w: FloatArray, space: Workspace,
    ) -> None:  # fmt: skip
        plant, table, wet, limit_rh, limit_w = tables
        for _ in range(times):
            for hour in hours:
                at = start_t[hour], start_w[hour]
                if whole:
                    in_full(plant, table, wet, limit_rh, limit_w, groups, counts, hour, at[0], at[1], space)
                else:
                    advance(plant, table, wet, limit_rh, limit_w, groups, counts, hour, at[0], at[1], space)

    found = {}
    for building in buildings:
        prepared = prepared_of(building)
        install = sampled(prepared, 1, "standalone")[0]
        groups, counts = groups_of(prepared=prepared, install=install)
        space = year.workspace(limits=prepared.limit_rh.shape[0])
        tables = (prepared.plant, prepared.hours, prepared.wet, prepared.limit_rh, prepared.limit_w)
        states = simulate_hours(prepared=prepared, install=install)
        short = np.zeros(states.start_t.size, bool)
        for hour in range(short.size):
            advance(*tables, groups, counts, hour, states.start_t[hour], states.start_w[hour], space)
            short[hour] = space.sums[year.WORK] < 1.0
        every = np.flatnonzero(short), np.flatnonzero(~short)

        def seconds(whole: bool, hours: IntArray) -> float:
            work = (tables, groups, counts, states.start_t, states.start_w, space)  # noqa: B023 - called here
            loop(whole, 1, hours[:1], *work)
            return typical(lambda: loop(whole, 10, hours, *work))[1] / (10 * hours.size)

        found[building] = {
            "share": float(short.mean()), "short": seconds(False, every[0]), "whole": seconds(True, every[0]),
            "others": seconds(False, every[1]),
        }  # fmt: skip
    return found


def first(*_: str) -> Any:
    """The small choice, with what has to be compiled for it."""
    wall, cpu, _ = clocked(small_choice)
    return {"wall": wall, "cpu": cpu}


def sweep_of(building: str, vary: str, low: str, high: str, steps: str, between: str) -> Any:
    """A sweep, its processes included, beside one choice of the same site in the same process."""
    from selector.decide.choose import choose
    from selector.decide.sweep import sweep
    from selector.decide.what_would_change import what_would_change
    from selector.inputs.vary_words import Words, read_variations

    small_choice()
    prepared = prepared_of(building)
    alone, _, chosen = clocked(lambda: choose(prepared=prepared))
    look, _, _ = clocked(lambda: what_would_change(prepared=prepared, choice=chosen, closely=False))
    variations = read_variations(site=prepared.site, words=(Words(vary, low, high, int(steps), None),))
    wall, _, found = clocked(
        lambda: sweep(prepared=prepared, variations=variations, between=between == "between")
    )
    return {
        "alone": alone, "look": look, "wall": wall, "steps": len(found.steps),
        "proved": sum(step.status != "best-found" for step in found.steps), "switches": len(found.switches),
        "years": found.year_equivalents, "alone_years": chosen.proof.year_equivalents,
    }  # fmt: skip


PARTS = {
    part.__name__: part
    for part in (years, quiet, every, choice, growth, programme, moist_air, first, sweep_of)
}

if __name__ == "__main__":
    print(json.dumps(PARTS[sys.argv[1]](*sys.argv[2:])))
