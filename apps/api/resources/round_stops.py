"""What a carrier says of a stop: done, or it did not work out."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.http import Http404
from django.urls import path
from rest_framework import serializers

from apps.api.fields import Grams, Instant, YesNo
from apps.api.once import client_key
from apps.api.operation import Key, operation
from apps.api.resources.pickup_steps import FAIL_REASONS
from apps.api.resources.round_answers import RoundAnswer
from apps.api.resources.rounds import ROUND, RoundBase
from apps.api.serializers import Strict
from apps.api.view import ApiRequest
from apps.people.access import Access, roles
from apps.people.models import Role
from apps.rounds.models import Round
from apps.rounds.operations.note_stop import WENT_TO, StopAct, note_stop_done, note_stop_problem

WALKERS = roles(Role.CARRIER, Role.COORDINATOR)
OLDEST = timedelta(days=4)


class StopBody(Strict):
    """`happened_at` for what is told later; left out: now."""

    happened_at = Instant(default=None, allow_null=True)


class StopDoneBody(StopBody):
    """Net grams; left out: as planned, or all that was fetched."""

    amount_g = Grams(default=None, allow_null=True)
    is_confirmed = YesNo(default=False, help_text="Far more than planned is meant.")


class StopProblemBody(StopBody):
    """Why; where the waste is on the cart, also where it goes."""

    reason = serializers.ChoiceField(choices=FAIL_REASONS)
    went_to = serializers.ChoiceField(
        choices=[(each, each) for each in WENT_TO], default="", allow_blank=True
    )


class StopView(RoundBase):
    """For the own round, or as coordinator for its carrier."""

    def act(self, request: ApiRequest, found: Round, happened_at: datetime | None) -> StopAct:
        """Who says it, and when it happened."""
        owner = found.carrier.member
        is_own = owner.pk == request.member.pk
        if not is_own and Role.COORDINATOR not in request.admission.roles:
            raise Http404
        told = happened_at or request.now
        return StopAct(
            by=request.member,
            client_key=client_key(request.admission, request.headers["Idempotency-Key"]),
            now=request.now,
            happened_at=told if request.now - OLDEST <= told <= request.now else request.now,
            by_coordinator=not is_own,
            for_whom=None if is_own else owner,
        )


class StopDoneView(StopView):
    """Fetched or brought."""

    access = Access({"POST": WALKERS})

    @operation(
        "note_stop_done",
        "Say that a stop is done",
        body=StopDoneBody,
        answer=RoundAnswer,
        key=Key.REQUIRED,
        description="Nothing is brought before it was fetched. Three times the planned weight or "
        "more is asked again (409 `weight_unusual`); send it with `is_confirmed`.",
    )
    def post(
        self, request: ApiRequest, group: str, round: UUID, stop: UUID, body: dict[str, Any]
    ) -> Any:
        """Once, however often it is sent."""
        act = self.act(request, self.round(request, round), body.pop("happened_at"))
        note_stop_done(request.group, self.stop(request, round, stop).uuid, act, **body)
        return self.round(request, round)


class StopProblemView(StopView):
    """It did not work out."""

    access = Access({"POST": WALKERS})

    @operation(
        "note_stop_problem",
        "Say that a stop did not work out, and why",
        body=StopProblemBody,
        answer=RoundAnswer,
        key=Key.REQUIRED,
        description="The pickup did not happen then. `replan_round` orders the rest anew.",
    )
    def post(
        self, request: ApiRequest, group: str, round: UUID, stop: UUID, body: dict[str, Any]
    ) -> Any:
        """With where the waste goes, if it is on the cart."""
        act = self.act(request, self.round(request, round), body.pop("happened_at"))
        note_stop_problem(request.group, self.stop(request, round, stop).uuid, act, **body)
        return self.round(request, round)


addresses = [
    path(f"{ROUND}/stops/<uuid:stop>/done", StopDoneView.as_view(), name="api-stop-done"),
    path(f"{ROUND}/stops/<uuid:stop>/problem", StopProblemView.as_view(), name="api-stop-problem"),
]
