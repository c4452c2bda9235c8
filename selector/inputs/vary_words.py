"""Reads what a sweep is to vary from the words of the command line, all faults in one message."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic_core import PydanticCustomError

from selector.inputs.defaults import defaults_file, outdoor_air_rates
from selector.inputs.errors import Faults
from selector.inputs.fields import Quantity, closest
from selector.inputs.quantities import QuantityError, parse
from selector.inputs.reading import is_there
from selector.inputs.schema_keys import kind_of
from selector.inputs.site import Site, Weather
from selector.inputs.site_gains import count_people
from selector.inputs.vary import (
    BY_NAME,
    OUTDOOR,
    STANDARD,
    Parameter,
    Variation,
    standard_airflow,
    target_of,
)
from selector.inputs.weather import read_recorded, weather_of_table

STEPS = 11
MOST_STEPS = 201
COUNTED = f"a whole number from 2 to {MOST_STEPS}"
MOST_CELLS = 2601  # of a two-way grid
SEA_LEVEL = 101325.0  # Pa, for values of which the sign is judged and not the size
SAME = 1e-9  # of the supply airflow: rounding
LISTED = 'two or more, as "10 %; 20 %; 35 %"'
TIMES = ("not at all", "once", "twice")
Note = Callable[[str, str], None]  # takes what was got and what is allowed

# bounds of what has no key of its own in a site file
_BOUNDS = {
    "outdoor-air-per-person": Quantity("airflow", at_least=0.0),
    "outdoor-air-per-area": Quantity("airflow_per_area", at_least=0.0),
    "gains": Quantity("percent", at_least=0.0, at_most="1000 %"),
    "unit-price": Quantity("percent", at_least=0.0, at_most="1000 %"),
}


@dataclass(frozen=True, slots=True)
class Words:
    """What was written for one thing to vary."""

    vary: str
    low: str | None  # None where values are listed
    high: str | None
    steps: int
    values: str | None  # with semicolons between them


def count_steps(*, texts: Sequence[str], faults: Faults) -> tuple[int, ...]:
    """Read numbers of steps.

    Args: texts, as written; faults, takes those that are no whole number.
    Returns: a number for each, as many as there are without an option where one is wrong.
    """
    found = []
    for text in texts:
        try:
            found.append(int(text))
        except ValueError:
            faults.add(file="--steps", where="option", got=f'"{text}"', allowed=COUNTED)
            found.append(STEPS)
    return tuple(found)


def pair_words(
    *,
    vary: Sequence[str],
    low: Sequence[str],
    high: Sequence[str],
    steps: Sequence[int],
    values: Sequence[str],
) -> tuple[Words, ...]:
    """Sort the options of a command by what they belong to: each in the order in which they were written.

    Args: vary, names; low and high, ends of ranges; steps, numbers of values; values, lists of values.
    Returns: one `Words` for each name.
    Raises: InputFaults, with every fault.
    """
    faults = Faults()
    if not 1 <= len(vary) <= 2:
        faults.add(
            file="--vary",
            where="option",
            got=_times(len(vary)),
            allowed=f"once or twice: {', '.join(BY_NAME)}",
        )
    listed = [name for name in vary if name == "weather-file"]
    if values and not low and not high:
        listed = list(vary)
    ranged = len(vary) - len(listed)
    counted = not len(faults)
    for option, given, wanted in (
        ("--from", low, ranged),
        ("--to", high, ranged),
        ("--values", values, len(listed)),
    ):
        if len(given) != wanted and counted:
            allowed = f"{TIMES[wanted]}: --from and --to for each range, --values for each list and for weather-file"
            faults.add(file=option, where="option", got=_times(len(given)), allowed=allowed)
    if len(steps) > ranged and counted:
        faults.add(file="--steps", where="option", got=_times(len(steps)), allowed="once for each range")
    faults.raise_if_any()
    found, ends, lists = [], 0, 0
    for name in vary:
        if name in listed:
            found.append(Words(name, None, None, 0, values[lists]))
            lists += 1
        else:
            count = steps[ends] if ends < len(steps) else steps[-1] if steps else STEPS
            found.append(Words(name, low[ends], high[ends], count, None))
            ends += 1
    return tuple(found)


def _times(count: int) -> str:
    return TIMES[count] if count < len(TIMES) else f"{count} times"


def judge_words(*, words: Sequence[Words], faults: Faults) -> None:
    """Judge what is to be varied as far as that needs no site: names, numbers of steps, and values of one meaning.

    Args: words, by thing; faults, takes what is wrong.
    """
    for each in words:
        name, _, _ = each.vary.partition(":")
        parameter = BY_NAME.get(name)
        if parameter is None:
            faults.add(file="--vary", where="option", got=f'"{name}"', allowed=closest(name, BY_NAME))
            continue
        if each.values is None and not 2 <= each.steps <= MOST_STEPS:
            faults.add(file="--steps", where=name, got=str(each.steps), allowed=COUNTED)
        texts = [text.strip() for text in (each.values or "").split(";") if text.strip()]
        if each.values is not None and (len(texts) < 2 or len(set(texts)) < len(texts)):
            got = "a value twice" if len(texts) > 1 else "one value" if texts else "no value"
            faults.add(file="--values", where="option", got=got, allowed=LISTED)
        if not parameter.dimension or parameter.dimension.endswith("_price"):
            continue  # files; limits of either kind; prices, by the site's currency
        kind = _kind(parameter, parameter.dimension)
        written = [("--from", each.low), ("--to", each.high), *(("--values", text) for text in texts)]
        for option, text in written:
            if text is not None:
                _read_value(kind, {"pressure": SEA_LEVEL}, (option, name), text, faults)


def read_variations(*, site: Site, words: Sequence[Words]) -> tuple[Variation, ...]:
    """Read one or two things to vary.

    Args: site, as read; words, by thing.
    Returns: variations, values in SI and rising.
    Raises: InputFaults, with every fault of every option.
    """
    own, faults = Faults(), Faults()
    judge_words(words=words, faults=faults)
    found = [one for each in words if (one := _variation(site, each, own)) is not None]
    faults.extend(own.all())
    names = [one.parameter.name for one in found]
    if len(found) == 2:
        both = [name for name in names if name in OUTDOOR]
        if names[0] == names[1] and found[0].of == found[1].of:
            faults.add(
                file="--vary", where="option", got=f'"{names[0]}" twice', allowed="two different things"
            )
        elif len(both) == 2 and set(both) != set(STANDARD):
            faults.add(
                file="--vary",
                where="option",
                got=" and ".join(both),
                allowed="one way to say the outdoor air",
            )
        elif len(found[0].values) * len(found[1].values) > MOST_CELLS:
            got = f"{len(found[0].values)} by {len(found[1].values)} steps"
            faults.add(file="--steps", where="option", got=got, allowed=f"at most {MOST_CELLS:,} in all")
    faults.raise_if_any()
    return tuple(found)


def _variation(site: Site, words: Words, faults: Faults) -> Variation | None:
    name, _, of = words.vary.partition(":")
    parameter = BY_NAME.get(name)
    if parameter is None:
        return None
    before = len(faults)
    empty = Variation(parameter, of, parameter.dimension, ())
    shaped = _subject(site, empty, faults)
    if shaped is None:
        return None
    if words.values is None:
        assert words.low is not None
        assert words.high is not None
        ends = [
            _value(site, shaped, "--from", words.low, faults),
            _value(site, shaped, "--to", words.high, faults),
        ]
        low, high = ends
        if low is None or high is None or len(faults) > before or not 2 <= words.steps <= MOST_STEPS:
            return None
        if low == high:
            faults.add(
                file="--to",
                where="option",
                got=f'"{words.high}"',
                allowed=f"another value than --from, {words.low}",
            )
            return None
        low, high = min(low, high), max(low, high)
        steps = words.steps
        values = [low + (high - low) * step / (steps - 1) for step in range(steps - 1)] + [high]
        return replace(shaped, values=tuple(values))
    texts = [text.strip() for text in words.values.split(";") if text.strip()]
    if parameter.name == "weather-file":
        return _files(site, shaped, texts, faults)
    listed = [_value(site, shaped, "--values", text, faults) for text in texts]
    values = sorted(value for value in listed if value is not None)
    if len(set(values)) < len(values):
        faults.add(file="--values", where="option", got="a value twice", allowed=LISTED)
    return replace(shaped, values=tuple(values))


def _subject(site: Site, variation: Variation, faults: Faults) -> Variation | None:
    """Check that the site has what is to be varied, and find what it is varied of."""
    parameter, of = variation.parameter, variation.of
    name = parameter.name

    def fault(got: str, allowed: str) -> None:
        faults.add(file="--vary", where=name, got=got, allowed=allowed)

    if of and name not in ("humidity-limit", *STANDARD):
        fault(f'":{of}"', "nothing behind the name")
    elif name in OUTDOOR and site.air_handler is None:
        fault("a site without [air_handler]", "a site with one; or infiltration")
    elif name in STANDARD:
        return _standard(site, variation, fault)
    elif name in ("electricity-price", "gas-price") and site.costs.tariff is not None:
        fault(
            "a site with [costs.tariff]",
            "a site with one flat price of each fuel, costs.electricity and costs.gas",
        )
    elif name == "gains" and not site.gains:
        fault("a site without gains", "a site with some")
    elif name == "humidity-limit":
        names = [target.name for target in site.targets]
        chosen = of or (names[0] if len(names) == 1 else "")
        if chosen not in names:
            allowed = ", ".join(f'"humidity-limit:{each}"' for each in names)
            fault(f'"{of}"' if of else f"no name, and {len(names)} limits", allowed)
        else:
            dew = target_of(site=site, name=chosen).kind == "dew-point"
            return replace(variation, of=chosen, dimension="temperature" if dew else "relative_humidity")
    return variation


def _standard(site: Site, variation: Variation, fault: Note) -> Variation | None:
    """Find the ventilation standard's other rate, which is held."""
    uses = defaults_file()["uses"]
    given = next((one.value for one in site.assumptions if one.key == "air_handler.ventilation_use"), "")
    use = variation.of or str(given)
    if use not in uses:
        names = ", ".join(f"{variation.parameter.name}:{each}" for each in uses)
        fault(f'the use "{use}"' if use else "no use of the space", names)
        return None
    if variation.parameter.name == "outdoor-air-per-person" and count_people(site.gains) <= 0.0:
        fault("a site without people", "a site with people among its gains")
        return None
    person, area = outdoor_air_rates(use=use)[0]
    held = area if variation.parameter.name == "outdoor-air-per-person" else person
    return replace(variation, of=use, held_rate=held)


def _kind(parameter: Parameter, dimension: str) -> Quantity | None:
    """What a value has to be: as in the site file, where it has a key there."""
    if parameter.name in _BOUNDS:
        return _BOUNDS[parameter.name]
    key = parameter.key
    if parameter.name == "humidity-limit":
        key = f"humidity_target.{'dew_point' if dimension == 'temperature' else 'relative_humidity'}"
    kind = kind_of(key)
    return kind if isinstance(kind, Quantity) else None


def _value(site: Site, variation: Variation, option: str, text: str, faults: Faults) -> float | None:
    """Read one value; note what is wrong with it."""
    where = variation.parameter.name

    def fault(got: str, allowed: str) -> None:
        faults.add(file=option, where=where, got=got, allowed=allowed)

    kind = _kind(variation.parameter, variation.dimension)
    context = {"currency": site.costs.currency, "pressure": float(site.weather.pressure.mean())}
    value = _read_value(kind, context, (option, where), text, faults)
    return value if value is not None and _fits(site, variation, value, text, fault) else None


def _read_value(
    kind: Quantity | None, context: dict[str, Any], place: tuple[str, str], text: str, faults: Faults
) -> float | None:
    """Read one value by itself, whatever the rest of the site says; note what is wrong with it."""

    def fault(got: str, allowed: str) -> None:
        faults.add(file=place[0], where=place[1], got=got, allowed=allowed)

    value: float
    if kind is None:  # moisture-buffer, the one bare number
        allowed = "a bare number from 1 to 1000"
        try:
            value = parse(text, "count")
        except QuantityError as error:
            fault(error.got, allowed)
            return None
        if not 1.0 <= value <= 1000.0:
            fault(f'"{text}"', allowed)
            return None
        return value
    try:
        value = float(kind.check(text, context))
    except PydanticCustomError as error:
        said = error.context or {}
        fault(str(said.get("got")), str(said.get("allowed")))
        return None
    return value


def _fits(site: Site, variation: Variation, value: float, text: str, fault: Note) -> bool:
    """Whether a value agrees with the rest of the site."""
    parameter: Parameter = variation.parameter
    handler = site.air_handler
    if parameter.name in (*STANDARD, "outdoor-airflow") and handler is not None:
        airflow = value
        if parameter.name == "outdoor-air-per-person":
            airflow = standard_airflow(site=site, per_person=value, per_area=variation.held_rate)
        elif parameter.name == "outdoor-air-per-area":
            airflow = standard_airflow(site=site, per_person=variation.held_rate, per_area=value)
        if airflow > handler.supply_airflow * (1.0 + SAME):
            most = f"at most the supply airflow, {handler.supply_airflow:.4g} m3/s"
            fault(f'"{text}": {airflow:.4g} m3/s of outdoor air', most)
            return False
    if parameter.name == "humidity-limit" and variation.dimension == "relative_humidity":
        band = target_of(site=site, name=variation.of).band
        if value <= band:
            fault(f'"{text}"', f"above the humidistat's band, {100.0 * band:.1f} %")
            return False
    return True


def _files(site: Site, variation: Variation, texts: Sequence[str], faults: Faults) -> Variation | None:
    """Read the weather files, seen from where the command runs, else from the site file's folder."""
    weathers: list[Weather] = []
    for text in texts:
        path, beside = Path(text), Path(site.file).parent / text
        path = path if is_there(path) or not is_there(beside) else beside
        own = Faults()
        table = read_recorded(path=path, faults=own)
        if table is not None:
            knows = table.elevation is not None or "pressure" in table.columns
            weather = weather_of_table(
                table=table,
                elevation=None if knows else site.weather.elevation,
                first_weekday=site.weather.first_weekday,
                faults=own,
            )
            if weather is not None and not len(own):
                weathers.append(weather)
        faults.extend(own.all())
    if len(weathers) < len(texts):
        return None
    places = tuple(float(place) for place in range(len(texts)))
    return replace(variation, values=places, files=tuple(texts), weathers=tuple(weathers))
