"""Turns over all homes: groups of neighbours are re-planned, the worst off first.

Groups that share no source are searched at the same time, as the blocks of `blocks` are.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from apps.planning.core.blocks import THREADS, WAVE
from apps.planning.core.improve import Proposal, Stage, State, propose, take_proposal
from apps.planning.core.model import KG, LEFT, Floats


def loss_by_home(state: State, stage: Stage) -> Floats:
    """What each home could have had more of the stage's wish (model units, a guess that only
    orders the search)."""
    model = state.model
    cost = model.costs[stage.hold]
    own = np.zeros(len(model.home_columns))
    mine = np.flatnonzero((model.home >= 0) & (cost > 0))
    np.add.at(own, model.home[mine], cost[mine] * state.x[mine])
    shared = np.flatnonzero((model.home < 0) & (cost > 0) & (state.x > 1e-6))
    if len(shared):
        own += [np.isin(columns, shared).sum() for columns in model.home_columns]
    if stage.hold == LEFT and len(model.flows.batch):
        left = np.array([b.amount_g / KG for b in model.problem.batches])
        left -= np.bincount(
            model.flows.batch, weights=state.x[: len(model.flows.batch)], minlength=len(left)
        )
        seen = np.unique(np.stack([model.flows.batch, model.flows.digester]), axis=1)
        np.add.at(own, seen[1], np.maximum(left, 0)[seen[0]])
    return own


def sweep(
    state: State,
    near: list[list[int]],
    stage: Stage,
    asleep: dict[tuple[int, ...], int],
    turn: int,
    *,
    around: set[int] | None = None,
    work: int = 10**9,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
    seconds_left: Callable[[], float | None] = lambda: None,
) -> int:
    """Re-plans every home once, in groups, the worst off first; returns how often it helped.

    Groups are drawn among neighbours by `seed` and `turn`, so that each turn sees others; they
    grow by one home every second turn. `around`: only groups drawn for these
    homes. `work`: the state's simplex iterations at which to stop.

    `asleep` remembers at which step a group was last tried; it is tried again only when one of
    its homes has changed since."""
    helped = 0
    groups = _list_groups(state, near, stage, asleep, turn, around, seed)

    def search(group: list[int]) -> Proposal | None:
        if is_over():
            return None
        return propose(state, group, stage, turn=turn, seed=seed, seconds=seconds_left())

    with ThreadPoolExecutor(THREADS) as pool:
        while groups and state.work < work and not is_over():
            wave = _next_wave(state, groups)
            proposals = list(pool.map(search, wave)) if len(wave) > 1 else [search(wave[0])]
            for group, proposal in zip(wave, proposals, strict=True):
                if proposal is None:
                    continue
                if take_proposal(state, proposal):
                    helped += 1
                    state.changed.update(dict.fromkeys(group, state.steps))
                asleep[stage.hold, *group] = state.steps
    return helped


def _next_wave(state: State, groups: list[list[int]]) -> list[list[int]]:
    """Takes from `groups` the first and those that share no source with one taken."""
    wave: list[list[int]] = []
    busy: set[int] = set()
    limited = state.model.problem.rules.change_budget is not None
    for group in groups[: LOOK_AHEAD if not limited else 1]:
        sources = set[int]().union(*(state.model.sources_near[h] for h in group))
        if not busy & sources and len(wave) < WAVE:
            wave.append(group)
            busy |= sources
    for group in wave:
        groups.remove(group)
    return wave


SMALLEST, GROUPS = 3, 3
"""Where homes are few: groups start so small that all homes make some, but not smaller."""
LOOK_AHEAD = 40
"""Groups among which a wave is looked for."""


def _list_groups(
    state: State,
    near: list[list[int]],
    stage: Stage,
    asleep: dict[tuple[int, ...], int],
    turn: int,
    around: set[int] | None,
    seed: int,
) -> list[list[int]]:
    """The groups of a turn, in order; none that was tried since one of its homes changed."""
    loss = loss_by_home(state, stage)
    draw = random.Random(f"{seed}/{turn}/{stage.hold}")
    size = stage.size
    if stage.turns > 1:
        size = min(size, max(SMALLEST, len(near) // GROUPS)) + turn // 2
    taken: set[int] = set()
    groups = []
    for h in np.argsort(-loss, kind="stable").tolist():
        if around is not None and h not in around:
            continue
        if h in taken or loss[h] <= stage.close / 10:
            continue
        group = sorted([h, *_draw_others(draw, near[h], taken, turn, size - 1)])
        taken.update(group)
        tried = asleep.get((stage.hold, *group))
        if tried is None or any(state.changed.get(g, -1) > tried for g in group):
            groups.append(group)
    return groups


def _draw_others(
    draw: random.Random, near: list[int], taken: set[int], turn: int, count: int
) -> list[int]:
    """Neighbours to go with a home: the nearest on the first turn, then drawn, near ones
    rather; those already re-planned in this turn only when no others are left."""
    fresh = [g for g in near if g not in taken]
    if turn > 0:
        fresh.sort(key=lambda g: draw.random() * (2 + near.index(g)))
    return (fresh + [g for g in near if g in taken])[:count]
