"""The few choices that prices leave open, searched all at once.

What a choice costs its home beyond its best plan, added to the bound that the prices prove, is
the least that any plan with it costs: where that is no better than the plan there is, the choice
is closed (reduced cost fixing, from memory). Where the bound is near, few are left.
"""

from __future__ import annotations

import numpy as np

from apps.planning.core.engine import solve_whole
from apps.planning.core.home_columns import HomeColumns
from apps.planning.core.improve import CARRY, HOLD, State, is_better
from apps.planning.core.relax import aim, fix_columns, whole_part

CORE_UP_TO = 800
"""Choices left open up to which they are searched all at once."""
CORE_NODES = 2_000


def search_core(state: State, columns: HomeColumns, *, seed: int = 0) -> None:
    """Where prices prove most choices hopeless, searches the few that are left all at once for
    less carrying, the wishes before it held."""
    model = state.model
    closed = columns.hopeless(columns.value_of(state.x))
    shut = np.zeros(len(state.x), dtype=bool)
    shut[closed] = True
    shut &= state.x < 0.5
    if int((model.integral & ~shut).sum()) > CORE_UP_TO:
        return
    before = model.costs @ state.x
    held = {k: float(before[k]) + HOLD for k in range(CARRY.hold)}
    answer = solve_whole(
        fix_columns(aim(whole_part(model), CARRY.weights, held), shut, np.zeros(len(shut))),
        start=state.x,
        seed=seed,
        nodes=CORE_NODES,
        close=CARRY.close,
    )
    state.steps += 1
    state.work += answer.iterations
    if answer.x is None:
        return
    x = answer.x.copy()
    x[model.integral] = np.rint(x[model.integral])
    if is_better(model.costs @ x, before):
        state.move(np.arange(len(x)), x)
