"""The group of the address, with the choices that the plan is made under."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from apps.api.operation import operation
from apps.api.view import ApiRequest, ApiView
from apps.groups.models import Group
from apps.people.access import MEMBER, Access


class GroupAnswer(serializers.ModelSerializer[Group]):
    """A group."""

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
            "animal_waste_rule",
        )


class GroupView(ApiView):
    """One group."""

    access = Access({"GET": MEMBER})

    @operation("show_group", "The group and its choices", answer=GroupAnswer)
    def get(self, request: ApiRequest, group: str) -> Any:
        """As stored."""
        return request.admission.group
