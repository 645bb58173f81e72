"""Several carriers on one day: one problem for the search, and each one's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from apps.pickups.models import Pickup
from apps.rounds.core.other_hours import Others
from apps.rounds.core.problem import Rounds, Window
from apps.rounds.models import Carrier
from apps.rounds.queries.round_problem import Beside, RoundProblem, round_problem


@dataclass(frozen=True, slots=True)
class Shift:
    """Who carries, and in which minutes after local midnight."""

    carrier: Carrier
    from_min: int
    till_min: int


@dataclass(frozen=True, slots=True)
class JointProblem:
    """`rounds` has every carrier; `others` as in `RoundProblem`; `alone` by the carrier's code,
    over the same places."""

    rounds: Rounds
    others: Others
    alone: dict[str, RoundProblem]


def joint_problem(shifts: Sequence[Shift], on: date, pickups: Sequence[Pickup]) -> JointProblem:
    """Five queries a carrier."""
    span = Window(
        min(each.from_min for each in shifts) * 60, max(each.till_min for each in shifts) * 60
    )
    beside = Beside([each.carrier for each in shifts], span)
    problems = [
        round_problem(
            each.carrier, on, pickups, from_min=each.from_min, till_min=each.till_min, beside=beside
        )
        for each in shifts
    ]
    return JointProblem(
        Rounds(
            problems[0].rounds.errands,
            tuple(
                replace(problem.rounds.carriers[0], ways=number)
                for number, problem in enumerate(problems)
            ),
            tuple(problem.rounds.ways[0] for problem in problems),
        ),
        problems[0].others,
        {problem.code: problem for problem in problems},
    )
