"""Digester-hours a second: our model on 10,000 digesters against the reference ADM1, one run.

    python -m tests.benchmarks.digestion_speed

Target: at least 300 times the reference, 14 days in hourly steps, one process.
"""

from __future__ import annotations

from time import perf_counter

import numpy as np

from apps.digesters.core.process.simulate import HOURLY, simulate
from apps.digesters.core.process.state import seeded_state
from tests.benchmarks.digestion_inputs import inputs_of
from tests.benchmarks.digestion_reference import Waste
from tests.benchmarks.digestion_reference import simulate as reference

DIGESTERS, DAYS, ROUNDS = 10_000, 14, 3
REFERENCE_DIGESTERS = 12
TARGET = 300.0


def main() -> None:
    rng = np.random.default_rng(1)
    # Each digester fed and warmed alike every day: the reference's solver is then at its best.
    feed = np.repeat(rng.uniform(1.0, 6.0, (1, DIGESTERS)), DAYS, axis=0)
    water = 2.0 * feed
    slurry = np.repeat(rng.uniform(18.0, 34.0, (1, DIGESTERS)), DAYS, axis=0)
    activity = np.exp(rng.normal(-0.5, 0.4, DIGESTERS))
    # Loads are linear in the feed: one plant's inputs serve all.
    one = inputs_of([Waste()], [1.0], feed[:, :1], water[:, :1], slurry[:, :1])
    scale = feed / feed[:, :1]
    inputs = type(one)(one.loads * scale[:, None, :], one.dilution_per_d * scale, slurry)
    start = seeded_state((DIGESTERS,))
    reference(feed[:2, 0], water[:2, 0], slurry[:2, 0], volume_m3=1.0, am=0.6, ah=1.0)  # compile
    rates: dict[str, list[float]] = {"ours": [], "reference": []}
    for _ in range(ROUNDS):
        before = perf_counter()
        simulate(start, inputs, activity=activity, steps_per_day=HOURLY)
        rates["ours"].append(DIGESTERS * DAYS * 24 / (perf_counter() - before))
        before = perf_counter()
        for k in range(REFERENCE_DIGESTERS):
            reference(
                feed[:, k], water[:, k], slurry[:, k], volume_m3=1.0, am=float(activity[k]), ah=1.0
            )
        rates["reference"].append(REFERENCE_DIGESTERS * DAYS * 24 / (perf_counter() - before))
    print(f"{DIGESTERS} digesters x {DAYS} days hourly, one process, best of {ROUNDS} rounds")
    for name, seen in rates.items():
        print(f"  {name:10s} {max(seen):12,.0f} digester-hours/s")
    ratios = [a / b for a, b in zip(rates["ours"], rates["reference"], strict=True)]
    print(f"  ratio by round: {', '.join(f'{r:.0f}' for r in ratios)} (target {TARGET:.0f})")


if __name__ == "__main__":
    main()
