"""What all tests share: random cases are drawn the same way on every run, and one process has all of a subject."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

settings.register_profile("repeatable", deadline=None, derandomize=True, database=None)
settings.load_profile("repeatable")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--renew-golden", action="store_true", help="write golden files anew instead of comparing with them"
    )


@pytest.fixture
def renew_golden(request: pytest.FixtureRequest) -> bool:
    """Say whether golden files are written anew."""
    return bool(request.config.getoption("--renew-golden"))


class BySubject(LoadScopeScheduling):
    """Send tests to the same process whose files' names begin with the same word: they share what they simulate."""

    def _split_scope(self, nodeid: str) -> str:
        return Path(nodeid.partition("::")[0]).stem.split("_")[1]


def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> BySubject:
    """Say how tests are handed out to several processes."""
    return BySubject(config, log)
