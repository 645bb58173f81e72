"""A smell of gas, another smell, flies or a leak: anybody reports it, somebody answers."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import CONCERN_KEEPERS, COORDINATORS
from apps.api.fields import Code, Day, Text, YesNo
from apps.api.lookup import by_code, by_uuid
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.core.concerns import say_gas_smell
from apps.digesters.models import Concern, ConcernKind
from apps.digesters.operations.close_concern import close_concern
from apps.people.access import PUBLIC, Access
from apps.people.models import Member
from apps.pickups.operations.report_concern import report_concern
from apps.places.models import Place


class ConcernAnswer(serializers.ModelSerializer[Concern]):
    """For whoever reported: by when somebody answers, and then the answer. It tells no place."""

    kind = serializers.ChoiceField(choices=ConcernKind.choices)

    class Meta:
        model = Concern
        fields: tuple[str, ...] = (
            "uuid",
            "kind",
            "raised_at",
            "deadline_at",
            "closed_at",
            "answer",
        )


class RaisedAnswer(ConcernAnswer):
    """What was reported, and what to do now; for a smell of gas that comes first."""

    sentences = serializers.ListField(child=SentenceField())

    class Meta(ConcernAnswer.Meta):
        fields = (*ConcernAnswer.Meta.fields, "sentences")


class WholeConcernAnswer(ConcernAnswer):
    """For whoever answers."""

    place = serializers.CharField(source="place.code")

    class Meta(ConcernAnswer.Meta):
        fields = (
            *ConcernAnswer.Meta.fields,
            "place",
            "note",
            "tightness_tested_by",
            "tightness_tested_on",
        )


class NewConcern(Strict):
    """Where, by the code on the place's label, and what. Nobody's name is asked for."""

    place = Code()
    kind = serializers.ChoiceField(choices=ConcernKind.choices)
    note = Text(max_length=200, default="", allow_blank=True)


class ConcernClosing(Strict):
    """What was found and done. A smell of gas also needs who tested for tightness, and when."""

    answer = Text(max_length=300)
    tightness_tested_by = Text(max_length=120, default="", allow_blank=True)
    tightness_tested_on = Day(default=None, allow_null=True)


class ConcernsQuery(Paging):
    """Which concerns."""

    is_open = YesNo(required=False)


class ConcernsView(ApiView):
    """All concerns of a group, for whoever answers; a new one, from anybody."""

    access = Access({"GET": CONCERN_KEEPERS, "POST": PUBLIC})

    @operation(
        "list_concerns",
        "Concerns, oldest first",
        query=ConcernsQuery,
        answer=WholeConcernAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Closed ones too."""
        rows: QuerySet[Concern] = Concern.objects.of(request.group)
        if "is_open" in query:
            rows = rows.filter(closed_at__isnull=query["is_open"])
        return rows.select_related("place").order_by("raised_at", "pk")

    @operation(
        "raise_concern",
        "Report a smell of gas, another smell, flies or a leak",
        body=NewConcern,
        answer=RaisedAnswer,
        status=201,
        key=Key.REQUIRED,
        description="If you smell gas: no flame, no switches, windows open, valve shut, out, and "
        "call the local emergency number first. While the same is open at a place, another report "
        "joins it. At most 20 an hour in a group; a smell of gas is always taken.",
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """Without an account, too."""
        key = f"{request.headers['Idempotency-Key']} {body['place']} {body['kind']}"
        raised = report_concern(
            by_code(Place.objects.of(request.group).select_related("group"), body["place"]),
            ConcernKind(body["kind"]),
            now=request.now,
            client_key=client_key(request.admission, key),
            note=body["note"],
            raised_by=_member(request),
        )
        raised.concern.sentences = raised.sentences  # type: ignore[attr-defined]
        return raised.concern


class ConcernView(ApiView):
    """One concern, for whoever kept its identifier."""

    access = Access({"GET": PUBLIC})

    @operation("show_concern", "Whether a concern was answered", answer=RaisedAnswer)
    def get(self, request: ApiRequest, group: str, concern: UUID) -> Any:
        """Until a smell of gas is answered, what to do comes with it."""
        row = by_uuid(Concern.objects.of(request.group), concern)
        is_gas = row.kind == ConcernKind.GAS_SMELL and row.closed_at is None
        steps = say_gas_smell(request.group.emergency_number) if is_gas else ()
        row.sentences = steps  # type: ignore[attr-defined]
        return row


class ConcernClosingView(ApiView):
    """The answer."""

    access = Access({"POST": COORDINATORS})

    @operation(
        "close_concern",
        "Answer a concern",
        body=ConcernClosing,
        answer=WholeConcernAnswer,
        key=Key.REQUIRED,
        description="Nothing is lit after a smell of gas before somebody named has tested for "
        "tightness; gas work is for a licensed person.",
    )
    def post(self, request: ApiRequest, group: str, concern: UUID, body: dict[str, Any]) -> Any:
        """From then on the place's digesters are fed again."""
        row = by_uuid(Concern.objects.of(request.group).select_related("group"), concern)
        return close_concern(row, **body, closed_by=request.member, now=request.now)


def _member(request: ApiRequest) -> Member | None:
    """Whoever is signed in and of this group; others stay unknown."""
    user = request.admission.user
    found: Member | None = (
        Member.objects.of(request.group).filter(user=user, left_at=None).first() if user else None
    )
    return found


addresses = [
    path("concerns", ConcernsView.as_view(), name="api-concerns"),
    path("concerns/<uuid:concern>", ConcernView.as_view(), name="api-concern"),
    path("concerns/<uuid:concern>/answer", ConcernClosingView.as_view(), name="api-concern-answer"),
]
