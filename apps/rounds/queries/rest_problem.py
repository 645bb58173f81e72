"""What remains of a round at some moment: done stops are facts, the rest can still change."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from apps.kernel.days import local_date
from apps.pickups.core.life import State
from apps.pickups.models import Pickup
from apps.rounds.core.problem import Rounds, Side, Visit
from apps.rounds.core.rest import rest_of
from apps.rounds.models import Round, RoundStop, StopState
from apps.rounds.queries.round_problem import OPEN, RoundProblem, pickups_by_id, round_problem

CARRIED = (*OPEN, State.COLLECTED)
"""States in which a pickup is still to be done by the round that holds it."""


@dataclass(frozen=True, slots=True)
class RestProblem:
    """`rounds` is what remains; `problem` the whole; `done` the stops that are facts, in their
    order; `waiting` the others, in theirs."""

    problem: RoundProblem
    rounds: Rounds
    done: Sequence[RoundStop]
    waiting: Sequence[RoundStop]


def rest_problem(found: Round, now: datetime, more: Collection[Pickup] = ()) -> RestProblem:
    """`more`: pickups that are to come in. Eight queries."""
    stops = list(found.stops.order_by("number", "id"))
    pickups = pickups_by_id(found.group, {stop.pickup_id for stop in stops})
    carried = [each for each in pickups if each.state in CARRIED]
    uuids = {each.pk: str(each.uuid) for each in pickups}
    done = [stop for stop in stops if stop.state == StopState.DONE]
    kept = {each.pk for each in carried}
    waiting = [s for s in stops if s.state == StopState.WAITING and s.pickup_id in kept]
    locks = {
        (uuids[stop.pickup_id], Side(stop.side)): stop.locked_s
        for stop in waiting
        if stop.locked_s is not None
    }
    under_way = {uuids[s.pickup_id] for s in done}
    problem = round_problem(
        found.carrier,
        found.on,
        [*carried, *more],
        from_min=found.from_min,
        till_min=found.till_min,
        locks=locks,
        near={(uuids[s.pickup_id], Side(s.side)): s.begin_s for s in waiting},
        fixed=under_way,
    )
    problem = replace(problem, pickups={str(e.uuid): e for e in [*pickups, *more]})
    return RestProblem(problem, _rest(found, problem, uuids, done, now), done, waiting)


def _rest(
    found: Round,
    problem: RoundProblem,
    uuids: Mapping[int, str],
    done: Sequence[RoundStop],
    now: datetime,
) -> Rounds:
    carrier = problem.rounds.carriers[0]
    now_s = max(seconds_of_day(found, now), carrier.shift.from_s)
    if not done and now_s == carrier.shift.from_s:
        return problem.rounds
    at_place = carrier.start
    known = problem.rounds.errand
    visits = [Visit(uuids[stop.pickup_id], Side(stop.side)) for stop in done]
    for visit in visits:
        if visit.errand in known:
            at_place = known[visit.errand].end(visit.side).place
    return rest_of(
        problem.rounds,
        carrier.code,
        [visit for visit in visits if visit.errand in known],
        at_place=at_place,
        now_s=now_s,
    )


def seconds_of_day(found: Round, now: datetime) -> int:
    """Of the round's day: 0 before it, a whole day after it."""
    zone = found.group.time_zone
    today = local_date(now, zone)
    if today != found.on:
        return 0 if today < found.on else 24 * 3600
    local = now.astimezone(ZoneInfo(zone))
    return local.hour * 3600 + local.minute * 60 + local.second
