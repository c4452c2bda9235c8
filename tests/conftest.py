"""What all tests share: random cases are drawn the same way on every run, and compiling takes what it takes.

In a run of several workers one process compiles the loop while they take the tests that need little of it; else each of
them would compile all of it for itself.
"""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("repeatable", deadline=None, derandomize=True, database=None)
settings.load_profile("repeatable")

TESTS = Path(__file__).parent
NEED_LITTLE = ("inputs", "money", "test_docstrings.py", "test_layout.py")  # of what is compiled
ENDED = "SELECTOR_TESTS_COMPILED"  # names a file that is there once the compiling process has ended
LONGEST = 600.0  # s that a worker waits for it
_compiling: list[subprocess.Popen[bytes]] = []


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--renew-golden", action="store_true", help="write golden files anew instead of comparing with them"
    )


def pytest_configure(config: pytest.Config) -> None:
    if not config.getoption("numprocesses", None) or hasattr(config, "workerinput"):
        return
    folder = Path(tempfile.mkdtemp(prefix="selector-tests-"))
    os.environ[ENDED] = str(folder / "ended")
    site = TESTS.parent / "scenarios" / "records.toml"
    choose = shlex.join([sys.executable, "-m", "selector", "choose", str(site)])
    ended = shlex.quote(os.environ[ENDED])
    command = ["sh", "-c", f"{choose} >{ended}.log 2>&1; touch {ended}"]
    _compiling.append(subprocess.Popen(command, cwd=TESTS.parent))


def pytest_unconfigure() -> None:
    for process in _compiling:
        process.wait()
        shutil.rmtree(Path(os.environ[ENDED]).parent)
    _compiling.clear()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    items.sort(key=needs_much)


def pytest_runtest_setup(item: pytest.Item) -> None:
    ended = os.environ.get(ENDED)
    if ended is None or not needs_much(item):
        return
    started = time.monotonic()
    while not Path(ended).exists() and time.monotonic() - started < LONGEST:
        time.sleep(0.1)


def needs_much(item: pytest.Item) -> bool:
    """Say whether a test needs the hourly loop compiled."""
    return item.path.relative_to(TESTS).parts[0] not in NEED_LITTLE


@pytest.fixture
def renew_golden(request: pytest.FixtureRequest) -> bool:
    """Say whether golden files are written anew."""
    return bool(request.config.getoption("--renew-golden"))
