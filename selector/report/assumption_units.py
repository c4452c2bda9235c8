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

# keys under which all prices of energy are those of gas
_GAS = ("costs.gas", "costs.tariff.gas")

# of several dimensions in one SI unit the first is meant, but for these, which no assumption has
_OTHERS = ("power", "cooling_capacity", "volume", "moisture", "angle")
DIMENSIONS: Mapping[str, str] = {
    symbol: name for name, symbol in reversed(SI_SYMBOLS.items()) if symbol and name not in _OTHERS
}


def price_dimension(key: str) -> str:
    """Find the dimension that a price of energy is shown by: gas is sold by other units than electricity.

    >>> price_dimension("costs.gas"), price_dimension("costs.electricity")
    ('gas_price', 'energy_price')

    Args: key, of the site file. Returns: a dimension of the inputs.
    """
    return "gas_price" if key.startswith(_GAS) else "energy_price"
