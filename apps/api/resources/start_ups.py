"""A new digester's start, step by step, each with its caution and the evidence asked for."""

from __future__ import annotations

from typing import Any

from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import DIGESTER_KEEPERS, kept_digesters
from apps.api.fields import Day, Whole
from apps.api.lookup import by_code
from apps.api.operation import Key, operation
from apps.api.resources.stages import StageAnswer
from apps.api.sentences import SentenceField
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.digesters.core.start_up import StartStep
from apps.digesters.models import Digester
from apps.digesters.operations.take_start_up_step import Loss, take_start_up_step
from apps.digesters.queries.lighting import why_not_light
from apps.digesters.queries.start_up_guide import GuideStep, start_up_guide
from apps.kernel.days import local_date
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access

START_STEPS = [(each.value, each.value) for each in StartStep]


class GuideStepAnswer(serializers.Serializer[Any]):
    """One step, and the days on which it was taken."""

    step = serializers.ChoiceField(choices=START_STEPS)
    title = serializers.CharField()
    todo = serializers.CharField()
    caution = serializers.CharField()
    evidence = serializers.CharField(help_text="What is asked for.")
    source = serializers.CharField()
    done_on = serializers.ListField(child=serializers.DateField())

    def to_representation(self, instance: GuideStep) -> dict[str, Any]:
        """In the reader's language."""
        text = instance.text
        return {
            "step": instance.step.value,
            "title": _(text.title),
            "todo": _(text.todo),
            "caution": _(text.caution),
            "evidence": _(text.evidence),
            "source": _(text.source),
            "done_on": [on.isoformat() for on in instance.done_on],
        }


class FillingAnswer(serializers.Serializer[Any]):
    """Two ways to fill it: dung and water, or a neighbour's slurry and water."""

    dung_g = serializers.IntegerField()
    dung_water_ml = serializers.IntegerField()
    slurry_ml = serializers.IntegerField()
    slurry_water_ml = serializers.IntegerField()


class GuideAnswer(serializers.Serializer[Any]):
    """`due` comes next, not before `not_before_on`; null: it runs, or has no start-up."""

    digester = serializers.CharField()
    due = serializers.ChoiceField(choices=START_STEPS, allow_null=True)
    not_before_on = serializers.DateField(allow_null=True)
    not_to_light = SentenceField(allow_null=True)
    filling = FillingAnswer()
    steps = GuideStepAnswer(many=True)


class StartStepBody(Strict):
    """`lost_ml` in `hours` belongs to the tightness test, `filled_with` to seeding."""

    step = serializers.ChoiceField(choices=START_STEPS)
    on = Day()
    lost_ml = Whole(min_value=0, max_value=50 * MAX_FACT, required=False)
    hours = Whole(min_value=1, max_value=1000, default=24)
    filled_with = serializers.ChoiceField(choices=["dung", "slurry"], required=False)


class StartUpView(ApiView):
    """Where it stands."""

    access = Access({"GET": DIGESTER_KEEPERS})

    @operation("show_start_up", "Where a new digester stands in its start", answer=GuideAnswer)
    def get(self, request: ApiRequest, group: str, digester: str) -> Any:
        """All steps, those taken with their days."""
        row = _digester(request, digester)
        guide = start_up_guide(row, local_date(request.now, request.group.time_zone))
        return {
            "digester": row.code,
            "due": guide.due.value if guide.due else None,
            "not_before_on": guide.not_before_on,
            "not_to_light": why_not_light(row),
            "filling": guide.filling,
            "steps": guide.steps,
        }


class StartUpStepsView(ApiView):
    """Taking the step that is due."""

    access = Access({"POST": DIGESTER_KEEPERS})

    @operation(
        "take_start_up_step",
        "Take the next step of a new digester's start",
        body=StartStepBody,
        answer=StageAnswer,
        status=201,
        key=Key.REQUIRED,
        description="Whoever sends it vouches for what the step asks for. Follow local codes; "
        "have gas work done by a licensed person.",
    )
    def post(self, request: ApiRequest, group: str, digester: str, body: dict[str, Any]) -> Any:
        """Only the one that is due."""
        loss = Loss(body["lost_ml"], body["hours"]) if "lost_ml" in body else None
        return take_start_up_step(
            _digester(request, digester),
            StartStep(body["step"]),
            on=body["on"],
            now=request.now,
            recorded_by=request.member,
            loss=loss,
            filled_with=body.get("filled_with", ""),
        )


def _digester(request: ApiRequest, code: str) -> Digester:
    return by_code(kept_digesters(request.admission).select_related("group"), code)


addresses = [
    path("digesters/<slug:digester>/start-up", StartUpView.as_view(), name="api-start-up"),
    path(
        "digesters/<slug:digester>/start-up/steps",
        StartUpStepsView.as_view(),
        name="api-start-up-steps",
    ),
]
