"""Commands run as a person would run them, for tests."""

from __future__ import annotations

import functools
import json
import tempfile
from pathlib import Path
from typing import Any

from typer.testing import CliRunner, Result

from selector.cli import app
from tests.sites import CATALOG, ROOM, SCENARIOS

BOXES = "─━│┃┌┐└┘├┤┬┴┼╭╮╰╯═║"
ANSWERS = {
    "--name": "Town hall",
    "--profile": "hall",
    "--weather-file": (SCENARIOS / "weather" / "tidewater.csv").as_posix(),
    "--floor-area": "9000 ft2",
    "--ceiling-height": "18 ft",
    "--humidity-limit": "60 %",
    "--supply-airflow": "9000 cfm",
    "--outdoor-airflow": "2250 cfm",
    "--cooling-capacity": "25 ton",
    "--catalog": CATALOG.as_posix(),
}


def run(*words: str | Path, stdin: str | None = None) -> Result:
    return CliRunner().invoke(app, [str(word) for word in words], input=stdin)


def words_of(answers: dict[str, str]) -> list[str]:
    return [word for pair in answers.items() for word in pair]


@functools.cache
def chosen() -> tuple[Result, dict[str, Any], str]:
    """One choice, its JSON and its hourly CSV."""
    with tempfile.TemporaryDirectory() as folder:
        result, out = Path(folder) / "choice.json", Path(folder) / "hours.csv"
        done = run("choose", ROOM, "--json", result, "--hourly", out)
        assert done.exit_code == 0, done.stderr
        assert sorted(path.name for path in Path(folder).iterdir()) == ["choice.json", "hours.csv"]
        return done, json.loads(result.read_text("utf-8")), out.read_text("utf-8")
