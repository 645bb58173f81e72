"""From a problem to a plan: `solve`."""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np

from apps.planning.core.arrays import WISH_UNITS, Floats, Model, build_model
from apps.planning.core.canonical import hash_problem, sort_problem
from apps.planning.core.check_problem import Fault, ProblemError, check_problem
from apps.planning.core.dive import dive
from apps.planning.core.engine import ENGINE, solve_relaxation
from apps.planning.core.measure import list_left_over, measure_wishes
from apps.planning.core.problem import Problem
from apps.planning.core.relax import FIRST_WISHES, aim, whole_part
from apps.planning.core.result import WISHES, Provenance, Result, Wish
from apps.planning.core.whole_grams import round_to_grams


@dataclass(frozen=True)
class Limits:
    """When to stop. Iterations and gap repeat exactly; seconds are for previews only."""

    sweeps: int = 2
    gap: float = 0.005
    seconds: float | None = None


def solve(
    problem: Problem,
    *,
    limits: Limits | None = None,
    seed: int = 0,
    incumbent: Result | None = None,
) -> Result:
    """The best plan found for `problem`, with a valid bound per wish."""
    limits = limits or Limits()
    started_at = time.monotonic()
    faults = check_problem(problem)
    if faults:
        raise ProblemError(faults)
    problem = sort_problem(problem)
    model = build_model(problem)
    answer = solve_relaxation(aim(whole_part(model), FIRST_WISHES), seed=seed)
    if answer.x is None:
        raise ProblemError([Fault("pins", "they cannot all be kept together.")], problem.pins)
    x = dive(model, answer.x)
    if x is None:
        raise ProblemError([Fault("pins", "they cannot all be kept together.")], problem.pins)
    del started_at
    return _conclude(model, x, seed=seed, iterations=1, stopped_by="iterations")


def _conclude(model: Model, x: Floats, *, seed: int, iterations: int, stopped_by: str) -> Result:
    problem = model.problem
    placements, feeds = round_to_grams(model, x)
    values = measure_wishes(problem, placements, feeds)
    bounds = bound_wishes(model, np.array(values))
    return Result(
        placements=placements,
        feeds=feeds,
        left_over=list_left_over(problem, placements, feeds),
        wishes=tuple(
            Wish(name, value, min(bound, value))
            for (name, _), value, bound in zip(WISHES, values, bounds, strict=True)
        ),
        provenance=Provenance(seed, iterations, ENGINE, hash_problem(problem), stopped_by),
    )


def bound_wishes(model: Model, values: Floats) -> tuple[float, ...]:
    """Trivial bounds (every wish is at least 0)."""
    del values
    return tuple(0.0 for _ in WISHES)
