"""Turns over all homes: blocks of neighbours exchange what they get, the worst off first.

Blocks that share no source are searched at the same time, as those of `blocks` are.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from apps.planning.core.blocks import THREADS, WAVE, group_homes
from apps.planning.core.exchange import Exchange
from apps.planning.core.improve import TIE, Proposal, Stage, State, take_proposal
from apps.planning.core.model import KG, LEFT, Floats

BLOCK = 20
"""Homes in a block."""
TRIES = 10
"""Exchanges tried in a block before another has its turn."""
MOST_TRIES = 10_000
"""Where there is one block only."""
LOOK_AHEAD = 40
"""Blocks among which a wave is looked for."""


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
) -> bool:
    """Searches every block once, the worst off first; True if there is now less of the wish.

    Each turn draws other borders. `around`: only blocks around these homes, and exchanges that
    reach them. `work`: the state's work at which to stop. `asleep` remembers at which step a
    block was last searched without gain; it is searched again only when one of its homes has
    changed since."""
    before = state.wishes()[stage.hold]
    blocks = _list_blocks(state, near, stage, asleep, turn, around, seed)
    tries = TRIES if len(blocks) > 1 else MOST_TRIES

    def search(block: list[int]) -> Proposal:
        exchange = Exchange(state, block, stage, seed=seed)
        return exchange.search(
            tries=tries,
            work=work - state.work,
            around=around,
            seed=f"{seed}/{turn}/{stage.hold}/{block[0]}",
            is_over=is_over,
        )

    with ThreadPoolExecutor(THREADS) as pool:
        while blocks and state.work < work and not is_over():
            wave = _next_wave(state, blocks)
            proposals = list(pool.map(search, wave)) if len(wave) > 1 else [search(wave[0])]
            for block, proposal in zip(wave, proposals, strict=True):
                if take_proposal(state, proposal):
                    state.changed.update(dict.fromkeys(block, state.steps))
                else:
                    asleep[stage.hold, *block] = state.steps
    return bool(state.wishes()[stage.hold] < before - TIE[stage.hold])


def _next_wave(state: State, blocks: list[list[int]]) -> list[list[int]]:
    """Takes from `blocks` the first and those that share no source with one taken."""
    wave: list[list[int]] = []
    busy: set[int] = set()
    limited = state.model.problem.rules.change_budget is not None
    for block in blocks[: LOOK_AHEAD if not limited else 1]:
        sources = set[int]().union(*(state.model.sources_near[h] for h in block))
        if not busy & sources and len(wave) < WAVE:
            wave.append(block)
            busy |= sources
    for block in wave:
        blocks.remove(block)
    return wave


def _list_blocks(
    state: State,
    near: list[list[int]],
    stage: Stage,
    asleep: dict[tuple[int, ...], int],
    turn: int,
    around: set[int] | None,
    seed: int,
) -> list[list[int]]:
    """The blocks of a turn, in order; none that was tried in vain since a home of it changed."""
    loss = loss_by_home(state, stage)
    if around is None:
        first = random.Random(f"{seed}/{turn}").sample(range(len(near)), len(near)) if turn else []
        blocks = group_homes(near, BLOCK, first=first)
    else:
        cores = group_homes(near, BLOCK // 2, within=around)
        blocks = [sorted({*core, *near[core[0]][: BLOCK - len(core)]}) for core in cores]
    fresh = [
        block
        for block in blocks
        if loss[block].sum() > stage.close / 10
        and (
            (tried := asleep.get((stage.hold, *block))) is None
            or any(state.changed.get(h, -1) > tried for h in block)
        )
    ]
    return sorted(fresh, key=lambda block: (-round(float(loss[block].sum()), 6), block))
