"""A stream learnt from its own past: level with trend, weekday pattern, spread.

Exponential smoothing with a multiplicative weekday pattern (Holt 1957 and Winters 1960, as in
Hyndman and Athanasopoulos, Forecasting: Principles and Practice, ch. 8; from memory), written
for weights with gaps: a day without a weight moves nothing. Level and pattern start from what
the source declared, which counts as some weights of its own, so that one day of history already
helps and two do not mislead. Amounts are smoothed in logarithms, as they vary by parts, not by
grams. Days with nothing at all say how often it fails, not how much it has when it has something
(the split of Croston 1972, Operational Research Quarterly 23, 289-303; from memory). What it had
over the expected yesterday it partly has today (a first-order autoregression). Quantiles are
those of its own past misses.
"""

import math
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
"""Weights that the declared level and spread are worth."""
MISSES_COUNT = 16
"""Past misses that the declared spread is worth."""
HALF_LIFE_DAYS = 90.0
"""Age at which a miss, or a weekday's part, counts half."""
MOST_TIMES, LEAST_TIMES = 3.0, 0.2
"""Times the expected amount beyond which a weight moves the level no further."""
WEEKDAY_SD = 0.15
"""By how much a weekday's part strays from the declared one at least. Assumed."""
WEEKDAYS = 7
LEAST_OF_A_WEEKDAY = 3
"""Weights of a weekday from which it tells how far it strays. Assumed."""
MISS_COUNTS, MOST_KEPT, MISS_DAYS = 20.0, 0.6, 5
"""Pairs of days by which the part of a miss that is left the next day is held back, its most,
and the days after which none is left."""
SHARPNESS = 10.0
"""How much more a pace counts that missed less: the power of its mean miss."""
PASSES = 2


@dataclass(frozen=True, slots=True)
class StreamModel:
    """``level_g``: grams on a mean day; ``trend``: its logarithm's rise a day; ``weekday``: parts
    of it, Monday first; ``misses`` and ``miss_weights``: had over expected, ascending, and how
    much each counts; ``last_miss``: the logarithm of the last one, on ``missed_on``, of which
    ``miss_kept`` is left a day later; ``since_on``: the day from which its past counts;
    ``weights_used``: by weekday."""

    last_on: date | None
    level_g: float
    trend: float
    weekday: tuple[float, ...]
    misses: Floats
    miss_weights: Floats
    since_on: date | None
    weights_used: tuple[int, ...]
    last_miss: float = 0.0
    missed_on: date | None = None
    miss_kept: float = 0.0

    def expect_g(self, on: date) -> float:
        """Grams expected on ``on``, before holidays."""
        days = 1 if self.last_on is None else max(1, min(14, (on - self.last_on).days))
        ahead = DAMPING * (1 - DAMPING**days) / (1 - DAMPING)
        past = 0.0
        if self.missed_on is not None and 0 < (gap := (on - self.missed_on).days) <= MISS_DAYS:
            past = self.miss_kept**gap * self.last_miss
        return self.level_g * math.exp(self.trend * ahead + past) * self.weekday[on.weekday()]

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
        flat = _flat_level(amounts)
        pattern = _pattern(declared, days, weekdays, amounts, flat, trust, spread_share)
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
        pattern = _pattern(declared, days, weekdays, amounts, level, trust, spread_share)
        levels, trends = _smooth(declared, pattern, weekdays, amounts, trust)
        expected = levels[:-1] * pattern[weekdays][:, None]
        recent = 0.5 ** ((days[-1] - days) / HALF_LIFE_DAYS)
        missed = (recent[:, None] * np.abs(amounts[:, None] - expected)).sum(0)
        share = (np.maximum(missed, 1e-9) / max(float(missed.min()), 1e-9)) ** -SHARPNESS
        share /= share.sum()
        level = levels[1:] @ share
    expected = np.maximum(levels[:-1] @ share * pattern[weekdays], 1e-9)
    over, kept = _last_misses(days, amounts, expected)
    missed = np.flatnonzero(np.isfinite(over))
    expected = expected * _left_of_misses(days, over, kept)
    counts = expected > 0.02 * max(float(amounts.mean()), 1e-9)
    ages = days[-1] - days[counts]
    misses = np.minimum(amounts[counts] / expected[counts], MOST_TIMES * 2)
    misses, weights = _with_declared(misses, 0.5 ** (ages / HALF_LIFE_DAYS), spread_share)
    used = np.bincount(weekdays, minlength=7)
    return StreamModel(
        last_on=date.fromordinal(int(days[-1])),
        level_g=float(levels[-1] @ share),
        trend=float(trends @ share),
        weekday=tuple(float(part) for part in pattern),
        misses=misses,
        miss_weights=weights,
        since_on=since_on,
        weights_used=tuple(int(count) for count in used),
        last_miss=float(over[missed[-1]]) if len(missed) else 0.0,
        missed_on=date.fromordinal(int(days[missed[-1]])) if len(missed) else None,
        miss_kept=kept,
    )


def _last_misses(
    days: NDArray[np.int64], amounts: Floats, expected: Floats
) -> tuple[Floats, float]:
    """Logarithms of had over expected about their median, NaN on days with nothing, and the
    part of one that is left the next day."""
    had = amounts > 0
    over = np.full(len(amounts), np.nan)
    over[had] = np.clip(np.log(amounts[had] / expected[had]), -1.5, 1.5)
    if had.any():
        over -= np.median(over[had])
    pairs = (np.diff(days) == 1) & np.isfinite(over[1:]) & np.isfinite(over[:-1])
    before, after = over[:-1][pairs], over[1:][pairs]
    spread = float(np.var(over[had])) if had.any() else 0.0
    kept = float(before @ after) / max(float(before @ before) + MISS_COUNTS * spread, 1e-9)
    return over, min(max(kept, 0.0), MOST_KEPT)


def _left_of_misses(days: NDArray[np.int64], over: Floats, kept: float) -> Floats:
    """By weight, the factor that the last miss before it leaves of its expectation."""
    factor = np.ones(len(days))
    last = -1
    for index in range(len(days)):
        if last >= 0 and (gap := int(days[index] - days[last])) <= MISS_DAYS:
            factor[index] = math.exp(kept**gap * over[last])
        if math.isfinite(over[index]):
            last = index
    return factor


def _smooth(
    declared: Floats,
    pattern: Floats,
    weekdays: NDArray[np.int64],
    amounts: Floats,
    trust: float,
) -> tuple[Floats, Floats]:
    """Levels before and after each weight, one column a pace, and the trends (of their
    logarithms) at the end. A day with nothing moves neither."""
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
            before = np.maximum(level, 1.0) * np.exp(DAMPING * trend)
            step = np.log(np.clip(amount_g / part / before, LEAST_TIMES, MOST_TIMES))
            pace = np.maximum(smooth, 1.0 / (trust + index + 1)) * min(1.0, part)
            level = before * np.exp(pace * step)
            trend = DAMPING * trend + trend_smooth * step
        levels[index + 1] = level
    return levels, trend


def _pattern(
    declared: Floats,
    days: NDArray[np.int64],
    weekdays: NDArray[np.int64],
    amounts: Floats,
    level: Floats,
    trust: float,
    spread_share: float,
) -> Floats:
    """Parts of a mean day by weekday: what it had over its level, after what it declared, which
    counts the more the wider the stream spreads. Days with nothing count where they fall oftener
    on one weekday than on others."""
    mean_g = float(declared.mean())
    prior = declared / mean_g if mean_g > 0 else np.ones(7)
    recent = 0.5 ** ((days[-1] - days) / HALF_LIFE_DAYS)
    floor = np.maximum(level, 1e-9)
    could = np.bincount(weekdays, recent * floor, minlength=7)
    shown = max(float((recent * (amounts > 0)).sum() / recent.sum()), 0.1)
    part = recent * np.minimum(amounts / floor, 8.0) * floor / shown
    had = np.bincount(weekdays, part, minlength=7)
    worth = trust / DECLARED_COUNTS * float(floor.mean())
    worth *= _weights_of_a_weekday(prior, weekdays, amounts, floor, spread_share)
    return np.asarray((worth * prior + had) / (worth + could), dtype=float)


def _weights_of_a_weekday(
    prior: Floats, weekdays: NDArray[np.int64], amounts: Floats, level: Floats, spread_share: float
) -> float:
    """How many weights the declared part of a weekday is worth: the spread of one weight over how
    far the parts stray from what was declared (as an empirical Bayes estimate has it)."""
    usual = (amounts > 0) & (prior[weekdays] > 0.05)
    at = weekdays[usual]
    over = np.log(amounts[usual] / (level[usual] * prior[at]))
    counts = np.bincount(at, minlength=7)
    means = np.bincount(at, over, minlength=7) / np.maximum(counts, 1)
    squares = float(((over - means[at]) ** 2).sum()) + DECLARED_COUNTS * spread_share**2
    spread = squares / (DECLARED_COUNTS + max(0, len(over) - int((counts > 0).sum())))
    known = counts >= LEAST_OF_A_WEEKDAY
    strayed = means[known] ** 2 - spread / counts[known]
    strays = (WEEKDAYS * WEEKDAY_SD**2 + float(strayed.sum())) / (WEEKDAYS + int(known.sum()))
    return max(0.5, spread / max(strays, WEEKDAY_SD**2))


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
