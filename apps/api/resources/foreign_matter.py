"""What does not belong into a digester: noted at a pickup; a stream paused, and taken back."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import COORDINATORS, FETCHERS
from apps.api.fields import Named, Text, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.resources.pickups import PickupBase
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access
from apps.pickups.core.foreign import Advice
from apps.pickups.models import ForeignKind, ForeignMatter, StreamPause
from apps.pickups.operations.note_foreign_matter import (
    note_foreign_matter,
    pause_stream,
    record_trial,
)
from apps.supply.models import Stream

ADVICE = [(each.value, each.value) for each in Advice]


class FindAnswer(serializers.ModelSerializer[ForeignMatter]):
    """One find. `is_refused`: the waste stayed at the source; else the part was set aside."""

    stream = serializers.CharField(source="stream.code")
    pickup = serializers.UUIDField(source="pickup.uuid", default=None, allow_null=True)
    kind = serializers.ChoiceField(choices=ForeignKind.choices)

    class Meta:
        model = ForeignMatter
        fields: tuple[str, ...] = (
            "uuid",
            "stream",
            "pickup",
            "kind",
            "amount_g",
            "is_refused",
            "on",
            "noted_at",
        )


class NotedAnswer(FindAnswer):
    """The find, and what those of the fortnight call for."""

    advice = serializers.ChoiceField(choices=ADVICE)

    class Meta(FindAnswer.Meta):
        fields = (*FindAnswer.Meta.fields, "advice")


class FindBody(Strict):
    """In which of the pickup's streams, and what."""

    stream = Named(Stream)
    kind = serializers.ChoiceField(choices=ForeignKind.choices)
    amount_g = Whole(min_value=0, max_value=MAX_FACT, default=0)
    is_refused = YesNo(default=False, help_text="It stayed there; also say `fail_pickup`.")


class PauseBody(Strict):
    """Why, so that the source knows what to sort."""

    reason = Text(max_length=200)


class PauseAnswer(serializers.ModelSerializer[StreamPause]):
    """Nothing of the stream is planned until a clean trial."""

    stream = serializers.CharField(source="stream.code")

    class Meta:
        model = StreamPause
        fields = ("uuid", "stream", "reason", "paused_at", "ended_at")


class TrialBody(Strict):
    """How a pail of it looked."""

    is_clean = YesNo()


class TrialAnswer(serializers.Serializer[Any]):
    """Clean: it is planned again from the next plan on."""

    stream = serializers.CharField()
    is_clean = serializers.BooleanField()


class FindsView(ApiView):
    """All finds."""

    access = Access({"GET": COORDINATORS})

    @operation("list_foreign_matter", "Foreign matter by day", answer=FindAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Oldest first."""
        rows = ForeignMatter.objects.of(request.group).select_related("stream", "pickup")
        return rows.order_by("on", "pk")


class PickupFindsView(PickupBase):
    """Found at one pickup."""

    access = Access({"POST": FETCHERS})

    @operation(
        "note_foreign_matter",
        "Note what does not belong into a digester",
        body=FindBody,
        answer=NotedAnswer,
        status=201,
        key=Key.REQUIRED,
        description="Gloves on. The grams set aside are booked by the pickup's weights.",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """By whoever fetches, or a coordinator."""
        row = self.pickup(request, pickup)
        stream = body.pop("stream")
        if stream.pk not in {line.stream_id for line in row.lines.all()}:
            said = _("Name a stream of this pickup.")
            raise serializers.ValidationError({"stream": said})
        stream.group = request.group
        noted = note_foreign_matter(
            stream,
            ForeignKind(body.pop("kind")),
            **body,
            pickup=row,
            now=request.now,
            client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
            noted_by=request.member,
        )
        noted.found.advice = noted.advice.value  # type: ignore[attr-defined]
        return noted.found


class PauseView(ApiView):
    """Pausing a stream."""

    access = Access({"POST": COORDINATORS})

    @operation(
        "pause_stream",
        "Pause a stream until a clean trial",
        body=PauseBody,
        answer=PauseAnswer,
        status=201,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, stream: str, body: dict[str, Any]) -> Any:
        """Nothing of it is planned meanwhile."""
        row = _stream(request, stream)
        return pause_stream(row, reason=body["reason"], now=request.now, paused_by=request.member)


class TrialView(ApiView):
    """Looking through a pail of it."""

    access = Access({"POST": COORDINATORS})

    @operation(
        "record_trial",
        "Say whether a paused stream's trial was clean",
        body=TrialBody,
        answer=TrialAnswer,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, stream: str, body: dict[str, Any]) -> Any:
        """Clean: it comes back."""
        row = _stream(request, stream)
        clean = record_trial(
            row, is_clean=body["is_clean"], now=request.now, tried_by=request.member
        )
        return {"stream": row.code, "is_clean": clean}


def _stream(request: ApiRequest, code: str) -> Stream:
    return by_code(Stream.objects.of(request.group).select_related("group"), code)


addresses = [
    path("foreign-matter", FindsView.as_view(), name="api-foreign-matter"),
    path(
        "pickups/<uuid:pickup>/foreign-matter",
        PickupFindsView.as_view(),
        name="api-pickup-foreign-matter",
    ),
    path("streams/<slug:stream>/pause", PauseView.as_view(), name="api-stream-pause"),
    path("streams/<slug:stream>/trial", TrialView.as_view(), name="api-stream-trial"),
]
