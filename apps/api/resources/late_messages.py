"""What people sent by links that had ended: settled by whoever has looked at it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import COORDINATORS
from apps.api.operation import operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access
from apps.pickups.models import LateKind
from apps.pickups.operations.hold_late_message import settle_late_message


class SettlementBody(Strict):
    """Whether what it says has been written down."""

    is_applied = serializers.BooleanField()


class LateMessageAnswer(serializers.Serializer[Any]):
    """As it was sent, and how it was settled."""

    uuid = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=[(each.value, each.value) for each in LateKind])
    amount_g = serializers.IntegerField(allow_null=True)
    on = serializers.DateField(source="link.on")
    member = serializers.CharField(source="link.member.code")
    pickup = serializers.UUIDField(source="pickup.uuid", default=None, allow_null=True)
    received_at = serializers.DateTimeField()
    is_applied = serializers.BooleanField(allow_null=True)


class SettlementView(ApiView):
    """Listed among today's exceptions until then."""

    access = Access({"POST": COORDINATORS})

    @operation(
        "settle_late_message",
        "Settle what was sent by a link that had ended",
        body=SettlementBody,
        answer=LateMessageAnswer,
        description="It is never applied by itself: write down what it says by the operation for "
        "it, then settle it as applied; or put it aside.",
    )
    def post(self, request: ApiRequest, group: str, message: UUID, body: dict[str, Any]) -> Any:
        """Once; the other way after that is refused."""
        settled, _is_new = settle_late_message(
            request.group,
            message,
            is_applied=body["is_applied"],
            now=request.now,
            settled_by=request.member,
        )
        return settled


addresses = [
    path(
        "late-messages/<uuid:message>/settlement",
        SettlementView.as_view(),
        name="api-late-message-settlement",
    )
]
