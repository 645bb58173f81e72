"""How soon the consequences of a pin or ban are known: `python -m tests.benchmarks.what_if`.

Plans of 60 sources and 20 digesters over seven days; each row is one seed. The pins are
random: any batch to any home in reach on any day it can be collected. `whole_plan` is the
time to make the plan itself, in the same run.
"""

from __future__ import annotations

import random
import statistics
import time

from apps.planning.core.problem import Ban, Pin
from apps.planning.core.solve import solve
from apps.planning.core.what_if import Change, what_if
from tests.planning.generator import make_problem

SEEDS = range(3)
CHANGES = 40


def main() -> None:
    print("seed  whole_plan_s  median_ms  p95_ms  max_ms  whole_plan/median")
    for seed in SEEDS:
        problem = make_problem(60, 20, seed)
        started = time.perf_counter()
        result = solve(problem)
        whole_s = time.perf_counter() - started
        rng = random.Random(seed)
        times = []
        for number in range(CHANGES):
            pair = rng.choice(problem.pairs)
            batches = [b for b in problem.batches if b.source == pair.source]
            if number % 4 == 0 or not batches:
                change = Change(bans=(Ban(pair.source, pair.digester),))
            else:
                batch = rng.choice(batches)
                change = Change(pins=(Pin(batch.code, pair.digester, batch.ready_day),))
            started = time.perf_counter()
            what_if(problem, result, change)
            times.append(1000 * (time.perf_counter() - started))
        times.sort()
        median = statistics.median(times)
        p95 = times[int(0.95 * len(times))]
        print(
            f"{seed:4d}  {whole_s:12.2f}  {median:9.1f}  {p95:6.1f}  {times[-1]:6.1f}"
            f"  {1000 * whole_s / median:17.0f}"
        )


if __name__ == "__main__":
    main()
