"""JSON of the commands: its keys, its order, its numbers."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from selector.inputs.fingerprint import fingerprint
from selector.physics.loads import loads
from selector.report.check_json import catalog_json, defaults_json, site_json
from selector.report.json_report import choose_json, loads_json, simulate_json, to_text
from tests.report.choices import chosen, impossible, simulated
from tests.sites import prepared_room, room

SIMULATE = [
    "site",
    "install",
    "costs",
    "humidity",
    "comfort",
    "feasible",
    "limits_broken",
    "moisture_kg",
    "energy_kwh",
    "balance",
    "assumptions",
]
NESTED = [key for key in SIMULATE if key not in ("site", "assumptions")]
PROOF = [
    "status",
    "lower_bound",
    "gap",
    "designs_possible",
    "designs_simulated",
    "excluded_by",
    "year_equivalents",
    "seconds",
    "gap_money",
]


def simulated_result() -> dict[str, Any]:
    return simulate_json(
        site=room(),
        evaluation=simulated("2 precool-120 return-side"),
        existing=simulated(),
        days=(),
        fitted=prepared_room().fitted,
        warm_allowed=50.0,
    )


def chosen_result() -> dict[str, Any]:
    choice = chosen()
    assert choice.best is not None
    return choose_json(choice=choice, answer=choice.best, days=(), fitted=prepared_room().fitted)


def test_a_simulated_design_has_the_keys_agreed() -> None:
    result = simulated_result()
    assert set(SIMULATE) <= set(result)
    assert result["install"] == [{"model": "precool-120", "arrangement": "return-side", "count": 2}]
    assert {"first", "annual_operating", "life_cycle"} <= set(result["costs"])
    assert {"hours_above", "allowed_hours_above", "maximum_relative_humidity"} <= set(result["humidity"])
    assert "hours_too_warm" in result["comfort"]
    assert list(result["moisture_kg"]) == [
        "ventilation",
        "infiltration",
        "internal",
        "coil",
        "units",
        "stored",
    ]
    assert list(result["energy_kwh"]) == ["units", "cooling", "fan", "heating", "unit_gas"]
    assert set(result["balance"]) == {"moisture", "energy"}
    assert {"key", "value", "low", "high", "origin", "source"} <= set(result["assumptions"][0])


def test_limits_broken_say_by_how_much() -> None:
    result = simulated_result()
    above = simulated("2 precool-120 return-side").hours_above
    assert result["feasible"] is False
    assert result["limits_broken"] == [
        {
            "limit": "hours above the humidity target",
            "got": above,
            "allowed": 40.0,
            "by": above - 40.0,
            "unit": "h",
        }
    ]


def test_a_choice_adds_its_proof_and_the_designs_beside_it() -> None:
    result = chosen_result()
    assert set(SIMULATE) <= set(result)
    assert set(PROOF) <= set(result["proof"])
    assert set(NESTED) <= set(result["existing_system"])
    assert list(result["best_by_arrangement"]) == [
        "return-side",
        "supply-side",
        "coil-bypass",
        "standalone",
        "outdoor-air",
    ]
    for one in result["best_by_arrangement"].values():
        assert set(NESTED) <= set(one)
        assert "reason" in one
    assert result["answer"] == "install"


def test_a_life_cycle_cost_can_be_worked_out_again_from_its_parts() -> None:
    result = chosen_result()
    parts, costs = result["life_cycle_parts"], result["costs"]
    rate, years = room().costs.discount_rate, room().costs.study_period
    yearly = sum((1.0 + rate) ** -year for year in range(1, years + 1))
    assert parts["first"] == costs["first"]
    for name in ("electricity", "gas", "maintenance"):
        assert parts[name] == pytest.approx(costs[name] * yearly, rel=1e-12)
    again = left = 0.0
    for one in parts["units"]:
        price = one["count"] * one["price"]
        again += sum(price * (1.0 + rate) ** -year for year in one["bought_again"])
        left += price * one["life_left"] * (1.0 + rate) ** -years
    assert again > 0.0
    assert left > 0.0
    assert (parts["replacement"], -parts["residual"]) == pytest.approx((again, left), rel=1e-12)
    names = ("first", "electricity", "gas", "maintenance", "replacement", "residual")
    assert sum(parts[name] for name in names) == pytest.approx(parts["total"], rel=1e-12)
    assert parts["total"] == pytest.approx(costs["life_cycle"], rel=1e-12)


def test_not_possible_is_said_and_shows_the_nearest() -> None:
    choice = impossible()
    assert choice.closest is not None
    result = choose_json(choice=choice, answer=choice.closest, days=(), fitted=prepared_room().fitted)
    assert result["answer"] == "not possible"
    assert result["feasible"] is False
    assert result["best_by_arrangement"]["coil-bypass"]["install"] is None
    read = json.loads(to_text(result))
    assert read["proof"]["lower_bound"] is None  # there is none
    assert read["limit_moves"][1] == {
        "limit": "hours too warm",
        "now": 50.0,
        "needed": None,
        "unit": "h",
        "status": "does not help",
    }


def test_numbers_are_finite_and_the_text_is_the_same_every_time() -> None:
    text = to_text(chosen_result())

    def refuse(word: str) -> None:
        raise AssertionError(word)

    read = json.loads(text, parse_constant=refuse)
    assert text == to_text(chosen_result())
    assert json.dumps(read, indent=1, ensure_ascii=False) + "\n" == text


def test_what_is_not_finite_becomes_null() -> None:
    read = json.loads(
        to_text({"a": math.nan, "b": (math.inf, -0.0), "c": {"d": -math.inf}, "e": True, "f": 3})
    )
    assert read == {"a": None, "b": [None, 0.0], "c": {"d": None}, "e": True, "f": 3}
    assert math.copysign(1.0, read["b"][1]) == 1.0


def test_inputs_are_named_by_what_they_hold() -> None:
    result = simulated_result()
    assert result["input_sha256"] == fingerprint(site=room())
    assert result["catalog"]["warning"] == "invented prices, not for a bid"
    assert result["weather"]["kind"] == "synthetic"
    assert result["first_estimate"] is True


def test_loads_add_up_in_json() -> None:
    result = loads_json(site=room(), loads=loads(prepared=prepared_room()))
    for key in ("moisture_kg", "sensible_kwh"):
        for source in result[key]:
            # a sum of twelve rounded numbers
            assert math.isclose(sum(source["months"]), source["year"], rel_tol=1e-12, abs_tol=1e-6)
    held = result["held_at_limit"]
    assert math.isclose(sum(one["year"] for one in held["moisture_kg"]), held["total_kg"], rel_tol=1e-12)
    assert len(result["design_hours"]) == 2


def test_checks_are_json_as_well() -> None:
    prepared = prepared_room()
    result = json.loads(to_text(site_json(prepared=prepared, coil=None)))
    assert result["arrangements"]["standalone"]["airflow"] is None  # no limit
    assert result["arrangements"]["coil-bypass"]["models"]["compressor-60"]["units_that_fit"] == 0
    catalog = json.loads(to_text(catalog_json(catalog=room().catalog, fitted=prepared.fitted)))
    assert [unit["model"] for unit in catalog["units"]] == [
        "compressor-60",
        "precool-60",
        "precool-120",
        "rotor-60",
    ]
    assert callable(defaults_json)
