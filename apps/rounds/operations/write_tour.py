"""Put an answer into a round's rows, inside the caller's transaction."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any

from apps.kernel.sentences import Sentence
from apps.rounds.core.answer import Answer
from apps.rounds.core.compare import OwnTrip, everybody_fetches
from apps.rounds.core.export import export
from apps.rounds.core.handling import handling
from apps.rounds.core.problem import Side
from apps.rounds.core.schedule import Moment, Timing
from apps.rounds.core.sentences import say_left
from apps.rounds.core.short_codes import short_code
from apps.rounds.models import Round, RoundState, RoundStop, StopState
from apps.rounds.queries.round_problem import STOP_S, RoundProblem


def write_tour(found: Round, problem: RoundProblem, answer: Answer) -> None:
    """Done stops stay as they are; waiting ones get their new order, those left out go. The
    caller saves nothing else: the round's row is saved here."""
    moments = answer.tours[0].moments if answer.tours else ()
    stops = {(stop.pickup_id, Side(stop.side)): stop for stop in found.stops.all()}
    past = sum(stop.state != StopState.WAITING for stop in stops.values())
    _let_go(stops.values(), problem, moments)
    letters = _letters(stops.values())
    for number, moment in enumerate(moments, start=past + 1):
        pickup = problem.pickups[moment.visit.errand]
        stop = stops.get((pickup.pk, moment.visit.side))
        if stop is None:
            letters.setdefault(pickup.pk, max(letters.values(), default=-1) + 1)
            stop = RoundStop(
                group=found.group,
                round=found,
                pickup=pickup,
                side=moment.visit.side,
                short_code=short_code(letters[pickup.pk], moment.visit.side),
            )
        stop.state, stop.is_live = StopState.WAITING, True
        put_times(stop, number, moment)
        stop.save()
    found.document = export(answer)
    found.left = _left(found, problem, answer)
    if answer.tours:
        found.figures = {
            **figures_of(found, problem, answer.tours[0]),
            "is_rest": past > 0,
        }
    found.save()


def end_when_through(found: Round) -> None:
    """An announced round without stops to come is over; its pickups are free."""
    if found.state != RoundState.ANNOUNCED:
        return
    if not found.stops.filter(state=StopState.WAITING).exists():
        found.state = RoundState.OVER
        found.stops.update(is_live=False)
        found.save(update_fields=["state"])


def put_times(stop: RoundStop, number: int, moment: Moment) -> None:
    """Where the stop stands in the order, and when."""
    stop.number = number
    stop.arrive_s, stop.begin_s, stop.leave_s = moment.arrive_s, moment.begin_s, moment.leave_s
    stop.load_g = moment.load_g


def figures_of(found: Round, problem: RoundProblem, timed: Timing) -> dict[str, Any]:
    """What pages show of the whole tour."""
    rounds = problem.rounds
    lifted = handling(rounds, timed, found.carrier.member.carry_limit_g)
    own = everybody_fetches(_own_trips(problem, timed))
    return {
        "depart_s": timed.depart_s,
        "back_s": timed.back_s,
        "seconds": timed.seconds,
        "metres": timed.metres,
        "gram_metres": timed.gram_metres,
        "rests": [
            {"before": r.before, "begin_s": r.begin_s, "length_s": r.length_s} for r in timed.rests
        ],
        "lifts": lifted.lifts,
        "heaviest_g": lifted.heaviest_g,
        "lifted_g": lifted.lifted_g,
        "day_limit_g": lifted.day_limit_g,
        "heaviest_load_g": lifted.heaviest_load_g,
        "cautions": [_plain(each) for each in lifted.cautions],
        "own": {
            "people": own.people,
            "seconds": own.seconds,
            "metres": own.metres,
            "gram_metres": own.gram_metres,
        },
        "attribution": problem.ways.attribution,
        "detour_factor": problem.ways.detour_factor,
    }


def _own_trips(problem: RoundProblem, timed: Timing) -> list[OwnTrip]:
    """The pickups of the tour as if each home went itself, at the carrier's own pace."""
    carrier = problem.rounds.carrier[timed.carrier]
    ways = problem.rounds.ways[carrier.ways]
    trips = []
    for moment in timed.moments:
        if moment.visit.side is not Side.BRING:
            continue
        pickup = problem.pickups[moment.visit.errand]
        errand = problem.rounds.errand.get(moment.visit.errand)
        if errand is None or errand.fetch is None or errand.bring is None:
            continue
        there, home = errand.fetch.place, errand.bring.place
        trips.append(
            OwnTrip(
                pickup.digester.code,
                ways.metres[home][there],
                ways.seconds[home][there],
                errand.amount_g,
                int(STOP_S[Side.FETCH].value),
            )
        )
    return trips


def _left(found: Round, problem: RoundProblem, answer: Answer) -> list[dict[str, Any]]:
    visits = [moment.visit for tour in answer.tours for moment in tour.moments]
    name = found.carrier.member.name
    rows = [
        {"pickup": left.errand, "why": left.why.value, **_plain(say)}
        for left in answer.left
        for say in [say_left(left, name, problem.places, visits)]
    ]
    rows += [{"pickup": code, "why": "shut", **_plain(say)} for code, say in problem.shut.items()]
    return sorted(rows, key=lambda row: row["pickup"])


def _plain(sentence: Sentence) -> dict[str, Any]:
    return {"template": sentence.template, "values": dict(sentence.values)}


def _let_go(stops: Collection[RoundStop], problem: RoundProblem, moments: Sequence[Moment]) -> None:
    """Waiting stops that are in the tour no more; but what is on the cart is still to be said."""
    kept = {(problem.pickups[m.visit.errand].pk, m.visit.side) for m in moments}
    kept |= {
        (stop.pickup_id, Side.BRING)
        for stop in stops
        if stop.side == Side.FETCH and stop.state == StopState.DONE
    }
    for stop in stops:
        if stop.state == StopState.WAITING and (stop.pickup_id, Side(stop.side)) not in kept:
            stop.state, stop.is_live = StopState.GONE, False
            stop.save(update_fields=["state", "is_live"])


def _letters(stops: Iterable[RoundStop]) -> dict[int, int]:
    """Which letter each pickup of the round has had from the beginning."""
    letters: dict[int, int] = {}
    for stop in sorted(stops, key=lambda each: each.pk):
        letters.setdefault(stop.pickup_id, len(letters))
    return letters
