"""What goes otherwise with a pickup: later, by somebody else, refused, contested, composted; and
the group's own times for reminders."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import Http404
from django.urls import path
from rest_framework import serializers

from apps.api.audiences import FETCHERS, GIVERS
from apps.api.fields import Text, Whole
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.resources.pickup_steps import FOR_OTHERS, StepAnswerBody, StepView
from apps.api.resources.pickups import PickupAnswer
from apps.api.serializers import Strict
from apps.api.view import ApiRequest, ApiView
from apps.people.access import Access, roles
from apps.people.models import Member, Role
from apps.pickups.core.ladder import Times
from apps.pickups.core.life import CONTEST, FAIL, HAND_OVER, LATE, TAKE_OVER, Party
from apps.pickups.models import ForeignKind, Standby
from apps.pickups.models.ladder import MOST_MIN
from apps.pickups.operations.answer_pickup import end_pickup
from apps.pickups.operations.change_hands import hand_over_pickup, take_over_pickup
from apps.pickups.operations.contest_weight import contest_weight
from apps.pickups.operations.put_up_ladders import times_of
from apps.pickups.operations.refuse_batch import refuse_batch
from apps.pickups.operations.run_late import MOST_LATE_MIN, run_late
from apps.pickups.operations.set_ladder import set_ladder
from apps.pickups.operations.take_step import Act, Actor

COORDINATOR = roles(Role.COORDINATOR)


class LateBody(StepAnswerBody):
    """From now, or from when the hours begin."""

    minutes = Whole(min_value=5, max_value=MOST_LATE_MIN)


class HandOverBody(StepAnswerBody):
    """Who is asked instead."""

    to = Text(max_length=40, help_text="Code of a member of the group.")


class RefusalBody(StepAnswerBody):
    """What is wrong with it."""

    kind = serializers.ChoiceField(choices=[(each.value, each.value) for each in ForeignKind])


class LadderBody(Strict):
    """Minutes before the end of a pickup's hours, each no more than the one before."""

    reminder_min = Whole(min_value=0, max_value=MOST_MIN)
    second_reminder_min = Whole(min_value=0, max_value=MOST_MIN)
    standby_min = Whole(min_value=0, max_value=MOST_MIN)
    coordinator_min = Whole(min_value=0, max_value=MOST_MIN)
    standby = serializers.ListField(
        child=Text(max_length=40), max_length=200, help_text="Codes of who stands by."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """In their order."""
        try:
            attrs["times"] = Times(
                *(
                    attrs.pop(f"{name}_min")
                    for name in ("reminder", "second_reminder", "standby", "coordinator")
                )
            )
        except ValueError as error:
            raise serializers.ValidationError(str(error)) from error
        return attrs


class LadderAnswer(serializers.Serializer[dict[str, Any]]):
    """As it counts now."""

    reminder_min = serializers.IntegerField()
    second_reminder_min = serializers.IntegerField()
    standby_min = serializers.IntegerField()
    coordinator_min = serializers.IntegerField()
    standby = serializers.ListField(child=serializers.CharField())


class LatenessView(StepView):
    """Coming later."""

    access = Access({"POST": FETCHERS})

    @operation(
        "run_late",
        "Say that somebody comes later",
        body=LateBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description=f"The source is told; reminders wait so long. {FOR_OTHERS}",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """On its day."""
        return self.take(request, pickup, LATE, body, run_late, minutes=body["minutes"])


class HandOverView(StepView):
    """Somebody else goes."""

    access = Access({"POST": FETCHERS})

    @operation(
        "hand_over_pickup",
        "Ask somebody else to go",
        body=HandOverBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description=f"They answer anew; it still goes to the same digester. {FOR_OTHERS}",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """From announced or accepted."""
        [to] = _members(request, [body["to"]])
        return self.take(request, pickup, HAND_OVER, body, hand_over_pickup, to=to)


class TakeOverView(StepView):
    """Stepping in."""

    access = Access({"POST": FETCHERS | GIVERS})

    @operation(
        "take_over_pickup",
        "Step in for whoever does not go",
        body=StepAnswerBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description="For people on standby; the first goes.",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """The second is refused with a sentence."""
        act = Act(
            step=TAKE_OVER,
            actor=Actor(request.member, Party.STANDBY),
            client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
            now=request.now,
            note=body["note"],
            revision=body["revision"],
        )
        take_over_pickup(request.group, pickup, act)
        return self.pickup(request, pickup)


class RefusalView(StepView):
    """A bad batch."""

    access = Access({"POST": FETCHERS})

    @operation(
        "refuse_batch",
        "Leave a bad batch where it is",
        body=RefusalBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description=f"The find counts towards a warning and a pause. {FOR_OTHERS}",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """The pickup did not happen then."""
        given = {**body, "reason": "foreign_matter"}
        kind = ForeignKind(body["kind"])
        return self.take(request, pickup, FAIL, given, refuse_batch, kind=kind)


class ContestView(StepView):
    """A weight that is wrong."""

    access = Access({"POST": FETCHERS | GIVERS})

    @operation(
        "contest_weight",
        "Say that the weight written down is wrong",
        body=StepAnswerBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description="Either side may; both see it until a coordinator has settled it.",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """Once it was delivered."""
        return self.take(request, pickup, CONTEST, body, contest_weight)


class CompostingView(StepView):
    """Nobody comes."""

    access = Access({"POST": COORDINATOR})

    @operation(
        "compost_pickup",
        "Let the source compost it instead",
        body=StepAnswerBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description="The pickup did not happen, and the source is told.",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """No other home is looked for."""
        return self.take(request, pickup, FAIL, {**body, "reason": "composted"}, end_pickup)


class LadderView(ApiView):
    """Reminders and standby."""

    access = Access({"GET": COORDINATOR, "PUT": COORDINATOR})

    @operation("read_ladder", "When people are reminded, and who stands by", answer=LadderAnswer)
    def get(self, request: ApiRequest, group: str) -> Any:
        """The usual times where the group has set none."""
        return _ladder(request)

    @operation(
        "set_ladder",
        "Set when people are reminded, and who stands by",
        body=LadderBody,
        answer=LadderAnswer,
    )
    def put(self, request: ApiRequest, group: str, body: dict[str, Any]) -> Any:
        """Replaces both."""
        standby = _members(request, body["standby"])
        set_ladder(
            request.group, body["times"], standby=standby, now=request.now, set_by=request.member
        )
        return _ladder(request)


def _ladder(request: ApiRequest) -> dict[str, Any]:
    times = times_of(request.group)
    standby = Standby.objects.of(request.group).order_by("member__code")
    return {
        "reminder_min": times.reminder_min,
        "second_reminder_min": times.second_reminder_min,
        "standby_min": times.standby_min,
        "coordinator_min": times.coordinator_min,
        "standby": list(standby.values_list("member__code", flat=True)),
    }


def _members(request: ApiRequest, codes: list[str]) -> list[Member]:
    found = {
        each.code: each
        for each in Member.objects.of(request.group).filter(code__in=codes, left_at=None)
    }
    if set(codes) - set(found):
        raise Http404
    return [found[code] for code in sorted(set(codes))]


addresses = [
    *(
        path(f"pickups/<uuid:pickup>/{name}", view.as_view(), name=f"api-pickup-{name}")
        for name, view in {
            "lateness": LatenessView,
            "hand-over": HandOverView,
            "take-over": TakeOverView,
            "refusal": RefusalView,
            "contest": ContestView,
            "composting": CompostingView,
        }.items()
    ),
    path("ladder", LadderView.as_view(), name="api-ladder"),
]
