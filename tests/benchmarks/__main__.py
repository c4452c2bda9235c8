"""Measured comparisons, one table: `python -m tests.benchmarks [SECTION ...]`.

Every figure is measured in this run on this machine, nearly all in processes of their own. "wall" is what a clock on
the wall shows, "CPU" the processor time of all threads, which other work on the machine disturbs less. Ratios are of
wall time: figure / target for targets, alternative / one choice for alternatives, else as the heading says.
"""

from __future__ import annotations

import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent.parent
BUILDINGS = ("school", "hall")  # of the choices measured in full; the alternatives are measured on the first
DEMO_SITES = ("hall", "school", "clinic", "pool", "records", "growing")
MODELS, UNITS = (6, 12, 24, 48, 96), (2, 4, 6, 8)  # of the growth


@cache
def part(name: str, *words: object, cache_folder: str | None = None) -> Any:
    """Run one part of `parts` in a process of its own; what it found."""
    command = [sys.executable, "-m", "tests.benchmarks.parts", name, *(str(word) for word in words)]
    home = {} if cache_folder is None else {"XDG_CACHE_HOME": cache_folder}
    done = subprocess.run(
        command, cwd=ROOT, env={**os.environ, **home}, check=False, capture_output=True, text=True
    )
    if done.returncode != 0:
        raise SystemExit(f"{' '.join(command)}\n{done.stderr}")
    return json.loads(done.stdout.splitlines()[-1])


def show(value: float | str | None) -> str:
    """A duration in seconds, or text as it is."""
    if value is None or isinstance(value, str):
        return value or ""
    for below, factor, unit in ((1e-6, 1e9, "ns"), (1e-3, 1e6, "us"), (1.0, 1e3, "ms")):
        if value < below:
            return f"{value * factor:.3g} {unit}"
    return f"{value:.1f} s" if value < 100.0 else f"{value:.0f} s"


def row(
    what: str,
    wall: float | str | None = None,
    cpu: float | None = None,
    target: str = "",
    ratio: float | None = None,
    note: str = "",
) -> None:
    shown = "" if ratio is None else f"{ratio:,.2f}" if ratio < 10.0 else f"{ratio:,.0f}"
    print(f"{what:<55} {show(wall):>10} {show(cpu):>10} {target:>7} {shown:>7}  {note}".rstrip(), flush=True)


def heading(text: str) -> None:
    print(f"\n{text}", flush=True)


def years() -> None:
    heading("One design's year and its two weeks of warm-up: median over the arrangements of all demo sites")
    found = part("years", *DEMO_SITES)
    for key, what, target in (
        ("plain", "nothing recorded", 0.005),
        ("evaluate", "every hour recorded", None),
    ):
        wall, cpu = (statistics.median(case[key][at] for case in found) for at in (0, 1))
        slow = max(found, key=lambda case: case[key][1])
        note = f"{len(found)} cases; slowest {slow['case']}, {show(slow[key][1])} CPU"
        row(f"simulation, {what}", wall, cpu, show(target), target and wall / target, note)
    for building in DEMO_SITES:
        cases = [(case["case"].split(), case["plain"][1]) for case in found]
        texts = [f"{name} {1e3 * cpu:.1f}" for (place, name), cpu in cases if place == building]
        row(f"  {building}, ms CPU", note=", ".join(texts))


def quiet() -> None:
    heading("One hour in which nothing runs, beside the site's other hours (ratio: to these)")
    for building, case in part("quiet", "school", "hall", "clinic", "records").items():
        others = case["others"]
        row(f"{building}, {case['share']:.0%} of its hours", None, case["short"], "", case["short"] / others)
        row("  the same by the whole search", None, case["whole"], "", case["whole"] / others)
        row("  its other hours", None, others, "", 1.0)


def choices() -> None:
    heading("A proved choice, compiled already: 24 models, 5 arrangements, up to 6 units, up to two sizes")
    for building in BUILDINGS:
        found = part("choice", building)
        note = f"{found['status']}; {found['designs']} designs, {found['simulated']} of them simulated"
        row(building, found["wall"], found["cpu"], "1 s", found["wall"], note)
        work, memory = found["year_equivalents"], found["memory"]
        row("  work", f"{work:.1f} years", None, "200", work / 200.0, "year-equivalents, everything included")
        row("  memory", f"{memory:.0f} MB", None, "600 MB", memory / 600.0, "peak of the process")


def profile() -> None:
    heading("Where the time of one choice goes: wall clock of its stages (ratio: share of the choice)")
    for building in BUILDINGS:
        found = part("choice", building)
        for stage, seconds in found["stages"].items():
            row(f"  {building}: {stage}", seconds, ratio=seconds / found["wall"])


def alternatives() -> None:
    building = BUILDINGS[0]
    heading(f"The alternatives to a choice, on the {building} (ratio: alternative / one choice)")
    choice = part("choice", building)
    row("one choice", choice["wall"], choice["cpu"], ratio=1.0)
    found = part("every", building)
    for designs, which in ((found["open"], "within the limits"), (found["all"], "of all")):
        wall, cpu = designs * found["wall"], designs * found["cpu"]
        note = f"scaled from {found['sample']} designs; CPU / CPU {cpu / choice['cpu']:.0f}"
        row(f"every design in one process, {designs} {which}", wall, cpu, "100", wall / choice["wall"], note)
    for allowance, what in (("without", "no hour above"), ("with", "hours above allowed")):
        found = part("programme", building, "standalone", allowance)
        wall, cpu = found["wall"], found["cpu"]
        ended = "stopped by the limit of 200 s" if found["status"] == "stopped" else found["status"]
        note = (
            f"{ended}, {show(found['build'])} to write out; {found['rows']} rows, {found['columns']} columns; "
            f"{found['answer']}, by simulation {choice['best']['standalone']}; "
            f"CPU / CPU {cpu / choice['cpu']:.0f}"
        )
        row(f"hourly integer programme, standalone, {what}", wall, cpu, "100", wall / choice["wall"], note)


def moist_air() -> None:
    heading("One moist-air state, from dry bulb, humidity ratio and pressure (ratio: to the first)")
    for wanted, times in part("moist_air").items():
        for library, seconds in times.items():
            row(f"{wanted}: {library}", cpu=seconds, ratio=seconds / times["psychrolib compiled"])


def growth() -> None:
    heading(
        "How one choice grows: records store, standalone, 60 s at most (ratio: of CPU, to the first of its kind)"
    )
    for what, cases in (
        ("models", [(models, 6) for models in MODELS]),
        ("units at most", [(24, most) for most in UNITS]),
    ):
        base = part("growth", *cases[0])
        for models, most in cases:
            found = part("growth", models, most)
            stopped = "" if found["status"] == "optimal" else "stopped by the limit, not proved; "
            texts = (
                f"{found[key]:.0f} {key} (x{found[key] / base[key]:.1f})" for key in ("designs", "hours")
            )
            note = f"{stopped}{', '.join(texts)}, {show(found['cpu'] / found['hours'])} CPU an hour"
            name = f"{models if what == 'models' else most} {what}, {found['year_equivalents']:.0f} years"
            row(name, found["wall"], found["cpu"], ratio=found["cpu"] / base["cpu"], note=note)


def start() -> None:
    heading("Starting")
    command = [str(Path(sys.executable).parent / "selector"), "--help"]
    walls = []
    for _ in range(6):
        began = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        walls.append(time.perf_counter() - began)
    wall = statistics.median(walls[1:])
    row("selector --help, median of 5", wall, None, "400 ms", wall / 0.4)
    with tempfile.TemporaryDirectory() as folder:
        new = part("first", "compiles", cache_folder=folder)
        old = part("first", "loads", cache_folder=folder)
    row("two small choices, nothing compiled yet", new["wall"], new["cpu"], ratio=new["wall"] / old["wall"])
    row("the same in the next process", old["wall"], old["cpu"], ratio=1.0)


SWEEPS = (
    ("school", "outdoor-air-fraction", "16 %", "36 %"),
    ("school", "electricity-price", "0.06 USD/kWh", "0.26 USD/kWh"),
    ("hall", "outdoor-air-fraction", "12.5 %", "50 %"),
)


def sweeps() -> None:
    heading("21 steps, each proved, beside one choice of the same site (ratio: sweep / one choice; target 8)")
    for building, vary, low, high in SWEEPS:
        for between, what in (("steps", "21 steps"), ("between", "21 steps and all between them")):
            found = part("sweep_of", building, vary, low, high, 21, between)
            alone, command = found["alone"], found["alone"] + found["look"]
            note = (
                f"{found['proved']} of {found['steps']} proved, {found['switches']} switch-over points; one choice "
                f"{show(alone)}; years simulated, sweep / one choice {found['years'] / found['alone_years']:.1f}; "
                f"sweep / the command choose {found['wall'] / command:.1f}"
            )
            row(f"{building}, {vary}, {what}", found["wall"], None, "8", found["wall"] / alone, note)


SECTIONS = {
    "years": years,
    "quiet": quiet,
    "choices": choices,
    "profile": profile,
    "alternatives": alternatives,
    "moist-air": moist_air,
    "growth": growth,
    "start": start,
    "sweep": sweeps,
}


def main() -> int:
    wanted = sys.argv[1:] or list(SECTIONS)
    unknown = [name for name in wanted if name not in SECTIONS]
    if unknown:
        print(f"got {', '.join(unknown)}; allowed: {', '.join(SECTIONS)}", file=sys.stderr)
        return 2
    load, cores = os.getloadavg()[0], len(os.sched_getaffinity(0))
    print(f"{platform.machine()}, {cores} cores, Python {platform.python_version()}, load average {load:.1f}")
    part("first")  # compiles what is not compiled yet
    print(f"{'':<55} {'wall':>10} {'CPU':>10} {'target':>7} {'ratio':>7}  note")
    for name in wanted:
        SECTIONS[name]()
    print(f"\nload average at the end {os.getloadavg()[0]:.1f}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
