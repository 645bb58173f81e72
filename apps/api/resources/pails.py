"""Numbered pails: where they are, what was noted of them, and what a full one weighs net."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import COORDINATORS
from apps.api.fields import Day, Named, Whole, YesNo
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Digester
from apps.kernel.days import local_date
from apps.kernel.quantities import MAX_FACT
from apps.people.access import MEMBER, Access
from apps.people.models import Member
from apps.pickups.models import LARGEST_PAIL_ML, Pail, PailStep
from apps.pickups.operations.note_pail import note_pail, save_pail, weigh_pail
from apps.pickups.queries.pails import missing_pails, pails
from apps.supply.models import Source


class PailAnswer(serializers.ModelSerializer[Pail]):
    """A pail; where nobody has said, it stands with its owner."""

    owner = serializers.CharField(source="owner.code", default=None, allow_null=True)
    at_source = serializers.CharField(source="at_source.code", default=None, allow_null=True)
    at_digester = serializers.CharField(source="at_digester.code", default=None, allow_null=True)

    class Meta:
        model = Pail
        fields = (
            "uuid",
            "code",
            "owner",
            "tare_g",
            "volume_ml",
            "has_lid",
            "at_source",
            "at_digester",
            "is_missing",
            "is_retired",
            "washed_on",
            "seen_on",
        )


class PailBody(Strict):
    """A whole pail. 16 litres at most, so that nobody lifts more than 15 kg."""

    tare_g = Whole(min_value=50, max_value=5_000)
    volume_ml = Whole(min_value=500, max_value=LARGEST_PAIL_ML, default=10_000)
    has_lid = YesNo(default=True)
    owner = Named(Member, default=None, allow_null=True)


class PailNoteBody(Strict):
    """A place only where it was brought or found, a clean pail only where it was exchanged."""

    step = serializers.ChoiceField(choices=PailStep.choices)
    on = Day(required=False, help_text="Today, when nothing is said.")
    source = Named(Source, default=None, allow_null=True)
    digester = Named(Digester, default=None, allow_null=True)
    exchanged_for = Named(Pail, default=None, allow_null=True)


class WeighingBody(Strict):
    """What stands on the scale, and the foreign matter in it."""

    gross_g = Whole(min_value=1, max_value=MAX_FACT)
    foreign_g = Whole(min_value=0, max_value=MAX_FACT, default=0)


class NetAnswer(serializers.Serializer[Any]):
    """Collected = delivered + set aside; for `complete_pickup`."""

    collected_g = serializers.IntegerField()
    delivered_g = serializers.IntegerField()
    set_aside_g = serializers.IntegerField()


class PailsQuery(Paging):
    """Which pails."""

    is_missing = YesNo(default=False, help_text="Only those that are looked for.")


class PailsView(ApiView):
    """All pails in use."""

    access = Access({"GET": MEMBER})

    @operation("list_pails", "Pails by number", query=PailsQuery, answer=PailAnswer, many=True)
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Or the missing ones: noted so, or not seen for a fortnight."""
        if query["is_missing"]:
            today = local_date(request.now, request.group.time_zone)
            return missing_pails(request.group, today)
        return pails(request.group)


class PailView(ApiView):
    """One pail."""

    access = Access({"GET": MEMBER, "PUT": COORDINATORS})

    @operation("show_pail", "One pail", answer=PailAnswer)
    def get(self, request: ApiRequest, group: str, pail: str) -> Any:
        """By the number painted on it."""
        return _pail(request, pail)

    @operation("save_pail", "Make or change a pail", body=PailBody, answer=PailAnswer)
    def put(self, request: ApiRequest, group: str, pail: str, body: dict[str, Any]) -> Any:
        """The whole of it."""
        return save_pail(request.group, code=pail, **body)


class PailNotesView(ApiView):
    """What was seen of a pail."""

    access = Access({"POST": MEMBER})

    @operation(
        "note_pail",
        "Note where a pail is, or that it was washed, exchanged, missed or found",
        body=PailNoteBody,
        answer=PailAnswer,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, pail: str, body: dict[str, Any]) -> Any:
        """By any member."""
        step = PailStep(body.pop("step"))
        row = _pail(request, pail)
        return note_pail(row, step, **body, now=request.now, noted_by=request.member)


class PailWeighingView(ApiView):
    """Net of gross."""

    access = Access({"POST": MEMBER})

    @operation(
        "weigh_pail", "Net grams of a full pail", body=WeighingBody, answer=NetAnswer,
        description="Nothing is written: the net grams are the weights of `complete_pickup`.",
    )  # fmt: skip
    def post(self, request: ApiRequest, group: str, pail: str, body: dict[str, Any]) -> Any:
        """Its tare off, foreign matter aside."""
        return weigh_pail(_pail(request, pail), **body)


def _pail(request: ApiRequest, code: str) -> Pail:
    rows = Pail.objects.of(request.group)
    return by_code(rows.select_related("group", "owner", "at_source", "at_digester"), code)


addresses = [
    path("pails", PailsView.as_view(), name="api-pails"),
    path("pails/<slug:pail>", PailView.as_view(), name="api-pail"),
    path("pails/<slug:pail>/notes", PailNotesView.as_view(), name="api-pail-notes"),
    path("pails/<slug:pail>/weighing", PailWeighingView.as_view(), name="api-pail-weighing"),
]
