"""What the asker was told, and the secret address of the asker's calendar."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.operation import operation
from apps.api.view import ApiRequest, ApiView
from apps.notices.addresses import calendar_address
from apps.notices.models import Notice, NoticeState
from apps.notices.operations.make_calendar import end_calendar, make_calendar
from apps.people.access import MEMBER, Access


class NoticeAnswer(serializers.ModelSerializer[Notice]):
    """One notice without its words, which hold secret links."""

    state = serializers.ChoiceField(choices=NoticeState.choices)

    class Meta:
        model = Notice
        fields = ("uuid", "kind", "subject", "version", "state", "channel", "made_at", "sent_at")


class CalendarAnswer(serializers.Serializer[Any]):
    """An iCalendar address (RFC 5545), told this once; whoever has it can read it."""

    address = serializers.CharField()


class NoticesView(ApiView):
    """The asker's own."""

    access = Access({"GET": MEMBER})

    @operation("list_notices", "Your notices, newest first", answer=NoticeAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Sent or not."""
        rows = Notice.objects.of(request.group).filter(member=request.member)
        return rows.order_by("-made_at", "-pk")


class CalendarView(ApiView):
    """The asker's own."""

    access = Access({"POST": MEMBER, "DELETE": MEMBER})

    @operation(
        "make_calendar", "Make the address of your calendar", answer=CalendarAnswer, status=201
    )
    def post(self, request: ApiRequest, group: str) -> Any:
        """The one before is over. No Idempotency-Key here: remembering the answer would be
        storing the secret."""
        return {"address": calendar_address(make_calendar(request.member, now=request.now))}

    @operation("end_calendar", "End the address of your calendar", status=204)
    def delete(self, request: ApiRequest, group: str) -> None:
        """At once."""
        end_calendar(request.member, now=request.now)


addresses = [
    path("notices", NoticesView.as_view(), name="api-notices"),
    path("calendar", CalendarView.as_view(), name="api-calendar"),
]
