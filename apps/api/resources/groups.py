"""Groups: founding one, reading and changing its choices."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS
from apps.api.fields import Code, Text, Whole
from apps.api.operation import operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.feedstock.operations.found_group import found_group
from apps.groups.models import Group
from apps.groups.operations.change_group import change_group
from apps.people.access import MEMBER, SIGNED_IN, Access


class GroupAnswer(serializers.ModelSerializer[Group]):
    """A group and the choices that its plans are made under."""

    air_normals_c = serializers.ListField(child=serializers.FloatField())

    class Meta:
        model = Group
        fields = (
            "uuid",
            "code",
            "name",
            "time_zone",
            "language",
            "emergency_number",
            "detour_ppm",
            "reach_m",
            "rota_limit_days",
            "air_normals_c",
            "animal_waste_rule",
        )


class NewGroup(Strict):
    """What a group starts with."""

    code = Code()
    name = Text(max_length=120)
    time_zone = Text(max_length=60, help_text="IANA name, such as Europe/Lisbon.")
    language = serializers.ChoiceField(choices=["en", "es"], default="en")


class GroupChanges(Strict):
    """Only what is sent is changed."""

    name = Text(max_length=120, required=False)
    time_zone = Text(max_length=60, required=False)
    language = serializers.ChoiceField(choices=["en", "es"], required=False)
    emergency_number = Text(max_length=20, required=False)
    detour_ppm = Whole(min_value=1_000_000, max_value=3_000_000, required=False)
    reach_m = Whole(min_value=50, max_value=20_000, required=False)
    rota_limit_days = Whole(min_value=2, max_value=60, required=False)
    air_normals_c = serializers.ListField(
        child=serializers.FloatField(min_value=-60, max_value=50), max_length=12, required=False
    )
    animal_waste_rule = Text(max_length=200, allow_blank=True, required=False)


class GroupsView(ApiView):
    """All groups of the installation; nobody lists them."""

    access = Access({"POST": SIGNED_IN})

    @operation("found_group", "Found a group", body=NewGroup, answer=GroupAnswer, status=201)
    def post(self, request: ApiRequest, body: dict[str, Any]) -> Any:
        """The founder becomes its group administrator."""
        user = request.admission.user
        assert user is not None
        return found_group(user, **body, now=request.now).group


class GroupView(ApiView):
    """One group."""

    access = Access({"GET": MEMBER, "PATCH": ADMINISTRATORS})

    @operation("show_group", "The group and its choices", answer=GroupAnswer)
    def get(self, request: ApiRequest, group: str) -> Any:
        """As stored."""
        return request.group

    @operation("change_group", "Change the group's choices", body=GroupChanges, answer=GroupAnswer)
    def patch(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """Plans made from now on go by them."""
        return change_group(request.group, body, now=request.now, actor_uuid=request.member.uuid)


addresses = [
    path("groups", GroupsView.as_view(), name="api-groups"),
    path("groups/<slug:group>", GroupView.as_view(), name="api-group"),
]
