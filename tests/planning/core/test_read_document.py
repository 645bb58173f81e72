"""A plan document holds its whole problem and its whole plan."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from apps.planning.core.canonical import hash_problem, sort_problem
from apps.planning.core.export import plan_document
from apps.planning.core.plan_text import plan_text
from apps.planning.core.problem import Ban, Pin, Placement, Problem, Rules
from apps.planning.core.read_document import fields_unknown_to, problem_of, result_of
from apps.planning.core.result import Feed, LeftOver, Provenance, Result, Wish
from tests.planning.generator import make_problem
from tests.planning.small_plan import small_document


def with_everything(problem: Problem) -> Problem:
    """The same with a pin, two bans, a begun pickup, a plan before and a change budget."""
    batch, pair = problem.batches[0], problem.pairs[0]
    placed = Placement(batch.code, pair.digester, 1, 700)
    return Problem(
        **{
            field: getattr(problem, field)
            for field in ("starts_on", "days", "materials", "digesters", "sources", "batches")
        },
        pairs=problem.pairs,
        pins=(Pin(batch.code, pair.digester, 1), Pin(batch.code, pair.digester, 2, 900)),
        bans=(Ban(pair.source, pair.digester), Ban(pair.source, pair.digester, 3)),
        started=(placed,),
        previous=(placed,),
        rules=Rules(rota_limit_days=9, change_budget=4),
    )


@pytest.mark.parametrize("seed", range(3))
def test_the_problem_comes_back_whole(seed: int) -> None:
    problem = with_everything(make_problem(12, 5, seed=seed))
    batch = problem.batches[0]
    home = problem.digesters[0].code
    result = Result(
        placements=(Placement(batch.code, home, 1, 700),),
        feeds=(Feed(home, 1, batch.code, 300), Feed(home, 2, batch.code, 400)),
        left_over=(LeftOver(batch.code, batch.amount_g),),
        wishes=(Wish("left_over_g", 12.0, 3.5),),
        provenance=Provenance(7, 11, "none", hash_problem(problem), "iterations"),
    )
    document = json.loads(json.dumps(plan_document(problem, result)))
    assert sort_problem(problem_of(document)) == sort_problem(problem)
    assert hash_problem(problem_of(document)) == document["provenance"]["input_hash"]
    assert result_of(document) == result
    assert "Who brings what to whom, when" in plan_text(document)


def test_a_document_without_a_trip_price_was_made_with_that_of_its_time() -> None:
    problem = make_problem(12, 5, seed=1)
    empty = Result((), (), (), (), Provenance(0, 0, "none", "", "proved"))
    document = plan_document(problem, empty)
    assert not fields_unknown_to(document)
    dear = replace(problem, rules=replace(problem.rules, trip_g_m=1_000_000))
    assert problem_of(plan_document(dear, empty)).rules.trip_g_m == 1_000_000
    assert hash_problem(dear) != hash_problem(problem)

    del document["rules"]["trip_g_m"]
    assert problem_of(document).rules.trip_g_m == 200_000
    for batch in document["batches"]:
        del batch["low_g"], batch["high_g"]
    assert problem_of(document).rules.trip_g_m == 1_000_000
    without = fields_unknown_to(document)
    assert without == {"trip_g_m"}
    assert hash_problem(dear, without=without) == hash_problem(problem, without=without)
    assert hash_problem(problem, without=without) != hash_problem(problem)


def test_an_older_plan_keeps_its_fingerprint() -> None:
    """That of the small problem as it was before rules had a smallest portion and a trip price."""
    before = "9e34477fab91e712b0fd7c4400b4c6dafefe49890be36fc90fadc5c2805bc516"
    document = small_document()
    del document["rules"]["smallest_portion_g"], document["rules"]["trip_g_m"]
    assert hash_problem(problem_of(document), without=fields_unknown_to(document)) == before


def test_text_stays_within_the_terminal() -> None:
    problem = make_problem(12, 5, seed=1)
    empty = Result((), (), (), (), Provenance(0, 0, "none", hash_problem(problem), "proved"))
    for line in plan_text(plan_document(problem, empty)).splitlines():
        assert len(line) <= 100, line
