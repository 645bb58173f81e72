"""What sources say they have on one day; it replaces the forecast of that day."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import SOURCE_KEEPERS, SOURCE_READERS, sources_for
from apps.api.fields import Day, Named, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.resources.sources import streams_for
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access
from apps.supply.models import Offer, Stream
from apps.supply.operations.set_offer import set_offer


class OfferAnswer(serializers.ModelSerializer[Offer]):
    """An offer; 0 g means nothing that day."""

    stream = serializers.CharField(source="stream.code")

    class Meta:
        model = Offer
        fields = ("uuid", "stream", "on", "amount_g", "said_at")


class OfferBody(Strict):
    """What one stream has on one day."""

    stream = Named(Stream)
    on = Day()
    amount_g = Whole(min_value=0, max_value=MAX_FACT)
    is_confirmed = YesNo(default=False, help_text="An unusual amount is meant.")


class OffersQuery(Paging):
    """Which offers."""

    first_on = Day(required=False)
    last_on = Day(required=False)
    stream = Named(Stream, required=False)


class OffersView(ApiView):
    """All offers; a source contact's own ones."""

    access = Access({"GET": SOURCE_READERS, "POST": SOURCE_KEEPERS})

    @operation("list_offers", "Offers by day", query=OffersQuery, answer=OfferAnswer, many=True)
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Past ones too."""
        offers: QuerySet[Offer] = Offer.objects.of(request.group)
        offers = offers.filter(stream__source__in=sources_for(request.admission))
        if "first_on" in query:
            offers = offers.filter(on__gte=query["first_on"])
        if "last_on" in query:
            offers = offers.filter(on__lte=query["last_on"])
        if "stream" in query:
            offers = offers.filter(stream=query["stream"])
        return offers.select_related("stream").order_by("on", "stream__code")

    @operation(
        "set_offer",
        "Say what a stream has on one day",
        body=OfferBody,
        answer=OfferAnswer,
        status=201,
        key=Key.OPTIONAL,
        description="Saying it again changes it. Far more than usual needs `is_confirmed`.",
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """Source contacts for their own."""
        stream = by_code(streams_for(request), body.pop("stream").code)
        return set_offer(stream, **body, now=request.now, said_by=request.member)


addresses = [path("offers", OffersView.as_view(), name="api-offers")]
