"""The planner at three sizes, wish by wish: `python -m tests.benchmarks.planning_sizes`.

Arguments: sizes (small middle large, or SOURCESxDIGESTERS such as 2000x600) and options
`--seeds 1 2 3`, `--supply X`, `--peers`, `--peer-seconds S`, `--bounds`, `--prove S`,
`--change`, `--work W`, `--growth` (no search and no bounds: what a home costs as the town
grows). For each generated neighbourhood one row: seconds (wall and processor,
per digester too), memory, what the verifier finds, and the VS below minimum as a part of all
targets; then each wish beside the best bound proved in this run.

`--peers` hands the same model whole to HiGHS and CP-SAT (see `planning_peers`). `--prove` lets
HiGHS branch on the first wishes that are not proved best, S seconds each, the wishes before
held: its bound counts if it is higher than the relaxation's. `--change` plans again after the
largest pickup is banned, from the plan just made. Plans are compared in the strict order of
wishes.
"""

from __future__ import annotations

import argparse
import resource
import time
from dataclasses import replace

import numpy as np

from apps.planning.core.arrays import build_model
from apps.planning.core.bounds import FLOAT_ROOM, bound_wishes
from apps.planning.core.canonical import sort_problem
from apps.planning.core.engine import solve_whole
from apps.planning.core.export import plan_document
from apps.planning.core.model import WISH_UNITS
from apps.planning.core.problem import Ban, Problem
from apps.planning.core.relax import aim, whole_part
from apps.planning.core.result import WISHES, Result
from apps.planning.core.solve import Limits, solve
from apps.planning.verifier import verify
from tests.benchmarks.planning_peers import Wishes, solve_by_cp_sat, solve_by_highs
from tests.planning.generator import SIZES, make_problem


def prove(problem: Problem, result: Result, seconds: float) -> list[float]:
    """Bounds by branching on one wish after another, those before held at the plan's values."""
    model = build_model(sort_problem(problem), room_g=0)
    part = whole_part(model)
    bounds, held = [wish.bound for wish in result.wishes], dict[int, float]()
    for k, wish in enumerate(result.wishes[:5]):
        value = wish.value / WISH_UNITS[k]
        if wish.value > wish.bound * (1 + 1e-4) + 1 and np.any(model.costs[k]):
            weights = np.eye(len(WISHES))[k]
            answer = solve_whole(aim(part, weights, held), seconds=seconds)
            best = (answer.bound + model.offsets[k]) * WISH_UNITS[k]
            best -= FLOAT_ROOM * (1 + abs(best))
            bounds[k] = min(max(bounds[k], best), wish.value)
        held[k] = value + FLOAT_ROOM * (1 + value) - model.offsets[k]
    return bounds


def run_one(size: str, seed: int, options: argparse.Namespace) -> None:
    sources, digesters = SIZES[size] if size in SIZES else map(int, size.split("x"))
    problem = make_problem(sources, digesters, seed, supply=options.supply)
    wall, cpu = time.perf_counter(), time.process_time()
    limits = Limits(work=0, bounds=False) if options.growth else Limits(work=options.work)
    result = solve(problem, limits=limits)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    broken = verify(plan_document(sort_problem(problem), result))
    targets_g = sum(sum(d.target_vs_g) for d in problem.digesters)
    print(
        f"{size} ({sources} x {digesters}) seed {seed} supply {options.supply:g}: {wall:.1f} s "
        f"wall, {cpu:.1f} s processor, {1000 * cpu / digesters:.1f} ms a digester, "
        f"{memory:.2f} GB, {len(broken)} violations, "
        f"{100 * result.wishes[0].value / targets_g:.4f} % of targets below minimum, "
        f"stopped by {result.provenance.stopped_by}",
        flush=True,
    )
    if options.change:
        plan_again(problem, result)
    bounds = [wish.bound for wish in result.wishes]
    if options.bounds and not any(bounds):
        began = time.process_time()
        values = np.array([wish.value for wish in result.wishes])
        bounds = bound_wishes(sort_problem(problem), values).tolist()
        print(f"   bounds took {time.process_time() - began:.1f} s processor more")
    if options.prove:
        proved = replace(
            result,
            wishes=tuple(
                replace(wish, bound=bound)
                for wish, bound in zip(result.wishes, bounds, strict=True)
            ),
        )
        bounds = prove(problem, proved, options.prove)
    peers: dict[str, Wishes] = {}
    if options.peers:
        peers["HiGHS"] = solve_by_highs(problem, options.peer_seconds)
        peers["CP-SAT"] = solve_by_cp_sat(problem, options.peer_seconds)
    for k, wish in enumerate(result.wishes):
        gap = f"{100 * (wish.value / bounds[k] - 1):9.2f} %" if bounds[k] > 0 else " " * 11
        others = "".join(f"  {name} {values[k]:16.0f}" for name, values in peers.items())
        print(f"   {wish.name:20s} {wish.value:16.0f}  bound {bounds[k]:16.0f} {gap}{others}")
    ours = tuple(round(wish.value) for wish in result.wishes)
    for name, values in peers.items():
        theirs = tuple(round(value) for value in values)
        verdict = (
            "as good as" if ours == theirs else "better than" if ours < theirs else "WORSE than"
        )
        print(
            f"   {verdict} {name} after {options.peer_seconds:g} s in the order of "
            f"{len(WISHES)} wishes",
            flush=True,
        )


def plan_again(problem: Problem, result: Result) -> None:
    """The plan after the largest pickup's pair is banned, from the one just made."""
    source_of = {batch.code: batch.source for batch in problem.batches}
    largest = max(result.placements, key=lambda each: (each.amount_g, each.batch))
    ban = Ban(source_of[largest.batch], largest.digester)
    changed = replace(problem, bans=(*problem.bans, ban))
    wall, cpu = time.perf_counter(), time.process_time()
    again = solve(changed, limits=Limits(only_touched=True, bounds=False), incumbent=result)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    broken = verify(plan_document(sort_problem(changed), again))
    moved = len(set(result.placements) ^ set(again.placements))
    print(
        f"   after a ban: {wall:.1f} s wall, {cpu:.1f} s processor, {len(broken)} violations, "
        f"{moved} placements differ, left over {result.wishes[4].value:.0f} -> "
        f"{again.wishes[4].value:.0f} g"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", default=["small"])
    parser.add_argument("--seeds", type=int, nargs="+", default=[1])
    parser.add_argument("--supply", type=float, default=1.4)
    parser.add_argument("--work", type=int)
    parser.add_argument("--change", action="store_true")
    parser.add_argument("--growth", action="store_true")
    parser.add_argument("--bounds", action="store_true")
    parser.add_argument("--prove", type=float)
    parser.add_argument("--peers", action="store_true")
    parser.add_argument("--peer-seconds", type=float, default=60.0)
    options = parser.parse_args()
    for size in options.sizes:
        for seed in options.seeds:
            run_one(size, seed, options)


if __name__ == "__main__":
    main()
