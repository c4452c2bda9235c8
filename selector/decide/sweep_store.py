"""Finished steps of sweeps, kept on disk, so that a sweep that was stopped goes on where it was.

One file for everything that decides what a step's answer is: the input files, the program, what is varied and how is
searched. Its lines are steps, each as it was finished; a line that was cut off is passed over. A step is found again by
its values, so another range or number of steps finds those that it shares.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import json
import os
from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields
from pathlib import Path
from typing import Any

import platformdirs

from selector.decide.results import Status
from selector.decide.sweep_results import ArrangementFigures, DesignFigures, StepResult, Values
from selector.inputs.fingerprint import fingerprint
from selector.inputs.site import ARRANGEMENTS, Arrangement, Install, Site
from selector.inputs.vary import Variation

KEPT = 20  # files of earlier sweeps
STATUSES: tuple[Status, ...] = ("optimal", "best-found", "not possible")


def folder() -> Path:
    """Folder of finished steps.

    Returns: path below the user's cache folder; it may not exist yet.
    """
    return Path(platformdirs.user_cache_dir("dehumidifier-selector")) / "sweeps"


@functools.cache
def program() -> str:
    """Digest of the program itself, so that no step of another version is taken for one of this.

    Returns: hexadecimal digits.
    """
    total = hashlib.sha256()
    package = Path(__file__).parent.parent
    for source in sorted([*package.rglob("*.py"), *package.rglob("*.toml"), *package.rglob("*.csv")]):
        total.update(str(source.relative_to(package)).encode())
        total.update(source.read_bytes())
    return total.hexdigest()


def key_of(*, site: Site, variations: tuple[Variation, ...], solver: str) -> str:
    """What the answers of a sweep's steps depend on beside their values.

    Args: site, as read; variations; solver of the proposals.
    Returns: 32 hexadecimal digits.
    """
    total = hashlib.sha256()
    words = [fingerprint(site=site), program(), solver, repr(site.limits)]
    words += [repr((one.key, one.value, one.origin)) for one in site.assumptions]
    for one in variations:
        words.append(f"{one.parameter.name} {one.of} {one.dimension} {one.held_rate!r} {one.files!r}")
        total.update(b"".join(weather.dry_bulb.tobytes() for weather in one.weathers))
        total.update(b"".join(weather.humidity_ratio.tobytes() for weather in one.weathers))
    total.update("\n".join(words).encode())
    return total.hexdigest()[:32]


class Store:
    """Steps of one sweep on disk; without a file it keeps nothing."""

    def __init__(self, *, file: Path | None) -> None:
        self.file = file
        self._found: dict[Values, StepResult] = {}
        if file is not None and file.is_file():
            for line in file.read_text(encoding="utf-8", errors="replace").splitlines():
                with contextlib.suppress(ValueError, KeyError, TypeError, StopIteration):
                    step = _read(json.loads(line))
                    self._found[step.values] = step

    def get(self, *, values: Values, staying: tuple[Install, ...] | None) -> StepResult | None:
        """Find a step that is finished already.

        Args: values [SI], empty for the site as read; staying, today's design, which the step has to know about.
        Returns: the step, None where it is not there.
        """
        step = self._found.get(values)
        if step is None or not values:
            return step
        known = None if step.staying is None else step.staying.install
        return step if known == staying else None

    def add(self, *, step: StepResult) -> None:
        """Write down a finished step.

        Args: step.
        """
        self._found[step.values] = step
        if self.file is None:
            return
        with contextlib.suppress(OSError):  # a disk that is full or shut: the sweep itself goes on
            self.file.parent.mkdir(parents=True, exist_ok=True)
            with self.file.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(step), ensure_ascii=False) + "\n")
                file.flush()
                os.fsync(file.fileno())


def forget_old(*, keep: Path) -> None:
    """Remove files of earlier sweeps but the youngest few.

    Args: keep, one that stays in any case.
    """
    with contextlib.suppress(OSError):
        others = [path for path in keep.parent.glob("*.jsonl") if path != keep]
        for path in sorted(others, key=lambda one: one.stat().st_mtime)[: -KEPT or None]:
            path.unlink(missing_ok=True)


def _read(value: Mapping[str, Any]) -> StepResult:
    """Make a step of what was written."""
    designs = {name: _design(value[name]) for name in ("best", "closest", "existing", "runner_up", "staying")}
    existing = designs["existing"]
    if existing is None:
        raise ValueError("a step without the existing system")
    return StepResult(
        values=tuple(float(one) for one in value["values"]),
        best=designs["best"],
        closest=designs["closest"],
        existing=existing,
        runner_up=designs["runner_up"],
        by_arrangement=tuple(
            ArrangementFigures(
                _arrangement(one["arrangement"]), _design(one["design"]), one["extra_cost"], one["why"]
            )
            for one in value["by_arrangement"]
        ),
        staying=designs["staying"],
        status=next(one for one in STATUSES if one == value["status"]),
        year_equivalents=float(value["year_equivalents"]),
        seconds=float(value["seconds"]),
        contenders=tuple(_parts(one) for one in value["contenders"]),
        record=value["record"],
    )


def _arrangement(name: str) -> Arrangement:
    return next(one for one in ARRANGEMENTS if one == name)


def _parts(values: Sequence[Mapping[str, Any]]) -> tuple[Install, ...]:
    return tuple(
        Install(str(one["model"]), _arrangement(one["arrangement"]), int(one["count"])) for one in values
    )


def _design(value: Mapping[str, Any] | None) -> DesignFigures | None:
    if value is None:
        return None
    rest = {
        one.name: value[one.name] for one in fields(DesignFigures) if one.name not in ("install", "broken")
    }
    return DesignFigures(install=_parts(value["install"]), broken=tuple(value["broken"]), **rest)
