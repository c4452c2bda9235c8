"""What all tests share: random cases are drawn the same way on every run, and compiling takes what it takes."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("repeatable", deadline=None, derandomize=True, database=None)
settings.load_profile("repeatable")
