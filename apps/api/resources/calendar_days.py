"""The group's calendar: holidays, market closing days and festivals."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import PEOPLE_KEEPERS, PLANNERS
from apps.api.fields import Day, Text, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access
from apps.supply.core.day_effects import MOST_PERCENT
from apps.supply.models import CalendarDay, CalendarKind, SourceKind
from apps.supply.operations.save_calendar_day import remove_calendar_day, save_calendar_day


class CalendarDayAnswer(serializers.ModelSerializer[CalendarDay]):
    """Days unlike others; both ends are included."""

    source_kinds = serializers.ListField(child=serializers.ChoiceField(choices=SourceKind.choices))

    class Meta:
        model = CalendarDay
        fields = (
            "uuid",
            "code",
            "name",
            "kind",
            "first_on",
            "last_on",
            "is_yearly",
            "amount_percent",
            "source_kinds",
        )


class CalendarDayBody(Strict):
    """Which days, and what they do to whom; no kinds of source: all."""

    name = Text(max_length=120)
    kind = serializers.ChoiceField(choices=CalendarKind.choices)
    first_on = Day()
    last_on = Day()
    is_yearly = YesNo(default=False)
    amount_percent = Whole(min_value=0, max_value=MOST_PERCENT, default=0)
    source_kinds = serializers.ListField(
        child=serializers.ChoiceField(choices=SourceKind.choices), default=list, max_length=5
    )


def _rows(request: ApiRequest) -> QuerySet[CalendarDay]:
    rows: QuerySet[CalendarDay] = CalendarDay.objects.of(request.group)
    return rows.select_related("group")


class CalendarDaysView(ApiView):
    """The whole calendar."""

    access = Access({"GET": PLANNERS})

    @operation("list_calendar_days", "Days unlike others", answer=CalendarDayAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """By code."""
        return _rows(request)


class CalendarDayView(ApiView):
    """One entry of the calendar."""

    access = Access({"GET": PLANNERS, "PUT": PEOPLE_KEEPERS, "DELETE": PEOPLE_KEEPERS})

    @operation("show_calendar_day", "One entry of the calendar", answer=CalendarDayAnswer)
    def get(self, request: ApiRequest, group: str, entry: str) -> Any:
        """By code."""
        return by_code(_rows(request), entry)

    @operation(
        "save_calendar_day",
        "Make or change an entry of the calendar",
        body=CalendarDayBody,
        answer=CalendarDayAnswer,
    )
    def put(self, request: ApiRequest, group: str, entry: str, body: dict[str, Any]) -> Any:
        """The code is the one of the address."""
        return save_calendar_day(
            request.group, code=entry, **body, now=request.now, actor_uuid=request.member.uuid
        )

    @operation("remove_calendar_day", "Take an entry out of the calendar", status=204)
    def delete(self, request: ApiRequest, group: str, entry: str) -> None:
        """Its days are like others again."""
        row = by_code(_rows(request), entry)
        remove_calendar_day(row, now=request.now, actor_uuid=request.member.uuid)


addresses = [
    path("calendar-days", CalendarDaysView.as_view(), name="api-calendar-days"),
    path("calendar-days/<slug:entry>", CalendarDayView.as_view(), name="api-calendar-day"),
]
