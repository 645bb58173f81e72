"""A last pass over a plan of few homes: one wish after another, over all homes at once.

The search re-plans some homes at a time and never sees a gain that takes all of them. Where
the whole model is small enough, HiGHS proves each wish best while those before it are held.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from apps.planning.core.choices import has_only_choices
from apps.planning.core.engine import solve_whole
from apps.planning.core.improve import HOLD
from apps.planning.core.model import Floats, Model
from apps.planning.core.relax import aim, whole_part

WHOLE_UP_TO = 40
"""Yes/no columns up to which any model is finished wish by wish."""
CHOICES_UP_TO = 600
"""The same for a model of nothing but choices; larger ones are better left to `choices`."""
NODES = 1_000
"""Branching nodes a wish may take; the first wish that is not proved with them is the last."""


def is_small(model: Model) -> bool:
    """Whether `finish` ends soon."""
    return int(model.integral.sum()) <= (CHOICES_UP_TO if has_only_choices(model) else WHOLE_UP_TO)


def finish(
    model: Model,
    start: Floats,
    *,
    seed: int = 0,
    seconds_left: Callable[[], float | None] = lambda: None,
) -> tuple[Floats, bool]:
    """The best columns found from `start` (which keeps all rows), in the strict order of
    wishes, and whether every wish was proved."""
    part = whole_part(model)
    x, held = start, dict[int, float]()
    for k, cost in enumerate(model.costs):
        if not np.any(cost):
            continue
        if float(cost @ x + model.offsets[k]) > HOLD:
            answer = solve_whole(
                aim(part, np.eye(len(model.costs))[k], held),
                start=x,
                seed=seed,
                nodes=NODES,
                seconds=seconds_left(),
            )
            if answer.x is None:
                # Proved or not: the engine kept no plan, as when its rows are passed by a hair.
                return x, False
            x = answer.x
            x[model.integral] = np.rint(x[model.integral])
            if not answer.proved:
                return x, False
        held[k] = float(cost @ x) + HOLD
    return x, True
