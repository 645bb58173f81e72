"""Slurry temperature from air temperature by a lag, corrected by a thermometer when there is one.

    (14)  dT/dt = (air + offset - T) / lag

`lag` grows with the tank and with how much of it is buried.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import exp
from typing import Final

# Reference trajectories lag an above-ground 1 m3 tank by 4 d; a buried one follows the soil.
ABOVE_GROUND_LAG_D: Final = 4.0  # assumed
BURIED_LAG_D: Final = 20.0  # assumed
# Biogas Digest II (GTZ/ISAT) p. 39: slurry is 1 to 2 K above the soil around it.
DEFAULT_OFFSET_K: Final = 1.0
MONTHS: Final = 12
# What thermometers show in a tank that is not frozen or on fire.
COLDEST_BELIEVED_C: Final = 0.0
HOTTEST_BELIEVED_C: Final = 60.0


@dataclass(frozen=True)
class TankThermals:
    """How a tank follows the air: lag [d] and steady offset above it [K]."""

    lag_d: float = ABOVE_GROUND_LAG_D
    offset_k: float = DEFAULT_OFFSET_K

    def __post_init__(self) -> None:
        if self.lag_d <= 0.0:
            raise ValueError(f"A lag of {self.lag_d:g} days cannot be; give days above zero.")


def normal_air_c(monthly_normals_c: Sequence[float], on: date) -> float:
    """Air temperature of a date from twelve monthly means [C], straight between mid-months."""
    if len(monthly_normals_c) != MONTHS:
        raise ValueError(f"Give twelve monthly normals, not {len(monthly_normals_c)}.")
    middle = date(on.year, on.month, 15)
    step = 1 if on >= middle else -1
    other_month = (on.month - 1 + step) % MONTHS
    other_year = on.year + (on.month - 1 + step) // MONTHS
    other = date(other_year, other_month + 1, 15)
    share = abs((on - middle).days) / abs((other - middle).days)
    here, there = monthly_normals_c[on.month - 1], monthly_normals_c[other_month]
    return here + share * (there - here)


def slurry_temperatures_c(
    air_c: Sequence[float],
    thermals: TankThermals,
    *,
    start_c: float | None = None,
    thermometer_c: Mapping[int, float] | None = None,
) -> tuple[float, ...]:
    """Slurry temperature at the end of each day of `air_c` [C].

    `thermometer_c` maps a day's index to what a thermometer in the slurry said: it replaces the
    figure of that day, and the lag goes on from it. Readings outside 0 to 60 C are ignored.
    """
    if not air_c:
        return ()
    keep = exp(-1.0 / thermals.lag_d)
    now = air_c[0] + thermals.offset_k if start_c is None else start_c
    out = []
    for day, air in enumerate(air_c):
        now = air + thermals.offset_k + (now - air - thermals.offset_k) * keep
        reading = (thermometer_c or {}).get(day)
        if reading is not None and COLDEST_BELIEVED_C <= reading <= HOTTEST_BELIEVED_C:
            now = reading
        out.append(now)
    return tuple(out)


def days_from(first: date, count: int) -> tuple[date, ...]:
    """So many dates from the first."""
    return tuple(first + timedelta(days=day) for day in range(count))
