"""What came every week comes no more."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.people.models import Member
from apps.planning.models import Standing, StandingDay
from apps.planning.operations.agree_standing import find_standing, sides_of
from apps.planning.operations.pin_batch import unpin_batch


@transaction.atomic
def end_standing(group: Group, uuid: UUID, *, now: datetime, ended_by: Member) -> Standing:
    """By either side or an assigner; its pins of later days go too. Ending twice is ending once.
    Fact: `standing_ended`."""
    standing = find_standing(group, uuid)
    sides_of(standing, ended_by)
    if standing.ended_at is not None:
        return standing
    standing.ended_at, standing.ended_by = now, ended_by
    standing.save(update_fields=["ended_at", "ended_by"])
    today = local_date(now, group.time_zone)
    ahead = StandingDay.objects.of(group).filter(standing=standing, on__gt=today)
    for each in ahead.exclude(pin=None).select_related(
        "pin__group", "pin__stream", "pin__digester"
    ):
        assert each.pin is not None
        unpin_batch(each.pin, now=now, asked_by=ended_by)
    record_fact(
        group,
        "standing_ended",
        happened_at=now,
        subject_uuid=standing.uuid,
        actor_uuid=ended_by.uuid,
    )
    return standing
