"""Re-plans of a few homes drawn at random, for plans that are nothing but choices.

There a group's program is small, so that larger groups than elsewhere can be searched deeply;
what is gained comes from combinations that no fixed order of groups meets."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable

import numpy as np

from apps.planning.core.engine import solve_relaxation, solve_whole
from apps.planning.core.improve import (
    CARRY,
    FEED,
    FILL,
    HOLD,
    PLACE,
    TIE,
    Stage,
    State,
    columns_of,
    is_better,
)
from apps.planning.core.relax import aim, fix_columns, take_part

SIZES = (3, 5, 8)
"""Homes in a group: few until that brings nothing more, then more."""
MOST_OF = 0.6
"""Part of all homes that a group may be at most."""
NODES = 100
IDLE_DRAWS = 3
"""Draws a home without any gain after which a size ends."""
NEAR = 12
"""Groups are drawn among this many homes around one."""


def polish(
    state: State,
    near: list[list[int]],
    *,
    work: int,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
) -> None:
    """Improves wish after wish, those before held, until the state's `work` is reached or
    nothing more is found."""
    largest = max(2, int(MOST_OF * len(near)))
    draw = random.Random(f"{seed}/polish")
    for stage in (FEED, FILL, PLACE, CARRY):
        for size in sorted({min(size, largest) for size in SIZES}):
            if state.wishes()[stage.hold] <= TIE[stage.hold]:
                continue
            asleep: dict[tuple[int, ...], int] = {}
            idle = 0
            while idle < IDLE_DRAWS * len(near) and state.work < work and not is_over():
                home = draw.randrange(len(near))
                others = near[home][:NEAR]
                group = sorted([home, *draw.sample(others, min(size - 1, len(others)))])
                key = tuple(group)
                idle += 1
                if all(state.changed.get(g, -1) <= asleep.get(key, -2) for g in group):
                    continue
                if search_group(state, group, stage, seed=seed):
                    state.changed.update(dict.fromkeys(group, state.steps))
                    idle = 0
                asleep[key] = state.steps


def search_group(state: State, homes: Iterable[int], stage: Stage, *, seed: int = 0) -> bool:
    """Re-plans `homes` by the stage's wishes; True if the plan got better.

    Only choices are left out of which the local relaxation proves that no better plan makes
    them."""
    columns = columns_of(state.model, homes)
    part = take_part(state.model, columns, state.x, state.activity)
    start = state.x[columns]
    before = part.costs @ start
    program = aim(part, stage.weights, {k: float(before[k]) + HOLD for k in range(stage.hold)})
    state.steps += 1
    relaxed = solve_relaxation(program, seed=seed)
    state.work += relaxed.iterations
    if relaxed.x is None or relaxed.reduced_costs is None:
        return False
    gain = float(program.cost @ start) - relaxed.value
    if gain < stage.close:
        return False
    hopeless = program.integral & (start < 0.5) & (relaxed.reduced_costs > gain)
    answer = solve_whole(
        fix_columns(program, hopeless, np.zeros(len(start))),
        start=start,
        seed=seed,
        nodes=NODES,
        close=stage.close,
    )
    state.work += answer.iterations
    if answer.x is None:
        return False
    x = answer.x.copy()
    x[program.integral] = np.rint(x[program.integral])
    if not is_better(part.costs @ x, before):
        return False
    state.move(columns, x)
    return True
