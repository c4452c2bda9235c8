"""One coil for both machines: apparatus dew point and bypass factor.

Leaving air = bypass factor x entering air + (1 - bypass factor) x air at the surface. The surface is saturated
at the apparatus dew point where that lies below the entering dew point, and dry otherwise.
Source: ASHRAE Handbook Fundamentals 2017, ch. 1 (coil process line); W. P. Jones, Air Conditioning Engineering,
5th ed., 3.4 (contact factor = 1 - bypass factor).
Units: dry bulb °C, humidity ratio kg/kg, pressure Pa, flow kg dry air/s, heat W.
"""

from __future__ import annotations

import math

from numba import njit

from selector.physics.moist_air import saturation_humidity_ratio


@njit(cache=True)
def bypass_factor_at(rated: float, rated_flow: float, flow: float) -> float:
    """Bypass factor at another airflow.

    Args: rated [-]; rated_flow, flow [kg/s].
    Returns: bypass factor [-], 0 at no flow.
    Source: BF = exp(-A0 / flow), with A0 from the rating point.
    """
    if flow <= 0.0:
        return 0.0
    return math.exp(math.log(rated) * rated_flow / flow)


@njit(cache=True)
def surface_humidity_ratio(surface: float, humidity_ratio: float, pressure: float) -> float:
    """Humidity ratio of the air at the surface: saturated where that is drier than the entering air.

    Args: surface [°C], apparatus dew point; humidity_ratio [kg/kg], entering; pressure [Pa].
    Returns: humidity ratio [kg/kg], never above the entering air's.
    """
    return min(humidity_ratio, saturation_humidity_ratio(surface, pressure))


@njit(cache=True)
def leaving_air(
    bypass_factor: float, dry_bulb: float, humidity_ratio: float, surface: float, pressure: float
) -> tuple[float, float]:
    """Leaving dry bulb and humidity ratio.

    Args: bypass_factor [-]; dry_bulb [°C] and humidity_ratio [kg/kg], entering; surface [°C]; pressure [Pa].
    Returns: dry bulb [°C], humidity ratio [kg/kg].
    """
    at_surface = surface_humidity_ratio(surface, humidity_ratio, pressure)
    return (
        bypass_factor * dry_bulb + (1.0 - bypass_factor) * surface,
        bypass_factor * humidity_ratio + (1.0 - bypass_factor) * at_surface,
    )
