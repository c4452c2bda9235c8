"""Latent capacity at part load: what the wet coil gives back while the fan runs on.

When the compressor stops and the fan does not, the water that the coil holds evaporates into the off-cycle
air and has to be made good at the next start before any condensate leaves. The part of the steady latent
capacity that is left depends on the runtime X alone, for one coil.
Source: H. I. Henderson and K. Rengarajan, "A model to predict the latent capacity of air conditioners and
heat pumps at part-load conditions with constant fan operation", ASHRAE Transactions 102(1), 1996, paper 3958;
the equations as they are commonly restated, with evaporation that falls linearly as the coil dries.

    on time        t_on  = 3600 / (4 N (1 - X))       N = greatest cycling rate, reached at X = 0.5
    off time       t_off = 3600 / (4 N X)
    evaporated     M     = g t_e - g^2 t_e^2 / (4 t_wet),  t_e = min(t_off, 2 t_wet / g)
    first drop     t_o   = M + tau (1 - exp(-t_o / tau))
    ratio                = (t_on - t_o) / (t_on - tau (1 - exp(-t_on / tau))), held to 0..1

M and t_o are in seconds of steady latent capacity. M reaches t_wet, all that the coil holds, when it has
dried. With little evaporation the quotient passes 1, because its numerator leaves out the slow start; it is
held at 1.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from selector.inputs.site import FloatArray
from selector.physics.compiled import compiled

TABLE_POINTS = 2049  # runtime 0 to 1 in steps of 1/2048, exact in binary


@compiled
def off_cycle_evaporation(off_time: float, wetting_time: float, evaporation_ratio: float) -> float:
    """Water that evaporates from the coil in one off time, in seconds of steady latent capacity.

    Args: off_time [s]; wetting_time [s], what the coil holds; evaporation_ratio [-], first evaporation over
        steady latent capacity.
    Returns: evaporated water [s], 0 to wetting_time.
    Source: Henderson and Rengarajan 1996, integral of gamma (1 - gamma t / (2 t_wet)) over the off time.
    """
    if wetting_time <= 0.0 or evaporation_ratio <= 0.0:
        return 0.0
    drying = min(off_time, 2.0 * wetting_time / evaporation_ratio)
    return evaporation_ratio * drying * (1.0 - evaporation_ratio * drying / (4.0 * wetting_time))


@compiled
def first_drop_time(evaporated: float, time_constant: float) -> float:
    """Time after the start at which condensate begins to leave the coil.

    Args: evaporated [s], of steady latent capacity, to be made good; time_constant [s], of the start.
    Returns: t_o [s], the root of t_o = evaporated + time_constant (1 - exp(-t_o / time_constant)).
    Newton from the right of the root; the function is convex, so no step overshoots.
    """
    if time_constant < 1e-6 or evaporated <= 0.0:
        return max(0.0, evaporated)
    target = evaporated / time_constant
    scaled = target + 1.0
    for _ in range(60):
        slope = -math.expm1(-scaled)
        step = (scaled - slope - target) / slope
        scaled -= step
        if abs(step) <= 1e-14 * scaled:
            break
    return scaled * time_constant


@compiled
def latent_ratio(
    runtime: float, wetting_time: float, evaporation_ratio: float, cycling_rate: float, time_constant: float
) -> float:
    """Latent capacity at part load over steady latent capacity, with the fan running on.

    Args: runtime [-], share of the time that the compressor runs, held to 0..1; wetting_time [s], t_wet;
        evaporation_ratio [-], gamma; cycling_rate [1/h], the greatest, at runtime 0.5; time_constant [s],
        tau.
    Returns: ratio [-], 0 to 1; 1 at runtime 1 and without cycling; the limit of a coil that dries in every
        off time at runtime 0.
    Source: Henderson and Rengarajan 1996, paper 3958. With a fan that stops with the compressor use 1.
    """
    if runtime >= 1.0 or cycling_rate <= 0.0:
        return 1.0
    if evaporation_ratio <= 0.0 or wetting_time <= 0.0:
        return 1.0
    on_time = 900.0 / (cycling_rate * (1.0 - max(0.0, runtime)))
    off_time = math.inf if runtime <= 0.0 else 900.0 / (cycling_rate * runtime)
    start = first_drop_time(off_cycle_evaporation(off_time, wetting_time, evaporation_ratio), time_constant)
    if start >= on_time:
        return 0.0
    condensed = on_time
    if time_constant > 0.0:
        condensed += time_constant * math.expm1(-on_time / time_constant)
    if condensed <= on_time - start:
        return 1.0
    return (on_time - start) / condensed


@njit(cache=True, error_model="numpy")  # allocates
def latent_ratio_table(
    wetting_time: float, evaporation_ratio: float, cycling_rate: float, time_constant: float
) -> FloatArray:
    """Table of `latent_ratio` over the runtime, for `interpolated_latent_ratio` in the year loop.

    Args: wetting_time [s], evaporation_ratio [-], cycling_rate [1/h], time_constant [s], as of
        `latent_ratio`.
    Returns: ratios [-], shape (2049,), at runtimes 0, 1/2048, ..., 1. Straight lines between them were found
        within 0.0005 of the function at the three published sets of constants, and within 0.00025 once
        multiplied with the runtime, as the moisture removed is.
    """
    table = np.empty(TABLE_POINTS)
    for index in range(TABLE_POINTS):
        table[index] = latent_ratio(
            index / (TABLE_POINTS - 1.0), wetting_time, evaporation_ratio, cycling_rate, time_constant
        )
    return table


@compiled
def interpolated_latent_ratio(table: FloatArray, runtime: float) -> float:
    """`latent_ratio` by straight lines between the points of its table.

    Args: table [-], shape (2049,); runtime [-], held to 0..1.
    Returns: ratio [-].
    """
    place = min(1.0, max(0.0, runtime)) * (TABLE_POINTS - 1)
    below = min(int(place), TABLE_POINTS - 2)
    return float(table[below] + (place - below) * (table[below + 1] - table[below]))
