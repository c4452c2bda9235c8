"""What the chosen design can still take: more moisture, or one unit less."""

from __future__ import annotations

from dataclasses import replace

from selector.decide.evaluate import Evaluation, evaluate
from selector.decide.results import Margin, OneOut
from selector.decide.shared import NO_LIMIT, PLACES, blank, follow
from selector.inputs.site import HOURS, FloatArray, Install
from selector.physics.prepare import Prepared, lead_order
from selector.physics.year import FINISHED, start_state

FINEST = 0.01  # of the mean moisture load
MOST = 1.0  # of the mean moisture load, beyond which no more is tried


def margin_of(
    *, prepared: Prepared, best: Evaluation, allowed: FloatArray, warm_limit: float
) -> tuple[Margin, float]:
    """Find by bisection how much more vapour in every hour the design can take with all limits kept.

    Args: prepared; best; allowed (L,) [h]; warm_limit [h].
    Returns: `Margin`, to a hundredth of the year's mean moisture load; work [h].
    """
    moisture = best.moisture_kg
    load = max(0.0, moisture["ventilation"]) + max(0.0, moisture["infiltration"]) + moisture["internal"]
    mean = load / HOURS / 3600.0
    install = lead_order(prepared=prepared, install=(*best.install, *prepared.site.existing_units))
    hours = 0.0

    start = start_state(prepared=prepared)

    def holds(share: float) -> bool:
        nonlocal hours
        more = prepared.hours.copy()
        more["vapour"] += share * mean
        heavier = replace(prepared, hours=more)
        followed = follow(
            prepared=heavier, trajectory=blank(prepared=heavier, start=start), install=install, has=0, fixed=0.0,
            cost_limit=NO_LIMIT, warm_limit=warm_limit, allowed=allowed,
        )  # fmt: skip
        hours += followed.simulated
        return followed.ended == FINISHED

    if mean <= 0.0 or holds(MOST):
        return Margin(MOST * mean, MOST, True), hours
    low, high = 0.0, MOST
    while high - low > FINEST:
        middle = 0.5 * (low + high)
        if holds(middle):
            low = middle
        else:
            high = middle
    return Margin(low * mean, low, False), hours


def one_out_of(
    *, prepared: Prepared, best: Evaluation, warm_allowed: float | None
) -> tuple[OneOut | None, float]:
    """Simulate the design with one unit out of service, each kind in turn, and keep the worst.

    Args: prepared; best; warm_allowed [h], None for no limit.
    Returns: `OneOut`, None for a design without new units; work [h].
    """
    worst: OneOut | None = None
    hours = 0.0
    for at, part in enumerate(best.install):
        less: tuple[Install, ...] = (
            *best.install[:at],
            Install(part.model, part.arrangement, part.count - 1),
            *best.install[at + 1 :],
        )
        one = evaluate(prepared=prepared, install=less, warm_allowed=warm_allowed)
        hours += PLACES
        kept = all(limit.hours_above <= limit.allowed for limit in one.limits)
        warm = warm_allowed is None or one.hours_too_warm <= warm_allowed
        limit = one.worst_limit
        out = OneOut(
            part.model,
            one.hours_above,
            one.maximum_relative_humidity,
            kept and warm,
            limit.name,
            limit.kind,
            limit.worst,
        )
        # a loss that breaks only the limit on hours too warm is worse than one that breaks none
        if worst is None or (not out.feasible, out.hours_above) > (not worst.feasible, worst.hours_above):
            worst = out
    return worst, hours
