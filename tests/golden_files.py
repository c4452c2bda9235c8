"""Answers kept in files, which are written anew only where `--renew-golden` asks for it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from selector.decide.evaluate import Evaluation
from selector.decide.results import Choice

DIGITS = 8  # significant, of each number kept
AGREEMENT = 1e-7  # relative; what is kept is rounded by up to 5e-8
NOTHING = 1e-9  # below it a number is the rounding of larger ones: of a coil that stays dry, say


def kept(value: Any) -> Any:
    """The same value as a golden file keeps it."""
    if isinstance(value, dict):
        return {str(key): kept(one) for key, one in value.items()}
    if isinstance(value, (list, tuple)):
        return [kept(one) for one in value]
    if isinstance(value, float):
        return 0.0 if abs(value) < NOTHING else float(f"{value:.{DIGITS}g}")
    return value


def differences(found: Any, wanted: Any, place: str = "") -> list[str]:
    """Where two values differ, by name."""
    if isinstance(found, dict) and isinstance(wanted, dict) and found.keys() == wanted.keys():
        return [one for key in found for one in differences(found[key], wanted[key], f"{place}.{key}")]
    if isinstance(found, list) and isinstance(wanted, list) and len(found) == len(wanted):
        pairs = enumerate(zip(found, wanted, strict=True))
        return [one for at, pair in pairs for one in differences(*pair, f"{place}[{at}]")]
    if isinstance(found, float) and isinstance(wanted, (int, float)):
        if abs(found - wanted) <= max(NOTHING, AGREEMENT * abs(wanted)):
            return []
    elif type(found) is type(wanted) and found == wanted:
        return []
    return [f"{place.removeprefix('.')}: got {found!r}, the golden file has {wanted!r}"]


def compare(path: Path, found: Any, *, renew: bool) -> None:
    """Hold an answer to its golden file, or write the file where it is to be renewed."""
    if renew:
        path.parent.mkdir(exist_ok=True)
        path.write_text(json.dumps(kept(found), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    assert path.is_file(), f"{path}: no such file; pytest --renew-golden writes it"
    faults = differences(json.loads(json.dumps(found)), json.loads(path.read_text("utf-8")))
    assert not faults, "\n".join([str(path), *faults])


def install_text(evaluation: Evaluation) -> list[str]:
    return [f"{part.count} {part.model} {part.arrangement}" for part in evaluation.install]


def design_of(evaluation: Evaluation) -> dict[str, Any]:
    """What of a design is kept."""
    return {
        "install": install_text(evaluation),
        "feasible": evaluation.feasible,
        "first_cost": evaluation.costs.first,
        "annual_operating": evaluation.costs.annual_operating,
        "life_cycle_cost": evaluation.costs.life_cycle,
        "hours_above": {limit.name: limit.hours_above for limit in evaluation.limits},
        "maximum_relative_humidity": evaluation.maximum_relative_humidity,
        "maximum_dew_point_C": evaluation.maximum_dew_point,
        "hours_too_warm": evaluation.hours_too_warm,
        # over a periodic year nothing is stored but the rounding of its start
        "moisture_kg": {key: value for key, value in evaluation.moisture_kg.items() if key != "stored"},
        "energy_kwh": dict(evaluation.energy_kwh),
    }


def answer_of(choice: Choice) -> dict[str, Any]:
    """What of a choice is kept: not the work it took, which any better search changes."""
    return {
        "status": choice.proof.status,
        "best": None if choice.best is None else design_of(choice.best),
        "existing": design_of(choice.existing),
        "best_by_arrangement": {
            row.arrangement: None
            if row.best is None
            else {"install": install_text(row.best), "life_cycle_cost": row.best.costs.life_cycle}
            for row in choice.by_arrangement
        },
    }
