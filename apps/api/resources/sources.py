"""Sources, and the materials they regularly have."""

from __future__ import annotations

from typing import Any

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS, SOURCE_READERS, sources_for
from apps.api.fields import Day, Named, Text, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import operation
from apps.api.paging import Paging
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.feedstock.models import Material
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access
from apps.people.models import Member
from apps.places.models import Place
from apps.supply.models import Source, SourceKind, Stream
from apps.supply.operations.save_source import save_source
from apps.supply.operations.save_stream import save_stream


class StreamAnswer(serializers.ModelSerializer[Stream]):
    """A stream; `weekday_g` are typical grams, Monday first."""

    source = serializers.CharField(source="source.code")
    material = serializers.CharField(source="material.code")
    weekday_g = serializers.ListField(child=serializers.IntegerField())

    class Meta:
        model = Stream
        fields = (
            "uuid",
            "code",
            "source",
            "material",
            "weekday_g",
            "spread_percent",
            "kept_days",
            "feed_within_days",
            "is_divisible",
            "is_active",
            "learnt_since_on",
        )


class SourceAnswer(serializers.ModelSerializer[Source]):
    """A source with its streams."""

    place = serializers.CharField(source="place.code")
    contact = serializers.CharField(source="contact.code", default=None, allow_null=True)
    streams = StreamAnswer(many=True)

    class Meta:
        model = Source
        fields = (
            "uuid",
            "code",
            "name",
            "kind",
            "place",
            "contact",
            "max_homes_per_day",
            "is_active",
            "streams",
        )


class SourceBody(Strict):
    """A whole source, without its streams."""

    name = Text(max_length=120)
    kind = serializers.ChoiceField(choices=SourceKind.choices)
    place = Named(Place)
    contact = Named(Member, default=None, allow_null=True)
    max_homes_per_day = Whole(min_value=1, max_value=20, default=2)
    is_active = YesNo(default=True)


class StreamBody(Strict):
    """A whole stream."""

    source = Named(Source)
    material = Named(Material)
    weekday_g = serializers.ListField(
        child=Whole(min_value=0, max_value=MAX_FACT), min_length=7, max_length=7
    )
    spread_percent = Whole(min_value=0, max_value=200, default=30)
    kept_days = Whole(min_value=0, max_value=14, default=0)
    feed_within_days = Whole(min_value=0, max_value=30, default=None, allow_null=True)
    is_divisible = YesNo(default=True)
    is_active = YesNo(default=True)
    learnt_since_on = Day(default=None, allow_null=True)


class SourcesQuery(Paging):
    """Which sources."""

    kind = serializers.ChoiceField(choices=SourceKind.choices, required=False)
    is_active = YesNo(required=False)


def _sources(request: ApiRequest) -> QuerySet[Source]:
    return (
        sources_for(request.admission)
        .select_related("place", "contact")
        .prefetch_related("streams__source", "streams__material")
    )


def streams_for(request: ApiRequest) -> QuerySet[Stream]:
    """The streams of the sources that the asker may see."""
    streams: QuerySet[Stream] = Stream.objects.of(request.group)
    return streams.filter(source__in=sources_for(request.admission)).select_related(
        "source", "material"
    )


class SourcesView(ApiView):
    """All sources; a source contact's own ones."""

    access = Access({"GET": SOURCE_READERS})

    @operation(
        "list_sources", "Sources by code", query=SourcesQuery, answer=SourceAnswer, many=True
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """With their streams."""
        return _sources(request).filter(**query_filter(query))


class SourceView(ApiView):
    """One source."""

    access = Access({"GET": SOURCE_READERS, "PUT": ADMINISTRATORS})

    @operation("show_source", "One source", answer=SourceAnswer)
    def get(self, request: ApiRequest, group: str, source: str) -> Any:
        """By code."""
        return by_code(_sources(request), source)

    @operation("save_source", "Make or change a source", body=SourceBody, answer=SourceAnswer)
    def put(self, request: ApiRequest, group: str, source: str, body: dict[str, Any]) -> Any:
        """The code is the one of the address."""
        return save_source(request.group, code=source, **body)


class StreamsQuery(Paging):
    """Which streams."""

    is_active = YesNo(required=False)


class StreamsView(ApiView):
    """All streams; a source contact's own ones."""

    access = Access({"GET": SOURCE_READERS})

    @operation(
        "list_streams", "Streams by code", query=StreamsQuery, answer=StreamAnswer, many=True
    )
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """All sources'."""
        return streams_for(request).filter(**query_filter(query))


class StreamView(ApiView):
    """One stream."""

    access = Access({"GET": SOURCE_READERS, "PUT": ADMINISTRATORS})

    @operation("show_stream", "One stream", answer=StreamAnswer)
    def get(self, request: ApiRequest, group: str, stream: str) -> Any:
        """By code."""
        return by_code(streams_for(request), stream)

    @operation("save_stream", "Make or change a stream", body=StreamBody, answer=StreamAnswer)
    def put(self, request: ApiRequest, group: str, stream: str, body: dict[str, Any]) -> Any:
        """The code is the one of the address."""
        return save_stream(request.group, code=stream, **body)


def query_filter(query: dict[str, Any]) -> dict[str, Any]:
    """What a list's query says about fields of the same name."""
    return {name: value for name, value in query.items() if name not in ("page", "page_size")}


addresses = [
    path("sources", SourcesView.as_view(), name="api-sources"),
    path("sources/<slug:source>", SourceView.as_view(), name="api-source"),
    path("streams", StreamsView.as_view(), name="api-streams"),
    path("streams/<slug:stream>", StreamView.as_view(), name="api-stream"),
]
