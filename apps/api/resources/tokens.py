"""What a member's scripts show instead of a session."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.fields import Text, Whole
from apps.api.lookup import by_uuid
from apps.api.operation import operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import MEMBER, Access
from apps.people.models import ApiToken
from apps.people.operations.make_api_token import (
    LONGEST_LIFE_DAYS,
    make_api_token,
    revoke_api_token,
)


class TokenAnswer(serializers.ModelSerializer[ApiToken]):
    """A token without its secret."""

    class Meta:
        model = ApiToken
        fields = ("uuid", "label", "made_at", "expires_at", "revoked_at")


class NewTokenAnswer(TokenAnswer):
    """A token with its secret, which is told this once."""

    secret = serializers.CharField()

    class Meta(TokenAnswer.Meta):
        fields = (*TokenAnswer.Meta.fields, "secret")


class NewToken(Strict):
    """For what, and for how long."""

    label = Text(max_length=60)
    life_days = Whole(min_value=1, max_value=LONGEST_LIFE_DAYS, default=90)


def _own(request: ApiRequest) -> QuerySet[ApiToken]:
    tokens: QuerySet[ApiToken] = ApiToken.objects.of(request.group)
    return tokens.filter(member=request.member).order_by("-made_at", "-pk")


class TokensView(ApiView):
    """The asker's own tokens."""

    access = Access({"GET": MEMBER, "POST": MEMBER})

    @operation("list_tokens", "Your tokens, newest first", answer=TokenAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Revoked and expired ones too."""
        return _own(request)

    @operation("make_token", "Make a token", body=NewToken, answer=NewTokenAnswer, status=201)
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """No Idempotency-Key here: remembering the answer would be storing the secret."""
        token, secret = make_api_token(request.member, **body, now=request.now)
        token.secret = secret  # type: ignore[attr-defined]
        return token


class TokenView(ApiView):
    """One token."""

    access = Access({"DELETE": MEMBER})

    @operation("revoke_token", "Revoke a token", status=204)
    def delete(self, request: ApiRequest, group: str, token: UUID) -> None:
        """At once."""
        revoke_api_token(by_uuid(_own(request), token), now=request.now)


addresses = [
    path("tokens", TokensView.as_view(), name="api-tokens"),
    path("tokens/<uuid:token>", TokenView.as_view(), name="api-token"),
]
