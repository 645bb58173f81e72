"""Fix-and-optimise: a few homes at a time are re-planned whole, all others staying.

Each step solves the part's program for the first wishes, then, holding those, for carrying
and steadiness. A step is taken only if the plan gets better in the strict order of wishes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from apps.planning.core.arrays import Floats, Ints, Model
from apps.planning.core.engine import solve_whole
from apps.planning.core.relax import (
    FIRST_WISHES,
    SECOND_WISHES,
    aim,
    take_part,
)

TIE = np.array([1e-6, 1e-6, 1e-6, 1e-6, 1e-5, 1e-5, 1e-6, 1e-6])
"""Differences of a wish (model units) that count as none."""


@dataclass
class State:
    """A plan in columns, kept consistent: x satisfies all rows, activity = matrix @ x."""

    model: Model
    x: Floats
    activity: Floats
    steps: int = 0

    @classmethod
    def at(cls, model: Model, x: Floats) -> State:
        return cls(model, x.copy(), model.matrix @ x)

    def wishes(self) -> Floats:
        return np.asarray(self.model.costs @ self.x + self.model.offsets)

    def move(self, columns: Ints, values: Floats) -> None:
        self.activity += self.model.matrix[:, columns] @ (values - self.x[columns])
        self.x[columns] = values


def is_better(one: Floats, other: Floats) -> bool:
    """Whether `one` comes before `other` in the strict order of wishes."""
    for a, b, tie in zip(one, other, TIE, strict=False):
        if a < b - tie:
            return True
        if a > b + tie:
            return False
    return False


def columns_of(model: Model, homes: Iterable[int]) -> Ints:
    """All columns of these homes, and the columns that belong to no home."""
    return np.flatnonzero((model.home < 0) | np.isin(model.home, list(homes)))


def near_homes(model: Model) -> list[list[int]]:
    """For each home the others by how much supply they share, most first."""
    count = len(model.problem.digesters)
    visits = model.visits
    share = np.zeros((count, count)) if count <= 2500 else None
    assert share is not None
    open_visit = model.upper[visits.column] > 0
    source, home = visits.source[open_visit], visits.digester[open_visit]
    weight = visits.cap_kg[open_visit]
    reach = np.zeros((len(model.problem.sources), count))
    np.maximum.at(reach, (source, home), weight)
    share = reach.T @ reach
    np.fill_diagonal(share, -1.0)
    return [
        [int(other) for other in np.argsort(-share[h], kind="stable") if share[h, other] > 0]
        for h in range(count)
    ]


def improve_homes(
    state: State,
    homes: Iterable[int],
    *,
    seed: int = 0,
    nodes: int = 20,
    stages: tuple[bool, bool] = (True, True),
    is_over: Callable[[], bool] = lambda: False,
    seconds: float | None = None,
) -> bool:
    """Re-plans `homes` from the state; changes it and returns True if it got better."""
    model = state.model
    columns = columns_of(model, homes)
    part = take_part(model, columns, state.x, state.activity)
    start = state.x[columns]
    before = part.costs @ start
    best, best_value = start, before
    if stages[0]:
        answer = solve_whole(
            aim(part, FIRST_WISHES), start=start, seed=seed, nodes=nodes, gap=1e-4, seconds=seconds
        )
        if answer.x is not None:
            value = part.costs @ answer.x
            if is_better(value[:5], best_value[:5]) or _same(value[:5], best_value[:5]):
                best, best_value = _clean(answer.x, part.program.integral), value
    if stages[1] and not is_over():
        held = {k: float(best_value[k]) + 1e-7 for k in range(5)}
        answer = solve_whole(
            aim(part, SECOND_WISHES, held),
            start=best,
            seed=seed,
            nodes=nodes,
            gap=1e-3,
            seconds=seconds,
        )
        if answer.x is not None:
            value = part.costs @ answer.x
            if is_better(value, best_value):
                best, best_value = _clean(answer.x, part.program.integral), value
    state.steps += 1
    if is_better(best_value, before):
        state.move(columns, best)
        return True
    return False


def _same(one: Floats, other: Floats) -> bool:
    return not is_better(one, other) and not any(
        a > b + tie for a, b, tie in zip(one, other, TIE, strict=False)
    )


def _clean(x: Floats, integral: np.ndarray) -> Floats:  # type: ignore[type-arg]
    out = x.copy()
    out[integral] = np.rint(out[integral])
    return out
