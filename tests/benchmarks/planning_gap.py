"""Generalised assignment through the planner: `python -m tests.benchmarks.planning_gap [names]`.

All instances of tests/data/gap, or the files named. `gap` is to the best known value, `bound`
the objective that the plan's own carrying bound proves; `seconds` are of one `solve`.
"""

from __future__ import annotations

import sys
import time

from apps.planning.core.result import TRIP_G_M, WISHES
from apps.planning.core.solve import solve
from tests.planning.gap import BATCH_G, OPTIMA, gap_problem, gap_value, read_gap

CARRYING = [name for name, _ in WISHES].index("carrying_g_m")


def main(names: list[str]) -> None:
    print("instance   placed      value  best known      gap  proved bound  seconds  stopped by")
    for name in names or list(OPTIMA):
        for instance in read_gap(name):
            problem = gap_problem(instance)
            started = time.perf_counter()
            result = solve(problem)
            seconds = time.perf_counter() - started
            value = gap_value(instance, result)
            carrying = result.wishes[CARRYING].bound - TRIP_G_M * instance.jobs
            bound = instance.value_of(round(carrying / BATCH_G))
            gap = (
                "" if value is None else f"{100 * abs(value - instance.best) / instance.best:.3f} %"
            )
            print(
                f"{instance.name:9s} {len(result.placements):3d}/{instance.jobs:<3d}"
                f" {value if value is not None else 'not all':>10} {instance.best:11d} {gap:>8}"
                f" {bound:13d} {seconds:8.1f}  {result.provenance.stopped_by}",
                flush=True,
            )


if __name__ == "__main__":
    main(sys.argv[1:])
