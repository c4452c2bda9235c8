"""A synthetic year from twelve monthly normals, for a place without an hourly weather file.

Keys of [weather.normals], each a list of twelve, January first: `dry_bulb` (mean), `daily_range` (mean of each
day's highest less lowest dry bulb), `dew_point` (mean); and for the sun `global_horizontal` (mean over day and
night) or `clearness` (share of the irradiance outside the atmosphere), either with `latitude` in degrees.
"""

from __future__ import annotations

import math

import numpy as np

from selector.inputs import outdoor_states as states
from selector.inputs.calendar import DAYS, DAYS_IN_MONTH, month_of_hour
from selector.inputs.design_days import design_days
from selector.inputs.errors import Faults
from selector.inputs.site import HOURS, FloatArray, Weather

MONTHS = 12
# Share of the daily range by which dry bulb lies below the day's highest, hours 1 to 24: ASHRAE Handbook
# Fundamentals 2017, ch. 14, "fraction of daily temperature range"; values from memory.
BELOW_HIGHEST = (
    *(0.88, 0.92, 0.95, 0.98, 1.00, 0.98, 0.91, 0.74, 0.55, 0.38, 0.23, 0.13),
    *(0.05, 0.00, 0.00, 0.06, 0.14, 0.24, 0.39, 0.50, 0.59, 0.68, 0.75, 0.82),
)
# Weather that lasts for days: waves of these many cycles a year (periods of 11.8, 5.4 and 3.2 days).
CYCLES = (31, 67, 113)
LAG = 0.6  # rad by which dew point trails dry bulb, a correlation of 0.83
# Standard deviation of a day's dew point about its month's mean, and of dry bulb as a share of it; read off the
# three typical years that pvlib ships (Miami, Greensboro, Sand Point).
SPREAD_AT_FREEZING, SPREAD_FALL = 6.0, 0.2  # K, K per K of mean dew point
SPREAD_LIMITS = (1.0, 7.0)  # K
DRY_BULB_SPREAD = 0.75
AGREEMENT = 1e-6  # K and W/m² to which monthly means are met
_ROUNDS = 200


def weather_from_normals(
    *,
    dry_bulb: tuple[float, ...],
    daily_range: tuple[float, ...],
    dew_point: tuple[float, ...],
    elevation: float,
    first_weekday: int,
    latitude: float | None = None,
    global_horizontal: tuple[float, ...] | None = None,
    clearness: tuple[float, ...] | None = None,
    file: str,
    faults: Faults,
) -> Weather | None:
    """Make a year of 8,760 hours whose monthly means are the normals; the same normals give the same year.

    Dry bulb: a smooth course over the year, the daily course of `BELOW_HIGHEST` scaled to the monthly mean daily
    range, and waves of a few days whose size falls as dew point rises. Dew point: a smooth course and the same
    waves, a little later, the same all day but for these, never above dry bulb. Both courses are then shifted
    until the twelve monthly means are met to 1e-6 K, and the ranges likewise where they are not smaller than what
    the waves alone give. Irradiance: that outside the
    atmosphere on a horizontal plane, in solar time, times one factor a month; no cloudy and clear days.
    Pressure: standard atmosphere.

    Arguments:
        dry_bulb, dew_point: monthly means [°C], (12,).
        daily_range: monthly means of the daily range [K], (12,).
        elevation: [m]; first_weekday: of 1 January, Monday = 0.
        latitude: [°], north above 0; needed for the sun.
        global_horizontal: monthly means over day and night [W/m²], (12,); or
        clearness: share of the irradiance outside the atmosphere [0 to 1], (12,).
        file: as the person named it, for faults; faults: takes what is wrong.

    Returns: the year, of kind "synthetic", or None where there are faults.
    """
    before = len(faults)
    _check(dry_bulb, daily_range, dew_point, latitude, global_horizontal, clearness, file, faults)
    if len(faults) > before:
        return None
    month = month_of_hour()
    pressure = np.full(HOURS, states.standard_pressure(elevation))
    hours_dry_bulb, hours_dew_point = _temperatures(
        np.array(dry_bulb, dtype=np.float64),
        np.array(daily_range, dtype=np.float64),
        np.array(dew_point, dtype=np.float64),
    )
    notes = [
        "synthetic year from monthly normals: no real sequence of days, and extremes are an estimate",
        f"pressure of the standard atmosphere at {elevation:.0f} m",
    ]
    irradiance = np.zeros(HOURS)
    if latitude is not None and (global_horizontal is not None or clearness is not None):
        outside = extraterrestrial_horizontal(latitude=latitude)
        mean_outside = np.bincount(month, weights=outside) / np.bincount(month)
        factor = (
            np.array(clearness)
            if global_horizontal is None
            else np.array(global_horizontal) / np.maximum(mean_outside, 1e-9)
        )
        if np.any(factor > 1.0):
            faults.add(
                file=file,
                where="weather.normals.global_horizontal",
                got=f"{factor.max():.2f} times the irradiance outside the atmosphere in month "
                f"{int(factor.argmax()) + 1}",
                allowed="a mean over day and night below that outside the atmosphere",
            )
            return None
        irradiance = outside * factor[month]
    else:
        notes.append("no irradiance among the normals: the sun is left out")
    return Weather(
        source="monthly normals",
        kind="synthetic",
        pressure=pressure,
        dry_bulb=hours_dry_bulb,
        humidity_ratio=states.humidity_ratio_of_dew_point(dew_point=hours_dew_point, pressure=pressure),
        global_horizontal=irradiance,
        elevation=elevation,
        first_weekday=first_weekday,
        hours_filled=0,
        notes=tuple(notes),
        design_days=design_days(
            dry_bulb=hours_dry_bulb,
            dew_point=hours_dew_point,
            pressure=pressure,
            global_horizontal=irradiance,
            first_weekday=first_weekday,
        ),
    )


def extraterrestrial_horizontal(*, latitude: float) -> FloatArray:
    """Return the irradiance outside the atmosphere on a horizontal plane.

    Arguments: latitude [°], north above 0.
    Returns: at the middle of each hour of solar time [W/m²], shape (8760,).
    Source: Spencer 1971, through pvlib.
    """
    from pvlib.irradiance import get_extra_radiation
    from pvlib.solarposition import declination_spencer71, solar_zenith_analytical

    hour = np.arange(HOURS)
    day = hour // 24 + 1
    zenith = solar_zenith_analytical(
        np.radians(latitude), np.radians(15.0 * (hour % 24 + 0.5 - 12.0)), declination_spencer71(day)
    )
    normal = np.asarray(get_extra_radiation(day, method="spencer"), dtype=np.float64)
    return np.asarray(np.maximum(normal * np.cos(zenith), 0.0), dtype=np.float64)


def smooth_course(values: FloatArray) -> FloatArray:
    """Lay a smooth periodic course through the year whose monthly means are the given ones.

    Arguments: values, monthly means in any unit [-], shape (12,).
    Returns: the value in the middle of each hour, shape (8760,): a periodic cubic spline through the middles of
    the months, whose nodes are such that the monthly means of the hours are exact.
    """
    from scipy.interpolate import CubicSpline

    middles = (np.cumsum(DAYS_IN_MONTH) - np.array(DAYS_IN_MONTH) / 2.0) * 24.0
    places = np.append(middles, middles[0] + HOURS)
    unit = np.eye(MONTHS)
    at = np.arange(HOURS) + 0.5
    at = np.where(at < middles[0], at + HOURS, at)
    weights = CubicSpline(places, np.vstack([unit, unit[:1]]), bc_type="periodic")(at)  # (8760, 12)
    month = month_of_hour()
    means = np.vstack([weights[month == m].mean(axis=0) for m in range(MONTHS)])
    return np.asarray(weights @ np.linalg.solve(means, values), dtype=np.float64)


def _temperatures(
    dry_bulb: FloatArray, daily_range: FloatArray, dew_point: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Hourly dry bulb and dew point [°C], shifted until the monthly means are met."""
    month = month_of_hour()
    count = np.bincount(month)
    of_day = month.reshape(DAYS, 24)[:, 0]
    spread = np.clip(SPREAD_AT_FREEZING - SPREAD_FALL * dew_point, *SPREAD_LIMITS)
    course = 0.5 - np.tile(np.array(BELOW_HIGHEST), DAYS)
    course -= course.mean()
    wave = smooth_course(spread)
    dry_wave, moist_wave = DRY_BULB_SPREAD * wave * _waves(0.0), wave * _waves(LAG)
    aim_dry_bulb, aim_range, aim_dew_point = dry_bulb.copy(), daily_range.copy(), dew_point.copy()
    hours_dry_bulb = hours_dew_point = np.zeros(HOURS)
    for _ in range(_ROUNDS):
        hours_dry_bulb = (
            smooth_course(aim_dry_bulb) + np.maximum(smooth_course(aim_range), 0.0) * course + dry_wave
        )
        hours_dew_point = np.minimum(smooth_course(aim_dew_point) + moist_wave, hours_dry_bulb)
        days = hours_dry_bulb.reshape(DAYS, 24)
        ranges = np.bincount(of_day, weights=days.max(axis=1) - days.min(axis=1)) / np.bincount(of_day)
        off = [
            dry_bulb - np.bincount(month, weights=hours_dry_bulb) / count,
            daily_range - ranges,
            dew_point - np.bincount(month, weights=hours_dew_point) / count,
        ]
        if max(float(np.abs(part).max()) for part in (off[0], off[2])) < AGREEMENT:
            break
        aim_dry_bulb += off[0]
        aim_range = np.maximum(aim_range + 0.5 * off[1], 0.0)
        aim_dew_point += off[2]
    return hours_dry_bulb, hours_dew_point


def _waves(lag: float) -> FloatArray:
    """Waves of variance 1 about 0, shape (8760,)."""
    turn = 2.0 * np.pi * (np.arange(HOURS) + 0.5) / HOURS
    total = np.zeros(HOURS)
    for number, cycles in enumerate(CYCLES):
        total += np.sin(cycles * turn + number - lag)
    return total * math.sqrt(2.0 / len(CYCLES))


def _check(
    dry_bulb: tuple[float, ...],
    daily_range: tuple[float, ...],
    dew_point: tuple[float, ...],
    latitude: float | None,
    global_horizontal: tuple[float, ...] | None,
    clearness: tuple[float, ...] | None,
    file: str,
    faults: Faults,
) -> None:
    """Refuse lists that are not of twelve, values out of range, and dew point above dry bulb."""
    lists = (
        ("dry_bulb", dry_bulb, -60.0, 50.0, "°C"),
        ("daily_range", daily_range, 0.0, 35.0, "K"),
        ("dew_point", dew_point, -70.0, 32.0, "°C"),
        ("global_horizontal", global_horizontal, 0.0, 450.0, "W/m²"),
        ("clearness", clearness, 0.0, 1.0, ""),
    )
    for name, values, low, high, unit in lists:
        if values is None:
            continue
        where = f"weather.normals.{name}"
        if len(values) != MONTHS:
            faults.add(
                file=file, where=where, got=f"{len(values)} values", allowed="twelve, January to December"
            )
        for number, value in enumerate(values):
            if not low <= value <= high:
                faults.add(
                    file=file,
                    where=f"{where}[{number}]",
                    got=f"{value:g} {unit}".strip(),
                    allowed=f"{low:g} to {high:g} {unit}".strip(),
                )
    for number, (warm, moist) in enumerate(zip(dry_bulb, dew_point, strict=False)):
        if moist > warm - 0.5:
            faults.add(
                file=file,
                where=f"weather.normals.dew_point[{number}]",
                got=f"{moist:g} °C with a mean dry bulb of {warm:g} °C",
                allowed="a mean at least 0.5 K below the mean dry bulb",
            )
    if latitude is not None and not -90.0 <= latitude <= 90.0:
        faults.add(
            file=file, where="weather.normals.latitude", got=f"{latitude:g}", allowed="-90 to 90 degrees"
        )
    if global_horizontal is not None and clearness is not None:
        faults.add(
            file=file,
            where="weather.normals",
            got="both global_horizontal and clearness",
            allowed="one of them",
        )
    if latitude is None and (global_horizontal is not None or clearness is not None):
        faults.add(
            file=file,
            where="weather.normals.latitude",
            got="nothing",
            allowed="degrees, for the sun's course",
        )
