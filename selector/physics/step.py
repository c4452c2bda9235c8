"""Exact hourly step of a stored quantity that relaxes at a constant rate.

C dx/dt = A - B x over one hour has x(t) = A/B + (x0 - A/B) exp(-B t / C). Written with two functions of
z = B t / C that stay accurate where B is zero: first(z) = (1 - exp(-z)) / z and second(z) = (1 - first(z)) / z,
so that x1 = x0 + (A - B x0) t/C first(z) and the mean over the hour is x0 + (A - B x0) t/C second(z).
C (x1 - x0) / t = A - B mean holds identically, which is what the balances are audited against.
Source: textbook solution of a first-order linear equation.
"""

from __future__ import annotations

import math

from selector.physics.compiled import compiled

HOUR = 3600.0  # s


@compiled
def first(z: float) -> float:
    """(1 - exp(-z)) / z, for the end of the step.

    Args: z [-], rate times step.
    Returns: value [-], 1 at z = 0.
    """
    if abs(z) < 1e-5:
        return 1.0 - z / 2.0 + z * z / 6.0
    return -math.expm1(-z) / z


@compiled
def second(z: float, one: float) -> float:
    """(1 - first(z)) / z, for the mean over the step.

    Args: z [-], rate times step; one [-], first(z).
    Returns: value [-], 1/2 at z = 0.
    """
    if abs(z) < 1e-3:
        return 0.5 - z / 6.0 + z * z / 24.0 - z * z * z / 120.0
    return (1.0 - one) / z


@compiled
def step(start: float, source: float, loss: float, capacity: float) -> tuple[float, float]:
    """End and mean of the stored quantity over one hour.

    Args: start [state, in any unit]; source A [state x capacity / s]; loss B [capacity / s]; capacity C [capacity].
    Returns: state at the end, mean over the hour.
    """
    z = loss * HOUR / capacity
    slope = (source - loss * start) * HOUR / capacity
    one = first(z)
    return start + slope * one, start + slope * second(z, one)


@compiled
def source_for(start: float, end: float, loss: float, capacity: float) -> tuple[float, float]:
    """Source that brings the state to a given end, and the mean on the way.

    Args: start, end [state, in any unit]; loss B [capacity / s]; capacity C [capacity].
    Returns: source A [state x capacity / s], mean over the hour.
    """
    z = loss * HOUR / capacity
    one = first(z)
    slope = (end - start) / one
    return loss * start + slope * capacity / HOUR, start + slope * second(z, one)
