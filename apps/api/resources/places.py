"""Places with their hours, and addresses as the asker may see them."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS, PLANNERS
from apps.api.fields import Text, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access, roles
from apps.people.models import Role
from apps.places.models import Place
from apps.places.operations.open_address import open_address
from apps.places.operations.save_place import Window, save_place
from apps.places.queries.find_spots import find_spots
from apps.places.queries.visible_address import Viewer, visible_address
from apps.planning.queries.address_viewer import address_viewer


class HoursAnswer(serializers.Serializer[Any]):
    """One window of one weekday, in minutes after local midnight."""

    weekday = serializers.IntegerField(help_text="Monday is 0.")
    opens_min = serializers.IntegerField()
    closes_min = serializers.IntegerField()


class AddressAnswer(serializers.Serializer[Any]):
    """Without `is_exact` the point is the middle of an area, and street and note are null."""

    area = serializers.CharField()
    street = serializers.CharField(allow_null=True)
    access_note = serializers.CharField(allow_null=True)
    latitude = serializers.DecimalField(max_digits=9, decimal_places=6)
    longitude = serializers.DecimalField(max_digits=9, decimal_places=6)
    is_exact = serializers.BooleanField()


class PlaceAnswer(serializers.ModelSerializer[Place]):
    """A place."""

    address = serializers.SerializerMethodField()
    hours = HoursAnswer(many=True, source="opening_hours", help_text="Empty: at all hours.")

    class Meta:
        model = Place
        fields = ("uuid", "code", "name", "is_public", "address", "hours")

    def get_address(self, place: Place) -> AddressAnswer:
        """By the one rule of addresses."""
        seen = visible_address(place, viewer_of(self.context["request"]))
        return AddressAnswer(seen).data  # type: ignore[return-value]


class HoursBody(Strict):
    """One window of one weekday, in minutes after local midnight."""

    weekday = Whole(min_value=0, max_value=6, help_text="Monday is 0.")
    opens_min = Whole(min_value=0, max_value=1440)
    closes_min = Whole(min_value=0, max_value=1440)


class PlaceBody(Strict):
    """A whole place; what is left out becomes empty."""

    name = Text(max_length=120)
    area = Text(max_length=80, default="", allow_blank=True)
    street = Text(max_length=200, default="", allow_blank=True)
    access_note = Text(max_length=200, default="", allow_blank=True)
    latitude = serializers.DecimalField(9, 6, min_value=-90, max_value=90, required=False)
    longitude = serializers.DecimalField(9, 6, min_value=-180, max_value=180, required=False)
    location_code = Text(
        max_length=60,
        default="",
        allow_blank=True,
        help_text="An Open Location Code instead of the coordinates; a short one is the nearest "
        "to the group's places.",
    )
    is_public = YesNo(default=False)
    hours = HoursBody(many=True, default=list, max_length=50)


class Reason(Strict):
    """Why."""

    reason = Text(max_length=200)


def viewer_of(request: ApiRequest) -> Viewer:
    """Whose eyes; asked for once a request."""
    known: Viewer | None = getattr(request, "viewer", None)
    if known is None:
        known = address_viewer(
            request.group, request.member, request.admission.roles, now=request.now
        )
        request.viewer = known  # type: ignore[attr-defined]
    return known


def _places(request: ApiRequest) -> QuerySet[Place]:
    places: QuerySet[Place] = Place.objects.of(request.group)
    return places.prefetch_related("opening_hours")


class PlacesView(ApiView):
    """All places."""

    access = Access({"GET": PLANNERS})

    @operation("list_places", "Places by code", answer=PlaceAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Addresses as the asker may see them."""
        return _places(request)


class PlaceView(ApiView):
    """One place."""

    access = Access({"GET": PLANNERS, "PUT": ADMINISTRATORS})

    @operation("show_place", "One place", answer=PlaceAnswer)
    def get(self, request: ApiRequest, group: str, place: str) -> Any:
        """By code."""
        return by_code(_places(request), place)

    @operation("save_place", "Make or change a place", body=PlaceBody, answer=PlaceAnswer)
    def put(self, request: ApiRequest, group: str, place: str, body: dict[str, Any]) -> Any:
        """The code is the one of the address."""
        hours = [Window(**window) for window in body.pop("hours")]
        return save_place(request.group, code=place, **body, hours=hours)


class SpotQuery(Strict):
    """What to look for."""

    text = Text(
        max_length=200, help_text="An address, a name, an Open Location Code, or coordinates."
    )


class SpotAnswer(serializers.Serializer[Any]):
    """A point; not `is_exact`: the nearest house number, or a name only like it."""

    label = serializers.CharField()
    latitude = serializers.DecimalField(max_digits=9, decimal_places=6)
    longitude = serializers.DecimalField(max_digits=9, decimal_places=6)
    is_exact = serializers.BooleanField()


class SpotsView(ApiView):
    """Looking addresses up."""

    access = Access({"GET": ADMINISTRATORS})

    @operation(
        "find_spots",
        "Points for an address, a code or coordinates, best first",
        query=SpotQuery,
        answer=SpotAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """In the group's own streets, without any network unless one is set."""
        return find_spots(request.group, query["text"])


class OpenedAddress(serializers.Serializer[Any]):
    """A street and how to get in."""

    address = serializers.CharField()


class AddressOpeningsView(ApiView):
    """Opening an address that is hidden."""

    access = Access({"POST": roles(Role.COORDINATOR)})

    @operation(
        "open_address",
        "Open an exact address in an emergency",
        body=Reason,
        answer=OpenedAddress,
        status=201,
        key=Key.OPTIONAL,
        description="It is written down who saw it, when and why.",
    )
    def post(self, request: ApiRequest, group: str, place: str, body: dict[str, Any]) -> Any:
        """The street and its access note."""
        row = by_code(_places(request), place)
        said = open_address(row, by=request.member, reason=body["reason"], now=request.now)
        return {"address": said}


addresses = [
    path("places", PlacesView.as_view(), name="api-places"),
    path("spots", SpotsView.as_view(), name="api-spots"),
    path("places/<slug:place>", PlaceView.as_view(), name="api-place"),
    path(
        "places/<slug:place>/address-openings",
        AddressOpeningsView.as_view(),
        name="api-address-openings",
    ),
]
