"""A plan bettered around a few homes, soon: small steps, so that none overruns the time.

The plan of a whole neighbourhood is `solve`'s; here a change has just been made to one, and
whoever asked waits for the answer.
"""

from __future__ import annotations

import time
from collections.abc import Iterable
from dataclasses import replace

from apps.planning.core.adopt import Grams, adopt_plan, keep_grams
from apps.planning.core.arrays import build_model
from apps.planning.core.canonical import sort_problem
from apps.planning.core.improve import (
    CARRY,
    CHANGE,
    FEED,
    FILL,
    PLACE,
    VISIT,
    Stage,
    State,
    improve_homes,
    near_homes,
)
from apps.planning.core.problem import Problem
from apps.planning.core.result import Result
from apps.planning.core.whole_grams import round_to_grams

SIZE = 3
"""Homes re-planned at a time."""
CHOICES = 12
"""Visits not in the plan that one step may decide on: with more its root node takes seconds."""
STAGES = (FEED, VISIT, CHANGE, FILL, PLACE, CARRY)
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
    `work` simplex iterations and `seconds`, all told; None where pins cannot be kept."""
    end = None if seconds is None else time.monotonic() + seconds - REST_SECONDS
    problem = sort_problem(problem)
    model = build_model(problem)
    near = near_homes(model)
    adopted = adopt_plan(model, incumbent, near, seed=seed)
    if adopted is None:
        return None
    named = set(homes)
    around = {h for h, digester in enumerate(problem.digesters) if digester.code in named}
    groups = [sorted([h, *near[h][: SIZE - 1]]) for h in sorted(around | adopted.unfit)]
    for stage in STAGES:
        step = replace(stage, choices=min(stage.choices, CHOICES))
        _search(adopted.state, groups, step, work, end, seed)
    return keep_grams(adopted, incumbent, round_to_grams(model, adopted.state.x))


def _search(
    state: State, groups: list[list[int]], stage: Stage, work: int, end: float | None, seed: int
) -> None:
    """Each group until none is bettered, the work done or the time over."""
    gained = True
    while gained:
        gained = False
        for group in groups:
            left = None if end is None else end - time.monotonic()
            if state.work >= work or (left is not None and left <= 0):
                return
            gained |= improve_homes(state, group, stage, seed=seed, seconds=left)
