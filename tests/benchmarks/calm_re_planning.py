"""`python -m tests.benchmarks.calm_re_planning [declines]`: one decline, and what else moves.

A plan for 60 sources and 20 homes is announced; one of tomorrow's visits is declined. The
re-plan may change six pickups. Printed by decline: other announced visits unchanged, shortfall and
left-overs against a full re-plan without a budget, CPU seconds. Targets: median of at least 90 %
unchanged, both wishes within 1 % of the full re-plan's, at most 2 s.
"""

from __future__ import annotations

import statistics
import sys
import time
from dataclasses import replace

from apps.planning.core.problem import Ban, Problem
from apps.planning.core.result import Result
from apps.planning.core.solve import Limits, solve
from tests.planning.generator import make_problem

RE_PLAN_BUDGET = 6
"""As `apps.planning.work` has it."""


def visits_of(problem: Problem, result: Result) -> set[tuple[str, str, int]]:
    """Pickups of a plan: source, digester, day."""
    source = {batch.code: batch.source for batch in problem.batches}
    return {(source[each.batch], each.digester, each.day) for each in result.placements}


def wishes_of(result: Result) -> dict[str, float]:
    """Values by name."""
    return {wish.name: wish.value for wish in result.wishes}


def main(declines: int = 5, seed: int = 5) -> None:
    problem = make_problem(60, 20, seed)
    announced = solve(problem, limits=Limits(bounds=False))
    visits = visits_of(problem, announced)
    tomorrow = sorted(visit for visit in visits if visit[2] == 0)[:: max(1, len(visits) // 90)]
    kept, hungry, left, seconds = [], [], [], []
    print(
        "declined               unchanged  shortfall  left over   CPU s   (against a full re-plan)"
    )
    for source, digester, day in tomorrow[:declines]:
        ban = Ban(source, digester, day)
        calm = replace(
            problem,
            bans=(*problem.bans, ban),
            previous=announced.placements,
            rules=replace(problem.rules, change_budget=RE_PLAN_BUDGET),
        )
        started = time.process_time()
        again = solve(calm, limits=Limits(bounds=False))
        seconds.append(time.process_time() - started)
        full = solve(replace(problem, bans=(*problem.bans, ban)), limits=Limits(bounds=False))
        others = visits - {(source, digester, day)}
        kept.append(len(others & visits_of(calm, again)) / len(others))
        ours, best = wishes_of(again), wishes_of(full)
        hungry.append(ours["shortfall_vs_mg"] / max(1.0, best["shortfall_vs_mg"]))
        left.append(ours["left_over_g"] / max(1.0, best["left_over_g"]))
        print(
            f"{source:8} {digester:8} {day:3}  {kept[-1]:8.1%} {hungry[-1]:10.3f} {left[-1]:10.3f}"
            f" {seconds[-1]:7.2f}"
        )
    print(
        f"median                 {statistics.median(kept):8.1%} {statistics.median(hungry):10.3f}"
        f" {statistics.median(left):10.3f} {statistics.median(seconds):7.2f}"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 5)
