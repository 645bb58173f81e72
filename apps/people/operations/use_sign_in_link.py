"""Sign somebody in by the link they hold."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext_lazy as _

from apps.kernel.errors import Refused
from apps.people.models import SignInLink, User, hash_token


class LinkSpent(Refused):
    """The link is unknown, used or too old; which of the three is not told."""

    code = "link_spent"
    status = 410

    def __init__(self) -> None:
        super().__init__(_("This link no longer works. Ask for a new one; it takes a minute."))


def use_sign_in_link(token: str, *, now: datetime) -> User:
    """Spend the link and return whose it is. One conditional update: two taps, one sign-in."""
    fresh = SignInLink.objects.filter(
        token_hash=hash_token(token), used_at=None, expires_at__gt=now, user__is_active=True
    )
    if fresh.update(used_at=now) != 1:
        raise LinkSpent
    return SignInLink.objects.select_related("user").get(token_hash=hash_token(token)).user
