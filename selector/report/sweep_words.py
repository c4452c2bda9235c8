"""Words and figures that the screen, the JSON and the CSV of a sweep share."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal, Protocol

from selector.decide.sweep_results import Span, StepResult, Sweep
from selector.inputs.quantities import display_unit, display_value
from selector.inputs.site import Install, Site
from selector.inputs.units import SI_SYMBOLS
from selector.inputs.vary import DEW_POINT_STEP, Variation
from selector.report.text import Show, clean, design_text, show_for

MOST_DECIMALS = 6
JOULES_PER_KWH = 3.6e6
SECONDS_PER_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class Values:
    """Writes the values of one variation."""

    variation: Variation
    show: Show
    decimals: int

    def __call__(self, value: float, *, unit: bool = True) -> str:
        """Write a value.

        Args: value [SI], or the place of a file; unit, whether its unit follows.
        Returns: text.
        """
        if self.variation.files:
            names = [Path(name).name for name in self.variation.files]
            files = self.variation.files if len(set(names)) < len(names) else names
            return clean(files[round(value)])
        number = display_value(value, self.variation.dimension, self.show.units)
        text = f"{number + 0.0:,.{self.decimals}f}"
        return f"{text} {self.unit}".strip() if unit else text

    def about(self, value: float) -> str:
        """Write a value that is none of the steps', to a thousandth of it where their decimals are too few.

        Args: value [SI]. Returns: text.
        """
        number = display_value(value, self.variation.dimension, self.show.units)
        decimals = self.decimals
        while decimals < MOST_DECIMALS and abs(round(number, decimals) - number) > 1e-3 * abs(number):
            decimals += 1
        return replace(self, decimals=decimals)(value)

    @property
    def unit(self) -> str:
        """Return the unit that the values are shown in, "" for a bare number."""
        if self.variation.files:
            return ""
        return display_unit(self.variation.dimension, self.show.units, currency=self.show.currency)


def values_of(*, site: Site, variation: Variation, resolution: float | None) -> Values:
    """Choose how finely the values of a variation are written.

    Args: site; variation; resolution [SI] that has to be seen, None for that of the steps alone.
    Returns: `Values`; as many decimals as tell neighbouring values apart.
    """
    show = show_for(site)
    if variation.files:
        return Values(variation, show, 0)
    zero = display_value(0.0, variation.dimension, show.units)

    def size(amount: float) -> float:
        return abs(display_value(amount, variation.dimension, show.units) - zero)

    steps = [high - low for low, high in zip(variation.values, variation.values[1:], strict=False)]
    least = size(min([*steps, *([] if resolution is None else [resolution])]))
    decimals = max(0, math.ceil(-math.log10(least) - 1e-9)) if least > 0.0 else 0
    shown = [display_value(value, variation.dimension, show.units) for value in variation.values]
    while decimals < MOST_DECIMALS and any(abs(round(one, decimals) - one) > 0.02 * least for one in shown):
        decimals += 1
    return Values(variation, show, decimals)


def title_of(variation: Variation) -> str:
    """Name what is varied.

    Args: variation. Returns: text.
    """
    parameter = variation.parameter
    if parameter.name == "humidity-limit":
        kind = "dew point" if variation.dimension == "temperature" else "relative humidity"
        return f"{parameter.words} ({kind}) of {clean(variation.of)}"
    return f"{parameter.words} ({variation.of})" if variation.of else parameter.words


def step_for(*, site: Site, variation: Variation) -> tuple[float, str]:
    """The amount that a marginal cost is shown for.

    Args: site; variation. Returns: amount [SI] and the same in words.
    """
    imperial, metric = variation.parameter.step_ip, variation.parameter.step_si
    if variation.dimension == "temperature":
        imperial, metric = DEW_POINT_STEP
    amount, words = imperial if site.display_units == "IP" else metric
    if variation.dimension in ("energy_price", "gas_price"):
        words = words.replace("/", f" {site.costs.currency}/", 1)
    return amount, words


def si_unit(*, site: Site, variation: Variation) -> str:
    """The unit that a variation's values have inside and in files.

    Args: site; variation. Returns: the unit, "" for shares, counts and files.
    """
    if not variation.dimension:
        return ""
    if variation.dimension in ("energy_price", "gas_price"):
        return f"{site.costs.currency}/J"
    return SI_SYMBOLS[variation.dimension]


def table_unit(*, site: Site, variation: Variation) -> tuple[str, float]:
    """The unit that a variation's values have in a table: by the hour and by the kWh, as the other columns are.

    Args: site; variation. Returns: the unit, "" for shares, counts and files; what an SI value is divided by.
    """
    if variation.dimension in ("energy_price", "gas_price"):
        return f"{site.costs.currency}/kWh", 1.0 / JOULES_PER_KWH
    if variation.dimension == "rate":
        return "1/h", 1.0 / SECONDS_PER_HOUR
    return si_unit(site=site, variation=variation), 1.0


def none_text(*, sweep: Sweep) -> str:
    """Say what stands where there is no design.

    Args: sweep. Returns: "not possible", or "none found" where some step's search ended before it found one.
    """
    open_ones = any(step.best is None and step.status == "best-found" for step in sweep.steps)
    return "none found" if open_ones else "not possible"


def chosen_text(*, sweep: Sweep, install: Sequence[Install] | None) -> str:
    """Write what is chosen.

    Args: sweep; install, None where there is no design. Returns: text.
    """
    return none_text(sweep=sweep) if install is None else design_text(install)


def held_texts(sweep: Sweep) -> tuple[str, ...]:
    """Name what is held constant while something else is varied, with its value where it has one.

    Args: sweep. Returns: texts.
    """
    site = sweep.site
    show = show_for(site)
    handler = site.air_handler
    known = {"exhaust airflow": show(site.space.exhaust_airflow, "airflow")}
    if handler is not None:
        known["supply airflow"] = show(handler.supply_airflow, "airflow")
    varied = {one.parameter.name for one in sweep.variations}
    standard = {"outdoor air a person", "outdoor air by floor area"}
    found: dict[str, None] = {}
    for variation in sweep.variations:
        for words in variation.parameter.held:
            if words in standard and len(varied & {"outdoor-air-per-person", "outdoor-air-per-area"}) == 2:
                continue
            rate = ""
            if words in standard:
                dimension = "airflow" if words.endswith("person") else "airflow_per_area"
                rate = show(variation.held_rate, dimension)
            found[f"{words} {known.get(words, rate)}".strip()] = None
    return tuple(found)


def synthetic_text(sweep: Sweep) -> str:
    """Name the weather files swept over that are no record of real hours.

    Args: sweep. Returns: text, "" where no weather file is varied or all are records.
    """
    names = [
        clean(file)
        for one in sweep.variations
        for file, weather in zip(one.files, one.weathers, strict=True)
        if weather.kind == "synthetic"
    ]
    return f"synthetic: {', '.join(names)}" if names else ""


def step_site(sweep: Sweep, step: StepResult) -> Site:
    """The site of a step as far as its marks go: with the step's own weather.

    Args: sweep; step of it. Returns: `Site`.
    """
    found = sweep.site
    for one, value in zip(sweep.variations, step.values, strict=True):
        if one.weathers:
            found = replace(found, weather=one.weathers[round(value)])
    return found


class WriteEnd(Protocol):
    """Writes an end of a span."""

    def __call__(self, place: int, end: Literal["low", "high"], *, unit: bool) -> str:
        """Write the lower or higher end of the span at a place, with its unit or without.

        Args: place; end; unit. Returns: text.
        """


def spans_text(spans: Sequence[Span], values: Values) -> str:
    """Say over which stretch something holds.

    Args: spans; values, which writes their ends. Returns: text, as "up to 17.4 %".
    """

    def write(place: int, end: Literal["low", "high"], *, unit: bool) -> str:
        return values(getattr(spans[place], end), unit=unit)

    return spans_written(spans=spans, write=write, say=str.format)


def spans_written(*, spans: Sequence[Span], write: WriteEnd, say: Callable[..., str]) -> str:
    """Say over which stretch something holds, with ends that are written by another.

    Args: spans; write, an end; say, puts texts into a sentence. Returns: what `say` makes of it.
    """
    parts = []
    for at, one in enumerate(spans):
        if one.from_end and one.to_end:
            parts.append("over the whole range")
        elif one.from_end:
            parts.append(say("up to {}", write(at, "high", unit=True)))
        elif one.to_end:
            parts.append(say("from {} up", write(at, "low", unit=True)))
        else:
            ends = write(at, "low", unit=False), write(at, "high", unit=True)
            parts.append(say("from {} to {}", *ends))
    return say(", ".join(["{}"] * len(parts)) or "nowhere in the range", *parts)


def letters_of(sweep: Sweep) -> dict[tuple[Install, ...], str]:
    """Give every design that is chosen somewhere a letter, in the order in which they first appear.

    Args: sweep. Returns: letter by design; "install nothing" is "-".
    """
    found: dict[tuple[Install, ...], str] = {}
    chosen = [one.install for one in stretches(sweep)] if len(sweep.variations) == 1 else []
    for install in (*chosen, *(step.install for step in sweep.steps)):
        if install is not None and install not in found:
            place = len(found) - (() in found)
            letter = chr(ord("A") + place % 26) + (str(place // 26) if place >= 26 else "")
            found[install] = letter if install else "-"
    return found


@dataclass(frozen=True, slots=True)
class Stretch:
    """Neighbouring values at which the same is chosen."""

    low: float  # SI
    high: float
    install: tuple[Install, ...] | None


def stretches(sweep: Sweep) -> tuple[Stretch, ...]:
    """Which design is chosen over which stretch of the range.

    Args: sweep, of one variation. Returns: stretches, rising; between them lie the switch-over points.
    """
    if not sweep.steps:
        return ()
    points = [(step.values[0], step.install) for step in sweep.steps]
    for switch in sweep.switches:
        points += [(side.value, side.install) for side in (switch.low, switch.high)]
    points = sorted(dict(points).items(), key=lambda point: point[0])
    found = [Stretch(points[0][0], points[0][0], points[0][1])]
    for value, install in points[1:]:
        if install == found[-1].install:
            found[-1] = Stretch(found[-1].low, value, install)
        else:
            found.append(Stretch(value, value, install))
    return tuple(found)
