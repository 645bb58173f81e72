"""Every impossible problem is refused with a sentence that names the thing and the figure.

All expected sentences are rulings of ours (`core/check_problem.py`)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from apps.planning.core.check_problem import ProblemError, check_problem
from apps.planning.core.explain import explain_plan
from apps.planning.core.problem import Ban, DayCaps, Pin, Placement, Problem
from apps.planning.core.solve import Limits, solve
from tests.planning.generator import make_problem

SMALL = make_problem(5, 3, 7)


def test_generated_problems_are_sound() -> None:
    assert check_problem(SMALL) == ()


def _first(problem: Problem, kind: str, **changes: Any) -> Problem:
    items = getattr(problem, kind)
    return replace(problem, **{kind: (replace(items[0], **changes), *items[1:])})


@pytest.mark.parametrize(
    ("problem", "words"),
    [
        (_first(SMALL, "batches", amount_g=float("nan")), "amount_g is nan"),
        (_first(SMALL, "batches", amount_g=float("1e999")), "amount_g is inf"),
        (_first(SMALL, "batches", amount_g=-1), "amount_g is -1; it must not be negative"),
        (_first(SMALL, "batches", amount_g=True), "amount_g is True"),
        (_first(SMALL, "batches", amount_g=10**10), "the most that is believed"),
        (_first(SMALL, "batches", material="tyres"), "'tyres' is not in the problem"),
        (_first(SMALL, "batches", source="nobody"), "'nobody' is not in the problem"),
        (_first(SMALL, "batches", ready_day=3, collect_by_day=2), "collected by day 2"),
        (_first(SMALL, "batches", ready_day=3, collect_by_day=3, feed_by_day=1), "fed by day 1"),
        (_first(SMALL, "digesters", bin_g=-5), "bin_g is -5"),
        (_first(SMALL, "digesters", caps=(DayCaps(1, 1, 1),)), "caps has 1 entries for 7 days"),
        (_first(SMALL, "digesters", target_vs_g=(1, 2)), "target_vs_g has 2 entries"),
        (_first(SMALL, "pairs", meets_on_day=(True,)), "meets_on_day has 1 entries"),
        (_first(SMALL, "pairs", digester="D99"), "'D99' is not in the problem"),
        (replace(SMALL, days=0), "days is 0"),
        (replace(SMALL, batches=SMALL.batches[:1] * 2), "used 2 times"),
        (replace(SMALL, bans=(Ban("S9", "D9"),)), "'S9' is not in the problem"),
        (
            replace(SMALL, started=(Placement(SMALL.batches[0].code, "D0", 9, 10),)),
            "is on day 9 of 7",
        ),
    ],
)
def test_faults_are_said(problem: Problem, words: str) -> None:
    faults = check_problem(problem)
    assert any(words in str(fault) for fault in faults), faults
    with pytest.raises(ProblemError):
        solve(problem)


def test_a_hundred_thousand_batches_of_one_source_are_refused_at_once() -> None:
    first = SMALL.batches[0]
    many = tuple(replace(first, code=f"X{i}") for i in range(100_000))
    faults = check_problem(replace(SMALL, batches=(*SMALL.batches, *many)))
    assert len(faults) == 1
    assert faults[0].where == f"source {first.source}"
    assert "at most 2,000" in faults[0].message


def test_hours_that_never_meet_leave_the_batch_and_name_the_hours() -> None:
    shut = tuple(replace(pair, meets_on_day=(False,) * SMALL.days) for pair in SMALL.pairs)
    problem = replace(SMALL, pairs=shut)
    assert check_problem(problem) == ()
    result = solve(problem, limits=Limits(work=100, bounds=False))
    assert result.placements == ()
    _, why = explain_plan(problem, result)
    reachable = {pair.source for pair in shut}
    source_of = {batch.code: batch.source for batch in problem.batches}
    codes = {each.main.code for each in why if source_of[each.batch] in reachable}
    assert codes <= {"hours_never_meet", "material_refused", "not_in_these_days", "too_late"}
    assert "hours_never_meet" in codes


def test_a_batch_larger_than_every_bin_says_so() -> None:
    homes = tuple(replace(home, bin_g=400, min_pickup_g=0, stock=()) for home in SMALL.digesters)
    huge = tuple(replace(batch, divisible=False, amount_g=50_000) for batch in SMALL.batches)
    problem = replace(SMALL, digesters=homes, batches=huge)
    result = solve(problem, limits=Limits(work=100, bounds=False))
    assert result.placements == ()
    _, why = explain_plan(problem, result)
    assert {each.main.code for each in why} & {"bin_full", "day_maximum", "carry_limit"}


def _pinnable() -> Pin:
    """A batch, a digester and a day on which they can meet."""
    homes = {d.code: d for d in SMALL.digesters}
    for batch in SMALL.batches:
        for pair in SMALL.pairs:
            if (
                pair.source == batch.source
                and pair.meets_on_day[batch.ready_day]
                and batch.material in homes[pair.digester].accepts
            ):
                return Pin(batch.code, pair.digester, batch.ready_day)
    raise AssertionError("the small problem has no pair that meets")


PIN = _pinnable()
PINNED = next(b for b in SMALL.batches if b.code == PIN.batch)


@pytest.mark.parametrize(
    ("pin", "bans", "words"),
    [
        (replace(PIN, amount_g=PINNED.amount_g + 1), (), "are pinned but the batch has"),
        (replace(PIN, amount_g=0), (), "0 g are pinned"),
        (replace(PIN, day=PINNED.collect_by_day + 1), (), "the batch is there from day"),
        (PIN, (Ban(PINNED.source, PIN.digester),), "is banned"),
        (PIN, (Ban(PINNED.source, PIN.digester, PIN.day),), "is banned"),
    ],
)
def test_a_single_impossible_pin_is_named(pin: Pin, bans: tuple[Ban, ...], words: str) -> None:
    faults = check_problem(replace(SMALL, pins=(pin,), bans=bans))
    assert len(faults) == 1
    assert words in str(faults[0])
    assert str(faults[0]).endswith("Lift this pin.")
