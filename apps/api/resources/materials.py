"""What waste is made of: published figures and the group's own, each with its source."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS
from apps.api.fields import Code, Text, YesNo
from apps.api.lookup import by_code
from apps.api.operation import operation
from apps.api.paging import Paging
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.feedstock.models import Figure, Material
from apps.feedstock.operations.save_material import Given, save_material
from apps.people.access import MEMBER, Access


class FigureAnswer(serializers.ModelSerializer[Figure]):
    """One figure with its unit, source and evidence."""

    class Meta:
        model = Figure
        fields = ("quantity", "value", "low", "high", "unit", "source", "evidence")


class MaterialAnswer(serializers.ModelSerializer[Material]):
    """A material; `published_id` is empty for one that the group measured."""

    figures = FigureAnswer(many=True)
    share_groups = serializers.ListField(child=serializers.CharField())

    class Meta:
        model = Material
        fields = (
            "uuid",
            "code",
            "name",
            "published_id",
            "share_groups",
            "holding",
            "buffers",
            "cautions",
            "is_active",
            "figures",
        )


class FigureBody(Strict):
    """A measured figure, in the unit that its quantity is kept in."""

    quantity = Code()
    value = serializers.DecimalField(12, 6, min_value=0)
    source = Text(max_length=500, help_text="Who measured it, when and how.")


class MaterialBody(Strict):
    """A whole material of the group's own; what is left out is not known."""

    name = Text(max_length=120)
    figures = FigureBody(many=True, default=list, max_length=30)
    share_groups = serializers.ListField(child=Code(), default=list, max_length=20)
    holding = Code(default="wet")
    buffers = YesNo(default=False)
    cautions = Text(max_length=2000, default="", allow_blank=True, lines=True)

    def validate_figures(self, figures: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Each quantity once."""
        names = [figure["quantity"] for figure in figures]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise serializers.ValidationError(f"{twice[0]} is given twice; give it once.")
        return figures


class MaterialsQuery(Paging):
    """Which materials."""

    is_active = YesNo(required=False)
    is_own = YesNo(required=False, help_text="Measured by the group.")


def _materials(request: ApiRequest) -> QuerySet[Material]:
    materials: QuerySet[Material] = Material.objects.of(request.group)
    return materials.prefetch_related("figures")


class MaterialsView(ApiView):
    """All materials."""

    access = Access({"GET": MEMBER})

    @operation(
        "list_materials",
        "Materials by code",
        query=MaterialsQuery,
        answer=MaterialAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """With all figures."""
        materials = _materials(request)
        if "is_active" in query:
            materials = materials.filter(is_active=query["is_active"])
        if "is_own" in query:
            own = materials.filter(published_id="")
            materials = own if query["is_own"] else materials.exclude(published_id="")
        return materials


class MaterialView(ApiView):
    """One material."""

    access = Access({"GET": MEMBER, "PUT": ADMINISTRATORS})

    @operation("show_material", "One material", answer=MaterialAnswer)
    def get(self, request: ApiRequest, group: str, material: str) -> Any:
        """By code."""
        return by_code(_materials(request), material)

    @operation(
        "save_material",
        "Make or change a material of the group's own",
        body=MaterialBody,
        answer=MaterialAnswer,
    )
    def put(self, request: ApiRequest, group: str, material: str, body: dict[str, Any]) -> Any:
        """Published materials stay as published."""
        figures = {
            figure["quantity"]: Given(figure["value"], figure["source"])
            for figure in body.pop("figures")
        }
        return save_material(request.group, code=material, figures=figures, **body)


addresses = [
    path("materials", MaterialsView.as_view(), name="api-materials"),
    path("materials/<slug:material>", MaterialView.as_view(), name="api-material"),
]
