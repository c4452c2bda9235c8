"""The dew-point design day: the moist weather that a typical year leaves out, met by the site's own week.

Every day of a week is given the design day's outdoor air and sun, while people, ventilation, set points and limits
follow the week of the site in which the design day stands; so an event that falls on a Sunday meets design weather
as well. Where the site is closed in that week, as a school is in its holidays, the nearest ordinary week stands for it.
The week is repeated until it is periodic, and its last turn is read.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from selector.inputs.site import HOURS, DesignDay, FloatArray, Install, Site, Weather
from selector.physics.arrangements import IntArray
from selector.physics.gains import hourly_gains, wet_table
from selector.physics.hourly import HourlyYear, simulate_hours
from selector.physics.moist_air import dew_point, volume
from selector.physics.prepare import TOLERANCE, Prepared

WEEK = 168
_FIRST = (
    HOURS - WEEK - 24
)  # of the last whole week in the row of repeated weeks; the year ends with a single day


@dataclass(frozen=True, slots=True)
class DesignDayLimit:
    """How one humidity limit fares in the design week."""

    name: str
    kind: str
    limit: float  # fraction, or °C
    worst: float
    worst_hour: int  # of the year: the hour of the site's week that it stands for
    hours_above: int  # of the week's 168


@dataclass(frozen=True, slots=True, eq=False)
class DesignDayResult:
    """A design in the design week; arrays have shape (168,), hour i is hour `hours[i]` of the year."""

    percent: float
    dew_point: float  # °C
    limits: tuple[DesignDayLimit, ...]  # those in force in this week
    worst_hour: int  # of the year, of the limit with the least left
    relative_humidity: float  # then
    space_dew_point: float  # °C then
    dry_bulb: float  # °C then
    units_running: float  # unit-hours then
    holds: bool
    hours: tuple[int, ...]  # of the year
    moved: bool  # from the week of the design day, in which the site is closed
    place: slice  # where the week stands in `year`
    prepared: Prepared  # the tables of the repeated week
    year: HourlyYear


@lru_cache(maxsize=8)  # a result and its page ask for the same few designs
def simulate_design_day(
    *, prepared: Prepared, install: tuple[Install, ...], day: DesignDay
) -> DesignDayResult:
    """Follow a design through the week of a design day.

    Args: prepared; install, all units there are, in lead order; day, one of the weather's design days.
    Returns: `DesignDayResult`.
    Source: design dew point with mean coincident dry bulb, ASHRAE Handbook Fundamentals 2017, ch. 14; repeating the
        day until it is periodic is the usual way of a load calculation.
    """
    hours = week_of(day=day, ventilation=prepared.hours["ventilation"])
    repeated = repeat_week(prepared=prepared, day=day, hours=hours)
    year = simulate_hours(prepared=repeated, install=install)
    place = slice(_FIRST, _FIRST + WEEK)
    moist = year.relative_humidity[place]
    dew = np.asarray(dew_point(year.mean_t[place], np.maximum(year.mean_w[place], 1e-6), day.pressure))
    limits = _limits(prepared, hours, moist, dew)
    worst = max(limits, key=_excess, default=None)
    at = hours.index(worst.worst_hour) if worst is not None else int(np.argmax(moist))
    return DesignDayResult(
        percent=day.percent,
        dew_point=day.dew_point,
        limits=limits,
        worst_hour=hours[at],
        relative_humidity=float(moist[at]),
        space_dew_point=float(dew[at]),
        dry_bulb=float(year.mean_t[place][at]),
        units_running=float(sum(part.running[place][at] for part in year.groups)),
        holds=all(limit.hours_above == 0 for limit in limits),
        hours=hours,
        moved=day.hour_of_year not in hours,
        place=place,
        prepared=repeated,
        year=year,
    )


def week_of(*, day: DesignDay, ventilation: FloatArray) -> tuple[int, ...]:
    """Hours of the site's week that meets a design day's weather.

    Args: day; ventilation (8760,), its schedule, 0 to 1.
    Returns: 168 hours of the year, three days before the design day to three days after it; where nothing is ventilated
        in them, of the nearest week before or after with as much ventilation as most weeks that have any.
    """
    first = (day.hour_of_year // 24 - 3) * 24

    def week(shift: int) -> IntArray:
        return (first + shift * WEEK + np.arange(WEEK)) % HOURS

    shifts = sorted(range(-26, 26), key=lambda shift: (abs(shift), -shift))
    open_hours = {shift: int((ventilation[week(shift)] > 0.0).sum()) for shift in shifts}
    chosen = 0
    if open_hours[0] == 0 and any(open_hours.values()):
        usual = float(np.median([count for count in open_hours.values() if count > 0]))
        chosen = next(shift for shift in shifts if open_hours[shift] >= usual)
    return tuple(int(hour) for hour in week(chosen))


@lru_cache(maxsize=4)  # so that all designs in it start from one state of the existing system
def repeat_week(*, prepared: Prepared, day: DesignDay, hours: tuple[int, ...]) -> Prepared:
    """Tables in which one week, under the weather of a design day, fills the whole year.

    Args: prepared, of the site; day; hours (168,) of the year.
    Returns: `Prepared` that starts with the week.
    """
    take = np.resize(np.array(hours), HOURS)
    site = _repeated_site(prepared.site, day, take)
    gains = hourly_gains(site=site)
    weather = site.weather
    table = prepared.hours[take]
    table["hour"] = np.arange(HOURS)
    table["pressure"] = weather.pressure
    table["outdoor_t"] = weather.dry_bulb
    table["outdoor_w"] = weather.humidity_ratio
    outdoor_volume = np.asarray(volume(weather.dry_bulb, weather.humidity_ratio, weather.pressure))
    table["infiltration"] = prepared.plant["air_volume_rate"] / outdoor_volume
    table["sensible"] = gains.sensible + gains.sensible_from_air
    table["vapour"] = gains.vapour
    return replace(
        prepared,
        site=site,
        hours=table,
        wet=wet_table(gains=gains),
        limit_rh=np.ascontiguousarray(prepared.limit_rh[:, take]),
        limit_w=np.ascontiguousarray(prepared.limit_w[:, take]),
        gains=gains,
        first_hour=0,
    )


def _repeated_site(site: Site, day: DesignDay, take: FloatArray) -> Site:
    """The site with its schedules repeated and the weather of the design day."""

    def daily(values: FloatArray) -> FloatArray:
        return np.resize(values, HOURS)

    weather: Weather = replace(
        site.weather,
        pressure=np.full(HOURS, day.pressure),
        dry_bulb=daily(day.dry_bulb),
        humidity_ratio=daily(day.humidity_ratio),
        global_horizontal=daily(day.global_horizontal),
    )
    return replace(
        site,
        weather=weather,
        gains=tuple(replace(gain, schedule=gain.schedule[take]) for gain in site.gains),
    )


def _limits(
    prepared: Prepared, hours: tuple[int, ...], moist: FloatArray, dew: FloatArray
) -> tuple[DesignDayLimit, ...]:
    """Judge the limits that are in force in the week."""
    take = np.array(hours)
    found: list[DesignDayLimit] = []
    for target in prepared.site.targets:
        in_force = target.hours[take]
        if not in_force.any():
            continue
        relative = target.kind == "relative-humidity"
        values = moist if relative else dew
        tolerance = TOLERANCE if relative else 100.0 * TOLERANCE
        at = int(np.argmax(np.where(in_force, values, -np.inf)))
        above = in_force & (values > target.limit + tolerance)
        found.append(
            DesignDayLimit(
                target.name, target.kind, target.limit, float(values[at]), hours[at], int(above.sum())
            )
        )
    return tuple(found)


def _excess(limit: DesignDayLimit) -> float:
    """How far above its limit, a kelvin of dew point counted as four points of relative humidity."""
    return (limit.worst - limit.limit) * (1.0 if limit.kind == "relative-humidity" else 0.04)
