"""Lines that several screens share: what a design costs, how humid the space gets, what it draws and weighs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from selector.decide.evaluate import Evaluation, LimitResult
from selector.decide.limits import BrokenLimit
from selector.decide.low_airflow import LOW_AIRFLOW
from selector.inputs.site import Assumption, Install, Site
from selector.money.first_cost import unit_of
from selector.money.installation import invented_prices
from selector.physics.design_day import DesignDayResult
from selector.physics.fit import FittedUnit
from selector.report.text import Show, clean, fit, hour_text, plural

LABEL = 12  # columns that a line's label takes
INCH = 0.0254  # m
NAME = 24  # columns that the name of a limit may take
ASK = "ask the maker for the least airflow"

# kinds of quantity that limits are set in, by their SI unit
_LIMITS: Mapping[str, str] = {
    "h": "hours", "m³/s": "airflow", "m3/s": "airflow", "Pa": "pressure", "A": "current", "V": "voltage",
    "dBA": "sound", "kg": "mass", "m": "size", "°C": "temperature", "degC": "temperature",
    "K": "temperature_difference", "fraction": "fraction",
}  # fmt: skip

# defaults that choose how results are shown or how long is searched, not what they are
_PRESENTATION = ("display_units", "currency", "limits.work_years")
_CARBON = (
    "costs.carbon_electricity",
    "costs.carbon_gas",
)  # shown; without a price of carbon no answer rests on them


def standard_condition(show: Show) -> str:
    """The trade's standard condition in words.

    Args: show. Returns: text.
    """
    rounded = " (80 degF, rounded)" if show.units == "IP" else ""
    return f"26.7 degC{rounded}, 60 % RH, sea level"


def labelled(label: str, text: str) -> str:
    """Put a label before a text.

    Args: label, at most eleven letters; text. Returns: line.
    """
    return f"{label:<{LABEL}}{text}"


def standing_defaults(site: Site) -> tuple[Assumption, ...]:
    """Values that the file did not give and that may change the answer.

    Args: site.
    Returns: defaults and profile values, but for those of presentation.
    """
    shown = _PRESENTATION if site.costs.carbon_price > 0.0 else (*_PRESENTATION, *_CARBON)
    return tuple(
        one for one in site.assumptions if one.origin in ("default", "profile") and one.key not in shown
    )


def title(site: Site, width: int, *, estimate: bool | None = None) -> str:
    """The first line of every screen: the site, and what a reader has to know before any figure.

    Args: site; width in columns; estimate, whether a default could change the answer, None where that was not tried.
    Returns: text no wider than that; a long name is cut, the rest never.
    """
    words = "FIRST ESTIMATE" if standing_defaults(site) else "all values given"
    if standing_defaults(site) and estimate is False:
        words = "no default tried changes it"
    if invented_prices(site=site):
        words += "; invented prices, not for a bid"
    return f"{fit(clean(site.name), max(8, width - 2 - len(words)))}: {words}"


def marks(site: Site, *, money: bool = False) -> tuple[str, ...]:
    """What has to be known of numbers that stand by themselves, in a table or a picture.

    Args: site; money, whether they are money.
    Returns: texts without a comma, none where every value is a real one that was given.
    """
    found = []
    if standing_defaults(site):
        found.append("first estimate")
    if site.weather.kind == "synthetic":
        found.append("synthetic weather")
    if money and invented_prices(site=site):
        found.append("invented prices: not for a bid")
    elif site.catalog.invented:
        found.append("invented units: not for a bid")
    return tuple(found)


def rests_on(site: Site) -> str:
    """How many values are defaults, and what kind of year the weather is.

    Args: site. Returns: text.
    """
    defaults = len(standing_defaults(site))
    weather = "SYNTHETIC weather" if site.weather.kind == "synthetic" else f"weather of a {site.weather.kind}"
    if not defaults:
        return f"none; {weather}"
    return f"{defaults} of {len(site.assumptions)} values (check --defaults lists them); {weather}"


def _wet(kind: str, worst: float) -> str:
    """Say so where the air would be more than saturated."""
    return " (water condenses, left out)" if kind == "relative-humidity" and worst > 1.0 else ""


def humidity_text(result: LimitResult, show: Show, *, name: bool) -> str:
    """How one limit fared, in a line.

    Args: result; show; name, whether the limit has to be named. Returns: text.
    """
    who = f"{fit(clean(result.name), NAME)}: " if name else ""
    held = "" if result.hours_above <= result.allowed else ", NOT HELD"
    return (
        f"{who}{result.hours_above:,} h/year above {show.limited(result.kind, result.limit)} "
        f"({result.allowed:,.0f} allowed{held}); worst {show.limited(result.kind, result.worst, short=True)}"
        f"{_wet(result.kind, result.worst)}, {hour_text(result.worst_hour)}"
    )


def existing_text(existing: Evaluation, show: Show, *, name: bool, worst: bool = True) -> str:
    """How the limits fare with the existing system alone, and its yearly cost, in a line.

    Args: existing; show; name, whether there are several limits; worst, whether the worst hours are told. Returns:
        text.
    """
    parts = []
    for result in existing.limits:
        text = f"{fit(clean(result.name), NAME)} " if name else ""
        text += f"{result.hours_above:,} h/year above"
        if worst:
            text += f"; worst {show.limited(result.kind, result.worst, short=True)}"
            text += f"{_wet(result.kind, result.worst)}, {hour_text(result.worst_hour)}"
        parts.append(text)
    return "; ".join([*parts, show(existing.costs.annual_operating, "money_per_year")])


def set_back_text(evaluation: Evaluation) -> str | None:
    """Name hours above that come only from a cold set-back.

    Args: evaluation. Returns: text, by limit where there are several; None where there are none.
    """
    hours = {result.name: result.only_set_back for result in evaluation.limits if result.only_set_back}
    if not hours:
        return None
    if len(evaluation.limits) == 1:
        return f"of these {sum(hours.values()):,} h only because the space is set back cold"
    each = ", ".join(f"{fit(clean(name), NAME)} {count:,} h" for name, count in hours.items())
    return f"only because the space is set back cold: {each}"


def design_day_text(day: DesignDayResult, show: Show) -> str:
    """How a design fares on a dew-point design day, in a line.

    Args: day; show. Returns: text.
    """
    outdoors = f"{day.percent:g} % dew point {show(day.dew_point, 'temperature')}"
    if day.moved:
        outdoors += f", site as in the week of {hour_text(day.hours[0]).rpartition(' ')[0]}"
    if not day.limits:
        return f"{outdoors}: {show(day.relative_humidity, 'fraction')} RH at worst; no limit in force"
    result = max(day.limits, key=lambda one: one.hours_above)
    worst = show.limited(result.kind, result.worst, short=result.kind == "dew-point")
    verdict = "holds" if day.holds else f"above in {result.hours_above} of 168 h"
    return f"{outdoors}: {worst} at worst{_wet(result.kind, result.worst)}; {verdict}"


def cost_text(evaluation: Evaluation, site: Site, show: Show) -> str:
    """First, yearly and life-cycle cost in a line.

    Args: evaluation; site; show. Returns: text.
    """
    costs = evaluation.costs
    return (
        f"{show(costs.first, 'money')} first; {show(costs.annual_operating, 'money_per_year')}; "
        f"{show(costs.life_cycle, 'money')} over {site.costs.study_period} years"
    )


def running_text(evaluation: Evaluation, site: Site, show: Show) -> str:
    """What the units draw, existing ones with them, how loud the new ones are and what they weigh, in a line.

    Args: evaluation; site; show. Returns: text.
    """
    if not evaluation.install:
        return "no new units"
    energy = evaluation.energy_kwh
    words = [f"{show.kwh(energy['units'])}/year"]
    if energy["unit_gas"] > 0.0:
        words.append(f"gas {show.kwh(energy['unit_gas'])}/year")
    if evaluation.specific_removal is not None:
        words.append(show.per_kwh(evaluation.specific_removal))
    if site.existing_units:
        words = [f"{', '.join(words)} with the existing ones; new"]
        words.append(f"{words.pop()} {short_current(evaluation)} A")
    else:
        words.append(f"{short_current(evaluation)} A")
    if evaluation.sound is not None:
        words.append(f"loudest {show(evaluation.sound, 'sound')}")
    words.append(show(evaluation.weight, "mass", 3))
    return "; ".join(words)


def current_text(evaluation: Evaluation, show: Show) -> str:
    """Current of the new units; at several voltages that of each, since those do not add up.

    Args: evaluation; show. Returns: text, as "5.2 A", or as "5.2 A at 120 V, 6.1 A at 208 V".
    """
    if evaluation.current is not None:
        return show(evaluation.current, "current", 3)
    return ", ".join(
        f"{show(current, 'current', 3)} at {show(voltage, 'voltage')}"
        for voltage, current in evaluation.currents
    )


def short_current(evaluation: Evaluation) -> str:
    """Current of the new units in a few letters; at several voltages that of each, the lowest voltage's first.

    Args: evaluation. Returns: text without its unit, as "5.2", or as "5.2+6.1"; "" without new units.
    """
    return "+".join(f"{current:,.1f}" for _, current in evaluation.currents)


def broken_text(broken: BrokenLimit, show: Show) -> str:
    """One limit that is not kept, in a line.

    Args: broken; show. Returns: text.
    """
    if broken.limit.startswith("arrangements:"):
        return clean(broken.limit)
    got, allowed = (limit_value(value, broken.unit, show) for value in (broken.got, broken.allowed))
    return f"{clean(broken.limit)}: {got} ({allowed.partition(' ')[0]} allowed)"


def limit_value(value: float, unit: str, show: Show) -> str:
    """Write the value of a limit in the reader's units.

    Args: value and unit, SI or the currency; show. Returns: text.
    """
    kind = limit_kind(unit, show.currency)
    if kind == "size":
        return f"{value / INCH:.1f} in" if show.units == "IP" else f"{value:.2f} m"
    if kind in ("hours", "count"):
        return f"{value:,.0f} {unit}".strip()
    return show(value, kind)


def limit_kind(unit: str, currency: str) -> str:
    """Find the kind of quantity that a limit is set in.

    >>> limit_kind("m³/s", "USD"), limit_kind("USD", "USD"), limit_kind("", "USD")
    ('airflow', 'money', 'count')

    Args: unit, SI, as a limit has it; currency of the site.
    Returns: a dimension of the inputs, or "hours", "size" (of a unit) or "count".
    """
    return "money" if unit == currency else _LIMITS.get(unit, "count")


def low_airflow_texts(evaluation: Evaluation) -> tuple[str, ...]:
    """Mark units that ran on far less air than their rating rows hold for.

    Args: evaluation. Returns: a text for each such model in its arrangement.
    """
    return tuple(
        f"{clean(one.model)} {one.arrangement}: below {100.0 * LOW_AIRFLOW:.0f} % of its rated airflow in "
        f"{one.hours:,} of {plural(one.running_hours, 'hour')} that it runs, down to {100.0 * one.least:.0f} %; "
        "no rating row says what it removes then"
        for one in evaluation.low_airflow
    )


def hot_air_texts(evaluation: Evaluation, show: Show) -> tuple[str, ...]:
    """Mark refrigerant units whose leaving air was hotter than their circuit is likely to bear.

    Args: evaluation; show. Returns: a text for each such model in its arrangement.
    """
    return tuple(
        f"{clean(one.model)} {one.arrangement}: leaving air above "
        f"{hot_limit_text(one.highest, one.stated, show)}, in {one.hours:,} of "
        f"{plural(one.running_hours, 'hour')} that it runs, up to {show(one.hottest, 'temperature')}; {ASK}"
        for one in evaluation.hot_air
    )


def hot_limit_text(highest: float, stated: bool, show: Show) -> str:
    """Say above what leaving air a unit counts as too hot, and who says so.

    Args: highest [°C]; stated, whether the catalogue says it; show. Returns: text.
    """
    who = "the highest that the catalogue allows it"
    if not stated:
        who = "where many units trip on high pressure (common practice, no source)"
    return f"{show(highest, 'temperature')}, {who}"


def balance_text(evaluation: Evaluation) -> str:
    """How well the balances of the worst hour close.

    Args: evaluation. Returns: text.
    """
    return (
        f"worst hour: moisture {evaluation.balance_moisture:.0e}, heat {evaluation.balance_energy:.0e} of its largest "
        "term"
    )


def unsettled_texts(evaluation: Evaluation) -> tuple[str, ...]:
    """Mark hours whose state was not found to the tolerance, which every figure of the year has in it.

    Args: evaluation. Returns: a text, or none.
    """
    if not evaluation.unsettled_hours:
        return ()
    return (
        f"{plural(evaluation.unsettled_hours, 'hour')} not settled to the tolerance; balance of the "
        f"{balance_text(evaluation)}",
    )


def run_notes(evaluation: Evaluation, show: Show) -> tuple[str, ...]:
    """What the reader should know of how the year ran.

    Args: evaluation; show. Returns: texts.
    """
    return (
        *low_airflow_texts(evaluation),
        *hot_air_texts(evaluation, show),
        *unsettled_texts(evaluation),
    )


def derived_texts(install: Iterable[Install], fitted: Iterable[FittedUnit]) -> tuple[str, ...]:
    """Mark units whose curve is that of their class.

    Args: install; fitted, of the catalogue. Returns: a text for each derived model.
    """
    chosen = {part.model for part in install}
    return tuple(
        f"{clean(one.unit.model)} from {plural(len(one.unit.ratings), 'rating row')}: "
        f"{one.low:.2f} to {one.high:.2f} of the removal shown"
        for one in fitted
        if one.derived and one.unit.model in chosen
    )


def bought_currents(site: Site, install: Iterable[Install]) -> tuple[str, ...]:
    """Electrical supply of each model of a design.

    Args: site; install. Returns: a text for each part.
    """
    words = []
    for part in install:
        unit = unit_of(site=site, model=part.model)
        words.append(
            f"{part.count} x {part.model}: {unit.voltage:g} V, {unit.phases} ph, {unit.current:g} A each"
        )
    return tuple(words)
