"""The planner at three sizes, wish by wish: `python -m tests.benchmarks.planning_sizes`.

Arguments: sizes (small middle large) and options `--seeds N`, `--supply X`, `--peer SECONDS`.
For each generated neighbourhood: the plan's wishes beside the bounds proved in this run, the
verifier's violations, and seconds (wall and processor). `--peer` hands the same model whole to
HiGHS with default settings, from the plan that does nothing, for that many seconds; plans are
compared in the strict order of wishes.
"""

from __future__ import annotations

import argparse
import resource
import time

import numpy as np

from apps.planning.core.arrays import build_model
from apps.planning.core.canonical import sort_problem
from apps.planning.core.construct import start_plan
from apps.planning.core.engine import solve_whole
from apps.planning.core.export import plan_document
from apps.planning.core.measure import measure_wishes
from apps.planning.core.problem import Problem
from apps.planning.core.relax import FIRST_WISHES, aim, whole_part
from apps.planning.core.result import WISHES
from apps.planning.core.solve import solve
from apps.planning.core.whole_grams import round_to_grams
from apps.planning.verifier import verify
from tests.planning.generator import SIZES, make_problem


def peer_wishes(problem: Problem, seconds: float) -> tuple[float, ...]:
    """Wishes that the whole model reaches, all wishes weighted into one objective."""
    problem = sort_problem(problem)
    model = build_model(problem)
    start = start_plan(model).x
    answer = solve_whole(aim(whole_part(model), FIRST_WISHES), start=start, seconds=seconds)
    x = start if answer.x is None else answer.x
    x[model.integral] = np.rint(x[model.integral])
    return measure_wishes(problem, *round_to_grams(model, x))


def run_one(size: str, seed: int, supply: float, peer: float | None) -> None:
    problem = make_problem(*SIZES[size], seed, supply=supply)
    wall, cpu = time.perf_counter(), time.process_time()
    result = solve(problem)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    broken = verify(plan_document(sort_problem(problem), result))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(
        f"{size} seed {seed} supply {supply}: {wall:.1f} s wall, {cpu:.1f} s processor, "
        f"{memory:.2f} GB, {len(broken)} violations, stopped by {result.provenance.stopped_by}"
    )
    others = None if peer is None else peer_wishes(problem, peer)
    for k, wish in enumerate(result.wishes):
        gap = f"{100 * (wish.value / wish.bound - 1):8.2f} %" if wish.bound else " " * 10
        other = "" if others is None else f"  peer {others[k]:16.0f}"
        print(f"   {wish.name:20s} {wish.value:16.0f}  bound {wish.bound:16.0f} {gap}{other}")
    if others is not None:
        ours = tuple(round(wish.value) for wish in result.wishes)
        verdict = "better" if ours < tuple(round(v) for v in others) else "not better"
        print(f"   {verdict} than the peer in the order of {len(WISHES)} wishes", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", default=["small"], choices=list(SIZES))
    parser.add_argument("--seeds", type=int, default=1)
    parser.add_argument("--supply", type=float, default=1.4)
    parser.add_argument("--peer", type=float)
    options = parser.parse_args()
    for size in options.sizes:
        for seed in range(1, options.seeds + 1):
            run_one(size, seed, options.supply, options.peer)


if __name__ == "__main__":
    main()
