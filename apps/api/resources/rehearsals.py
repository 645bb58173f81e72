"""Rehearsed years."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import PLANNERS
from apps.api.fields import Day, Named, Text, Whole
from apps.api.lookup import by_uuid
from apps.api.operation import Key, operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access
from apps.places.models import Place
from apps.rehearsal.models import Rehearsal
from apps.rehearsal.models.rehearsal import MOST_DAYS
from apps.rehearsal.operations.start_rehearsal import start_rehearsal
from apps.rehearsal.queries.rehearsal_changes import tried_change


class RehearsalAnswer(serializers.ModelSerializer[Rehearsal]):
    """How far it is, and, once done, its figures by policy with the bound. An update of the
    service that it cannot outlive begins it once more, or stops it."""

    lived_days = serializers.SerializerMethodField()
    figures = serializers.DictField()

    class Meta:
        model = Rehearsal
        fields = (
            "uuid",
            "name",
            "first_on",
            "days",
            "seed",
            "state",
            "times_begun",
            "lived_days",
            "figures",
        )

    def get_lived_days(self, row: Rehearsal) -> int:
        """Days that every policy has lived."""
        return min((each.until_day for each in row.stretches.all()), default=0)


class RehearsalBody(Strict):
    """What to rehearse; a change is told whole or left out."""

    name = Text(max_length=120)
    first_on = Day()
    days = Whole(min_value=1, max_value=MOST_DAYS, default=365)
    seed = Whole(min_value=0, max_value=1_000_000, default=1)
    canteen_place = Named(Place, default=None, allow_null=True)
    canteen_g = Whole(min_value=0, max_value=MAX_FACT, default=0)
    digester_place = Named(Place, default=None, allow_null=True)
    digester_ml = Whole(min_value=0, max_value=100_000_000, default=0)
    homes_away = Whole(min_value=0, max_value=200, default=0)
    away_first_on = Day(default=None, allow_null=True)
    away_last_on = Day(default=None, allow_null=True)


OF_REHEARSAL = ("name", "first_on", "days", "seed")


def _rows(request: ApiRequest) -> QuerySet[Rehearsal]:
    rows: QuerySet[Rehearsal] = Rehearsal.objects.of(request.group)
    return rows.defer("start").prefetch_related("stretches")


class RehearsalsView(ApiView):
    """All rehearsals."""

    access = Access({"GET": PLANNERS, "POST": PLANNERS})

    @operation("list_rehearsals", "Rehearsals", answer=RehearsalAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Newest first."""
        return _rows(request)

    @operation(
        "start_rehearsal",
        "Rehearse a year",
        body=RehearsalBody,
        answer=RehearsalAnswer,
        status=201,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """It goes on by itself; look at it for its progress."""
        own = {name: body.pop(name) for name in OF_REHEARSAL}
        return start_rehearsal(
            request.group,
            **own,
            change=tried_change(request.group, **body),
            asked_by=request.member,
            now=request.now,
        )


class RehearsalView(ApiView):
    """One rehearsal."""

    access = Access({"GET": PLANNERS})

    @operation("show_rehearsal", "One rehearsal", answer=RehearsalAnswer)
    def get(self, request: ApiRequest, group: str, rehearsal: UUID) -> Any:
        """By identifier."""
        return by_uuid(_rows(request), rehearsal)


addresses = [
    path("rehearsals", RehearsalsView.as_view(), name="api-rehearsals"),
    path("rehearsals/<uuid:rehearsal>", RehearsalView.as_view(), name="api-rehearsal"),
]
