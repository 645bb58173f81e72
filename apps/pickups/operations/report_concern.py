"""Report a concern at a place; a smell of gas takes its day's pickups away at once.

What was to come there is without a home then; the coordinator sees it first among today's
exceptions, with the next best homes.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from apps.digesters.models import Concern, ConcernKind
from apps.digesters.operations.raise_concern import Raised, raise_concern
from apps.kernel.days import local_date
from apps.people.models import Member
from apps.pickups.core.life import WITHDRAW, Party, State
from apps.pickups.models import Pickup
from apps.pickups.operations.take_step import Act, Actor, take_step
from apps.places.models import Place

STOPPED_DAYS = 2
"""Today and tomorrow; the plan made anew looks after later days."""


@transaction.atomic
def report_concern(
    place: Place,
    kind: ConcernKind,
    *,
    now: datetime,
    client_key: str,
    note: str = "",
    raised_by: Member | None = None,
) -> Raised:
    """See `raise_concern`; its words are shown to whoever reported. Nothing waits for a worker:
    limits are at zero and pickups withdrawn when this returns."""
    raised = raise_concern(
        place, kind, now=now, client_key=client_key, note=note, raised_by=raised_by
    )
    if kind == ConcernKind.GAS_SMELL and not raised.is_repeat:
        _stop(raised.concern, now)
    return raised


def _stop(concern: Concern, now: datetime) -> None:
    today = local_date(now, concern.group.time_zone)
    pickups = Pickup.objects.of(concern.group).filter(
        digester__place=concern.place_id,
        on__range=(today, today + timedelta(days=STOPPED_DAYS - 1)),
        state__in=(State.ANNOUNCED, State.ACCEPTED),
    )
    for pickup in pickups:
        act = Act(
            step=WITHDRAW,
            actor=Actor(None, Party.PLAN),
            client_key=f"gas-{concern.uuid}-{pickup.uuid}",
            now=now,
            reason="gas_smell",
        )
        take_step(concern.group, pickup.uuid, act)
