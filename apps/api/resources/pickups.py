"""Pickups of a day: who fetches what from whom, what each side weighed, and what happened."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import Prefetch, QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import PICKUP_READERS, pickups_for
from apps.api.fields import Day, Named
from apps.api.lookup import by_uuid
from apps.api.operation import operation
from apps.api.paging import Paging
from apps.api.resources.places import AddressAnswer, viewer_of
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Digester
from apps.kernel.days import local_date
from apps.people.access import Access
from apps.pickups.models import Pickup, PickupEvent, PickupLine, PickupState
from apps.pickups.queries.two_weights import two_weights
from apps.places.queries.visible_address import visible_address
from apps.supply.models import Source


class PickupLineAnswer(serializers.ModelSerializer[PickupLine]):
    """One batch within a pickup, in net grams; weights are null until somebody weighed. `most_g`
    may be taken when there is more than planned, null where the plan did not say so."""

    stream = serializers.CharField(source="stream.code")
    material = serializers.CharField(source="stream.material.code")

    class Meta:
        model = PickupLine
        fields = (
            "uuid",
            "stream",
            "material",
            "batch_on",
            "planned_g",
            "most_g",
            "collected_g",
            "delivered_g",
        )


class PickupAnswer(serializers.ModelSerializer[Pickup]):
    """A pickup; minutes count from local midnight. `giver_g` is what the source weighed,
    `fetcher_g` what the household did; too far apart, they are contested."""

    source = serializers.CharField(source="source.code")
    digester = serializers.CharField(source="digester.code")
    fetcher = serializers.CharField(source="fetcher.code", default=None, allow_null=True)
    state = serializers.ChoiceField(choices=PickupState.choices)
    lines = PickupLineAnswer(many=True)
    planned_g = serializers.SerializerMethodField()
    giver_g = serializers.IntegerField(source="giver_weight_g", allow_null=True)
    fetcher_g = serializers.SerializerMethodField()
    is_contested = serializers.SerializerMethodField()

    class Meta:
        model = Pickup
        fields: tuple[str, ...] = (
            "uuid",
            "source",
            "digester",
            "fetcher",
            "on",
            "from_min",
            "till_min",
            "state",
            "revision",
            "changed_at",
            "planned_g",
            "giver_g",
            "fetcher_g",
            "is_contested",
            "lines",
        )

    def get_planned_g(self, pickup: Pickup) -> int:
        """All lines together."""
        return sum(line.planned_g for line in pickup.lines.all())

    def get_fetcher_g(self, pickup: Pickup) -> int | None:
        """Null until all of it was weighed."""
        return two_weights(pickup).fetcher_g

    def get_is_contested(self, pickup: Pickup) -> bool:
        """Both sides see both."""
        return two_weights(pickup).is_contested


class PickupEventAnswer(serializers.ModelSerializer[PickupEvent]):
    """One step; `acted_for` is the person in whose place `by` acted."""

    by = serializers.CharField(source="by.code", default=None, allow_null=True)
    acted_for = serializers.CharField(source="acted_for.code", default=None, allow_null=True)

    class Meta:
        model = PickupEvent
        fields = (
            "step",
            "from_state",
            "to_state",
            "revision",
            "reason",
            "note",
            "happened_at",
            "by",
            "acted_for",
        )


class WholePickupAnswer(PickupAnswer):
    """A pickup with its steps and where to fetch, as far as the asker may see it."""

    address = serializers.SerializerMethodField()
    events = PickupEventAnswer(many=True)

    class Meta(PickupAnswer.Meta):
        fields = (*PickupAnswer.Meta.fields, "address", "events")

    def get_address(self, pickup: Pickup) -> AddressAnswer:
        """By the one rule of addresses."""
        seen = visible_address(pickup.source.place, viewer_of(self.context["request"]))
        return AddressAnswer(seen).data  # type: ignore[return-value]


class PickupsQuery(Paging):
    """Which pickups."""

    on = Day(required=False, help_text="Today, when nothing is said.")
    digester = Named(Digester, required=False)
    source = Named(Source, required=False)
    state = serializers.ChoiceField(choices=PickupState.choices, required=False)


class PickupBase(ApiView):
    """Finds pickups that are the asker's to see."""

    def pickups(self, request: ApiRequest) -> QuerySet[Pickup]:
        """A constant number of queries."""
        rows = pickups_for(request.admission).select_related(
            "group", "source__place", "digester__household", "fetcher"
        )
        lines = PickupLine.unscoped.select_related("stream__material")
        return rows.prefetch_related(Prefetch("lines", lines))

    def pickup(self, request: ApiRequest, uuid: UUID) -> Pickup:
        """One of them."""
        return by_uuid(self.pickups(request), uuid)


class PickupsView(PickupBase):
    """The pickups of one day."""

    access = Access({"GET": PICKUP_READERS})

    @operation(
        "list_pickups",
        "Pickups of a day in the order of their hours",
        query=PickupsQuery,
        answer=PickupAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Withdrawn ones too; for the own home and source, or all for whoever plans."""
        today = local_date(request.now, request.group.time_zone)
        named = {name: query[name] for name in ("digester", "source", "state") if name in query}
        rows = self.pickups(request).filter(on=query.get("on", today), **named)
        return rows.order_by("from_min", "source__code", "digester__code")


class PickupView(PickupBase):
    """One pickup."""

    access = Access({"GET": PICKUP_READERS})

    @operation("show_pickup", "One pickup with what happened to it", answer=WholePickupAnswer)
    def get(self, request: ApiRequest, group: str, pickup: UUID) -> Any:
        """With the address where to fetch."""
        events = PickupEvent.unscoped.select_related("by", "acted_for")
        rows = self.pickups(request).prefetch_related(Prefetch("events", events))
        return by_uuid(rows, pickup)


addresses = [
    path("pickups", PickupsView.as_view(), name="api-pickups"),
    path("pickups/<uuid:pickup>", PickupView.as_view(), name="api-pickup"),
]
