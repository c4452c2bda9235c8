"""Quantities as people write them: every form and every refusal.

Expected values: NIST Special Publication 811 (2008), appendix B, unless a comment says otherwise.
"""

from __future__ import annotations

import math
import re

import pint
import pytest
from pydantic_core import PydanticCustomError

from selector.inputs import unit_reader
from selector.inputs.fields import Either, Quantity
from selector.inputs.quantities import QuantityError, allowed_units, conversion_of, parse

ACCEPTED = [
    # forms of drawings and nameplates
    ("8,000 CFM", "airflow", 3.775579),
    ("8000 cfm", "airflow", 3.775579),
    ("8000cfm", "airflow", 3.775579),
    ("8000 scfm", "airflow", 3.775579),
    ("3775.579 L/s", "airflow", 3.775579),
    ("13592.08 m3/h", "airflow", 3.775579),
    ("13592.08 m³/h", "airflow", 3.775579),
    ("25 tons", "cooling_capacity", 87921.3),
    ("25 ton", "cooling_capacity", 87921.3),
    ("25 TR", "cooling_capacity", 87921.3),
    ("25 tons of refrigeration", "cooling_capacity", 87921.3),
    ("300 MBH", "cooling_capacity", 87921.3),
    ("300,000 Btuh", "cooling_capacity", 87921.3),
    ("300 kBtu/h", "power", 87921.3),
    ("300000 BTU/HR", "power", 87921.3),
    ("5 hp", "electric_power", 3728.5),
    ("1/2 hp", "electric_power", 372.85),
    ("1 1/2 HP", "electric_power", 1118.55),
    ("5 kW", "electric_power", 5000.0),
    ("0.5 MW", "power", 5e5),
    ("9000 sq ft", "area", 836.1274),
    ("9,000 sq. ft.", "area", 836.1274),
    ("9000 SF", "area", 836.1274),
    ("9000 ft2", "area", 836.1274),
    ("9000 ft^2", "area", 836.1274),
    ("9000 ft²", "area", 836.1274),
    ("836.1274 m**2", "area", 836.1274),
    ("836.1274 sq m", "area", 836.1274),
    ("18 ft", "length", 5.4864),
    ("18'", "length", 5.4864),
    ("18' - 6\"", "length", 5.6388),
    ("18 ft 6 in.", "length", 5.6388),
    ("5 1/4 in", "length", 0.13335),
    ("75 °F", "temperature", 23.88889),
    ("75 F", "temperature", 23.88889),
    ("75 degF", "temperature", 23.88889),
    ("75 deg F", "temperature", 23.88889),
    ("75° F", "temperature", 23.88889),
    ("75 degrees F", "temperature", 23.88889),
    ("23.9 °C", "temperature", 23.9),
    ("-40 F", "temperature", -40.0),
    ("−40 °F", "temperature", -40.0),  # a typographic minus
    ("5 °F", "temperature_difference", 2.777778),
    ("5 Δ°F", "temperature_difference", 2.777778),
    ("5 K", "temperature_difference", 5.0),
    ("5 °C", "temperature_difference", 5.0),
    ("1.1 in. w.g.", "pressure", 273.9978),
    ("1.1 in. w.c.", "pressure", 273.9978),
    ("1.1 IN WG", "pressure", 273.9978),
    ('1.1" w.g.', "pressure", 273.9978),
    ("1.1 inH2O", "pressure", 273.9978),
    ("1.1 inches of water", "pressure", 273.9978),
    ("1 1/4 in. w.g.", "pressure", 311.3611),
    ("29.92 inHg", "pressure", 101320.8),
    ("29.92 in. Hg", "pressure", 101320.8),
    ("14.696 psia", "pressure", 101325.4),
    ("1013.25 mbar", "pressure", 101325.0),
    ("5 lb/h", "moisture_rate", 6.299894e-4),
    ("5 lbs per hour", "moisture_rate", 6.299894e-4),
    ("50 kg/day", "moisture_rate", 5.787037e-4),
    ("70 pints/day", "moisture_rate", 3.82977e-4),  # of water at 60 °F, 1.042 lb a pint: 72.94 lb/day
    ("70 pints per day", "moisture_rate", 3.82977e-4),
    ("70 PT/DAY", "moisture_rate", 3.82977e-4),
    ("33.12 L/day", "moisture_rate", 3.82950e-4),
    ("70 gr/lb", "humidity_ratio", 0.01),
    ("70 grains/lb", "humidity_ratio", 0.01),
    ("10 g/kg", "humidity_ratio", 0.01),
    ("3 therms", "energy", 3.165168e8),
    ("0.3 MMBtu", "energy", 3.165168e8),
    ("87.92 kWh", "energy", 3.165120e8),
    ("2200 Btu/(h*degF)", "conductance", 1160.561),
    ("2200 Btu/h-F", "conductance", 1160.561),
    ("2200 Btu/h·°F", "conductance", 1160.561),
    ("2200 BTU/HR/F", "conductance", 1160.561),
    ("1160.561 W/K", "conductance", 1160.561),
    ("0.5 Btu/h-ft2-F", "u_value", 2.839132),
    ("0.5 Btu/h·ft²·°F", "u_value", 2.839132),
    ("0.5 Btu/(h ft2 F)", "u_value", 2.839132),
    ("0.3 W/m2K", "u_value", 0.3),
    ("0.3 W/m²·K", "u_value", 0.3),
    ("0.3 W/(m2*K)", "u_value", 0.3),
    ("30000 Btu/degF", "heat_capacity", 5.697302e7),
    ("15.82584 kWh/K", "heat_capacity", 5.697302e7),
    ("0.25 1/h", "rate", 6.944444e-5),
    ("0.25/h", "rate", 6.944444e-5),
    ("0.25 h-1", "rate", 6.944444e-5),
    ("0.25 h⁻¹", "rate", 6.944444e-5),
    ("0.25 ACH", "rate", 6.944444e-5),
    ("0.25 air changes per hour", "rate", 6.944444e-5),
    ("1000 fpm", "velocity", 5.08),
    ("1000 ft/min", "velocity", 5.08),
    ("15 year", "years", 15.0),
    ("15 yrs", "years", 15.0),
    ("62 dBA", "sound", 62.0),
    ("62 dB(A)", "sound", 62.0),
    ("208 V", "voltage", 208.0),
    ("120 A", "current", 120.0),
    ("120 amps", "current", 120.0),
    ("20 %", "fraction", 0.2),
    ("20%", "fraction", 0.2),
    (0.2, "fraction", 0.2),
    ("55 % RH", "relative_humidity", 0.55),
    ("55%", "relative_humidity", 0.55),
    (0.55, "relative_humidity", 0.55),
    ("0.2", "fraction", 0.2),
    ("2.2 %/K", "per_temperature", 0.022),
    ("0.55 W/cfm", "specific_fan_power", 1165.384),
    ("3 L/kWh", "specific_removal", 8.325e-7),
    ("6.34 pints/kWh", "specific_removal", 8.324830e-7),
    # datum of IP tables is dry air at 0 °F, of SI tables at 0 °C: 28 - 0.240 x 32 = 20.32 Btu/lb
    ("28 Btu/lb", "enthalpy", 47264.3),
    ("47.2643 kJ/kg", "enthalpy", 47264.3),
    ("1.1 kW/ton", "power_per_cooling", 0.3127796),
    (1.1, "power_per_cooling", 0.3127796),  # the unit is in the key's name
    (11, "energy_efficiency_ratio", 3.223782),
    ("11 Btu/Wh", "energy_efficiency_ratio", 3.223782),
    ("36.1 deg", "angle", 36.1),
    ("1,234,567.5 Pa", "pressure", 1234567.5),
    ("2.5e3 W", "power", 2500.0),
]


@pytest.mark.parametrize(("text", "dimension", "expected"), ACCEPTED)
def test_a_form_of_the_trade_is_understood(text: str | float, dimension: str, expected: float) -> None:
    assert parse(text, dimension) == pytest.approx(expected, rel=2e-6)  # expected values have 7 figures or so


MONEY = [
    ("$0.14/kWh", "energy_price", "USD", 0.14 / 3.6e6),
    ("0.14 $/kWh", "energy_price", "USD", 0.14 / 3.6e6),
    ("0.14 USD/kWh", "energy_price", "USD", 0.14 / 3.6e6),
    ("USD 0.14/kWh", "energy_price", "USD", 0.14 / 3.6e6),
    ("$0.14 per kWh", "energy_price", "CAD", 0.14 / 3.6e6),
    ("14 ¢/kWh", "energy_price", "USD", 0.14 / 3.6e6),
    ("14 cents per kWh", "energy_price", "USD", 0.14 / 3.6e6),
    ("€0.30/kWh", "energy_price", "EUR", 0.30 / 3.6e6),
    ("2.90 SEK/kWh", "energy_price", "SEK", 2.90 / 3.6e6),
    ("1.10 USD/therm", "energy_price", "USD", 1.10 / 105505585.262),
    ("$60,000", "money", "USD", 60000.0),
    ("60000 USD", "money", "USD", 60000.0),
    ("60,000$", "money", "USD", 60000.0),
    ("£12,500.50", "money", "GBP", 12500.5),
    ("$120/yr", "money_per_year", "USD", 120.0),
]


@pytest.mark.parametrize(("text", "dimension", "currency", "expected"), MONEY)
def test_money_keeps_its_currency(text: str, dimension: str, currency: str, expected: float) -> None:
    assert parse(text, dimension, currency=currency) == pytest.approx(expected, rel=1e-12)
    if "$" not in text and "¢" not in text and "cent" not in text:
        with pytest.raises(QuantityError, match="the currency is NOK"):
            parse(text, dimension, currency="NOK")


COMMA = "a decimal point, and commas only between groups of three digits, as in 1,200.5"
REFUSED = [
    # what the stock registry turns into something else without a word
    ("8000 fm", "airflow", allowed_units("airflow")),
    ("25 ton", "mass", "a mass in lb or kg"),
    ("75 farad", "temperature", allowed_units("temperature")),
    ("0.14 $", "energy_price", "a price of energy in USD/kWh, USD/therm or USD/MMBtu"),
    ("0.14/kWh", "energy_price", "a price of energy in USD/kWh, USD/therm or USD/MMBtu"),
    ("1,2 W/K", "conductance", COMMA),
    ("0,140 W/K", "conductance", COMMA),
    ("12,34 m", "length", COMMA),
    ("1.200,5 m", "length", COMMA),
    ("1,000,00 m", "length", COMMA),
    ("1,2000 m", "length", COMMA),
    # two numbers, or none
    ("9 000 m", "length", "one number, then its unit: a length in ft, m, in or mm"),
    ("9'000 m", "length", "one number, then its unit: a length in ft, m, in or mm"),
    ("5-10 m", "length", "one number, then its unit: a length in ft, m, in or mm"),
    ("208/230 V", "voltage", "one number, then its unit: a voltage in V"),
    ("1.2.3 m", "length", "one number, then its unit: a length in ft, m, in or mm"),
    ("m", "length", "a number first, then its unit: a length in ft, m, in or mm"),
    ("", "length", "a number first, then its unit: a length in ft, m, in or mm"),
    ("nan m", "length", "a number first, then its unit: a length in ft, m, in or mm"),
    ("1e999 m", "length", "a finite number"),
    ("about 5 m", "length", "a number first, then its unit: a length in ft, m, in or mm"),
    # no unit, or the wrong one
    (9000, "area", "an area in ft2, m2 or sq ft"),
    ("9000", "area", "an area in ft2, m2 or sq ft"),
    ("9000 ft", "area", "an area in ft2, m2 or sq ft"),
    ("5 cfm", "moisture_rate", allowed_units("moisture_rate")),
    ("5 m3/h", "moisture_rate", allowed_units("moisture_rate")),
    ("5 J", "heat_capacity", allowed_units("heat_capacity")),
    ("5 kg/kg", "fraction", "a fraction from 0 to 1, bare or in %"),
    ("5 %", "humidity_ratio", "a humidity ratio in gr/lb, g/kg, lb/lb or kg/kg"),
    ("5 ft/ft", "humidity_ratio", "a humidity ratio in gr/lb, g/kg, lb/lb or kg/kg"),
    ("25 % RH", "fraction", "a fraction from 0 to 1, bare or in %"),
    (55, "relative_humidity", "a relative humidity, bare from 0 to 1 or in %"),
    ("62 dB", "sound", "a sound level in dBA"),
    # the size or the meaning of a letter
    ("5 mW", "power", allowed_units("power")),
    ("5 MBtu/h", "power", allowed_units("power")),  # thousand in the trade, million in SI
    ("70 ppd", "moisture_rate", allowed_units("moisture_rate")),  # pints or pounds
    ("5 k", "temperature_difference", allowed_units("temperature_difference")),
    ("8k cfm", "airflow", allowed_units("airflow")),
    ("60k USD", "money", "an amount of money in USD"),
    ("5 m/2", "length", allowed_units("length")),
    ("5 (m", "length", allowed_units("length")),
    ("5 m)", "length", allowed_units("length")),
    ("5 m*", "length", allowed_units("length")),
    # temperatures and their differences
    ("297 K", "temperature", allowed_units("temperature")),
    ("75 Δ°F", "temperature", allowed_units("temperature")),
    ("5 degF/h", "temperature_difference", allowed_units("temperature_difference")),
    ("-500 degF", "temperature", f"{allowed_units('temperature')}, above absolute zero"),
    # fractions, counts, words
    (25, "fraction", "a fraction from 0 to 1, bare or in %"),
    ("250 %", "fraction", "a fraction from 0 to 1, bare or in %"),
    (math.nan, "fraction", "a fraction from 0 to 1, bare or in %"),
    (True, "count", "a bare number"),
    (None, "length", "a length in ft, m, in or mm"),
    (["5 m"], "length", "a length in ft, m, in or mm"),
    # money
    ("$$5", "money", "a number first, then its unit: an amount of money in USD"),
    ("5 XXX", "money", "an amount of money in USD"),
    ("5 USD EUR", "money", "an amount of money in USD"),
]


@pytest.mark.parametrize(("text", "dimension", "allowed"), REFUSED)
def test_a_doubtful_quantity_is_refused_with_what_would_do(
    text: object, dimension: str, allowed: str
) -> None:
    with pytest.raises(QuantityError, match=re.escape(f"; allowed: {allowed}")) as caught:
        parse(text, dimension)
    assert caught.value.allowed == allowed
    if isinstance(text, str) and text != "1e999 m":
        assert caught.value.got.startswith(f'"{text}"')


@pytest.mark.parametrize(
    ("text", "wrong"),
    [("8000 cfm", "fermi"), ("25 ton", "[mass]"), ("75 F", "farad"), ("5 MBH", "undefined")],
)
def test_the_stock_registry_still_has_the_traps(text: str, wrong: str) -> None:
    """Pint's own reading of trade units, which is why the registry is ours; the test falls when it changes."""
    stock: pint.UnitRegistry[float] = pint.UnitRegistry()
    try:
        read: pint.Quantity[float] = stock.Quantity(text)
    except pint.UndefinedUnitError:
        found = "undefined"
    else:
        found = f"{read.units} {dict(read.dimensionality)}"
    assert wrong in found


def test_our_registry_knows_no_prefixes_and_no_stock_units() -> None:
    registry = unit_reader._registry()
    for name in ("cfm", "centifeet", "kilometer_per_hour", "farad", "kilopound"):
        with pytest.raises(pint.UndefinedUnitError, match="not defined"):
            registry.Unit(name)


def test_a_currency_is_a_dimension_of_its_own() -> None:
    with pytest.raises(QuantityError, match="an amount of money in USD"):
        parse("5 kWh", "money")
    with pytest.raises(QuantityError, match="an amount of energy"):
        parse("5 USD", "energy")
    assert conversion_of("EUR/kWh", "energy_price").currency == "EUR"
    assert conversion_of("$/kWh", "energy_price").currency is None
    with pytest.raises(QuantityError, match="the currency is JPY"):
        parse("14 ¢/kWh", "energy_price", currency="JPY")  # has no cents


def test_a_standard_airflow_is_a_mass_flow() -> None:
    # 1,000 scfm at 84,555.9 Pa (1,500 m) is the same mass in 101,325/84,555.9 of the volume.
    assert parse("1000 scfm", "airflow", pressure=84555.9) == pytest.approx(0.4719474 * 101325 / 84555.9)
    assert parse("1000 cfm", "airflow", pressure=84555.9) == pytest.approx(0.4719474)


# ---------------------------------------------------------------------------------------- bounds


@pytest.mark.parametrize(
    ("kind", "text", "told"),
    [
        (Quantity("temperature", at_least="-10 degC", at_most="50 degC"), "200 °F", ("14 °F", "122 °F")),
        (Quantity("temperature", at_least="-10 degC", at_most="50 degC"), "-20 degC", ("-10 degC", "50 degC")),
        (Quantity("temperature", at_least="0 degC", at_most="60 degC"), "31.9 F", ("32 F", "140 F")),
        (Quantity("length", at_least="1 m", at_most="60 m"), "1'6\"", ("3.281 ft", "196.8 ft")),
        (Quantity("area", at_least="1 m2", at_most="1,000,000 m2"), "0.5 m2", ("1 m2", "1,000,000 m2")),
        (Quantity("heat_capacity", at_least="1 J/K", at_most="1e9 kJ/K"), "0 J/K", ("1 J/K", "1,000,000,000,000 J/K")),
        (Quantity("percent", at_least="0 %", at_most="50 %"), "70 %", ("0 %", "50 %")),
    ],
)  # fmt: skip
def test_bounds_are_told_in_the_unit_that_was_written_and_keep_themselves(
    kind: Quantity, text: str, told: tuple[str, str]
) -> None:
    with pytest.raises(PydanticCustomError, match="allowed: ") as caught:
        kind.check(text, {})
    assert str(caught.value).endswith(f", at least {told[0]} and at most {told[1]}")
    for bound in told:  # 122 °F are 50.00000000000001 °C
        assert kind.check(bound, {}) == pytest.approx(parse(bound, kind.dimension), rel=1e-15)


def test_bounds_of_a_bare_number_are_told_as_they_are() -> None:
    with pytest.raises(PydanticCustomError, match=r"at least 0 % and at most 50 %$"):
        Quantity("percent", at_least="0 %", at_most="50 %").check(0.7, {})


def test_bounds_of_either_kind_are_told_in_the_unit_of_the_one_that_was_meant() -> None:
    kind = Either(Quantity("temperature", at_most="30 degC"), Quantity("enthalpy", at_most="80 kJ/kg"))
    with pytest.raises(PydanticCustomError, match=r"at most 86 degF; or .* at most 80 kJ/kg$"):
        kind.check("99 degF", {})
