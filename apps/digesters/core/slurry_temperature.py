"""Slurry temperature of an unheated tank, from monthly normals of the air."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from types import MappingProxyType

from apps.kernel.figures import FigureError, finite, whole

LAG_DAYS: Mapping[str, float] = MappingProxyType(
    {"floating_drum": 10.0, "bag": 5.0, "stirred_tank": 10.0, "fixed_dome": 30.0}
)
"""Days the slurry lags behind the air, by kind of digester. Assumed; a dome lies in the ground.
The 1-2 K by which GTZ (Biogas Digest II p. 39) finds slurry above soil are left out: cautious."""

YEAR_DAYS = 365.2425
MEMORY_LAGS = 6.0
"""The air of more than six lags ago weighs under 0.3 % and is left out."""


@dataclass(frozen=True)
class SlurryReading:
    """A measured slurry temperature."""

    on: date
    celsius: float

    def __post_init__(self) -> None:
        finite(self.celsius, "The slurry temperature", "°C", low=-5, high=75)


def expect_slurry_c(
    monthly_air_c: Sequence[float],
    on: date,
    lag_days: float,
    reading: SlurryReading | None = None,
) -> float:
    """Slurry temperature [°C] expected on ``on``.

    The air's yearly course (straight lines between mid-months) is followed with a first-order
    lag. A reading shifts it; the shift fades with the same lag.
    """
    _check_normals(monthly_air_c)
    finite(lag_days, "The lag", "days", low=0.5, high=180)
    expected = _lagged_air_c(monthly_air_c, on, lag_days)
    if reading is None or reading.on > on:
        return expected
    shift = reading.celsius - _lagged_air_c(monthly_air_c, reading.on, lag_days)
    return expected + shift * math.exp(-(on - reading.on).days / lag_days)


def coldest_expected_c(
    monthly_air_c: Sequence[float],
    on: date,
    lag_days: float,
    reading: SlurryReading | None = None,
    days: int = 7,
) -> float:
    """Coldest slurry [°C] expected from ``on`` over the next ``days``."""
    whole(days, "The outlook", "days", low=1, high=60)
    return min(
        expect_slurry_c(monthly_air_c, on + timedelta(days=ahead), lag_days, reading)
        for ahead in range(days)
    )


def _lagged_air_c(monthly_air_c: Sequence[float], on: date, lag_days: float) -> float:
    return _lagged(tuple(monthly_air_c), on, lag_days)


@lru_cache(maxsize=8192)
def _lagged(monthly_air_c: tuple[float, ...], on: date, lag_days: float) -> float:
    # Kept: a group's digesters share their air, and each asks for the same days every night.
    total = weights = 0.0
    for back in range(math.ceil(MEMORY_LAGS * lag_days) + 1):
        weight = math.exp(-back / lag_days)
        total += weight * _air_c(monthly_air_c, on - timedelta(days=back))
        weights += weight
    return total / weights


def _air_c(monthly_air_c: Sequence[float], on: date) -> float:
    months = (on.timetuple().tm_yday - 0.5) / YEAR_DAYS * 12 - 0.5
    before = math.floor(months)
    share = months - before
    return (1 - share) * monthly_air_c[before % 12] + share * monthly_air_c[(before + 1) % 12]


def _check_normals(monthly_air_c: Sequence[float]) -> None:
    if len(monthly_air_c) != 12:
        raise FigureError(
            f"Air normals are given for {len(monthly_air_c)} months; give twelve, January first."
        )
    for month, celsius in enumerate(monthly_air_c, start=1):
        finite(celsius, f"The air normal of month {month}", "°C", low=-60, high=50)
