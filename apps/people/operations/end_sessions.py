"""Sign an account out everywhere."""

from __future__ import annotations

from datetime import datetime

from apps.people.models import SignInLink, User


def end_sessions(user: User, *, now: datetime) -> None:
    """End every session and every unused sign-in link of `user`.

    A session carries a hash of the account's password. Nobody knows that password, it only signs
    sessions, so drawing it anew ends them all at once, wherever they are stored.
    """
    user.set_unusable_password()
    user.save(update_fields=["password"])
    SignInLink.objects.filter(user=user, used_at=None, expires_at__gt=now).update(expires_at=now)
