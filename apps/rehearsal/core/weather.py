"""Rain, cold and warm days of a rehearsed year."""

from __future__ import annotations

from datetime import date
from math import cos, pi

import numpy as np
from numpy.typing import NDArray

WET_AFTER_WET, WET_AFTER_DRY = 0.55, 0.2
"""Chances of a day with rain (Gabriel and Neumann's two-state chain, 1962; figures assumed)."""
DAY_TO_DAY = 0.8
"""Part of yesterday's departure from the season's temperature that is left today. Assumed."""
DEPARTURE_K = 2.0
"""Standard deviation of that departure. Assumed."""


def draw_rain(days: int, draw: np.random.Generator) -> NDArray[np.bool_]:
    """Whether it rains, by day."""
    chances = draw.random(days)
    wet = np.zeros(days, dtype=bool)
    for day in range(days):
        before = bool(wet[day - 1]) if day else False
        wet[day] = chances[day] < (WET_AFTER_WET if before else WET_AFTER_DRY)
    return wet


def draw_air_c(
    normals_c: tuple[float, ...], first_on: date, days: int, draw: np.random.Generator
) -> NDArray[np.float64]:
    """Mean air temperature [°C] by day: the twelve monthly normals, joined by straight lines
    between mid-months, and a departure that lasts some days."""
    months = np.arange(-1, 14)
    centres = (months + 0.5) * 365.25 / 12
    values = np.array([normals_c[month % 12] for month in months])
    start = first_on.timetuple().tm_yday - 1
    season = np.interp((start + np.arange(days)) % 365.25, centres, values)
    departure = np.zeros(days)
    shocks = draw.normal(0, DEPARTURE_K * (1 - DAY_TO_DAY**2) ** 0.5, days)
    for day in range(1, days):
        departure[day] = DAY_TO_DAY * departure[day - 1] + shocks[day]
    return np.asarray(season + departure, dtype=float)


def season_wave(first_on: date, days: int, peak_day: int) -> NDArray[np.float64]:
    """A wave of one year between -1 and 1 with its top on ``peak_day`` of the year."""
    start = first_on.timetuple().tm_yday - 1
    return np.array([cos(2 * pi * (start + day - peak_day) / 365.25) for day in range(days)])
