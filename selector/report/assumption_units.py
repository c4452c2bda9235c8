"""In which unit people know the value of an assumption: by its SI unit, and by its key where it is a bare share."""

from __future__ import annotations

from collections.abc import Mapping

from selector.inputs.units import SI_SYMBOLS

# keys of bare shares that people know in per cent
SHARES = (
    "discount_rate",
    "escalation",
    "inflation",
    "relative_humidity",
    "humidity_target.band",
    "fraction",
)

# of several dimensions in one SI unit the first is meant, but for these, which no assumption has
_OTHERS = ("power", "cooling_capacity", "volume", "moisture", "angle")
DIMENSIONS: Mapping[str, str] = {
    symbol: name for name, symbol in reversed(SI_SYMBOLS.items()) if symbol and name not in _OTHERS
}
