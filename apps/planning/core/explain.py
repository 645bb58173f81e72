"""Why each assignment, and why each kilogram left over: worked out, home by home.

Every candidate home is tested directly against the plan as it stands; the words come later.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from apps.planning.core.lookup import Index
from apps.planning.core.problem import Placement, Problem
from apps.planning.core.reasons import (
    Blocked,
    Fixed,
    HasRoom,
    Held,
    NoHome,
    Outranked,
    Reason,
    SmallestChange,
    blocked,
    compare,
    move,
    without,
)
from apps.planning.core.result import Result
from apps.planning.core.room import Candidate, Room, candidate, room
from apps.planning.core.smallest_change import smallest_change
from apps.planning.core.standing import Standing


@dataclass(frozen=True, slots=True)
class PlacementWhy:
    """Why a placement is where it is. `fixed` when it was not the plan's choice; `others` has
    one reason for each other home in reach, nearest first."""

    placement: Placement
    distance_m: int | None
    steady: bool
    fixed: Fixed | None
    others: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class LeftOverWhy:
    """Why grams of a batch are left over: one reason for each home in reach, nearest first;
    `main` is the home that came closest to taking it."""

    batch: str
    amount_g: int
    main: Reason
    homes: tuple[Reason, ...]
    change: SmallestChange | None


def explain_plan(
    problem: Problem, result: Result
) -> tuple[tuple[PlacementWhy, ...], tuple[LeftOverWhy, ...]]:
    """All reasons of a plan, in the result's order."""
    standing = Standing.of(problem, result)
    return (
        tuple(explain_placement(standing, each) for each in result.placements),
        explain_left_overs(standing, result),
    )


def explain_left_overs(standing: Standing, result: Result) -> tuple[LeftOverWhy, ...]:
    """Why each batch (not stock) of the result is left over, in the result's order."""
    return tuple(
        explain_left_over(standing, each.batch)
        for each in result.left_over
        if each.batch in standing.index.batches
    )


def explain_placement(standing: Standing, placement: Placement) -> PlacementWhy:
    """Why this home: what each other home in reach would have meant."""
    index = standing.index
    batch = index.batches[placement.batch]
    pair = index.pairs.get((batch.source, placement.digester))
    bare = without(standing, batch.code, placement.digester, placement.day)
    return PlacementWhy(
        placement=placement,
        distance_m=pair.distance_m if pair else None,
        steady=bool(pair and pair.steady),
        fixed=_fixed(index, placement),
        others=tuple(
            _why_not_instead(standing, bare, placement, near.digester)
            for near in index.homes_near[batch.source]
            if near.digester != placement.digester
        ),
    )


def _fixed(index: Index, placement: Placement) -> Fixed | None:
    key = (placement.batch, placement.digester, placement.day)
    if key in index.started:
        return Fixed("started", *key)
    return Fixed("pinned", *key) if key in index.pinned else None


def _why_not_instead(
    standing: Standing, bare: Standing, placement: Placement, digester: str
) -> Reason:
    """`bare` is the plan without the placement."""
    here = (placement.digester, placement.day)
    batch = standing.index.batches[placement.batch]
    best: Blocked | None = None
    fitting = []
    for day in standing.index.collection_days(batch):
        it = candidate(bare, batch, digester, day, placement.amount_g)
        found = room(it)
        stopped = blocked(it, found, here)
        if stopped is None:
            fitting.append(day)
        elif best is None or stopped.fit_g > best.fit_g:
            best = stopped
    if not fitting:
        return best or NoHome("not_in_these_days", batch.code)
    passed = bare.homes[placement.digester].passed()
    if passed:
        first = passed[0]
        return Held(batch.code, *here, digester, first.rule, first.over, first.unit)
    ends = (placement.digester, digester)
    value = standing.measure_near(ends, (batch.code,))
    whole = standing.measure()
    outcomes = []
    for day in fitting:
        moved = move(standing, batch.code, *here, digester, day)
        if moved is not None:
            near = moved.measure_near(ends, (batch.code,))
            there = tuple(w + n - v for w, n, v in zip(whole, near, value, strict=True))
            outcomes.append((there, day))
    there, day = min(outcomes)
    code, wish, own, other = compare(whole, there)
    return Outranked(code, batch.code, *here, digester, day, wish, own, other)


def explain_left_over(standing: Standing, batch_code: str) -> LeftOverWhy:
    """What stopped each home in reach, and the smallest change that would place it."""
    index = standing.index
    batch = index.batches[batch_code]
    amount_g = standing.left_g[batch_code]
    nobody: NoHome | None = None
    if not index.homes_near.get(batch.source):
        nobody = NoHome("nobody_in_reach", batch_code)
    elif not index.collection_days(batch):
        nobody = NoHome("not_in_these_days", batch_code)
    if nobody is not None:
        return LeftOverWhy(batch_code, amount_g, nobody, (), None)
    tests = {
        pair.digester: [
            (it, room(it))
            for day in index.collection_days(batch)
            for it in [candidate(standing, batch, pair.digester, day)]
        ]
        for pair in index.homes_near[batch.source]
    }
    homes = tuple(_why_not_left(at_home) for at_home in tests.values())
    main = max(homes, key=_nearness)
    found = None
    if not isinstance(main, HasRoom):
        found = smallest_change([test for at_home in tests.values() for test in at_home])
    change = SmallestChange(batch_code, found[1], found[0]) if found else None
    if change and change.amount_g < min(amount_g, index.problem.rules.smallest_part_g):
        change = None  # Nobody bends a rule for a handful of a batch.
    return LeftOverWhy(batch_code, amount_g, main, homes, change)


def _why_not_left(tests: Sequence[tuple[Candidate, Room]]) -> Blocked | HasRoom:
    """The day on which one home comes closest to taking what is left."""
    best: Blocked | None = None
    for it, found in tests:
        if found.is_open:
            return HasRoom(it.batch.code, it.home.digester.code, it.day, found.fit_g)
        stopped = blocked(it, found)
        if stopped and (best is None or _nearness(stopped) > _nearness(best)):
            best = stopped
    assert best is not None, "a home either has room or something stops it"
    return best


NEVER = (
    "too_far",
    "material_refused",
    "hours_never_meet",
    "banned",
    "too_late",
    "amount_fixed",
)
"""Reasons that no free room could help, the farthest from being taken."""


def _nearness(reason: Blocked | HasRoom) -> tuple[bool, bool, int]:
    return (
        isinstance(reason, HasRoom),
        reason.code not in NEVER,
        reason.fit_g,
    )
