"""The streets by which ways are measured."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import ADMINISTRATORS, PLANNERS
from apps.api.files import FileParser
from apps.api.lookup import by_uuid
from apps.api.operation import Key, operation
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access
from apps.places.core.streets.blocks import MOST_BYTES
from apps.places.models import StreetExtract
from apps.places.operations.import_streets import import_streets
from apps.places.operations.remove_streets import remove_streets
from apps.places.queries.street_maps import ATTRIBUTION, extracts

PBF = "application/octet-stream"


class PBFParser(FileParser):
    """An extract; the PBF form has no media type of its own."""

    media_type = PBF
    most_bytes = MOST_BYTES


class ExtractAnswer(serializers.ModelSerializer[StreetExtract]):
    """An extract; one at most is in use. Without one, ways are straight lines times the group's
    detour factor."""

    refusal = serializers.SerializerMethodField(help_text="Why it is not used; else empty.")
    attribution = serializers.SerializerMethodField(
        help_text="To be shown wherever its streets or ways are."
    )

    class Meta:
        model = StreetExtract
        fields = (
            "uuid", "state", "file_name", "sha256", "size_bytes", "sent_at", "read_at", "walk_m",
            "south", "west", "north", "east", "refusal", "attribution",
        )  # fmt: skip

    def get_refusal(self, extract: StreetExtract) -> str:
        """In the reader's language."""
        return _(extract.refusal) % extract.refusal_figures if extract.refusal else ""

    def get_attribution(self, extract: StreetExtract) -> str:
        """The licence asks for it."""
        return ATTRIBUTION


class StreetsView(ApiView):
    """All extracts."""

    access = Access({"GET": PLANNERS, "POST": ADMINISTRATORS})
    parser_classes = (PBFParser,)

    @operation("list_streets", "Extracts, the last one sent first", answer=ExtractAnswer, many=True)
    def get(self, request: ApiRequest, group: str) -> Any:
        """In use, waiting or refused."""
        return extracts(request.group)

    @operation(
        "import_streets",
        "Bring in streets from an OpenStreetMap extract (.osm.pbf)",
        reads=(PBF,),
        answer=ExtractAnswer,
        status=202,
        key=Key.OPTIONAL,
        description="It is read within a minute; ask for the list again to see what came of it.",
    )
    def post(self, request: ApiRequest, group: str, body: bytes) -> Any:
        """A file that is cut short or something else is refused at once."""
        return import_streets(
            request.group, body, file_name="extract.osm.pbf", now=request.now, by=request.member
        )


class StreetsOneView(ApiView):
    """One extract."""

    access = Access({"DELETE": ADMINISTRATORS})

    @operation("remove_streets", "Remove an extract", status=204)
    def delete(self, request: ApiRequest, group: str, extract: UUID) -> Any:
        """Without one in use, ways are straight lines again."""
        row = by_uuid(
            StreetExtract.objects.of(request.group).defer("raw", "network", "names"), extract
        )
        remove_streets(row, by=request.member, now=request.now)
        return HttpResponse(status=204)


addresses = [
    path("streets", StreetsView.as_view(), name="api-streets"),
    path("streets/<uuid:extract>", StreetsOneView.as_view(), name="api-streets-one"),
]
