"""Fix-and-optimise: a few homes at a time are re-planned whole, all others staying.

Each step solves the part's program for the first wishes, then, holding those, for carrying
and steadiness. A step is taken only if the plan gets better in the strict order of wishes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from scipy import sparse

from apps.planning.core.engine import solve_relaxation, solve_whole
from apps.planning.core.model import LEFT, Floats, Ints, Model
from apps.planning.core.relax import aim, fix_columns, take_part

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
    """Simplex iterations spent on the search so far."""
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
    """One wish that is improved while those before it are held, and how hard.

    `weights`: the wish at 1, later ones as much less as is worth a tie; wishes up to `hold`
    (exclusive) are held by rows. `size`: homes at a time. `close`: model units of the
    objective that are not worth a search. `choices`: visits not in the plan that one step may
    decide on; more make its root node too long. `turns`: over all homes, at most. `worth`:
    simplex iterations that must be left for it to be begun."""

    weights: Floats
    hold: int
    size: int
    close: float
    gap: float
    nodes: int
    choices: int = 80
    turns: int = 1_000
    worth: int = 0


FEED = Stage(np.array([1.0, 0, 0, 1e-2, 1e-4, 0, 0, 0]), 0, 3, 1e-3, 1e-4, 10)
VISIT = Stage(np.array([0, 1.0, 0, 1e-2, 1e-4, 0, 0, 0]), 1, 3, 0.5, 0.0, 10)
CHANGE = Stage(np.array([0, 0, 1.0, 1e-2, 1e-4, 0, 0, 0]), 2, 3, 0.5, 0.0, 10)
FILL = Stage(np.array([0, 0, 0, 1.0, 1e-4, 0, 0, 0]), 3, 3, 5e-3, 5e-4, 3)
WIDE = Stage(
    np.array([0, 0, 0, 0, 1.0, 1e-3, 0, 0]), 4, 20, 5e-2, 1e-3, 2, choices=30, turns=1, worth=10_000
)
"""A neighbourhood at once, with few choices: what is left over is a matter of who takes what
from whom, all along the chain."""
PLACE = Stage(np.array([0, 0, 0, 0, 1.0, 1e-3, 0, 0]), 4, 4, 5e-2, 1e-3, 2)
CARRY = Stage(np.array([0, 0, 0, 0, 0, 1.0, 1e-2, 1e-4]), 5, 2, 2e-1, 5e-3, 3)

HOLD = 5e-7
"""Float room in rows that hold a wish (half a milligram): with the engine's own less than a tie."""
SMALL = 60
"""Yes/no columns up to which a group is searched without leaving any out."""
SMALL_NODES = 200
WORTH = 0.02
"""A visit left out by the local relaxation comes back in when its reduced cost is under this
part of the distance between plan and relaxation."""


@dataclass(frozen=True)
class Proposal:
    """A better plan for some homes: their columns and values, None when none was found;
    `work`: simplex iterations that it took."""

    columns: Ints
    values: Floats | None
    work: int = 0


def propose(
    state: State,
    homes: Iterable[int],
    stage: Stage,
    *,
    turn: int = 0,
    seed: int = 0,
    seconds: float | None = None,
) -> Proposal:
    """Re-plans `homes` from the state, which stays as it is.

    The local relaxation tells whether anything can be gained, and which visits are worth
    deciding: those that it or the plan uses."""
    model = state.model
    columns = columns_of(model, homes)
    part = take_part(model, columns, state.x, state.activity)
    start = state.x[columns]
    before = part.costs @ start
    if not np.any(part.costs[stage.hold] * start > 0) and stage.hold < LEFT:
        return Proposal(columns, None)  # None of this wish is left to improve here.
    held = {k: float(before[k]) + HOLD for k in range(stage.hold)}
    program = aim(part, stage.weights, held)
    relaxed = solve_relaxation(program, seed=seed, seconds=seconds)
    now = float(program.cost @ start)
    if relaxed.x is None or relaxed.reduced_costs is None or now - relaxed.value < stage.close:
        return Proposal(columns, None)
    is_open = program.integral & (start < 0.5) & (program.lower < 0.5)
    dear = relaxed.reduced_costs > WORTH * (now - relaxed.value)
    idle = is_open & (relaxed.x < 1e-6) & dear
    free = np.flatnonzero(is_open & ~idle)
    if len(free) > stage.choices:
        dearest = np.argsort(relaxed.reduced_costs[free] - relaxed.x[free], kind="stable")
        idle[free[dearest[stage.choices :]]] = True
    nodes = stage.nodes * (1 + turn)
    if program.integral.sum() <= SMALL:
        idle[:] = False
        nodes = max(nodes, SMALL_NODES)
    answer = solve_whole(
        fix_columns(program, idle, np.zeros(len(start))),
        start=start,
        seed=seed,
        nodes=nodes,
        gap=stage.gap,
        close=stage.close,
        seconds=seconds,
    )
    if answer.x is None:
        return Proposal(columns, None, answer.iterations)
    x = answer.x.copy()
    x[part.program.integral] = np.rint(x[part.program.integral])
    better = is_better(part.costs @ x, before)
    return Proposal(columns, x if better else None, answer.iterations)


def take_proposal(state: State, proposal: Proposal) -> bool:
    """Puts a proposal made from this state, or from one that differs only at homes that share
    nothing with its own, into the plan; True if there is something in it."""
    state.steps += 1
    state.work += proposal.work
    if proposal.values is None:
        return False
    state.move(proposal.columns, proposal.values)
    return True


def improve_homes(
    state: State,
    homes: Iterable[int],
    stage: Stage,
    *,
    turn: int = 0,
    seed: int = 0,
    seconds: float | None = None,
) -> bool:
    """Re-plans `homes` from the state; changes it and returns True if it got better."""
    proposal = propose(state, homes, stage, turn=turn, seed=seed, seconds=seconds)
    return take_proposal(state, proposal)
