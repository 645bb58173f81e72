"""What a plan says: who brings what to whom, what is fed, what is left over, and why."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ASSIGNERS, PLANNERS
from apps.api.fields import Day, Grams, Named
from apps.api.lookup import by_uuid
from apps.api.operation import operation
from apps.api.paging import Paging
from apps.api.resources.wishes import BanAnswer, PinAnswer
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.models import Digester
from apps.people.access import Access
from apps.planning.models import Assignment, DailyFeed, LeftOver
from apps.planning.operations.change_assignment import change_assignment, drop_assignment
from apps.planning.queries.explain import PlanExplainer, Why
from apps.planning.queries.find_plan import find_plan
from apps.planning.queries.source_notices import told_sources
from apps.supply.models import Source


class AssignmentAnswer(serializers.ModelSerializer[Assignment]):
    """One batch, or part of it, to one digester on one day; minutes after local midnight."""

    source = serializers.CharField(source="source.code")
    digester = serializers.CharField(source="digester.code")
    stream = serializers.CharField(source="stream.code")
    material = serializers.CharField(source="stream.material.code")

    class Meta:
        model = Assignment
        fields = (
            "uuid",
            "source",
            "digester",
            "on",
            "stream",
            "batch_on",
            "material",
            "amount_g",
            "distance_m",
            "from_min",
            "till_min",
        )


class DailyFeedAnswer(serializers.ModelSerializer[DailyFeed]):
    """What one digester should be fed on one day, under which maximum."""

    digester = serializers.CharField(source="digester.code")

    class Meta:
        model = DailyFeed
        fields = (
            "digester",
            "on",
            "feed_g",
            "feed_vs_g",
            "slurry_ml",
            "water_ml",
            "max_feed_g",
            "max_vs_g",
            "max_slurry_ml",
            "target_vs_g",
        )


class ReasonAnswer(serializers.Serializer[Any]):
    """Which limit stopped it, and the smallest change that would place it."""

    code = serializers.CharField(default="")
    sentence = serializers.CharField(default="")
    smallest_change = serializers.CharField(default="")


class LeftOverAnswer(serializers.ModelSerializer[LeftOver]):
    """Grams that nobody takes; without a destination they stay with the source."""

    stream = serializers.CharField(source="stream.code")
    source = serializers.CharField(source="stream.source.code")
    destination = serializers.CharField(source="destination.code", default=None, allow_null=True)
    reason = ReasonAnswer()

    class Meta:
        model = LeftOver
        fields = ("uuid", "source", "stream", "batch_on", "amount_g", "destination", "reason")


class OtherHomeAnswer(serializers.Serializer[Any]):
    """Why not there."""

    digester = serializers.CharField()
    sentence = SentenceField()


class WhyAnswer(serializers.Serializer[Any]):
    """The first sentence is the answer, the others are details."""

    sentences = serializers.ListField(child=SentenceField())
    others = serializers.SerializerMethodField()

    def get_others(self, why: Why) -> OtherHomeAnswer(many=True):  # type: ignore[valid-type]
        """Nearest first."""
        rows = [{"digester": code, "sentence": sentence} for code, sentence in why.others]
        return OtherHomeAnswer(rows, many=True).data


class SourceNoticeAnswer(serializers.Serializer[Any]):
    """What one source is told before closing on one day."""

    on = serializers.DateField()
    source = serializers.CharField(source="notice.source")
    sentences = serializers.ListField(child=SentenceField())


class RowsQuery(Paging):
    """Which rows."""

    on = Day(required=False)
    source = Named(Source, required=False)
    digester = Named(Digester, required=False)


class DayQuery(Paging):
    """Which day."""

    on = Day(required=False)


class ChangeBody(Strict):
    """Another home, day or amount; what is left out stays."""

    digester = Named(Digester, required=False)
    on = Day(required=False)
    amount_g = Grams(required=False)


class AssignmentsView(ApiView):
    """The assignments of a plan."""

    access = Access({"GET": PLANNERS})

    @operation(
        "list_assignments",
        "Assignments of a plan by day and source",
        query=RowsQuery,
        answer=AssignmentAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, version: int, query: dict[str, Any]) -> Any:
        """By day, source, digester and stream."""
        rows = Assignment.objects.of(request.group).filter(plan=find_plan(request.group, version))
        return rows.filter(**_filter(query)).select_related(
            "source", "digester", "stream__material"
        )


class AssignmentView(ApiView):
    """One assignment."""

    access = Access({"GET": PLANNERS, "PATCH": ASSIGNERS, "DELETE": ASSIGNERS})

    def _row(self, request: ApiRequest, assignment: UUID) -> Assignment:
        rows = Assignment.objects.of(request.group).select_related(
            "plan", "source", "digester", "stream__material"
        )
        return by_uuid(rows, assignment)

    @operation("explain_assignment", "Why this home", answer=WhyAnswer)
    def get(self, request: ApiRequest, group: str, assignment: UUID) -> Any:
        """And what each other home would have meant."""
        row = self._row(request, assignment)
        return PlanExplainer(row.plan).why_assignment(row)

    @operation(
        "change_assignment",
        "Pin a batch to another home, day or amount",
        body=ChangeBody,
        answer=PinAnswer,
        description="The plan stays as it is: make one around the pins, then announce it.",
    )
    def patch(self, request: ApiRequest, group: str, assignment: UUID, body: dict[str, Any]) -> Any:
        """Kept as a wish."""
        row = self._row(request, assignment)
        return change_assignment(row, **body, now=request.now, asked_by=request.member)

    @operation("drop_assignment", "Rule the pair out on that day", answer=BanAnswer)
    def delete(self, request: ApiRequest, group: str, assignment: UUID) -> Any:
        """The next plan has no such pickup."""
        row = self._row(request, assignment)
        return drop_assignment(row, now=request.now, asked_by=request.member)


class DailyFeedsView(ApiView):
    """The daily feeds of a plan."""

    access = Access({"GET": PLANNERS})

    @operation(
        "list_daily_feeds",
        "Daily feeds of a plan by digester and day",
        query=DayQuery,
        answer=DailyFeedAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, version: int, query: dict[str, Any]) -> Any:
        """With the maximum each was planned under."""
        rows = DailyFeed.objects.of(request.group).filter(plan=find_plan(request.group, version))
        return rows.filter(**_filter(query)).select_related("digester")


class LeftOversView(ApiView):
    """What a plan leaves over."""

    access = Access({"GET": PLANNERS})

    @operation(
        "list_left_overs",
        "What nobody takes, and why",
        answer=LeftOverAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, version: int) -> Any:
        """With where it goes."""
        rows = LeftOver.objects.of(request.group).filter(plan=find_plan(request.group, version))
        return rows.select_related("stream__source", "destination")


class LeftOverView(ApiView):
    """One left-over."""

    access = Access({"GET": PLANNERS})

    @operation("explain_left_over", "What stopped each home", answer=WhyAnswer)
    def get(self, request: ApiRequest, group: str, left_over: UUID) -> Any:
        """And the smallest change that would place it."""
        rows = LeftOver.objects.of(request.group).select_related("plan", "stream")
        row = by_uuid(rows, left_over)
        return PlanExplainer(row.plan).why_left_over(row.stream.code, row.batch_on)


class SourceNoticesView(ApiView):
    """What sources are told."""

    access = Access({"GET": PLANNERS})

    @operation(
        "list_source_notices",
        "What each source is told before closing",
        query=DayQuery,
        answer=SourceNoticeAnswer,
        many=True,
    )
    def get(self, request: ApiRequest, group: str, version: int, query: dict[str, Any]) -> Any:
        """By day and source."""
        return told_sources(find_plan(request.group, version), on=query.get("on"))


def _filter(query: dict[str, Any]) -> dict[str, Any]:
    return {name: query[name] for name in ("on", "source", "digester") if name in query}


addresses = [
    path("plans/<int:version>/assignments", AssignmentsView.as_view(), name="api-assignments"),
    path("plans/<int:version>/daily-feeds", DailyFeedsView.as_view(), name="api-daily-feeds"),
    path("plans/<int:version>/left-overs", LeftOversView.as_view(), name="api-left-overs"),
    path(
        "plans/<int:version>/source-notices",
        SourceNoticesView.as_view(),
        name="api-source-notices",
    ),
    path("assignments/<uuid:assignment>", AssignmentView.as_view(), name="api-assignment"),
    path("left-overs/<uuid:left_over>", LeftOverView.as_view(), name="api-left-over"),
]
