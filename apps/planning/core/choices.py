"""Plans that are nothing but choices: every batch whole, in one way at each home.

First from the plans of single homes and their prices, then by re-planning a few homes."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from apps.planning.core.home_columns import HomeColumns, choose_by_homes
from apps.planning.core.improve import HOLD, State
from apps.planning.core.last_choices import search_core
from apps.planning.core.model import CARRYING, Model
from apps.planning.core.polish import polish

CHOICES_WORK = 200_000
"""Simplex iterations that the search takes at most when nobody says how many."""

CORE_WORK = 80_000
"""The part of it kept for the last search."""


def has_only_choices(model: Model) -> bool:
    """Whether nothing is left to decide but which home, if any, gets each batch."""
    return len(model.flows.batch) == len(model.whole) > 0


def plan_choices(
    state: State,
    near: list[list[int]],
    *,
    work: int,
    seed: int = 0,
    is_over: Callable[[], bool] = lambda: False,
) -> None:
    """Betters the state's plan until its `work` is reached or nothing more is found."""
    proved = False

    def is_proved(columns: HomeColumns) -> bool:
        nonlocal proved
        if is_over() or np.any(state.wishes()[:CARRYING] > HOLD):
            return False  # The last search is for less carrying only.
        proved = search_core(state, columns, seed=seed)
        return proved

    columns = choose_by_homes(state, work=work, seed=seed, is_over=is_over, is_proved=is_proved)
    if proved:
        return
    polish(state, near, work=work - CORE_WORK, seed=seed, is_over=is_over)
    if state.work < work and not is_over():
        search_core(state, columns, seed=seed)
