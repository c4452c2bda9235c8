"""Cautions: where the work can hurt someone, what to look out for, and who decides."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from selector.inputs.site import Install, Site
from selector.money.first_cost import unit_of
from selector.report.text import Show, show_for

DEFER = "Local codes and licensed practice decide, not this estimate."


@dataclass(frozen=True, slots=True)
class Caution:
    """One thing to look out for."""

    topic: str
    text: str


def cautions(*, site: Site, install: Iterable[Install]) -> tuple[Caution, ...]:
    """What to look out for with a design.

    Args: site; install, the new units.
    Returns: cautions that apply, in a fixed order; the last two also where nothing is installed.
    """
    units = [(unit_of(site=site, model=part.model), part) for part in install if part.count > 0]
    show = show_for(site)
    found: list[Caution] = []
    if units:
        found.append(
            Caution(
                "electricity",
                "Supply, disconnects and over-current protection by a licensed electrician; check the panel's "
                "spare capacity.",
            )
        )
    if any(unit.technology != "desiccant" for unit, _ in units):
        found.append(
            Caution(
                "refrigerant",
                "Charge, ventilation of the room it stands in, and any opened circuit: certified technicians.",
            )
        )
    if any(unit.reactivation_energy == "gas" for unit, _ in units):
        found.append(
            Caution(
                "gas",
                "Gas piping, combustion air, flue and carbon-monoxide alarm to the fuel-gas code; wet reactivation "
                "exhaust goes outdoors, away from intakes.",
            )
        )
    if any(unit.technology == "desiccant" and unit.reactivation_energy != "gas" for unit, _ in units):
        found.append(Caution("exhaust", "Hot, wet reactivation exhaust goes outdoors, away from intakes."))
    if any(unit.technology != "desiccant" for unit, _ in units):
        found.append(
            Caution(
                "condensate", "Trapped, sloped drain with overflow shut-off or pan where a leak does damage."
            )
        )
    if units:
        found.append(Caution("hung weight", _weight(site, [part for _, part in units], show)))
    found.append(Caution("ventilation", "Outdoor air never below what the local ventilation code asks for."))
    found.append(
        Caution(
            "mould",
            "Growth or wet material that is there already has to be treated; drier air does not remove it.",
        )
    )
    return tuple(found)


def _weight(site: Site, install: list[Install], show: Show) -> str:
    heaviest = max((unit_of(site=site, model=part.model) for part in install), key=lambda unit: unit.weight)
    return (
        f"Units hung or on a roof (heaviest {show(heaviest.weight, 'mass', 3)} each, without water and curb): "
        "structure checked by a licensed engineer."
    )


def short_cautions(*, site: Site, install: Iterable[Install]) -> str:
    """The topics of the cautions in a sentence.

    Args: as `cautions`. Returns: text.
    """
    topics = [caution.topic for caution in cautions(site=site, install=install)]
    return f"{', '.join(topics)}: local codes and licensed practice decide"
