"""Moist air, coil, dehumidifier, ducts, gains, arrangements and the year, hour by hour.

Importing this package chooses where numba keeps compiled functions, before any of them is defined.
"""

from selector.physics import compiled as compiled
