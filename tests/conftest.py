"""What all tests share: random cases are drawn the same way on every run, and compiling takes what it takes."""

from __future__ import annotations

import pytest
from hypothesis import settings

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
