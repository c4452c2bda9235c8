"""Texts of a page's JSON, and how the page writes the months."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def texts_of(value: Any) -> Iterator[str]:
    """Texts with digits that JSON has, and designs as they are written."""
    if isinstance(value, dict):
        for one in value.values():
            yield from texts_of(one)
        if "count" in value and "model" in value:
            yield f"{value['count']} {value['model']}"
    elif isinstance(value, list):
        for one in value:
            yield from texts_of(one)
    elif isinstance(value, str) and re.search(r"\d", value):
        yield " ".join(value.split())
