"""Generalised assignment instances as planning problems.

An agent is a digester whose one day takes its capacity in grams; a job is an indivisible batch
of a tonne, of which the agent feeds `usable_ppm` = its load in grams; the cost is the pair's
distance. All jobs are placed first (wish left_over_g), then the cost is least
(wish carrying_g_m, from which the trips' fixed part is taken off).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from apps.planning.core.problem import (
    Batch,
    DayCaps,
    Digester,
    Material,
    Pair,
    Problem,
    Source,
)
from apps.planning.core.result import TRIP_G_M, Result

TONNE_G = 1_000_000


@dataclass(frozen=True)
class Gap:
    """`cost` and `load`: one row an agent, one column a job."""

    cost: tuple[tuple[int, ...], ...]
    load: tuple[tuple[int, ...], ...]
    capacity: tuple[int, ...]
    maximise: bool = False


def read_gaps(text: str, *, counted: bool, maximise: bool) -> Iterator[Gap]:
    """Instances of a file: agents, jobs, cost rows, load rows, capacities; `counted`: with the
    number of instances first."""
    numbers = iter(int(word) for word in text.split())
    for _ in range(next(numbers) if counted else 1):
        agents, jobs = next(numbers), next(numbers)
        cost = tuple(tuple(next(numbers) for _ in range(jobs)) for _ in range(agents))
        load = tuple(tuple(next(numbers) for _ in range(jobs)) for _ in range(agents))
        yield Gap(cost, load, tuple(next(numbers) for _ in range(agents)), maximise)


def to_problem(gap: Gap) -> Problem:
    agents, jobs = len(gap.cost), len(gap.cost[0])
    top = max(max(row) for row in gap.cost)
    return Problem(
        starts_on=date(2030, 1, 1),
        days=1,
        materials=(Material("job", 0, 0),),
        digesters=tuple(
            Digester(
                code=f"A{i:03d}",
                caps=(DayCaps(gap.capacity[i], 0, 0),),
                target_vs_g=(0,),
                min_vs_g=0,
                bin_g=gap.capacity[i],
                accepts=frozenset({"job"}),
                max_visits_per_day=jobs,
                carry_limit_g=TONNE_G,
            )
            for i in range(agents)
        ),
        sources=tuple(Source(f"J{j:04d}") for j in range(jobs)),
        batches=tuple(
            Batch(f"B{j:04d}", f"J{j:04d}", "job", TONNE_G, 0, 0, 0, divisible=False)
            for j in range(jobs)
        ),
        pairs=tuple(
            Pair(
                f"J{j:04d}",
                f"A{i:03d}",
                top - gap.cost[i][j] if gap.maximise else gap.cost[i][j],
                (True,),
                usable_ppm=gap.load[i][j],
            )
            for i in range(agents)
            for j in range(jobs)
        ),
    )


def read_value(gap: Gap, result: Result) -> int:
    """The instance's own objective of a plan that places all jobs; recomputed from it."""
    placed = {(p.batch, p.digester) for p in result.placements}
    jobs = len(gap.cost[0])
    if len(placed) != jobs:
        raise ValueError(f"{len(placed)} of {jobs} jobs are placed.")
    load = [0] * len(gap.cost)
    value = 0
    for batch, digester in placed:
        i, j = int(digester[1:]), int(batch[1:])
        value += gap.cost[i][j]
        load[i] += gap.load[i][j]
    if any(used > most for used, most in zip(load, gap.capacity, strict=True)):
        raise ValueError("an agent carries more than its capacity.")
    return value


def read_bound(gap: Gap, result: Result) -> float:
    """The plan's bound for the instance's objective."""
    jobs = len(gap.cost[0])
    bound = next(w.bound for w in result.wishes if w.name == "carrying_g_m")
    cost = (bound - jobs * TRIP_G_M) / TONNE_G
    return jobs * max(max(row) for row in gap.cost) - cost if gap.maximise else cost
