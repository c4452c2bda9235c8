"""Works printed equations with printed numbers, as a reader with a calculator would.

Nothing of the product is used: symbols are replaced by the numbers that stand beside them, and saturation pressure is
written out from the handbook. A result agrees where it lies within what the last printed digits of everything that went
in, and of itself, leave open.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

SYMBOL = re.compile(r"[A-Za-z]+(?:_[A-Za-z0-9]+)?")
NUMBER = re.compile(r"(?<![A-Za-z_])\d+\.?\d*")

# ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 5 (over ice) and 6 (over liquid water)
ICE = (-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019)
WATER = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0.0, 6.5459673)


def p_sat(dry_bulb: float) -> float:
    """Saturation pressure [Pa] at a dry bulb [°C]."""
    t = dry_bulb + 273.15
    c = ICE if dry_bulb <= 0.01 else WATER
    return math.exp(c[0] / t + c[1] + c[2] * t + c[3] * t**2 + c[4] * t**3 + c[5] * t**4 + c[6] * math.log(t))


FUNCTIONS = {"p_sat": p_sat, "exp": math.exp, "ln": math.log, "max": max, "min": min}


def half_digit(text: str) -> float:
    """Half of the last digit that is printed."""
    return 0.5 * 10.0 ** -len(text.partition(".")[2])


def value_of(text: str) -> float:
    return float(text.replace(",", "").replace("\N{NO-BREAK SPACE}", ""))


def symbols_of(expression: str) -> set[str]:
    return {one for one in SYMBOL.findall(expression) if one not in FUNCTIONS}


def worked(expression: str, numbers: Mapping[str, float]) -> float:
    """Value of an expression."""
    code = expression.replace("·", "*").replace("^", "**")
    return float(eval(code, {"__builtins__": {}}, {**FUNCTIONS, **numbers}))  # printed by us, read in a test


def recomputed(equation: str, printed: Mapping[str, str]) -> tuple[float, float, float]:
    """Work an equation: its left side as printed, its right side as worked, and what rounding leaves open."""
    left, _, right = equation.partition(" = ")
    numbers = {symbol: value_of(printed[symbol]) for symbol in symbols_of(right)}
    result = worked(right, numbers)
    slack = half_digit(printed[left])
    for symbol, number in numbers.items():
        moved = worked(right, {**numbers, symbol: number + half_digit(printed[symbol])})
        back = worked(right, {**numbers, symbol: number - half_digit(printed[symbol])})
        slack += max(abs(moved - result), abs(back - result))
    return value_of(printed[left]), result, slack
