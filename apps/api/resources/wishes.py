"""What the assigner asks of the next plan: pins, bans, and what a change would do."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ASSIGNERS, PLANNERS
from apps.api.fields import Day, Grams, Named
from apps.api.lookup import by_uuid
from apps.api.operation import Key, operation
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Digester
from apps.people.access import Access
from apps.planning.models import Ban, Pin
from apps.planning.operations.ban_pair import ban_pair, lift_ban
from apps.planning.operations.pin_batch import pin_batch, unpin_batch
from apps.planning.queries.find_plan import find_plan
from apps.planning.queries.preview_change import Asked, preview_change
from apps.supply.models import Source, Stream


class PinAnswer(serializers.ModelSerializer[Pin]):
    """A batch kept for one digester on one day; without grams the plan chooses them."""

    stream = serializers.CharField(source="stream.code")
    digester = serializers.CharField(source="digester.code")

    class Meta:
        model = Pin
        fields = ("uuid", "stream", "batch_on", "digester", "on", "amount_g", "asked_at")


class BanAnswer(serializers.ModelSerializer[Ban]):
    """A source ruled out for a digester; without a day, on every day."""

    source = serializers.CharField(source="source.code")
    digester = serializers.CharField(source="digester.code")

    class Meta:
        model = Ban
        fields = ("uuid", "source", "digester", "on", "asked_at")


class PinBody(Strict):
    """Which batch goes where, and when."""

    stream = Named(Stream)
    batch_on = Day()
    digester = Named(Digester)
    on = Day()
    amount_g = Grams(default=None, allow_null=True)


class BanBody(Strict):
    """Which pair, and on which day; without one, on every day."""

    source = Named(Source)
    digester = Named(Digester)
    on = Day(default=None, allow_null=True)


class PreviewBody(Strict):
    """Pins and bans added and lifted, all at once."""

    pins = PinBody(many=True, default=list, max_length=50)
    bans = BanBody(many=True, default=list, max_length=50)
    lifted_pins = PinBody(many=True, default=list, max_length=50)
    lifted_bans = BanBody(many=True, default=list, max_length=50)
    better = serializers.BooleanField(
        default=False,
        help_text="Also plan the homes around the change anew; takes a second or two.",
    )


class HomeChangeAnswer(serializers.Serializer[Any]):
    """What a change does to one home over the plan's days."""

    digester = serializers.CharField()
    fed_vs_g = serializers.FloatField()
    fed_vs_g_after = serializers.FloatField()
    min_vs_g = serializers.IntegerField()
    target_vs_g = serializers.IntegerField()
    falls_below_minimum = serializers.BooleanField()
    falls_below_target = serializers.BooleanField()


class PreviewAnswer(serializers.Serializer[Any]):
    """`contradictions` say why it cannot be kept; grams more (negative: less) left over;
    `better` what the best plan found around the change has, where that was asked for."""

    can_be_kept = serializers.SerializerMethodField()
    contradictions = serializers.ListField(child=SentenceField())
    effects = serializers.ListField(child=SentenceField())
    left_over_g = serializers.IntegerField()
    homes = HomeChangeAnswer(many=True, source="consequences.homes")
    better = serializers.ListField(child=SentenceField())

    def get_can_be_kept(self, preview: Any) -> bool:
        """Whether nothing speaks against it."""
        return not preview.contradictions


class PinsView(ApiView):
    """All pins."""

    access = Access({"GET": PLANNERS, "POST": ASSIGNERS})

    @operation("list_pins", "Pins by day", answer=PinAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Past ones too."""
        rows = Pin.objects.of(request.group).select_related("stream", "digester")
        return rows.order_by("on", "stream__code", "digester__code")

    @operation(
        "pin_batch",
        "Keep a batch for one digester on one day",
        body=PinBody,
        answer=PinAnswer,
        status=201,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """Every plan made from now on obeys it; refused when none could."""
        return pin_batch(request.group, **body, now=request.now, asked_by=request.member)


class PinView(ApiView):
    """One pin."""

    access = Access({"DELETE": ASSIGNERS})

    @operation("unpin_batch", "Leave a batch to the plan again", status=204)
    def delete(self, request: ApiRequest, group: str, pin: UUID) -> None:
        """From the next plan on."""
        row = by_uuid(Pin.objects.of(request.group), pin)
        unpin_batch(row, now=request.now, asked_by=request.member)


class BansView(ApiView):
    """All bans."""

    access = Access({"GET": PLANNERS, "POST": ASSIGNERS})

    @operation("list_bans", "Bans by source", answer=BanAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """Past ones too."""
        rows = Ban.objects.of(request.group).select_related("source", "digester")
        return rows.order_by("source__code", "digester__code", "on", "pk")

    @operation(
        "ban_pair",
        "Rule a source out for a digester",
        body=BanBody,
        answer=BanAnswer,
        status=201,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """On one day or for good."""
        return ban_pair(request.group, **body, now=request.now, asked_by=request.member)


class BanView(ApiView):
    """One ban."""

    access = Access({"DELETE": ASSIGNERS})

    @operation("lift_ban", "Allow a pair again", status=204)
    def delete(self, request: ApiRequest, group: str, ban: UUID) -> None:
        """From the next plan on."""
        row = by_uuid(Ban.objects.of(request.group), ban)
        lift_ban(row, now=request.now, asked_by=request.member)


class PreviewView(ApiView):
    """What a change would do."""

    access = Access({"POST": ASSIGNERS})

    @operation(
        "preview_change",
        "What pins and bans would do to loading and left-overs",
        body=PreviewBody,
        answer=PreviewAnswer,
        description="Nothing is written; a plan made anew may do better.",
    )
    def post(self, request: ApiRequest, group: str, version: int, body: dict[str, Any]) -> Any:
        """With everything else as it is in the plan."""
        asked = Asked(
            pins=tuple((*_pin(each), each["amount_g"]) for each in body["pins"]),
            bans=tuple(_ban(each) for each in body["bans"]),
            lifted_pins=tuple(_pin(each) for each in body["lifted_pins"]),
            lifted_bans=tuple(_ban(each) for each in body["lifted_bans"]),
        )
        plan = find_plan(request.group, version)
        return preview_change(plan, asked, better=body["better"])


def _pin(each: dict[str, Any]) -> tuple[Any, ...]:
    return each["stream"].code, each["batch_on"], each["digester"].code, each["on"]


def _ban(each: dict[str, Any]) -> tuple[Any, ...]:
    return each["source"].code, each["digester"].code, each["on"]


addresses = [
    path("pins", PinsView.as_view(), name="api-pins"),
    path("pins/<uuid:pin>", PinView.as_view(), name="api-pin"),
    path("bans", BansView.as_view(), name="api-bans"),
    path("bans/<uuid:ban>", BanView.as_view(), name="api-ban"),
    path("plans/<int:version>/preview", PreviewView.as_view(), name="api-preview"),
]
