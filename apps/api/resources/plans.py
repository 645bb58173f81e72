"""Plans: made, read, announced, and checked again."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import ASSIGNERS, PLANNERS
from apps.api.fields import Day, Whole
from apps.api.operation import Key, operation
from apps.api.paging import Paging
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access
from apps.planning.models import Plan, PlanStatus, SecondHome
from apps.planning.operations.announce_plan import announce_plan
from apps.planning.operations.make_plan import MOST_DAYS, make_plan
from apps.planning.operations.reproduce_plan import reproduce_plan
from apps.planning.queries.explain import wish_lines
from apps.planning.queries.find_plan import find_plan
from apps.planning.queries.plan_files import PLAN_FILES, file_name
from apps.planning.verifier.verify import verify


class PlanSummary(serializers.ModelSerializer[Plan]):
    """A plan without its rows."""

    made_by = serializers.CharField(source="made_by.code", default=None, allow_null=True)
    announced_by = serializers.CharField(source="announced_by.code", default=None, allow_null=True)

    class Meta:
        model = Plan
        fields = (
            "uuid",
            "version",
            "status",
            "starts_on",
            "days",
            "made_at",
            "made_by",
            "announced_at",
            "announced_by",
            "input_hash",
        )


class WishAnswer(serializers.Serializer[Any]):
    """One wish, and what no plan can undercut given the wishes before it."""

    name = serializers.CharField()
    sentence = SentenceField()
    value = serializers.FloatField()
    bound = serializers.FloatField()


class ProvenanceAnswer(serializers.Serializer[Any]):
    """How the plan was made, so that it can be made again."""

    seed = serializers.IntegerField()
    iterations = serializers.IntegerField()
    engine = serializers.CharField()
    input_hash = serializers.CharField()
    stopped_by = serializers.CharField()


class SecondHomeAnswer(serializers.ModelSerializer[SecondHome]):
    """Who is asked first when a home does not go, where visits often came to nothing."""

    source = serializers.CharField(source="source.code")
    instead_of = serializers.CharField(source="instead_of.code")
    digester = serializers.CharField(source="digester.code")

    class Meta:
        model = SecondHome
        fields = ("source", "instead_of", "digester", "on", "amount_g", "distance_m")


class PlanAnswer(PlanSummary):
    """A plan with how good it is; most important wish first."""

    second_homes = SecondHomeAnswer(many=True)
    wishes = serializers.SerializerMethodField()
    provenance = ProvenanceAnswer(source="document.provenance")

    class Meta(PlanSummary.Meta):
        fields = (*PlanSummary.Meta.fields, "second_homes", "wishes", "provenance")

    def get_wishes(self, plan: Plan) -> WishAnswer(many=True):  # type: ignore[valid-type]
        """With their bounds."""
        return WishAnswer(wish_lines(plan), many=True).data


class NewPlan(Strict):
    """From which day, for how many, and how many pickups may change."""

    starts_on = Day(required=False, help_text="Tomorrow, when nothing is said.")
    days = Whole(min_value=1, max_value=MOST_DAYS, default=7)
    seed = Whole(min_value=0, max_value=1_000_000, default=0)
    change_budget = Whole(min_value=0, max_value=10_000, default=None, allow_null=True)


class PlansQuery(Paging):
    """Which plans."""

    status = serializers.ChoiceField(choices=PlanStatus.choices, required=False)


class ViolationAnswer(serializers.Serializer[Any]):
    """One broken rule."""

    rule = serializers.CharField()
    sentence = serializers.CharField()


class VerdictAnswer(serializers.Serializer[Any]):
    """What the independent verifier found in the exported plan."""

    is_sound = serializers.BooleanField()
    violations = ViolationAnswer(many=True)


class ReproducedAnswer(serializers.Serializer[Any]):
    """Whether the same input gave the same plan."""

    is_same = serializers.BooleanField()
    same_inputs = serializers.BooleanField()
    engine_then = serializers.CharField()
    engine_now = serializers.CharField()
    differences = serializers.ListField(child=serializers.CharField())


class FileQuery(Strict):
    """In which form."""

    form = serializers.ChoiceField(choices=sorted(PLAN_FILES), default="json")


class PlansView(ApiView):
    """All plans."""

    access = Access({"GET": PLANNERS, "POST": ASSIGNERS})

    @operation("list_plans", "Plans, newest first", query=PlansQuery, answer=PlanSummary, many=True)
    def get(self, request: ApiRequest, group: str, query: dict[str, Any]) -> Any:
        """Drafts, the announced one and superseded ones."""
        plans = Plan.objects.of(request.group).select_related("made_by", "announced_by")
        return plans.filter(status=query["status"]) if "status" in query else plans

    @operation(
        "make_plan",
        "Make the best plan around the pins",
        body=NewPlan,
        answer=PlanAnswer,
        status=201,
        key=Key.REQUIRED,
        slow=True,
        description="A draft: nobody is told anything before it is announced.",
    )
    def post(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """Takes a few seconds."""
        return make_plan(request.group, **body, now=request.now, made_by=request.member)


class PlanView(ApiView):
    """One plan."""

    access = Access({"GET": PLANNERS})

    @operation("show_plan", "One plan and how good it is", answer=PlanAnswer)
    def get(self, request: ApiRequest, group: str, version: int) -> Any:
        """By version."""
        return find_plan(request.group, version)


class AnnouncementView(ApiView):
    """Announcing."""

    access = Access({"POST": ASSIGNERS})

    @operation(
        "announce_plan",
        "Announce a draft, whole or not at all",
        answer=PlanAnswer,
        key=Key.REQUIRED,
        description="Refused when what it was made from has changed, or a rule is broken.",
    )
    def post(self, request: ApiRequest, group: str, version: int) -> Any:
        """The plan announced before is superseded."""
        plan = find_plan(request.group, version)
        return announce_plan(plan, now=request.now, announced_by=request.member)


class FileView(ApiView):
    """The plan as a file."""

    access = Access({"GET": PLANNERS})

    @operation(
        "export_plan",
        "The whole plan as a file: JSON document, zip of CSV tables, or workbook",
        query=FileQuery,
        media_types=[media_type for media_type, _write in PLAN_FILES.values()],
    )
    def get(self, request: ApiRequest, group: str, version: int, query: dict[str, Any]) -> Any:
        """Codes and amounts; no addresses are in it."""
        plan = find_plan(request.group, version)
        media_type, write = PLAN_FILES[query["form"]]
        return as_file(write(plan), media_type, file_name(plan, query["form"]))


class VerificationView(ApiView):
    """Checking a plan without the solver."""

    access = Access({"GET": PLANNERS})

    @operation("verify_plan", "Check a plan against every rule", answer=VerdictAnswer)
    def get(self, request: ApiRequest, group: str, version: int) -> Any:
        """By the independent verifier, from the exported document alone."""
        violations = verify(find_plan(request.group, version).document)
        return {"is_sound": not violations, "violations": violations}


class ReproductionView(ApiView):
    """Making a plan again."""

    access = Access({"POST": ASSIGNERS})

    @operation("reproduce_plan", "Make a stored plan again and compare", answer=ReproducedAnswer)
    def post(self, request: ApiRequest, group: str, version: int) -> Any:
        """Nothing is written."""
        return reproduce_plan(find_plan(request.group, version))


def as_file(content: bytes, media_type: str, name: str) -> HttpResponse:
    """A download."""
    response = HttpResponse(content, content_type=media_type)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


addresses = [
    path("plans", PlansView.as_view(), name="api-plans"),
    path("plans/<int:version>", PlanView.as_view(), name="api-plan"),
    path("plans/<int:version>/announcement", AnnouncementView.as_view(), name="api-announcement"),
    path("plans/<int:version>/file", FileView.as_view(), name="api-plan-file"),
    path("plans/<int:version>/verification", VerificationView.as_view(), name="api-verification"),
    path("plans/<int:version>/reproduction", ReproductionView.as_view(), name="api-reproduction"),
]
