"""Answer somebody who wants to sign in with an address."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.db import transaction

from apps.kernel.errors import Refused
from apps.kernel.words import gettext_noop
from apps.people.models import SignInLink, User
from apps.people.operations.make_sign_in_link import make_sign_in_link

MOST_LINKS = 5
LINKS_WITHIN = timedelta(minutes=15)
"""Five sign-in links an account in a quarter of an hour: our own choice, no source."""


class TooManyLinks(Refused):
    """Somebody asks again and again."""

    code = "too_many_links"
    status = 429

    def __init__(self) -> None:
        super().__init__(
            gettext_noop(
                "%(count)s links were sent to this address within 15 minutes. "
                "Look into your mail, the spam folder too, or wait a little."
            ),
            field="email",
            figures={"count": MOST_LINKS},
        )


@transaction.atomic
def ask_for_sign_in(email: str, *, now: datetime) -> tuple[User, str] | None:
    """The account and a fresh token to be mailed to it; None when nobody has this address,
    which the page must not tell."""
    user = User.objects.select_for_update().filter(email=email.strip().lower()).first()
    if user is None or not user.is_active:
        return None
    recent = SignInLink.objects.filter(user=user, made_at__gt=now - LINKS_WITHIN).count()
    if recent >= MOST_LINKS:
        raise TooManyLinks
    return user, make_sign_in_link(user, now=now)
