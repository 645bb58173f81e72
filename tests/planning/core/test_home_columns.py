"""Homes' plans against prices, and what they are put together from.

Small cases against trying everything; known optima are in tests/planning/test_gap.py."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from apps.planning.core.arrays import build_model
from apps.planning.core.canonical import sort_problem
from apps.planning.core.choices import has_only_choices, plan_choices
from apps.planning.core.construct import start_plan
from apps.planning.core.finish import finish, is_small
from apps.planning.core.home_part import split_homes
from apps.planning.core.improve import near_homes
from apps.planning.core.knapsack import Knapsack
from apps.planning.core.model import CARRYING, LEFT
from apps.planning.core.problem import TRIP_G_M
from tests.planning.gap import GapInstance, gap_problem
from tests.planning.generator import make_problem


def drawn(seed: int, agents: int = 3, jobs: int = 6) -> GapInstance:
    """A tight little instance; `best` by trying every assignment of all jobs."""
    rng = random.Random(seed)
    costs = tuple(tuple(rng.randint(5, 30) for _ in range(jobs)) for _ in range(agents))
    loads = tuple(tuple(rng.randint(2, 9) for _ in range(jobs)) for _ in range(agents))
    capacities = tuple(round(0.9 * sum(row) / agents) for row in loads)
    best = min(
        (
            sum(costs[i][j] for j, i in enumerate(way))
            for way in itertools.product(range(agents), repeat=jobs)
            if all(
                sum(loads[i][j] for j in range(jobs) if way[j] == i) <= capacities[i]
                for i in range(agents)
            )
        ),
        default=-1,
    )
    return GapInstance(f"drawn {seed}", False, costs, loads, capacities, best)


@pytest.mark.parametrize("seed", range(20))
def test_a_bin_is_filled_as_by_trying_everything(seed: int) -> None:
    rng = random.Random(seed)
    weights = np.array([rng.choice([0.25, 0.5, 1.5, 2.0, 3.75]) for _ in range(8)])
    profits = np.array([rng.uniform(-2, 10) for _ in range(8)])
    taken = np.arange(8) == rng.randrange(8)
    bin_ = Knapsack.of(weights, 6.0)
    assert bin_ is not None
    chosen = bin_.fill(profits, taken)
    every = [np.array(way, dtype=bool) for way in itertools.product((0, 1), repeat=8)]
    best = max(
        float(profits[way].sum()) for way in every if weights[way].sum() <= 6.0 and way[taken].all()
    )
    assert chosen is not None
    assert weights[chosen].sum() <= 6.0
    assert profits[chosen].sum() == pytest.approx(best)


def test_a_bin_in_grams_without_a_common_measure_is_left_to_the_engine() -> None:
    assert Knapsack.of(np.array([13.37, 7.001]), 40.0) is None
    assert Knapsack.of(np.array([3.0]), -1.0) is None


@pytest.mark.parametrize("seed", range(12))
def test_choices_find_what_trying_everything_finds(seed: int) -> None:
    instance = drawn(seed)
    if instance.best < 0:
        pytest.skip("no assignment of all jobs")
    model = build_model(sort_problem(gap_problem(instance)))
    assert has_only_choices(model)
    state = start_plan(model)
    plan_choices(state, near_homes(model), work=20_000)
    wishes = state.wishes()
    assert wishes[LEFT] == pytest.approx(0)
    assert wishes[CARRYING] == pytest.approx(instance.best + instance.jobs * TRIP_G_M / 1e6)


def test_every_home_of_an_assignment_is_one_bin_and_its_plan_keeps_the_rows() -> None:
    model = build_model(sort_problem(gap_problem(drawn(1))))
    parts, shared = split_homes(model, model.costs[LEFT])
    assert len(shared) < model.matrix.shape[0]
    for part in parts:
        assert part.bin is not None
        found = part.best_plan(np.zeros(len(shared)), seed=0)
        assert found is not None
        x, value = found
        assert value == pytest.approx(float(part.program.cost @ x))
        inside = part.program.matrix @ x
        assert np.all(inside <= part.program.row_upper + 1e-9)
        assert np.all(inside >= part.program.row_lower - 1e-9)


def test_homes_with_days_and_divisible_batches_are_not_bins() -> None:
    model = build_model(sort_problem(make_problem(8, 3, 1)))
    assert not has_only_choices(model)
    parts, shared = split_homes(model, model.costs[LEFT])
    assert all(part.bin is None for part in parts)
    found = parts[0].best_plan(np.zeros(len(shared)), seed=0)
    assert found is not None
    inside = parts[0].program.matrix @ found[0]
    assert np.all(inside <= parts[0].program.row_upper + 1e-6)


@pytest.mark.parametrize("seed", range(4))
def test_finish_proves_a_small_plan_best(seed: int) -> None:
    """From the plan that does nothing to the optimum, wish by wish."""
    instance = drawn(seed)
    model = build_model(sort_problem(gap_problem(instance)))
    assert is_small(model)
    x, proved = finish(model, start_plan(model).x)
    assert proved
    if instance.best >= 0:
        assert model.costs[CARRYING] @ x == pytest.approx(
            instance.best + instance.jobs * TRIP_G_M / 1e6
        )


def test_finish_keeps_its_start_when_it_may_not_search() -> None:
    model = build_model(sort_problem(gap_problem(drawn(2))))
    start = start_plan(model).x
    x, proved = finish(model, start, seconds_left=lambda: 0.0)
    assert not proved
    assert np.all(model.matrix @ x <= model.row_upper + 1e-6)


def test_a_model_of_many_choices_is_not_small() -> None:
    instance = drawn(3, agents=2, jobs=6)
    wide = GapInstance(
        "wide",
        False,
        tuple(row * 60 for row in instance.costs),
        tuple(row * 60 for row in instance.loads),
        tuple(60 * capacity for capacity in instance.capacities),
        0,
    )
    assert not is_small(build_model(sort_problem(gap_problem(wide))))
