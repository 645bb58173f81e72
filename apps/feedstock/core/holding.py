"""How long waste may wait before it must be fed."""

from collections.abc import Sequence

from apps.kernel.figures import FigureError, finite

WET_HOLDING_DAYS: tuple[tuple[float, int], ...] = ((30.0, 0), (25.0, 1), (15.0, 2))
"""Above so many °C of air, so many days after it arose; 0 is the same day. Common practice, no
source: same day above 30 °C, two days at 20-25 °C, three to four below 15 °C, in a closed,
drained bin; the gaps are closed to the shorter side."""

WET_COLD_DAYS = 3
DUNG_DAYS = 4
"""Dung has begun to digest already. Assumed."""
DRY_DAYS = 14
"""Dry and oily goods draw no flies; two weeks is what a home has room for. Assumed."""

UNKNOWN_AIR_C = 28.0
"""Where the place's temperatures are not known: warm, so that nothing is kept too long. Assumed."""


def holding_days(holding: str, air_c: float) -> int:
    """Days after the day it arose by which waste must be fed; see ``materials.HOLDINGS``."""
    finite(air_c, "The air temperature", "°C", low=-60, high=60)
    if holding == "dry":
        return DRY_DAYS
    if holding == "dung":
        return DUNG_DAYS
    if holding != "wet":
        raise FigureError(f"Holding {holding!r} is unknown; use wet, dung or dry.")
    return next((days for above, days in WET_HOLDING_DAYS if air_c > above), WET_COLD_DAYS)


def month_air_c(air_normals_c: Sequence[float], month: int) -> float:
    """The mean air temperature of a month, 1 to 12."""
    return float(air_normals_c[month - 1]) if air_normals_c else UNKNOWN_AIR_C
