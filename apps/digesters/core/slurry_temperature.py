"""Slurry temperature of an unheated tank, from monthly normals of the air and, where somebody
reads a thermometer, from how far the air really lies off them."""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
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

AIR_MEMORY_DAYS = 3.0
"""Unusual weather fades back to the normals in about so many days when nobody reads on. Assumed."""

AIR_DEPARTURE_K = 2.5
"""Standard deviation of a day's mean air about its monthly normal. Assumed for mild climates."""

DOUBT = 0.84
"""Standard deviations by which the coldest slurry is taken colder than expected, so that four
weeks of five are not colder still. Chosen by us: a limit rests on it."""

READINGS_OF_A_DAY = 2
"""The air of a day is the middle of its lowest and highest reading, as weather services reckon
daily means (WMO-No. 8, from memory)."""


@dataclass(frozen=True)
class AirDay:
    """How much warmer than its normal the air of a day was [K]."""

    on: date
    above_normal_k: float


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
    air: Sequence[AirDay] = (),
) -> float:
    """Slurry temperature [°C] expected on ``on``.

    The air's yearly course (straight lines between mid-months), moved by what a thermometer read
    of it (``air``, oldest first), is followed with a first-order lag. A reading of the slurry
    shifts it; the shift fades with the same lag.
    """
    _check_normals(monthly_air_c)
    finite(lag_days, "The lag", "days", low=0.5, high=180)
    expected = _lagged_air_c(monthly_air_c, on, lag_days) + _lagged_shift_k(air, on, lag_days)
    if reading is None or reading.on > on:
        return expected
    shift = reading.celsius - (
        _lagged_air_c(monthly_air_c, reading.on, lag_days)
        + _lagged_shift_k(air, reading.on, lag_days)
    )
    return expected + shift * math.exp(-(on - reading.on).days / lag_days)


def air_days(
    monthly_air_c: Sequence[float], readings: Iterable[tuple[date, float]]
) -> tuple[AirDay, ...]:
    """Days whose air is known from thermometer readings [°C], oldest first.

    One reading tells nothing of a day's mean when it is warm, most are made by day; when it is
    colder than the normal, the day was at least that cold at an hour, and that counts.
    """
    _check_normals(monthly_air_c)
    by_day: dict[date, list[float]] = defaultdict(list)
    for on, celsius in readings:
        finite(celsius, "The air temperature", "°C", low=-60, high=60)
        by_day[on].append(celsius)
    known = []
    for on, read in sorted(by_day.items()):
        above_k = (min(read) + max(read)) / 2 - _air_c(monthly_air_c, on)
        if len(read) >= READINGS_OF_A_DAY or above_k < 0:
            known.append(AirDay(on, above_k))
    return tuple(known)


def coldest_expected_c(
    monthly_air_c: Sequence[float],
    on: date,
    lag_days: float,
    reading: SlurryReading | None = None,
    days: int = 7,
    air: Sequence[AirDay] = (),
) -> float:
    """Coldest slurry [°C] to reckon with from ``on`` over the next ``days``: on each day what is
    expected, less ``DOUBT`` of what weather that nobody has read yet may do to it."""
    whole(days, "The outlook", "days", low=1, high=60)
    doubts_k = _doubts_k(on, days, lag_days, reading, air)
    return min(
        expect_slurry_c(monthly_air_c, on + timedelta(days=ahead), lag_days, reading, air)
        - DOUBT * doubts_k[ahead]
        for ahead in range(days)
    )


def _doubts_k(
    on: date, days: int, lag_days: float, reading: SlurryReading | None, air: Sequence[AirDay]
) -> list[float]:
    """Standard deviations [K] of the slurry about its expectation on ``days`` days from ``on``.

    Unread air departs from its normal as a first-order autoregression with the memory of
    ``AIR_MEMORY_DAYS``; the slurry follows with its lag. At a slurry reading it is known, the
    air of a read day is; before the memory of either nothing is.
    """
    memory = math.ceil(MEMORY_LAGS * lag_days)
    since = on - timedelta(days=memory)
    if reading is not None and since <= reading.on <= on:
        since = reading.on
    read = {known.on.toordinal() for known in air}
    keeps, fades = math.exp(-1 / lag_days), math.exp(-1 / AIR_MEMORY_DAYS)
    air_var, both, slurry_var = AIR_DEPARTURE_K**2, 0.0, 0.0
    doubts = [] if since < on else [0.0]
    for day in range(since.toordinal() + 1, on.toordinal() + days):
        if day in read:
            air_var = both = 0.0
        else:
            air_var = fades**2 * air_var + (1 - fades**2) * AIR_DEPARTURE_K**2
            both *= fades
        slurry_var = (
            keeps**2 * slurry_var + 2 * keeps * (1 - keeps) * both + (1 - keeps) ** 2 * air_var
        )
        both = keeps * both + (1 - keeps) * air_var
        if day >= on.toordinal():
            doubts.append(math.sqrt(slurry_var))
    return doubts


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


def _lagged_shift_k(air: Sequence[AirDay], on: date, lag_days: float) -> float:
    """What unusual air has moved the slurry by. Between known days the last one fades; days
    before the first and after `on` move nothing. Each stretch between two known days is the
    first-order lag's own answer to it, so the cost is one step a known day."""
    shift_k, air_k = 0.0, 0.0
    since: date | None = None
    for known in air:
        if known.on > on:
            break
        if since is not None:
            shift_k = _after_k(shift_k, air_k, (known.on - since).days, lag_days)
        since, air_k = known.on, known.above_normal_k
    if since is None:
        return 0.0
    return _after_k(shift_k, air_k, (on - since).days + 1, lag_days)


def _after_k(shift_k: float, air_k: float, days: int, lag_days: float) -> float:
    """Shift of the slurry after `days` of air that begins `air_k` above its normal and fades."""
    keeps, fades = math.exp(-1 / lag_days), math.exp(-1 / AIR_MEMORY_DAYS)
    # Sum over the days of (1 - keeps) keeps^(days - 1 - k) air_k fades^k: a geometric series.
    came = (
        (keeps**days - fades**days) / (keeps - fades)
        if keeps != fades
        else days * (keeps ** (days - 1))
    )
    return keeps**days * shift_k + (1 - keeps) * air_k * came


def _air_c(monthly_air_c: Sequence[float], on: date) -> float:
    months = (on.timetuple().tm_yday - 0.5) / YEAR_DAYS * 12 - 0.5
    before = math.floor(months)
    share = months - before
    return (1 - share) * monthly_air_c[before % 12] + share * monthly_air_c[(before + 1) % 12]


def _check_normals(monthly_air_c: Sequence[float]) -> None:
    _check(tuple(monthly_air_c))


@lru_cache(maxsize=256)
def _check(monthly_air_c: tuple[float, ...]) -> None:
    if len(monthly_air_c) != 12:
        raise FigureError(
            f"Air normals are given for {len(monthly_air_c)} months; give twelve, January first."
        )
    for month, celsius in enumerate(monthly_air_c, start=1):
        finite(celsius, f"The air normal of month {month}", "°C", low=-60, high=50)
