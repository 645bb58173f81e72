"""Generalised assignment instances stated as planning problems.

A job is a source with one batch of `BATCH_G` that cannot be divided; an agent is a digester.
What job j takes of agent i is the usable part of the pair, so that its load is that many
units of `scale` grams; the agent's capacity is the digester's feed cap; the cost is the
distance. With all batches placed, carrying less the trips is the cost, times `BATCH_G`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from apps.planning.core.problem import (
    PPM,
    TRIP_G_M,
    Batch,
    DayCaps,
    Digester,
    Material,
    Pair,
    Problem,
    Source,
)
from apps.planning.core.result import Result

GAP_DATA = Path(__file__).parents[1] / "data" / "gap"
BATCH_G = 1_000_000

OPTIMA = {
    "gap1": (336, 327, 339, 341, 326),
    "gap12": (1451, 1449, 1433, 1447, 1446),
    "c05100": (1931,),
    "c10200": (2806,),
    "d10100": (6347,),
    "d20200": (12244,),
    "e10100": (11577,),
    "e20200": (22379,),
}
"""Optimum (d20200: best known) by file, in file order; sources in tests/data/gap/README.md."""


@dataclass(frozen=True, slots=True)
class GapInstance:
    """`costs[i][j]` and `loads[i][j]` of agent i and job j; profits where `maximise`."""

    name: str
    maximise: bool
    costs: tuple[tuple[int, ...], ...]
    loads: tuple[tuple[int, ...], ...]
    capacities: tuple[int, ...]
    best: int

    @property
    def jobs(self) -> int:
        return len(self.costs[0])

    def distances(self) -> tuple[tuple[int, ...], ...]:
        """Costs to minimise; profits become what they lack of the largest."""
        if not self.maximise:
            return self.costs
        top = max(max(row) for row in self.costs)
        return tuple(tuple(top - profit for profit in row) for row in self.costs)

    def value_of(self, distance_total: int) -> int:
        """The instance's own objective of an assignment of all jobs."""
        if not self.maximise:
            return distance_total
        top = max(max(row) for row in self.costs)
        return self.jobs * top - distance_total


def read_gap(name: str) -> tuple[GapInstance, ...]:
    """The instances of a file in tests/data/gap, by its name without suffix."""
    maximise = name.startswith("gap")
    numbers = map(int, (GAP_DATA / f"{name}.txt").read_text(encoding="ascii").split())
    count = next(numbers) if maximise else 1
    return tuple(
        _read_one(numbers, f"{name} {number + 1}" if maximise else name, maximise, best)
        for number, best in zip(range(count), OPTIMA[name], strict=True)
    )


def _read_one(numbers: Iterator[int], name: str, maximise: bool, best: int) -> GapInstance:
    agents, jobs = next(numbers), next(numbers)

    def matrix() -> tuple[tuple[int, ...], ...]:
        return tuple(tuple(next(numbers) for _ in range(jobs)) for _ in range(agents))

    costs, loads = matrix(), matrix()
    capacities = tuple(next(numbers) for _ in range(agents))
    return GapInstance(name, maximise, costs, loads, capacities, best)


def gap_problem(instance: GapInstance) -> Problem:
    """One day, everybody in reach of everybody, no limit but the capacities."""
    scale = 1
    while max(max(row) for row in instance.loads) * scale * 10 <= PPM:
        scale *= 10
    distances = instance.distances()
    agents, jobs = len(instance.costs), instance.jobs
    return Problem(
        starts_on=date(2030, 1, 7),
        days=1,
        materials=(Material("load", vs_ppm=0, slurry_ppm=0),),
        digesters=tuple(
            Digester(
                code=f"A{i:03d}",
                caps=(DayCaps(feed_g=capacity * scale, vs_g=0, slurry_ml=0),),
                target_vs_g=(0,),
                min_vs_g=0,
                bin_g=capacity * scale,
                accepts=frozenset({"load"}),
                max_visits_per_day=jobs,
                carry_limit_g=BATCH_G,
                min_pickup_g=0,
            )
            for i, capacity in enumerate(instance.capacities)
        ),
        sources=tuple(Source(f"J{j:03d}", max_homes_per_day=1) for j in range(jobs)),
        batches=tuple(
            Batch(f"J{j:03d}", f"J{j:03d}", "load", BATCH_G, 0, 0, 0, divisible=False)
            for j in range(jobs)
        ),
        pairs=tuple(
            Pair(
                f"J{j:03d}",
                f"A{i:03d}",
                distances[i][j],
                (True,),
                usable_ppm=instance.loads[i][j] * scale,
            )
            for i in range(agents)
            for j in range(jobs)
        ),
    )


def gap_value(instance: GapInstance, result: Result) -> int | None:
    """The instance's objective, worked out from placements alone; None if a job is missing or
    an agent is over its capacity."""
    agent_of = {each.batch: int(each.digester[1:]) for each in result.placements}
    if len(agent_of) != instance.jobs or len(result.placements) != instance.jobs:
        return None
    distances = instance.distances()
    used = [0] * len(instance.capacities)
    total = 0
    for job, agent in agent_of.items():
        used[agent] += instance.loads[agent][int(job[1:])]
        total += distances[agent][int(job[1:])]
    if any(load > cap for load, cap in zip(used, instance.capacities, strict=True)):
        return None
    return instance.value_of(total)


def carrying_of(instance: GapInstance, distance_total: int) -> int:
    """The carrying wish of an assignment of all jobs."""
    return distance_total * BATCH_G + TRIP_G_M * instance.jobs
