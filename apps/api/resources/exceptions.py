"""Today's exceptions: what somebody must look at, most urgent first, and what repairs it."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import TROUBLE_SHOOTERS
from apps.api.operation import operation
from apps.api.sentences import SentenceField
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access
from apps.pickups.queries.exceptions import Kind, Trouble, todays_exceptions

EXCEPTION_KINDS = [(each.name.lower(), each.name.lower()) for each in Kind]


class ExceptionAnswer(serializers.Serializer[Any]):
    """One of them; `repairs` names operations, the usual one first."""

    kind = serializers.ChoiceField(choices=EXCEPTION_KINDS)
    on = serializers.DateField()
    sentence = SentenceField()
    pickup = serializers.UUIDField(source="pickup.uuid", default=None, allow_null=True)
    digester = serializers.CharField(source="digester.code", default=None, allow_null=True)
    concern = serializers.UUIDField(source="concern.uuid", default=None, allow_null=True)
    message = serializers.UUIDField(source="message.uuid", default=None, allow_null=True)
    repairs = serializers.ListField(child=serializers.CharField())

    def to_representation(self, instance: Trouble) -> dict[str, Any]:
        """The kind by its name."""
        shown: dict[str, Any] = super().to_representation(instance)
        return {**shown, "kind": instance.kind.name.lower()}


class ExceptionsView(ApiView):
    """For whoever repairs them."""

    access = Access({"GET": TROUBLE_SHOOTERS})

    @operation(
        "list_exceptions",
        "Today's exceptions, most urgent first",
        answer=ExceptionAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str) -> Any:
        """Then by day."""
        return todays_exceptions(request.group, now=request.now)


addresses = [path("exceptions", ExceptionsView.as_view(), name="api-exceptions")]
