"""End the links of a person who no longer looks after a digester, a source or a day's task."""

from __future__ import annotations

from datetime import date, datetime

from apps.digesters.models import Digester
from apps.people.models import Member
from apps.pickups.models import DayLink


def end_day_links(member: Member, *, now: datetime) -> int:
    """End them all, at once; return how many were alive."""
    return (
        DayLink.objects.of(member.group)
        .filter(member=member, ended_at=None, expires_at__gt=now)
        .update(ended_at=now)
    )


def end_links_of_day(digester: Digester, on: date, *, now: datetime) -> int:
    """End the links to one digester's page of one day: its task went to somebody else."""
    return (
        DayLink.objects.of(digester.group)
        .filter(digester=digester, on=on, ended_at=None, expires_at__gt=now)
        .update(ended_at=now)
    )
