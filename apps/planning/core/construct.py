"""A first plan: what is pinned and started, then block after block of homes.

A block's relaxation costs more than in proportion to its homes, so a town is planned in
blocks of neighbours; each block first takes only what its targets need, so that the first
does not eat what the next is short of.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from apps.planning.core.arrays import BELOW, SHORTFALL, Floats, Model
from apps.planning.core.check_problem import Fault, ProblemError
from apps.planning.core.dive import Dive
from apps.planning.core.engine import solve_whole
from apps.planning.core.improve import State, columns_of, is_better
from apps.planning.core.pins import find_pins_to_lift, pinned_columns
from apps.planning.core.relax import FIRST_WISHES, aim, fix_columns, take_part, whole_part

WHOLE_UP_TO = 24
"""Homes that are still planned in one block."""
BLOCK = 20
"""Homes in a block while only targets are filled."""
PLACE_BLOCK = 10
"""Homes in a block while all that caps allow is placed: its relaxation is much slower."""
HEAL_BLOCK = 12
"""Homes re-planned around one that is still short."""
NEED_WISHES = np.array([1e3, 3e2, 1e2, 1.0, 0.0, 1e-4, 0.0, 0.0])
"""Search weights of a block's first turn: targets, from near."""


def start_plan(model: Model, *, seed: int = 0) -> State:
    """The plan that does nothing but what is pinned and started, and feeds the stock.

    Raises `ProblemError` naming the fewest pins to lift when they contradict."""
    free = pinned_columns(model)
    program = aim(whole_part(model), FIRST_WISHES)
    zero = np.zeros(len(model.lower))
    answer = solve_whole(fix_columns(program, ~free, zero), seed=seed, gap=1e-3, nodes=2000)
    if answer.x is None:
        # A pin may need company at its home, to keep a share.
        forced = model.visits.digester[model.lower[model.visits.column] > 0.5]
        free[np.isin(model.home, np.unique(forced))] = True
        eased = fix_columns(program, ~free, zero)
        answer = solve_whole(eased, seed=seed, gap=1e-3, nodes=2000)
    if answer.x is None:
        lift = find_pins_to_lift(model.problem, seed=seed)
        names = "; ".join(f"{p.batch} to {p.digester} on day {p.day}" for p in lift)
        message = (
            f"cannot all be kept. Lifting the fewest helps: {names}."
            if lift
            else "the started pickups alone pass a limit; record what really happened."
        )
        raise ProblemError([Fault("pins", message)], lift)
    x = answer.x
    x[model.integral] = np.rint(x[model.integral])
    return State.at(model, x)


def group_homes(near: list[list[int]], size: int) -> list[list[int]]:
    """Homes in groups of neighbours of at most `size`."""
    left = set(range(len(near)))
    groups = []
    for h in range(len(near)):
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


def dive_block(state: State, homes: list[int], weights: Floats, *, seed: int = 0) -> bool:
    """Re-plans a block by a dive; keeps it only if it is better."""
    model = state.model
    columns = columns_of(model, homes)
    part = take_part(model, columns, state.x, state.activity)
    found = Dive(model, columns, aim(part, weights), state.x).run(seed)
    state.steps += 1
    if found is None or not is_better(part.costs @ found, part.costs @ state.x[columns]):
        return False
    state.move(columns, found)
    return True


def build_plan(
    state: State,
    near: list[list[int]],
    *,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
) -> None:
    """Fills the plan that does nothing."""
    count = len(state.model.problem.digesters)
    if count <= WHOLE_UP_TO:
        if count and not is_over():
            dive_block(state, list(range(count)), FIRST_WISHES, seed=seed)
        return
    for group in group_homes(near, BLOCK):
        if is_over():
            return
        dive_block(state, group, NEED_WISHES, seed=seed)
    heal(state, near, seed=seed, is_over=is_over)
    for group in group_homes(near, PLACE_BLOCK):
        if is_over():
            return
        dive_block(state, group, FIRST_WISHES, seed=seed)


def heal(
    state: State,
    near: list[list[int]],
    *,
    around: set[int] | None = None,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
) -> None:
    """Dives around the home that is shortest, again and again, until none gains or one dive
    for every fourth home is made (`around`: only these homes come first)."""
    tried: dict[int, int] = {}
    changed: dict[int, int] = {}
    count = len(near)
    for step in range(max(4, count // 4)):
        loss = short_by_home(state)
        order = np.argsort(-loss, kind="stable").tolist()
        home = next(
            (
                h
                for h in order
                if loss[h] > WORTH_HEALING
                and (around is None or h in around)
                and (
                    h not in tried
                    or any(changed.get(g, -1) > tried[h] for g in near[h][: HEAL_BLOCK // 2])
                )
            ),
            None,
        )
        if home is None or is_over():
            return
        group = sorted([home, *near[home][: HEAL_BLOCK - 1]])
        tried[home] = step
        if dive_block(state, group, NEED_WISHES, seed=seed):
            changed.update(dict.fromkeys(group, step))
            tried[home] = step


WORTH_HEALING = 0.01
"""Weighted kilograms of VS short below which a home is left to the finer search."""


def short_by_home(state: State) -> Floats:
    """Each home's weighted shortage (kg VS), minimum first."""
    model = state.model
    mine = model.home >= 0
    cost = (1e3 * model.costs[BELOW] + model.costs[SHORTFALL]) * state.x
    short = np.bincount(model.home[mine], weights=cost[mine], minlength=len(model.home_columns))
    return short.astype(float)
