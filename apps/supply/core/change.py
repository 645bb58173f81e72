"""Whether a stream's weights say that it changed hands or goods."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

LEAST_AFTER = 6
"""Weights after a change before it is believed. Assumed."""
LEAST_STEP = 0.35
"""Smallest change of the mean that counts, as part of the larger mean. Assumed."""
LEAST_CONTRAST = 6.0
"""Welch's t from which a change is believed; scanning many days, 2 would cry wolf. Assumed."""
FLOOR = 0.1
"""Least standard deviation taken, as part of the larger mean. Assumed."""


def find_change(ratios: Sequence[float]) -> int:
    """Index of the first weight after the last believed change of level, 0 without one.

    ``ratios``: weight over what that weekday usually has, oldest first. A split into before and
    after is scored by Welch's t (Welch 1947, Biometrika 34, 28-35; from memory); the best split
    counts when it passes both thresholds, and what follows it is searched again. Zeros are
    weights like others: a stream that stopped is a change as well. O(n) a search.
    """
    values = np.asarray(ratios, dtype=float)
    start = 0
    while True:
        split, score = _best_split(values[start:])
        if score < LEAST_CONTRAST:
            return start
        start += split


def _best_split(values: NDArray[np.float64]) -> tuple[int, float]:
    count = len(values)
    if count < 2 * LEAST_AFTER:
        return 0, 0.0
    before = np.arange(LEAST_AFTER, count - LEAST_AFTER + 1)
    after = count - before
    sums, squares = np.cumsum(values), np.cumsum(values**2)
    was, now = sums[before - 1] / before, (sums[-1] - sums[before - 1]) / after
    larger = np.maximum(np.maximum(was, now), 1e-9)
    floor = (FLOOR * larger) ** 2
    before_var = np.maximum((squares[before - 1] - before * was**2) / (before - 1), floor)
    after_var = np.maximum(
        (squares[-1] - squares[before - 1] - after * now**2) / (after - 1), floor
    )
    score = np.abs(now - was) / np.sqrt(before_var / before + after_var / after)
    score[np.abs(now - was) < LEAST_STEP * larger] = 0.0
    best = int(np.argmax(score))
    return int(before[best]), float(score[best])
