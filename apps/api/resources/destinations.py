"""Where what is left over goes."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS, PLANNERS
from apps.api.fields import Named, Text, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access
from apps.places.models import Place
from apps.supply.models import Destination
from apps.supply.operations.save_destination import save_destination


class DestinationAnswer(serializers.ModelSerializer[Destination]):
    """A destination with what it takes a day."""

    place = serializers.CharField(source="place.code")

    class Meta:
        model = Destination
        fields = ("uuid", "code", "name", "place", "capacity_g_per_day", "is_active")


class DestinationBody(Strict):
    """A whole destination."""

    name = Text(max_length=120)
    place = Named(Place)
    capacity_g_per_day = Whole(min_value=0, max_value=MAX_FACT)
    is_active = YesNo(default=True)


def _destinations(request: ApiRequest) -> QuerySet[Destination]:
    rows: QuerySet[Destination] = Destination.objects.of(request.group)
    return rows.select_related("place")


class DestinationsView(ApiView):
    """All destinations."""

    access = Access({"GET": PLANNERS})

    @operation("list_destinations", "Destinations by code", answer=DestinationAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Retired ones too."""
        return _destinations(request)


class DestinationView(ApiView):
    """One destination."""

    access = Access({"GET": PLANNERS, "PUT": ADMINISTRATORS})

    @operation("show_destination", "One destination", answer=DestinationAnswer)
    def get(self, request: ApiRequest, group: str, destination: str) -> Any:
        """By code."""
        return by_code(_destinations(request), destination)

    @operation(
        "save_destination",
        "Make or change a destination",
        body=DestinationBody,
        answer=DestinationAnswer,
    )
    def put(self, request: ApiRequest, group: str, destination: str, body: dict[str, Any]) -> Any:
        """The code is the one of the address."""
        return save_destination(request.group, code=destination, **body)


addresses = [
    path("destinations", DestinationsView.as_view(), name="api-destinations"),
    path("destinations/<slug:destination>", DestinationView.as_view(), name="api-destination"),
]
