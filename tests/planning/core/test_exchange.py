"""Exchanges of visits: the plan only gets better, keeps every row, and finds what takes two
moves at once."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from apps.planning.core.arrays import build_model
from apps.planning.core.canonical import sort_problem
from apps.planning.core.construct import build_plan, start_plan
from apps.planning.core.exchange import Exchange
from apps.planning.core.improve import (
    CARRY,
    FILL,
    PLACE,
    TIE,
    VISIT,
    Stage,
    State,
    near_homes,
    take_proposal,
)
from apps.planning.core.model import LEFT, OVERDUE, Model
from apps.planning.core.problem import Batch, DayCaps, Digester, Material, Pair, Problem, Source
from tests.planning.generator import make_problem

PLENTY = 10**9


def first_plan(problem: Problem) -> State:
    model = build_model(sort_problem(problem))
    state = start_plan(model)
    build_plan(state, near_homes(model))
    return state


@pytest.fixture(scope="module", params=[3, 11])
def built(request: pytest.FixtureRequest) -> State:
    return first_plan(make_problem(24, 8, request.param))


def fresh(state: State) -> State:
    return State.at(state.model, state.x)


def every(model: Model) -> list[int]:
    return list(range(len(model.problem.digesters)))


@pytest.mark.parametrize("stage", [VISIT, FILL, PLACE, CARRY])
def test_a_search_never_makes_an_earlier_wish_worse_and_keeps_every_row(
    built: State, stage: Stage
) -> None:
    state, model = fresh(built), built.model
    before = state.wishes()
    proposal = Exchange(state, every(model), stage).search(tries=25, work=PLENTY, seed="a")
    np.testing.assert_array_equal(state.x, built.x)  # a search leaves its state alone
    take_proposal(state, proposal)
    after = state.wishes()
    for wish in range(stage.hold + 1):
        if after[wish] < before[wish] - TIE[wish]:
            break
        assert after[wish] <= before[wish] + TIE[wish]
    assert np.all(model.matrix @ state.x <= model.row_upper + 1e-6)
    assert np.all(model.matrix @ state.x >= model.row_lower - 1e-6)
    assert np.all(state.x >= model.lower - 1e-6)
    assert np.all(state.x <= model.upper + 1e-6)
    whole = state.x[model.integral]
    np.testing.assert_array_equal(whole, np.rint(whole))


def test_searching_on_places_more(built: State) -> None:
    state = fresh(built)
    before = state.wishes()[LEFT]
    take_proposal(
        state, Exchange(state, every(state.model), PLACE).search(tries=60, work=PLENTY, seed="b")
    )
    assert state.wishes()[LEFT] < before


def test_the_same_seed_finds_the_same(built: State) -> None:
    found = [
        Exchange(built, every(built.model), PLACE).search(tries=10, work=PLENTY, seed="c")
        for _ in range(2)
    ]
    assert found[0].work == found[1].work
    np.testing.assert_array_equal(found[0].values, found[1].values)


@pytest.mark.parametrize(("work", "around"), [(0, None), (PLENTY, set())])
def test_without_work_or_homes_to_begin_at_no_visit_moves(
    built: State, work: int, around: set[int] | None
) -> None:
    state = fresh(built)
    exchange = Exchange(state, every(state.model), PLACE)
    take_proposal(state, exchange.search(tries=10, work=work, around=around, seed="d"))
    visits = built.model.integral
    np.testing.assert_array_equal(state.x[visits], built.x[visits])


def crossed() -> Problem:
    """Two homes and two sources that each may go to one: a plan that has them crossed can only
    be mended by moving both."""

    def home(code: str, vs_g: int) -> Digester:
        return Digester(
            code=code,
            caps=(DayCaps(feed_g=50_000, vs_g=vs_g, slurry_ml=100_000),),
            target_vs_g=(vs_g,),
            min_vs_g=0,
            bin_g=50_000,
            accepts=frozenset({"peelings"}),
        )

    def batch(code: str, source: str, amount_g: int) -> Batch:
        return Batch(code, source, "peelings", amount_g, 0, 0, 0)

    return sort_problem(
        Problem(
            starts_on=date(2030, 3, 4),
            days=1,
            materials=(Material("peelings", 100_000, 1_000_000),),
            digesters=(home("big", 1_000), home("small", 300)),
            sources=(Source("much", max_homes_per_day=1), Source("some", max_homes_per_day=1)),
            batches=(batch("b-much", "much", 10_000), batch("b-some", "some", 3_000)),
            pairs=tuple(
                Pair(source, home_code, 100, (True,))
                for source in ("much", "some")
                for home_code in ("big", "small")
            ),
        )
    )


def test_two_sources_change_places() -> None:
    problem = crossed()
    model = build_model(problem)
    state = start_plan(model)
    wrong = {("much", "small"): 3.0, ("some", "big"): 3.0}
    x = state.x.copy()
    for flow, (batch, home) in enumerate(zip(model.flows.batch, model.flows.digester, strict=True)):
        kg = wrong.get((problem.batches[batch].source, problem.digesters[home].code), 0.0)
        x[flow] = kg * 0.99
        x[model.visits.column[model.flows.visit[flow]]] = float(kg > 0)
    state = State.at(model, x)
    exchange = Exchange(state, [0, 1], PLACE)
    assert take_proposal(state, exchange.search(tries=5, work=PLENTY, seed="e"))
    assert state.wishes()[LEFT] == pytest.approx(0.0, abs=0.05)  # all but the room for rounding


def test_sources_that_wait_too_long_are_opened_first() -> None:
    problem = make_problem(24, 8, 3)
    waiting = replace(
        problem, sources=tuple(replace(each, waited_days=30) for each in problem.sources)
    )
    state = first_plan(waiting)
    before = state.wishes()[OVERDUE]
    proposal = Exchange(state, every(state.model), VISIT).search(tries=40, work=PLENTY, seed="f")
    take_proposal(state, proposal)
    assert state.wishes()[OVERDUE] <= before


def test_who_waits_too_long_is_visited_before_anything_is_drawn() -> None:
    problem = make_problem(24, 8, 5)
    sources = tuple(replace(each, waited_days=30) for each in problem.sources)
    model = build_model(sort_problem(replace(problem, sources=sources)))
    state = start_plan(model)
    before = state.wishes()[OVERDUE]
    take_proposal(state, Exchange(state, every(model), VISIT).search(tries=0, work=PLENTY))
    assert state.wishes()[OVERDUE] < before / 2
