"""From a problem to a plan: `solve`."""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np

from apps.planning.core.adopt import adopt_plan, keep_grams, replaced_plan
from apps.planning.core.arrays import build_model
from apps.planning.core.bounds import bound_wishes
from apps.planning.core.canonical import hash_problem, sort_problem
from apps.planning.core.check_problem import ProblemError, check_problem
from apps.planning.core.choices import CHOICES_WORK, has_only_choices, plan_choices
from apps.planning.core.construct import build_plan, mend_plan, start_plan
from apps.planning.core.cut_bound import CutBound
from apps.planning.core.engine import ENGINE
from apps.planning.core.finish import finish, is_small
from apps.planning.core.improve import (
    CARRY,
    CHANGE,
    FEED,
    FILL,
    PLACE,
    VISIT,
    Stage,
    State,
    near_homes,
)
from apps.planning.core.measure import list_left_over, measure_wishes
from apps.planning.core.model import LEFT, Model
from apps.planning.core.problem import Placement, Problem
from apps.planning.core.result import WISHES, Feed, Provenance, Result, Wish
from apps.planning.core.sweep import sweep
from apps.planning.core.whole_grams import round_to_grams

BOUND_UP_TO = 250
"""Homes up to which `solve` proves bounds itself; beyond, `bounds.bound_wishes` takes minutes
and is asked for by itself."""
REPLAN_WORK = 5_000
"""Search of a plan that replaces another with few changes. Twice as much places the waste of a
declined visit 0.1 % better (60 sources, 20 homes)."""
IDLE_TURNS = 4
"""Turns over all homes without any gain after which a stage ends."""


@dataclass(frozen=True)
class Limits:
    """When to stop. Work repeats exactly; seconds are for previews only.

    `work`: simplex iterations of the search (it ends earlier when some turns over all homes
    find nothing); None takes `usual_work`. `only_touched`: with an incumbent, only homes that
    its change touched are re-planned, with neighbours. `bounds`: prove bounds (else they are 0).
    `monolith`: hand small models whole to the engine."""

    work: int | None = None
    seconds: float | None = None
    only_touched: bool = False
    bounds: bool = True
    monolith: bool = True


def usual_work(homes: int) -> int:
    """Simplex iterations that keep a plan of this size within the evening's minute."""
    if homes > SEARCH_UP_TO:
        return 0
    return max(LEAST_WORK, WORK_PER_HOME * min(homes, MOST_SEARCHED))


WORK_PER_HOME = 2_000
LEAST_WORK = 10_000
MOST_SEARCHED = 200
SEARCH_UP_TO = 400
"""Homes beyond which a minute has room for dives only."""
STAGES = (
    (FEED, 0.3),
    (VISIT, 0.4),
    (CHANGE, 0.2),
    (FILL, 0.4),
    (PLACE, 0.8),
    (CARRY, 0.8),
    (VISIT, 1.0),
)
"""What is searched in turn, and the part of the remaining work it may use: wish by wish, those
before held; at the end what was searched since may have made room for a source that waits."""


def solve(
    problem: Problem,
    *,
    limits: Limits | None = None,
    seed: int = 0,
    incumbent: Result | None = None,
) -> Result:
    """The best plan found for `problem`, with a valid bound per wish.

    `incumbent`: a plan to start from, perhaps of another day; what of it no longer fits is
    dropped. Without one, a problem with a change budget starts from the plan it replaces.
    Raises `ProblemError` when the problem is faulty or its pins contradict."""
    limits = limits or Limits()
    clock = _Clock(limits.seconds)
    faults = check_problem(problem)
    if faults:
        raise ProblemError(faults)
    problem = sort_problem(problem)
    model = build_model(problem)
    near = near_homes(model)
    replaced = replaced_plan(problem) if incumbent is None else None
    incumbent = incumbent or replaced
    adopted = None if incumbent is None else adopt_plan(model, incumbent, near, seed=seed)
    around: set[int] | None = None
    if adopted is None:
        state = start_plan(model, seed=seed)
        build_plan(state, near, seed=seed, is_over=clock.is_over)
    else:
        state = adopted.state
        if limits.only_touched:
            around = adopted.touched
            mend_plan(state, near, around, seed=seed, is_over=clock.is_over)
    work = limits.work
    if work is None:
        is_calm = adopted is not None and replaced is not None
        homes = len(problem.digesters) if around is None else len(around)
        work = REPLAN_WORK if is_calm else usual_work(homes)
    plans, proved, monolith = [], False, limits.monolith and is_small(model)
    if around is None and work > 0 and has_only_choices(model) and not monolith:
        most = CHOICES_WORK if limits.work is None else limits.work
        plan_choices(state, near, work=most, seed=seed, is_over=clock.is_over)
    if around is None and work > 0 and monolith and not clock.is_over():
        exact = model
        if not problem.pins and not problem.started:
            # No room for rounding: whatever a gram costs, the better plan is taken.
            exact = build_model(problem, room_g=0)
        start = np.minimum(state.x, exact.upper)
        x, proved = finish(exact, start, seed=seed, seconds_left=clock.left)
        plans.append(round_to_grams(exact, x))
    with_bounds = limits.bounds and len(problem.digesters) <= BOUND_UP_TO
    by_cuts: CutBound | None = None
    for stage, share in () if proved else STAGES:
        if stage is PLACE and with_bounds and clock.left() is None:
            by_cuts = CutBound.begin(model, state.wishes(), seed=seed)
        until = state.work + round(share * (work - state.work))
        _search(state, near, stage, around=around, until=until, seed=seed, clock=clock)
    rounded = round_to_grams(model, state.x)
    if adopted is not None and incumbent is not None:
        rounded = keep_grams(adopted, incumbent, rounded)
    plans.append(rounded)
    stopped_by = "clock" if clock.is_over() else "proved" if proved else "iterations"
    return _conclude(
        model,
        state,
        plans,
        seed=seed,
        stopped_by=stopped_by,
        with_bounds=with_bounds,
        by_cuts=by_cuts,
    )


def _search(
    state: State,
    near: list[list[int]],
    stage: Stage,
    *,
    around: set[int] | None,
    until: int,
    seed: int,
    clock: _Clock,
) -> None:
    """Turns over the homes until the state's work comes to `until` or turns bring nothing."""
    asleep: dict[tuple[int, ...], int] = {}
    turn = idle = 0
    while state.work < until and idle < IDLE_TURNS and not clock.is_over():
        gained = sweep(
            state,
            near,
            stage,
            asleep,
            turn,
            around=around,
            work=until,
            seed=seed,
            is_over=clock.is_over,
        )
        idle = 0 if gained else idle + 1
        turn += 1


class _Clock:
    """Seconds that are left; without a limit it never ends."""

    def __init__(self, seconds: float | None) -> None:
        self._end = None if seconds is None else time.monotonic() + seconds

    def left(self) -> float | None:
        return None if self._end is None else max(0.0, self._end - time.monotonic())

    def is_over(self) -> bool:
        return self._end is not None and time.monotonic() >= self._end


def _conclude(
    model: Model,
    state: State,
    plans: list[tuple[tuple[Placement, ...], tuple[Feed, ...]]],
    *,
    seed: int,
    stopped_by: str,
    with_bounds: bool,
    by_cuts: CutBound | None = None,
) -> Result:
    """The best of `plans` in the strict order of wishes, with what it leaves and its bounds."""
    problem = model.problem
    placements, feeds = min(plans, key=lambda plan: measure_wishes(problem, *plan))
    values = measure_wishes(problem, placements, feeds)
    input_hash = hash_problem(problem)
    bounds = np.zeros(len(values))
    if with_bounds:
        bounds = bound_wishes(problem, np.array(values), seed=seed)
    if by_cuts is not None:
        bounds[LEFT] = min(max(bounds[LEFT], by_cuts.of(values)), values[LEFT])
    return Result(
        placements=placements,
        feeds=feeds,
        left_over=list_left_over(problem, placements, feeds),
        wishes=tuple(
            Wish(name, value, float(bound))
            for (name, _), value, bound in zip(WISHES, values, bounds, strict=True)
        ),
        provenance=Provenance(seed, state.steps, ENGINE, input_hash, stopped_by),
    )
