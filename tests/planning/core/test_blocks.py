"""A town in blocks: the same plan however many threads, and only what a change touches moves."""

from __future__ import annotations

from dataclasses import replace

import pytest

from apps.planning.core import blocks, sweep
from apps.planning.core.arrays import build_model
from apps.planning.core.canonical import sort_problem
from apps.planning.core.export import plan_document
from apps.planning.core.improve import near_homes
from apps.planning.core.problem import Problem
from apps.planning.core.result import Result
from apps.planning.core.solve import Limits, solve
from apps.planning.verifier import verify
from tests.planning.generator import make_problem

QUICK = Limits(work=500, bounds=False)


@pytest.fixture(scope="module")
def town() -> Problem:
    return sort_problem(make_problem(75, 30, 7))


@pytest.fixture(scope="module")
def plan(town: Problem) -> Result:
    return solve(town, limits=QUICK)


def test_a_town_is_planned_whole_and_within_every_limit(town: Problem, plan: Result) -> None:
    assert verify(plan_document(town, plan)) == []
    served = {placement.digester for placement in plan.placements}
    fed = [digester.code for digester in town.digesters if digester.min_vs_g]
    assert served >= set(fed)


def test_blocks_of_a_wave_share_no_source(town: Problem) -> None:
    model = build_model(town)
    groups = blocks.group_homes(near_homes(model), 3)
    assert sorted(h for group in groups for h in group) == list(range(30))
    waves = blocks.make_waves(model, groups)
    assert sorted(map(tuple, (g for wave in waves for g in wave))) == sorted(map(tuple, groups))
    assert any(len(wave) > 1 for wave in waves)
    for wave in waves:
        sources = [set().union(*(model.sources_near[h] for h in group)) for group in wave]
        assert sum(map(len, sources)) == len(set().union(*sources))


def test_the_plan_does_not_hang_on_the_number_of_threads(
    town: Problem, plan: Result, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(blocks, "THREADS", 1)
    monkeypatch.setattr(sweep, "THREADS", 1)
    assert solve(town, limits=QUICK) == plan


def test_without_a_change_nothing_moves(town: Problem, plan: Result) -> None:
    again = solve(town, limits=Limits(only_touched=True, bounds=False), incumbent=plan)
    assert again.placements == plan.placements
    assert again.feeds == plan.feeds


def test_a_smaller_batch_moves_homes_in_its_reach_and_their_neighbours_only(
    town: Problem, plan: Result
) -> None:
    placed = max(plan.placements, key=lambda each: each.amount_g)
    batches = tuple(
        replace(b, amount_g=b.amount_g // 2) if b.code == placed.batch else b for b in town.batches
    )
    changed = replace(town, batches=batches)
    again = solve(changed, limits=Limits(work=500, only_touched=True, bounds=False), incumbent=plan)
    assert verify(plan_document(changed, again)) == []
    moved = {each.digester for each in set(plan.placements) ^ set(again.placements)}
    assert placed.digester in moved
    assert len(moved) < len(town.digesters)
