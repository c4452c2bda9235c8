"""psychrolib, set to SI once, before anything compiles; and where what `inputs` compiles is kept.

Its unit system is global and numba takes it as a constant, so every module that computes moist air imports
psychrolib from here. Beside the sources, where numba would keep it, it would stay behind when they are removed, and
stand in the way of a later installation; `selector.physics` chooses a folder of its own.
"""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path

import numba
import platformdirs
import psychrolib

psychrolib.SetUnitSystem(psychrolib.SI)

if not getattr(numba.config, "CACHE_DIR", ""):
    _kept = Path(platformdirs.user_cache_dir("dehumidifier-selector")) / f"inputs-{version('psychrolib')}"
    setattr(numba.config, "CACHE_DIR", str(_kept))  # noqa: B010 - numba fills its config at run time

__all__ = ["psychrolib"]
