"""The worked hour: every equation holds with the numbers that are printed beside it, and they are the simulation's."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.options import options_of, prepare_options
from selector.inputs.install_text import parse_installs
from selector.physics import response as out
from selector.physics.prepare import Prepared
from selector.report.charts_psychrometric import psychrometric_chart
from selector.report.charts_states import air_in_hour
from selector.report.hourly_csv import hourly_csv
from selector.report.page_hour import worked_hour
from selector.report.page_parts import Step, Term
from tests.hours import prepared_demo
from tests.report.choices import DESIGNS, simulated
from tests.report.working import p_sat, recomputed, symbols_of, value_of
from tests.sites import prepared_room

DEMOS = {
    "hall": "1 precool-200 standalone",
    "school": "1 compressor-300 supply-side",
    "clinic": "1 rotor-180 outdoor-air",
    "pool": "4 precool-260 return-side",
    "records": "1 rotor-60 standalone",
    "growing": "3 precool-260 standalone",
}
# steps that some hour has to show
KINDS = {
    "leakage", "infiltration", "mixing", "coil", "capacity", "condensate", "unit-flow", "unit-coil", "unit-capacity",
    "unit-leaving", "unit-heater", "unit-rotor", "unit-hour", "wheel", "sources", "moisture", "heat", "verdict",
}  # fmt: skip


@functools.cache
def demo(name: str) -> tuple[Prepared, Evaluation]:
    prepared = prepared_demo(name)
    install = parse_installs(texts=(DEMOS[name],), site=prepared.site)
    return prepared, evaluate(prepared=prepared, install=install)


@functools.cache
def changed(kind: str, *texts: str) -> tuple[Prepared, Evaluation]:
    """The school with an energy-recovery wheel, or with overcooling and reheat."""
    prepared = prepared_demo("school")
    options = options_of(site=prepared.site)
    pairs = zip(options, prepare_options(prepared=prepared, options=options), strict=True)
    own = next(own for option, own in pairs if option.change is not None and option.change.kind == kind)
    return own, evaluate(prepared=own, install=parse_installs(texts=texts, site=own.site))


def telling_hours(evaluation: Evaluation) -> list[int]:
    """The worst hour; hours in which coil, fan, heating, units and their parts do much or little; and some others."""
    year = evaluation.year
    response = year.response
    found = [evaluation.worst_limit.worst_hour, *range(1000, 8760, 1459)]
    for column in (
        *(out.COIL_SHARE, out.COIL_STAGE, out.HEATING, out.GIVEN_BACK, out.COIL_FULL, out.VENTILATION),
        *(out.WHEEL_SPEED, out.WHEEL_SENSIBLE, out.WHEEL_LATENT, out.REHEAT),
    ):
        found.append(int(np.argmax(response[:, column])))
    part = np.where(
        (response[:, out.COIL_SHARE] > 0.0) & (response[:, out.COIL_SHARE] < 0.5), year.coil, -1.0
    )
    found.append(int(np.argmax(part)))
    for group in year.groups:
        found.append(int(np.argmax(group.running)))
        found.append(int(np.argmin(np.where(group.running > 0.0, group.running, np.inf))))
        both = (group.on_share > 0.0) & (group.on_share < 1.0) & (group.running > 0.0)
        found.append(int(np.argmax(both)))
    return sorted(set(found))


def steps_of(prepared: Prepared, evaluation: Evaluation, row: int) -> list[Step]:
    return list(worked_hour(prepared=prepared, evaluation=evaluation, row=row).steps)


def cases() -> Iterator[tuple[str, Prepared, Evaluation]]:
    for design in DESIGNS:
        yield "+".join(design) or "nothing", prepared_room(), simulated(*design)
    for name in DEMOS:
        prepared, evaluation = demo(name)
        yield f"{name}: {DEMOS[name]}", prepared, evaluation
    for kind, *texts in (
        ("recovery-wheel",),
        ("recovery-wheel", "1 rotor-90 outdoor-air"),
        ("overcooling-reheat",),
    ):
        yield f"{kind} {texts}", *changed(kind, *texts)


def judged(step: Step) -> Iterator[tuple[str, float]]:
    """Each equation of a step, and how far it is off, as a share of what the printed digits leave open."""
    printed = {one.symbol: one.text for one in (*step.given, *step.result)}
    for equation, _ in step.equations:
        got, wanted, slack = recomputed(equation, printed)
        yield f"{equation}: printed {got}, worked {wanted}", abs(got - wanted) / slack


def test_every_equation_holds_with_its_printed_numbers() -> None:
    """Worst found: 0.95 of what the printed digits leave open."""
    seen: set[str] = set()
    faults: list[str] = []
    hours = 0
    for name, prepared, evaluation in cases():
        for row in telling_hours(evaluation):
            hours += 1
            for step in steps_of(prepared, evaluation, row):
                seen.add(step.name.rstrip("0123456789b").rstrip("-"))
                where = f"{name}, hour {row}, {step.name}"
                faults += [
                    f"{where}: {words} ({share:.2f})" for words, share in judged(step) if not share <= 1.0
                ]
    assert not faults, "\n".join([*faults[:20], f"{len(faults)} faults"])
    assert seen == KINDS
    assert hours > 150


def test_every_number_is_used_and_every_result_has_its_equation() -> None:
    for _, prepared, evaluation in cases():
        for row in telling_hours(evaluation)[:6]:
            for step in steps_of(prepared, evaluation, row):
                equations = [equation for equation, _ in step.equations]
                used = {symbol for equation in equations for symbol in symbols_of(equation)}
                assert used == {one.symbol for one in (*step.given, *step.result)}, step.name
                assert all(numbers for _, numbers in step.equations), step.name
                assert step.source


def test_a_wrong_digit_is_noticed() -> None:
    """Of three grams in any term of the balance."""
    step = next(one for one in steps_of(*room_case(), 5000) if one.name == "moisture")
    printed = {one.symbol: one.text for one in (*step.given, *step.result)}
    for symbol in ("M_i", "M_u", "S"):
        wrong = f"{value_of(printed[symbol]) + 0.0030:.4f}"
        got, wanted, slack = recomputed(step.equations[0][0], {**printed, symbol: wrong})
        assert abs(got - wanted) > slack, symbol


def room_case() -> tuple[Prepared, Evaluation]:
    return prepared_room(), simulated("2 precool-120 standalone")


def test_states_lead_into_the_coil_without_a_gap() -> None:
    """Where the fan stands behind the coil, the air that was mixed is the air that enters it."""
    for name, prepared, evaluation in cases():
        for row in telling_hours(evaluation):
            air = air_in_hour(prepared=prepared, evaluation=evaluation, hour=row)
            entering = [one for one in air.states if "entering coil" in one.roles]
            if (
                entering
                and prepared.plant["fan_after_coil"] == 1
                and evaluation.year.response[row, out.VENTILATION] > 0.0
            ):
                assert {"mixed air", "outdoor"} & set(entering[0].roles), (name, row, entering[0].roles)


def test_the_wheel_and_reheat_stand_in_the_chart() -> None:
    """The wheel leads from outdoor air to what is mixed; reheat is in the heat that the space is given."""
    prepared, evaluation = changed("recovery-wheel")
    response = evaluation.year.response
    row = int(np.argmax(response[:, out.WHEEL_LATENT]))
    air = air_in_hour(prepared=prepared, evaluation=evaluation, hour=row)
    (wheel,) = [one for one in air.processes if one.kind == "wheel"]
    before, after = air.states[wheel.start], air.states[wheel.end]
    assert "outdoor" in before.roles
    assert after.air.humidity_ratio == response[row, out.WHEEL_W]
    chart = psychrometric_chart(site=prepared.site, install=(), air=air)
    assert f"Energy-recovery wheel from {wheel.start + 1} to {wheel.end + 1}." in chart.text
    prepared, evaluation = changed("overcooling-reheat")
    row = int(np.argmax(evaluation.year.response[:, out.REHEAT]))
    air = air_in_hour(prepared=prepared, evaluation=evaluation, hour=row)
    (heating,) = [one for one in air.processes if one.kind == "heating" and not one.rest]
    rise = air.states[heating.end].air.dry_bulb - air.states[heating.start].air.dry_bulb
    ratio = air.states[heating.end].air.humidity_ratio
    response = evaluation.year.response[row]
    carried = float(prepared.plant["supply"]) * (1006.0 + 1860.0 * ratio) * rise * response[out.FAN_SHARE]
    assert carried == pytest.approx(response[out.REHEAT] + response[out.HEATING], rel=1e-9)


def test_what_one_step_gives_the_next_one_takes() -> None:
    """Quantities of the same name and words are printed alike wherever they stand."""
    for name, prepared, evaluation in cases():
        for row in telling_hours(evaluation)[:8]:
            printed: dict[tuple[str, str], str] = {}
            for step in steps_of(prepared, evaluation, row):
                for one in (*step.given, *step.result):
                    if step.name.startswith("unit") and one.symbol not in ("M_u", "p"):
                        continue  # units have numbers of their own
                    assert printed.setdefault((one.symbol, one.what), one.text) == one.text, (name, row, one)


@pytest.mark.parametrize("design", DESIGNS, ids=lambda one: "+".join(one) or "nothing")
def test_printed_results_are_those_of_the_hourly_file(design: tuple[str, ...]) -> None:
    """To the digits printed."""
    evaluation = simulated(*design)
    lines = hourly_csv(prepared=prepared_room(), year=evaluation.year).splitlines()
    heads = lines[0].split(",")
    row = evaluation.worst_limit.worst_hour
    file = dict(zip(heads, lines[1 + row].split(","), strict=True))
    steps = {step.name: step for step in steps_of(prepared_room(), evaluation, row)}
    moisture = {one.symbol: one.text for one in (*steps["moisture"].given, *steps["moisture"].result)}
    columns = {
        "M_v": "ventilation_moisture_kg", "M_i": "infiltration_moisture_kg", "G": "internal_moisture_kg",
        "M_c": "coil_removal_kg", "M_u": "unit_removal_kg", "S": "stored_moisture_kg",
    }  # fmt: skip
    for symbol, column in columns.items():
        assert f"{float(file[column]):.4f}".replace("-0.0000", "0.0000") == moisture[symbol], column
    verdict = {one.symbol: one.text for one in (*steps["verdict"].given, *steps["verdict"].result)}
    assert f"{float(file['space_dry_bulb_C']):.4f}" == verdict["t"]
    assert f"{float(file['space_humidity_ratio']):.7f}" == verdict["w"]
    assert f"{float(file['space_relative_humidity']):.6f}" == verdict["RH"]
    assert row == int(np.argmax(evaluation.year.relative_humidity))


def test_the_sum_of_what_units_take_is_the_balance() -> None:
    """Within half a printed digit for each."""
    for _, prepared, evaluation in cases():
        row = evaluation.worst_limit.worst_hour
        steps = steps_of(prepared, evaluation, row)
        each = [
            value_of(one.text)
            for step in steps
            if step.name.startswith("unit-hour")
            for one in step.result
            if one.symbol == "M"
        ]
        balance = next(step for step in steps if step.name == "moisture")
        whole = next(value_of(one.text) for one in balance.given if one.symbol == "M_u")
        assert sum(each) == pytest.approx(whole, abs=0.00005 * (len(each) + 2))


def as_text(step: Step) -> str:
    """A step as plain text."""
    terms = [*step.given, *step.result]
    width = max(len(one.what) for one in terms)
    numbers = max(len(one.text) for one in terms)

    def line(one: Term) -> str:
        return f"  {one.symbol:<5} {one.what:<{width}}  {one.text:>{numbers}} {one.unit}".rstrip()

    lines = [step.title, *map(line, step.given)]
    for equation, worked in step.equations:
        lines += [f"  {equation}", f"      = {worked}"]
    return "\n".join([*lines, *map(line, step.result), f"  Source: {step.source}"]) + "\n"


def test_the_step_in_the_readme_is_the_one_of_the_page(renew_golden: bool) -> None:
    readme = Path(__file__).parents[2] / "README.md"
    prepared, evaluation = demo("school")
    row = evaluation.worst_limit.worst_hour
    wanted = next(as_text(step) for step in steps_of(prepared, evaluation, row) if step.name == "mixing")
    text = readme.read_text("utf-8")
    start = "<!-- step: mixing -->\n```text\n"
    assert text.count(start) == 1
    before, rest = text.split(start)
    if renew_golden:
        readme.write_text(f"{before}{start}{wanted}```{rest.partition('```')[2]}", "utf-8")
        rest = wanted + "```"
    assert rest.partition("```")[0] == wanted


def test_saturation_pressure_of_the_handbook_is_that_of_the_steam_tables() -> None:
    """Hyland and Wexler against IAPWS through CoolProp: found within 0.023 % from 1 to 50 °C."""
    for dry_bulb in range(1, 51):
        wanted = PropsSI("P", "T", dry_bulb + 273.15, "Q", 0, "Water")
        assert p_sat(dry_bulb) == pytest.approx(wanted, rel=2.5e-4)
