"""Blocks of neighbouring homes, each planned by a dive of its own.

Blocks that share no source cannot disturb each other, so they are planned at the same time,
from the same plan, and put into it in order: the result does not hang on how many threads
there are (the engine lets go of Python's lock while it runs).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor

from apps.planning.core.dive import Dive
from apps.planning.core.improve import State, columns_of, is_better
from apps.planning.core.model import Floats, Ints, Model
from apps.planning.core.relax import aim, take_part

THREADS = 2
WAVE = 8
"""Blocks planned from the same plan at most."""


def group_homes(
    near: list[list[int]],
    size: int,
    *,
    within: set[int] | None = None,
    first: Iterable[int] = (),
) -> list[list[int]]:
    """Homes (all, or those `within`) in groups of neighbours of at most `size`, beginning
    around those named `first`."""
    left = set(range(len(near))) if within is None else set(within)
    groups = []
    for h in [*first, *sorted(left)]:
        if h not in left:
            continue
        group = [h]
        left.discard(h)
        frontier = list(near[h])
        while frontier and len(group) < size:
            other = frontier.pop(0)
            if other in left:
                left.discard(other)
                group.append(other)
                frontier += near[other]
        groups.append(sorted(group))
    return groups


def make_waves(model: Model, groups: list[list[int]]) -> list[list[list[int]]]:
    """The groups in waves; no two groups of a wave touch the same source."""
    if model.problem.rules.change_budget is not None:
        return [[group] for group in groups]  # The budget is shared by all.
    touched = [set[int]().union(*(model.sources_near[h] for h in group)) for group in groups]
    waves: list[list[int]] = []
    busy: list[set[int]] = []
    first = 0
    for number, sources in enumerate(touched):
        for at in range(first, len(waves)):
            if len(waves[at]) < WAVE and not busy[at] & sources:
                waves[at].append(number)
                busy[at] |= sources
                break
        else:
            waves.append([number])
            busy.append(set(sources))
        while first < len(waves) and len(waves[first]) >= WAVE:
            first += 1
    return [[groups[number] for number in wave] for wave in waves]


def dive_blocks(
    state: State,
    groups: list[list[int]],
    weights: Floats,
    *,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
) -> list[list[int]]:
    """Re-plans each group by a dive, keeping what is better; returns the groups that gained."""
    gained: list[list[int]] = []

    def dive(group: list[int]) -> tuple[Ints, Floats] | None:
        return None if is_over() else _dive(state, group, weights, seed)

    with ThreadPoolExecutor(THREADS) as pool:
        for wave in make_waves(state.model, groups):
            answers = list(pool.map(dive, wave)) if len(wave) > 1 else [dive(wave[0])]
            for group, answer in zip(wave, answers, strict=True):
                state.steps += 1
                if answer is not None:
                    state.move(*answer)
                    gained.append(group)
    return gained


def _dive(state: State, homes: list[int], weights: Floats, seed: int) -> tuple[Ints, Floats] | None:
    """A better plan for a block, as columns and their values; None when none was found."""
    model = state.model
    columns = columns_of(model, homes)
    part = take_part(model, columns, state.x, state.activity)
    found = Dive(model, columns, aim(part, weights), state.x).run(seed)
    if found is None or not is_better(part.costs @ found, part.costs @ state.x[columns]):
        return None
    return columns, found
