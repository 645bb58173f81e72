"""Another home for a pickup's waste, with what that would do."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import TROUBLE_SHOOTERS
from apps.api.fields import Grams, Named
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.resources.pickups import PickupBase
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest
from apps.digesters.models import Digester
from apps.people.access import Access
from apps.pickups.operations.reassign_pickup import reassign_pickup
from apps.pickups.queries.next_homes import propose_next_homes


class NextHomeAnswer(serializers.Serializer[Any]):
    """A home that could take `amount_g` of the waste, and what would change by it."""

    digester = serializers.CharField(source="digester.code")
    amount_g = serializers.IntegerField()
    whole_g = serializers.IntegerField()
    takes_all = serializers.BooleanField()
    distance_m = serializers.IntegerField()
    effects = serializers.ListField(child=SentenceField())


class ReassignmentBody(Strict):
    """To whom, and no more than how much; without an amount, all of it."""

    digester = Named(Digester)
    amount_g = Grams(default=None, allow_null=True)


class ReassignmentAnswer(serializers.Serializer[Any]):
    """The plan that was announced."""

    plan = serializers.IntegerField(source="version")
    starts_on = serializers.DateField()
    days = serializers.IntegerField()


class NextHomesView(PickupBase):
    """Who could take it instead."""

    access = Access({"GET": TROUBLE_SHOOTERS})

    @operation(
        "list_next_homes",
        "The next best homes for a pickup's waste",
        answer=NextHomeAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, pickup: UUID) -> Any:
        """Best first; empty when nobody can, or no announced plan covers the day."""
        return propose_next_homes(self.pickup(request, pickup), now=datetime.now(UTC))


class ReassignmentView(PickupBase):
    """One tap."""

    access = Access({"POST": TROUBLE_SHOOTERS})

    @operation(
        "reassign_pickup",
        "Give a pickup's waste to another home and announce it",
        body=ReassignmentBody,
        answer=ReassignmentAnswer,
        key=Key.REQUIRED,
        slow=True,
        description="A plan is made around it with as few other changes as can be; when that is "
        "impossible, nothing has changed.",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """Only one that has not begun."""
        return reassign_pickup(
            self.pickup(request, pickup),
            body["digester"],
            amount_g=body["amount_g"],
            now=request.now,
            by=request.member,
            client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
        )


addresses = [
    path("pickups/<uuid:pickup>/next-homes", NextHomesView.as_view(), name="api-pickup-next-homes"),
    path(
        "pickups/<uuid:pickup>/reassignment",
        ReassignmentView.as_view(),
        name="api-pickup-reassignment",
    ),
]
