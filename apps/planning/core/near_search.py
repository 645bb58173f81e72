"""A plan bettered around a few homes, soon: small steps, so that none overruns the time.

The plan of a whole neighbourhood is `solve`'s; here a change has just been made to one, and
whoever asked waits for the answer.
"""

from __future__ import annotations

import time
from collections.abc import Iterable

from apps.planning.core.adopt import Grams, adopt_plan, keep_grams
from apps.planning.core.arrays import build_model
from apps.planning.core.canonical import sort_problem
from apps.planning.core.exchange import Exchange
from apps.planning.core.improve import (
    CARRY,
    CHANGE,
    FEED,
    FILL,
    PLACE,
    VISIT,
    near_homes,
    take_proposal,
)
from apps.planning.core.problem import Problem
from apps.planning.core.result import Result
from apps.planning.core.whole_grams import round_to_grams

STAGES = (FEED, VISIT, CHANGE, FILL, PLACE, CARRY)
BLOCK = 12
"""Homes that exchange what they get."""
TRIES = 40
"""Exchanges tried for a wish."""
REST_SECONDS = 0.25
"""Kept of the time for whole grams and figures, and for a step that ends a little late."""


def better_around(
    problem: Problem,
    incumbent: Result,
    homes: Iterable[str],
    *,
    work: int,
    seconds: float | None = None,
    seed: int = 0,
) -> Grams | None:
    """The incumbent, which keeps all limits, bettered wish by wish around `homes` (codes) within
    `work` and `seconds`, all told; None where pins cannot be kept."""
    end = None if seconds is None else time.monotonic() + seconds - REST_SECONDS
    problem = sort_problem(problem)
    model = build_model(problem)
    near = near_homes(model)
    adopted = adopt_plan(model, incumbent, near, seed=seed)
    if adopted is None:
        return None
    named = set(homes)
    around = {h for h, digester in enumerate(problem.digesters) if digester.code in named}
    around |= adopted.unfit
    block = sorted({*around, *near_by(near, around, BLOCK - len(around))})
    state = adopted.state

    def is_over() -> bool:
        return end is not None and time.monotonic() >= end

    for stage in STAGES:
        if block and state.work < work and not is_over():
            exchange = Exchange(state, block, stage, seed=seed)
            left = work - state.work
            proposal = exchange.search(
                tries=TRIES, work=left, around=around, seed=f"{seed}", is_over=is_over
            )
            take_proposal(state, proposal)
    return keep_grams(adopted, incumbent, round_to_grams(model, state.x))


def near_by(near: list[list[int]], around: set[int], count: int) -> list[int]:
    """The `count` homes nearest to those `around`, each giving one in turn."""
    ranks = {
        other: min(near[h].index(other) for h in around if other in near[h])
        for other in set().union(*(near[h] for h in around))
        if other not in around
    }
    return sorted(ranks, key=lambda other: (ranks[other], other))[: max(count, 0)]
