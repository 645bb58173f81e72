"""Learning from a reading: a square-root ensemble Kalman update, one figure at a time.

    (15)  x <- x + K (y_seen - mean y)          K = cov(x, y) / (var y + R)
    (16)  x' <- x' - a K y'                     a = 1 / (1 + sqrt(R / (var y + R)))

after Whitaker & Hamill 2002 (Monthly Weather Review 130:1913, from memory). x holds logarithms, so
nothing becomes negative. A wild reading counts less the wilder it is, and correlations no larger
than 48 members show by chance are not believed.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from apps.digesters.core.process import chemistry
from apps.digesters.core.process import state as rows
from apps.digesters.core.process.ensemble import (
    FACTOR_HIGH,
    FACTOR_LOW,
    Ensemble,
)
from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.state import Floats

LEARNT: Final = (
    rows.FAST,
    rows.SLOW,
    rows.FIBRE,
    rows.ACIDOGENS,
    rows.ACIDS,
    rows.METHANOGENS,
    rows.NITROGEN,
    rows.CARBON,
    rows.STRONG_IONS,
)
BOUND: Final = {rows.FAST: (rows.FAST_N, rows.FAST_C), rows.SLOW: (rows.SLOW_N, rows.SLOW_C)}
# A reading this many standard deviations off starts to count less: its variance is widened by the
# square of what it is beyond. Assumed.
WILD_SD: Final = 2.5
LARGEST_LOG_STEP: Final = 1.0
SMALL: Final = 1e-12


def learn(
    ensemble: Ensemble,
    foreseen: Floats,
    seen: Floats,
    sd: Floats,
    *,
    at_least: Floats | None = None,
) -> Floats:
    """Update the ensemble in place; returns how surprising each reading was [standard deviations].

    foreseen (d, members); seen and sd (d,), NaN in `seen` where nothing was read. Where `at_least`
    is true the figure is a lower bound: it teaches only a digester thought to make less.
    """
    mean = foreseen.mean(axis=1)
    off = seen - mean
    read = np.isfinite(seen)
    if at_least is not None:
        read &= ~(at_least.astype(bool) & (off <= 0.0))
    if not read.any():
        return np.zeros(seen.shape)
    who = np.flatnonzero(read)
    y = foreseen[who] - mean[who, None]
    off = off[who]
    members = y.shape[1]
    variance = (y * y).sum(axis=1) / (members - 1)
    noise = sd[who] ** 2
    surprise = off / np.sqrt(variance + noise + SMALL)
    noise = noise * np.maximum(np.abs(surprise) / WILD_SD, 1.0) ** 2
    # Widening R alone would not hold back an ensemble that is itself wide.
    off = off * np.minimum(WILD_SD / np.maximum(np.abs(surprise), SMALL), 1.0)
    total = variance + noise + SMALL
    shrink = 1.0 / (1.0 + np.sqrt(noise / total))

    x = np.concatenate(
        [
            np.log(np.maximum(ensemble.state[list(LEARNT)][:, who], SMALL)),
            ensemble.factors[:, who],
        ]
    )
    anomalies = x - x.mean(axis=2, keepdims=True)
    covariance = (anomalies * y).sum(axis=2) / (members - 1)
    own = (anomalies * anomalies).sum(axis=2) / (members - 1)
    correlation2 = covariance**2 / (own * variance + SMALL * SMALL)
    believed = np.maximum(1.0 - 1.0 / ((members - 1) * correlation2 + SMALL), 0.0)
    gain = believed * covariance / total
    step = gain[:, :, None] * (off[:, None] - shrink[:, None] * y)
    np.clip(step, -LARGEST_LOG_STEP, LARGEST_LOG_STEP, out=step)

    for k, row in enumerate(LEARNT):
        factor = np.exp(step[k])
        ensemble.state[row, who] *= factor
        for bound in BOUND.get(row, ()):
            ensemble.state[bound, who] *= factor
    ensemble.factors[:, who] = np.clip(
        ensemble.factors[:, who] + step[len(LEARNT) :],
        FACTOR_LOW[:, None, None],
        FACTOR_HIGH[:, None, None],
    )
    out = np.zeros(seen.shape)
    out[who] = surprise
    return out


def settle(ensemble: Ensemble, slurry_c: Floats, p: ProcessParameters) -> None:
    """Bring pH back into balance with what has been learnt, in place; slurry_c (d,)."""
    x = ensemble.state
    x[rows.HYDROGEN_ION] = chemistry.solve_hydrogen(
        x[rows.HYDROGEN_ION],
        x[rows.NITROGEN],
        x[rows.CARBON],
        p.acid_charge * x[rows.ACIDS],
        x[rows.STRONG_IONS],
        chemistry.equilibria_at(slurry_c[:, None], p),
    )
