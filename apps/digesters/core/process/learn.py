"""Learning from a reading: a square-root ensemble Kalman update, one figure at a time.

    (17)  x <- x + K (y_seen - mean y)          K = cov(x, y) / (var y + R)
    (18)  x' <- x' - a K y'                     a = 1 / (1 + sqrt(R / (var y + R)))

after Whitaker & Hamill 2002 (Monthly Weather Review 130:1913, from memory). x holds logarithms, so
nothing becomes negative. A wild reading counts less the wilder it is, and correlations no larger
than 48 members show by chance are not believed.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from apps.digesters.core.process import chemistry
from apps.digesters.core.process import state as rows
from apps.digesters.core.process.ensemble import (
    FACTOR_HIGH,
    FACTOR_LOW,
    Ensemble,
)
from apps.digesters.core.process.parameters import ProcessParameters
from apps.digesters.core.process.state import Floats
from apps.digesters.core.process.stoichiometry import acid_anions

LEARNT: Final = (
    rows.FAST,
    rows.SLOW,
    rows.FIBRE,
    rows.ACIDOGENS,
    rows.ACIDS,
    rows.HIGHER_ACIDS,
    rows.METHANOGENS,
    rows.LONG_ACIDS,
    rows.FAT_EATERS,
    rows.NITROGEN,
    rows.STRONG_IONS,
)
BOUND: Final = {
    rows.FAST: (rows.FAST_N, rows.FAST_C),
    rows.SLOW: (rows.SLOW_N, rows.SLOW_C, rows.SLOW_FAT),
}
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
    at_least: NDArray[np.bool_] | None = None,
    model_sd: float = 0.0,
) -> Floats:
    """Update the ensemble in place; returns how surprising each reading was [standard deviations].

    foreseen (d, members); seen and sd (d,), NaN in `seen` where nothing was read. Where `at_least`
    is true the figure is a lower bound: it teaches only a digester thought to make less. `model_sd`
    is how far off the model may be where all members agree: the mean follows a reading that much
    more readily, the spread does not shrink for it.
    """
    mean = foreseen.mean(axis=1)
    off = seen - mean
    read = np.isfinite(seen)
    if at_least is not None:
        read &= ~(at_least & (off <= 0.0))
    if not read.any():
        return np.zeros(seen.shape)
    who = np.flatnonzero(read)
    y = foreseen[who] - mean[who, None]
    off = off[who]
    members = y.shape[1]
    variance = (y * y).sum(axis=1) / (members - 1)
    noise = sd[who] ** 2
    doubt = variance + model_sd**2
    surprise = off / np.sqrt(doubt + noise + SMALL)
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
    slope = believed * covariance / (variance + SMALL)
    follow = doubt / (doubt + noise + SMALL) * off
    step = slope[:, :, None] * (follow[:, None] - (shrink * variance / total)[:, None] * y)
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


def dissolved_co2(ensemble: Ensemble, slurry_c: Floats, p: ProcessParameters) -> Floats:
    """Carbon dioxide in solution [kmol/m3], (d, members); the gas above holds it steady."""
    x, k = ensemble.state, chemistry.equilibria_at(slurry_c[:, None], p)
    return np.asarray(x[rows.CARBON] * x[rows.HYDROGEN_ION] / (x[rows.HYDROGEN_ION] + k.co2))


def settle(ensemble: Ensemble, co2: Floats, slurry_c: Floats, p: ProcessParameters) -> None:
    """Bring pH and bicarbonate in line with what was learnt, at the same dissolved CO2, in place.

    What is learnt about acids, ammonium and salts moves bicarbonate; the gas pins CO2. With CO2
    fixed, bicarbonate is co2 Ka / H, of the same form as hydroxide, so both share one term of
    equation (15). Learning carbon itself would part it from the charges it must balance.
    """
    x, k = ensemble.state, chemistry.equilibria_at(slurry_c[:, None], p)
    shape = x[rows.CARBON].shape
    pinned = replace(k, water=np.broadcast_to(k.water + co2 * k.co2, shape))
    hydrogen = chemistry.solve_hydrogen(
        x[rows.HYDROGEN_ION],
        x[rows.NITROGEN],
        np.zeros(shape),
        acid_anions(x, p),
        x[rows.STRONG_IONS],
        pinned,
    )
    x[rows.HYDROGEN_ION] = hydrogen
    x[rows.CARBON] = co2 * (1.0 + k.co2 / hydrogen)
