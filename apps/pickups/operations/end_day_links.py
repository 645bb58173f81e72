"""End the links of a person who no longer looks after a digester or source."""

from __future__ import annotations

from datetime import datetime

from apps.people.models import Member
from apps.pickups.models import DayLink


def end_day_links(member: Member, *, now: datetime) -> int:
    """End them all, at once; return how many were alive."""
    return (
        DayLink.objects.of(member.group)
        .filter(member=member, ended_at=None, expires_at__gt=now)
        .update(ended_at=now)
    )
