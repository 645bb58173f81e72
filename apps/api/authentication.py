"""Who sends a request: a bearer token of one member, or the session of the pages."""

from __future__ import annotations

from django.utils import timezone
from django.utils.translation import gettext as _
from rest_framework.authentication import BaseAuthentication, CSRFCheck
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from apps.api.bad_tokens import check_address, count_refused
from apps.kernel.errors import NotAllowed
from apps.people.models import ApiToken, User, hash_token

LONGEST_TOKEN = 200


class SessionUnproved(NotAllowed):
    """A signed-in browser sent something without the proof that our own page made it."""

    code = "session_unproved"


class BearerToken(BaseAuthentication):
    """`Authorization: Bearer <token>`. It stands for one member in one group and no more.
    An address that sends many bad ones has to wait (`bad_tokens`)."""

    def authenticate(self, request: Request) -> tuple[User, ApiToken] | None:
        """The member's account with the token; None when no bearer is sent."""
        scheme, _space, secret = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != "bearer":
            return None
        sent_from = request.META.get("REMOTE_ADDR", "")
        check_address(sent_from)
        token = (
            ApiToken.unscoped.select_related("member__user", "group")
            .filter(
                token_hash=hash_token(secret.strip()[:LONGEST_TOKEN]),
                revoked_at=None,
                expires_at__gt=timezone.now(),
                member__left_at=None,
                member__user__is_active=True,
            )
            .first()
        )
        if token is None or token.member.user is None:
            count_refused(sent_from)
            raise AuthenticationFailed(
                _("The token is unknown, expired or revoked. Make a new one on your page.")
            )
        return token.member.user, token

    def authenticate_header(self, request: Request) -> str:
        """For 401."""
        return 'Bearer realm="api"'


class Session(BaseAuthentication):
    """The session of the pages; whatever changes something also needs the CSRF token."""

    def authenticate(self, request: Request) -> tuple[User, None] | None:
        """The signed-in account; None when nobody is."""
        user = getattr(request._request, "user", None)
        if not isinstance(user, User) or not user.is_active:
            return None
        check = CSRFCheck(lambda _request: None)  # type: ignore[arg-type]
        check.process_request(request._request)
        if check.process_view(request._request, None, (), {}):  # type: ignore[arg-type]
            raise SessionUnproved(
                _(
                    "A request with a session also needs the X-CSRFToken of our pages. "
                    "A script should send a token instead."
                )
            )
        return user, None
