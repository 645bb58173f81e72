"""A change answered twice: at once what it does, and soon a better plan around it.

The second answer starts from the first and only ever betters it.
"""

from __future__ import annotations

import time
from dataclasses import dataclass

from apps.planning.core.change import Change
from apps.planning.core.check_problem import check_problem
from apps.planning.core.engine import ENGINE
from apps.planning.core.measure import list_left_over, measure_wishes
from apps.planning.core.near_search import better_around
from apps.planning.core.problem import Placement, Problem
from apps.planning.core.result import WISHES, Feed, Provenance, Result, Wish
from apps.planning.core.what_if import Consequences, what_if

WORK = 4_000
"""Simplex iterations around one change: about a second."""
SECONDS = 1.7
"""What whoever asked waits at most, all told: under two seconds with the page around it."""


@dataclass(frozen=True, slots=True)
class Answer:
    """`first`: the plan with the change made. `better`: the best found around it, never worse;
    None where the change cannot be kept."""

    first: Consequences
    better: Result | None


def answer_change(
    problem: Problem,
    result: Result,
    change: Change,
    *,
    work: int = WORK,
    seconds: float | None = None,
    seed: int = 0,
) -> Answer:
    """What `change` does to the plan `result`, and the best answer found near it within `work`
    (which repeats) and, if given, `seconds` for both answers together (which does not).

    Raises KeyError where the change names a batch or digester that the problem has not."""
    begun = time.monotonic()
    first = what_if(problem, result, change)
    changed = change.apply(problem)
    if first.cannot_keep or check_problem(changed):
        return Answer(first, None)
    start = _result(changed, first.placements, first.feeds, seed)
    moved = {each.digester for each in (*first.gone, *first.new)}
    around = moved | {pin.digester for pin in change.pins} | {ban.digester for ban in change.bans}
    around |= {each.code for each in change.digesters}
    left = None if seconds is None else seconds - (time.monotonic() - begun)
    found = better_around(changed, start, around, work=work, seconds=left, seed=seed)
    better = start if found is None else _result(changed, *found, seed)
    return Answer(first, min(start, better, key=_wishes))


def _wishes(result: Result) -> tuple[float, ...]:
    return tuple(wish.value for wish in result.wishes)


def _result(
    problem: Problem, placements: tuple[Placement, ...], feeds: tuple[Feed, ...], seed: int
) -> Result:
    values = measure_wishes(problem, placements, feeds)
    return Result(
        placements=placements,
        feeds=feeds,
        left_over=list_left_over(problem, placements, feeds),
        wishes=tuple(Wish(name, v, 0.0) for (name, _), v in zip(WISHES, values, strict=True)),
        provenance=Provenance(seed, 0, ENGINE, "", "iterations"),
    )
