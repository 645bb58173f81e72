"""How long a plan's reasons take, and whether each holds: `python -m tests.benchmarks.explain`.

Per size and seed: CPU seconds of the plan and of explaining it (every assignment against every
other home in reach, every kilogram left over with its smallest change), how many reasons there
are, and how many of `CHECKED` drawn ones hold when repeated by their own test (`holds`: the slack
test again, both plans measured whole, or the rule bent by one unit less). Sizes show growth.
"""

from __future__ import annotations

import random
import time

from apps.planning.core.explain import explain_plan
from apps.planning.core.problem import Problem
from apps.planning.core.reasons import Reason, SmallestChange
from apps.planning.core.result import Result
from apps.planning.core.solve import Limits, solve
from tests.planning.generator import make_problem

SIZES = ((15, 5), (30, 10), (60, 20), (120, 40))
SEEDS = range(2)
CHECKED = 150


def main() -> None:
    print("sources x homes  seed  supply  plan s  explain s  reasons  ms/reason  hold")
    for sources, homes in SIZES:
        for seed in SEEDS:
            for supply in (1.4, 4.0):
                _row(make_problem(sources, homes, seed, supply=supply), seed, supply)


def _row(problem: Problem, seed: int, supply: float) -> None:
    started = time.process_time()
    result = solve(problem, limits=Limits(work=5_000, bounds=False))
    plan_s = time.process_time() - started
    started = time.process_time()
    reasons = list_reasons(problem, result)
    explain_s = time.process_time() - started
    drawn = random.Random(seed).sample(reasons, min(CHECKED, len(reasons)))
    held = sum(reason.holds(problem, result) for reason in drawn)
    print(
        f"{len(problem.sources):7d} x {len(problem.digesters):<5d}  {seed:4d}  {supply:6.1f}"
        f"  {plan_s:6.2f}  {explain_s:9.2f}  {len(reasons):7d}"
        f"  {1000 * explain_s / max(1, len(reasons)):9.2f}  {held}/{len(drawn)}",
        flush=True,
    )


def list_reasons(problem: Problem, result: Result) -> list[Reason | SmallestChange]:
    """Every reason that the plan's explanation states."""
    placements, left_over = explain_plan(problem, result)
    reasons: list[Reason | SmallestChange] = []
    for placed in placements:
        reasons += [*placed.others, *([placed.fixed] if placed.fixed else [])]
    for left in left_over:
        reasons += [left.main, *left.homes, *([left.change] if left.change else [])]
    return reasons


if __name__ == "__main__":
    main()
