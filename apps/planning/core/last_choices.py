"""The few choices that prices leave open, searched all at once.

What a choice costs its home beyond its best plan, added to the bound that the prices prove, is
the least that any plan with it costs: where that is no better than the plan there is, the choice
is closed (reduced cost fixing, from memory). Where the bound is near, few are left.
"""

from __future__ import annotations

import numpy as np

from apps.planning.core.engine import solve_whole
from apps.planning.core.home_columns import HomeColumns, weights_for
from apps.planning.core.improve import CARRY, HOLD, State, is_better
from apps.planning.core.model import CARRYING, LEFT, Model
from apps.planning.core.relax import aim, fix_columns, whole_part

CORE_UP_TO = 800
"""Choices left open up to which they are searched all at once."""
NEAR = 8
"""Steps of carrying between plan and bound up to which that ends soon."""
CORE_NODES = 2_000


ALMOST = 0.99
"""Of a step: what is left for float noise, and for the wishes after carrying."""


def carrying_step(model: Model, *, all_placed: bool) -> float:
    """What the carrying of two plans of whole batches differs by at least (kg km) where it
    differs, so that plans less than that better need not be looked for; `all_placed`: of plans
    that leave no batch."""
    problem, flows = model.problem, model.flows
    metres = np.array([pair.distance_m for pair in problem.pairs], dtype=np.int64)
    grams = np.array([batch.amount_g for batch in problem.batches], dtype=np.int64)
    cost = grams[flows.batch] * np.where(flows.pair >= 0, metres[flows.pair], 0)
    trip_g_m = problem.rules.trip_g_m
    alone = np.bincount(flows.visit)[flows.visit] == 1
    cost += np.where(alone, trip_g_m, 0)
    if all_placed:
        batches, first = np.unique(flows.batch, return_index=True)
        cost -= cost[first][np.searchsorted(batches, flows.batch)]
    return int(np.gcd.reduce(np.append(cost, 0 if alone.all() else trip_g_m))) / 1e6


def search_core(state: State, columns: HomeColumns, *, seed: int = 0) -> bool:
    """Where prices prove most choices hopeless, searches the few that are left all at once for
    less carrying, the wishes before it held; True when no plan with less is left."""
    model = state.model
    step = carrying_step(model, all_placed=bool(state.wishes()[LEFT] < HOLD))
    close = max(CARRY.close, ALMOST * step)
    one = weights_for(model)[CARRYING] * close
    worth = columns.value_of(state.x) - one
    if worth - columns.bound > (NEAR - 1) * one:
        return False
    shut = (columns.least_with() > worth) & (state.x < 0.5)
    if int((model.integral & ~shut).sum()) > CORE_UP_TO:
        return False
    before = model.costs @ state.x
    held = {k: float(before[k]) + HOLD for k in range(CARRY.hold)}
    answer = solve_whole(
        fix_columns(aim(whole_part(model), CARRY.weights, held), shut, np.zeros(len(shut))),
        start=state.x,
        seed=seed,
        nodes=CORE_NODES,
        close=close,
    )
    state.steps += 1
    state.work += answer.iterations
    if answer.x is None:
        return False
    x = answer.x.copy()
    x[model.integral] = np.rint(x[model.integral])
    if is_better(model.costs @ x, before):
        state.move(np.arange(len(x)), x)
    return answer.proved
