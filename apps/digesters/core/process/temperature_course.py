"""Slurry temperature day by day: from the air by a lag, shifted by the last reading."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from apps.digesters.core.slurry_temperature import AirDay, SlurryReading, expect_slurry_c


def slurry_course_c(
    monthly_air_c: Sequence[float],
    first: date,
    days: int,
    lag_days: float,
    readings: Sequence[SlurryReading] = (),
    air: Sequence[AirDay] = (),
) -> tuple[float, ...]:
    """Slurry temperature [C] of so many days from `first`.

    Each day uses what thermometers in slurry and air had shown by then, so a run over past days is
    the same whenever it is repeated.
    """
    by_date = sorted(readings, key=lambda reading: reading.on)
    out = []
    for ahead in range(days):
        on = first + timedelta(days=ahead)
        known = [reading for reading in by_date if reading.on <= on]
        latest = known[-1] if known else None
        out.append(expect_slurry_c(monthly_air_c, on, lag_days, latest, air))
    return tuple(out)
