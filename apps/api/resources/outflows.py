"""Liquid fertiliser: how to dilute it by use, and what left a digester."""

from __future__ import annotations

from typing import Any

from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import DIGESTER_KEEPERS, kept_digesters
from apps.api.fields import Instant, Millilitres, Whole
from apps.api.lookup import by_code
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digestate.core.dilution import CAUTIONS, USE_NAMES, WATER_PARTS, Use, fill_can
from apps.digestate.operations.let_out import let_out
from apps.people.access import MEMBER, Access

USES = [(each.value, each.value) for each in Use]
CAN_ML, LARGEST_CAN_ML = 10_000, 200_000


class DilutionAnswer(serializers.Serializer[Any]):
    """One part of outflow to so many of water, and what that is in a can; null: not diluted."""

    use = serializers.ChoiceField(choices=USES)
    name = serializers.CharField()
    water_parts = serializers.IntegerField(allow_null=True)
    outflow_ml = serializers.IntegerField()
    water_ml = serializers.IntegerField()


class DilutionsAnswer(serializers.Serializer[Any]):
    """By use, with the cautions that belong to all of them."""

    dilutions = DilutionAnswer(many=True)
    cautions = serializers.ListField(child=serializers.CharField())


class DilutionsQuery(Strict):
    """For which can."""

    can_ml = Whole(min_value=100, max_value=LARGEST_CAN_ML, default=CAN_ML)


class OutflowBody(Strict):
    """What left, when, and for what."""

    amount_ml = Millilitres()
    use = serializers.ChoiceField(choices=USES)
    happened_at = Instant(required=False, help_text="Now, when nothing is said.")


class OutflowAnswer(serializers.Serializer[Any]):
    """What was written down, and the water to mix with it; never neat."""

    uuid = serializers.UUIDField()
    happened_at = serializers.DateTimeField()
    use = serializers.ChoiceField(choices=USES)
    amount_ml = serializers.IntegerField()
    water_ml = serializers.IntegerField()
    cautions = serializers.ListField(child=serializers.CharField())


class DilutionsView(ApiView):
    """Advice."""

    access = Access({"GET": MEMBER})

    @operation(
        "list_dilutions",
        "How to dilute liquid fertiliser by use",
        query=DilutionsQuery,
        answer=DilutionsAnswer,
        description="Common practice; follow local rules.",
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Outflow is rounded down, so that a can is never stronger."""
        cans = [fill_can(query["can_ml"], use) for use in Use]
        return {
            "dilutions": [
                {
                    "use": can.use.value,
                    "name": _(USE_NAMES[can.use]),
                    "water_parts": WATER_PARTS.get(can.use),
                    "outflow_ml": can.outflow_ml,
                    "water_ml": can.water_ml,
                }
                for can in cans
            ],
            "cautions": [_(each) for each in CAUTIONS],
        }


class OutflowsView(ApiView):
    """What left one digester."""

    access = Access({"POST": DIGESTER_KEEPERS})

    @operation(
        "let_out",
        "Write down liquid fertiliser that left a digester",
        body=OutflowBody,
        answer=OutflowAnswer,
        status=201,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Householders at their own."""
        rows = kept_digesters(request.admission).select_related("group", "account")
        done = let_out(
            by_code(rows, digester),
            amount_ml=body["amount_ml"],
            use=Use(body["use"]),
            happened_at=body.get("happened_at", request.now),
            now=request.now,
            client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
            recorded_by=request.member,
        )
        return {
            "uuid": done.posted.posting.uuid,
            "happened_at": done.posted.posting.happened_at,
            "use": done.dilution.use.value,
            "amount_ml": done.dilution.outflow_ml,
            "water_ml": done.dilution.water_ml,
            "cautions": [_(each) for each in done.cautions],
        }


addresses = [
    path("dilutions", DilutionsView.as_view(), name="api-dilutions"),
    path("digesters/<slug:digester>/outflows", OutflowsView.as_view(), name="api-outflows"),
]
