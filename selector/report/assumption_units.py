"""In which unit people know the value of an assumption: by its SI unit, and by its key where it is a bare share."""

from __future__ import annotations

import re
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

# keys of powers that are no electricity: heat of people and of the heating plant, and what a coil takes out
_HEAT = (".sensible", ".latent", "heating.capacity")
_COOLING = "cooling_coil.total_capacity"

# keys of ratios without a unit in SI that people know by the unit in the key's name
_RATIOS = {"eer": "energy_efficiency_ratio", "kw_per_ton": "power_per_cooling"}

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


def dimension_by(*, key: str, unit: str) -> str | None:
    """Find the dimension that a quantity is shown by: heat is known in other units than electricity.

    >>> dimension_by(key="gains[0].sensible", unit="W"), dimension_by(key="gains[1].power", unit="W")
    ('power', 'electric_power')
    >>> dimension_by(key="air_handler.cooling_coil.eer", unit="")
    'energy_efficiency_ratio'

    Args: key, of the site file; unit, SI, as the record has it.
    Returns: a dimension of the inputs; None where the value is shown as it stands.
    """
    if unit == "":
        return _RATIOS.get(key.rpartition(".")[2])
    if unit == "W" and key.endswith(_COOLING):
        return "cooling_capacity"
    return "power" if unit == "W" and key.endswith(_HEAT) else DIMENSIONS.get(unit)


def is_share(key: str) -> bool:
    """Whether a bare number is a share that people know in per cent, wherever in a list it stands.

    >>> is_share("humidity_target[1].band"), is_share("limits.max_units")
    (True, False)

    Args: key, of the site file. Returns: yes or no.
    """
    return re.sub(r"\[\d+\]", "", key).endswith(SHARES)
