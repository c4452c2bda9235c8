"""The examples in docstrings show what the functions do."""

from __future__ import annotations

import doctest
import importlib
import pkgutil

import pytest

import selector.inputs
import selector.report

MODULES = [
    module.name
    for package in (selector.inputs, selector.report)
    for module in pkgutil.iter_modules(package.__path__, prefix=f"{package.__name__}.")
]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    assert doctest.testmod(importlib.import_module(name)).failed == 0


def test_there_are_examples() -> None:
    finder = doctest.DocTestFinder(exclude_empty=True)
    found = [test for name in MODULES for test in finder.find(importlib.import_module(name)) if test.examples]
    assert len(found) >= 10
