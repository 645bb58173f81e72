"""Plans of generated neighbourhoods: sound by the independent verifier, bounded, repeatable.

Expected values follow from the problem's own limits (`core/problem.py`) where not said."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from apps.planning.core.bounds import bound_wishes
from apps.planning.core.canonical import hash_problem, sort_problem
from apps.planning.core.check_problem import ProblemError
from apps.planning.core.export import plan_document
from apps.planning.core.problem import Ban, DayCaps, Pin, Problem
from apps.planning.core.result import WISHES, Result
from apps.planning.core.solve import Limits, solve
from apps.planning.verifier import verify
from tests.planning.generator import make_problem

QUICK = Limits(work=500, bounds=False)
MATERIAL_RULES_ONLY = {"source_forgotten"}
"""The verifier also reports sources forgotten for a fortnight; scarce days may force that."""


def broken(problem: Problem, result: Result) -> list[str]:
    found = verify(plan_document(sort_problem(problem), result))
    return [str(each) for each in found if each.rule not in MATERIAL_RULES_ONLY]


def value(result: Result, name: str) -> float:
    return next(wish.value for wish in result.wishes if wish.name == name)


@pytest.mark.parametrize("supply", [0.5, 1.4, 5.0])
@pytest.mark.parametrize("seed", [1, 2])
def test_plans_are_sound_and_bounded(supply: float, seed: int) -> None:
    problem = make_problem(12, 5, seed, supply=supply)
    result = solve(problem, limits=Limits(work=1_000))
    assert broken(problem, result) == []
    assert [wish.name for wish in result.wishes] == [name for name, _ in WISHES]
    for wish in result.wishes:
        assert 0 <= wish.bound <= wish.value


@pytest.mark.parametrize("seed", [3, 4])
def test_whole_batches_go_whole(seed: int) -> None:
    problem = make_problem(12, 5, seed)
    problem = replace(
        problem,
        batches=tuple(replace(b, divisible=i % 2 == 0) for i, b in enumerate(problem.batches)),
    )
    result = solve(problem, limits=QUICK)
    assert broken(problem, result) == []
    whole = {b.code: b.amount_g for b in problem.batches if not b.divisible}
    placed = [p for p in result.placements if p.batch in whole]
    assert placed
    assert all(p.amount_g == whole[p.batch] for p in placed)


def test_no_handful_of_a_batch_goes_anywhere_by_itself() -> None:
    """A glut, where caps cut batches anywhere; the few kilograms that it costs are less than a
    hundredth."""
    problem = make_problem(12, 5, 3, supply=4.0)
    free = solve(problem, limits=QUICK)
    rules = replace(problem.rules, smallest_part_g=500)
    kept = solve(replace(problem, rules=rules), limits=QUICK)
    whole = {b.code: b.amount_g for b in problem.batches}
    assert any(p.amount_g < min(500, whole[p.batch]) for p in free.placements)
    assert all(p.amount_g >= min(500, whole[p.batch]) for p in kept.placements)
    assert broken(replace(problem, rules=rules), kept) == []
    placed_g = sum(p.amount_g for p in free.placements)
    assert sum(p.amount_g for p in kept.placements) >= 0.99 * placed_g


def test_the_same_problem_listed_otherwise_has_the_same_plan() -> None:
    problem = make_problem(10, 4, 5)
    draw = random.Random(0)

    def shuffled(items: tuple) -> tuple:  # type: ignore[type-arg]
        return tuple(draw.sample(items, len(items)))

    other = replace(
        problem,
        materials=shuffled(problem.materials),
        digesters=shuffled(problem.digesters),
        sources=shuffled(problem.sources),
        batches=shuffled(problem.batches),
        pairs=shuffled(problem.pairs),
    )
    assert hash_problem(other) == hash_problem(problem)
    assert solve(other, limits=QUICK) == solve(problem, limits=QUICK)


def test_a_glut_fills_homes_and_visits_sources_that_have_waited() -> None:
    problem = make_problem(24, 5, 6, supply=6.0)
    result = solve(problem, limits=Limits(work=2_000))
    assert value(result, "shortfall_vs_mg") == 0
    overdue = next(wish for wish in result.wishes if wish.name == "sources_overdue")
    assert overdue.value == pytest.approx(overdue.bound, abs=1e-3)


def test_no_time_gives_the_last_good_plan_and_says_so() -> None:
    problem = make_problem(10, 4, 5)
    before = solve(problem, limits=QUICK)
    again = solve(problem, limits=Limits(seconds=0.0, bounds=False), incumbent=before)
    assert again.provenance.stopped_by == "clock"
    assert broken(problem, again) == []
    # Re-settling kilograms for the same visits cannot do worse on the first wishes.
    for name in ("below_minimum_vs_g", "shortfall_vs_mg"):
        assert value(again, name) <= value(before, name) + 1_000


def test_a_plan_without_any_digester_batch_pair_or_band_is_empty() -> None:
    problem = make_problem(6, 3, 1)
    nothing = tuple(replace(d, caps=(DayCaps(0, 0, 0),) * problem.days) for d in problem.digesters)
    shut = tuple(replace(p, meets_on_day=(False,) * problem.days) for p in problem.pairs)
    huge = tuple(replace(b, divisible=False, amount_g=900_000) for b in problem.batches)
    for case in (
        replace(problem, digesters=(), pairs=()),
        replace(problem, batches=()),
        replace(problem, pairs=()),
        replace(problem, digesters=nothing),
        replace(problem, pairs=shut),
        replace(problem, batches=huge),
    ):
        result = solve(case, limits=QUICK)
        assert result.placements == ()
        assert sum(left.amount_g for left in result.left_over) == value(result, "left_over_g")


def some_pins(problem: Problem, plan: Result, count: int) -> tuple[Pin, ...]:
    """Pins that the plan keeps already, so that they can be kept together."""
    return tuple(Pin(p.batch, p.digester, p.day, p.amount_g) for p in plan.placements[:count])


def test_pins_and_bans_are_kept() -> None:
    problem = make_problem(12, 5, 2)
    plan = solve(problem, limits=QUICK)
    pins = some_pins(problem, plan, 2)
    source_of = {b.code: b.source for b in problem.batches}
    last = plan.placements[-1]
    ban = Ban(source_of[last.batch], last.digester)
    problem = replace(problem, pins=pins, bans=(ban,))
    result = solve(problem, limits=QUICK)
    assert broken(problem, result) == []
    placed = {(p.batch, p.digester, p.day): p.amount_g for p in result.placements}
    for pin in pins:
        assert placed[pin.batch, pin.digester, pin.day] == pin.amount_g
    assert all((source_of[b], d) != (ban.source, ban.digester) for b, d, _ in placed)


def test_pins_that_contradict_are_named_with_the_fewest_to_lift() -> None:
    """One home may visit once a day; three of four pins ask for the same day: lift two."""
    problem = make_problem(12, 5, 2, supply=3.0)
    home = problem.digesters[0]
    home = replace(home, max_visits_per_day=1, share_caps=())
    problem = replace(problem, digesters=(home, *problem.digesters[1:]))
    open_on = {p.source: p.meets_on_day for p in problem.pairs if p.digester == home.code}
    by_day: dict[int, dict[str, str]] = {}
    for batch in problem.batches:
        meets = open_on.get(batch.source)
        fits = meets and meets[batch.ready_day] and batch.material in home.accepts
        if fits and home.caps[batch.ready_day].vs_g:
            by_day.setdefault(batch.ready_day, {}).setdefault(batch.source, batch.code)
    day = next(d for d, found in sorted(by_day.items()) if len(found) >= 3)
    pins = tuple(Pin(code, home.code, day) for code in list(by_day[day].values())[:3])
    with pytest.raises(ProblemError) as caught:
        solve(replace(problem, pins=pins), limits=QUICK)
    lifted = caught.value.pins_to_lift
    assert len(lifted) == 2
    assert set(lifted) < set(pins)
    kept = tuple(pin for pin in pins if pin not in lifted)
    solve(replace(problem, pins=kept), limits=QUICK)


def test_a_new_pin_is_kept_by_a_plan_around_it() -> None:
    problem = make_problem(12, 5, 2)
    plan = solve(problem, limits=QUICK)
    have = {(p.batch, p.digester) for p in plan.placements}
    homes = {d.code: d for d in problem.digesters}
    pin = next(
        Pin(b.code, p.digester, b.ready_day)
        for b in problem.batches
        for p in problem.pairs
        if p.source == b.source
        and (b.code, p.digester) not in have
        and p.meets_on_day[b.ready_day]
        and b.material in homes[p.digester].accepts - {"canteen", "citrus"}
        and homes[p.digester].caps[b.ready_day].vs_g
    )
    pinned = replace(problem, pins=(pin,))
    touched = Limits(work=1_000, only_touched=True, bounds=False)
    better = solve(pinned, limits=touched, incumbent=plan)
    assert broken(pinned, better) == []
    assert (pin.batch, pin.digester, pin.day) in {
        (p.batch, p.digester, p.day) for p in better.placements
    }


def test_a_change_budget_is_kept() -> None:
    problem = make_problem(12, 5, 2)
    plan = solve(problem, limits=QUICK)
    budget = replace(
        problem, previous=plan.placements, rules=replace(problem.rules, change_budget=2)
    )
    result = solve(budget, limits=QUICK, incumbent=plan)
    assert value(result, "changes_over_budget") == 0
    assert broken(budget, result) == []


def test_a_plan_that_replaces_another_starts_from_its_visits() -> None:
    problem = make_problem(24, 8, 3)
    plan = solve(problem, limits=QUICK)
    source_of = {batch.code: batch.source for batch in problem.batches}

    def visits(result: Result) -> set[tuple[str, str, int]]:
        return {(source_of[p.batch], p.digester, p.day) for p in result.placements}

    declined = sorted(visits(plan))[0]
    calm = replace(
        problem,
        bans=(Ban(*declined),),
        previous=plan.placements,
        rules=replace(problem.rules, change_budget=4),
    )
    again = solve(calm, limits=Limits(bounds=False))
    assert broken(calm, again) == []
    assert value(again, "changes_over_budget") == 0
    assert len(visits(plan) ^ visits(again)) <= 4
    assert declined not in visits(again)
    assert solve(calm, limits=Limits(bounds=False)) == again


def test_price_bounds_are_at_least_the_relaxation_s_and_never_above_a_plan() -> None:
    problem = sort_problem(make_problem(10, 4, 5, supply=0.7))
    plan = solve(problem)
    values = [wish.value for wish in plan.wishes]
    plain = bound_wishes(problem, values)
    priced = bound_wishes(problem, values, groups=[[0, 1], [2, 3]])
    assert (priced >= plain - 1e-6).all()
    assert (priced <= values).all()
