"""Supply that may be less or more than expected: hunger counts the low figure, bins the high."""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from apps.planning.core.canonical import hash_problem
from apps.planning.core.check_problem import check_problem
from apps.planning.core.export import plan_document
from apps.planning.core.problem import (
    Batch,
    DayCaps,
    Digester,
    Material,
    Pair,
    Placement,
    Problem,
    Source,
)
from apps.planning.core.read_document import problem_of
from apps.planning.core.result import Result
from apps.planning.core.solve import Limits, solve
from apps.planning.core.what_if import Change, what_if
from apps.planning.verifier import verify
from tests.planning.generator import make_problem

PEELINGS = Material("peelings", 150_000, 2_500_000)


def one_day(*batches: Batch, home: Digester, metres: tuple[int, ...] = (300, 300)) -> Problem:
    """Every batch from a source of its own, `metres` away from the only home."""
    sources = sorted({batch.source for batch in batches})
    return Problem(
        starts_on=date(2030, 6, 3),
        days=1,
        materials=(PEELINGS,),
        digesters=(home,),
        sources=tuple(Source(code) for code in sources),
        batches=batches,
        pairs=tuple(
            Pair(code, home.code, far, (True,)) for code, far in zip(sources, metres, strict=False)
        ),
    )


HOME = Digester(
    "HOME",
    caps=(DayCaps(9_000, 900, 20_000),),
    target_vs_g=(300,),
    min_vs_g=0,
    bin_g=3_000,
    accepts=frozenset({"peelings"}),
)


def only(batch: str, amount_g: int, **figures: int) -> Batch:
    return Batch(batch, f"S-{batch}", "peelings", amount_g, 0, 0, 0, **figures)


def amounts(result: Result) -> dict[str, int]:
    return {each.batch: each.amount_g for each in result.placements}


def value(result: Result, name: str) -> float:
    return next(wish.value for wish in result.wishes if wish.name == name)


def test_a_bin_has_room_for_what_may_come() -> None:
    """4 kg that may be 6 kg: each expected kilogram may be 1.5 kg, so a bin of 3 kg takes 2 kg."""
    result = solve(one_day(only("A", 4_000, high_g=6_000), home=HOME))
    assert amounts(result) == {"A": 2_000}
    assert value(result, "left_over_g") == 2_000
    sure = solve(one_day(only("A", 4_000), home=HOME))
    assert amounts(sure) == {"A": 3_000}


def test_hunger_counts_what_surely_comes() -> None:
    """2 kg with 150 g VS a kg, of which three fifths surely come: 180 g of a minimum of 200 g;
    as much as that is missing of a target of 300 g: 20 g of its second piece at 2 (from 150 g
    to 240 g: 60 g missing) and 60 g of its last at 1, 180 g in all, each counting 1,000 mg."""
    home = replace(HOME, min_vs_g=200)
    result = solve(one_day(only("A", 2_000, low_g=1_200), home=home))
    assert amounts(result) == {"A": 2_000}
    assert value(result, "below_minimum_vs_g") == pytest.approx(20)
    assert value(result, "shortfall_vs_mg") == pytest.approx(1_000 * (2 * 60 + 60))
    assert value(result, "left_over_g") == 0


def test_the_surer_batch_goes_first() -> None:
    """Only one visit a day: the nearer 2 kg may not come at all, the farther ones surely do."""
    home = replace(HOME, min_vs_g=200, max_visits_per_day=1)
    problem = one_day(only("A", 2_000, low_g=0), only("B", 2_000), home=home, metres=(100, 900))
    assert amounts(solve(problem)) == {"B": 2_000}
    assert amounts(solve(replace(problem, batches=(only("A", 2_000), only("B", 2_000))))) == {
        "A": 2_000
    }


def test_a_preview_says_who_falls_under_when_a_batch_becomes_unsure() -> None:
    home = replace(HOME, min_vs_g=200)
    problem = one_day(only("A", 2_000), home=home)
    result = solve(problem)
    unsure = only("A", 2_000, low_g=1_000)
    told = what_if(problem, result, Change(batches=(unsure,)))
    (fallen,) = told.fall_below_minimum
    assert (fallen.digester, fallen.fed_vs_g_after, fallen.sure_vs_g_after) == ("HOME", 300, 150)


def test_a_plan_around_a_change_empties_a_bin_that_may_run_over() -> None:
    problem = one_day(only("A", 3_000), home=HOME)
    changed = replace(problem, batches=(only("A", 3_000, high_g=4_000),))
    again = solve(changed, limits=Limits(only_touched=True), incumbent=solve(problem))
    assert amounts(again)["A"] == pytest.approx(2_250, abs=1)
    assert verify(plan_document(changed, again)) == []


@pytest.mark.parametrize(("low_g", "high_g"), [(2_001, None), (None, 1_999), (-1, None)])
def test_figures_that_contradict_the_amount_are_refused(
    low_g: int | None, high_g: int | None
) -> None:
    batch = Batch("A", "S-A", "peelings", 2_000, 0, 0, 0, low_g=low_g, high_g=high_g)
    (fault,) = check_problem(one_day(batch, home=HOME))
    assert fault.where == "batch A"


def test_figures_equal_to_the_amount_say_nothing() -> None:
    plain = make_problem(6, 3, 1, days=2)
    said = replace(
        plain,
        batches=tuple(replace(b, low_g=b.amount_g, high_g=b.amount_g) for b in plain.batches),
    )
    assert hash_problem(said) == hash_problem(plain)
    limits = Limits(work=500, bounds=False)
    assert solve(said, limits=limits).wishes == solve(plain, limits=limits).wishes


def make_unsure(problem: Problem, rng: random.Random) -> Problem:
    return replace(
        problem,
        batches=tuple(
            replace(
                batch,
                low_g=rng.randint(0, batch.amount_g),
                high_g=rng.randint(batch.amount_g, 2 * batch.amount_g),
            )
            for batch in problem.batches
        ),
    )


def fullest_if_all_comes(problem: Problem, result: Result) -> list[tuple[Fraction, int]]:
    """For each digester-day what lies in the bin when every batch brings its high figure and
    as much more of each is fed as came, against the bin."""
    batches = {batch.code: batch for batch in problem.batches}
    pairs = {(pair.source, pair.digester): pair for pair in problem.pairs}
    more = {
        code: Fraction(batch.high_g or batch.amount_g, batch.amount_g)
        for code, batch in batches.items()
    }
    moved: dict[tuple[str, str, int], Fraction] = defaultdict(Fraction)
    for placement in result.placements:
        key = (placement.digester, placement.batch, placement.day)
        moved[key] += placement.amount_g
    for feed in result.feeds:
        if feed.lot in batches:
            moved[feed.digester, feed.lot, feed.day + 1] -= feed.amount_g
    found = []
    for digester in problem.digesters:
        for day in range(problem.days):
            level = sum(
                grams
                * more[batch]
                * Fraction(pairs[batches[batch].source, home].usable_ppm, 1_000_000)
                for (home, batch, when), grams in moved.items()
                if home == digester.code and when <= day
            )
            found.append((Fraction(level), digester.bin_g))
    return found


@given(seed=st.integers(0, 10_000))
@settings(max_examples=10)
def test_no_bin_runs_over_when_all_comes(seed: int) -> None:
    rng = random.Random(seed)
    problem = make_unsure(make_problem(8, 4, seed, days=3, supply=rng.choice([0.8, 1.4, 3.0])), rng)
    result = solve(problem, limits=Limits(work=300, bounds=False))
    document = plan_document(problem, result)
    assert verify(document) == []
    assert hash_problem(problem_of(document)) == hash_problem(problem)
    assert all(level <= bin_g for level, bin_g in fullest_if_all_comes(problem, result))


def test_what_has_begun_counts_as_it_is() -> None:
    """A started pickup keeps its grams; its visit is a fact."""
    problem = replace(
        one_day(only("A", 2_000, low_g=500, high_g=2_500), home=HOME),
        started=(Placement("A", "HOME", 0, 1_500),),
    )
    assert amounts(solve(problem))["A"] >= 1_500
