"""What a household takes, and what its own kitchen gives; the own waste goes first."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import DIGESTER_KEEPERS, digesters_for
from apps.api.fields import Named, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.operations.refuse_material import accept_material, refuse_material
from apps.digesters.operations.set_own_waste import MOST_OWN_WASTE_G, set_own_waste
from apps.feedstock.models import Material
from apps.people.access import Access


class RefusedBody(Strict):
    """Which material, and whether it is taken."""

    material = Named(Material)
    is_refused = YesNo()


class RefusalAnswer(serializers.Serializer[Any]):
    """What was said."""

    material = serializers.CharField()
    is_refused = YesNo()


class RefusalsView(ApiView):
    """Materials that a household does not take."""

    access = Access({"POST": DIGESTER_KEEPERS})

    @operation(
        "refuse_material",
        "Say whether a household takes a material",
        body=RefusedBody,
        answer=RefusalAnswer,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """From the next plan on."""
        row = by_code(digesters_for(request.admission), digester)
        act = refuse_material if body["is_refused"] else accept_material
        act(row, body["material"], now=request.now, recorded_by=request.member)
        return {"material": body["material"].code, "is_refused": body["is_refused"]}


class OwnWasteBody(Strict):
    """Grams of one material on a usual day; 0: none any more."""

    material = Named(Material)
    amount_g_per_day = Whole(min_value=0, max_value=MOST_OWN_WASTE_G)


class OwnWasteAnswer(serializers.Serializer[Any]):
    """What was said."""

    material = serializers.CharField()
    amount_g_per_day = serializers.IntegerField()


class OwnWasteView(ApiView):
    """The household's own kitchen waste; it goes first."""

    access = Access({"POST": DIGESTER_KEEPERS})

    @operation(
        "set_own_waste",
        "Say how much own kitchen waste a household feeds on a usual day",
        body=OwnWasteBody,
        answer=OwnWasteAnswer,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Householders at their own."""
        row = by_code(digesters_for(request.admission), digester)
        set_own_waste(row, **body, now=request.now, recorded_by=request.member)
        return {**body, "material": body["material"].code}


addresses = [
    path("digesters/<slug:digester>/refusals", RefusalsView.as_view(), name="api-refusals"),
    path("digesters/<slug:digester>/own-waste", OwnWasteView.as_view(), name="api-own-waste"),
]
