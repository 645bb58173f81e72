"""Valid plans that no solver made: batches in a random order, each to a random home with room."""

from __future__ import annotations

import random

from apps.planning.core.lookup import Index
from apps.planning.core.problem import Problem
from apps.planning.core.result import Result
from apps.planning.core.room import candidate, feed_early, room
from apps.planning.core.standing import Standing
from tests.planning.small_plan import result_of


def greedy_result(problem: Problem, seed: int, *, share: float = 1.0) -> Result:
    """`share` of the batches are tried at all."""
    rng = random.Random(seed)
    standing = Standing(Index(problem), (), ())
    batches = [batch for batch in problem.batches if rng.random() < share]
    rng.shuffle(batches)
    for batch in batches:
        options = [
            (pair.digester, day)
            for pair in standing.index.homes_near[batch.source]
            for day in standing.index.collection_days(batch)
        ]
        rng.shuffle(options)
        for digester, day in options:
            it = candidate(standing, batch, digester, day)
            found = room(it)
            if found.is_open:
                standing.put(batch.code, digester, day, feed_early(it, found.fit_g))
    return result_of(problem, standing.placements(), standing.feeds())
