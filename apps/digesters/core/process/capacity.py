"""The largest constant daily feed that nine members in ten survive.

The search stops at the figure of the rules, so the model can only lower it. How far it may lower a
day's maximum by itself is for the limits to say (apps.digesters.core.limits).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor
from typing import Final

import numpy as np
from numpy.typing import NDArray

from apps.digesters.core.process.ensemble import Ensemble, run_day
from apps.digesters.core.process.forecast import FeedPlan
from apps.digesters.core.process.load import Portion, load_of
from apps.digesters.core.process.simulate import SIX_HOURLY
from apps.digesters.core.process.state import Floats

SAFE_PH: Final = 6.8
MEMBERS_SAFE: Final = 0.90
HORIZON_D: Final = 7
# Each halving narrows the answer by half: 7 leave under 1 % of the rules' figure.
HALVINGS: Final = 7
TOGETHER: Final = 80


@dataclass(frozen=True)
class FeedMix:
    """One kg of the feed to be sized, with its water: load (LOAD_ROWS,) and dilution per kg."""

    load_per_kg: Floats
    dilution_per_kg: float
    vs_per_kg: float


def feed_mix(portions: tuple[Portion, ...], water_l: float, working_m3: float) -> FeedMix:
    """The mix of a feeding per kg of waste in it."""
    fresh_kg = sum(portion.fresh_kg for portion in portions)
    if fresh_kg <= 0.0:
        raise ValueError("A feed to be sized needs some waste in it; give at least one portion.")
    load, dilution = load_of(portions, water_l, working_m3)
    vs_kg = sum(portion.vs_kg for portion in portions)
    return FeedMix(load / fresh_kg, dilution / fresh_kg, vs_kg / fresh_kg)


@dataclass(frozen=True)
class ModelCapacity:
    """Largest constant feed of `d` digesters, (d,) each; `at_limit` where the rules bind first."""

    feed_kg_per_day: Floats
    vs_g_per_day: Floats
    at_limit: NDArray[np.bool_]
    safe_share: Floats  # members that stay safe at the rules' figure [-]

    def model_vs_g(self, digester: int) -> int | None:
        """What the model advises at most [g VS/d]; None where the rules bind first."""
        return None if self.at_limit[digester] else floor(self.vs_g_per_day[digester])


def largest_feed(
    ensemble: Ensemble,
    mixes: list[FeedMix],
    most_kg: Floats,
    slurry_c: Floats,
    *,
    base: FeedPlan | None = None,
    safe_ph: float = SAFE_PH,
) -> ModelCapacity:
    """Largest constant feed [kg/d], up to `most_kg` (d,), over the days of slurry_c (days, d).

    `base` is what goes in besides. Most digesters pass at once at the rules' figure; the others are
    bisected. Zero when even no feed keeps enough members at pH 6.8.
    """
    d = ensemble.digesters
    most = np.asarray(most_kg, dtype=float)
    load = np.stack([mix.load_per_kg for mix in mixes], axis=1)
    dilution = np.array([mix.dilution_per_kg for mix in mixes])
    best = np.zeros(d)
    at_most = np.zeros(d)
    for first in range(0, d, TOGETHER):
        some = np.arange(first, min(first + TOGETHER, d))
        trial = _Trial(ensemble, load, dilution, slurry_c, base, safe_ph)
        at_most[some] = trial.safe_share(some, most[some])
    passes = at_most >= MEMBERS_SAFE
    best[passes] = most[passes]
    unsafe = np.flatnonzero(~passes & (most > 0.0))
    for first in range(0, unsafe.size, TOGETHER):
        some = unsafe[first : first + TOGETHER]
        trial = _Trial(ensemble, load, dilution, slurry_c, base, safe_ph)
        low, high = np.zeros(some.size), most[some].copy()
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            safe = trial.safe_share(some, middle) >= MEMBERS_SAFE
            low = np.where(safe, middle, low)
            high = np.where(safe, high, middle)
        best[some] = low
    vs_g = best * np.array([mix.vs_per_kg for mix in mixes]) * 1000.0
    return ModelCapacity(best, vs_g, passes, at_most)


@dataclass(frozen=True)
class _Trial:
    ensemble: Ensemble
    load: Floats
    dilution: Floats
    slurry_c: Floats
    base: FeedPlan | None
    safe_ph: float

    def safe_share(self, some: NDArray[np.intp], feed_kg: Floats) -> Floats:
        """Share of members that stay at the safe pH or above when fed so, for some digesters."""
        ahead = self.ensemble.part(some)
        lowest = np.full((len(some), ahead.members), np.inf)
        for day in range(self.slurry_c.shape[0]):
            load = self.load[:, some] * feed_kg
            dilution = self.dilution[some] * feed_kg
            if self.base is not None:
                load = load + self.base.loads[day][:, some]
                dilution = dilution + self.base.dilution_per_d[day, some]
            _, _, ph = run_day(
                ahead, load, dilution, self.slurry_c[day, some], steps_per_day=SIX_HOURLY
            )
            np.minimum(lowest, ph, out=lowest)
        return np.asarray((lowest >= self.safe_ph).mean(axis=1))
