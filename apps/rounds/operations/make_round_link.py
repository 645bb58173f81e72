"""Give a carrier a link to their round's page."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from apps.kernel.days import local_instant
from apps.people.models import hash_token, make_token
from apps.rounds.models import ROUND_LINK_LIFE, Round, RoundLink


def make_round_link(found: Round, *, now: datetime) -> str:
    """Return the token; only its hash is stored. It lives until 72 h after the day's end."""
    ends_at = local_instant(found.on + timedelta(days=1), time.min, found.group.time_zone)
    token = make_token()
    RoundLink.unscoped.create(
        group=found.group,
        token_hash=hash_token(token),
        member=found.carrier.member,
        round=found,
        made_at=now,
        expires_at=ends_at + ROUND_LINK_LIFE,
    )
    return token
