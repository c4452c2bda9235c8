"""What the choice does: ties, nothing, not possible, margins, and limits of work."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from selector.decide.common_years import trace_all
from selector.decide.designs import enumerate_designs
from selector.decide.evaluate import Evaluation, evaluate, prepare_site
from selector.decide.margin import one_out_of
from selector.decide.moves import moves_of
from selector.decide.search_tables import field_of
from selector.inputs.site import Install, Limits, Site
from selector.physics.fit import FittedUnit
from selector.physics.hourly import simulate_hours
from tests.decide.halls import EVERY, MODELS, cost, hall, pick, usual, with_units
from tests.decide.small_cases import fitted_unit
from tests.hours import prepared_demo


def again(site: Site, install: tuple[Install, ...]) -> Evaluation:
    known = tuple(fitted_unit(unit.model) for unit in site.catalog.units)
    return evaluate(prepared=prepare_site(site=site, fitted=known), install=install)


def test_the_best_beats_the_runner_up_and_every_arrangement() -> None:
    choice = usual()
    assert choice.best is not None
    assert choice.runner_up is not None
    assert choice.best.feasible
    assert choice.best.install
    assert choice.runner_up.feasible
    assert choice.best.costs.life_cycle <= choice.runner_up.costs.life_cycle
    assert [row.arrangement for row in choice.by_arrangement] == list(EVERY)
    chosen = [row for row in choice.by_arrangement if row.reason == "chosen"]
    assert len(chosen) == 1
    for row in choice.by_arrangement:
        assert (row.best is None) == (row.extra_cost is None)
        if row.best is None:
            assert row.closest is not None
            assert not row.closest.feasible
            continue
        assert row.extra_cost == pytest.approx(
            row.best.costs.life_cycle - choice.best.costs.life_cycle, rel=1e-12
        )
        alone = pick(hall(arrangements=(row.arrangement,)))
        assert alone.best is not None
        assert alone.best.install == row.best.install


def test_the_proof_counts_every_design() -> None:
    """With three models, three arrangements, up to 3 units and 2 sizes: 1 + 9 x 3 + 3 x 3 x (1 + 2) = 55."""
    proof = usual().proof
    assert proof.status == "optimal"
    assert proof.gap == proof.gap_money == 0.0
    assert proof.lower_bound == cost(usual())
    assert proof.designs_possible == 55
    held = proof.designs_possible - sum(proof.excluded_by.values())
    assert held >= 2


# ties -------------------------------------------------------------------------------------------------------------


def twin(one: FittedUnit, model: str, **changes: Any) -> FittedUnit:
    return replace(one, unit=replace(one.unit, model=model, **changes))


def test_of_two_equal_models_the_first_of_the_catalogue_is_chosen() -> None:
    machine = fitted_unit("precool-60")
    first, second = twin(machine, "precool-61"), twin(machine, "precool-59")
    for order in ((first, second), (second, first)):
        site = with_units(hall(arrangements=("standalone",)), *(one.unit for one in order))
        choice = pick(site, order)
        assert choice.best is not None
        assert choice.runner_up is not None
        assert {part.model for part in choice.best.install} == {order[0].unit.model}
        assert choice.runner_up.costs.life_cycle == pytest.approx(choice.best.costs.life_cycle, rel=1e-9)


def free(one: FittedUnit, **changes: Any) -> FittedUnit:
    """The same machine for nothing."""
    return replace(one, unit=replace(one.unit, price=0.0, maintenance=0.0, **changes))


def without_prices(site: Site) -> Site:
    terms = {name: replace(one, fixed=0.0, per_unit=0.0) for name, one in site.costs.installation.items()}
    return replace(site, costs=replace(site.costs, electricity=0.0, gas=0.0, installation=terms))


def test_at_no_cost_the_fewest_units_are_chosen() -> None:
    machines = (free(fitted_unit("compressor-60")), free(fitted_unit("rotor-60")))
    site = without_prices(with_units(hall(arrangements=("standalone",)), *(one.unit for one in machines)))
    choice = pick(site, machines)
    assert choice.best is not None
    assert choice.best.costs.life_cycle == 0.0
    count = sum(part.count for part in choice.best.install)
    prepared = prepare_site(site=site, fitted=machines)
    alone = [
        evaluate(prepared=prepared, install=(Install(one.unit.model, "standalone", count - 1),))
        for one in machines
    ]
    assert not any(one.feasible for one in alone)


def test_among_as_many_units_one_model_is_chosen_before_two() -> None:
    """Two equal machines: two of one model, or one of each, are the same design at the same cost."""
    machine = free(fitted_unit("precool-60"))
    pair = (twin(machine, "precool-61"), twin(machine, "precool-59"))
    base = hall(arrangements=("standalone",))
    site = without_prices(with_units(base, *(one.unit for one in pair)))
    choice = pick(site, pair)
    assert choice.best is not None
    assert [(part.model, part.count) for part in choice.best.install] == [("precool-61", 2)]


# nothing, not possible ----------------------------------------------------------------------------------------------


def test_nothing_is_chosen_where_it_holds() -> None:
    choice = pick(hall(limit=0.9, allowed=8000.0))
    assert choice.best is not None
    assert choice.best.install == ()
    assert choice.best is choice.existing
    assert choice.proof.status == "optimal"
    assert choice.one_out is None
    assert choice.moves == ()


def test_nothing_is_not_chosen_where_existing_units_must_do_with_one_out() -> None:
    site = hall(arrangements=("standalone",))
    holds = replace(site, existing_units=(Install("precool-60", "standalone", 2),))
    bare = pick(holds)
    assert bare.best is not None
    assert bare.best.install == ()
    spare = pick(replace(holds, limits=replace(site.limits, spare_units=2)))
    assert spare.best is not None
    assert spare.best.install != ()


NARROW: dict[str, tuple[dict[str, Any], str]] = {
    "humidity": ({"max_units": 1, "allowed": 5.0}, 'hours above "limit"'),
    "first cost": ({"first_cost": 3000.0}, "first_cost"),
    "current": ({"electrical_current": 5.0}, "electrical_current"),
    "sound": ({"sound": 40.0}, "sound"),
    "weight": ({"weight": 30.0}, "weight"),
    "no unit": ({"max_units": 0}, "max_units"),
    "none of a model": ({"max_per_model": 0}, "max_per_model"),
}


def moved(site: Site, limit: str, value: float) -> Site:
    limits: Limits = site.limits
    if limit.startswith("hours above "):
        target = replace(site.targets[0], allowed_hours_above=value)
        return replace(site, targets=(target,))
    if limit == "hours too warm":
        raise AssertionError("not set in these cases")
    if limit == "max_units":
        count = int(value)
        return replace(
            site, limits=replace(limits, max_units=count, max_per_model=max(count, limits.max_per_model))
        )
    changed: dict[str, Any] = {limit: int(value) if limit == "max_per_model" else value}
    return replace(site, limits=replace(limits, **changed))


@pytest.mark.parametrize("name", NARROW)
def test_where_nothing_is_possible_each_move_is_the_least_that_helps(name: str) -> None:
    changes, which = NARROW[name]
    site = hall(**changes)
    choice = pick(site)
    assert choice.best is None
    assert choice.proof.status == "not possible"
    assert choice.closest is not None
    assert not choice.closest.feasible
    assert choice.margin is None
    assert which in {move.limit for move in choice.moves if move.needed is not None}
    for move in choice.moves:
        if name in ("no unit", "none of a model") and move.limit != which:
            continue  # as in the other cases
        if move.needed is None:
            more = move.limit == "max_units"  # of which no more than twice as many are tried
            assert move.status == ("within the designs tried" if more else "does not help")
            continue
        assert move.status == "proved"
        assert move.needed > move.now
        at = pick(moved(site, move.limit, move.needed))
        assert at.best is not None, move
        assert at.best.feasible, move
        whole = move.limit.startswith(("hours above ", "max_"))
        step = 1.0 if whole else 1e-6 * move.needed
        if move.needed - step >= move.now:
            short = pick(moved(site, move.limit, move.needed - step))
            assert short.best is None, move


# margins ------------------------------------------------------------------------------------------------------------


def heavier(best: Evaluation, site: Site, extra: float) -> bool:
    """Whether the design holds with more vapour in every hour."""
    known = tuple(fitted_unit(unit.model) for unit in site.catalog.units)
    prepared = prepare_site(site=site, fitted=known)
    year = simulate_hours(prepared=prepared, install=best.install, extra_vapour=extra)
    return bool((year.above.sum(axis=0) <= [one.allowed_hours_above for one in site.targets]).all())


def test_the_design_holds_at_its_margin_and_not_a_step_beyond() -> None:
    choice = usual()
    best, margin = choice.best, choice.margin
    assert best is not None
    assert margin is not None
    assert not margin.at_least
    mean = margin.extra_vapour / margin.share if margin.share else None
    assert mean is not None
    assert heavier(best, choice.site, margin.extra_vapour)
    assert not heavier(best, choice.site, margin.extra_vapour + 0.0101 * mean)


def test_one_unit_out_is_the_design_with_one_less() -> None:
    choice = usual()
    best, out = choice.best, choice.one_out
    assert best is not None
    assert out is not None
    worst = 0
    for at, part in enumerate(best.install):
        less = (*best.install[:at], replace(part, count=part.count - 1), *best.install[at + 1 :])
        worst = max(worst, again(choice.site, less).hours_above)
    assert out.hours_above == worst
    assert out.feasible == (worst <= 40)


def test_one_unit_out_that_breaks_only_hours_too_warm_is_worse_than_one_that_holds() -> None:
    """Without the small unit the large one heats the school's space for 27 hours, without the large one it is moist."""
    site = prepared_demo("school").site
    targets = tuple(replace(one, allowed_hours_above=8760.0) for one in site.targets)
    prepared = prepare_site(site=replace(site, targets=targets), fitted=prepared_demo("school").fitted)
    large, small = (Install(model, "standalone", 1) for model in ("compressor-300", "compressor-120"))
    left = {one.model: evaluate(prepared=prepared, install=(one,)) for one in (large, small)}
    assert left[large.model].hours_above < left[small.model].hours_above
    assert left[small.model].hours_too_warm < left[large.model].hours_too_warm
    best = evaluate(prepared=prepared, install=(large, small))
    warm = left[small.model].hours_too_warm
    out, _ = one_out_of(prepared=prepared, best=best, warm_allowed=warm)
    assert out is not None
    assert (out.model, out.feasible) == (small.model, False)
    limit = left[large.model].worst_limit
    assert (out.limit, out.kind, out.worst) == (limit.name, limit.kind, limit.worst)


def test_spare_units_are_kept_by_the_choice() -> None:
    site = hall(spare_units=1)
    choice = pick(site)
    assert choice.best is not None
    assert choice.one_out is not None
    assert choice.one_out.feasible
    assert cost(choice) >= cost(usual())


# limits of work and clock -------------------------------------------------------------------------------------------


def test_a_limit_of_work_gives_the_best_found_and_a_bound() -> None:
    choice = pick(hall(work_years=12.0))
    proof = choice.proof
    assert proof.status == "best-found"
    assert proof.excluded_by["not reached"] > 0
    assert "limit of work" in proof.reason
    if choice.best is not None:
        assert choice.best.feasible
        assert proof.lower_bound <= cost(usual()) <= cost(choice)
        assert proof.gap_money == pytest.approx(cost(choice) - proof.lower_bound, rel=1e-12)
        assert proof.gap == pytest.approx(proof.gap_money / cost(choice), rel=1e-12)


def test_a_limit_of_the_clock_gives_the_best_found() -> None:
    choice = pick(hall(), seconds=0.0)
    assert choice.proof.status == "best-found"
    assert choice.proof.stopped_by == "clock"
    assert choice.proof.excluded_by["not reached"] > 0


@pytest.mark.parametrize(
    ("seconds", "years", "stop"), [(0.0, 2000.0, "clock"), (None, 0.0, "work"), (1e6, 0.0, "work")]
)
def test_where_none_was_found_in_time_nothing_is_said_to_be_impossible(
    seconds: float | None, years: float, stop: str
) -> None:
    choice = pick(hall(work_years=years), seconds=seconds)
    assert choice.best is None
    assert choice.answer == "none found"
    assert choice.proof.status == "best-found"
    assert choice.proof.stopped_by == stop
    assert choice.proof.reason.endswith("limit of the clock" if stop == "clock" else "limit of work")
    assert choice.moves == ()  # every limit could be kept, for all that is known


@pytest.mark.parametrize(("budget", "deadline"), [(0, None), (10**9, 0.0)], ids=["work", "clock"])
def test_a_move_that_was_not_tried_is_not_said_to_be_of_no_help(budget: int, deadline: float | None) -> None:
    site = hall(max_units=1, allowed=5.0, first_cost=3000.0)
    prepared = prepare_site(site=site, fitted=tuple(fitted_unit(model) for model in MODELS))
    designs, field = enumerate_designs(prepared=prepared), field_of(prepared=prepared)
    library, _ = trace_all(prepared=prepared, designs=designs, field=field)
    moves, hours = moves_of(
        prepared=prepared, designs=designs, field=field, library=library, allowed=np.array([5.0]),
        warm_limit=10.0, budget=budget, deadline=deadline,
    )  # fmt: skip
    assert hours == 0
    names = [move.limit for move in moves]
    assert names == ['hours above "limit"', "hours too warm", "first_cost", "max_units"]
    assert {(move.needed, move.status) for move in moves} == {(None, "within the designs tried")}


# the same again -----------------------------------------------------------------------------------------------------
