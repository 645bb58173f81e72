"""Fix-and-optimise: a few homes at a time are re-planned whole, all others staying.

Each step solves the part's program for the first wishes, then, holding those, for carrying
and steadiness. A step is taken only if the plan gets better in the strict order of wishes.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
from scipy import sparse

from apps.planning.core.arrays import LEFT, Floats, Ints, Model
from apps.planning.core.engine import solve_relaxation, solve_whole
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
    """Which wishes are improved while those before them are held, and how hard.

    `weights`: search weights; wishes up to `hold` (exclusive) are held by rows. `size`: homes
    at a time. `close`: model units of the objective that are not worth a search."""

    weights: Floats
    hold: int
    size: int
    close: float
    gap: float
    nodes: int


FEED = Stage(np.array([1.0, 0, 0, 0, 0, 0, 0, 0]), 0, 3, 1e-3, 1e-4, 10)
VISIT = Stage(np.array([0, 1.0, 0, 0, 0, 0, 0, 0]), 1, 3, 0.5, 0.0, 10)
CHANGE = Stage(np.array([0, 0, 1.0, 0, 0, 0, 0, 0]), 2, 3, 0.5, 0.0, 10)
FILL = Stage(np.array([0, 0, 0, 1.0, 0, 0, 0, 0]), 3, 3, 5e-3, 5e-4, 3)
EAT = Stage(np.array([1e3, 3e2, 1e2, 1.0, 1e-2, 1e-5, 0, 0]), 0, 3, 5e-3, 5e-4, 3)
PLACE = Stage(np.array([0, 0, 0, 0, 1.0, 0, 0, 0]), 4, 3, 5e-2, 1e-3, 2)
CARRY = Stage(np.array([0, 0, 0, 0, 0, 1.0, 1e-2, 1e-4]), 5, 2, 2e-1, 5e-3, 3)

HOLD = 1e-6
"""Float room in rows that hold a wish (a milligram)."""
SMALL = 60
"""Yes/no columns up to which a group is searched without leaving any out."""
SMALL_NODES = 200
CHOICES = 60
"""Visits not in the plan that one step may decide on; more make its root node too long."""
WORTH = 0.02
"""A visit left out by the local relaxation comes back in when its reduced cost is under this
part of the distance between plan and relaxation."""


def improve_homes(
    state: State,
    homes: Iterable[int],
    stage: Stage,
    *,
    turn: int = 0,
    seed: int = 0,
    seconds: float | None = None,
) -> bool:
    """Re-plans `homes` from the state; changes it and returns True if it got better.

    The local relaxation tells whether anything can be gained, and which visits are worth
    deciding: those that it or the plan uses."""
    model = state.model
    columns = columns_of(model, homes)
    part = take_part(model, columns, state.x, state.activity)
    start = state.x[columns]
    before = part.costs @ start
    held = {k: float(before[k]) + HOLD for k in range(stage.hold)}
    program = aim(part, stage.weights, held)
    state.steps += 1
    relaxed = solve_relaxation(program, seed=seed, seconds=seconds)
    now = float(program.cost @ start)
    if relaxed.x is None or relaxed.reduced_costs is None or now - relaxed.value < stage.close:
        return False
    idle = (
        program.integral
        & (relaxed.x < 1e-6)
        & (start < 0.5)
        & (program.lower < 0.5)
        & (relaxed.reduced_costs > WORTH * (now - relaxed.value))
    )
    free = np.flatnonzero(program.integral & (start < 0.5) & (program.lower < 0.5) & ~idle)
    if len(free) > CHOICES:
        dear = np.argsort(relaxed.reduced_costs[free] - relaxed.x[free], kind="stable")
        idle[free[dear[CHOICES:]]] = True
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
    state.work += answer.iterations
    if answer.x is None:
        return False
    x = answer.x.copy()
    x[part.program.integral] = np.rint(x[part.program.integral])
    if is_better(part.costs @ x, before):
        state.move(columns, x)
        return True
    return False


def loss_by_home(state: State, stage: Stage) -> Floats:
    """What each home could have had more, by the stage's weights (model units, a guess that
    only orders the search)."""
    model = state.model
    count = len(model.problem.digesters)
    own = np.zeros(count)
    mine = model.home >= 0
    np.add.at(own, model.home[mine], (np.maximum(stage.weights @ model.costs, 0) * state.x)[mine])
    shared = np.flatnonzero(~mine & (stage.weights @ model.costs > 0) & (state.x > 1e-6))
    if len(shared):
        for h in range(count):
            own[h] += np.isin(model.home_columns[h], shared).sum()
    if stage.weights[LEFT] > 0 and len(model.flows.batch):
        left = np.array([b.amount_g / 1000 for b in model.problem.batches])
        left -= np.bincount(
            model.flows.batch, weights=state.x[: len(model.flows.batch)], minlength=len(left)
        )
        seen = np.unique(np.stack([model.flows.batch, model.flows.digester]), axis=1)
        np.add.at(own, seen[1], stage.weights[LEFT] * np.maximum(left, 0)[seen[0]])
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
    loss = loss_by_home(state, stage)
    draw = random.Random(f"{seed}/{turn}/{stage.hold}")
    size = stage.size + turn // 2
    taken: set[int] = set()
    for h in np.argsort(-loss, kind="stable").tolist():
        if is_over() or state.work >= work:
            break
        if around is not None and h not in around:
            continue
        if h in taken or loss[h] <= stage.close / 10:
            continue
        group = sorted([h, *_draw_others(draw, near[h], taken, turn, size - 1)])
        taken.update(group)
        key = (stage.hold, *group)
        if key in asleep and all(state.changed.get(g, -1) <= asleep[key] for g in group):
            continue
        if improve_homes(state, group, stage, turn=turn, seed=seed, seconds=seconds_left()):
            helped += 1
            for g in group:
                state.changed[g] = state.steps
        asleep[key] = state.steps
    return helped


def _draw_others(
    draw: random.Random, near: list[int], taken: set[int], turn: int, count: int
) -> list[int]:
    """Neighbours to go with a home: the nearest on the first turn, then drawn, near ones
    rather; those already re-planned in this turn only when no others are left."""
    fresh = [g for g in near if g not in taken]
    if turn > 0:
        fresh.sort(key=lambda g: draw.random() * (2 + near.index(g)))
    return (fresh + [g for g in near if g in taken])[:count]
