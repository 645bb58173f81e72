"""What people say about a pickup: going, not going, fetched, done, it did not happen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import Http404
from django.urls import path
from django.utils.translation import gettext as _
from rest_framework import serializers

from apps.api.audiences import FETCHERS, GIVERS
from apps.api.fields import Grams, Text, Whole, YesNo
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.resources.pickups import PickupAnswer, PickupBase
from apps.api.serializers import Strict
from apps.api.view import ApiRequest
from apps.kernel.quantities import MAX_FACT
from apps.people.access import Access
from apps.people.models import Role
from apps.pickups.core.life import ACCEPT, COLLECT, COMPLETE, DECLINE, FAIL, Party, Step
from apps.pickups.models import Pickup
from apps.pickups.operations.answer_pickup import (
    REASONS,
    accept_pickup,
    collect_pickup,
    end_pickup,
)
from apps.pickups.operations.complete_pickup import Weight, complete_pickup
from apps.pickups.operations.state_weight import state_weight
from apps.pickups.operations.take_step import Act, Actor

DECLINE_REASONS = [(each, each) for each in REASONS[DECLINE.name]]
FAIL_REASONS = [(each, each) for each in REASONS[FAIL.name]]

FOR_OTHERS = (
    "A coordinator acts in place of the household; the step keeps both names (`by`, `acted_for`)."
)


class StepAnswerBody(Strict):
    """`revision` is the one that the person saw; answering to an older one is refused."""

    revision = Whole(min_value=1, max_value=1_000_000, default=None, allow_null=True)
    note = Text(max_length=200, default="", allow_blank=True)


class DeclineBody(StepAnswerBody):
    """Why not."""

    reason = serializers.ChoiceField(choices=DECLINE_REASONS)


class FailureBody(StepAnswerBody):
    """Why it did not happen."""

    reason = serializers.ChoiceField(choices=FAIL_REASONS)


class LineWeightBody(Strict):
    """Net grams of one line: what was not delivered was set aside."""

    line = serializers.UUIDField()
    collected_g = Whole(min_value=0, max_value=MAX_FACT)
    delivered_g = Whole(min_value=0, max_value=MAX_FACT)


class CompletionBody(StepAnswerBody):
    """Lines that are left out weighed what was planned."""

    weights = LineWeightBody(many=True, default=list, max_length=50)
    is_confirmed = YesNo(default=False, help_text="Far more than planned is meant.")

    def validate_weights(self, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Each line once."""
        if len({row["line"] for row in rows}) < len(rows):
            raise serializers.ValidationError(_("A line is given twice; give one weight for each."))
        return rows


class StatedWeightBody(Strict):
    """Net grams of the whole pickup."""

    amount_g = Grams()


class StepView(PickupBase):
    """Who acts, and in what capacity."""

    def take(
        self,
        request: ApiRequest,
        uuid: UUID,
        step: Step,
        body: dict[str, Any],
        run: Callable[..., Any],
        **more: Any,
    ) -> Pickup:
        """Run one operation with an `Act`; return the pickup as it then is."""
        act = Act(
            step=step,
            actor=_actor(request, self.pickup(request, uuid)),
            client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
            now=request.now,
            reason=body.get("reason", ""),
            note=body["note"],
            revision=body["revision"],
        )
        run(request.group, uuid, act, **more)
        return self.pickup(request, uuid)


def _actor(request: ApiRequest, pickup: Pickup) -> Actor:
    """For oneself where one may, else as coordinator; anybody else's pickup is not there."""
    who = request.member
    if who.pk in (pickup.digester.household_id, pickup.fetcher_id):
        return Actor(who, Party.FETCHER)
    if Role.COORDINATOR in request.admission.roles:
        return Actor(who, Party.COORDINATOR, pickup.digester.household)
    if who.pk == pickup.source.contact_id:
        return Actor(who, Party.GIVER)
    raise Http404


class AcceptanceView(StepView):
    """Going."""

    access = Access({"POST": FETCHERS})

    @operation(
        "accept_pickup",
        "Say that somebody will go",
        body=StepAnswerBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description=FOR_OTHERS,
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """From announced."""
        return self.take(request, pickup, ACCEPT, body, accept_pickup)


class DeclineView(StepView):
    """Not going."""

    access = Access({"POST": FETCHERS})

    @operation(
        "decline_pickup",
        "Say that nobody will go, and why",
        body=DeclineBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description=FOR_OTHERS,
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """The pair is not asked again that day."""
        return self.take(request, pickup, DECLINE, body, end_pickup)


class CollectionView(StepView):
    """On the way."""

    access = Access({"POST": FETCHERS})

    @operation(
        "collect_pickup",
        "Say that the waste is on its way",
        body=StepAnswerBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description=f"From then on no plan moves it. {FOR_OTHERS}",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """From announced or accepted."""
        return self.take(request, pickup, COLLECT, body, collect_pickup)


class CompletionView(StepView):
    """Done."""

    access = Access({"POST": FETCHERS})

    @operation(
        "complete_pickup",
        "Write down what was collected and what arrived",
        body=CompletionBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description="Three times the planned weight or more is asked again (409 "
        f"`weight_unusual`); send it with `is_confirmed`. {FOR_OTHERS}",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """Books it into the home's bin."""
        weights = {
            row["line"]: Weight(row["collected_g"], row["delivered_g"]) for row in body["weights"]
        }
        return self.take(
            request,
            pickup,
            COMPLETE,
            body,
            complete_pickup,
            weights=weights,
            is_confirmed=body["is_confirmed"],
        )


class FailureView(StepView):
    """It did not happen."""

    access = Access({"POST": FETCHERS | GIVERS})

    @operation(
        "fail_pickup",
        "Say that a pickup did not happen, and why",
        body=FailureBody,
        answer=PickupAnswer,
        key=Key.REQUIRED,
        description=f"Either side may say so. {FOR_OTHERS}",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """From any state that is not an end."""
        return self.take(request, pickup, FAIL, body, end_pickup)


class GiverWeightView(PickupBase):
    """The source's own scale."""

    access = Access({"POST": GIVERS})

    @operation(
        "state_weight",
        "Say what was handed over at the source",
        body=StatedWeightBody,
        answer=PickupAnswer,
        key=Key.OPTIONAL,
        description="Saying it again replaces it; the ledger keeps the fetcher's weight. Where "
        "the two are too far apart, both sides see both.",
    )
    def post(self, request: ApiRequest, group: str, pickup: UUID, body: dict[str, Any]) -> Any:
        """Source contacts at their own."""
        row = self.pickup(request, pickup)
        is_own = row.source.contact_id == request.member.pk
        if not is_own and Role.COORDINATOR not in request.admission.roles:
            raise Http404
        state_weight(
            request.group, pickup, body["amount_g"], now=request.now, stated_by=request.member
        )
        return self.pickup(request, pickup)


addresses = [
    path(f"pickups/<uuid:pickup>/{name}", view.as_view(), name=f"api-pickup-{name}")
    for name, view in {
        "acceptance": AcceptanceView,
        "decline": DeclineView,
        "collection": CollectionView,
        "completion": CompletionView,
        "failure": FailureView,
        "giver-weight": GiverWeightView,
    }.items()
]
