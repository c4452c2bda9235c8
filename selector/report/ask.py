"""Asks the five-minute questions that no option has answered, and writes the site file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import typer

from selector.inputs.errors import Faults
from selector.inputs.new_site import (
    QUESTIONS,
    Answers,
    Question,
    check_answer,
    check_outdoor_airflow,
    render_site,
    suggested_limit,
)
from selector.inputs.quantities import QuantityError
from selector.inputs.reading import is_there
from selector.inputs.units import CURRENCIES
from selector.report.files import can_be_a_name, standard_output, write_files
from selector.report.text import clean, command

NONE = "none"
_AIR_HANDLER = ("supply_airflow", "outdoor_airflow", "cooling_capacity")


def write_new_site(*, file: Path, given: Mapping[str, str | None], display_units: str, currency: str) -> None:
    """Ask, check and write; an older file is never overwritten.

    Args: file to write; given, answers by question, None where it has to be asked; display_units; currency.
    Raises: InputFaults where the file is there already or an answer given beforehand is wrong; typer.Abort where a
        question stays without an answer.
    """
    _check_given(file, given, display_units, currency)
    answers: dict[str, str | None] = {}
    for question in QUESTIONS:
        if question.answer in _AIR_HANDLER[1:] and answers["supply_airflow"] is None:
            answers[question.answer] = None
            continue
        text = given[question.answer]
        if text is None:
            text = _ask(question, answers)
        answers[question.answer] = None if question.optional and text.strip().lower() == NONE else text
    text = render_site(
        answers=Answers(
            name=str(answers["name"]),
            profile=str(answers["profile"]),
            weather_file=str(answers["weather_file"]),
            floor_area=str(answers["floor_area"]),
            ceiling_height=str(answers["ceiling_height"]),
            humidity_limit=str(answers["humidity_limit"]),
            supply_airflow=answers["supply_airflow"],
            outdoor_airflow=answers["outdoor_airflow"],
            cooling_capacity=answers["cooling_capacity"],
            catalog=str(answers["catalog"]),
            display_units=display_units,
            currency=currency,
        )
    )
    write_files(contents={str(file): text})
    with standard_output():
        print(f"Written: {clean(str(file))}")
        for key in ("weather_file", "catalog"):
            if not is_there(file.parent / str(answers[key])):
                print(f"Not there yet: {clean(str(file.parent / str(answers[key])))}")
        print(f"Next: {command('check', str(file))}")


def _check_given(file: Path, given: Mapping[str, str | None], display_units: str, currency: str) -> None:
    """Refuse an older file and every wrong option, all at once."""
    faults = Faults()
    if not can_be_a_name(str(file)):
        faults.add(
            file=str(file)[:60], where="file", got="a name that no file can have", allowed="another name"
        )
    elif is_there(file):
        faults.add(
            file=str(file),
            where="file",
            got=f"a {'folder' if file.is_dir() else 'file'} that is there",
            allowed="a new name",
        )
    elif not file.resolve().parent.is_dir():
        faults.add(file=str(file), where="file", got="a folder that is not there", allowed="a folder that is")
    good: dict[str, str] = {}
    for question in QUESTIONS:
        text = given[question.answer]
        if text is None or (question.optional and text.strip().lower() == NONE):
            continue
        try:
            check_answer(answer=question.answer, text=text)
            good[question.answer] = text
        except QuantityError as error:
            faults.add(file=_option(question), where="option", got=error.got, allowed=error.allowed)
    outdoor, supply = good.get("outdoor_airflow"), good.get("supply_airflow")
    if outdoor is not None and supply is not None:
        try:
            check_outdoor_airflow(outdoor_airflow=outdoor, supply_airflow=supply)
        except QuantityError as error:
            faults.add(file="--outdoor-airflow", where="option", got=error.got, allowed=error.allowed)
    if display_units not in ("IP", "SI"):
        faults.add(file="--units", where="option", got=f'"{display_units}"', allowed="IP or SI")
    if currency not in CURRENCIES:
        faults.add(
            file="--currency",
            where="option",
            got=f'"{currency}"',
            allowed="a code of ISO 4217, as USD or EUR",
        )
    without = (given["supply_airflow"] or "").strip().lower() == NONE
    for name in _AIR_HANDLER[1:]:
        if without and given[name] not in (None, NONE):
            faults.add(
                file=f"--{name.replace('_', '-')}",
                where="option",
                got=f'"{given[name]}" without an air handler',
                allowed="none, or a supply airflow",
            )
    faults.raise_if_any()


def _option(question: Question) -> str:
    return f"--{question.answer.replace('_', '-')}"


def _ask(question: Question, before: Mapping[str, str | None]) -> str:
    """Ask until the answer is one; `before` are the answers so far."""
    example, supply = question.example, before.get("supply_airflow")
    if question.answer == "humidity_limit":
        example = suggested_limit(str(before["profile"]))
    while True:
        text: str = typer.prompt(f"{question.words} As {example}", prompt_suffix="\n> ")
        if question.optional and text.strip().lower() == NONE and question.answer == "supply_airflow":
            return NONE
        try:
            check_answer(answer=question.answer, text=text)
            if question.answer == "outdoor_airflow" and supply is not None:
                check_outdoor_airflow(outdoor_airflow=text, supply_airflow=supply)
        except QuantityError as error:
            print(clean(str(error)))
            continue
        return text
