"""What cuts prove is never above the truth, more than the relaxation sees, and repeats."""

from __future__ import annotations

import numpy as np
import pytest

from apps.planning.core.arrays import build_model
from apps.planning.core.bounds import bound_wishes
from apps.planning.core.canonical import sort_problem
from apps.planning.core.cut_bound import CutBound
from apps.planning.core.model import LEFT, WISH_UNITS, Floats
from apps.planning.core.problem import Problem
from apps.planning.core.solve import Limits, solve
from tests.planning.generator import make_problem
from tests.planning.whole_model import best_wishes, tiny_problem


def by_cuts(problem: Problem, values: Floats) -> CutBound | None:
    return CutBound.begin(build_model(sort_problem(problem)), values / WISH_UNITS)


@pytest.mark.parametrize("seed", range(12))
def test_cuts_never_pass_what_cp_sat_proves(seed: int) -> None:
    problem = tiny_problem(seed, divisible=0.7)
    values = np.array(list(best_wishes(problem).values()))
    bound = by_cuts(problem, values)
    assert (bound is None) == (values[LEFT] == 0)
    if bound is not None:
        assert bound.of(tuple(values)) <= values[LEFT] * (1 + 1e-6) + 1e-3


def test_cuts_see_more_than_the_relaxation_and_the_same_again() -> None:
    problem = sort_problem(make_problem(24, 8, 3))
    result = solve(problem, limits=Limits(work=2_000, bounds=False))
    values = np.array([wish.value for wish in result.wishes])
    first, second = by_cuts(problem, values), by_cuts(problem, values)
    assert first is not None
    assert second is not None
    bound = first.of(tuple(values))
    assert bound == second.of(tuple(values))
    assert bound > bound_wishes(problem, values)[LEFT] * 1.01
    assert bound <= values[LEFT]
    worse = values + np.array([50.0, 0, 0, 0, 0, 0, 0, 0])
    assert first.of(tuple(worse)) == 0, "it holds for plans at least as good before"
