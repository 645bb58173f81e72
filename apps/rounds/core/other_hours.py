"""Places that are open more than once in a day: the search knows one window for each end of an
errand, so others are tried one at a time, where that may help. Pure.

First for what was left out, then where somebody waits before a door, the longest wait first. Each
try is a search of its own, kept when less worth is left out or, with as much, less time is spent.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from apps.rounds.core.answer import Answer
from apps.rounds.core.engine import Effort
from apps.rounds.core.problem import Errand, Rounds, Side, Window
from apps.rounds.core.solve import MUST, solve

Others = Mapping[tuple[str, Side], Sequence[Window]]
"""By errand's code and side: the windows beside that in the problem."""

MOST_TRIES = 6
"""Searches beside the first. Ours: about three seconds for a dozen errands."""


def solve_with_hours(rounds: Rounds, others: Others, effort: Effort | None = None) -> Answer:
    """The best answer found; its `rounds` have the windows that it keeps. Without `others` it is
    `solve`."""
    best = solve(rounds, effort)
    tried: set[tuple[str, Side, Window]] = set()
    while len(tried) < MOST_TRIES:
        step = next((each for each in _steps(best, others) if each not in tried), None)
        if step is None:
            break
        tried.add(step)
        found = solve(_moved(best.rounds, *step), effort)
        if _worth(found) < _worth(best):
            best = found
    return best


def _worth(answer: Answer) -> int:
    """What is left out at its value, and the tours at their cost: less is better."""
    values = {each.code: each.value for each in answer.rounds.errands}
    left = (values[each.errand] for each in answer.left)
    return answer.cost + sum(MUST if value is None else value for value in left)


def _steps(answer: Answer, others: Others) -> Iterator[tuple[str, Side, Window]]:
    ends = [(each.errand, side) for each in answer.left for side in Side]
    waits = [
        (moment.begin_s - moment.arrive_s, moment.visit.errand, moment.visit.side)
        for tour in answer.tours
        for moment in tour.moments
        if moment.begin_s > moment.arrive_s
    ]
    ends += [(code, side) for _wait_s, code, side in sorted(waits, reverse=True)]
    for code, side in ends:
        for window in others.get((code, side), ()):
            yield code, side, window


def _moved(rounds: Rounds, code: str, side: Side, window: Window) -> Rounds:
    return replace(
        rounds,
        errands=tuple(
            _with(each, side, window) if each.code == code else each for each in rounds.errands
        ),
    )


def _with(errand: Errand, side: Side, window: Window) -> Errand:
    end = replace(errand.end(side), window=window)
    return replace(errand, fetch=end) if side is Side.FETCH else replace(errand, bring=end)
