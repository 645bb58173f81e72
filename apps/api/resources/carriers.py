"""Who carries: on what, how much, when, from where and where not."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.http import Http404
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import PLANNERS
from apps.api.fields import Code, Named, Whole, YesNo
from apps.api.operation import operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access
from apps.people.models import Member, Role
from apps.places.models import Place
from apps.rounds.models import Carrier, Moving
from apps.rounds.models.carrier import DAY_MIN, LARGEST_LOAD_G
from apps.rounds.operations.save_carrier import RestWish, save_carrier

CarrierOf = Code
"""A carrier is known by the member's code."""


class RestBody(Strict):
    """`length_min` of rest that begin between two times."""

    from_min = Whole(min_value=0, max_value=DAY_MIN)
    till_min = Whole(min_value=0, max_value=DAY_MIN)
    length_min = Whole(min_value=1, max_value=240)


class CarrierBody(Strict):
    """Minutes count from local midnight; `avoids` are codes of places."""

    moving = serializers.ChoiceField(choices=Moving.choices, default=Moving.ON_FOOT)
    load_limit_g = Whole(min_value=1_000, max_value=LARGEST_LOAD_G)
    start = Named(Place)
    end = Named(Place, default=None, allow_null=True)
    from_min = Whole(min_value=0, max_value=DAY_MIN)
    till_min = Whole(min_value=0, max_value=DAY_MIN)
    rest = RestBody(default=None, allow_null=True)
    avoids = serializers.ListField(child=Code(), default=list, max_length=200)
    is_active = YesNo(default=True)


class RestAnswer(serializers.Serializer[Any]):
    """A planned rest."""

    from_min = serializers.IntegerField()
    till_min = serializers.IntegerField()
    length_min = serializers.IntegerField()


class CarrierAnswer(serializers.ModelSerializer[Carrier]):
    """How a member carries."""

    member = serializers.CharField(source="member.code")
    start = serializers.CharField(source="start.code")
    end = serializers.CharField(source="end.code")
    moving = serializers.ChoiceField(choices=Moving.choices)
    rest = serializers.SerializerMethodField()
    avoids = serializers.SerializerMethodField()

    class Meta:
        model = Carrier
        fields = (
            "uuid",
            "member",
            "moving",
            "load_limit_g",
            "start",
            "end",
            "from_min",
            "till_min",
            "rest",
            "avoids",
            "is_active",
        )

    def get_rest(self, carrier: Carrier) -> RestAnswer(allow_null=True):  # type: ignore[valid-type]
        """None when no rest is planned."""
        if carrier.rest_min is None:
            return None
        return RestAnswer(
            {
                "from_min": carrier.rest_from_min,
                "till_min": carrier.rest_till_min,
                "length_min": carrier.rest_min,
            }
        ).data

    def get_avoids(self, carrier: Carrier) -> serializers.ListField(child=Code()):  # type: ignore[valid-type]
        """Codes of places."""
        return [each.place.code for each in carrier.avoided.all()]


def carriers(request: ApiRequest) -> QuerySet[Carrier]:
    """All of the group; a constant number of queries."""
    rows: QuerySet[Carrier] = (
        Carrier.objects.of(request.group)
        .select_related("member", "group", "start", "end", "account")
        .prefetch_related("avoided__place")
    )
    return rows


def find_carrier(request: ApiRequest, code: str) -> Carrier:
    """By the member's code."""
    found = carriers(request).filter(member__code=code).first()
    if found is None:
        raise Http404
    return found


class CarriersView(ApiView):
    """Everybody who carries."""

    access = Access({"GET": PLANNERS})

    @operation("list_carriers", "Who carries, and how", answer=CarrierAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """By the member's code."""
        return carriers(request).order_by("member__code")


class CarrierView(ApiView):
    """One carrier."""

    access = Access({"PUT": PLANNERS})

    @operation(
        "save_carrier",
        "Say how a member carries, or change it",
        body=CarrierBody,
        answer=CarrierAnswer,
    )
    def put(self, request: ApiRequest, group: str, carrier: str, body: dict[str, Any]) -> Any:
        """For members with the role of a carrier."""
        member = (
            Member.objects.of(request.group)
            .filter(code=carrier, left_at=None, member_roles__role=Role.CARRIER)
            .first()
        )
        if member is None:
            raise Http404
        rest, avoids = body.pop("rest"), set(body.pop("avoids"))
        places = list(Place.objects.of(request.group).filter(code__in=avoids))
        if len(places) < len(avoids):
            raise Http404
        save_carrier(
            request.group,
            member,
            **body,
            rest=RestWish(**rest) if rest else None,
            avoids=places,
        )
        return find_carrier(request, carrier)


addresses = [
    path("carriers", CarriersView.as_view(), name="api-carriers"),
    path("carriers/<slug:carrier>", CarrierView.as_view(), name="api-carrier"),
]
