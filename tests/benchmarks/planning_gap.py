"""Generalised assignment through the planner: `python -m tests.benchmarks.planning_gap [names]`.

All instances of tests/data/gap, or the files named, each stated as a planning problem and solved
by our own decomposition, the engine never getting the whole model. `gap` is to the best known
value (sources in tests/data/gap/README.md); `proved bound` the objective that the plan's own
carrying bound proves; `cpu s` are of one `solve` without that bound.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from apps.planning.core.bounds import bound_wishes
from apps.planning.core.canonical import sort_problem
from apps.planning.core.export import plan_document
from apps.planning.core.problem import TRIP_G_M
from apps.planning.core.result import WISHES
from apps.planning.core.solve import Limits, solve
from apps.planning.verifier import verify
from tests.planning.gap import BATCH_G, OPTIMA, gap_problem, gap_value, read_gap

CARRYING = [name for name, _ in WISHES].index("carrying_g_m")


def main(names: list[str]) -> None:
    print("instance   placed      value  best known      gap  proved bound   cpu s  violations")
    for name in names or list(OPTIMA):
        for instance in read_gap(name):
            problem = gap_problem(instance)
            started = time.process_time()
            result = solve(problem, limits=Limits(monolith=False, bounds=False))
            seconds = time.process_time() - started
            value = gap_value(instance, result)
            values = np.array([wish.value for wish in result.wishes])
            carrying = bound_wishes(sort_problem(problem), values)[CARRYING]
            bound = instance.value_of(round((carrying - TRIP_G_M * instance.jobs) / BATCH_G))
            gap = (
                "" if value is None else f"{100 * abs(value - instance.best) / instance.best:.3f} %"
            )
            print(
                f"{instance.name:9s} {len(result.placements):3d}/{instance.jobs:<3d}"
                f" {value if value is not None else 'not all':>10} {instance.best:11d} {gap:>8}"
                f" {bound:13d} {seconds:7.1f} {len(verify(plan_document(problem, result))):11d}",
                flush=True,
            )


if __name__ == "__main__":
    main(sys.argv[1:])
