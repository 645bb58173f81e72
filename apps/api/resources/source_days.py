"""A source's own day and month: what it has, who comes, what became of it; said in one call."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import (
    SOURCE_KEEPERS,
    SOURCE_READERS,
    kept_sources,
    sources_for,
)
from apps.api.fields import Day, Named, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.resources.offers import OfferAnswer
from apps.api.resources.pickups import PickupAnswer
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.kernel.days import local_date
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access
from apps.pickups.operations.offer_today import offer_amounts, offer_nothing, repeat_yesterday
from apps.pickups.queries.source_day import source_day, source_month
from apps.supply.models import Source, Stream


class ExpectedAnswer(serializers.Serializer[Any]):
    """What one stream has that day: its offer, or the middle of its forecast."""

    stream = serializers.CharField(source="stream.code")
    material = serializers.CharField(source="stream.material.code")
    amount_g = serializers.IntegerField(source="forecast.p50_g")
    low_g = serializers.IntegerField(source="forecast.p20_g")
    high_g = serializers.IntegerField(source="forecast.p80_g")


class SourceDayAnswer(serializers.Serializer[Any]):
    """Pickups come in the order in which somebody comes."""

    source = serializers.CharField(source="source.code")
    on = serializers.DateField()
    expected_g = serializers.IntegerField()
    promised_g = serializers.IntegerField()
    expected = ExpectedAnswer(many=True)
    pickups = PickupAnswer(many=True)


class HomeShareAnswer(serializers.Serializer[Any]):
    """Grams that went into one home's bin."""

    home = serializers.CharField()
    amount_g = serializers.IntegerField()


class SourceMonthAnswer(serializers.Serializer[Any]):
    """What became of what was given in thirty days, most first."""

    source = serializers.CharField()
    first_on = serializers.DateField()
    on = serializers.DateField()
    visits = serializers.IntegerField()
    collected_g = serializers.IntegerField()
    by_home = HomeShareAnswer(many=True)
    set_aside_g = serializers.IntegerField()


class SaidAnswer(serializers.Serializer[Any]):
    """The offers as they now stand."""

    offers = OfferAnswer(many=True)


class SourceDayQuery(Strict):
    """Which day; for a month, its last one."""

    on = Day(required=False, help_text="Today, when nothing is said.")


class OfferDayBody(Strict):
    """For which day."""

    on = Day(required=False, help_text="Today, when nothing is said.")


class StreamAmountBody(Strict):
    """What one stream has."""

    stream = Named(Stream)
    amount_g = Whole(min_value=0, max_value=MAX_FACT)


class AmountsBody(OfferDayBody):
    """Streams that are left out keep their forecast or earlier offer."""

    amounts = StreamAmountBody(many=True, allow_empty=False, max_length=50)
    is_confirmed = YesNo(default=False, help_text="An unusual amount is meant.")


class SourceBase(ApiView):
    """Finds a source and the day that is meant."""

    def seen(self, request: ApiRequest, code: str) -> Source:
        """To read."""
        return by_code(sources_for(request.admission).select_related("group"), code)

    def kept(self, request: ApiRequest, code: str) -> Source:
        """To write."""
        return by_code(kept_sources(request.admission).select_related("group"), code)

    def day(self, request: ApiRequest, asked: dict[str, Any]) -> date:
        """Today by default."""
        return asked.get("on") or local_date(request.now, request.group.time_zone)


class SourceDayView(SourceBase):
    """One day of one source."""

    access = Access({"GET": SOURCE_READERS})

    @operation(
        "show_source_day",
        "What a source has on a day, and who comes for it",
        query=SourceDayQuery,
        answer=SourceDayAnswer,
    )
    def get(self, request: ApiRequest, group: str, source: str, query: dict[str, Any]) -> Any:
        """A constant number of queries."""
        return source_day(self.seen(request, source), self.day(request, query))


class SourceMonthView(SourceBase):
    """Thirty days of one source."""

    access = Access({"GET": SOURCE_READERS})

    @operation(
        "show_source_month",
        "What became of a source's waste in thirty days",
        query=SourceDayQuery,
        answer=SourceMonthAnswer,
    )
    def get(self, request: ApiRequest, group: str, source: str, query: dict[str, Any]) -> Any:
        """By the ledger."""
        month = source_month(self.seen(request, source), self.day(request, query))
        by_home = [{"home": name, "amount_g": amount_g} for name, amount_g in month.by_home_g]
        return {
            "source": month.source.code,
            "first_on": month.first_on,
            "on": month.on,
            "visits": month.visits,
            "collected_g": month.collected_g,
            "by_home": by_home,
            "set_aside_g": month.set_aside_g,
        }


class RepeatView(SourceBase):
    """The same as yesterday."""

    access = Access({"POST": SOURCE_KEEPERS})

    @operation(
        "repeat_offers",
        "Say that a source has the same as on the last day",
        body=OfferDayBody,
        answer=SaidAnswer,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, source: str, body: dict[str, Any]) -> Any:
        """The last day within a week on which something was said or given."""
        row, on = self.kept(request, source), self.day(request, body)
        offers = repeat_yesterday(row, on, now=request.now, said_by=request.member)
        return {"offers": offers}


class AmountsView(SourceBase):
    """Other amounts."""

    access = Access({"POST": SOURCE_KEEPERS})

    @operation(
        "offer_amounts",
        "Say what the streams of a source have on a day",
        body=AmountsBody,
        answer=SaidAnswer,
        key=Key.REQUIRED,
        description="Far more than usual is asked again (409 `unusual_offer`); send it with "
        "`is_confirmed`.",
    )
    def post(self, request: ApiRequest, group: str, source: str, body: dict[str, Any]) -> Any:
        """All of them or none."""
        row = self.kept(request, source)
        offers = offer_amounts(
            row,
            self.day(request, body),
            _amounts(row, body["amounts"]),
            now=request.now,
            said_by=request.member,
            is_confirmed=body["is_confirmed"],
        )
        return {"offers": offers}


class NothingView(SourceBase):
    """Nothing."""

    access = Access({"POST": SOURCE_KEEPERS})

    @operation(
        "offer_nothing",
        "Say that a source has nothing on a day",
        body=OfferDayBody,
        answer=SaidAnswer,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, source: str, body: dict[str, Any]) -> Any:
        """Of every stream."""
        row, on = self.kept(request, source), self.day(request, body)
        return {"offers": offer_nothing(row, on, now=request.now, said_by=request.member)}


def _amounts(source: Source, rows: list[dict[str, Any]]) -> dict[Stream, int]:
    """Each stream once, and of this source."""
    streams = Stream.objects.of(source.group).filter(source=source)
    known = {each.pk: each for each in streams.select_related("source", "material", "group")}
    amounts: dict[Stream, int] = {}
    for at, row in enumerate(rows):
        stream = known.get(row["stream"].pk)
        if stream is None or stream in amounts:
            said = _("Give streams of this source, each of them once.")
            raise serializers.ValidationError({f"amounts.{at}.stream": said})
        amounts[stream] = row["amount_g"]
    return amounts


addresses = [
    path("sources/<slug:source>/day", SourceDayView.as_view(), name="api-source-day"),
    path("sources/<slug:source>/month", SourceMonthView.as_view(), name="api-source-month"),
    path("sources/<slug:source>/offers", AmountsView.as_view(), name="api-source-offers"),
    path("sources/<slug:source>/offers/repeat", RepeatView.as_view(), name="api-source-repeat"),
    path("sources/<slug:source>/offers/nothing", NothingView.as_view(), name="api-source-nothing"),
]
