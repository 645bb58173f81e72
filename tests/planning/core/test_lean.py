"""The relaxation in fewer columns: same optimum, same vertex; bounds valid for any prices."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from apps.planning.core.arrays import build_model
from apps.planning.core.bounds import _bounds_by_prices, bound_wishes, safe_bound
from apps.planning.core.canonical import sort_problem
from apps.planning.core.engine import Ladder, Program, solve_relaxation
from apps.planning.core.lean import Lean, make_lean
from apps.planning.core.model import CARRYING
from apps.planning.core.problem import Rules
from apps.planning.core.relax import FIRST_WISHES, aim, relaxed, whole_part
from apps.planning.core.solve import Limits, solve
from tests.planning.generator import make_problem


def both(seed: int, *, supply: float) -> tuple[Program, Lean]:
    model = build_model(sort_problem(make_problem(16, 5, seed, supply=supply)))
    program = relaxed(aim(whole_part(model), FIRST_WISHES))
    visits = np.zeros(len(model.lower), dtype=bool)
    visits[model.visits.column] = True
    return program, make_lean(program, visits)


@pytest.mark.parametrize(("seed", "supply"), [(1, 0.7), (2, 1.4), (3, 4.0)])
def test_the_optimum_and_its_vertex_stay(seed: int, supply: float) -> None:
    program, lean = both(seed, supply=supply)
    full, small = Ladder(program), Ladder(lean.program)
    found = small.solve()
    assert found.x is not None
    assert lean.program.matrix.shape[0] < program.matrix.shape[0]
    assert found.value == pytest.approx(solve_relaxation(program).value, abs=1e-5)
    x = lean.expand @ found.x
    rows = program.matrix @ x
    assert np.all(rows >= program.row_lower - 1e-6)
    assert np.all(rows <= program.row_upper + 1e-6)
    full.start_from(lean.lift(small.basis()))
    again = full.solve()
    assert again.value == pytest.approx(found.value, abs=1e-5)
    # A start at the optimum leaves next to nothing to do.
    assert again.iterations <= 5 < found.iterations


def test_visits_that_something_asks_for_are_kept() -> None:
    """A source that waits too long, and a visit of the plan before, make a visit worth more
    than what it carries."""
    problem = sort_problem(make_problem(16, 5, 4))
    waiting = tuple(replace(source, waited_days=None) for source in problem.sources)
    model = build_model(replace(problem, sources=waiting))
    visits = np.zeros(len(model.lower), dtype=bool)
    visits[model.visits.column] = True
    assert len(make_lean(whole_part(model).program, visits).gone) == 0
    plan = solve(problem, limits=Limits(work=0, bounds=False))
    budget = replace(problem, previous=plan.placements, rules=Rules(change_budget=1))
    model = build_model(sort_problem(budget))
    visits = np.zeros(len(model.lower), dtype=bool)
    visits[model.visits.column] = True
    gone = make_lean(whole_part(model).program, visits).gone
    source_at = {b.code: b.source for b in problem.batches}
    kept = {(source_at[p.batch], p.digester, p.day) for p in plan.placements}
    for column in gone.tolist():
        at = int(np.searchsorted(model.visits.column, column))
        key = (
            problem.sources[model.visits.source[at]].code,
            problem.digesters[model.visits.digester[at]].code,
            int(model.visits.day[at]),
        )
        assert key not in kept


def test_any_prices_give_a_bound_and_the_optimal_ones_the_optimum() -> None:
    program, lean = both(2, supply=1.4)
    best = solve_relaxation(lean.program)
    assert best.row_duals is not None
    assert safe_bound(lean.program, best.row_duals) == pytest.approx(best.value, abs=1e-5)
    draw = np.random.default_rng(1)
    for spread in (0.01, 1.0, 100.0):
        prices = best.row_duals + draw.normal(0, spread, len(best.row_duals))
        assert safe_bound(lean.program, prices) <= best.value + 1e-6
    assert program.matrix.shape[1] == lean.expand.shape[0]


def test_bounds_by_prices_are_those_of_the_relaxation() -> None:
    problem = sort_problem(make_problem(16, 5, 1, supply=0.7))
    plan = solve(problem, limits=Limits(work=500))
    values = np.array([wish.value for wish in plan.wishes])
    exact = bound_wishes(problem, values)
    priced = _bounds_by_prices(build_model(problem, room_g=0), values, 0)
    # Never above, whatever the prices; near for all but the last wishes, whose prices the first
    # order method may not find.
    assert (priced <= exact * (1 + 1e-6) + 1e-3).all()
    assert priced[: CARRYING + 1] == pytest.approx(exact[: CARRYING + 1], rel=1e-3, abs=2.0)
    assert (priced <= values).all()
