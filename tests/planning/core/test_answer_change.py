"""A change answered at once and bettered soon: valid, the change kept, never worse."""

from __future__ import annotations

from dataclasses import replace

import pytest

from apps.planning.core.answer_change import answer_change
from apps.planning.core.canonical import sort_problem
from apps.planning.core.change import Change
from apps.planning.core.export import plan_document
from apps.planning.core.problem import Ban, Digester, Pin
from apps.planning.core.solve import Limits, solve
from apps.planning.verifier import verify
from tests.planning.generator import make_problem


@pytest.mark.parametrize("seed", [1])
def test_the_better_answer_keeps_the_change_and_is_never_worse(seed: int) -> None:
    problem = make_problem(12, 5, seed)
    result = solve(problem, limits=Limits(work=500, bounds=False))
    pair = problem.pairs[3 * seed]
    batch = next(b for b in problem.batches if b.source == pair.source)
    for change in (
        Change(pins=(Pin(batch.code, pair.digester, batch.ready_day),)),
        Change(bans=(Ban(pair.source, pair.digester),)),
    ):
        answer = answer_change(problem, result, change, work=100)
        if answer.first.cannot_keep:
            assert answer.better is None
            continue
        assert answer.better is not None
        changed = sort_problem(change.apply(problem))
        assert not [
            each
            for each in verify(plan_document(changed, answer.better))
            if each.rule != "source_forgotten"
        ]
        first = tuple(after for _, _, after in answer.first.wishes)
        assert tuple(wish.value for wish in answer.better.wishes) <= first


def test_without_time_the_first_answer_stands() -> None:
    problem = make_problem(12, 5, 1)
    result = solve(problem, limits=Limits(work=0, bounds=False))
    ban = Change(bans=(Ban(problem.pairs[0].source, problem.pairs[0].digester),))
    answer = answer_change(problem, result, ban, seconds=0.0)
    assert answer.better is not None
    assert answer.better.placements == answer.first.placements


def test_a_change_that_cannot_be_kept_has_no_better_answer() -> None:
    problem = make_problem(12, 5, 1)
    result = solve(problem, limits=Limits(work=0, bounds=False))
    pair = problem.pairs[0]
    batch = next(b for b in problem.batches if b.source == pair.source)
    home = next(d for d in problem.digesters if d.code == pair.digester)
    pin = Pin(batch.code, pair.digester, batch.ready_day, batch.amount_g)
    full = Change(pins=(pin,), digesters=(_without_bin(home),))
    assert answer_change(problem, result, full).better is None


def _without_bin(home: Digester) -> Digester:
    return replace(home, bin_g=0)
