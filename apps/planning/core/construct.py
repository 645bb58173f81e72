"""A first plan: what is pinned and started, then block after block of homes.

A block's relaxation costs more than in proportion to its homes, so a town is planned in
blocks of neighbours; each block first takes only what its targets need, so that the first
does not eat what the next is short of.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from apps.planning.core.blocks import dive_blocks, group_homes
from apps.planning.core.check_problem import Fault, ProblemError
from apps.planning.core.engine import solve_whole
from apps.planning.core.improve import TIE, State
from apps.planning.core.model import BELOW, Floats, Model
from apps.planning.core.pins import find_pins_to_lift, pinned_columns
from apps.planning.core.relax import FIRST_WISHES, aim, take_part

WHOLE_UP_TO = 24
"""Homes that are still planned in one block."""
BLOCK = 20
"""Homes in a block while only targets are filled."""
PLACE_BLOCK = 10
"""Homes in a block while all that caps allow is placed: its relaxation is much slower."""
HEAL_BLOCK = 12
"""Homes re-planned around one that is still under its minimum; two more each round."""
NEED_WISHES = np.array([1e3, 3e2, 1e2, 1.0, 0.0, 1e-4, 0.0, 0.0])
"""Search weights of a block's first turn: targets, from near."""


def start_plan(model: Model, *, seed: int = 0) -> State:
    """The plan that does nothing but what is pinned and started, and feeds the stock.

    Raises `ProblemError` naming the fewest pins to lift when they contradict."""
    zero = np.zeros(len(model.lower))
    nothing = np.zeros(model.matrix.shape[0])
    free = pinned_columns(model)
    part = take_part(model, np.flatnonzero(free), zero, nothing, keep_start=False)
    answer = solve_whole(aim(part, FIRST_WISHES), seed=seed, gap=1e-3, nodes=2000)
    if answer.x is None:
        # A pin may need company at its home, to keep a share.
        forced = model.visits.digester[model.lower[model.visits.column] > 0.5]
        free[np.isin(model.home, np.unique(forced))] = True
        part = take_part(model, np.flatnonzero(free), zero, nothing, keep_start=False)
        answer = solve_whole(aim(part, FIRST_WISHES), seed=seed, gap=1e-3, nodes=2000)
    if answer.x is None:
        lift = find_pins_to_lift(model.problem, seed=seed)
        names = "; ".join(f"{p.batch} to {p.digester} on day {p.day}" for p in lift)
        message = (
            f"cannot all be kept. Lifting the fewest helps: {names}."
            if lift
            else "the started pickups alone pass a limit; record what really happened."
        )
        raise ProblemError([Fault("pins", message)], lift)
    x = zero
    x[part.columns] = answer.x
    x[model.integral] = np.rint(x[model.integral])
    return State.at(model, x)


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
        whole = [list(range(count))] if count else []
        dive_blocks(state, whole, FIRST_WISHES, seed=seed, is_over=is_over)
        return
    groups = group_homes(near, BLOCK)
    dive_blocks(state, groups, NEED_WISHES, seed=seed, is_over=is_over)
    heal(state, near, seed=seed, is_over=is_over)
    groups = group_homes(near, PLACE_BLOCK)
    dive_blocks(state, groups, FIRST_WISHES, seed=seed, is_over=is_over)
    heal(state, near, seed=seed, is_over=is_over)


def mend_plan(
    state: State,
    near: list[list[int]],
    homes: set[int],
    *,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
) -> None:
    """Re-plans `homes` with their neighbours, where that is better."""
    groups = group_homes(near, PLACE_BLOCK // 2, within=homes)
    wider = [sorted({*group, *near[group[0]][: PLACE_BLOCK - len(group)]}) for group in groups]
    dive_blocks(state, wider, FIRST_WISHES, seed=seed, is_over=is_over)
    heal(state, near, only=homes, seed=seed, is_over=is_over)


def heal(
    state: State,
    near: list[list[int]],
    *,
    only: set[int] | None = None,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
) -> None:
    """Dives around the homes that are under their minimum, the hungriest first, round after
    round; a home that could not be helped is tried again when a neighbour's plan changed.
    `only`: these homes alone."""
    hopeless: set[int] = set()
    for number in range(HEAL_ROUNDS):
        below = below_by_home(state)
        hungry = [h for h in np.argsort(-below, kind="stable").tolist() if below[h] > TIE[BELOW]]
        hungry = [h for h in hungry if only is None or h in only]
        groups: dict[int, list[int]] = {}
        taken: set[int] = set()
        for h in hungry:
            if h not in taken and h not in hopeless:
                groups[h] = sorted([h, *near[h][: HEAL_BLOCK + 2 * number - 1]])
                taken.update(groups[h])
        gained = dive_blocks(state, list(groups.values()), NEED_WISHES, seed=seed, is_over=is_over)
        if not gained or is_over():
            return
        changed = {h for group in gained for h in group}
        hopeless |= set(groups)
        hopeless = {h for h in hopeless if not changed & set(near[h][: HEAL_BLOCK // 2])}


HEAL_ROUNDS = 8


def below_by_home(state: State) -> Floats:
    """What each home lacks to its minimum (kg VS)."""
    model = state.model
    columns = np.flatnonzero(model.costs[BELOW])
    below = np.zeros(len(model.home_columns))
    np.add.at(below, model.home[columns], state.x[columns])
    return below
