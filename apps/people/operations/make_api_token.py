"""Give a member's script something to show instead of a session."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from apps.kernel.errors import Conflict, Refused
from apps.people.models import ApiToken, Member, hash_token, make_token

LONGEST_LIFE_DAYS = 400
MOST_TOKENS = 20
"""How many unspent tokens one member may have; more than that are forgotten ones."""


class UnusableToken(Refused):
    """The life asked for is none, or too long, or there are too many already."""

    code = "unusable_token"


class AlreadyRevoked(Conflict):
    """It was revoked before."""

    code = "already_revoked"


def make_api_token(
    member: Member, *, label: str, life_days: int, now: datetime
) -> tuple[ApiToken, str]:
    """Return the row and the secret, which is shown once: only its hash is stored."""
    if not 1 <= life_days <= LONGEST_LIFE_DAYS:
        raise UnusableToken(
            _("A token lives 1 to %(most)s days; %(given)s were asked for.")
            % {"most": LONGEST_LIFE_DAYS, "given": life_days},
            field="life_days",
            figures={"most": LONGEST_LIFE_DAYS, "given": life_days},
        )
    alive = ApiToken.objects.of(member.group).filter(
        member=member, revoked_at=None, expires_at__gt=now
    )
    if alive.count() >= MOST_TOKENS:
        raise UnusableToken(
            _("You have %(most)s tokens. Revoke one that you do not use any more.")
            % {"most": MOST_TOKENS},
            figures={"most": MOST_TOKENS},
        )
    secret = make_token()
    token = ApiToken.unscoped.create(
        group=member.group,
        member=member,
        label=label,
        token_hash=hash_token(secret),
        made_at=now,
        expires_at=now + timedelta(days=life_days),
    )
    return token, secret


def revoke_api_token(token: ApiToken, *, now: datetime) -> None:
    """From this moment nobody comes in with it."""
    changed = ApiToken.unscoped.filter(pk=token.pk, revoked_at=None).update(revoked_at=now)
    if not changed:
        raise AlreadyRevoked(_("This token was revoked before. Nothing more is to be done."))
