"""How good any plan could be: a valid bound for each wish, given the wishes before it.

Wish k's bound is the least value that the relaxation allows to plans that are at least as
good as this one in every wish before k. No plan that keeps the order of wishes can beat it.
"""

from __future__ import annotations

import numpy as np

from apps.planning.core.arrays import WISH_UNITS, Floats, build_model
from apps.planning.core.engine import Ladder
from apps.planning.core.problem import Problem
from apps.planning.core.relax import whole_part

FLOAT_ROOM = 1e-6
"""Relative room for float noise, always on the safe side."""


def bound_wishes(problem: Problem, values: Floats, *, seed: int = 0) -> Floats:
    """Bounds in the wishes' own units for a plan with these `values`."""
    bounds = np.zeros(len(values))
    model = build_model(problem, room_g=0)
    ladder = Ladder(whole_part(model).program, seed=seed)
    for k, value in enumerate(values):
        cost = model.costs[k]
        if value > 0 and np.any(cost):
            answer = ladder.minimise(cost)
            if answer.proved:
                best = answer.value + model.offsets[k]
                best -= FLOAT_ROOM * (1.0 + abs(best))
                bounds[k] = max(0.0, best * WISH_UNITS[k])
        if np.any(cost):
            room = value / WISH_UNITS[k]
            ladder.hold(cost, room + FLOAT_ROOM * (1.0 + room) - model.offsets[k])
    return np.minimum(bounds, values)
