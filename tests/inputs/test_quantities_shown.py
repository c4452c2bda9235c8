"""Quantities there and back again: units that are offered, what is shown, numbers, headings and dimensions.

Expected values: NIST Special Publication 811 (2008), appendix B, unless a comment says otherwise.
"""

from __future__ import annotations

import doctest
import math
import re
from types import ModuleType
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from selector.inputs import new_site, quantities
from selector.inputs.quantities import (
    QuantityError,
    conversion_of,
    display_unit,
    display_value,
    format_quantity,
    parse,
    parse_heading,
    parse_number,
)
from selector.inputs.units import DIMENSIONS, SI_SYMBOLS

UNITS_OF = {
    name: tuple(unit for unit in dict.fromkeys((entry.ip_unit, entry.si_unit, *entry.also)) if unit != "scfm")
    for name, entry in DIMENSIONS.items()
    if "currency" not in entry.si and name != "count"
}


@given(
    data=st.data(),
    dimension=st.sampled_from(sorted(UNITS_OF)),
    number=st.floats(min_value=1e-3, max_value=1e6),
)
def test_every_unit_that_is_offered_goes_there_and_back(
    data: st.DataObject, dimension: str, number: float
) -> None:
    unit = data.draw(st.sampled_from(UNITS_OF[dimension]))
    if dimension in ("fraction", "relative_humidity"):
        number /= 1e6
    conversion = conversion_of(unit, dimension)
    si = parse(f"{number!r} {unit}", dimension)
    assert (si - conversion.offset) / conversion.scale == pytest.approx(number, rel=1e-9, abs=1e-9)


@given(
    dimension=st.sampled_from(sorted(DIMENSIONS)),
    system=st.sampled_from(["IP", "SI"]),
    shown=st.floats(min_value=1e-3, max_value=1e7),
)
def test_what_is_shown_reads_back_to_the_figures_that_are_shown(
    dimension: str, system: Literal["IP", "SI"], shown: float
) -> None:
    if dimension in ("fraction", "relative_humidity"):
        shown /= 1e5
    unit = display_unit(dimension, system, currency="EUR")
    conversion = conversion_of(unit, dimension) if unit else quantities.Conversion(1.0, 0.0)
    si = shown * conversion.scale + conversion.offset
    text = format_quantity(si, dimension, system, currency="EUR")
    back = parse(text, dimension, currency="EUR") if unit else parse_number(text)
    # four figures; one decimal for temperatures and shares, none for money
    rounding = {"money": 0.5, "money_per_year": 0.5}.get(dimension, 0.05)
    if dimension not in ("money", "money_per_year", "temperature", "temperature_difference") and unit != "%":
        rounding = 0.05 if dimension == "sound" else 0.0005 * shown
    assert abs((back - conversion.offset) / conversion.scale - shown) <= rounding * (1 + 1e-6) + 1e-9


@given(number=st.integers(min_value=0, max_value=10**12))
def test_thousands_commas_read_as_they_are_written(number: int) -> None:
    assert parse_number(f"{number:,}") == float(number)


@given(
    whole=st.integers(min_value=0, max_value=10**6),
    part=st.text("0123456789", min_size=1, max_size=6),
)
def test_a_comma_is_never_taken_for_a_point(whole: int, part: str) -> None:
    text = f"{whole},{part}"
    well_formed = len(part) == 3 and 0 < whole < 1000
    if well_formed:
        assert parse(f"{text} m", "length") == whole * 1000 + int(part)
    else:
        with pytest.raises(QuantityError, match="commas only between groups of three digits"):
            parse(f"{text} m", "length")


@given(text=st.text(max_size=20), dimension=st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_is_a_finite_number_or_refused(text: str, dimension: str) -> None:
    try:
        value = parse(text, dimension)
    except QuantityError:
        return
    assert math.isfinite(value)


@given(
    unit=st.text("mkgslbhWBtuFCK°/*·()-^23. %$", min_size=1, max_size=12),
    dimension=st.sampled_from(sorted(DIMENSIONS)),
)
def test_any_unit_is_known_or_refused(unit: str, dimension: str) -> None:
    try:
        conversion = conversion_of(unit, dimension)
    except QuantityError:
        return
    assert conversion.scale > 0


def test_fahrenheit_shows_as_fahrenheit() -> None:
    assert format_quantity(0.0, "temperature", "IP") == "32.0 degF"
    assert format_quantity(-17.7777777, "temperature", "IP") == "0.0 degF"
    assert format_quantity(1.0, "temperature_difference", "IP") == "1.8 degF"
    assert format_quantity(23.88, "temperature", "SI") == "23.9 degC"


def test_numbers_show_as_people_write_them() -> None:
    assert format_quantity(4.2475, "airflow", "IP") == "9,000 cfm"
    assert format_quantity(0.0, "power", "SI") == "0 kW"
    assert format_quantity(-0.00001, "fraction", "SI") == "0.0 %"
    assert format_quantity(87921.3, "cooling_capacity", "IP") == "25 ton"
    assert format_quantity(0.14 / 3.6e6, "energy_price", "IP", currency="USD") == "0.14 USD/kWh"
    assert format_quantity(60000.0, "money", "SI", currency="EUR") == "60,000 EUR"
    assert format_quantity(1234567.0, "count", "SI") == "1,235,000"
    assert format_quantity(1234567.0, "count", "SI", digits=7) == "1,234,567"
    assert display_value(3.517e3, "cooling_capacity", "SI") == pytest.approx(3.517)
    with pytest.raises(ValueError, match="money cannot be shown without its currency"):
        format_quantity(1.0, "money", "IP")


DIMENSIONS_OF = {
    "removal": "moisture_rate",
    "model": None,
    "phases": "count",
    "relative humidity": "fraction",
}


def test_headings_give_the_way_to_si() -> None:
    removal = parse_heading("Removal [lb/h]", dimensions=DIMENSIONS_OF)
    assert (removal.name, removal.dimension) == ("removal", "moisture_rate")
    assert removal.to_si(7.936641) == pytest.approx(0.001)
    assert parse_heading("relative_humidity [%]", dimensions=DIMENSIONS_OF).to_si(60.0) == 0.6
    assert parse_heading("relative-humidity [-]", dimensions=DIMENSIONS_OF).to_si(0.6) == 0.6
    assert parse_heading("model", dimensions=DIMENSIONS_OF).dimension is None
    assert parse_heading("phases", dimensions=DIMENSIONS_OF).to_si(3.0) == 3.0
    price = parse_heading("price [EUR]", dimensions={"price": "money"})
    assert price.conversion.currency == "EUR"
    dry_bulb = parse_heading("dry bulb [degF]", dimensions={"dry bulb": "temperature"})
    assert dry_bulb.to_si(80.0) == pytest.approx(26.66667)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("removal", "(no unit); allowed: removal [unit], a rate of moisture in lb/h"),
        ("removal [cfm]", "allowed: a rate of moisture in lb/h"),
        ("removl [lb/h]", "allowed: removal"),
        ("colour", "allowed: removal, model, phases, relative humidity"),
        ("model [kg]", 'allowed: "model" without a unit'),
        ("removal [lb/h", "allowed: a name and its unit in brackets"),
    ],
)
def test_a_wrong_heading_is_refused(text: str, message: str) -> None:
    with pytest.raises(QuantityError, match=re.escape(message)):
        parse_heading(text, dimensions=DIMENSIONS_OF)


def test_every_dimension_says_what_it_is_kept_in() -> None:
    money = {name for name, entry in DIMENSIONS.items() if "currency" in entry.si}
    assert set(SI_SYMBOLS) == set(DIMENSIONS) - money
    for name, entry in DIMENSIONS.items():
        assert entry.name == name
        if name in money or name in ("fraction", "relative_humidity", "percent", "count", "sound"):
            continue
        symbol = SI_SYMBOLS[name]
        if symbol:
            assert conversion_of(symbol, name).scale == pytest.approx(1.0, rel=1e-12), name


@pytest.mark.parametrize("module", [quantities, new_site], ids=lambda module: module.__name__)
def test_the_examples_in_the_documentation_run(module: ModuleType) -> None:
    failed, tried = doctest.testmod(module)
    assert tried > 0
    assert failed == 0
