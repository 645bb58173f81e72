"""The plain weekday mean: what anybody would compute by hand from the weights of eight weeks."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from datetime import date, timedelta

from apps.supply.core.forecast import DeclaredPattern, Weight

WEEKS, LEAST, Z80 = 8, 3, 0.8416


def weekday_mean(
    on: date, before_on: date, declared: DeclaredPattern, history: Sequence[Weight]
) -> tuple[float, float, float]:
    """P20, P50, P80 [g] for `on`: the mean of its weekday in the eight weeks before
    `before_on`, with the pooled relative spread of all weekdays, taken as normal."""
    start = before_on - timedelta(weeks=WEEKS)
    by_weekday: list[list[int]] = [[] for _ in range(7)]
    for weight in history:
        if start <= weight.on < before_on:
            by_weekday[weight.on.weekday()].append(weight.amount_g)
    same = by_weekday[on.weekday()]
    if len(same) < LEAST:
        mean_g, share = float(declared.by_weekday_g[on.weekday()]), declared.spread_share
    else:
        squares, freedom = 0.0, 0
        for weights in by_weekday:
            middle = statistics.fmean(weights) if weights else 0.0
            if len(weights) > 1 and middle:
                squares += sum((weight / middle - 1) ** 2 for weight in weights)
                freedom += len(weights) - 1
        mean_g = statistics.fmean(same)
        share = (squares / freedom) ** 0.5 if freedom else declared.spread_share
    return (
        max(0.0, mean_g * (1 - Z80 * share)),
        mean_g,
        mean_g * (1 + Z80 * share),
    )
