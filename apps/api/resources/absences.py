"""Days on which nobody is at a place."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import Http404
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import PLANNERS, digesters_for, sources_for
from apps.api.fields import Day, Named, Text
from apps.api.lookup import by_uuid
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access, roles
from apps.people.models import Member, Role
from apps.places.models import Absence, Place
from apps.places.operations.set_absence import end_absence, set_absence

ABSENCE_KEEPERS = PLANNERS | roles(Role.HOUSEHOLDER, Role.SOURCE_CONTACT)


class AbsenceAnswer(serializers.ModelSerializer[Absence]):
    """An absence; both days are included."""

    place = serializers.CharField(source="place.code")
    keyholder = serializers.CharField(source="keyholder.code", default=None, allow_null=True)

    class Meta:
        model = Absence
        fields = ("uuid", "place", "first_on", "last_on", "keyholder", "note")


class AbsenceBody(Strict):
    """Who is away, and when."""

    place = Named(Place)
    first_on = Day()
    last_on = Day()
    keyholder = Named(Member, default=None, allow_null=True)
    note = Text(max_length=120, default="", allow_blank=True)


class AbsencesQuery(Paging):
    """Which absences."""

    since_on = Day(required=False, help_text="Those that last until this day or longer.")


def _own_places(request: ApiRequest) -> QuerySet[Place]:
    """All of them for whoever plans; otherwise those of the own home and sources."""
    places: QuerySet[Place] = Place.objects.of(request.group)
    if request.admission.roles & PLANNERS:
        return places
    return places.filter(
        Q(digesters__in=digesters_for(request.admission))
        | Q(sources__in=sources_for(request.admission))
    ).distinct()


def _absences(request: ApiRequest) -> QuerySet[Absence]:
    absences: QuerySet[Absence] = Absence.objects.of(request.group)
    return (
        absences.filter(place__in=_own_places(request))
        .select_related("place", "keyholder")
        .order_by("first_on", "place__code")
    )


class AbsencesView(ApiView):
    """All absences; a householder's or source contact's own ones."""

    access = Access({"GET": ABSENCE_KEEPERS, "POST": ABSENCE_KEEPERS})

    @operation(
        "list_absences", "Absences by day", query=AbsencesQuery, answer=AbsenceAnswer, many=True
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Past ones too."""
        absences = _absences(request)
        return absences.filter(last_on__gte=query["since_on"]) if "since_on" in query else absences

    @operation(
        "set_absence",
        "Say on which days nobody is there",
        body=AbsenceBody,
        answer=AbsenceAnswer,
        status=201,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """For the own place; whoever plans, for any."""
        place = _own_places(request).filter(pk=body.pop("place").pk).first()
        if place is None:
            raise Http404
        return set_absence(place, **body, now=request.now, actor_uuid=request.member.uuid)


class AbsenceView(ApiView):
    """One absence."""

    access = Access({"GET": ABSENCE_KEEPERS, "DELETE": ABSENCE_KEEPERS})

    @operation("show_absence", "One absence", answer=AbsenceAnswer)
    def get(self, request: ApiRequest, group: str, absence: UUID) -> Any:
        """By identifier."""
        return by_uuid(_absences(request), absence)

    @operation("end_absence", "Take an absence back", status=204)
    def delete(self, request: ApiRequest, group: str, absence: UUID) -> None:
        """Somebody is there after all."""
        row = by_uuid(_absences(request), absence)
        end_absence(row, now=request.now, actor_uuid=request.member.uuid)


addresses = [
    path("absences", AbsencesView.as_view(), name="api-absences"),
    path("absences/<uuid:absence>", AbsenceView.as_view(), name="api-absence"),
]
