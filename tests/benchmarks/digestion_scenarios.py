"""Generated household digesters: feed, water, temperature and hidden factors of five kinds.

Kinds: normal, overload, cold, fast_start, escalation. Sizes 0.5 to 6 m3, slurry 12 to 38 C,
120 days. Everything follows from the seed.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context

import numpy as np

from tests.benchmarks.digestion_reference import Run, Waste, simulate

DAYS = 120
REST_DAYS = 15
KINDS = ("normal", "overload", "cold", "fast_start", "escalation")
SLURRY_LAG_D = 4.0


@dataclass(frozen=True)
class Scenario:
    """One generated digester's truth; arrays of shape (DAYS,)."""

    kind: str
    volume_m3: float
    am: float
    ah: float
    waste: Waste
    feed_kg: np.ndarray
    water_l: np.ndarray
    slurry_c: np.ndarray


def _ramp(target_kg: float, rng: np.random.Generator) -> np.ndarray:
    feed = np.zeros(DAYS)
    for day in range(REST_DAYS, DAYS):
        feed[day] = target_kg * min(1.0, 0.25 * (1 + (day - REST_DAYS) // 7))
    feed *= np.exp(rng.normal(0.0, 0.25, DAYS))
    feed[rng.random(DAYS) < 0.08] = 0.0
    return feed


def generate(kind: str, seed: int) -> Scenario:
    """A scenario of one kind."""
    rng = np.random.default_rng([KINDS.index(kind), seed])
    volume = float(np.exp(rng.uniform(np.log(0.5), np.log(6.0))))
    waste = Waste(
        ts=float(rng.uniform(0.15, 0.28)),
        vs_of_ts=float(rng.uniform(0.80, 0.92)),
        carbohydrate=float(rng.uniform(0.52, 0.64)),
        protein=float(rng.uniform(0.12, 0.20)),
        lipid=float(rng.uniform(0.08, 0.15)),
    )
    am = float(np.clip(np.exp(rng.normal(np.log(0.62), 0.45)), 0.15, 1.5))
    ah = float(np.exp(rng.normal(0.0, 0.2)))
    mean_c = float(rng.uniform(22.0, 34.0))
    days = np.arange(DAYS)
    air = mean_c + rng.uniform(0, 3) * np.sin(2 * np.pi * (days / 120 + rng.random()))
    air = air + rng.normal(0.0, 1.2, DAYS)
    vs_per_kg = waste.ts * waste.vs_of_ts
    feed = _ramp(float(rng.uniform(0.5, 1.8)) * volume / vs_per_kg, rng)
    if kind == "overload":
        at = int(rng.integers(50, 90))
        feed[at:] *= float(rng.uniform(2.0, 7.0))
    elif kind == "cold":
        at, long = int(rng.integers(50, 80)), int(rng.integers(10, 30))
        air[at : at + long] -= float(rng.uniform(8.0, 15.0))
        feed[at:] = np.maximum(feed[at:], 0.6 * feed[at - 20 : at].mean())
    elif kind == "fast_start":
        feed[5:] = float(rng.uniform(1.0, 4.0)) * volume / vs_per_kg
        feed[5:] *= np.exp(rng.normal(0.0, 0.2, DAYS - 5))
    elif kind == "escalation":
        for at in range(30, DAYS, 15):
            feed[at:] *= 1.5
    slurry = np.empty(DAYS)
    now = mean_c
    for day in range(DAYS):
        now += (air[day] - now) / SLURRY_LAG_D
        slurry[day] = now
    slurry = np.clip(slurry, 12.0, 38.0)
    water = feed * float(rng.uniform(1.0, 2.5))
    return Scenario(kind, volume, am, ah, waste, feed, water, slurry)


def truth_of(scenario: Scenario) -> Run:
    """What the reference ADM1 says happens."""
    return simulate(
        scenario.feed_kg,
        scenario.water_l,
        scenario.slurry_c,
        volume_m3=scenario.volume_m3,
        am=scenario.am,
        ah=scenario.ah,
        waste=scenario.waste,
    )


def scenarios(per_kind: int, seed: int, kinds: tuple[str, ...] = KINDS) -> list[Scenario]:
    """`per_kind` scenarios of each kind, all different for different seeds."""
    return [generate(kind, 100_000 * seed + k) for kind in kinds for k in range(per_kind)]


def truths(those: list[Scenario], processes: int = 1) -> list[Run]:
    """Reference runs of many scenarios, in order."""
    if processes == 1:
        return [truth_of(one) for one in those]
    with get_context("spawn").Pool(processes) as pool:
        return pool.map(partial(truth_of), those, chunksize=8)
