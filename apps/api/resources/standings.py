"""What comes every week from a source to a home."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers

from apps.api.fields import Grams, Named, Whole
from apps.api.operation import Key, operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Digester
from apps.people.access import Access, roles
from apps.people.models import Role
from apps.planning.models import Standing
from apps.planning.operations.agree_standing import agree_standing, ask_standing
from apps.planning.operations.end_standing import end_standing
from apps.planning.queries.standings import standings_for
from apps.supply.models import Stream

BOTH_SIDES = roles(Role.HOUSEHOLDER, Role.SOURCE_CONTACT, Role.ASSIGNER)


class StandingBody(Strict):
    """Monday is 0."""

    stream = Named(Stream)
    digester = Named(Digester)
    weekday = Whole(min_value=0, max_value=6)
    amount_g = Grams(default=None, allow_null=True)


class StandingAnswer(serializers.ModelSerializer[Standing]):
    """It counts from `agreed_at` to `ended_at`; without grams the plan chooses them."""

    stream = serializers.CharField(source="stream.code")
    digester = serializers.CharField(source="digester.code")
    weekday = serializers.IntegerField()

    class Meta:
        model = Standing
        fields = (
            "uuid", "stream", "digester", "weekday", "amount_g", "by_giver", "by_taker",
            "asked_at", "agreed_at", "ended_at",
        )  # fmt: skip


class StandingsView(ApiView):
    """Those that have not ended."""

    access = Access({"GET": BOTH_SIDES, "POST": BOTH_SIDES})

    @operation("list_standings", "What comes every week", answer=StandingAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """All of them for an assigner, else those of the own source or home."""
        sees_all = Role.ASSIGNER in request.admission.roles
        return standings_for(request.group, request.member, sees_all=sees_all)

    @operation(
        "ask_standing",
        "Ask for something every week",
        body=StandingBody,
        answer=StandingAnswer,
        status=201,
        key=Key.OPTIONAL,
        description="One side asks and the other agrees; an assigner counts for both.",
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """The same again agrees to it."""
        return ask_standing(request.group, **body, now=request.now, asked_by=request.member)


class StandingAgreementView(ApiView):
    """The other side's yes."""

    access = Access({"POST": BOTH_SIDES})

    @operation("agree_standing", "Agree to something every week", answer=StandingAnswer)
    def post(self, request: ApiRequest, group: str, standing: UUID) -> Any:
        """From the next nightly plan on."""
        return agree_standing(request.group, standing, now=request.now, agreed_by=request.member)


class StandingEndView(ApiView):
    """No more."""

    access = Access({"POST": BOTH_SIDES})

    @operation("end_standing", "End something every week", answer=StandingAnswer)
    def post(self, request: ApiRequest, group: str, standing: UUID) -> Any:
        """Its pins of later days are taken out."""
        return end_standing(request.group, standing, now=request.now, ended_by=request.member)


addresses = [
    path("standings", StandingsView.as_view(), name="api-standings"),
    path(
        "standings/<uuid:standing>/agreement",
        StandingAgreementView.as_view(),
        name="api-standing-agreement",
    ),
    path("standings/<uuid:standing>/end", StandingEndView.as_view(), name="api-standing-end"),
]
