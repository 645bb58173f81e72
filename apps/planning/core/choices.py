"""Plans that are nothing but choices: every batch whole, in one way at each home.

First from the plans of single homes and their prices, then by re-planning a few homes."""

from __future__ import annotations

from collections.abc import Callable

from apps.planning.core.home_columns import choose_by_homes
from apps.planning.core.improve import State
from apps.planning.core.model import Model
from apps.planning.core.polish import polish

CHOICES_WORK = 200_000
"""Simplex iterations that the search takes at most when nobody says how many."""


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
    choose_by_homes(state, work=work, seed=seed, is_over=is_over)
    polish(state, near, work=work, seed=seed, is_over=is_over)
