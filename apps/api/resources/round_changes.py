"""A round's changes: announced, dropped, ordered anew, a stop promised or moved."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.urls import path

from apps.api.audiences import TROUBLE_SHOOTERS
from apps.api.fields import Whole, YesNo
from apps.api.operation import Key, operation
from apps.api.resources.round_answers import RoundAnswer
from apps.api.resources.rounds import ROUND, RoundBase
from apps.api.serializers import Strict
from apps.api.view import ApiRequest
from apps.people.access import Access, roles
from apps.people.models import Role
from apps.rounds.operations.announce_round import announce_round, drop_round
from apps.rounds.operations.change_order import lock_stop, move_stop
from apps.rounds.operations.replan_round import replan_round


class AnnounceBody(Strict):
    """`is_confirmed`: the cautions about lifting were read."""

    is_confirmed = YesNo(default=False)


class LockBody(Strict):
    """Promise the stop for its time, or free it."""

    is_locked = YesNo()


class MoveBody(Strict):
    """The stop's new place in the order, from 1."""

    to_number = Whole(min_value=1, max_value=1_000)


class RoundAnnouncementView(RoundBase):
    """Announcing."""

    access = Access({"POST": TROUBLE_SHOOTERS})

    @operation(
        "announce_round",
        "Announce a round; its carrier is told",
        body=AnnounceBody,
        answer=RoundAnswer,
        key=Key.OPTIONAL,
        description="With cautions about lifting it is asked again (409 `lifting_caution`); send "
        "it with `is_confirmed`.",
    )
    def post(self, request: ApiRequest, group: str, round: UUID, body: dict[str, Any]) -> Any:
        """Only a sound one."""
        announce_round(request.group, round, **body, now=request.now, announced_by=request.member)
        return self.round(request, round)


class RoundDropView(RoundBase):
    """Dropping."""

    access = Access({"POST": TROUBLE_SHOOTERS})

    @operation(
        "drop_round",
        "Drop a round; the homes fetch their own",
        answer=RoundAnswer,
        key=Key.OPTIONAL,
    )
    def post(self, request: ApiRequest, group: str, round: UUID) -> Any:
        """Not while something is on the cart."""
        drop_round(request.group, round, now=request.now, dropped_by=request.member)
        return self.round(request, round)


class RoundReplanView(RoundBase):
    """Ordering anew."""

    access = Access({"POST": TROUBLE_SHOOTERS | roles(Role.CARRIER)})

    @operation(
        "replan_round",
        "Order the rest of a round anew",
        answer=RoundAnswer,
        key=Key.REQUIRED,
        slow=True,
        description="Stops that are done stay as they are.",
    )
    def post(self, request: ApiRequest, group: str, round: UUID) -> Any:
        """From where the carrier is now."""
        found = self.round(request, round)
        replan_round(request.group, found.uuid, now=request.now, asked_by=request.member)
        return self.round(request, round)


class StopLockView(RoundBase):
    """Promising a time."""

    access = Access({"POST": TROUBLE_SHOOTERS})

    @operation(
        "lock_stop",
        "Promise a stop for its time, or free it",
        body=LockBody,
        answer=RoundAnswer,
        key=Key.OPTIONAL,
    )
    def post(
        self, request: ApiRequest, group: str, round: UUID, stop: UUID, body: dict[str, Any]
    ) -> Any:
        """Kept within ten minutes."""
        lock_stop(request.group, self.stop(request, round, stop).uuid, **body)
        return self.round(request, round)


class StopMoveView(RoundBase):
    """Moving by hand."""

    access = Access({"POST": TROUBLE_SHOOTERS})

    @operation(
        "move_stop",
        "Put a stop at another place of the order",
        body=MoveBody,
        answer=RoundAnswer,
        key=Key.OPTIONAL,
        description="Refused with the limit that it would break.",
    )
    def post(
        self, request: ApiRequest, group: str, round: UUID, stop: UUID, body: dict[str, Any]
    ) -> Any:
        """And promised for its new time."""
        found = self.stop(request, round, stop)
        move_stop(request.group, found.uuid, **body, now=request.now)
        return self.round(request, round)


addresses = [
    path(f"{ROUND}/announcement", RoundAnnouncementView.as_view(), name="api-round-announcement"),
    path(f"{ROUND}/dropping", RoundDropView.as_view(), name="api-round-dropping"),
    path(f"{ROUND}/replanning", RoundReplanView.as_view(), name="api-round-replanning"),
    path(f"{ROUND}/stops/<uuid:stop>/lock", StopLockView.as_view(), name="api-stop-lock"),
    path(f"{ROUND}/stops/<uuid:stop>/move", StopMoveView.as_view(), name="api-stop-move"),
]
