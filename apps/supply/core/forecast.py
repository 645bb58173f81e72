"""What a stream will have on a day: the plain mean of its weekday, with its spread."""

import statistics
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import Enum

from apps.kernel.figures import FigureError, finite, whole

WINDOW_WEEKS = 8
"""Weeks of weights that count: long enough for a mean, short enough for the season. Assumed."""

LEAST_WEIGHTS = 3
"""Weights of a weekday from which its mean is believed. Assumed."""

LOW, HIGH = 0.20, 0.80
"""Quantiles: hunger is planned against the low one, bins against the high one."""

_Z = statistics.NormalDist().inv_cdf(HIGH)


class Basis(Enum):
    """What a forecast rests on."""

    OFFER = "offer"
    ABSENT = "absent"
    HISTORY = "history"
    DECLARED = "declared"


@dataclass(frozen=True)
class Weight:
    """What a stream really had on one day, in whole grams."""

    on: date
    amount_g: int

    def __post_init__(self) -> None:
        whole(self.amount_g, f"The weight of {self.on}", "grams")


@dataclass(frozen=True)
class DeclaredPattern:
    """What the source says it has: grams by weekday, Monday first, and the spread around them.

    ``spread_share``: standard deviation over mean, e.g. 0.3.
    """

    by_weekday_g: tuple[int, int, int, int, int, int, int]
    spread_share: float = 0.3

    def __post_init__(self) -> None:
        if len(self.by_weekday_g) != 7:
            raise FigureError(
                f"The weekday pattern has {len(self.by_weekday_g)} amounts; give seven, Monday "
                "first."
            )
        for amount_g in self.by_weekday_g:
            whole(amount_g, "An amount of the weekday pattern", "grams")
        finite(self.spread_share, "The spread", "of the mean", high=2.0)


@dataclass(frozen=True)
class Forecast:
    """One day's forecast in whole grams. Of ten such days about two have less than ``p20_g``
    and two more than ``p80_g``; ``weights_used`` says how many weights of that weekday it
    rests on."""

    on: date
    p20_g: int
    p50_g: int
    p80_g: int
    basis: Basis
    weights_used: int = 0


def forecast_day(
    on: date,
    declared: DeclaredPattern,
    history: Sequence[Weight] = (),
    away_on: Collection[date] = (),
    offer_g: int | None = None,
) -> Forecast:
    """Forecast one stream for ``on``.

    An offer replaces the forecast. Nothing is expected on a day in ``away_on`` (absent or
    closed), and weights of such days are left out. With at least three weights of that weekday
    in the eight weeks before, their mean counts, otherwise the declared pattern. The spread is
    that of all weights about their weekday's mean, taken as normal.
    """
    if offer_g is not None:
        whole(offer_g, "The offer", "grams")
        return Forecast(on, offer_g, offer_g, offer_g, Basis.OFFER)
    if on in away_on:
        return Forecast(on, 0, 0, 0, Basis.ABSENT)
    by_weekday = _by_weekday(on, history, away_on)
    same = by_weekday[on.weekday()]
    if len(same) < LEAST_WEIGHTS:
        mean_g = float(declared.by_weekday_g[on.weekday()])
        return _spread(on, mean_g, declared.spread_share, Basis.DECLARED, len(same))
    spread_share = _spread_share(by_weekday)
    if spread_share is None:
        spread_share = declared.spread_share
    return _spread(on, statistics.fmean(same), spread_share, Basis.HISTORY, len(same))


def _by_weekday(on: date, history: Sequence[Weight], away_on: Collection[date]) -> list[list[int]]:
    start = on - timedelta(weeks=WINDOW_WEEKS)
    seen: set[date] = set()
    by_weekday: list[list[int]] = [[] for _ in range(7)]
    for weight in history:
        if weight.on in seen:
            raise FigureError(f"{weight.on} is weighed twice; add up that day's weights first.")
        seen.add(weight.on)
        if start <= weight.on < on and weight.on not in away_on:
            by_weekday[weight.on.weekday()].append(weight.amount_g)
    return by_weekday


def _spread_share(by_weekday: Sequence[Sequence[int]]) -> float | None:
    """Pooled standard deviation of weight over weekday mean; None where nothing tells it."""
    squares, freedom = 0.0, 0
    for weights in by_weekday:
        mean_g = statistics.fmean(weights) if weights else 0.0
        if len(weights) < 2 or mean_g == 0:
            continue
        squares += sum((weight / mean_g - 1) ** 2 for weight in weights)
        freedom += len(weights) - 1
    return (squares / freedom) ** 0.5 if freedom else None


def _spread(
    on: date, mean_g: float, spread_share: float, basis: Basis, weights_used: int
) -> Forecast:
    deviation_g = _Z * spread_share * mean_g
    return Forecast(
        on=on,
        p20_g=max(0, round(mean_g - deviation_g)),
        p50_g=round(mean_g),
        p80_g=round(mean_g + deviation_g),
        basis=basis,
        weights_used=weights_used,
    )
