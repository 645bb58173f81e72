"""A change answered twice: at once what it does, and soon a better plan around it.

The second answer starts from the first and only ever betters it.
"""

from __future__ import annotations

from dataclasses import dataclass

from apps.planning.core.change import Change
from apps.planning.core.check_problem import check_problem
from apps.planning.core.engine import ENGINE
from apps.planning.core.measure import measure_wishes
from apps.planning.core.problem import Problem
from apps.planning.core.result import WISHES, Provenance, Result, Wish
from apps.planning.core.solve import Limits, solve
from apps.planning.core.what_if import Consequences, what_if

WORK = 4_000
"""Simplex iterations around one change: about a second."""


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
    (which repeats) and, if given, `seconds` (which does not).

    Raises KeyError where the change names a batch or digester that the problem has not."""
    first = what_if(problem, result, change)
    changed = change.apply(problem)
    if first.cannot_keep or check_problem(changed):
        return Answer(first, None)
    start = _as_result(first, seed)
    moved = {each.digester for each in (*first.gone, *first.new)}
    around = moved | {pin.digester for pin in change.pins} | {ban.digester for ban in change.bans}
    around |= {each.code for each in change.digesters}
    limits = Limits(
        work=work, seconds=seconds, only_touched=True, bounds=False, around=frozenset(around)
    )
    found = solve(changed, limits=limits, seed=seed, incumbent=start)
    values = measure_wishes(changed, start.placements, start.feeds)
    if values <= measure_wishes(changed, found.placements, found.feeds):
        return Answer(first, start)
    return Answer(first, found)


def _as_result(first: Consequences, seed: int) -> Result:
    values = {name: after for name, _, after in first.wishes}
    return Result(
        placements=first.placements,
        feeds=first.feeds,
        left_over=first.left_over_after,
        wishes=tuple(Wish(name, values[name], 0.0) for name, _ in WISHES),
        provenance=Provenance(seed, 0, ENGINE, "", "iterations"),
    )
