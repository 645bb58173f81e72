"""How soon a pin or ban is answered: `python -m tests.benchmarks.what_if`.

Plans of 60 sources and 20 digesters over seven days; each row is one seed, times are
milliseconds. `first` are the consequences at once, of `CHANGES` changes (CPU time); `better`
both answers to `ANSWERS` of them within the time that a preview has (CPU time, and `wall` what
a person waits), `gained` how many of these it betters. The pins are random:
any batch to any home in reach on any day it can be collected. `whole_plan` is the time to make
the plan itself, in the same run.
"""

from __future__ import annotations

import random
import time

from apps.planning.core.answer_change import SECONDS, answer_change
from apps.planning.core.problem import Ban, Pin, Problem
from apps.planning.core.solve import Limits, solve
from apps.planning.core.what_if import Change, what_if
from tests.planning.generator import make_problem

SEEDS = range(3)
CHANGES = 40
ANSWERS = 10


def main() -> None:
    print(
        "seed  whole_plan_s  first: median   p95   max  better: median    max"
        "  wall: median    max  gained"
    )
    for seed in SEEDS:
        problem = make_problem(60, 20, seed)
        started = time.process_time()
        result = solve(problem, limits=Limits(bounds=False))
        whole_s = time.process_time() - started
        changes = draw_changes(problem, seed)
        first, better, wall, gained, kept = [], [], [], 0, 0
        for change in changes:
            started = time.process_time()
            consequences = what_if(problem, result, change)
            first.append(1000 * (time.process_time() - started))
            if len(better) >= ANSWERS or consequences.cannot_keep:
                continue
            started, begun = time.process_time(), time.perf_counter()
            answer = answer_change(problem, result, change, seconds=SECONDS)
            if answer.better is None:
                continue
            better.append(1000 * (time.process_time() - started))
            wall.append(1000 * (time.perf_counter() - begun))
            before = tuple(after for _, _, after in answer.first.wishes)
            gained += tuple(wish.value for wish in answer.better.wishes) < before
            kept += 1
        first.sort()
        better.sort()
        wall.sort()
        p95 = first[int(0.95 * CHANGES)]
        print(
            f"{seed:4d}  {whole_s:12.2f}  {first[CHANGES // 2]:13.1f} {p95:5.1f}"
            f" {first[-1]:5.1f}  {better[kept // 2]:14.0f} {better[-1]:6.0f}"
            f"  {wall[kept // 2]:12.0f} {wall[-1]:6.0f}  {gained}/{kept}",
            flush=True,
        )


def draw_changes(problem: Problem, seed: int) -> list[Change]:
    """A ban now and then, pins otherwise."""
    rng = random.Random(seed)
    changes = []
    for number in range(CHANGES):
        pair = rng.choice(problem.pairs)
        batches = [b for b in problem.batches if b.source == pair.source]
        if number % 4 == 0 or not batches:
            changes.append(Change(bans=(Ban(pair.source, pair.digester),)))
        else:
            batch = rng.choice(batches)
            changes.append(Change(pins=(Pin(batch.code, pair.digester, batch.ready_day),)))
    return changes


if __name__ == "__main__":
    main()
