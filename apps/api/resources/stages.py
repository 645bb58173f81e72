"""The stages of a digester's life, each step on evidence."""

from __future__ import annotations

from typing import Any

from django.urls import path
from rest_framework import serializers

from apps.api.audiences import PEOPLE_KEEPERS, PLANNERS, digesters_for
from apps.api.fields import Day
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.core.stages import Evidence, Stage
from apps.digesters.models import StageChange, StageName
from apps.digesters.operations.change_stage import change_stage, confirm_step
from apps.people.access import Access

EVIDENCE = [(each.name.lower(), each.value) for each in Evidence]


class StageAnswer(serializers.ModelSerializer[StageChange]):
    """A step with what was seen."""

    evidence = serializers.DictField()
    caution = serializers.CharField(default="", help_text="What to mind now.")

    class Meta:
        model = StageChange
        fields = ("uuid", "stage", "since_on", "evidence", "recorded_at", "caution")


class StageBody(Strict):
    """Which step, on which day, and what was seen."""

    stage = serializers.ChoiceField(choices=StageName.choices)
    on = Day()
    evidence = serializers.ListField(
        child=serializers.ChoiceField(choices=EVIDENCE), default=list, max_length=len(EVIDENCE)
    )


class StepBody(Strict):
    """What was seen before a ramping or recovering digester is raised."""

    on = Day()
    evidence = serializers.ListField(
        child=serializers.ChoiceField(choices=EVIDENCE), default=list, max_length=len(EVIDENCE)
    )


def _seen(names: list[str]) -> list[Evidence]:
    return [Evidence[name.upper()] for name in names]


class StagesView(ApiView):
    """The life of one digester."""

    access = Access({"GET": PLANNERS, "POST": PEOPLE_KEEPERS})

    @operation("list_stages", "Stages of a digester by day", answer=StageAnswer, many=True)
    def get(self, request: ApiRequest, group: str, digester: str) -> Any:
        """Steps of ramping and recovering among them."""
        row = by_code(digesters_for(request.admission), digester)
        return StageChange.objects.of(request.group).filter(digester=row)

    @operation(
        "change_stage",
        "Move a digester to another stage",
        body=StageBody,
        answer=StageAnswer,
        status=201,
        key=Key.REQUIRED,
        description="Follow local codes; have gas work done by a licensed person.",
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """One allowed step, on evidence."""
        changed = change_stage(
            by_code(digesters_for(request.admission), digester),
            Stage(body["stage"]),
            evidence=_seen(body["evidence"]),
            on=body["on"],
            now=request.now,
            recorded_by=request.member,
        )
        changed.change.caution = changed.caution  # type: ignore[attr-defined]
        return changed.change


class StepsView(ApiView):
    """Raising a ramping or recovering digester."""

    access = Access({"POST": PEOPLE_KEEPERS})

    @operation(
        "confirm_step",
        "Confirm that a digester bears its feed and may be raised",
        body=StepBody,
        answer=StageAnswer,
        status=201,
        key=Key.REQUIRED,
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Once a week at most."""
        return confirm_step(
            by_code(digesters_for(request.admission), digester),
            evidence=_seen(body["evidence"]),
            on=body["on"],
            now=request.now,
            recorded_by=request.member,
        )


addresses = [
    path("digesters/<slug:digester>/stages", StagesView.as_view(), name="api-stages"),
    path("digesters/<slug:digester>/steps", StepsView.as_view(), name="api-steps"),
]
