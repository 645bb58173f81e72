"""Rounds: built, looked at, changed, announced and dropped."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import PLANNERS, TROUBLE_SHOOTERS
from apps.api.fields import Day, Whole
from apps.api.lookup import by_uuid
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.resources.carriers import CarrierOf, find_carrier
from apps.api.resources.plans import VerdictAnswer, as_file
from apps.api.resources.round_answers import RoundAnswer, RoundSummary
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.kernel.days import local_date
from apps.people.access import Access, roles
from apps.people.models import Role
from apps.rounds.models import Round, RoundState, RoundStop
from apps.rounds.operations.build_round import build_round, build_rounds
from apps.rounds.queries.round_file import DOCUMENT, round_file, round_file_name
from apps.rounds.verifier import verify

ROUND_READERS = PLANNERS | roles(Role.CARRIER)
DAY_MIN = 1440
MOST_CARRIERS = 20
"""Who can be asked at once. Ours."""


class NewRound(Strict):
    """Who carries, and when; without hours the carrier's own."""

    carrier = CarrierOf()
    on = Day()
    from_min = Whole(min_value=0, max_value=DAY_MIN, default=None, allow_null=True)
    till_min = Whole(min_value=0, max_value=DAY_MIN, default=None, allow_null=True)


class NewRounds(Strict):
    """Who carries, several at once, and when; without hours each one's own."""

    carriers = serializers.ListField(child=CarrierOf(), min_length=1, max_length=MOST_CARRIERS)
    on = Day()
    from_min = Whole(min_value=0, max_value=DAY_MIN, default=None, allow_null=True)
    till_min = Whole(min_value=0, max_value=DAY_MIN, default=None, allow_null=True)


class TogetherAnswer(serializers.Serializer[Any]):
    """The drafts of those who are needed."""

    rounds = RoundAnswer(many=True)


class RoundsQuery(Paging):
    """Which rounds."""

    on = Day(required=False, help_text="Today, when nothing is said.")


class RoundBase(ApiView):
    """Finds rounds that are the asker's to see: a carrier has the own announced ones."""

    def rounds(self, request: ApiRequest) -> QuerySet[Round]:
        """A constant number of queries."""
        rows: QuerySet[Round] = (
            Round.objects.of(request.group)
            .select_related("group", "carrier__member", "built_by")
            .prefetch_related("stops__pickup__source", "stops__pickup__digester")
        )
        if request.admission.roles & PLANNERS:
            return rows
        return rows.filter(carrier__member=request.member).exclude(state=RoundState.DRAFT)

    def round(self, request: ApiRequest, uuid: UUID) -> Round:
        """One of them."""
        return by_uuid(self.rounds(request), uuid)

    def stop(self, request: ApiRequest, uuid: UUID, stop_uuid: UUID) -> RoundStop:
        """One of its stops."""
        return by_uuid(
            RoundStop.objects.of(request.group).filter(round=self.round(request, uuid)), stop_uuid
        )


class RoundsView(RoundBase):
    """The rounds of a day."""

    access = Access({"GET": ROUND_READERS, "POST": TROUBLE_SHOOTERS})

    @operation("list_rounds", "Rounds of a day", query=RoundsQuery, answer=RoundSummary, many=True)
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Dropped ones too."""
        today = local_date(request.now, request.group.time_zone)
        return self.rounds(request).filter(on=query.get("on", today)).order_by("id")

    @operation(
        "build_round",
        "Build a carrier's round from the open pickups of a day",
        body=NewRound,
        answer=RoundAnswer,
        status=201,
        key=Key.REQUIRED,
        slow=True,
        description="A draft; an earlier draft of the same carrier and day is made anew.",
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """Takes about a second."""
        made = build_round(
            request.group,
            find_carrier(request, body.pop("carrier")),
            **body,
            now=request.now,
            built_by=request.member,
        )
        return self.round(request, made.uuid)


class RoundsTogetherView(RoundBase):
    """Several carriers at once."""

    access = Access({"POST": TROUBLE_SHOOTERS})

    @operation(
        "build_rounds",
        "Share the open pickups of a day out among several carriers",
        body=NewRounds,
        answer=TogetherAnswer,
        status=201,
        key=Key.REQUIRED,
        slow=True,
        description="Drafts, so that least time is spent in all; who is not needed gets none. "
        "Earlier drafts of the same carriers and day are made anew.",
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """Takes about a second."""
        codes = list(dict.fromkeys(body.pop("carriers")))
        made = build_rounds(
            request.group,
            [find_carrier(request, code) for code in codes],
            **body,
            now=request.now,
            built_by=request.member,
        )
        return {"rounds": [self.round(request, each.uuid) for each in made]}


class RoundDocumentView(RoundBase):
    """The round as a file."""

    access = Access({"GET": PLANNERS})

    @operation(
        "export_round",
        "A round as the independent check reads it",
        media_types=(DOCUMENT,),
        description="Ways, hours, loads, order, times and reasons; no addresses are in it.",
    )
    def get(self, request: ApiRequest, group: str, round: UUID) -> Any:
        """To keep, or to check elsewhere."""
        found = self.round(request, round)
        return as_file(round_file(found), DOCUMENT, round_file_name(found))


class RoundView(RoundBase):
    """One round."""

    access = Access({"GET": ROUND_READERS})

    @operation("show_round", "One round with its stops", answer=RoundAnswer)
    def get(self, request: ApiRequest, group: str, round: UUID) -> Any:
        """In order."""
        return self.round(request, round)


class RoundVerdictView(RoundBase):
    """The independent check."""

    access = Access({"GET": PLANNERS})

    @operation(
        "check_round",
        "What the independent verifier finds in a round",
        answer=VerdictAnswer,
        description="As it was built or ordered last; every reason for leaving a pickup out is "
        "tried again.",
    )
    def get(self, request: ApiRequest, group: str, round: UUID) -> Any:
        """Every limit and every claim."""
        faults = verify(self.round(request, round).document)
        return {"is_sound": not faults, "violations": faults}


ROUND = "rounds/<uuid:round>"
addresses = [
    path("rounds", RoundsView.as_view(), name="api-rounds"),
    path("rounds/together", RoundsTogetherView.as_view(), name="api-rounds-together"),
    path(f"{ROUND}/document", RoundDocumentView.as_view(), name="api-round-document"),
    path(ROUND, RoundView.as_view(), name="api-round"),
    path(f"{ROUND}/verdict", RoundVerdictView.as_view(), name="api-round-verdict"),
]
