"""A household goes away: the days, a keyholder or none, and what to do before."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import DIGESTER_KEEPERS, kept_digesters
from apps.api.fields import Day, Named, Text
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.resources.absences import AbsenceAnswer
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.operations.go_away import go_away
from apps.people.access import Access
from apps.people.models import Member


class AwayBody(Strict):
    """Both days included."""

    first_on = Day()
    last_on = Day()
    keyholder = Named(Member, default=None, allow_null=True)
    note = Text(max_length=120, default="", allow_blank=True)


class AwayAnswer(serializers.Serializer[Any]):
    """The absence, and what to do before going."""

    absence = AbsenceAnswer()
    advice = serializers.ListField(child=SentenceField())


class AwayView(ApiView):
    """One household."""

    access = Access({"POST": DIGESTER_KEEPERS})

    @operation(
        "go_away",
        "Say on which days a household is away",
        body=AwayBody,
        answer=AwayAnswer,
        status=201,
        key=Key.REQUIRED,
        description="Feeding tapers before, and comes back step by step. To take it back: "
        "`end_absence`.",
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Householders for their own."""
        rows = kept_digesters(request.admission).select_related("group", "place")
        row = by_code(rows, digester)
        return go_away(row, **body, now=request.now, recorded_by=request.member)


addresses = [
    path("digesters/<slug:digester>/absences", AwayView.as_view(), name="api-home-away"),
]
