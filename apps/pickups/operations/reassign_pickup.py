"""Give a pickup's waste to another home: one tap, one new plan, announced at once.

The old pair is ruled out for the day and the waste pinned to the new home; the plan is made
around both with as few other changes as can be, and announced. When that is impossible the
wishes are taken back and nothing has changed.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext_lazy as _

from apps.digesters.models import Digester
from apps.groups.models import Group
from apps.kernel.days import local_date
from apps.kernel.errors import Conflict, Refused
from apps.people.models import Member
from apps.pickups.core.life import WITHDRAW, Party, State
from apps.pickups.models import Pickup
from apps.pickups.operations.end_day_links import end_links_of_day
from apps.pickups.operations.take_step import Act, Actor, take_step
from apps.planning.models import Ban, Pin, Plan
from apps.planning.operations.announce_plan import StaleDraft, announce_plan
from apps.planning.operations.ban_pair import ban_pair
from apps.planning.operations.make_plan import make_plan
from apps.planning.operations.pin_batch import pin_batch
from apps.planning.queries.find_plan import announced_plan
from apps.planning.queries.in_force import plans_in_force

FEW_CHANGES = 2
"""One pickup gone, one come."""

OPEN = (State.ANNOUNCED, State.ACCEPTED)
MOVABLE = (*OPEN, State.DECLINED, State.FAILED, State.WITHDRAWN)


class CannotReassign(Conflict):
    """The pickup is under way or over, or no announced plan covers its day."""

    code = "cannot_reassign"


def reassign_pickup(
    pickup: Pickup,
    digester: Digester,
    *,
    now: datetime,
    by: Member,
    client_key: str,
    amount_g: int | None = None,
) -> Plan:
    """Return the plan announced. `amount_g`: no more than so much of the waste (as
    `propose_next_homes` says), shared over its lines; None: all of it.

    Facts: those of the pins, of announcing, and `pickup_withdrawn` of an open one. The old
    home's links to that day die when it has no other pickup then.
    """
    try:
        return _reassign(pickup, digester, now, by, client_key, amount_g)
    except StaleDraft:
        # Somebody answered while the plan was made: once more, from how things are now.
        pickup.refresh_from_db()
        return _reassign(pickup, digester, now, by, client_key, amount_g)


def _reassign(
    pickup: Pickup,
    digester: Digester,
    now: datetime,
    by: Member,
    client_key: str,
    amount_g: int | None,
) -> Plan:
    group = pickup.group
    _check_movable(pickup, digester)
    starts_on, days = _days_to_plan(pickup, local_date(now, group.time_zone))
    pins, ban = _wish(pickup, digester, now, by, amount_g)
    try:
        made = make_plan(
            group,
            now=now,
            starts_on=starts_on,
            days=days,
            made_by=by,
            change_budget=FEW_CHANGES,
        )
        with transaction.atomic():
            # Locked in the order in which announcing locks.
            Group.objects.select_for_update(no_key=True).get(pk=group.pk)
            found = Pickup.objects.of(group).select_for_update().get(pk=pickup.pk)
            is_answered = found.state != pickup.state and found.state not in OPEN
            pickup.state = found.state
            _check_movable(pickup, digester)
            # Of another revision it is of other amounts than the pins ask for.
            if is_answered or found.revision != pickup.revision:
                raise StaleDraft(_("This pickup was answered meanwhile. Look at it again."))
            if pickup.state in OPEN:
                _withdraw(pickup, now, by, client_key)
            announced = announce_plan(made, now=now, announced_by=by)
            _end_links(pickup, now)
    except Refused:
        _take_back(pins, ban)
        raise
    return announced


def _check_movable(pickup: Pickup, digester: Digester) -> None:
    if pickup.state not in MOVABLE or pickup.digester_id == digester.pk:
        raise CannotReassign(
            _("This pickup is %(state)s; only one that has not begun goes to another home."),
            figures={"state": pickup.get_state_display()},
        )


def _days_to_plan(pickup: Pickup, today: date) -> tuple[date, int]:
    """From tomorrow, or from the pickup's day where that is today, to the end of what is
    announced. In the evening today goes by a plan that tomorrow's has superseded."""
    plan = announced_plan(pickup.group)
    is_covered = pickup.on in plans_in_force(pickup.group, pickup.on, pickup.on)
    if plan is None or not is_covered or pickup.on < today:
        raise CannotReassign(_("No announced plan covers that day. Make and announce one first."))
    first = min(pickup.on, max(plan.starts_on, today + timedelta(days=1)))
    return first, (plan.starts_on - first).days + plan.days


def _wish(
    pickup: Pickup, digester: Digester, now: datetime, by: Member, amount_g: int | None
) -> tuple[list[Pin], Ban | None]:
    lines = list(pickup.lines.select_related("stream__source"))
    whole_g = sum(line.planned_g for line in lines)
    share = 1.0 if amount_g is None else min(1.0, amount_g / whole_g)
    with transaction.atomic():
        ban = None
        Pin.objects.of(pickup.group).filter(
            stream__source=pickup.source_id, digester=pickup.digester_id, on=pickup.on
        ).delete()
        if pickup.state in (*OPEN, State.WITHDRAWN):
            ban = ban_pair(
                pickup.group,
                source=pickup.source,
                digester=pickup.digester,
                on=pickup.on,
                now=now,
                asked_by=by,
            )
        pins = [
            pin_batch(
                pickup.group,
                stream=line.stream,
                batch_on=line.batch_on,
                digester=digester,
                on=pickup.on,
                amount_g=max(1, int(line.planned_g * share)),
                now=now,
                asked_by=by,
            )
            for line in lines
        ]
    return pins, ban


@transaction.atomic
def _take_back(pins: list[Pin], ban: Ban | None) -> None:
    Pin.unscoped.filter(pk__in=[pin.pk for pin in pins]).delete()
    if ban is not None:
        Ban.unscoped.filter(pk=ban.pk).delete()


def _withdraw(pickup: Pickup, now: datetime, by: Member, client_key: str) -> None:
    act = Act(
        step=WITHDRAW,
        actor=Actor(by, Party.COORDINATOR),
        client_key=client_key,
        now=now,
        reason="reassigned",
    )
    take_step(pickup.group, pickup.uuid, act)


def _end_links(pickup: Pickup, now: datetime) -> None:
    others = (
        Pickup.objects.of(pickup.group)
        .filter(digester=pickup.digester_id, on=pickup.on, state__in=(*OPEN, State.COLLECTED))
        .exists()
    )
    if not others:
        end_links_of_day(pickup.digester, pickup.on, now=now)
