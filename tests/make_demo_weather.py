"""Make the invented weather of the demo sites: `python tests/make_demo_weather.py` writes scenarios/weather/.

Four places that do not exist. Each year is a seasonal and a daily course plus weather that lasts for days
(first-order autoregressive noise from a fixed, frozen random stream, closed into a ring so that the year is
periodic). Dew point is skewed towards dry air, since the humid side is limited by the sea and the ground.
Irradiance is the clear-sky model of Haurwitz (Journal of Meteorology 2, 1945) times a daily cloud factor.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

FOLDER = Path(__file__).parent.parent / "scenarios" / "weather"
HOURS = 8760
FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Place:
    name: str
    words: str
    stream: int  # which random stream
    elevation: int  # m
    latitude: float  # ° north
    dry_bulb: tuple[float, float]  # °C, mean of the coldest and of the warmest time of year
    dew_point: tuple[float, float]  # °C, likewise
    dry_bulb_spread: tuple[float, float]  # K, standard deviation of the weather, winter and summer
    dew_point_spread: tuple[float, float]
    daily_range: tuple[float, float]  # K on a clear day, winter and summer
    clearness: tuple[float, float]  # mean share of clear-sky irradiance, winter and summer
    late_summer: float = 0.0  # K, extra dew point in August


PLACES = (
    Place("tidewater", "a humid coastal place", 11, 12, 33.0, (8.5, 27.3), (2.8, 22.4), (4.6, 1.5), (6.0, 2.4),
          (10.0, 9.0), (0.68, 0.74)),
    Place("millbrook", "a mild inland place", 12, 230, 40.0, (-0.5, 24.0), (-5.5, 17.6), (5.2, 2.6), (6.0, 3.6),
          (8.5, 12.5), (0.58, 0.77)),
    Place("northfield", "a cool northern place", 13, 280, 45.5, (-9.0, 21.5), (-13.5, 15.2), (6.2, 2.9),
          (6.5, 4.0), (8.0, 12.0), (0.58, 0.73)),
    Place("mesa", "a high dry place", 14, 1650, 36.0, (0.5, 24.5), (-9.0, 5.5), (4.2, 2.2), (4.2, 4.0),
          (13.0, 15.0), (0.78, 0.84), late_summer=5.0),
)  # fmt: skip


def persistent(stream: np.random.RandomState, memory: float) -> FloatArray:
    """Noise of mean 0 and variance 1 whose correlation falls to 1/e in `memory` hours, closed into a ring."""
    kick = stream.standard_normal(HOURS)
    keep = math.exp(-1.0 / memory)
    value, result = 0.0, np.empty(HOURS)
    for _ in range(2):
        for hour in range(HOURS):
            value = keep * value + kick[hour]
            result[hour] = value
    smooth = sum((np.roll(result, shift) for shift in range(-3, 4)), start=np.zeros(HOURS)) / 7.0
    even: FloatArray = (smooth - smooth.mean()) / smooth.std()
    return even


def between(ends: tuple[float, float], season: FloatArray) -> FloatArray:
    return ends[0] + (ends[1] - ends[0]) * season


def clear_sky(latitude: float) -> FloatArray:
    """Clear-sky irradiance at the middle of each hour [W/m²], Haurwitz 1945."""
    hour = np.arange(HOURS)
    day = hour // 24
    declination = np.radians(23.45) * np.sin(2 * np.pi * (284 + day + 1) / 365)
    angle = np.radians(15.0 * (hour % 24 + 0.5 - 12.0))
    here = math.radians(latitude)
    height = np.sin(here) * np.sin(declination) + np.cos(here) * np.cos(declination) * np.cos(angle)
    up = np.maximum(height, 1e-3)
    return np.where(height > 1e-3, 1098.0 * up * np.exp(-0.057 / up), 0.0)


def year(place: Place) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Dry bulb [°C], dew point [°C] and global horizontal irradiance [W/m²], each (8760,)."""
    stream = np.random.RandomState(place.stream)
    hour = np.arange(HOURS)
    day, clock = hour // 24, hour % 24
    season = 0.5 - 0.5 * np.cos(2 * np.pi * (day - 20) / 365)  # 0 on 21 January, 1 on 21 July
    moist_season = 0.5 - 0.5 * np.cos(2 * np.pi * (day - 30) / 365)
    warm, moist, cloud = (persistent(stream, memory) for memory in (45.0, 60.0, 30.0))
    moist = 0.6 * warm + 0.8 * moist
    cloud = 0.5 * moist + math.sqrt(0.75) * cloud
    cloudiness = np.repeat(cloud.reshape(-1, 24).mean(axis=1), 24)
    share = np.clip(between(place.clearness, season) - 0.2 * cloudiness, 0.12, 1.0)

    course = np.cos(2 * np.pi * (clock + 0.5 - 15.5) / 24) + 0.2 * np.cos(
        4 * np.pi * (clock + 0.5 - 14.5) / 24
    )
    swing = 0.5 * between(place.daily_range, season) * np.clip(share / 0.8, 0.25, 1.1)
    dry_bulb = (
        between(place.dry_bulb, season) + between(place.dry_bulb_spread, season) * warm + swing * course / 1.1
    )
    skewed = np.where(moist < 2.0, moist - 0.25 * (moist**2 - 1.0), 1.25)
    august = np.exp(-(((day - 222) / 28.0) ** 2))
    dew_point = (
        between(place.dew_point, moist_season)
        + between(place.dew_point_spread, season) * skewed
        + 0.4 * np.cos(2 * np.pi * (clock - 10.5) / 24)
        + place.late_summer * august
    )
    gap = dry_bulb - dew_point
    dew_point = dry_bulb - (gap + np.sqrt(gap**2 + 2.0)) / 2.0  # near saturation fog and dew hold it down
    return np.round(dry_bulb, 1), np.round(dew_point, 1), np.round(clear_sky(place.latitude) * share)


def text(place: Place) -> str:
    """The file of one place, as written to scenarios/weather/."""
    days = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    dates = [f"{month + 1:02d}-{day + 1:02d}" for month in range(12) for day in range(days[month])]
    dry_bulb, dew_point, irradiance = year(place)
    lines = [
        f"# invented weather of {place.words} that does not exist; made by tests/make_demo_weather.py",
        f"# place: {place.name}",
        "# kind: synthetic",
        f"# elevation: {place.elevation} m",
        "time,dry bulb [degC],dew point [degC],global horizontal [W/m2]",
    ]
    lines += [
        f"{dates[hour // 24]} {hour % 24:02d}:00,{dry_bulb[hour] + 0.0:.1f},{dew_point[hour] + 0.0:.1f},"
        f"{irradiance[hour]:.0f}"
        for hour in range(HOURS)
    ]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    FOLDER.mkdir(parents=True, exist_ok=True)
    for made in PLACES:
        (FOLDER / f"{made.name}.csv").write_text(text(made), encoding="utf-8")
