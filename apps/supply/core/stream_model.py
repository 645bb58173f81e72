"""A stream learnt from its own past: level with trend, weekday pattern, spread.

Exponential smoothing with a multiplicative weekday pattern (Holt 1957 and Winters 1960, as in
Hyndman and Athanasopoulos, Forecasting: Principles and Practice, ch. 8; from memory), written
for weights with gaps: a day without a weight moves nothing. Level and pattern start from what
the source declared, which counts as some weights of its own, so that one day of history already
helps and two do not mislead. Days with nothing at all say how often it fails, not how much it
has when it has something (the split of Croston 1972, Operational Research Quarterly 23, 289-303;
from memory). Quantiles are those of its own past misses.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from apps.supply.core.change import LEAST_AFTER, find_change

Floats = NDArray[np.float64]

PACES = ((0.02, 0.0), (0.04, 0.0), (0.08, 0.0), (0.04, 0.002), (0.08, 0.004), (0.12, 0.008))
"""Pairs of smoothing of level and of trend; their mean counts, each by how little it missed."""
DAMPING = 0.9
"""Of the trend, each day ahead."""
DECLARED_COUNTS = 8.0
"""Weights that the declared level is worth; its week is worth half as many a
weekday."""
MISSES_COUNT = 16
"""Past misses that the declared spread is worth."""
HALF_LIFE_DAYS = 90.0
"""Age at which a miss, or a weekday's part, counts half."""
MOST_TIMES = 3.0
"""Times the expected amount beyond which a weight moves the level no further."""
SHARPNESS = 10.0
"""How much more a pace counts that missed less: the power of its mean miss."""
PASSES = 2


@dataclass(frozen=True, slots=True)
class StreamModel:
    """``level_g``: grams on a mean day; ``weekday``: parts of it, Monday first; ``misses`` and
    ``miss_weights``: had over expected, ascending, and how much each counts; ``since_on``: the
    day from which its past counts; ``weights_used``: by weekday."""

    last_on: date | None
    level_g: float
    trend_g: float
    weekday: tuple[float, ...]
    misses: Floats
    miss_weights: Floats
    since_on: date | None
    weights_used: tuple[int, ...]

    def expect_g(self, on: date) -> float:
        """Grams expected on ``on``, before holidays."""
        days = 1 if self.last_on is None else max(1, min(14, (on - self.last_on).days))
        ahead = DAMPING * (1 - DAMPING**days) / (1 - DAMPING)
        return max(0.0, self.level_g + self.trend_g * ahead) * self.weekday[on.weekday()]

    def quantile_g(self, on: date, share: float) -> float:
        """Grams below which the stream is expected to stay on ``share`` of such days."""
        return self.expect_g(on) * weighted_quantile(self.misses, self.miss_weights, share)


def fit_stream(
    declared_g: Sequence[float],
    spread_share: float,
    history: Sequence[tuple[date, int]],
    percents: Mapping[date, int] | None = None,
    *,
    may_change: bool = True,
) -> StreamModel:
    """Learn from ``history`` (day, grams; oldest first, each day once).

    ``declared_g``: by weekday, Monday first; ``percents``: unusual days, in percent of a usual
    one; their weights are scaled back, those of shut days left out. With ``may_change`` a past
    that its weights contradict is dropped (see ``change.find_change``); the declared week then
    counts little. O(weights).
    """
    percents = percents or {}
    usual = [
        (on, amount_g * 100 / percents.get(on, 100))
        for on, amount_g in history
        if percents.get(on, 100) > 0
    ]
    declared = np.asarray(declared_g, dtype=float)
    if not usual:
        return _declared_model(declared, spread_share)
    days = np.array([on.toordinal() for on, _ in usual])
    weekdays = (days - 1) % 7
    amounts = np.array([amount_g for _, amount_g in usual])
    start, trust = 0, DECLARED_COUNTS
    if may_change:
        pattern = _pattern(declared, days, weekdays, amounts, _flat_level(amounts), trust)
        scale = np.maximum(pattern[weekdays], 0.2) * max(amounts.mean(), 1.0)
        start = find_change(np.minimum(amounts / scale, 4.0).tolist())
    if start or (len(amounts) >= LEAST_AFTER and not amounts.any()):
        days, weekdays, amounts = days[start:], weekdays[start:], amounts[start:]
        declared = declared * (amounts.mean() / max(declared.mean(), 1.0))
        trust = 1.0
    return _fit(declared, spread_share, days, weekdays, amounts, trust, usual[start][0])


def _fit(
    declared: Floats,
    spread_share: float,
    days: NDArray[np.int64],
    weekdays: NDArray[np.int64],
    amounts: Floats,
    trust: float,
    since_on: date,
) -> StreamModel:
    level = _flat_level(amounts)
    for _ in range(PASSES):
        pattern = _pattern(declared, days, weekdays, amounts, level, trust)
        levels, trends = _smooth(declared, pattern, weekdays, amounts, trust)
        expected = levels[:-1] * pattern[weekdays][:, None]
        recent = 0.5 ** ((days[-1] - days) / HALF_LIFE_DAYS)
        missed = (recent[:, None] * np.abs(amounts[:, None] - expected)).sum(0)
        share = (np.maximum(missed, 1e-9) / max(float(missed.min()), 1e-9)) ** -SHARPNESS
        share /= share.sum()
        level = levels[1:] @ share
    expected = np.maximum(levels[:-1] @ share * pattern[weekdays], 1e-9)
    counts = expected > 0.02 * max(float(amounts.mean()), 1e-9)
    ages = days[-1] - days[counts]
    misses = np.minimum(amounts[counts] / expected[counts], MOST_TIMES * 2)
    misses, weights = _with_declared(misses, 0.5 ** (ages / HALF_LIFE_DAYS), spread_share)
    used = np.bincount(weekdays, minlength=7)
    return StreamModel(
        last_on=date.fromordinal(int(days[-1])),
        level_g=float(levels[-1] @ share),
        trend_g=float(trends @ share),
        weekday=tuple(float(part) for part in pattern),
        misses=misses,
        miss_weights=weights,
        since_on=since_on,
        weights_used=tuple(int(count) for count in used),
    )


def _smooth(
    declared: Floats,
    pattern: Floats,
    weekdays: NDArray[np.int64],
    amounts: Floats,
    trust: float,
) -> tuple[Floats, Floats]:
    """Levels before and after each weight, one column a pace, and the trends at the end. A day
    with nothing moves neither."""
    paces = np.array(PACES)
    smooth, trend_smooth = paces[:, 0], paces[:, 1]
    level = np.full(len(paces), max(float(declared.mean()), 0.0))
    if level[0] == 0:
        level[:], trust = amounts[0] / max(pattern[weekdays[0]], 0.2), 0.5
    trend = np.zeros(len(paces))
    levels = np.empty((len(amounts) + 1, len(paces)))
    levels[0] = level
    for index, amount_g in enumerate(amounts):
        part = pattern[weekdays[index]]
        if part > 0.02 and amount_g > 0:
            now = np.minimum(amount_g / part, MOST_TIMES * np.maximum(level, 1.0))
            pace = np.maximum(smooth, 1.0 / (trust + index + 1)) * min(1.0, part)
            before = level + DAMPING * trend
            level = np.maximum(before + pace * (now - before), 0.0)
            trend = DAMPING * trend + trend_smooth * (now - before)
        levels[index + 1] = level
    return levels, trend


def _pattern(
    declared: Floats,
    days: NDArray[np.int64],
    weekdays: NDArray[np.int64],
    amounts: Floats,
    level: Floats,
    trust: float,
) -> Floats:
    """Parts of a mean day by weekday: what it had over its level, after what it declared. Days
    with nothing count where they fall oftener on one weekday than on others."""
    mean_g = float(declared.mean())
    prior = declared / mean_g if mean_g > 0 else np.ones(7)
    recent = 0.5 ** ((days[-1] - days) / HALF_LIFE_DAYS)
    floor = np.maximum(level, 1e-9)
    could = np.bincount(weekdays, recent * floor, minlength=7)
    shown = max(float((recent * (amounts > 0)).sum() / recent.sum()), 0.1)
    part = recent * np.minimum(amounts / floor, 8.0) * floor / shown
    had = np.bincount(weekdays, part, minlength=7)
    worth = trust / 2 * float(floor.mean())
    return np.asarray((worth * prior + had) / (worth + could), dtype=float)


def _flat_level(amounts: Floats) -> Floats:
    return np.full(len(amounts), max(float(amounts.mean()), 1e-9))


def _declared_model(declared: Floats, spread_share: float) -> StreamModel:
    mean_g = float(declared.mean())
    misses, weights = _with_declared(np.empty(0), np.empty(0), spread_share)
    pattern = declared / mean_g if mean_g > 0 else np.zeros(7)
    return StreamModel(
        None, mean_g, 0.0, tuple(float(p) for p in pattern), misses, weights, None, (0,) * 7
    )


def _with_declared(misses: Floats, weights: Floats, spread_share: float) -> tuple[Floats, Floats]:
    """Past misses and, as some more, even steps of a normal spread, ascending."""
    steps = _NORMAL_STEPS * spread_share + 1.0
    values = np.concatenate([misses, np.maximum(steps, 0.0)])
    counts = np.concatenate([weights, np.ones(len(steps))])
    order = np.argsort(values, kind="stable")
    return values[order], counts[order]


def weighted_quantile(values: Floats, weights: Floats, share: float) -> float:
    """The value below which ``share`` of the weight lies, between neighbours by straight line
    (Hyndman and Fan 1996, definition 5, with weights; from memory)."""
    middle = np.cumsum(weights) - weights / 2
    return float(np.interp(share * weights.sum(), middle, values))


_NORMAL_STEPS = np.array(
    [NormalDist().inv_cdf((step + 0.5) / MISSES_COUNT) for step in range(MISSES_COUNT)]
)
