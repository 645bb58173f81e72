"""Set a group's own times for reminders, and who stands by."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from apps.groups.models import Group
from apps.groups.operations.record_fact import record_fact
from apps.kernel.days import local_date
from apps.people.models import Member
from apps.pickups.core.ladder import Times
from apps.pickups.models import Ladder, Standby
from apps.pickups.operations.put_up_ladders import put_up


@transaction.atomic
def set_ladder(
    group: Group, times: Times, *, standby: Iterable[Member], now: datetime, set_by: Member
) -> None:
    """Replace both. Today's open pickups get the rungs of the new times as well; what was told
    already is not told again. Fact: `ladder_set`."""
    Ladder.unscoped.update_or_create(
        group=group,
        defaults={
            "reminder_min": times.reminder_min,
            "second_reminder_min": times.second_reminder_min,
            "standby_min": times.standby_min,
            "coordinator_min": times.coordinator_min,
        },
    )
    wanted = {member.pk: member for member in standby}
    Standby.objects.of(group).exclude(member__in=wanted).delete()
    there = set(Standby.objects.of(group).values_list("member_id", flat=True))
    Standby.unscoped.bulk_create(
        Standby(group=group, member=member, since_at=now)
        for pk, member in sorted(wanted.items())
        if pk not in there
    )
    put_up(group, local_date(now, group.time_zone), now=now)
    record_fact(group, "ladder_set", happened_at=now, actor_uuid=set_by.uuid)
