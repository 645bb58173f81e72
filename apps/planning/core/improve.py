"""A plan while it is being improved, and the wishes that are improved in turn.

A step is taken only if the plan gets better in the strict order of wishes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from scipy import sparse

from apps.planning.core.model import Floats, Ints, Model

TIE = np.array([1e-6, 1e-6, 1e-6, 1e-6, 1e-5, 1e-5, 1e-6, 1e-6])
"""Differences of a wish (model units) that count as none."""


@dataclass
class State:
    """A plan in columns, kept consistent: x satisfies all rows, activity = matrix @ x."""

    model: Model
    x: Floats
    activity: Floats
    steps: int = 0
    work: int = 0
    """Simplex iterations spent on the search so far; starts of the engine count for some."""
    changed: dict[int, int] = field(default_factory=dict)
    """The step at which a home's plan last changed."""

    @classmethod
    def at(cls, model: Model, x: Floats) -> State:
        return cls(model, x.copy(), model.matrix @ x)

    def wishes(self) -> Floats:
        return np.asarray(self.model.costs @ self.x + self.model.offsets)

    def move(self, columns: Ints, values: Floats) -> None:
        block = self.model.matrix[:, columns]
        by = np.repeat(values - self.x[columns], np.diff(block.indptr))
        np.add.at(self.activity, block.indices, block.data * by)
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
    """All columns of these homes, and the shared ones that they touch."""
    return np.unique(np.concatenate([model.home_columns[h] for h in homes]))


def near_homes(model: Model) -> list[list[int]]:
    """For each home the others by how much supply they share, most first."""
    visits = model.visits
    usable = model.upper[visits.column] > 0
    reach = sparse.coo_matrix(
        (visits.cap_kg[usable], (visits.source[usable], visits.digester[usable])),
        shape=(len(model.problem.sources), len(model.problem.digesters)),
    ).tocsr()
    share = (reach.T @ reach).tocsr()
    out = []
    for h in range(share.shape[0]):
        others = share.indices[share.indptr[h] : share.indptr[h + 1]]
        weight = share.data[share.indptr[h] : share.indptr[h + 1]]
        order = np.lexsort((others, -np.round(weight, 6)))
        out.append([int(others[i]) for i in order if others[i] != h])
    return out


@dataclass(frozen=True)
class Stage:
    """One wish that is improved while those before it are held.

    `weights`: the wish at 1, later ones as much less as is worth a tie; wishes up to `hold`
    (exclusive) are held by rows. `close`: model units of the objective that are not worth a
    try."""

    weights: Floats
    hold: int
    close: float


FEED = Stage(np.array([1.0, 0, 0, 1e-2, 1e-4, 0, 0, 0]), 0, 1e-3)
VISIT = Stage(np.array([0, 1.0, 0, 1e-2, 1e-4, 0, 0, 0]), 1, 0.5)
CHANGE = Stage(np.array([0, 0, 1.0, 1e-2, 1e-4, 0, 0, 0]), 2, 0.5)
FILL = Stage(np.array([0, 0, 0, 1.0, 1e-4, 0, 0, 0]), 3, 5e-3)
PLACE = Stage(np.array([0, 0, 0, 0, 1.0, 1e-3, 0, 0]), 4, 5e-2)
CARRY = Stage(np.array([0, 0, 0, 0, 0, 1.0, 1e-2, 1e-4]), 5, 2e-1)

HOLD = 5e-7
"""Float room in rows that hold a wish (half a milligram): with the engine's own less than a tie."""


@dataclass(frozen=True)
class Proposal:
    """A better plan for some homes: their columns and values, None when none was found;
    `work` that it took."""

    columns: Ints
    values: Floats | None
    work: int = 0


def take_proposal(state: State, proposal: Proposal) -> bool:
    """Puts a proposal made from this state, or from one that differs only at homes that share
    nothing with its own, into the plan; True if there is something in it."""
    state.steps += 1
    state.work += proposal.work
    if proposal.values is None:
        return False
    state.move(proposal.columns, proposal.values)
    return True
