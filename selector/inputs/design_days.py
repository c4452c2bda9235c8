"""Dew-point design days: what a typical year leaves out, as a day of 24 hours."""

from __future__ import annotations

import math

import numpy as np

from selector.inputs.calendar import DAYS_IN_MONTH, FIRST_DAY_OF_MONTH, month_of_hour
from selector.inputs.outdoor_states import humidity_ratio_of_dew_point
from selector.inputs.site import HOURS, DesignDay, FloatArray

PERCENTS = (0.4, 1.0)  # of the hours of the year, ASHRAE Handbook Fundamentals 2017, ch. 14
_NEAR = 0.5  # K


def exceeded_dew_point(*, dew_point: FloatArray, percent: float) -> float:
    """Return the dew point that is exceeded in a share of the hours of the year.

    It is the lowest recorded value that no more than `percent` of the hours lie above.

    Arguments: dew_point [°C], shape (8760,); percent of the hours [%].
    Returns: dew point [°C].
    Source: annual cumulative frequency of occurrence as in ASHRAE Handbook Fundamentals 2017, ch. 14; there
    it is taken over many years, here over the one year of the file.
    """
    hours_above = math.floor(percent / 100.0 * dew_point.size + 1e-9)
    return float(np.sort(dew_point)[dew_point.size - 1 - hours_above])


def design_day(
    *,
    percent: float,
    dry_bulb: FloatArray,
    dew_point: FloatArray,
    pressure: FloatArray,
    global_horizontal: FloatArray,
    first_weekday: int,
) -> DesignDay:
    """Build the day around the dew point that is exceeded in `percent` of the hours.

    Dew point: that value all day. Dry bulb: its mean over the hours whose dew point is within 0.5 K of the
    value (the mean coincident dry bulb), with the mean daily course of the days in which these hours lie,
    placed so that the mean at those hours of the clock is kept; nowhere below the dew point. Irradiance: mean
    of these days, hour by hour. Pressure: mean of these hours. The day stands in the month in which most of
    these hours lie, on the weekday (Monday to Friday) that has most of them.

    Arguments: dry_bulb, dew_point [°C], pressure [Pa], global_horizontal [W/m²], each (8760,);
    first_weekday, of 1 January, Monday = 0.
    Returns: the design day.
    Source: design dew point with mean coincident dry bulb as defined in ASHRAE Handbook Fundamentals 2017,
    ch. 14; the course over the day is our own, from the data.
    """
    value = exceeded_dew_point(dew_point=dew_point, percent=percent)
    near = np.abs(dew_point - value) <= _NEAR + 1e-9
    of_day = near.reshape(-1, 24)
    days = np.flatnonzero(of_day.any(axis=1))
    course = dry_bulb.reshape(-1, 24)[days].mean(axis=0)
    weight = of_day.sum(axis=0) / of_day.sum()
    coincident = float(dry_bulb[near].mean())
    day_dry_bulb = np.maximum(course + coincident - float(weight @ course), value)
    mean_pressure = float(pressure[near].mean())

    month = int(np.bincount(month_of_hour()[near], minlength=12).argmax())
    candidates = FIRST_DAY_OF_MONTH[month] + np.arange(DAYS_IN_MONTH[month])
    candidates = candidates[(first_weekday + candidates) % 7 < 5]
    day = int(candidates[of_day[candidates].sum(axis=1).argmax()])
    return DesignDay(
        percent=percent,
        dew_point=value,
        hour_of_year=(day * 24 + 12) % HOURS,
        dry_bulb=day_dry_bulb,
        humidity_ratio=humidity_ratio_of_dew_point(
            dew_point=np.full(24, value), pressure=np.full(24, mean_pressure)
        ),
        global_horizontal=global_horizontal.reshape(-1, 24)[days].mean(axis=0),
        pressure=mean_pressure,
    )


def design_days(
    *,
    dry_bulb: FloatArray,
    dew_point: FloatArray,
    pressure: FloatArray,
    global_horizontal: FloatArray,
    first_weekday: int,
) -> tuple[DesignDay, ...]:
    """Return the 0.4 % and the 1 % dew-point design day; arguments as of `design_day`."""
    return tuple(
        design_day(
            percent=percent,
            dry_bulb=dry_bulb,
            dew_point=dew_point,
            pressure=pressure,
            global_horizontal=global_horizontal,
            first_weekday=first_weekday,
        )
        for percent in PERCENTS
    )
