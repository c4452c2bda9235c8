"""The control sequence in words, the procedure of commissioning and its cautions."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from selector.decide.commissioning import CommissioningSheet
from selector.decide.evaluate import prepare_site
from selector.inputs.site import Install
from selector.physics.prepare import Prepared
from selector.report.commissioning_text import procedure, sequence_rows, sheet_cautions
from selector.report.sequence_text import control_sequence
from tests.report.sheets import MIXED, of_demo, of_room, sheet_for
from tests.sites import prepared_room


def sequence_of(sheet: CommissioningSheet) -> dict[str, str]:
    return {step.topic: step.text for step in control_sequence(sheet)}


def with_handler(prepared: Prepared, **changes: Any) -> Prepared:
    handler = prepared.site.air_handler
    assert handler is not None
    site = replace(prepared.site, air_handler=replace(handler, **changes))
    return prepare_site(site=site, fitted=prepared.fitted)


# ---------------------------------------------------------------------------------------- control sequence


def test_the_set_point_and_its_differential() -> None:
    text = sequence_of(of_room("1 precool-120 standalone"))["humidistat"]
    assert text == (
        "57.0 % RH, at all hours: the limit of 60.0 % RH less a band of 3 points; calls 0.75 points above the set "
        "point, stops 0.75 points below it"
    )


def test_several_limits_name_which_governs() -> None:
    steps = sequence_of(of_demo("school", ("1 compressor-300 supply-side", "1 rotor-90 supply-side")))
    assert steps["humidistat, classes"].startswith("58.2 degF dew point, in occupied hours (")
    assert "outside these hours it asks for nothing" in steps["humidistat, classes"]
    assert steps["humidistat, mould, all year"].startswith("62.0 % RH, at all hours")
    assert "several limits" in steps


@pytest.mark.parametrize(
    ("policy", "words"),
    [
        (
            "cycles",
            "in unoccupied hours it starts on a call for heating or cooling or from return-side units",
        ),
        ("off", "in unoccupied hours it is off, and return-side units are locked out with it"),
        ("runs", "in occupied hours it runs all the time, and in unoccupied hours as well"),
    ],
)
def test_the_fan_follows_its_policy(policy: str, words: str) -> None:
    prepared = with_handler(prepared_room(), unoccupied_fan=policy)
    steps = sequence_of(sheet_for(prepared, "1 precool-120 return-side"))
    assert words in steps["fan"]
    assert "starts once airflow in its duct is proven" in steps["return-side"]


def test_a_standalone_unit_never_calls_the_fan() -> None:
    steps = sequence_of(of_room("1 precool-120 standalone"))
    assert "never for a dehumidifier" in steps["fan"]
    assert "whatever the air handler does" in steps["standalone"]
    without = sequence_of(of_demo("records", ("1 precool-60 standalone",)))
    assert "fan" not in without
    assert "outdoor damper" not in without
    assert "air handler" not in without["standalone"]


def test_damper_positions() -> None:
    steps = sequence_of(of_room("1 precool-120 coil-bypass"))
    assert "in occupied hours open for 900 cfm" in steps["outdoor damper"]
    assert (
        "shut, also while a dehumidifier calls the fan (leakage 3.0 % is allowed for)"
        in steps["outdoor damper"]
    )
    assert "opens with the unit's fan, shut while it stands" in steps["backdraft damper"]
    assert "32.0 degF" in steps["backdraft damper"]
    always = sequence_of(of_demo("clinic", ("2 rotor-250 outdoor-air",)))
    assert "no unoccupied" in always["fan"]
    assert "no unoccupied hours" in always["outdoor damper"]
    economizer = sequence_of(
        sheet_for(with_handler(prepared_room(), economizer="dry-bulb"), "1 precool-120 standalone")
    )
    assert "as the dry-bulb economizer asks" in economizer["outdoor damper"]


def test_outdoor_air_units_wait_for_ventilation() -> None:
    steps = sequence_of(of_demo("clinic", ("2 rotor-250 outdoor-air",)))
    assert "runs while ventilation is open" in steps["outdoor-air"]
    assert "calls no fan" in steps["outdoor-air"]
    assert "flame safeguard" in steps["burner"]
    assert "after a stop both fans run on" in steps["reactivation"]
    assert "compressor" not in steps
    assert "drain" not in steps


def test_lock_outs_name_the_range_of_entering_air() -> None:
    steps = control_sequence(of_room(*MIXED))
    locks = [step.text for step in steps if step.topic == "lock-out"]
    assert locks[0].startswith("DH-1: stands still while entering air is outside 45.0 degF to 105.0 degF")
    assert locks[1].startswith("DH-2 to DH-3: ")
    assert any(step.topic == "drain" for step in steps)


def test_lead_and_lag_and_units_already_there() -> None:
    assert sequence_of(of_room(*MIXED))["staging"].startswith(
        "lead DH-1 (precool-120); then DH-2 to DH-3 (rotor-60); the unit with the best removal by energy first"
    )
    assert "take the lead in turn" in sequence_of(of_room("2 precool-120 standalone"))["staging"]
    assert "10 min" not in sequence_of(of_room("1 precool-120 standalone"))["staging"]
    site = replace(prepared_room().site, existing_units=(Install("precool-120", "standalone", 1),))
    prepared = prepare_site(site=site, fitted=prepared_room().fitted)
    staging = sequence_of(sheet_for(prepared, "1 compressor-60 standalone"))["staging"]
    assert staging.startswith("lead 1 precool-120 standalone already there; then DH-1 (compressor-60)")


def test_sequence_rows_number_the_steps() -> None:
    sheet = of_room(*MIXED)
    headings, *rows = sequence_rows(sheet)
    assert headings == ("step", "topic", "what happens")
    assert [row[0] for row in rows] == [float(n) for n in range(1, len(control_sequence(sheet)) + 1)]


# ---------------------------------------------------------------------------------------- procedure, cautions


def test_the_procedure_fits_the_machines() -> None:
    wet = " ".join(procedure(of_room("1 precool-120 standalone")))
    assert "by cup and watch" in wet
    assert "defrosts" in wet  # its surface is below freezing at the cool condition
    rotor = " ".join(procedure(of_demo("clinic", ("2 rotor-250 outdoor-air",))))
    assert "cup" not in rotor
    assert "dew-point meter" in rotor


def test_cautions_of_the_site_follow_those_of_measuring() -> None:
    topics = [topic for topic, _ in sheet_cautions(of_demo("clinic", ("2 rotor-250 outdoor-air",)))]
    assert topics[:2] == ["live readings", "hot surfaces"]
    assert {"gas", "electricity", "hung weight"} <= set(topics)
    assert "closed circuit" not in topics
