"""The units that the trade writes: what they are, how they are spelled, and what each dimension may hold.

Three tables and nothing else: `UNITS` (definitions in SI and spellings), `DIMENSIONS` (what a key may be given
in and how it is shown), `CURRENCIES` (codes of ISO 4217). `quantities.py` reads them.
Factors: NIST Special Publication 811 (2008), appendix B; Btu and therm of the International Table.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spelling:
    """One unit: its definition in pint's language, and the spellings that are understood.

    `any_case` is understood in capitals and small letters alike, `exact` only as it stands: where the case of
    a letter changes the size ("mW" and "MW") or the meaning ("C" and "c").
    """

    name: str
    definition: str
    any_case: tuple[str, ...] = ()
    exact: tuple[str, ...] = ()


UNITS = (
    # base units
    Spelling("meter", "[length]", ("meter", "meters", "metre", "metres"), ("m",)),
    Spelling("kilogram", "[mass]", ("kg", "kilogram", "kilograms")),
    Spelling("second", "[time]", ("s", "sec", "second", "seconds")),
    Spelling("kelvin", "[temperature]", ("kelvin",), ("K", "Δ°C", "ΔC", "ΔK", "delta_degC", "deltaC", "C°")),
    Spelling("ampere", "[current]", ("amp", "amps", "ampere", "amperes"), ("A",)),
    Spelling("currency", "[currency]"),
    # length, area, volume
    Spelling("millimeter", "0.001 * meter", ("millimeter", "millimetre"), ("mm",)),
    Spelling("centimeter", "0.01 * meter", ("centimeter", "centimetre"), ("cm",)),
    Spelling("kilometer", "1000 * meter", ("kilometer", "kilometre"), ("km",)),
    Spelling("foot", "0.3048 * meter", ("ft", "foot", "feet", "'")),
    Spelling("inch", "0.0254 * meter", ("in", "inch", "inches", '"')),
    Spelling("hundred_feet", "30.48 * meter", ("100 ft", "100ft")),
    Spelling("square_meter", "meter ** 2", ("sq m", "sqm", "square meter", "square meters", "square metres")),
    Spelling("square_foot", "foot ** 2", ("sq ft", "sqft", "sf", "square foot", "square feet")),
    Spelling("cubic_foot", "foot ** 3", ("cu ft", "cuft", "cubic foot", "cubic feet")),
    Spelling("cubic_meter", "meter ** 3", ("cu m", "cubic meter", "cubic meters", "cubic metres")),
    Spelling("liter", "0.001 * meter ** 3", ("l", "liter", "liters", "litre", "litres")),
    Spelling("gallon", "231 * inch ** 3", ("gal", "gallon", "gallons")),
    Spelling("milliliter", "1e-6 * meter ** 3", ("milliliter", "millilitre"), ("mL", "ml")),
    Spelling("quart", "0.25 * gallon", ("qt", "quart", "quarts")),
    Spelling("pint", "0.125 * gallon", ("pt", "pint", "pints")),
    # mass
    Spelling("gram", "0.001 * kilogram", ("gram", "grams"), ("g",)),
    Spelling("tonne", "1000 * kilogram", ("tonne", "tonnes", "metric ton", "metric tons"), ("t",)),
    Spelling("pound", "0.45359237 * kilogram", ("lb", "lbs", "lbm", "pound", "pounds")),
    Spelling("grain", "pound / 7000", ("gr", "grain", "grains")),
    # time
    Spelling("minute", "60 * second", ("min", "minute", "minutes")),
    Spelling("hour", "3600 * second", ("h", "hr", "hrs", "hour", "hours")),
    Spelling("day", "24 * hour", ("d", "day", "days")),
    Spelling("year", "8760 * hour", ("yr", "yrs", "year", "years")),
    Spelling("month", "year / 12", ("month", "months")),
    # airflow and air changes
    Spelling("cubic_foot_per_minute", "foot ** 3 / minute", ("cfm", "acfm")),
    Spelling("cubic_meter_per_hour", "meter ** 3 / hour", ("cmh",)),
    Spelling("foot_per_minute", "foot / minute", ("fpm",)),
    Spelling("air_change_per_hour", "1 / hour", ("ach",)),
    Spelling("air_change", "[]", ("air change", "air changes")),
    # temperature difference; a temperature itself is shifted as well, see quantities.py
    Spelling("celsius", "kelvin", ("degc",), ("°C", "C", "deg C", "degrees C")),
    Spelling("fahrenheit", "kelvin / 1.8", ("degf",), ("°F", "F", "deg F", "degrees F")),
    Spelling("fahrenheit_difference", "kelvin / 1.8", (), ("Δ°F", "ΔF", "delta_degF", "deltaF", "F°")),
    Spelling("degree", "[angle]", ("degrees",), ("deg", "°")),
    # pressure
    Spelling("pascal", "kilogram / meter / second ** 2", ("pascal", "pascals"), ("Pa",)),
    Spelling("kilopascal", "1000 * pascal", ("kilopascal",), ("kPa", "KPa")),
    Spelling("hectopascal", "100 * pascal", (), ("hPa", "mbar", "mb")),
    Spelling("bar", "1e5 * pascal", ("bar",)),
    Spelling("pound_per_square_inch", "6894.757293168361 * pascal", ("psi", "psia")),
    Spelling("inch_of_mercury", "3386.389 * pascal", ("inhg", "in hg", "inches of mercury")),
    Spelling(
        "inch_of_water",  # conventional inch of water, NIST SP 811
        "249.08891 * pascal",
        (
            *(
                "inh2o",
                "in h2o",
                "in wg",
                "inwg",
                "iwg",
                "in wc",
                "inwc",
                "iwc",
                "in of water",
                "inches of water",
            ),
            *("inches wg", "inches wc", "in water", "inches h2o", '" wg', '" wc', '"wg', '"wc', '" h2o'),
        ),
    ),
    # energy and power
    Spelling("joule", "pascal * meter ** 3", ("joule", "joules"), ("J",)),
    Spelling("kilojoule", "1000 * joule", (), ("kJ", "KJ")),
    Spelling("megajoule", "1e6 * joule", (), ("MJ",)),
    Spelling("gigajoule", "1e9 * joule", (), ("GJ",)),
    Spelling("watt", "joule / second", ("watt", "watts", "w")),
    Spelling("kilowatt", "1000 * watt", ("kw", "kilowatt", "kilowatts")),
    Spelling("megawatt", "1e6 * watt", (), ("MW",)),
    Spelling("watt_hour", "watt * hour", ("wh",)),
    Spelling("kilowatt_hour", "kilowatt * hour", ("kwh", "kw h", "kw-h", "kw-hr", "kilowatt hour")),
    Spelling("megawatt_hour", "megawatt * hour", (), ("MWh",)),
    Spelling("british_thermal_unit", "1055.05585262 * joule", ("btu", "btus")),
    Spelling("btu_per_hour", "british_thermal_unit / hour", ("btuh",)),
    Spelling("thousand_btu", "1000 * british_thermal_unit", ("kbtu",)),
    Spelling("thousand_btu_per_hour", "1000 * btu_per_hour", ("mbh", "kbtuh")),
    Spelling("million_btu", "1e6 * british_thermal_unit", ("mmbtu",)),
    Spelling("therm", "1e5 * british_thermal_unit", ("therm", "therms")),
    Spelling("horsepower", "745.6998715822702 * watt", ("hp", "bhp", "horsepower")),
    Spelling(
        "ton_of_refrigeration",
        "12000 * btu_per_hour",
        ("ton", "tons", "ton of refrigeration", "tons of refrigeration", "tons of cooling"),
        ("TR",),
    ),
    # electricity
    Spelling("volt", "watt / ampere", ("volt", "volts", "vac"), ("V",)),
)

# Water that a dehumidifier is said to remove is given by volume; 999.0 kg/m³ is liquid water at 60 °F (15.6 °C),
# so that a pint weighs 1.042 lb. Only where a key is a rate of moisture do these volumes mean water.
WATER_DENSITY = 999.0  # kg/m³
WATER_VOLUMES = ("pint", "quart", "gallon", "liter", "milliliter")

MOISTURE_DIMENSIONS = ("moisture_rate", "specific_removal", "moisture")


@dataclass(frozen=True, slots=True)
class Dimension:
    """What one kind of key holds.

    `si` is what it is kept in, in pint's language; `ip_unit` and `si_unit` are what people are shown; `also`
    are further units named when one is refused; `only` closes the list where the dimension alone would let
    nonsense through, as any mass over any mass would be a humidity ratio.
    """

    name: str
    words: str
    si: str
    ip_unit: str
    si_unit: str
    also: tuple[str, ...] = ()
    only: tuple[str, ...] = ()


_NO_DIMENSION = ("%",)

DIMENSIONS: dict[str, Dimension] = {
    entry.name: entry
    for entry in (
        Dimension("length", "a length", "meter", "ft", "m", ("in", "mm")),
        Dimension("area", "an area", "meter ** 2", "ft2", "m2", ("sq ft",)),
        Dimension("volume", "a volume", "meter ** 3", "ft3", "m3", ("gal", "L")),
        Dimension("mass", "a mass", "kilogram", "lb", "kg"),
        Dimension("time", "a time", "second", "s", "s", ("min", "h")),
        Dimension("years", "a number of years", "year", "year", "year"),
        Dimension("airflow", "an airflow", "meter ** 3 / second", "cfm", "m3/h", ("scfm", "L/s", "m3/s")),
        Dimension(
            "airflow_per_area",
            "an airflow by floor area",
            "meter / second",
            "cfm/ft2",
            "L/(s*m2)",
            ("m3/(h*m2)",),
        ),
        Dimension("velocity", "a velocity", "meter / second", "fpm", "m/s"),
        Dimension("pressure", "a pressure", "pascal", "in. w.g.", "Pa", ("kPa", "hPa", "psia", "in. Hg")),
        Dimension(
            "friction_rate", "a pressure by length of duct", "pascal / meter", "in. w.g./100 ft", "Pa/m"
        ),
        Dimension("power", "a power", "watt", "Btu/h", "kW", ("W", "MBH", "ton", "hp")),
        Dimension("cooling_capacity", "a cooling capacity", "watt", "ton", "kW", ("MBH", "Btu/h", "W")),
        Dimension("electric_power", "a power", "watt", "kW", "kW", ("W", "hp")),
        Dimension("energy", "an amount of energy", "joule", "kWh", "kWh", ("therm", "MMBtu", "MJ", "GJ")),
        Dimension("temperature", "a temperature", "kelvin", "degF", "degC", ("°F", "°C")),
        Dimension("temperature_difference", "a temperature difference", "kelvin", "degF", "K", ("degC",)),
        Dimension("conductance", "a heat loss by temperature", "watt / kelvin", "Btu/(h*degF)", "W/K"),
        Dimension(
            "u_value", "a U-value", "watt / meter ** 2 / kelvin", "Btu/(h*ft2*degF)", "W/(m2*K)", ("W/m2K",)
        ),
        Dimension("heat_capacity", "a heat capacity", "joule / kelvin", "Btu/degF", "kJ/K", ("J/K", "kWh/K")),
        Dimension(
            "heat_capacity_per_area",
            "a heat capacity by floor area",
            "joule / kelvin / meter ** 2",
            "Btu/(ft2*degF)",
            "kJ/(m2*K)",
        ),
        Dimension("angle", "an angle", "degree", "deg", "deg"),
        Dimension("density", "a number by area", "1 / meter ** 2", "1/ft2", "1/m2"),
        Dimension("rate", "a number by time", "1 / second", "1/h", "1/h", ("ACH", "1/s")),
        Dimension(
            "moisture_rate",
            "a rate of moisture",
            "kilogram / second",
            "lb/h",
            "kg/h",
            ("pints/day", "kg/day", "L/day", "L/h"),
        ),
        Dimension("moisture", "an amount of moisture", "kilogram", "lb", "kg", ("pints", "L")),
        Dimension(
            "specific_removal",
            "a moisture removal by energy",
            "kilogram / joule",
            "lb/kWh",
            "kg/kWh",
            ("pints/kWh", "L/kWh"),
        ),
        Dimension(
            "humidity_ratio",
            "a humidity ratio",
            "",
            "gr/lb",
            "g/kg",
            ("lb/lb", "kg/kg"),
            ("gr/lb", "grains/lb", "lb/lb", "g/kg", "kg/kg"),
        ),
        Dimension("enthalpy", "an enthalpy of moist air", "joule / kilogram", "Btu/lb", "kJ/kg", ("J/kg",)),
        Dimension(
            "specific_fan_power",
            "a fan power by airflow",
            "watt * second / meter ** 3",
            "W/cfm",
            "W*s/L",
            ("kW*s/m3",),
        ),
        Dimension("irradiance", "a power by area", "watt / meter ** 2", "W/ft2", "W/m2", ("Btu/(h*ft2)",)),
        Dimension("per_temperature", "a share by temperature", "1 / kelvin", "1/degF", "1/K", ("%/K",)),
        Dimension("voltage", "a voltage", "volt", "V", "V"),
        Dimension("current", "a current", "ampere", "A", "A"),
        Dimension("sound", "a sound level", "", "dBA", "dBA", (), ("dBA", "dB(A)", "db(a)", "dba", "DBA")),
        Dimension("money", "an amount of money", "currency", "", ""),
        Dimension("money_per_year", "money by year", "currency / year", "year", "year"),
        Dimension("money_per_month", "money by month", "currency / month", "month", "month"),
        Dimension("money_per_length", "money by length", "currency / meter", "ft", "m"),
        Dimension("money_per_hour", "money by hour of labour", "currency / second", "h", "h"),
        Dimension("time_per_length", "a time by length", "second / meter", "h/ft", "h/m"),
        Dimension("energy_price", "a price of energy", "currency / joule", "kWh", "kWh", ("therm", "MMBtu")),
        # to be shown
        Dimension("gas_price", "a price of gas", "currency / joule", "therm", "kWh", ("MMBtu",)),
        Dimension("demand_price", "a price of a month's demand", "currency / watt", "kW", "kW"),
        Dimension("carbon_price", "a price of carbon dioxide", "currency / kilogram", "t", "t", ("kg",)),
        Dimension(
            "carbon_factor",
            "carbon dioxide by energy",
            "kilogram / joule",
            "kg/kWh",
            "kg/kWh",
            ("g/kWh", "lb/MWh", "kg/therm", "kg/MMBtu"),
        ),
        Dimension("power_per_cooling", "power by cooling", "", "kW/ton", "kW/ton", (), ("kW/ton", "kw/ton")),
        Dimension("energy_efficiency_ratio", "an EER", "", "Btu/(W*h)", "Btu/(W*h)", ("Btu/Wh",)),
        Dimension("fraction", "a fraction from 0 to 1, bare or in %", "", "%", "%", (), _NO_DIMENSION),
        Dimension(
            "relative_humidity",
            "a relative humidity, bare from 0 to 1 or in %",
            "",
            "%",
            "%",
            (),
            ("%", "% RH", "%RH", "% rh", "% r.h."),
        ),
        Dimension("percent", "a share, bare or in %", "", "%", "%", (), _NO_DIMENSION),
        Dimension("count", "a bare number", "", "", "", (), ()),
    )
}

# What the values inside are in, as results name it; "" for counts, fractions and words.
SI_SYMBOLS: dict[str, str] = {
    "length": "m",
    "area": "m2",
    "volume": "m3",
    "mass": "kg",
    "moisture": "kg",
    "time": "s",
    "time_per_length": "s/m",
    "friction_rate": "Pa/m",
    "years": "year",
    "airflow": "m3/s",
    "airflow_per_area": "m3/(s*m2)",
    "velocity": "m/s",
    "pressure": "Pa",
    "power": "W",
    "cooling_capacity": "W",
    "electric_power": "W",
    "energy": "J",
    "temperature": "degC",
    "temperature_difference": "K",
    "conductance": "W/K",
    "u_value": "W/(m2*K)",
    "heat_capacity": "J/K",
    "heat_capacity_per_area": "J/(K*m2)",
    "density": "1/m2",
    "angle": "deg",
    "rate": "1/s",
    "moisture_rate": "kg/s",
    "specific_removal": "kg/J",
    "carbon_factor": "kg/J",
    "humidity_ratio": "kg/kg",
    "enthalpy": "J/kg",
    "specific_fan_power": "W*s/m3",
    "irradiance": "W/m2",
    "per_temperature": "1/K",
    "voltage": "V",
    "current": "A",
    "sound": "dBA",
    "power_per_cooling": "",
    "energy_efficiency_ratio": "",
    "fraction": "",
    "relative_humidity": "",
    "percent": "",
    "count": "",
}


# Active codes of ISO 4217, without funds, metals and test codes.
_CODES = (
    "AED AFN ALL AMD ANG AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD "
    "CAD CDF CHF CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD "
    "GNF GTQ GYD HKD HNL HTG HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT "
    "LAK LBP LKR LRD LSL LYD MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR "
    "NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP "
    "STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX USD UYU UZS VED VES VND VUV WST XAF XCD "
    "XOF XPF YER ZAR ZMW "
)
CURRENCIES = frozenset(_CODES.split())

_DOLLARS = "USD AUD BBD BMD BND BSD BZD CAD FJD GYD HKD JMD KYD LRD MXN NAD NZD SBD SGD TTD TWD XCD"

# What a sign may stand for. A sign alone never tells one dollar from another: the site's currency does.
SIGNS: dict[str, tuple[str, ...]] = {
    "$": tuple(_DOLLARS.split()),
    "€": ("EUR",),
    "£": ("GBP", "EGP", "FKP", "GIP", "LBP", "SHP", "SYP"),
    "¥": ("JPY", "CNY"),
}
CENTS = ("¢", "cent", "cents")
