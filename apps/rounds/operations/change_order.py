"""Lock a stop to its time, or move it by hand."""

from __future__ import annotations

import math
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.http import Http404
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.kernel.quantities import in_thousands
from apps.rounds.core.answer import Answer
from apps.rounds.core.export import export
from apps.rounds.core.problem import Side, Tour, Visit
from apps.rounds.core.schedule import Rule, Timing, timing
from apps.rounds.models import LIVE, Round, RoundStop, StopState
from apps.rounds.operations.errors import OrderImpossible, RoundRefused, StopRefused
from apps.rounds.operations.write_tour import figures_of, put_times
from apps.rounds.queries.rest_problem import RestProblem, rest_problem

ORDER_WORDS = {
    Rule.LATE: _("Then %(place)s would be reached %(minutes)s minutes after it shuts."),
    Rule.SHIFT: _("Then the round would end %(minutes)s minutes too late."),
    Rule.LOAD: _("Then the cart would be %(kg)s kg over its limit."),
    Rule.BREAK: _("Then the rest would come %(minutes)s minutes too late."),
    Rule.AVOID: _("%(place)s is not to be visited by this carrier."),
    Rule.ORDER: _("%(place)s cannot be served before its waste was fetched."),
}


@transaction.atomic
def lock_stop(group: Group, stop_uuid: UUID, *, is_locked: bool) -> RoundStop:
    """Promise the stop for its time, give or take `LOCK_SLACK_S`; or free it again."""
    found, stop = locked_round(group, stop_uuid)
    _check_open(found, stop)
    stop.locked_s = stop.begin_s if is_locked else None
    stop.save(update_fields=["locked_s"])
    return stop


@transaction.atomic
def move_stop(group: Group, stop_uuid: UUID, to_number: int, *, now: datetime) -> RoundStop:
    """Put the stop at `to_number` of the round's order (from 1), and lock it there. Refused, with
    the limit it would break, when that cannot be."""
    found, stop = locked_round(group, stop_uuid)
    _check_open(found, stop)
    stop.locked_s = None
    stop.save(update_fields=["locked_s"])
    rest = rest_problem(found, now)
    order = [each for each in rest.waiting if each.pk != stop.pk]
    first = min((each.number for each in rest.waiting), default=1)
    order.insert(min(max(0, to_number - first), len(order)), stop)
    timed = _timed(rest, order)
    _check(rest, timed)
    for number, (each, moment) in enumerate(zip(order, timed.moments, strict=True), start=first):
        put_times(each, number, moment)
        if each.pk == stop.pk:
            each.locked_s = moment.begin_s
            stop = each
        each.save()
    found.version += 1
    found.figures = figures_of(found, rest.problem, timed)
    found.document = export(Answer(rest.rounds, (timed,), ()))
    found.save()
    return stop


def locked_round(group: Group, stop_uuid: UUID) -> tuple[Round, RoundStop]:
    """The stop and its round, the round's row locked."""
    stop: RoundStop | None = RoundStop.objects.of(group).filter(uuid=stop_uuid).first()
    if stop is None:
        raise Http404
    found: Round = (
        Round.objects.of(group)
        .select_for_update(of=("self",))
        .select_related("carrier__member", "carrier__group", "carrier__account", "group")
        .get(pk=stop.round_id)
    )
    stop.refresh_from_db()
    return found, stop


def _check_open(found: Round, stop: RoundStop) -> None:
    if found.state not in LIVE:
        raise RoundRefused(_("This round is over. Nothing in it can be changed."))
    if stop.state != StopState.WAITING:
        raise StopRefused(_("This stop is through. Only stops that are to come can be changed."))


def _timed(rest: RestProblem, order: list[RoundStop]) -> Timing:
    uuids = {pickup.pk: code for code, pickup in rest.problem.pickups.items()}
    visits = tuple(Visit(uuids[each.pickup_id], Side(each.side)) for each in order)
    return timing(rest.rounds, Tour(rest.problem.code, visits))


def _check(rest: RestProblem, timed: Timing) -> None:
    if not timed.breaches:
        return
    order = (Rule.ORDER, Rule.AVOID, Rule.LATE, Rule.LOAD, Rule.SHIFT, Rule.BREAK)
    worst = min(timed.breaches, key=lambda each: (order.index(each.rule), -each.by))
    place = ""
    if worst.at is not None:
        visit = timed.moments[worst.at].visit
        place = rest.problem.places[visit.errand, visit.side]
    raise OrderImpossible(
        ORDER_WORDS[worst.rule],
        field="to_number",
        figures={
            "place": place,
            "minutes": math.ceil(worst.by / 60),
            "kg": in_thousands(worst.by),
        },
    )
