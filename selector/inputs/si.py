"""psychrolib, set to SI once, before anything compiles.

Its unit system is global and numba takes it as a constant, so every module that computes moist air imports
psychrolib from here.
"""

from __future__ import annotations

import psychrolib

psychrolib.SetUnitSystem(psychrolib.SI)

__all__ = ["psychrolib"]
