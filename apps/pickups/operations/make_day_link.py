"""Give one person a link to the page of one digester or source on one local day."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from apps.digesters.models import Digester
from apps.kernel.days import local_instant
from apps.people.models import Member, hash_token, make_token
from apps.pickups.models import DAY_LINK_LIFE, DayLink
from apps.supply.models import Source


def make_day_link(
    member: Member,
    on: date,
    *,
    now: datetime,
    digester: Digester | None = None,
    source: Source | None = None,
) -> str:
    """Return the token; only its hash is stored. It lives until 72 h after the day's end."""
    ends_at = local_instant(on + timedelta(days=1), time.min, member.group.time_zone)
    token = make_token()
    DayLink.unscoped.create(
        group=member.group,
        token_hash=hash_token(token),
        member=member,
        digester=digester,
        source=source,
        on=on,
        made_at=now,
        expires_at=ends_at + DAY_LINK_LIFE,
    )
    return token
