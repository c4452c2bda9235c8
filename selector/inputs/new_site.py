"""The five-minute questions, and the site file that their answers make."""

from __future__ import annotations

import json
from dataclasses import dataclass

from pydantic_core import PydanticCustomError

from selector.inputs.defaults import defaults_file
from selector.inputs.fields import Quantity, closest
from selector.inputs.quantities import QuantityError, parse
from selector.inputs.schema import PROFILES
from selector.inputs.schema_keys import kind_of


@dataclass(frozen=True, slots=True)
class Question:
    """One question: the answer it fills in, the words, an example, and whether no answer is an answer."""

    answer: str
    words: str
    example: str
    optional: bool = False


@dataclass(frozen=True, slots=True)
class Answers:
    """What a person has in five minutes, as written; None where the building has no air handler."""

    name: str
    profile: str
    weather_file: str
    floor_area: str
    ceiling_height: str
    humidity_limit: str  # "60 %" or "60 degF" of dew point
    supply_airflow: str | None
    outdoor_airflow: str | None
    cooling_capacity: str | None
    catalog: str
    display_units: str = "IP"
    currency: str = "USD"


QUESTIONS = (
    Question("name", "What is the building called?", "Town hall"),
    Question("profile", f"Which of these is it most like: {', '.join(PROFILES)}?", "hall"),
    Question(
        "weather_file", "Which weather file, seen from the site file's folder?", "weather/tidewater.csv"
    ),
    Question("floor_area", "How large is the floor?", "9000 ft2"),
    Question("ceiling_height", "How high is the ceiling?", "18 ft"),
    Question("humidity_limit", "Which humidity must it stay under, relative humidity or dew point?", "60 %"),
    Question(
        "supply_airflow", "What airflow does the air handler supply? (none: no air handler)", "9000 cfm", True
    ),
    Question("outdoor_airflow", "How much of that is outdoor air?", "2250 cfm", True),
    Question("cooling_capacity", "What is the nameplate's cooling capacity?", "25 ton", True),
    Question("catalog", "Which catalogue folder, seen from the site file's folder?", "../catalogs/general"),
)

_KEYS = {
    "floor_area": "space.floor_area",
    "ceiling_height": "space.ceiling_height",
    "supply_airflow": "air_handler.supply_airflow",
    "outdoor_airflow": "air_handler.outdoor_airflow",
    "cooling_capacity": "air_handler.cooling_coil.total_capacity",
}


def check_answer(*, answer: str, text: str) -> None:
    """Check one answer, so that a person can be asked again at once.

    >>> check_answer(answer="floor_area", text="9000 sq ft")
    >>> check_answer(answer="profile", text="growin")
    Traceback (most recent call last):
        ...
    selector.inputs.quantities.QuantityError: got "growin"; allowed: growing

    Args: answer, a field of `Answers`; text, as written.
    Raises: QuantityError, with what was got and what is allowed.
    """
    if answer == "profile":
        if text not in PROFILES:
            raise QuantityError(f'"{text}"', closest(text, PROFILES))
    elif answer == "humidity_limit":
        _limit(text)
    elif answer in _KEYS:
        _value(_KEYS[answer], text)
    elif not text.strip():
        raise QuantityError("nothing", "text")


def check_outdoor_airflow(*, outdoor_airflow: str, supply_airflow: str) -> None:
    """Check that no more outdoor air is supplied than air.

    Args: outdoor_airflow and supply_airflow, each as `check_answer` accepts it.
    Raises: QuantityError, where there is more outdoor air.
    """
    outdoor, supply = (
        _value(_KEYS[name], text)
        for name, text in (("outdoor_airflow", outdoor_airflow), ("supply_airflow", supply_airflow))
    )
    if outdoor > supply:
        raise QuantityError(f'"{outdoor_airflow}"', f"at most the supply airflow, {supply_airflow}")


def suggested_limit(profile: str) -> str:
    """Suggest a humidity limit to someone who has none in mind: common practice, no source.

    Args: profile, one of `PROFILES`. Returns: a relative humidity as text.
    """
    return str(defaults_file()["profiles"][profile]["humidity_limit"])


def render_site(*, answers: Answers) -> str:
    """Write the site file that the answers make; `read_site` reads it.

    Args: answers, each as `check_answer` accepts it.
    Returns: TOML text.
    Raises: QuantityError, where an answer is wrong or part of an air handler is missing.
    """
    for question in QUESTIONS:
        text = getattr(answers, question.answer)
        if text is not None:
            check_answer(answer=question.answer, text=text)
    if answers.outdoor_airflow is not None and answers.supply_airflow is not None:
        check_outdoor_airflow(outdoor_airflow=answers.outdoor_airflow, supply_airflow=answers.supply_airflow)
    air = {
        "supply_airflow": answers.supply_airflow,
        "outdoor_airflow": answers.outdoor_airflow,
        "cooling_capacity": answers.cooling_capacity,
    }
    missing = [name for name, text in air.items() if text is None]
    if missing and len(missing) < len(air):
        raise QuantityError(f"no {' and no '.join(missing)}", "all three of an air handler's values, or none")
    summary = defaults_file()["profiles"][answers.profile]["summary"]
    lines = [
        "# A first estimate from five minutes of questions. All that is not written here is a default:",
        "#   selector check THIS_FILE --defaults      lists them and says how to find yours",
        "",
        f"name = {_quoted(answers.name)}",
        f"profile = {_quoted(answers.profile)}  # {summary}",
        f"display_units = {_quoted(answers.display_units)}",
        f"currency = {_quoted(answers.currency)}",
        f"catalog = {_quoted(answers.catalog)}",
        "",
        "[weather]",
        f"file = {_quoted(answers.weather_file)}",
        "",
        "[space]",
        f"floor_area = {_quoted(answers.floor_area)}",
        f"ceiling_height = {_quoted(answers.ceiling_height)}",
        "",
        "[humidity_target]",
        f"{_limit(answers.humidity_limit)} = {_quoted(answers.humidity_limit)}",
    ]
    if not missing:
        lines += [
            "",
            "[air_handler]",
            f"supply_airflow = {_quoted(str(answers.supply_airflow))}",
            f"outdoor_airflow = {_quoted(str(answers.outdoor_airflow))}",
            "",
            "[air_handler.cooling_coil]",
            f"total_capacity = {_quoted(str(answers.cooling_capacity))}",
        ]
    return "\n".join(lines) + "\n"


def _limit(text: str) -> str:
    """Tell a relative humidity from a dew point by its unit; return the key."""
    for key in ("relative_humidity", "dew_point"):
        kind = kind_of(f"humidity_target.{key}")
        assert isinstance(kind, Quantity)
        try:
            parse(text, kind.dimension)
        except QuantityError:
            continue
        _value(f"humidity_target.{key}", text)
        return key
    raise QuantityError(f'"{text}"', "a relative humidity, as 60 %, or a dew point, as 60 degF")


def _value(key: str, text: str) -> float:
    """Read a quantity within the bounds of its key; return it in SI."""
    kind = kind_of(key)
    assert isinstance(kind, Quantity)
    try:
        return kind.check(text, {})
    except PydanticCustomError as error:
        parts = error.context or {}
        raise QuantityError(str(parts["got"]), str(parts["allowed"])) from error


def _quoted(text: str) -> str:
    """Write a TOML basic string; its escapes are those of JSON, and delete is one more."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
