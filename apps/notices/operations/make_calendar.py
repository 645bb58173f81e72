"""Give a person the secret address of their calendar; the address before is over."""

from __future__ import annotations

from datetime import datetime

from django.db import transaction

from apps.notices.models import CalendarFeed
from apps.people.models import Member, hash_token, make_token


@transaction.atomic
def make_calendar(member: Member, *, now: datetime) -> str:
    """Return the token; only its hash is kept."""
    Member.objects.of(member.group).select_for_update(of=("self",)).get(pk=member.pk)
    end_calendar(member, now=now)
    token = make_token()
    CalendarFeed.unscoped.create(
        group=member.group, token_hash=hash_token(token), member=member, made_at=now
    )
    return token


def end_calendar(member: Member, *, now: datetime) -> None:
    """Nobody can read it any more under the address given out."""
    CalendarFeed.objects.of(member.group).filter(member=member, ended_at=None).update(ended_at=now)
