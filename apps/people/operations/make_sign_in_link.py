"""Give somebody a link that signs them in."""

from __future__ import annotations

from datetime import datetime, timedelta

from apps.people.models import SignInLink, User, hash_token, make_token

SIGN_IN_LINK_LIFE = timedelta(minutes=30)


def make_sign_in_link(user: User, *, now: datetime, life: timedelta = SIGN_IN_LINK_LIFE) -> str:
    """Return the token; only its hash is stored. The link works once, until it expires."""
    token = make_token()
    SignInLink.objects.create(
        user=user, token_hash=hash_token(token), made_at=now, expires_at=now + life
    )
    return token
