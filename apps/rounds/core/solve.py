"""From a rounds problem to an answer: search, times, reasons."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from apps.rounds.core.answer import Answer, Left
from apps.rounds.core.breaks import search_with_breaks
from apps.rounds.core.engine import Effort
from apps.rounds.core.fewest import asks_for_fewest, fewest_carriers
from apps.rounds.core.problem import Errand, Rounds, Tour
from apps.rounds.core.schedule import timing
from apps.rounds.core.why_left import why_left

MUST = 250_000
"""Cost units that an errand is worth to the engine when it must be done: nearly three days of
somebody's time in seconds, yet less than what being a second late costs it in the end."""

WORK = 24_000
"""Iterations times errands: about a third of a second on one free core, whatever the size."""


def usual_effort(rounds: Rounds) -> Effort:
    """What pages spend. The search of a dozen errands is over after some hundred iterations
    (`tests.benchmarks.rounds_small`)."""
    return Effort(iterations=max(100, WORK // max(1, len(rounds.errands))))


def solve(rounds: Rounds, effort: Effort | None = None, start_from: Sequence[Tour] = ()) -> Answer:
    """The best tours found. What cannot be done, or is not worth it, is left out with a reason,
    even where it must be done (`Answer.is_complete`)."""
    softened = replace(rounds, errands=tuple(_soft(each) for each in rounds.errands))
    spent = effort or usual_effort(rounds)
    if asks_for_fewest(rounds) and not start_from:
        start_from = fewest_carriers(rounds, spent)
    tours = search_with_breaks(softened, spent, start_from)
    timed = tuple(timing(rounds, tour) for tour in tours)
    done = {code for tour in tours for code in tour.codes()}
    left: list[Left] = [
        why_left(softened, timed, each) for each in softened.errands if each.code not in done
    ]
    return Answer(rounds, timed, tuple(left))


def _soft(errand: Errand) -> Errand:
    """Everything may be left out, except what is on a cart already."""
    if errand.value is not None or errand.fetch is None:
        return errand
    return replace(errand, value=MUST)
