"""What people read and smelled at a digester."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import DIGESTER_KEEPERS, DIGESTER_READERS, digesters_for
from apps.api.fields import Day, Instant, Whole, YesNo
from apps.api.lookup import by_code, by_uuid
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Reading, ReadingKind
from apps.digesters.operations.record_reading import record_reading
from apps.digesters.operations.withdraw_reading import withdraw_reading
from apps.people.access import Access


class ReadingAnswer(serializers.ModelSerializer[Reading]):
    """A reading, in the unit that its kind names."""

    class Meta:
        model = Reading
        fields = ("uuid", "kind", "value", "taken_at", "on", "recorded_at", "withdrawn_at")


class RecordedReading(ReadingAnswer):
    """A reading just written down, and whether it stops feeding."""

    stops_feeding = serializers.BooleanField()

    class Meta(ReadingAnswer.Meta):
        fields = (*ReadingAnswer.Meta.fields, "stops_feeding")


class ReadingBody(Strict):
    """What was read, and when."""

    kind = serializers.ChoiceField(choices=ReadingKind.choices)
    value = Whole(min_value=-10_000, max_value=20_000)
    taken_at = Instant()
    is_confirmed = YesNo(default=False, help_text="A drum above its stop stands at its stop.")


class ReadingsQuery(Paging):
    """Which readings."""

    kind = serializers.ChoiceField(choices=ReadingKind.choices, required=False)
    first_on = Day(required=False)
    last_on = Day(required=False)


def _readings(request: ApiRequest, digester: str) -> QuerySet[Reading]:
    row = by_code(digesters_for(request.admission), digester)
    readings: QuerySet[Reading] = Reading.objects.of(request.group)
    return readings.filter(digester=row).order_by("taken_at", "pk")


class ReadingsView(ApiView):
    """All readings of one digester."""

    access = Access({"GET": DIGESTER_READERS, "POST": DIGESTER_KEEPERS})

    @operation(
        "list_readings",
        "Readings of a digester, oldest first",
        query=ReadingsQuery,
        answer=ReadingAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, digester: str, query: dict[str, Any]) -> Any:
        """Withdrawn ones too."""
        readings = _readings(request, digester)
        names = {"kind": "kind", "first_on": "on__gte", "last_on": "on__lte"}
        return readings.filter(
            **{names[name]: value for name, value in query.items() if name in names}
        )

    @operation(
        "record_reading",
        "Write down a reading",
        body=ReadingBody,
        answer=RecordedReading,
        status=201,
        key=Key.REQUIRED,
        description="A sour strip or smell stops feeding from that moment. A drum above its stop "
        "is asked again (409 `drum_above_stop`). Write down indoors, no phone beside the gas.",
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Householders at their own."""
        recorded = record_reading(
            by_code(digesters_for(request.admission), digester),
            kind=ReadingKind(body["kind"]),
            value=body["value"],
            taken_at=body["taken_at"],
            now=request.now,
            client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
            recorded_by=request.member,
            is_confirmed=body["is_confirmed"],
        )
        recorded.reading.stops_feeding = recorded.stops_feeding  # type: ignore[attr-defined]
        return recorded.reading


class WithdrawalView(ApiView):
    """Taking a wrong reading back."""

    access = Access({"POST": DIGESTER_KEEPERS})

    @operation(
        "withdraw_reading",
        "Take a wrong reading back",
        answer=ReadingAnswer,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, digester: str, reading: UUID) -> Any:
        """It stays on record and counts no more."""
        row = by_uuid(_readings(request, digester), reading)
        return withdraw_reading(row, now=request.now, recorded_by=request.member)


addresses = [
    path("digesters/<slug:digester>/readings", ReadingsView.as_view(), name="api-readings"),
    path(
        "digesters/<slug:digester>/readings/<uuid:reading>/withdrawal",
        WithdrawalView.as_view(),
        name="api-reading-withdrawal",
    ),
]
