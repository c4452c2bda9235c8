"""What a default matters is what the file says once the value is written into it."""

from __future__ import annotations

from pathlib import Path

import pytest

from selector.decide.default_effects import DefaultEffect, default_effects, is_simulated
from selector.decide.evaluate import evaluate, prepare_site
from selector.inputs.site_file import read_site
from selector.report.lines import standing_defaults
from tests.sites import prepared_room, room, write_room

KEYS = ("space.moisture_buffer", "air_handler.cooling_coil.cop", "humidity_target.band", "limits.spare_units")


def effects_of(*keys: str) -> dict[str, DefaultEffect]:
    assumptions = tuple(one for one in room().assumptions if one.key in keys)
    found = default_effects(prepared=prepared_room(), assumptions=assumptions)
    return {effect.assumption.key: effect for effect in found.effects}


def test_a_changed_default_is_the_same_as_the_value_written_in_the_file(tmp_path: Path) -> None:
    effect = effects_of("space.moisture_buffer")["space.moisture_buffer"]
    for outcome, value in ((effect.low, 5), (effect.high, 30)):
        changed = write_room(
            tmp_path, ('infiltration = "0.25 1/h"', f'infiltration = "0.25 1/h"\nmoisture_buffer = {value}')
        )
        result = evaluate(prepared=prepare_site(site=read_site(path=changed)), install=())
        assert outcome is not None
        assert outcome.hours_above == result.hours_above
        assert outcome.annual_operating == pytest.approx(result.costs.annual_operating, rel=1e-12)


def test_prices_of_energy_move_the_cost_and_not_the_hours() -> None:
    effect = effects_of("air_handler.cooling_coil.cop")["air_handler.cooling_coil.cop"]
    assert effect.hours_spread == 0
    assert effect.low is not None
    assert effect.high is not None
    assert effect.low.annual_operating > effect.high.annual_operating
    assert effect.cost_spread == pytest.approx(
        effect.low.annual_operating - effect.high.annual_operating, rel=1e-12
    )


def test_limits_and_words_are_not_simulated() -> None:
    found = effects_of("limits.spare_units", "air_handler.fan_position")
    assert all(effect.low is None and effect.high is None for effect in found.values())
    assert len(found) == 2
    assert not is_simulated("costs.installation.standalone.fixed")
    assert not is_simulated("humidity_target[0].allowed_hours_above")
    assert is_simulated("space.heat_loss")


def test_those_that_matter_most_stand_first() -> None:
    seen: list[float] = []
    assumptions = tuple(one for one in standing_defaults(room()) if one.key in KEYS)
    found = default_effects(
        prepared=prepared_room(), assumptions=assumptions, progress=lambda key, share: seen.append(share)
    )
    spreads = [(effect.hours_spread, effect.cost_spread) for effect in found.effects]
    assert spreads == sorted(spreads, reverse=True)
    assert seen == sorted(seen)
    assert found.simulated == 1 + 6  # the existing system, and low and high of three
    assert found.base.hours_above == evaluate(prepared=prepared_room(), install=()).hours_above
