"""Build a carrier's round of one day from the pickups that are open."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.utils.translation import gettext_lazy as _

from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.people.models import Member
from apps.pickups.models import Pickup
from apps.rounds.core.engine import Effort
from apps.rounds.core.solve import solve
from apps.rounds.models import LIVE, Carrier, Round, RoundState
from apps.rounds.operations.errors import NothingToCarry, RoundRefused
from apps.rounds.operations.write_tour import write_tour
from apps.rounds.queries.round_problem import OPEN, open_pickups, pickups_by_id, round_problem


def build_round(
    group: Group,
    carrier: Carrier,
    on: date,
    *,
    now: datetime,
    built_by: Member | None,
    pickups: Collection[Pickup] | None = None,
    from_min: int | None = None,
    till_min: int | None = None,
    effort: Effort | None = None,
) -> Round:
    """Return the draft; an earlier draft of the same carrier and day is made anew. `pickups`
    None: all that are open and in no other round. The search runs outside of the transaction;
    what changed meanwhile is refused, not half written."""
    if on < local_date(now, group.time_zone):
        raise NothingToCarry(_("That day is over. Choose today or a later day."), field="on")
    begin = carrier.from_min if from_min is None else from_min
    end = carrier.till_min if till_min is None else till_min
    if begin >= end:
        raise NothingToCarry(
            _("The round ends before it begins. Give the earlier time first."), field="till_min"
        )
    draft = _live(carrier, on)
    if draft is not None and draft.state == RoundState.ANNOUNCED:
        raise RoundRefused(
            _("%(name)s already has an announced round that day. Change that one, or drop it."),
            figures={"name": carrier.member.name},
        )
    chosen = _chosen(group, on, draft, pickups)
    if not chosen:
        raise NothingToCarry(_("No pickup is open that day that is not in a round already."))
    problem = round_problem(carrier, on, chosen, from_min=begin, till_min=end)
    answer = solve(problem.rounds, effort)
    try:
        with transaction.atomic():
            Carrier.objects.of(group).select_for_update().get(pk=carrier.pk)
            found = _live(carrier, on) or Round(group=group, carrier=carrier, on=on)
            if found.state == RoundState.ANNOUNCED:
                raise RoundRefused(_("Somebody announced this round meanwhile. Look at it again."))
            found.from_min, found.till_min = begin, end
            found.built_by, found.built_at = built_by, now
            if found.pk:
                found.version += 1
                found.stops.all().delete()
            found.save()
            write_tour(found, problem, answer)
    except IntegrityError as error:
        raise RoundRefused(
            _("A pickup went into another round meanwhile. Build this one again.")
        ) from error
    return found


def _live(carrier: Carrier, on: date) -> Round | None:
    found: Round | None = (
        Round.objects.of(carrier.group)
        .select_related("carrier__member", "carrier__group", "group")
        .filter(carrier=carrier, on=on, state__in=LIVE)
        .first()
    )
    return found


def _chosen(
    group: Group, on: date, draft: Round | None, pickups: Collection[Pickup] | None
) -> list[Pickup]:
    if pickups is not None:
        rows = pickups_by_id(group, {each.pk for each in pickups})
        return [each for each in rows if each.on == on and each.state in OPEN]
    own = set(draft.stops.values_list("pickup_id", flat=True)) if draft else set()
    mine = [each for each in pickups_by_id(group, own) if each.state in OPEN]
    free = [each for each in open_pickups(group, on) if each.pk not in own]
    return sorted([*mine, *free], key=lambda each: str(each.uuid))
