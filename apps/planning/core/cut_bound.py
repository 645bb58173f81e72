"""A tighter bound of what is left over where homes are few, found beside the search.

The relaxation splits what a source has over more homes than it may serve; cutting planes (here
the engine's) see that it cannot. As soon as the search has settled the wishes before it, they
are looked for in a thread of their own."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from apps.planning.core.arrays import build_model
from apps.planning.core.engine import bound_whole
from apps.planning.core.model import LEFT, WISH_UNITS, Floats, Model
from apps.planning.core.relax import aim, whole_part

UP_TO = 40
"""Homes up to which cuts are worth their time."""
ROUNDS = 10
"""Rounds of cuts: about as long as the search goes on beside them."""
SPARE = 1e-2
"""What the wishes before may still get worse by, in model units, for the bound to hold."""


@dataclass(frozen=True)
class CutBound:
    """A bound on its way, for plans whose wishes before are at most `held` (model units)."""

    held: Floats
    _found: Future[float]

    @classmethod
    def begin(cls, model: Model, wishes: Floats, *, seed: int = 0) -> CutBound | None:
        """For plans at least as good as one with `wishes` in all before what is left over;
        None where there are too many homes, or nothing is left over."""
        if len(model.problem.digesters) > UP_TO or wishes[LEFT] <= 0:
            return None
        held = np.maximum(wishes[:LEFT], 0.0) + SPARE
        exact = build_model(model.problem, room_g=0)

        def search() -> float:
            most = {
                k: float(held[k] - exact.offsets[k]) for k in range(LEFT) if np.any(exact.costs[k])
            }
            only = np.zeros(len(wishes))
            only[LEFT] = 1.0
            found = bound_whole(aim(whole_part(exact), only, most), rounds=ROUNDS, seed=seed)
            return found + float(exact.offsets[LEFT])

        pool = ThreadPoolExecutor(1)
        found = pool.submit(search)
        pool.shutdown(wait=False)
        return cls(held, found)

    def of(self, values: Sequence[float]) -> float:
        """The bound in grams for a plan with these `values`; 0 where it does not hold."""
        before = np.array(values[:LEFT]) / WISH_UNITS[:LEFT]
        best = self._found.result()
        if np.any(before > self.held) or not np.isfinite(best):
            return 0.0
        room = FLOAT_ROOM * (1.0 + abs(best))
        return float((best - room) * WISH_UNITS[LEFT])


FLOAT_ROOM = 1e-6
"""Relative room for float noise, on the safe side."""
