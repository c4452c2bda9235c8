"""The alternative: counts and every hour's running in one integer programme, written out in full.

Counts are whole numbers, the units' running is a number each hour, and the space's humidity ratio is carried from hour
to hour with the outdoor air, gains and coil of a year in which the humidistat's set point is held. What a unit removes
and draws in an hour is taken at the limit then in force, so that the balance is linear. What linearising leaves out
(the coil's answer to drier air, heat of the units) makes the programme easier, not harder.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from selector.inputs.site import Arrangement

TIME_LIMIT = 200.0  # s for the solver
HIGHER = 12.0  # g/kg by which an hour that is allowed above may exceed its limit


def limits_of(prepared: Any, dry_bulb: Any) -> list[Any]:
    """Humidity ratio [g/kg] of each limit in every hour, infinite where it is not in force."""
    from selector.physics.moist_air import humidity_ratio_of_relative_humidity

    pressure, found = prepared.hours["pressure"], []
    for limit_rh, limit_w in zip(prepared.limit_rh, prepared.limit_w, strict=True):
        there = limit_rh < 1.0
        by_rh = humidity_ratio_of_relative_humidity(dry_bulb, np.where(there, limit_rh, 1.0), pressure)
        found.append(1e3 * np.where(there, by_rh, limit_w))
    return found


def unit_hours(prepared: Any, rows: list[int], code: int, dry_bulb: Any, ratio: Any) -> Any:
    """Whether units run, removal [kg/h] and present value of energy [currency] of each in every hour: (3, U, H)."""
    from selector.physics.unit import performance

    hours = prepared.hours
    found = np.zeros((3, len(rows), hours.size))
    for at, row in enumerate(rows):
        fraction = prepared.connections[row, code].flow_fraction
        for h in range(hours.size):
            now, air = hours[h], (float(dry_bulb[h]), float(ratio[h]))
            runs, _, removal, power, gas, *_ = performance(
                prepared.units[row], fraction, *air, now["pressure"], now["outdoor_t"], now["outdoor_w"], *air
            )
            energy = power * now["electricity"] + gas * now["gas"]
            found[:, at, h] = runs, 3600.0 * removal, 3600.0 * energy
    return found


def solve_written_out(*, prepared: Any, arrangement: Arrangement, allowance: bool) -> dict[str, Any]:
    """Write the programme out and solve it.

    Args: prepared; arrangement, the only one; allowance, whether the hours above that the site allows are yes-or-no
        variables, or every hour has to keep its limits.
    Returns: status, answer in words, size, seconds to write it out.
    """
    import pulp

    from selector.decide.limits import broken_by_unit
    from selector.decide.solver import solve
    from selector.inputs.site import ARRANGEMENTS, Install
    from selector.money.design_costs import cost_coefficients
    from selector.physics import response as out
    from selector.physics.hourly import simulate_hours

    began = time.perf_counter()
    site, code = prepared.site, ARRANGEMENTS.index(arrangement)
    units = site.catalog.units
    rows = [row for row, unit in enumerate(units) if not broken_by_unit(site=site, unit=unit)]
    models = range(len(rows))
    money = cost_coefficients(site=site, choices=tuple((units[row].model, arrangement) for row in rows))
    largest = max(rows, key=lambda row: units[row].airflow)
    held = simulate_hours(
        prepared=prepared, install=(Install(units[largest].model, arrangement, site.limits.max_units),)
    )
    limits = limits_of(prepared, held.mean_t)
    strictest = np.minimum.reduce(limits)
    ratio = np.where(np.isfinite(strictest), 1e-3 * strictest, held.mean_w)
    runs, removal, energy = unit_hours(prepared, rows, code, held.mean_t, ratio)
    source = 3600.0 * (held.response[:, out.VAPOUR_SOURCE] - held.response[:, out.COIL_REMOVED])  # kg/h
    loss = 3.6 * held.response[:, out.VAPOUR_LOSS]  # kg/h for each g/kg
    store = 1e-3 * float(prepared.plant["vapour_capacity"])  # kg for each g/kg
    hours = range(source.size)

    problem = pulp.LpProblem("hourly", pulp.LpMinimize)
    most = site.limits.max_units
    count = [problem.add_variable(f"n{m}", 0, most, cat=pulp.LpInteger) for m in models]
    used = [problem.add_variable(f"m{m}", cat=pulp.LpBinary) for m in models]
    any_used = problem.add_variable("a", cat=pulp.LpBinary)
    running = [[problem.add_variable(f"y{m}_{h}", 0) for h in hours] for m in models]
    humid = [problem.add_variable(f"w{h}", 0, 40) for h in hours]
    problem.setObjective(
        pulp.lpSum((money.first[m] + money.later[m]) * count[m] for m in models)
        + money.fixed[code] * any_used
        + pulp.lpSum(float(energy[m, h]) * running[m][h] for m in models for h in hours)
    )
    problem += pulp.lpSum(count) <= most
    problem += pulp.lpSum(used) <= site.limits.max_sizes
    for m in models:
        problem += count[m] <= most * used[m]
        problem += count[m] <= most * any_used
        for h in hours:
            problem += running[m][h] <= float(runs[m, h]) * count[m]
    for h in hours:
        removed = pulp.lpSum(float(removal[m, h]) * running[m][h] for m in models if removal[m, h] > 0.0)
        rise = float(store) * (humid[h] - humid[h - 1])  # hour -1 is the year's last
        lost = float(0.5 * loss[h]) * (humid[h] + humid[h - 1])
        problem += rise + lost + removed == float(source[h])
    for k, limit in enumerate(limits):
        there = [h for h in hours if np.isfinite(limit[h])]
        if allowance:
            above = {h: problem.add_variable(f"b{k}_{h}", cat=pulp.LpBinary) for h in there}
            problem += pulp.lpSum(above.values()) <= site.targets[k].allowed_hours_above
        for h in there:
            problem += humid[h] <= float(limit[h]) + (HIGHER * above[h] if allowance else 0.0)
    size = {"rows": len(problem.constraints()), "columns": len(problem.variables())}
    build = time.perf_counter() - began
    found = solve(problem=problem, time_limit=TIME_LIMIT)
    answer = "no answer"
    if found.objective is not None:
        chosen = [
            f"{round(count[m].value())} {units[rows[m]].model}" for m in models if count[m].value() > 0.5
        ]
        answer = ", ".join(chosen) or "nothing"
    return {"status": found.status, "answer": answer, "build": build, **size}
